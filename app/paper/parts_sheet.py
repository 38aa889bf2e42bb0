"""The parts sheet: the cutting list, then every part full size on as many pages as it takes."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.kit.cautions import CAUTIONS
from app.paper.blocks import share_out
from app.paper.cutting_pages import Block, PageOf, cutting_blocks
from app.paper.ink import Ink, one_line
from app.paper.pages import Paint, PaperSize, Sheet, date_words
from app.paper.parts_chosen import before_of, builts_of, kept_builts
from app.paper.parts_drawing import Place, draw_piece, draw_tile
from app.paper.parts_frame import draw_foot, draw_head, measuring
from app.paper.parts_layout import FOOT, HEAD, MARGIN, Layout, lay_pieces, room_of
from app.paper.parts_pieces import pieces_of
from core.bench.cutting_list import cutting_list
from core.design import Alternative, Design
from core.parts.part import Built
from core.parts.said import told
from core.redesign.outline_edits import EditError

JOINING = "Join: cut one page along the dash-dot line, half diamonds on those of the next."
HOW = "Cut along the middle of the dark lines; pale thin ones are marked only. Arrows show the grain."


def parts_sheet(
    design: Design, build_ids: Sequence[str] | None = None, *, paper: PaperSize, today: datetime.date,
    kept: str | None = None,
) -> Sheet:
    """The sheet of the builds ``build_ids`` (None: all) on ``paper``, upright.

    ``kept``: id of the alternative that the masses are set against; None: the newest that differs.
    EditError, one sentence, where there is nothing to draw or no such build.
    """
    found = builts_of(design, build_ids)
    return sheet_of(design, found, before_of(design, kept), paper=paper, today=today)


def sheet_of(
    design: Design, builts: Sequence[Built], kept: Alternative | None, *, paper: PaperSize,
    today: datetime.date,
) -> Sheet:
    """The sheet of what was built already, set against the state ``kept``."""
    if not any(one.parts for one in builts):
        faults = [told(fault, design.display_units) for one in builts for fault in one.faults]
        raise EditError(faults[0] if faults else "nothing can be made of these surfaces: give them sizes")
    return Sheet(
        "the parts sheet", f"{design.title[:200]}: parts", paper.width, paper.height,
        lambda width, height: _pages(design, builts, kept, width, height, today),
    )


def _pages(
    design: Design, builts: Sequence[Built], kept: Alternative | None, width: float, height: float,
    today: datetime.date,
) -> list[Paint]:
    pieces = pieces_of(builts)
    found = cutting_list(design, builts, kept, kept_builts(kept))
    wide, tall = room_of(width, height)
    with measuring() as ink:
        layout = lay_pieces(
            pieces, design, width, height, lambda text, size, bold: ink.width(text, size, bold=bold)
        )
        label = (kept.label or kept.id) if kept is not None else ""
        blocks = cutting_blocks(ink, design, found, pieces, label, wide)
        blocks.append(_cautions(ink, wide))
        lists = share_out(blocks, tall)
    count = len(lists) + layout.pages

    def page_of(number: int) -> int | None:
        page = layout.page_of(number)
        return None if page is None else page + len(lists)

    pages = [
        _Page(design, today, number, count).of_list(page, page_of) for number, page in enumerate(lists, 1)
    ]
    at = len(lists)
    pages += [
        _Page(design, today, at + 1 + sheet, count).of_whole(layout, sheet) for sheet in range(layout.sheets)
    ]
    at += layout.sheets
    pages += [
        _Page(design, today, at + i, count).of_tile(layout, i - 1)
        for i in range(1, len(layout.tile_pages()) + 1)
    ]
    return pages


def _cautions(ink: Ink, wide: float) -> Block:
    lines = ink.wrapped(" ".join(CAUTIONS), 6.8, wide, 6)

    def paint(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
        ink.caption(x, y + 6.6, "BEFORE YOU CUT, BEFORE YOU FLY")
        for i, line in enumerate(lines):
            ink.text(x, y + 10.4 + 3.1 * i, line, 6.8)

    return Block(9.0 + 3.1 * len(lines), paint)


class _Page:
    """One page: its head and foot, and between them what it is of."""

    def __init__(self, design: Design, today: datetime.date, number: int, count: int) -> None:
        self._design, self._number, self._count, self._day = design, number, count, date_words(today)

    def of_list(self, blocks: Sequence[Block], page_of: PageOf) -> Paint:
        """A page of the cutting list."""
        def body(ink: Ink, room: QRectF) -> None:
            y = room.top()
            for block in blocks:
                block.paint(ink, room.left(), y, page_of)
                y += block.height

        return self._painted("cutting list", body)

    def of_whole(self, layout: Layout, sheet: int) -> Paint:
        """A page of parts that lie on it whole."""
        def body(ink: Ink, room: QRectF) -> None:
            for piece, laid in layout.whole:
                if laid.sheet == sheet:
                    draw_piece(ink, piece, Place(room, laid))

        return self._painted("parts, full size", body)

    def of_tile(self, layout: Layout, at: int) -> Paint:
        """A page's share of parts larger than a page."""
        one, tile = layout.tile_pages()[at]

        def body(ink: Ink, room: QRectF) -> None:
            draw_tile(ink, one, tile, room)

        joined = len(one.tiling.tiles) > 1
        return self._painted(f"large parts, full size · {one.name}{tile.name}", body, joined=joined)

    def _painted(self, what: str, body: Callable[[Ink, QRectF], None], *, joined: bool = False) -> Paint:
        def paint(painter: QPainter, page: QRectF) -> None:
            ink = Ink(painter)
            try:
                title = one_line(self._design.title[:300]) or "Untitled"
                draw_head(ink, page, title,
                          f"{what} · {self._day} · page {self._number} of {self._count}")
                room = page.adjusted(MARGIN, MARGIN + HEAD, -MARGIN, -MARGIN - FOOT)
                body(ink, room)
                draw_foot(ink, page, self._design.display_units, f"{HOW} {JOINING}" if joined else HOW)
            finally:
                ink.done()

        return paint
