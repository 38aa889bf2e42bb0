"""The setting-up sheet: what to measure while the tail is glued on, upright, one page or as many as needed.

A tick box and a blank for the measured value stand beside every figure; the weighings come last, with
blank lines for what is weighed at the bench.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from app.kit.cautions import CAUTIONS
from app.kit.sentences import as_sentence
from app.paper.ink import FAINT, SOFT, WASH, Ink, Paper
from app.paper.pages import PAPERS, Paint, Sheet, date_words
from app.paper.setting_up_rows import SQUARE, Row, Section, sections_of
from app.paper.setting_up_sketch import HEIGHT, draw_sketch, has_sketch
from app.paper.signs import check_bar
from app.paper.weighing_rows import WeighingTable, weighing_table
from core.bench.linkage import ROD_ARMS
from core.design import Design
from core.stability.readings import NO_SCALE, scale_known

MARGIN = 10.0
_HEAD, _FOOT = 13.0, 22.5
_MEASURED, _WITHIN, _READS, _TICK = 31.0, 25.0, 41.0, 6.0
_WHAT_SIZE, _HOW_SIZE, _FIGURE_SIZE = 8.0, 6.5, 9.0
_DOTS_PER_METRE = round(1200 / 0.0254)


@dataclass(frozen=True)
class _Block:
    """So much height of a page, in mm; ``with_next``: never the last on a page."""

    height: float
    paint: Callable[[Ink, float, float], None]
    with_next: bool = False


def setting_up_sheet(design: Design, *, paper: Paper, today: datetime.date) -> Sheet:
    """The sheet of ``design`` on ``paper``."""
    size = PAPERS[paper]
    return Sheet(
        "the setting-up sheet", f"{design.title[:200]}: setting-up sheet", size.width, size.height,
        lambda width, height: setting_up_pages(design, width, height, today=today),
    )


def setting_up_pages(design: Design, width: float, height: float, *, today: datetime.date) -> list[Paint]:
    """What paints each page of a paper of ``width`` × ``height`` mm."""
    image = QImage(8, 8, QImage.Format.Format_Grayscale8)
    image.setDotsPerMeterX(_DOTS_PER_METRE)
    image.setDotsPerMeterY(_DOTS_PER_METRE)
    painter = QPainter(image)
    ink = Ink(painter)
    try:
        wide = width - 2 * MARGIN
        blocks = []
        for section in sections_of(design):
            made = _section(ink, section, wide)
            if section.title == SQUARE and has_sketch(design):
                made.insert(1, _sketch(design, wide))
            blocks += made
        blocks += _weighings(ink, weighing_table(design), wide)
    finally:
        ink.done()
        painter.end()
    shared = _share_out(blocks, height - 2 * MARGIN - _HEAD - _FOOT)
    return [
        _page(design, today, page_blocks, number, len(shared)) for number, page_blocks in enumerate(shared, 1)
    ]


def _share_out(blocks: list[_Block], room: float) -> list[list[_Block]]:
    """The blocks page by page; those that go with the next stay with it."""
    pages: list[list[_Block]] = [[]]
    used, at = 0.0, 0
    while at < len(blocks):
        end = at
        while blocks[end].with_next and end + 1 < len(blocks):
            end += 1
        group = blocks[at : end + 1]
        tall = sum(block.height for block in group)
        if pages[-1] and used + tall > room:
            pages.append([])
            used = 0.0
        pages[-1].extend(group)
        used += tall
        at = end + 1
    return pages


def _page(design: Design, today: datetime.date, blocks: list[_Block], number: int, count: int) -> Paint:
    def paint(painter: QPainter, paper: QRectF) -> None:
        ink = Ink(painter)
        try:
            inner = paper.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN)
            _draw_head(ink, design, inner, today, number, count)
            y = inner.top() + _HEAD
            for block in blocks:
                block.paint(ink, inner.left(), y)
                y += block.height
            _draw_foot(ink, design, inner)
        finally:
            ink.done()

    return paint


def _draw_head(
    ink: Ink, design: Design, inner: QRectF, today: datetime.date, number: int, count: int
) -> None:
    left, right, y = inner.left(), inner.right(), inner.top()
    name = f"Sternpost setting-up sheet  ·  {date_words(today)}"
    if count > 1:
        name += f"  ·  page {number} of {count}"
    wide = ink.text(right, y + 5.0, name, 8.5, align="right", colour=SOFT)
    ink.text(left, y + 5.0, design.title or "Untitled", 15.0, bold=True, room=inner.width() - wide - 8.0)
    ink.pen(0.5)
    ink.line(left, y + 7.2, right, y + 7.2)
    told = (
        f"Mind: {NO_SCALE}." if not scale_known(design)
        else "Stations x aft of the datum, heights z above it. Tick what is done, write down what was found."
    )
    ink.text(left, y + 11.0, told, 7.2, colour=SOFT, room=inner.width())


def _section(ink: Ink, section: Section, wide: float) -> list[_Block]:
    note = ink.wrapped(section.note, 6.8, wide - 3.0, 6)
    minds = [line for mind in section.minds for line in ink.wrapped(mind, 7.5, wide - 3.0, 3, bold=True)]
    above = 7.2 + 2.9 * len(note) + 3.2 * len(minds) + (0.8 if note or minds else 0.0)

    def head(pen: Ink, x: float, y: float) -> None:
        pen.fill(QRectF(x, y + 1.2, wide, 5.0), WASH)
        pen.text(x + 1.5, y + 4.8, section.title, 7.5, bold=True, room=wide - _MEASURED - _WITHIN - _READS)
        for right, words in zip(_rights(x, wide), ("should read", "may be off", "measured"), strict=True):
            pen.text(right, y + 4.8, words, 6.5, align="right", colour=SOFT)
        for at, line in enumerate(note):
            pen.text(x + 1.5, y + 9.4 + at * 2.9, line, 6.8, colour=SOFT)
        for at, line in enumerate(minds):
            pen.text(x + 1.5, y + 9.6 + len(note) * 2.9 + at * 3.2, line, 7.5, bold=True)

    blocks = [_Block(above, head, with_next=bool(section.rows))]
    blocks += [_row(ink, row, wide) for row in section.rows]
    blocks[-1] = _Block(blocks[-1].height + 1.6, blocks[-1].paint)
    return blocks


def _sketch(design: Design, wide: float) -> _Block:
    return _Block(HEIGHT, lambda ink, x, y: draw_sketch(ink, design, x, y, wide), with_next=True)


def _rights(x: float, wide: float) -> tuple[float, float, float]:
    """The right ends of the columns: should read, may be off, measured."""
    right = x + wide
    return right - _MEASURED - _WITHIN - 1.5, right - _MEASURED - 1.5, right - 1.5


def _row(ink: Ink, row: Row, wide: float) -> _Block:
    room = wide - _TICK - _READS - _WITHIN - _MEASURED - 1.0
    if row.missing:
        room = wide * 0.4
    what = ink.wrapped(row.what, _WHAT_SIZE, room, 2)
    how = ink.wrapped(row.how, _HOW_SIZE, room, 2)
    missing = ink.wrapped(as_sentence(row.missing), _WHAT_SIZE, wide - _TICK - room - 4.0, 2)
    lines = 3.4 * len(what) + 2.8 * len(how)
    height = max(lines, 3.4 * len(missing) if row.missing else 0.0) + 2.2

    def paint(pen: Ink, x: float, y: float) -> None:
        at = y + 3.6
        for line in what:
            pen.text(x + _TICK, at, line, _WHAT_SIZE)
            at += 3.4
        for line in how:
            pen.text(x + _TICK, at - 0.3, line, _HOW_SIZE, colour=SOFT)
            at += 2.8
        reads, within, measured = _rights(x, wide)
        if row.missing:
            for number, line in enumerate(missing):
                pen.text(x + _TICK + room + 3.0, y + 3.6 + 3.4 * number, line, _WHAT_SIZE, italic=True)
        else:
            pen.pen(0.25)
            pen.stroke(QRectF(x + 1.5, y + 1.1, 2.8, 2.8))
            pen.text(reads, y + 3.9, row.reads, _FIGURE_SIZE, bold=True, align="right", room=_READS - 1.0)
            pen.text(within, y + 3.9, row.within, _WHAT_SIZE, align="right", room=_WITHIN - 1.5)
            pen.pen(0.2, SOFT)
            pen.line(measured - _MEASURED + 5.0, y + height - 1.0, measured, y + height - 1.0)
        pen.pen(0.1, FAINT)
        pen.line(x, y + height, x + wide, y + height)

    return _Block(height, paint)


def _weighings(ink: Ink, table: WeighingTable, wide: float) -> list[_Block]:
    """The weighing table: what the design foresees, the stages weighed, and blank lines."""
    note = ink.wrapped(table.note, 6.8, wide - 3.0, 5)
    scales = 19.5
    stage = 35.0
    rest = wide - stage - 3 * scales
    edges = [0.0, stage, stage + scales, stage + 2 * scales]
    edges += [stage + 3 * scales + share * rest for share in (0.0, 0.18, 0.42, 0.74, 1.0)]

    def head(pen: Ink, x: float, y: float) -> None:
        pen.fill(QRectF(x, y + 1.2, wide, 5.0), WASH)
        pen.text(x + 1.5, y + 4.8, "WEIGHING", 7.5, bold=True)
        pen.text(x + wide - 1.5, y + 4.8, table.predicted, _WHAT_SIZE, bold=True, align="right",
                 room=wide - 30.0)
        at = y + 9.4
        for line in note:
            pen.text(x + 1.5, at, line, 6.8, colour=SOFT)
            at += 2.9
        for left, right, words in zip(edges, edges[1:], table.heads, strict=False):
            first = left == 0.0
            pen.text(x + (1.5 if first else right - 1.2), at + 0.9, words, 6.5, bold=True, colour=SOFT,
                     align="left" if first else "right", room=right - left - 1.5)

    def line(cells: tuple[tuple[str, str], ...], words: tuple[str, ...]) -> _Block:
        told = [part for text in words for part in ink.wrapped(text, _HOW_SIZE, wide - _TICK - 1.5, 2)]
        height = 8.6 + 2.8 * len(told)

        def paint(pen: Ink, x: float, y: float) -> None:
            pen.pen(0.25)
            pen.stroke(QRectF(x + 1.5, y + 2.6, 2.8, 2.8))
            for at, (above, below) in enumerate(cells):
                left, right = edges[at], edges[at + 1]
                if at == 0:
                    pen.text(x + _TICK, y + 5.2, above, _WHAT_SIZE, room=right - _TICK - 1.0)
                    continue
                pen.text(x + right - 1.2, y + 3.6, above, _WHAT_SIZE, align="right", room=right - left - 1.6)
                pen.text(x + right - 1.2, y + 7.0, below, _WHAT_SIZE, align="right", bold=at > 3,
                         room=right - left - 1.6)
                pen.pen(0.1, FAINT)
                pen.line(x + left, y, x + left, y + 8.4)
            for number, part in enumerate(told):
                pen.text(x + _TICK, y + 10.2 + 2.8 * number, part, _HOW_SIZE, colour=SOFT)
            pen.pen(0.1, SOFT)
            pen.line(x, y + height, x + wide, y + height)

        return _Block(height, paint)

    rows = [line(row.cells, row.words) for row in table.rows]
    return [_Block(7.2 + 2.9 * len(note) + 4.2, head, with_next=True), *rows]


def _draw_foot(ink: Ink, design: Design, inner: QRectF) -> None:
    """On the left the check bar, on the right what to mind."""
    top = inner.bottom() - _FOOT + 1.5
    ink.pen(0.2)
    ink.line(inner.left(), top, inner.right(), top)
    inches = design.display_units != "mm"
    x, y = inner.left(), top + 1.8
    length = check_bar(ink, x, y, inches=inches)
    name = "4 in" if inches else "100 mm"
    ink.text(x, y + 7.9, f"This bar must be {name} long. If it is not, print at 100 %.", 6.8, room=length)
    told = "Lengths and throws are exact geometry."
    if design.bench.linkages:
        told += (
            f" Rods and wires of linkages are taken {ROD_ARMS:g} times as long as the longer arm they join, "
            "both arms square to them at neutral."
        )
    ink.block(x, y + 11.0, told, 6.2, length, 3, pitch=2.6, colour=SOFT)
    x += length + 5.0
    ink.caption(x, y + 1.6, "BEFORE YOU FLY")
    ink.block(x, y + 4.6, " ".join(CAUTIONS), 6.5, inner.right() - x, 6, pitch=2.75)
