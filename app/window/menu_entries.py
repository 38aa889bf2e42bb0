"""What stands in the menus, and which part of the window each entry calls."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, get_args

from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QMenu

from app.kit.theme import data_folder
from app.window.dialogues import ask_scale, edit_notes, show_about, show_keys, show_trust
from app.window.menus import Item, Menus
from core.design import LeftOut
from core.design_file import ENDING

if TYPE_CHECKING:
    from app.window.window import Window

Keys = QKeySequence.StandardKey


def build_menus(window: Window) -> Menus:
    """The menu bar of ``window``, whose parts must be there already."""
    menus = Menus(window)
    filing, edits, canvas = window.filing, window.edits, window.canvas
    file_menu = menus.add("&File", (
        Item("new", "&New", filing.new, Keys.New),
        Item("open", "&Open…", filing.open, Keys.Open),
        Item("scan", "Open a &scan…", filing.open_scan, "Ctrl+Shift+O"),
        None,
        Item("save", "&Save", filing.save, Keys.Save),
        Item("save-as", "Save &as…", filing.save_as, "Ctrl+Shift+S"),
        Item("revert", "&Revert", filing.revert),
        None,
        Item("import", "&Import outlines from a drawing…", window.exchange.import_outlines),
        None,
        Item("quit", "&Quit", window.close, Keys.Quit),
    ))
    scan = menus.actions["scan"]
    menus.recent = QMenu("Open r&ecent", window)
    samples = QMenu("Open a sa&mple", window)
    for menu in (menus.recent, samples):
        file_menu.insertMenu(scan, menu)
    for path in sorted(data_folder("sample_designs").glob(f"*{ENDING}")):
        samples.addAction(path.stem.replace("-", " ").title(), partial(window.open_sample, str(path)))
    export = QMenu("E&xport", window)
    for item in (
        Item("export-svg", "Outlines as &SVG, full size…", partial(window.exchange.export, "svg")),
        Item("export-dxf", "Outlines as &DXF, full size…", partial(window.exchange.export, "dxf")),
        Item("export-csv", "Readings as &CSV…", partial(window.exchange.export, "csv")),
        Item("export-png", "&Picture of the profile, PNG…", partial(window.exchange.export, "png")),
        Item("export-svg-picture", "Picture of the profile, S&VG…",
             partial(window.exchange.export, "svg-picture")),
    ):
        export.addAction(menus.action(item))
    file_menu.insertMenu(menus.actions["quit"], export)
    file_menu.insertSeparator(menus.actions["quit"])
    edit_menu = menus.add("&Edit", (
        Item("undo", "Undo", window.undo, Keys.Undo),
        Item("redo", "Redo", window.redo, Keys.Redo),
        None,
        Item("cut", "Cu&t", edits.cut, Keys.Cut),
        Item("copy", "&Copy", edits.copy, Keys.Copy),
        Item("paste", "&Paste", window.paste, Keys.Paste),
        Item("duplicate", "D&uplicate", window.outlines.duplicate, "Ctrl+D"),
        Item("delete", "De&lete", partial(canvas.hand_key, "Delete")),
        Item("all", "Select &all", edits.select_all, Keys.SelectAll),
        None,
        Item("corner", "Make node a co&rner", edits.corner, "Ctrl+Shift+K"),
        Item("smooth", "Make node s&mooth", edits.smooth, "Ctrl+K"),
        Item("scale-root", "Scale from the r&oot…", partial(ask_scale, window, edits.scale), "Ctrl+R"),
        Item("mirror", "Mirror &fore and aft", window.outlines.mirror),
        Item("lock", "Loc&k or unlock", partial(edits.toggle, "locked"), "Ctrl+L"),
        Item("hide", "&Hide or show", partial(edits.toggle, "hidden"), "Ctrl+H"),
        None,
        Item("confirm", "Confirm what was &guessed", edits.confirm_all),
        Item("notes", "Title and &notes…", partial(edit_notes, window, window.document)),
    ))
    absent = QMenu("This aeroplane &has no", window)
    for what in get_args(LeftOut):
        item = Item(f"no-{what}", f"&{what.capitalize()}", partial(edits.leave_out, what), ticks=True)
        absent.addAction(menus.action(item))
    edit_menu.insertMenu(menus.actions["confirm"], absent)
    side = window.side
    menus.add("&Redesign", (
        Item("plug", "Let in a &plug, or take one out…", partial(side.show, "plug"), "Ctrl+Shift+P"),
        Item("refit", "&Refit the tail…", partial(side.show, "refit"), "Ctrl+Shift+R"),
        None,
        Item("kept", "&Kept states", partial(window.show_list, "kept")),
        Item("compare", "&Compare…", partial(side.show, "compare")),
        Item("curves", "C&urves…", partial(side.show, "curves")),
        Item("slip", "&Yaw from 0° to 90°…", partial(side.show, "slip")),
        None,
        Item("arm-centroid", "Tail arm to the fin's &centroid", partial(window.set_fin_centre, "centroid"),
             group="fin centre"),
        Item("arm-quarter", "Tail arm to its &quarter chord", partial(window.set_fin_centre, "quarter_chord"),
             group="fin centre"),
    ))
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
    menus.add("&View", (
        Item("fit", "&Fit", canvas.fit, "Ctrl+0"),
        Item("zoom-in", "Zoom &in", partial(canvas.zoom, 1.25), Keys.ZoomIn),
        Item("zoom-out", "Zoom &out", partial(canvas.zoom, 0.8), Keys.ZoomOut),
        Item("full-size", "&1:1 with the paper", canvas.show_full_size, "Ctrl+1"),
        None,
        Item("mm", "&Millimetres", partial(window.set_units, "mm"), group="units"),
        Item("in", "&Inches, decimal", partial(window.set_units, "in"), group="units"),
        Item("in64", "Inches, &fractions", partial(window.set_units, "in64"), group="units"),
        Item("units", "Next &unit", window.next_units, "U"),
        None,
        Item("theme-system", "Light as the &system", partial(window.set_theme, "system"), group="theme"),
        Item("theme-day", "&Day", partial(window.set_theme, "day"), group="theme"),
        Item("theme-night", "Ni&ght", partial(window.set_theme, "night"), group="theme"),
    ))
    menus.add("&Help", (
        Item("keys", "&Keys and gestures", partial(show_keys, window), Keys.HelpContents),
        Item("trust", "How far to &trust the figures", partial(show_trust, window)),
        Item("about", "&About Sternpost", partial(show_about, window)),
    ))
    return menus
