"""Gauges on paper, full size: as many to a page as find room, those larger than a page over several.

Every page has its bar to measure and its cautions; what cannot be made is said on the first.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage, QPainter
from shapely.geometry.base import BaseGeometry

from app.kit.cautions import CAUTIONS, WORKSHOP
from app.kit.sentences import as_sentence
from app.paper.gauge_drawing import draw_gauge
from app.paper.heads import draw_title
from app.paper.ink import SOFT, Ink, Paper, closed_path
from app.paper.pages import PAPERS, Paint, Sheet, date_words
from app.paper.signs import check_bar
from core.bench.gauge_shapes import Gauge
from core.bench.gauges import gauges_of
from core.bench.nesting import Laid, lay_out
from core.bench.tiling import Tile, Tiling, TilingError, tile_over
from core.design import Design

MARGIN = 10.0
HEAD, FOOT = 10.0, 33.0
OVERLAP, REACH = 12.0, 1.0
_GAP = 5.0
_HOW = {
    "incidence": (
        "INCIDENCE. Print on card, or glue the page to card; cut along the outer line, pierce the pivot. "
        "Level the aeroplane by the line that its plan calls level. Set the notch on the leading edge and "
        "the foot on the trailing edge of the chord named on the card, the card upright and in the line "
        "of flight. A thread with a weight, hung from the pivot, crosses the arc at the incidence. Or lay "
        "a small level on the top edge: it is level at the design's incidence, which is the thick mark."
    ),
    "throw": (
        "THROWS. Cut along the outer line and cut out the inside, the slot as wide as the fixed surface "
        "is thick (drawn so where a build tells it, else narrow). Slide the card on from behind, square "
        "to the hinge line, the fixed surface in the slot and the hinge at the broken line across it, the "
        "trailing edge at 0 in neutral. It moves along the arc: the inner scale is degrees, the outer one "
        "the distance of the trailing edge square to neutral. The thick marks are the throw to set."
    ),
}
_SIZE, _PITCH = 7.0, 3.0
_DOTS_PER_METRE = round(1200 / 0.0254)


def gauges_sheet(design: Design, *, paper: Paper, today: datetime.date) -> Sheet:
    """The gauges of ``design`` on ``paper``."""
    size = PAPERS[paper]
    return Sheet(
        "the gauge sheet", f"{design.title[:200]}: gauges", size.width, size.height,
        lambda width, height: gauges_pages(design, width, height, today=today),
    )


@dataclass(frozen=True, eq=False)
class _Spot:
    """A gauge on a page: turned a quarter or not, its origin in mm of paper; ``tile`` of ``tiling``: the
    window that this page shows of it."""

    gauge: Gauge
    quarter: bool
    x: float
    y: float
    tiling: Tiling | None = None
    tile: Tile | None = None


@dataclass(frozen=True, eq=False)
class _Page:
    spots: tuple[_Spot, ...]
    words: tuple[str, ...] = ()


def gauges_pages(design: Design, width: float, height: float, *, today: datetime.date) -> list[Paint]:
    """What paints each page of a paper of ``width`` × ``height`` mm."""
    gauges, missing = gauges_of(design)
    told = [_HOW[kind] for kind in dict.fromkeys(gauge.kind for gauge in gauges)]
    notes = [as_sentence(g.told) for g in gauges if g.told]
    wide, tall = width - 2 * MARGIN, height - 2 * MARGIN - HEAD - FOOT
    pages, beyond = _laid(gauges, wide, tall, lambda words: _words_height(words, wide), (
        *told, *([" ".join(notes)] if notes else []),
    ), tuple(as_sentence(m) for m in missing))
    return [partial(_paint, design, today, page, number, len(pages), beyond)
            for number, page in enumerate(pages, 1)]


def _laid(
    gauges: tuple[Gauge, ...], wide: float, tall: float, measured: Callable[[tuple[str, ...]], float],
    told: tuple[str, ...], missing: tuple[str, ...],
) -> tuple[list[_Page], tuple[str, ...]]:
    """The pages in order: small gauges first, the words above them on the first; then the large ones."""
    small: list[Gauge] = []
    large: list[Gauge] = []
    for gauge in gauges:
        low_x, low_y, high_x, high_y = shapely.bounds(gauge.card)
        sides = sorted((high_x - low_x + 2 * REACH, high_y - low_y + 2 * REACH))
        (small if sides[0] <= min(wide, tall) and sides[1] <= max(wide, tall) else large).append(gauge)
    pages_large: list[_Page] = []
    for gauge in large:
        made = _tiled(gauge, wide, tall)
        if isinstance(made, str):
            missing = (*missing, as_sentence(f"no gauge for {gauge.name}: {made}"))
        else:
            pages_large += made
    groups: list[list[str]] = [[]]
    for part in (*told, *missing):
        if groups[-1] and measured((*groups[-1], part)) > tall:
            groups.append([])
        groups[-1].append(part)
    pages = [_Page((), tuple(group)) for group in groups]
    first, above = len(pages) - 1, measured(tuple(groups[-1]))
    # Nothing is laid into the inside of a throw gauge: its cuts would meet.
    shapes: list[BaseGeometry] = [
        shapely.buffer(g.card if g.kind == "incidence" else g.card.convex_hull, REACH) for g in small
    ]
    laid = lay_out(
        shapes, lambda sheet: (wide, tall - (above if sheet == 0 else 0.0)), _GAP, most_sheets=len(small) + 1
    )
    for gauge, place in zip(small, laid or [], strict=True):
        at = first + place.sheet
        while at >= len(pages):
            pages.append(_Page(()))
        # Places count up from the lower edge of the room, which is that of the page.
        spot = _Spot(gauge, place.quarter, MARGIN + place.dx, MARGIN + HEAD + tall - place.dy)
        pages[at] = replace(pages[at], spots=(*pages[at].spots, spot))
    return pages + pages_large, missing


def _tiled(gauge: Gauge, wide: float, tall: float) -> list[_Page] | str:
    """The gauge over as few pages as it takes, upright or turned; or why not."""
    best: tuple[Tiling, bool] | None = None
    for quarter in (False, True):
        strokes = [Laid(0, quarter, 0.0, 0.0).points(line) for line in gauge.strokes]
        try:
            tiling = tile_over(strokes, wide, tall, OVERLAP, reach=REACH)
        except TilingError as error:
            return str(error)
        if best is None or len(tiling.tiles) < len(best[0].tiles):
            best = tiling, quarter
    assert best is not None
    tiling, quarter = best
    pages = []
    for tile in tiling.tiles:
        u0, v0, _, _ = tiling.window(tile)
        pages.append(_Page((
            _Spot(gauge, quarter, MARGIN - u0, MARGIN + HEAD + tall + v0, tiling, tile),
        )))
    return pages


def _words_height(words: tuple[str, ...], wide: float) -> float:
    """mm that the words above the gauges take, by the fonts of an image as fine as the paper."""
    image = QImage(8, 8, QImage.Format.Format_Grayscale8)
    image.setDotsPerMeterX(_DOTS_PER_METRE)
    image.setDotsPerMeterY(_DOTS_PER_METRE)
    painter = QPainter(image)
    ink = Ink(painter)
    try:
        return sum(len(ink.wrapped(part, _SIZE, wide, 60)) * _PITCH + 1.0 for part in words) + 2.0
    finally:
        ink.done()
        painter.end()


def _paint(
    design: Design, today: datetime.date, page: _Page, number: int, count: int, missing: tuple[str, ...],
    painter: QPainter, paper: QRectF,
) -> None:
    ink = Ink(painter)
    try:
        inner = paper.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN)
        _draw_head(ink, design, inner, today, number, count)
        y = inner.top() + HEAD + 2.4
        for part in page.words:
            for line in ink.wrapped(part, _SIZE, inner.width(), 60):
                ink.text(inner.left(), y, line, _SIZE, bold=part in missing)
                y += _PITCH
            y += 1.0
        for spot in page.spots:
            _draw_spot(ink, spot, inner)
        _draw_foot(ink, design, inner)
    finally:
        ink.done()


def _draw_spot(ink: Ink, spot: _Spot, inner: QRectF) -> None:
    painter = ink.painter
    painter.save()
    if spot.tiling is not None and spot.tile is not None:
        area = QRectF(inner.left(), inner.top() + HEAD, spot.tiling.wide, spot.tiling.tall)
        painter.setClipRect(area)
        _draw_joins(ink, spot, spot.tiling, spot.tile)
    painter.translate(spot.x, spot.y)
    if spot.quarter:
        painter.rotate(-90.0)
    draw_gauge(ink, spot.gauge)
    painter.restore()


def _draw_joins(ink: Ink, spot: _Spot, tiling: Tiling, tile: Tile) -> None:
    """Where this page meets its neighbours: a broken line, marks that both have, the neighbour's name."""
    for u, v in tiling.marks(tile):
        x, y = spot.x + u, spot.y - v
        ink.pen(0.2, SOFT)
        ink.stroke(closed_path([(x - 2.5, y), (x, y - 2.5), (x + 2.5, y), (x, y + 2.5)]))
        ink.line(x - 2.5, y, x + 2.5, y)
        ink.line(x, y - 2.5, x, y + 2.5)
    for join in tiling.joins(tile):
        start = QPointF(spot.x + join.start[0], spot.y - join.start[1])
        end = QPointF(spot.x + join.end[0], spot.y - join.end[1])
        ink.pen(0.13, SOFT, (20.0, 12.0))
        ink.line(start.x(), start.y(), end.x(), end.y())
        painter = ink.painter
        painter.save()
        painter.translate(0.3 * start.x() + 0.7 * end.x(), 0.3 * start.y() + 0.7 * end.y())
        painter.rotate(90.0 if join.side in ("left", "right") else 0.0)
        # On the page's own side of the line, clear of its marks: beyond it there is little room.
        off = 5.4 if join.side in ("right", "top") else -3.2
        words = f"joins {join.neighbour.name}: lay mark on mark"
        ink.text(0.0, off, words, 6.5, align="centre", colour=SOFT)
        painter.restore()
    u0, _, _, v1 = tiling.core(tile)
    words = f"{spot.gauge.name}: {tile.name} of {len(tiling.tiles)} pages"
    ink.text(spot.x + u0 + 4.0, spot.y - v1 + 5.0, words, 8.0, bold=True, colour=SOFT)


def _draw_head(
    ink: Ink, design: Design, inner: QRectF, today: datetime.date, number: int, count: int
) -> None:
    name = f"Sternpost gauges, full size  ·  {date_words(today)}"
    if count > 1:
        name += f"  ·  page {number} of {count}"
    wide = ink.text(inner.right(), inner.top() + 5.0, name, 8.5, align="right", colour=SOFT)
    draw_title(ink, design, inner.left(), inner.top(), inner.width() - wide - 8.0)
    ink.pen(0.5)
    ink.line(inner.left(), inner.top() + 7.2, inner.right(), inner.top() + 7.2)


def _draw_foot(ink: Ink, design: Design, inner: QRectF) -> None:
    """On the left the check bar, on the right what to mind."""
    top = inner.bottom() - FOOT + 2.0
    ink.pen(0.2)
    ink.line(inner.left(), top, inner.right(), top)
    inches = design.display_units != "mm"
    x, y = inner.left(), top + 1.8
    length = check_bar(ink, x, y, inches=inches)
    name = "4 in" if inches else "100 mm"
    ink.block(x, y + 8.2, f"This bar must be {name} long. If it is not, print at 100 %: a gauge of another "
              "size reads wrong.", 6.8, length, 2, pitch=2.9)
    ink.block(x, y + 15.0, "Chords, incidences and throws are those of the design as it is now; marks are "
              "exact geometry. A broken line is not cut.", 6.2, length, 4, pitch=2.6, colour=SOFT)
    x += length + 5.0
    ink.caption(x, y + 1.6, "BEFORE YOU CUT AND FLY")
    ink.block(x, y + 4.6, " ".join((*WORKSHOP, *CAUTIONS)), 6.3, inner.right() - x, 12, pitch=2.6)


