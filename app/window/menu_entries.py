"""What stands in each menu, and which part of the window each entry calls."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args

from PySide6.QtGui import QKeySequence

from app.canvas.canvas import Canvas
from app.kit.theme import data_folder
from app.panels.outlines import OutlinesPanel
from app.window.dialogues import ask_scale, edit_notes, show_about, show_keys, show_trust
from app.window.edit_commands import EditCommands
from app.window.exchanging import Exchanging
from app.window.filing import Filing
from app.window.menus import Item, Menus
from app.window.side_windows import SideWindows
from app.work.desk import Desk
from core.design import LeftOut
from core.design_file import ENDING

Keys = QKeySequence.StandardKey


def file_menu(menus: Menus, filing: Filing, exchange: Exchanging) -> None:
    """Designs, scans and drawings in and out."""
    menu = menus.add("&File", (
        Item("new", "&New", filing.new, Keys.New),
        Item("open", "&Open…", filing.open, Keys.Open),
        Item("scan", "Open a &scan…", filing.open_scan, "Ctrl+Shift+O"),
        None,
        Item("save", "&Save", filing.save, Keys.Save),
        Item("save-as", "Save &as…", filing.save_as, "Ctrl+Shift+S"),
        Item("revert", "&Revert", filing.revert),
        None,
        Item("import", "&Import outlines from a drawing…", exchange.import_outlines),
        None,
        Item("quit", "&Quit", menus.window.close, Keys.Quit),
    ))
    menus.recent = menus.within(menu, "Open r&ecent", "scan")
    samples = menus.within(menu, "Open a sa&mple", "scan")
    for path in sorted(data_folder("sample_designs").glob(f"*{ENDING}")):
        samples.addAction(path.stem.replace("-", " ").title(), partial(filing.open_sample, path))
    menus.within(menu, "E&xport", "quit", (
        Item("export-svg", "Outlines as &SVG, full size…", partial(exchange.export, "svg")),
        Item("export-dxf", "Outlines as &DXF, full size…", partial(exchange.export, "dxf")),
        Item("export-csv", "Readings as &CSV…", partial(exchange.export, "csv")),
        Item("export-png", "&Picture of the profile, PNG…", partial(exchange.export, "png")),
        Item("export-svg-picture", "Picture of the profile, S&VG…", partial(exchange.export, "svg-picture")),
    ))
    menu.insertSeparator(menus.actions["quit"])


def edit_menu(
    menus: Menus, desk: Desk, edits: EditCommands, canvas: Canvas, outlines: OutlinesPanel,
    paste: Callable[[], None], side: SideWindows,
) -> None:
    """What is done to the selection, and to the design as a whole."""
    menu = menus.add("&Edit", (
        Item("undo", "Undo", desk.undo, Keys.Undo),
        Item("redo", "Redo", desk.redo, Keys.Redo),
        None,
        Item("cut", "Cu&t", edits.cut, Keys.Cut),
        Item("copy", "&Copy", edits.copy, Keys.Copy),
        Item("paste", "&Paste", paste, Keys.Paste),
        Item("duplicate", "D&uplicate", outlines.duplicate, "Ctrl+D"),
        Item("delete", "De&lete", partial(canvas.hand_key, "Delete")),
        Item("all", "Select &all", edits.select_all, Keys.SelectAll),
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


def paper_menu(menus: Menus, filing: Filing, side: SideWindows) -> None:
    """Sheets for the bench."""
    menus.add("&Paper", (
        Item("sheet-a4", "&Bench sheet as PDF, A4…", partial(filing.export_sheet, "a4"), "Ctrl+E"),
        Item("sheet-letter", "Bench sheet as PDF, &Letter…", partial(filing.export_sheet, "letter")),
        Item("print", "&Print the bench sheet…", filing.print_sheet, Keys.Print),
        None,
        Item("setting-up", "&Setting up: sheet, linkages, weighing…", partial(side.show, "setting-up"),
             "Ctrl+Shift+U"),
        Item("template", "&Templates…", partial(side.show, "template"), "Ctrl+T"),
        Item("card", "&Card copy…", partial(side.show, "card")),
    ))


def view_menu(menus: Menus, canvas: Canvas, edits: EditCommands, set_theme: Callable[[str], None]) -> None:
    """How it is shown: size, units, colours."""
    menus.add("&View", (
        Item("fit", "&Fit", canvas.fit, "Ctrl+0"),
        Item("zoom-in", "Zoom &in", partial(canvas.zoom, 1.25), Keys.ZoomIn),
        Item("zoom-out", "Zoom &out", partial(canvas.zoom, 0.8), Keys.ZoomOut),
        Item("full-size", "&1:1 with the paper", canvas.show_full_size, "Ctrl+1"),
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


def help_menu(menus: Menus) -> None:
    """What to know before trusting it."""
    menus.add("&Help", (
        Item("keys", "&Keys and gestures", partial(show_keys, menus.window), Keys.HelpContents),
        Item("trust", "How far to &trust the figures", partial(show_trust, menus.window)),
        Item("about", "&About Sternpost", partial(show_about, menus.window)),
    ))
