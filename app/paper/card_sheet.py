"""The card copy on paper: pieces to cut out of card and glue, and the lines that should appear.

Black lines are cut, and nothing else is black. One sheet where it can be, lying down.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.kit.cautions import CAUTIONS
from app.paper.card_drawing import draw_copy
from app.paper.card_layout import BAND, FOOT, MARGIN, CardSheets
from app.paper.card_tiles import draw_map, draw_tile
from app.paper.card_words import HOW_TO, should_appear
from app.paper.heads import draw_title, title_of
from app.paper.ink import SOFT, Ink, one_line
from app.paper.pages import Paint, Sheet, date_words
from app.paper.signs import check_bar
from core.units import format_area, format_number

_TEXT, _PITCH = 7.2, 3.15


def card_pages(sheets: CardSheets, today: datetime.date) -> list[Paint]:
    """What paints each sheet."""
    return [partial(_page, sheets, number, today) for number in range(sheets.count)]


def _page(sheets: CardSheets, number: int, today: datetime.date, painter: QPainter, page: QRectF) -> None:
    paint_card_sheet(painter, page, sheets, number, today=today)


def card_copy(sheets: CardSheets, *, today: datetime.date) -> Sheet:
    """All sheets of the card copy."""
    return Sheet(
        "the card copy", f"{title_of(sheets.design)[:200]}: card copy", sheets.wide, sheets.tall,
        lambda *_: card_pages(sheets, today),
    )


def paint_card_sheet(
    painter: QPainter, page: QRectF, sheets: CardSheets, number: int, *, today: datetime.date
) -> QRectF:
    """Paint one sheet, counted from 0; returns where the check bar lies, in mm of paper."""
    ink = Ink(painter)
    try:
        _draw_head(ink, sheets, number, today)
        bottom = sheets.tall - MARGIN
        if sheets.tiling is not None:
            if number == 0:
                draw_map(ink, sheets)
                return _draw_band(ink, sheets, bottom - BAND + 2.0, bottom)
            draw_tile(ink, sheets, sheets.tiling, number)
            return _draw_foot(ink, sheets, bottom - FOOT + 2.0)
        room = sheets.room(number)
        for copy in sheets.plan.copies:
            if copy.laid.sheet == number:
                draw_copy(ink, sheets, copy, room)
        if number == 0:
            return _draw_band(ink, sheets, bottom - BAND + 2.0, bottom)
        return _draw_foot(ink, sheets, bottom - FOOT + 2.0)
    finally:
        ink.done()


def _draw_head(ink: Ink, sheets: CardSheets, number: int, today: datetime.date) -> None:
    left, right, top = MARGIN, sheets.wide - MARGIN, MARGIN
    count = sheets.count
    known = sheets.readings.scale_known
    said = ["Sternpost card copy", f"scale {sheets.scale_words}" if known else sheets.scale_words]
    if sheets.tiling is not None and number:
        said.append(sheets.tiling.tiles[number - 1].name)
    if count > 1:
        said.append(f"sheet {number + 1} of {count}")
    words = "  ·  ".join([*said, date_words(today)])
    wide = ink.text(right, top + 5.0, words, 8.5, align="right", colour=SOFT)
    draw_title(ink, sheets.design, left, top, right - left - wide - 8.0)
    ink.pen(0.4, SOFT)
    ink.line(left, top + 7.4, right, top + 7.4)


def _draw_bar(ink: Ink, sheets: CardSheets, x: float, y: float) -> QRectF:
    inches = sheets.design.display_units != "mm"
    length = check_bar(ink, x, y, inches=inches)
    name = "4 in" if inches else "100 mm"
    words = f"This bar must be {name} long: print at 100 %, without “fit to page”."
    ink.text(x, y + 7.6, words, ink.fitting_size(words, (6.5, 6.0, 5.6), length + 2.0))
    return QRectF(x, y, length, 2.0)


def _draw_foot(ink: Ink, sheets: CardSheets, top: float) -> QRectF:
    bar = _draw_bar(ink, sheets, MARGIN, top)
    x = bar.right() + 8.0
    words = "Cut along every black line; how to glue and hang the pieces stands on sheet 1."
    if sheets.tiling is not None:
        words = "Cut one sheet at each dashed line, lay cross on cross, tape. Then as on sheet 1."
    room = sheets.wide - MARGIN - x
    ink.text(x, top + 1.6, words, ink.fitting_size(words, (_TEXT, 6.4, 5.8), room, bold=True), bold=True)
    for at, line in enumerate(_in_lines(ink, " ".join(CAUTIONS), (6.2, 5.8, 5.4), room, 3)):
        ink.text(x, top + 4.6 + 2.6 * at, *line)
    return bar


def _draw_band(ink: Ink, sheets: CardSheets, top: float, bottom: float) -> QRectF:
    """Under the first sheet: what to cut, how to go about it, what should appear, and what to mind."""
    left, right = MARGIN, sheets.wide - MARGIN
    ink.pen(0.2, SOFT)
    ink.line(left, top - 1.0, right, top - 1.0)
    foot = bottom - 9.6
    gutter = 6.0
    room = right - left - 2 * gutter
    widths = (0.27 * room, 0.37 * room, 0.36 * room)
    x = left
    _draw_pieces(ink, sheets, x, top + 2.4, widths[0], foot - 1.2)
    x += widths[0] + gutter
    ink.caption(x, top + 2.4, "HOW TO")
    _paragraphs(ink, x, top + 6.0, HOW_TO, widths[1], foot - 1.2, numbered=True)
    x += widths[1] + gutter
    ink.caption(x, top + 2.4, "WHAT SHOULD APPEAR")
    _paragraphs(ink, x, top + 6.0, should_appear(sheets), widths[2], foot - 1.2)
    bar = _draw_bar(ink, sheets, left, foot + 1.4)
    x = bar.right() + 8.0
    for at, line in enumerate(_in_lines(ink, " ".join(CAUTIONS), (6.6, 6.0, 5.6), right - x, 3)):
        ink.text(x, foot + 3.2 + 2.85 * at, *line)
    return bar


def _in_lines(
    ink: Ink, text: str, sizes: Sequence[float], room: float, most: int
) -> list[tuple[str, float]]:
    """(line, size): all of the text, in the largest of the sizes that takes no more than ``most`` lines."""
    tried = [(ink.whole(text, size, room), size) for size in sizes]
    lines, size = next((t for t in tried if len(t[0]) <= most), tried[-1])
    return [(line, size) for line in lines]


def _paragraphs(
    ink: Ink, x: float, y: float, words: Sequence[str], room: float, bottom: float, *, numbered: bool = False
) -> None:
    """Paragraphs in the largest of a few sizes at which they all fit."""
    inset = 3.6 if numbered else 0.0
    sizes = (_TEXT, 6.8, 6.4, 6.0, 5.6, 5.2)
    wrapped: list[list[str]] = []
    pitch, air = _PITCH, 0.9
    for size in sizes:
        wrapped = [ink.whole(part, size, room - inset) for part in words]
        pitch = _PITCH * size / _TEXT
        air = 0.9 * size / _TEXT
        if y + sum(len(lines) for lines in wrapped) * pitch + air * (len(wrapped) - 1) - pitch <= bottom:
            break
    for number, lines in enumerate(wrapped, 1):
        if numbered:
            ink.text(x, y, f"{number}", size, bold=True)
        for line in lines:
            ink.text(x + inset, y, line, size)
            y += pitch
        y += air


def _area_words(sheets: CardSheets, mm2: float) -> str:
    if sheets.design.display_units == "mm":
        return format_number(mm2, 0, unit="mm²")
    return format_area(mm2, sheets.design.display_units)


def _draw_pieces(ink: Ink, sheets: CardSheets, x: float, y: float, wide: float, bottom: float) -> None:
    """The table of pieces: number, name, how many to cut, area of one."""
    ink.caption(x, y, "PIECES")
    cut, area = x + wide - 21.0, x + wide
    ink.text(cut, y, "CUT", 6.5, bold=True, align="right", colour=SOFT)
    ink.text(area, y, "EACH, ON CARD", 6.5, bold=True, align="right", colour=SOFT)
    pieces = sheets.plan.card.pieces
    fits = int((bottom - (y + 3.6)) / _PITCH) + 1
    shown = pieces if len(pieces) <= fits else pieces[: fits - 1]
    y += 3.6
    for piece in shown:
        ink.text(x, y, f"{piece.number}", _TEXT, bold=True)
        ink.text(x + 4.2, y, one_line(piece.name), _TEXT, room=cut - x - 10.0)
        ink.text(cut, y, f"{piece.layers} ×", _TEXT, align="right")
        ink.text(area, y, _area_words(sheets, piece.moments.area / sheets.ratio**2), _TEXT, align="right")
        y += _PITCH
    if len(shown) < len(pieces):
        ink.text(x, y, f"and {len(pieces) - len(shown)} more: see their labels", _TEXT, colour=SOFT)
