"""The setting-up sheet: what to measure while the tail is glued on, upright, one page or as many as needed.

A tick box and a blank for the measured value stand beside every figure; the weighings come last, with
blank lines for what is weighed at the bench.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from app.kit.cautions import CAUTIONS
from app.kit.sentences import as_sentence
from app.paper.blocks import Block, share_out
from app.paper.heads import draw_title, title_of
from app.paper.ink import FAINT, SOFT, WASH, Ink, Paper
from app.paper.pages import PAPERS, Paint, Sheet, date_words
from app.paper.setting_up_row import Row, Section
from app.paper.setting_up_rows import SQUARE, sections_of
from app.paper.setting_up_sketch import HEIGHT, draw_sketch, has_sketch
from app.paper.signs import check_bar
from app.paper.weighing_rows import BLANKS, WeighingTable, weighing_table
from core.bench.linkage import ROD_ARMS
from core.design import Design
from core.stability.readings import NO_SCALE, scale_known

MARGIN = 10.0
_HEAD, _FOOT = 13.0, 22.5
_MEASURED, _WITHIN, _READS, _TICK = 31.0, 25.0, 41.0, 6.0
_WHAT_SIZE, _HOW_SIZE, _FIGURE_SIZE = 8.0, 6.5, 9.0
_DOTS_PER_METRE = round(1200 / 0.0254)


_Block = Block[Callable[[Ink, float, float], None]]


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
        blocks = _long_title(ink, design, wide)
        for section in sections_of(design):
            made = _section(ink, section, wide)
            if section.title == SQUARE and has_sketch(design):
                made.insert(1, _sketch(design, wide))
            blocks += made
        blocks += _weighings(ink, weighing_table(design), wide)
    finally:
        ink.done()
        painter.end()
    shared = share_out(blocks, height - 2 * MARGIN - _HEAD - _FOOT)
    return [
        _page(design, today, page_blocks, number, len(shared)) for number, page_blocks in enumerate(shared, 1)
    ]


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
    draw_title(ink, design, left, y, inner.width() - wide - 8.0)
    ink.pen(0.5)
    ink.line(left, y + 7.2, right, y + 7.2)
    told = (
        f"Mind: {NO_SCALE}." if not scale_known(design)
        else "Stations x aft of the datum, heights z above it. Tick what is done, write down what was found."
    )
    ink.text(left, y + 11.0, told, ink.fitting_size(told, (7.2, 6.4, 5.8), inner.width()), colour=SOFT)


def _long_title(ink: Ink, design: Design, wide: float) -> list[_Block]:
    """The title once more, whole, where the head of a page has no room for all of it."""
    if len(ink.whole(title_of(design), 8.0, wide - 90.0, bold=True)) <= 2:
        return []
    return [
        _lines_block(["TITLE"], 6.5, bold=True),
        *(_lines_block([line], 8.0, bold=True) for line in ink.whole(title_of(design), 8.0, wide, bold=True)),
    ]


def _lines_block(lines: list[str], size: float, *, bold: bool) -> _Block:
    def paint(pen: Ink, x: float, y: float) -> None:
        for at, line in enumerate(lines):
            pen.text(x + 1.5, y + 2.6 + at * 3.4, line, size, bold=bold)

    return _Block(3.4 * len(lines), paint)


def _section(ink: Ink, section: Section, wide: float) -> list[_Block]:
    room = wide - _MEASURED - _WITHIN - _READS - 4.0
    title = ink.whole(section.title, 7.5, room, bold=True)
    note = ink.whole(section.note, 6.8, wide - 3.0)
    minds = [line for mind in section.minds for line in ink.whole(mind, 7.5, wide - 3.0, bold=True)]
    bar = 1.8 + 3.2 * len(title)
    above = 2.2 + bar + 2.9 * len(note) + 3.2 * len(minds) + (0.8 if note or minds else 0.0)

    def head(pen: Ink, x: float, y: float) -> None:
        again(pen, x, y, title)
        for at, line in enumerate(note):
            pen.text(x + 1.5, y + bar + 4.4 + at * 2.9, line, 6.8, colour=SOFT)
        for at, line in enumerate(minds):
            pen.text(x + 1.5, y + bar + 4.6 + len(note) * 2.9 + at * 3.2, line, 7.5, bold=True)

    def again(pen: Ink, x: float, y: float, lines: list[str]) -> None:
        pen.fill(QRectF(x, y + 1.2, wide, 1.8 + 3.2 * len(lines)), WASH)
        for at, line in enumerate(lines):
            pen.text(x + 1.5, y + 4.8 + 3.2 * at, line, 7.5, bold=True)
        for right, words in zip(_rights(x, wide), ("should read", "may be off", "measured"), strict=True):
            pen.text(right, y + 4.8, words, 6.5, align="right", colour=SOFT)

    more = ink.whole(f"{section.title}, continued", 7.5, room, bold=True)
    heading = _Block(2.2 + 1.8 + 3.2 * len(more), lambda pen, x, y: again(pen, x, y, more))
    blocks = [_Block(above, head, with_next=bool(section.rows))]
    blocks += [_row(ink, row, wide, heading) for row in section.rows]
    last = blocks[-1]
    blocks[-1] = _Block(last.height + 1.6, last.paint, head=last.head)
    return blocks


def _sketch(design: Design, wide: float) -> _Block:
    return _Block(HEIGHT, lambda ink, x, y: draw_sketch(ink, design, x, y, wide), with_next=True)


def _rights(x: float, wide: float) -> tuple[float, float, float]:
    """The right ends of the columns: should read, may be off, measured."""
    right = x + wide
    return right - _MEASURED - _WITHIN - 1.5, right - _MEASURED - 1.5, right - 1.5


def _row(ink: Ink, row: Row, wide: float, heading: _Block) -> _Block:
    room = wide - _TICK - _READS - _WITHIN - _MEASURED - 1.0
    if row.missing:
        room = wide * 0.4
    what = ink.whole(row.what, _WHAT_SIZE, room)
    # What stands under the figures has the width that they leave.
    how = ink.whole(row.how, _HOW_SIZE, room if row.missing else wide - _TICK - _MEASURED - 2.0)
    missing = ink.whole(as_sentence(row.missing), _WHAT_SIZE, wide - _TICK - room - 4.0)
    reads_size = ink.fitting_size(row.reads, (_FIGURE_SIZE, 8.0, 7.0, 6.0), _READS - 1.0, bold=True)
    within_size = ink.fitting_size(row.within, (_WHAT_SIZE, 7.2, 6.5, 5.8), _WITHIN - 1.5)
    lines = max(3.4 * len(what), 3.6) + 2.8 * len(how)
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
            pen.text(reads, y + 3.9, row.reads, reads_size, bold=True, align="right")
            pen.text(within, y + 3.9, row.within, within_size, align="right")
            _blanks(pen, row.blanks, measured, y + height - 1.0)
        pen.pen(0.1, FAINT)
        pen.line(x, y + height, x + wide, y + height)

    return _Block(height, paint, head=heading)


def _blanks(pen: Ink, names: tuple[str, ...], right: float, y: float) -> None:
    """The line to write on, or one for each name, the first on the left."""
    whole = _MEASURED - 5.0
    if not names:
        pen.pen(0.2, SOFT)
        pen.line(right - whole, y, right, y)
        return
    each = (whole - 2.0 * (len(names) - 1)) / len(names)
    for at, name in enumerate(names):
        left = right - whole + at * (each + 2.0)
        pen.pen(0.2, SOFT)
        pen.line(left, y, left + each, y)
        pen.text(left + each / 2, y - 4.0, name, 5.5, align="centre", colour=SOFT)


def _weighings(ink: Ink, table: WeighingTable, wide: float) -> list[_Block]:
    """The weighing table: what the design foresees, the stages weighed, and blank lines."""
    note = ink.whole(table.note, 6.8, wide - 3.0)
    predicted = ink.fitting_size(table.predicted, (_WHAT_SIZE, 7.2, 6.5, 5.8), wide - 30.0, bold=True)
    apart = ink.width(table.predicted, predicted, bold=True) > wide - 30.0
    told_predicted = ink.whole(table.predicted, predicted, wide - (3.0 if apart else 30.0), bold=True)
    down = 3.4 * len(told_predicted) if apart else 0.0
    scales = 19.5
    stage = 35.0
    rest = wide - stage - 3 * scales
    edges = [0.0, stage, stage + scales, stage + 2 * scales]
    edges += [stage + 3 * scales + share * rest for share in (0.0, 0.18, 0.42, 0.74, 1.0)]

    def heads(pen: Ink, x: float, at: float) -> None:
        for left, right, words in zip(edges, edges[1:], table.heads, strict=False):
            first = left == 0.0
            pen.text(x + (1.5 if first else right - 1.2), at + 0.9, words, 6.5, bold=True, colour=SOFT,
                     align="left" if first else "right")

    def bar(pen: Ink, x: float, y: float, title: str) -> None:
        pen.fill(QRectF(x, y + 1.2, wide, 5.0), WASH)
        pen.text(x + 1.5, y + 4.8, title, 7.5, bold=True)

    def head(pen: Ink, x: float, y: float) -> None:
        bar(pen, x, y, "WEIGHING")
        if apart:
            for number, words in enumerate(told_predicted):
                pen.text(x + 1.5, y + 9.6 + 3.4 * number, words, predicted, bold=True)
        else:
            pen.text(x + wide - 1.5, y + 4.8, table.predicted, predicted, bold=True, align="right")
        at = y + 9.4 + down
        for words in note:
            pen.text(x + 1.5, at, words, 6.8, colour=SOFT)
            at += 2.9
        heads(pen, x, at)

    def again(pen: Ink, x: float, y: float) -> None:
        bar(pen, x, y, "WEIGHING, continued")
        heads(pen, x, y + 9.4)

    heading = _Block(11.4, again)

    def line(cells: tuple[tuple[str, str], ...], words: tuple[str, ...]) -> _Block:
        told = [part for text in words for part in ink.whole(text, _HOW_SIZE, wide - _TICK - 1.5)]
        stage_lines = ink.whole(cells[0][0], _WHAT_SIZE, stage - _TICK - 1.0)
        deep = max(8.6, 4.0 + 3.4 * len(stage_lines))
        height = deep + 2.8 * len(told)
        small = (_WHAT_SIZE, 7.2, 6.5, 5.8)

        def paint(pen: Ink, x: float, y: float) -> None:
            pen.pen(0.25)
            pen.stroke(QRectF(x + 1.5, y + 2.6, 2.8, 2.8))
            for at, (above, below) in enumerate(cells):
                left, right = edges[at], edges[at + 1]
                if at == 0:
                    for number, part in enumerate(stage_lines):
                        pen.text(x + _TICK, y + 5.2 + 3.4 * number, part, _WHAT_SIZE)
                    continue
                for words_at, words_in, bold in ((3.6, above, False), (7.0, below, at > 3)):
                    size = pen.fitting_size(words_in, small, right - left - 1.6, bold=bold)
                    pen.text(x + right - 1.2, y + words_at, words_in, size, align="right", bold=bold)
                pen.pen(0.1, FAINT)
                pen.line(x + left, y, x + left, y + deep - 0.2)
            for number, part in enumerate(told):
                pen.text(x + _TICK, y + deep + 1.6 + 2.8 * number, part, _HOW_SIZE, colour=SOFT)
            pen.pen(0.1, SOFT)
            pen.line(x, y + height, x + wide, y + height)

        return _Block(height, paint, head=heading)

    rows = [line(row.cells, row.words) for row in table.rows]
    # The blanks stay together: one alone on a page would be of no use.
    kept = [
        _Block(row.height, row.paint, with_next=at >= len(rows) - BLANKS and at < len(rows) - 1,
               head=row.head)
        for at, row in enumerate(rows)
    ]
    return [_Block(7.2 + down + 2.9 * len(note) + 4.2, head, with_next=True), *kept]


def _draw_foot(ink: Ink, design: Design, inner: QRectF) -> None:
    """On the left the check bar, on the right what to mind."""
    top = inner.bottom() - _FOOT + 1.5
    ink.pen(0.2)
    ink.line(inner.left(), top, inner.right(), top)
    inches = design.display_units != "mm"
    x, y = inner.left(), top + 1.8
    length = check_bar(ink, x, y, inches=inches)
    name = "4 in" if inches else "100 mm"
    ink.text(x, y + 7.9, f"This bar must be {name} long. If it is not, print at 100 %.", 6.8)
    told = "Lengths and throws are exact geometry."
    if design.bench.linkages:
        told += (
            f" Rods and wires of linkages are taken {ROD_ARMS:g} times as long as the longer arm they join, "
            "both arms square to them at neutral."
        )
    for at, line in enumerate(ink.whole(told, 6.2, length)):
        ink.text(x, y + 11.0 + 2.6 * at, line, 6.2, colour=SOFT)
    x += length + 5.0
    ink.caption(x, y + 1.6, "BEFORE YOU FLY")
    for at, line in enumerate(ink.whole(" ".join(CAUTIONS), 6.5, inner.right() - x)):
        ink.text(x, y + 4.6 + 2.75 * at, line, 6.5)
