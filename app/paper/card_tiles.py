"""A card copy whose pieces run over several sheets: each with its marks to join by, and a map of them."""

from __future__ import annotations

import shapely
from PySide6.QtCore import QRectF

from app.kit.paths import shape_path
from app.paper.card_drawing import draw_copy
from app.paper.card_layout import BAND, HEAD, MARGIN, CardSheets
from app.paper.ink import FAINT, INK, SOFT, TAIL_WASH, WASH, Align, Ink
from core.bench.tiling import Side, Tiling
from core.geometry.ring import Array

_CROSS = 3.0
_BESIDE: dict[Side, tuple[float, float, Align]] = {
    "left": (2.0, 0.0, "left"), "right": (-2.0, 0.0, "right"), "top": (0.0, 3.4, "centre"),
    "bottom": (0.0, -1.6, "centre"),
}
"""Where a neighbour's name stands by a join, inside the sheet."""


def draw_tile(ink: Ink, sheets: CardSheets, tiling: Tiling, number: int) -> None:
    """What sheet ``number`` shows of the floor, counted from 1, and where it meets its neighbours."""
    tile = tiling.tiles[number - 1]
    u0, v0, u1, v1 = tiling.window(tile)
    left, top = MARGIN, MARGIN + HEAD
    wide, tall = sheets.floor
    window = QRectF(left, top, u1 - u0, v1 - v0)
    floor = QRectF(left - u0, top - (tall - v1), wide, tall)
    painter = ink.painter
    painter.save()
    painter.setClipRect(window)
    for copy in sheets.plan.copies:
        low_x, low_y, high_x, high_y = sheets.plan.shape(copy, copy.piece.region).bounds
        # The silhouette has places, lines and labels about it; the others only a label.
        about = max(wide, tall) if copy.piece.number == 1 else 30.0
        if low_x - about < u1 and high_x + about > u0 and low_y - about < v1 and high_y + about > v0:
            draw_copy(ink, sheets, copy, floor)

    def at(u: float, v: float) -> tuple[float, float]:
        return left + u - u0, top + v1 - v

    for join in tiling.joins(tile):
        ink.pen(0.13, SOFT, (8, 5))
        ink.line(*at(*join.start), *at(*join.end))
    ink.pen(0.2, INK)
    for u, v in tiling.marks(tile):
        x, y = at(u, v)
        ink.line(x - _CROSS, y, x + _CROSS, y)
        ink.line(x, y - _CROSS, x, y + _CROSS)
    painter.restore()
    for join in tiling.joins(tile):
        (x0, y0), (x1, y1) = at(*join.start), at(*join.end)
        x, y = 0.5 * (x0 + x1), 0.5 * (y0 + y1)
        right, below, align = _BESIDE[join.side]
        ink.text(x + right, y + below, join.neighbour.name, 6.0, bold=True, colour=SOFT, align=align)


def draw_map(ink: Ink, sheets: CardSheets) -> None:
    """All sheets as they lie beside one another, the pieces on them, with their names."""
    tiling = sheets.tiling
    if tiling is None:
        return
    u0, v0, u1, v1 = tiling.box
    room = QRectF(
        MARGIN, MARGIN + HEAD, sheets.wide - 2 * MARGIN, sheets.tall - 2 * MARGIN - HEAD - BAND - 2.0
    )
    ink.caption(room.left(), room.top() + 1.0, "HOW THE SHEETS LIE")
    room.adjust(0.0, 3.0, 0.0, 0.0)
    small = min(room.width() / (u1 - u0), room.height() / (v1 - v0))
    left = room.center().x() - 0.5 * small * (u1 - u0)

    def down(points: Array) -> Array:
        moved = points.copy()
        moved[:, 0] = left + small * (points[:, 0] - u0)
        moved[:, 1] = room.top() + small * (v1 - points[:, 1])
        return moved

    for copy in sheets.plan.copies:
        path = shape_path(shapely.transform(sheets.plan.shape(copy, copy.piece.region), down))
        ink.fill(path, WASH if copy.piece.number == 1 else TAIL_WASH)
        ink.pen(0.12, SOFT)
        ink.stroke(path)
    for tile in tiling.tiles:
        a0, b0, a1, b1 = tiling.core(tile)
        ink.pen(0.12, FAINT)
        cell = QRectF(left + small * (a0 - u0), room.top() + small * (v1 - b1), small * (a1 - a0),
                      small * (b1 - b0))
        ink.stroke(cell)
        ink.text(cell.center().x(), cell.center().y() + 1.0, tile.name, 7.5, bold=True, align="centre",
                 colour=SOFT)
