"""A part on paper: its cutting line, what is marked on it, label and grain; of a large one a page's share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainterPath
from shapely.geometry.base import BaseGeometry

from app.paper.frame import Frame
from app.paper.ink import INK, SOFT, Ink, closed_path
from app.paper.parts_layout import PEN, Spread
from app.paper.parts_pieces import Piece, drawn_edge
from core.bench.nesting import Laid
from core.bench.tiling import Join, Tile, Tiling
from core.geometry.ring import Array

CUT = QColor("#000000")
MARKED_PEN = 0.12
MARK = 3.0
"""mm from the middle of a registration mark to its corners."""
_MARK_TONE = QColor("#a3a6ab")
_DOT_DASHED = (14.0, 3.5, 2.5, 3.5)


class Place:
    """From the piece's own plane to mm of paper, y down."""

    def __init__(self, room: QRectF, laid: Laid) -> None:
        self._room, self._laid = room, laid

    @property
    def quarter(self) -> bool:
        """True if the piece lies turned a quarter to the left."""
        return self._laid.quarter

    def points(self, points: Array) -> Array:
        """Points (N, 2) on the paper."""
        up = self._laid.points(points)
        return np.column_stack((self._room.left() + up[:, 0], self._room.bottom() - up[:, 1]))

    def at(self, u: float, v: float) -> tuple[float, float]:
        """One point likewise."""
        x, y = self.points(np.array(((u, v),)))[0]
        return float(x), float(y)


def draw_piece(ink: Ink, piece: Piece, place: Place) -> None:
    """Draw it: marked lines first, so that nothing lies over the line to cut."""
    ink.pen(MARKED_PEN, SOFT)
    for line in (*piece.engraved, *piece.breaks):
        ink.stroke(_line_path(place.points(line)))
    ink.pen(PEN, CUT)
    edge = QPainterPath()
    for line in drawn_edge(piece):
        edge.addPath(_line_path(place.points(line)))
    ink.stroke(edge)
    if piece.label is not None:
        _draw_label(ink, piece, place)
    if piece.arrow is not None:
        draw_grain(ink, place.at(*piece.arrow[0]), place.at(*piece.arrow[1]))


def _line_path(points: Array) -> QPainterPath:
    path = QPainterPath(QPointF(*points[0]))
    closed = len(points) > 2 and bool((points[0] == points[-1]).all())
    for x, y in points[1:-1] if closed else points[1:]:
        path.lineTo(x, y)
    if closed:
        path.closeSubpath()
    return path


def _draw_label(ink: Ink, piece: Piece, place: Place) -> None:
    label = piece.label
    assert label is not None
    painter = ink.painter
    painter.save()
    painter.translate(*place.at(label.u, label.v))
    if place.quarter:
        painter.rotate(-90.0)
    y = -label.tall / 2
    for words in label.lines:
        y += words.pitch
        ink.text(-label.wide / 2, y - 0.26 * words.pitch, words.text, words.size, bold=words.bold)
    painter.restore()


def draw_grain(ink: Ink, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A shaft with a barb at either end: the grain has no front."""
    length = math.dist(start, end)
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    ink.pen(0.2)
    ink.line(*start, *end)
    for (x, y), way in ((start, 1.0), (end, -1.0)):
        ink.fill(closed_path([
            (x, y), (x + way * (2.2 * dx - 0.7 * dy), y + way * (2.2 * dy + 0.7 * dx)),
            (x + way * (2.2 * dx + 0.7 * dy), y + way * (2.2 * dy - 0.7 * dx)),
        ]), INK)


def draw_tile(ink: Ink, one: Spread, tile: Tile, room: QRectF) -> None:
    """The share of large parts that is on one page, with the joins to its neighbours."""
    u0, v0, u1, v1 = one.tiling.window(tile)
    shown = shapely.box(u0, v0, u1, v1)

    def draw() -> None:
        for piece in one.pieces:
            # Only what is seen, words above all: a search of the page finds nothing that is not on it.
            if shown.intersects(shapely.box(*piece.room.bounds)):
                label = piece.label if piece.label is not None and shown.contains(piece.label.box) else None
                draw_piece(ink, replace(piece, label=label), Place(room, Laid(0, False, -u0, -v0)))

    lines = shapely.GeometryCollection([line for piece in one.pieces for line in _lines_of(piece)])
    draw_window(ink, one.tiling, tile, room, one.name, lines, draw)


def draw_window(
    ink: Ink, tiling: Tiling, tile: Tile, room: QRectF, name: str, lines: BaseGeometry,
    draw: Callable[[], None],
) -> None:
    """One page's window on what ``draw`` draws, with the joins and marks beneath and the page's name.

    ``lines``, in mm of the drawing: what the words of the joins keep off. ``name`` begins every page's.
    """
    u0, v0, u1, v1 = tiling.window(tile)
    frame = Frame(room, (u0 + u1) / 2, (v0 + v1) / 2, 1.0, None)
    painter = ink.painter
    painter.save()
    painter.setClipRect(room)
    marks = tiling.marks(tile)
    for join in tiling.joins(tile):
        _draw_join(ink, frame, join, marks, name, lines)
    for u, v in marks:
        _draw_mark(ink, frame.x(u), frame.y(v))
    draw()
    if len(tiling.tiles) > 1:
        _draw_corner_name(ink, frame, tiling, tile, f"{name}{tile.name}", lines)
    painter.restore()


def _draw_corner_name(
    ink: Ink, frame: Frame, tiling: Tiling, tile: Tile, name: str, lines: BaseGeometry
) -> None:
    """The page's name where no line runs, in a corner if it can be: for when the head has been cut off."""
    u0, v0, u1, v1 = tiling.core(tile)
    half_u, half_v = ink.width(name, 9.0, bold=True) / 2 + 1.0, 2.2
    us = np.linspace(u0 + 4.5 + half_u, u1 - 4.5 - half_u, 9)
    vs = np.linspace(v1 - 4.5 - half_v, v0 + 4.5 + half_v, 9)
    spots = [(float(u), float(v)) for u in us for v in vs]
    spot = _clear_spot(lines, spots, half_u, half_v)
    if spot is not None:
        ink.text(frame.x(spot[0]), frame.y(spot[1]) + 1.2, name, 9.0, bold=True, align="centre", colour=SOFT)


def _lines_of(piece: Piece) -> list[BaseGeometry]:
    """All that words keep off."""
    found = piece.edge_lines
    if piece.label is not None:
        found.append(piece.label.box)
    if piece.arrow is not None:
        found.append(shapely.LineString(piece.arrow))
    return found


def _clear_spot(
    lines: BaseGeometry, spots: Sequence[tuple[float, float]], half_u: float, half_v: float
) -> tuple[float, float] | None:
    """The first spot about which a box of those halves keeps a millimetre off every line."""
    for u, v in spots:
        box = shapely.box(u - half_u, v - half_v, u + half_u, v + half_v)
        if lines.distance(box) >= 1.0:
            return u, v
    return None


def _draw_join(
    ink: Ink, frame: Frame, join: Join, marks: Sequence[tuple[float, float]], prefix: str,
    lines: BaseGeometry,
) -> None:
    """The line to cut one of two pages along, and the neighbour's name between its marks."""
    (a, b), (c, d) = join.start, join.end
    ink.pen(MARKED_PEN, SOFT, _DOT_DASHED)
    ink.line(frame.x(a), frame.y(b), frame.x(c), frame.y(d))
    name = f"{prefix}{join.neighbour.name} joins here"
    inwards = join.side in ("right", "bottom")
    upright = join.side in ("left", "right")
    which, level = (1, join.start[0]) if upright else (0, join.start[1])
    on = sorted(mark[which] for mark in marks if abs(mark[1 - which] - level) < 1e-3)
    half = ink.width(name, 6.5) / 2 + 1.0
    # On the side that goes when it is cut: beyond the join as seen from the page's middle.
    off = {"left": -2.2, "right": 2.2, "top": 2.2, "bottom": -2.2}[join.side]
    spots = [
        (level + off, along) if upright else (along, level + off)
        for low, high in pairwise(on) for along in _from_middle(low + MARK + half, high - MARK - half)
    ]
    spot = _clear_spot(lines, spots, *((1.4, half) if upright else (half, 1.4)))
    if spot is None:
        return
    u, v = (level, spot[1]) if upright else (spot[0], level)
    painter = ink.painter
    painter.save()
    painter.translate(frame.x(u), frame.y(v))
    if upright:
        painter.rotate(-90.0)
    ink.text(0.0, 3.1 if inwards else -1.1, name, 6.5, align="centre", colour=SOFT)
    painter.restore()


def _from_middle(low: float, high: float) -> list[float]:
    """Places between two ends, the middle first; none where they have changed sides."""
    if high < low:
        return []
    middle = (low + high) / 2
    return sorted((float(x) for x in np.linspace(low, high, 9)), key=lambda x: abs(x - middle))


def _draw_mark(ink: Ink, x: float, y: float) -> None:
    """A diamond with a cross through it; half of it is left on either side of the cut."""
    for way in (-1.0, 1.0):
        ink.fill(closed_path([(x, y + way * MARK), (x - way * MARK, y), (x, y)]), _MARK_TONE)
    ink.pen(MARKED_PEN)
    ink.stroke(closed_path([(x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)]))
    ink.line(x - MARK, y, x + MARK, y)
    ink.line(x, y - MARK, x, y + MARK)
