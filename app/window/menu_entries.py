"""What stands in each menu, and which part of the window each entry calls."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args

from PySide6.QtGui import QKeySequence

from app.canvas.canvas import Canvas
from app.kit.keys import CLOSE, REDO, UNDO
from app.kit.theme import data_folder
from app.panels.hands import GROUPS, HandsPanel
from app.panels.outlines import OutlinesPanel
from app.window.dialogues import ask_scale, edit_notes, show_about
from app.window.edit_commands import EditCommands
from app.window.exchanging import Exchanging
from app.window.filing import Filing
from app.window.guidance import Guidance
from app.window.menus import Item, Menus
from app.window.room import Room
from app.window.side_windows import SideWindows
from app.work.desk import Desk
from core.design import LeftOut
from core.design_file import ENDING

Keys = QKeySequence.StandardKey


def file_menu(
    menus: Menus, filing: Filing, exchange: Exchanging, offer_kept: Callable[[], None],
    look_aside: Callable[[], None],
) -> None:
    """Designs, scans and drawings in and out."""
    menu = menus.add("&File", (
        Item("new", "&New", filing.new, Keys.New),
        Item("open", "&Open…", filing.open, Keys.Open),
        Item("scan", "Open a &scan…", filing.open_scan, "Ctrl+Shift+O"),
        None,
        Item("save", "&Save", filing.save, Keys.Save),
        Item("save-as", "Save &as…", filing.save_as, "Ctrl+Shift+S"),
        Item("revert", "&Revert", filing.revert),
        Item("kept-work", "&Kept work…", offer_kept),
        Item("damaged-work", "&Damaged kept work…", look_aside),
        None,
        Item("import", "&Import outlines from a drawing…", exchange.import_outlines),
        None,
        Item("close", "&Close", menus.window.close, CLOSE),
        Item("quit", "&Quit", menus.window.close, "Ctrl+Q"),
    ))
    menus.recent = menus.within(menu, "Open r&ecent", "scan")
    samples = menus.within(menu, "Open a sa&mple", "scan")
    for path in sorted(data_folder("sample_designs").glob(f"*{ENDING}")):
        samples.addAction(path.stem.replace("-", " ").title(), partial(filing.open_sample, path))
    menus.within(menu, "E&xport", "close", (
        Item("export-svg", "Outlines as &SVG, full size…", partial(exchange.export, "svg")),
        Item("export-dxf", "Outlines as &DXF, full size…", partial(exchange.export, "dxf")),
        Item("export-csv", "Readings as &CSV…", partial(exchange.export, "csv")),
        Item("export-png", "&Picture of the profile, PNG…", partial(exchange.export, "png")),
        Item("export-svg-picture", "Picture of the profile, S&VG…", partial(exchange.export, "svg-picture")),
    ))
    menu.insertSeparator(menus.actions["close"])


def edit_menu(
    menus: Menus, desk: Desk, edits: EditCommands, canvas: Canvas, outlines: OutlinesPanel,
    paste: Callable[[], None], side: SideWindows,
) -> None:
    """What is done to the selection, and to the design as a whole."""
    menu = menus.add("&Edit", (
        Item("undo", "Undo", desk.undo, UNDO, in_fields=True),
        Item("redo", "Redo", desk.redo, REDO, in_fields=True),
        None,
        Item("cut", "Cu&t", edits.cut, Keys.Cut, in_fields=True),
        Item("copy", "&Copy", edits.copy, Keys.Copy, in_fields=True),
        Item("paste", "&Paste", paste, Keys.Paste, in_fields=True),
        Item("duplicate", "D&uplicate", outlines.duplicate, "Ctrl+D"),
        Item("delete", "De&lete", partial(canvas.hand_key, "Delete"), in_fields=True),
        Item("all", "Select &all", edits.select_all, Keys.SelectAll, in_fields=True),
        None,
        Item("corner", "Make node a co&rner", edits.corner, "Ctrl+Shift+K"),
        Item("smooth", "Make node s&mooth", edits.smooth, "Ctrl+K"),
        Item("scale-root", "Scale from the r&oot…", partial(ask_scale, menus.window, edits.scale), "Ctrl+R"),
        Item("settle", "S&ettle on the ink…", partial(side.show, "settle"), "Ctrl+I"),
        Item("mirror", "Mirror &fore and aft", outlines.mirror),
        Item("lock", "Loc&k or unlock", partial(edits.toggle, "locked"), "Ctrl+L"),
        Item("hide", "&Hide or show", partial(edits.toggle, "hidden"), "Ctrl+H"),
        None,
        Item("confirm", "Confirm what was &guessed", edits.confirm_all),
        Item("notes", "Title and &notes…", partial(edit_notes, menus.window, desk.document)),
    ))
    menus.within(menu, "This aeroplane &has no", "confirm", tuple(
        Item(f"no-{what}", f"&{what.capitalize()}", partial(edits.leave_out, what), ticks=True)
        for what in get_args(LeftOut)
    ))


def hands_menu(menus: Menus, canvas: Canvas, hands: HandsPanel) -> None:
    """The hands with their letters, in the groups of the toolbox; the one in use is ticked."""
    entries: list[Item | None] = []
    for _, names in GROUPS:
        taken = [canvas.hands[name] for name in names if name in canvas.hands]
        if taken and entries:
            entries.append(None)
        # One that cannot be used yet says why when it is asked for, by its letter too.
        entries += [
            Item(f"hand-{hand.name}", hand.label, partial(hands.take, hand.name), hand.letter, group="hands",
                 tip=hand.tip)
            for hand in taken
        ]
    menus.add("H&ands", tuple(entries))


def redesign_menu(
    menus: Menus, side: SideWindows, edits: EditCommands, show_kept: Callable[[], None]
) -> None:
    """What would become of the aeroplane if it were changed."""
    menus.add("&Redesign", (
        Item("plug", "Let in a &plug, or take one out…", partial(side.show, "plug"), "Ctrl+Shift+P"),
        Item("refit", "&Refit the tail…", partial(side.show, "refit"), "Ctrl+Shift+R"),
        None,
        Item("kept", "&Kept states", show_kept),
        Item("compare", "&Compare…", partial(side.show, "compare")),
        Item("curves", "C&urves…", partial(side.show, "curves")),
        Item("slip", "&Yaw from 0° to 90°…", partial(side.show, "slip")),
        Item("gust", "After a &gust…", partial(side.show, "gust")),
        None,
        Item("arm-centroid", "Tail arm to the fin's &centroid", partial(edits.set_fin_centre, "centroid"),
             group="fin centre"),
        Item("arm-quarter", "Tail arm to its &quarter chord", partial(edits.set_fin_centre, "quarter_chord"),
             group="fin centre"),
    ))


def paper_menu(menus: Menus, side: SideWindows) -> None:
    """Sheets for the bench."""

    def print_bench_sheet() -> None:
        from app.side.bench_sheet_window import BenchSheetWindow

        window = side.show("bench-sheet")
        assert isinstance(window, BenchSheetWindow)
        window.print()

    menus.add("&Paper", (
        Item("sheet", "&Bench sheet…", partial(side.show, "bench-sheet"), "Ctrl+E"),
        Item("print", "&Print the bench sheet…", print_bench_sheet, Keys.Print),
        None,
        Item("setting-up", "&Setting up: sheet, linkages, weighing…", partial(side.show, "setting-up"),
             "Ctrl+Shift+U"),
        Item("template", "&Templates…", partial(side.show, "template"), "Ctrl+T"),
        Item("parts", "Tail pa&rts: how they are made…", partial(side.show, "parts"), "Ctrl+Shift+T"),
        Item("parts-sheet", "Parts s&heet and cutting list…", partial(side.show, "parts-sheet")),
        Item("dimensioned", "&Dimensioned outline…", partial(side.show, "dimensioned")),
        Item("card", "&Card copy…", partial(side.show, "card")),
        Item("gauges", "&Gauges…", partial(side.show, "gauges")),
    ))


def view_menu(
    menus: Menus, canvas: Canvas, edits: EditCommands, set_theme: Callable[[str], None], room: Room
) -> None:
    """How it is shown: size, what is open, units, colours."""

    def turn(name: str) -> None:
        room.choose(name, not room.is_open(name))

    menus.add("&View", (
        Item("fit", "&Fit", canvas.fit, "Ctrl+0"),
        Item("zoom-in", "Zoom &in", partial(canvas.zoom, 1.25), Keys.ZoomIn),
        Item("zoom-out", "Zoom &out", partial(canvas.zoom, 0.8), Keys.ZoomOut),
        Item("full-size", "&1:1 with the paper", canvas.show_full_size, "Ctrl+1"),
        None,
        Item("room-words", "Hands with &words", partial(turn, "words"), ticks=True),
        Item("room-lists", "&Lists at the left", partial(turn, "lists"), "F7", ticks=True),
        Item("room-band", "Area &band", partial(turn, "band"), "F8", ticks=True),
        Item("room-readings", "Answe&r and readings", partial(turn, "readings"), "F9", ticks=True),
        None,
        Item("mm", "&Millimetres", partial(edits.set_units, "mm"), group="units"),
        Item("in", "&Inches, decimal", partial(edits.set_units, "in"), group="units"),
        Item("in64", "Inches, &fractions", partial(edits.set_units, "in64"), group="units"),
        Item("units", "Next &unit", edits.next_units, "U"),
        None,
        Item("theme-system", "Light as the &system", partial(set_theme, "system"), group="theme"),
        Item("theme-day", "&Day", partial(set_theme, "day"), group="theme"),
        Item("theme-night", "Ni&ght", partial(set_theme, "night"), group="theme"),
    ))


def help_menu(menus: Menus, guidance: Guidance) -> None:
    """What to know before trusting it."""
    menus.add("&Help", (
        Item("help", "&Help for what is in use", guidance.show_here, Keys.HelpContents),
        None,
        Item("method", "The &method", partial(guidance.show, "method/card")),
        Item("steps", "&Step by step", partial(guidance.show, "steps/open")),
        Item("words", "&Words", partial(guidance.show, "words/design")),
        Item("trust", "How far to &trust it", partial(guidance.show, "trust/estimates")),
        Item("keys", "&Keys", partial(guidance.show, "keys/hands")),
        None,
        Item("first-steps", "&First steps in a sample", guidance.begin_first_steps),
        Item("about", "&About Sternpost", partial(show_about, menus.window)),
    ))
