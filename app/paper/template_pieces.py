"""What a template is drawn of, in mm of paper: u to the right, v up, mirrored, scaled and turned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.bench.hinge_boxes import HingeBoxes, hinge_boxes
from core.bench.seats import seats_of
from core.bench.template_lines import (
    Hinge,
    grain_of,
    hinges_of,
    reference,
    root_lines,
    shared_stretches,
    stretches_off,
)
from core.bench.tiling import Rect
from core.bench.turning import turn_matrix
from core.design import Design, Outline
from core.geometry.regions import region_of
from core.geometry.ring import Array, Ring
from core.kinds import RUDDERS
from core.stability.balance import cg_of
from core.stability.side_area import form_of
from core.units import format_angle, format_fine

_BEYOND = 4.0
_ON_LINE = 1.0
"""mm of paper: a hinge line this near to an outline is not drawn beside it."""
_SEAT_NEAR = 15.0
"""mm: a seat this near to a piece is drawn on it."""


@dataclass(frozen=True, eq=False)
class Piece:
    """One outline as it is to be cut: its true curves, the same flattened, and the way of its grain.

    ``left``: the stretches of it that a neighbour's line stands for, polylines (N, 2).
    """

    id: str
    name: str
    count: int
    ring: Ring
    corners: Array
    region: BaseGeometry
    box: Rect
    grain: tuple[float, float]
    left: tuple[Array, ...] = ()

    @property
    def closed(self) -> Array:
        """Corners (M + 1, 2), the first repeated."""
        return np.vstack((self.corners, self.corners[:1]))


@dataclass(frozen=True, eq=False)
class HingeLine:
    """A hinge line with its hinges, each ``across`` × ``along`` the line, in mm of paper.

    ``apart``: its stretches that no outline runs along, (2, 2) each: where one does, that is the line.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    hinges: tuple[tuple[float, float], ...]
    across: float
    along: float
    apart: tuple[Array, ...]


@dataclass(frozen=True, eq=False)
class SeatLine:
    """The root chord of a wing or tailplane, leading to trailing edge in mm of paper, with what it is."""

    leading: tuple[float, float]
    trailing: tuple[float, float]
    words: str


@dataclass(frozen=True, eq=False)
class Reference:
    """A line to measure from, straight up or level, with what it is."""

    start: tuple[float, float]
    end: tuple[float, float]
    words: str


@dataclass(frozen=True, eq=False)
class Drawing:
    """All that is drawn, in mm of paper."""

    pieces: tuple[Piece, ...]
    before: tuple[Piece, ...]
    hinges: tuple[HingeLine, ...]
    roots: tuple[Array, ...]
    references: tuple[Reference, ...]
    seats: tuple[SeatLine, ...]
    cg: tuple[float, float] | None
    without_area: tuple[str, ...]
    not_kept: tuple[str, ...]

    @property
    def shares_edges(self) -> bool:
        """True if an edge of two pieces is drawn once."""
        return any(piece.left for piece in self.pieces)

    @property
    def box(self) -> Rect:
        """The extent of the outlines."""
        return _around([p.box for p in (*self.pieces, *self.before)])


class _Onto:
    """From mm of the design to mm of paper: mirrored, scaled, turned."""

    def __init__(self, scale: float, mirror: bool, turn: float) -> None:
        self.scale = scale
        self._way = np.diag((-scale if mirror else scale, scale)) @ turn_matrix(turn)

    def points(self, points: Array) -> Array:
        return points @ self._way

    def point(self, point: tuple[float, float]) -> tuple[float, float]:
        u, v = self.points(np.asarray(point, dtype=np.float64))
        return float(u), float(v)

    def along(self, way: tuple[float, float]) -> tuple[float, float]:
        u, v = self.point(way)
        return u / self.scale, v / self.scale


@dataclass(frozen=True, eq=False)
class Extent:
    """What sheets are needed for: regions and strokes (N, 2) of the outlines, and the lines beside them."""

    regions: tuple[BaseGeometry, ...]
    strokes: tuple[Array, ...]
    lines: tuple[Array, ...]

    def turned(self, degrees: float) -> Extent:
        """The same, turned anticlockwise."""
        way = turn_matrix(degrees)
        return Extent(
            tuple(shapely.transform(region, lambda points: points @ way) for region in self.regions),
            tuple(stroke @ way for stroke in self.strokes), tuple(line @ way for line in self.lines),
        )


def extent_of(
    design: Design, chosen: Sequence[Outline], before: Design | None, *, scale: float, mirror: bool
) -> Extent:
    """The extent of what ``draw_up`` draws, as it is before any turn."""
    onto = _Onto(scale, mirror, 0.0)
    pieces, old, _ = _outlines(chosen, before, onto, {}, len(chosen) == len(design.outlines))
    shown = {p.id for p in pieces}
    lines = _references(design, [o for o in chosen if o.id in shown], onto)
    return Extent(
        tuple(p.region for p in pieces), tuple(p.closed for p in (*pieces, *old)),
        tuple(np.array((line.start, line.end)) for line in lines),
    )


def draw_up(
    design: Design, chosen: Sequence[Outline], before: Design | None, *, scale: float, mirror: bool,
    turn: float = 0.0,
) -> Drawing:
    """Lay out the ``chosen`` outlines of ``design``, and the same ones of the state ``before``.

    ``turn``: degrees anticlockwise, everything turned along. Outlines without area are left out and named.
    """
    onto = _Onto(scale, mirror, turn)
    hinges = hinges_of(design)
    by_rudder = {h.rudder: h for h in hinges}
    grains = {o.id: grain_of(o, by_rudder.get(o.id)) for o in chosen}
    whole = len(chosen) == len(design.outlines)
    pieces, old, empty = _outlines(chosen, before, onto, grains, whole)
    shown = {p.id for p in pieces}
    there = {o.id for o in before.outlines} if before is not None else set()
    cg, _ = cg_of(design)
    over = any(form_of(o).patch.region.intersects(shapely.Point(cg.x, cg.z)) for o in chosen) if cg else False
    return Drawing(
        _each_edge_once(pieces, [o.id for o in chosen if o.kind in RUDDERS]), old,
        tuple(
            _hinge_line(h, hinge_boxes(design, h), pieces, onto) for h in hinges if {h.rudder, h.fin} & shown
        ),
        tuple(onto.points(line) for o in chosen if o.id in shown for line in root_lines(design, o)),
        _references(design, [o for o in chosen if o.id in shown], onto),
        _seats(design, [o for o in chosen if o.id in shown], whole, onto),
        onto.point((cg.x, cg.z)) if cg is not None and over else None,
        empty, tuple(o.name for o in chosen if o.id not in there) if before is not None else (),
    )


def _outlines(
    chosen: Sequence[Outline], before: Design | None, onto: _Onto,
    grains: Mapping[str, tuple[float, float]], whole: bool,
) -> tuple[tuple[Piece, ...], tuple[Piece, ...], tuple[str, ...]]:
    """(the pieces, those of the state before, the names of outlines without area)."""
    laid = [(o, _piece(o, onto, grains.get(o.id, (1.0, 0.0)))) for o in chosen]
    old = []
    if before is not None:
        there = {o.id: o for o in before.outlines}
        ids = list(there) if whole else [o.id for o in chosen]
        old = [_piece(there[i], onto, (1.0, 0.0)) for i in ids if i in there]
    return (
        tuple(piece for _, piece in laid if piece is not None), tuple(p for p in old if p is not None),
        tuple(o.name for o, piece in laid if piece is None),
    )


def _piece(outline: Outline, onto: _Onto, grain: tuple[float, float]) -> Piece | None:
    form = form_of(outline)
    if not form.patch.moments.area > 1e-9:
        return None
    ring = Ring(*(onto.points(p) for p in (form.ring.p0, form.ring.p1, form.ring.p2, form.ring.p3)))
    corners = onto.points(form.corners)
    low, high = corners.min(axis=0), corners.max(axis=0)
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    return Piece(
        outline.id, outline.name, outline.count, ring, corners, region_of(corners), box, onto.along(grain)
    )


def _each_edge_once(pieces: Sequence[Piece], moving: Sequence[str]) -> tuple[Piece, ...]:
    """The pieces, each without what a neighbour draws: of two the one that moves draws, else the smaller."""
    ranked = sorted(pieces, key=lambda p: (p.id not in moving, p.region.area, p.id))
    left: dict[str, tuple[Array, ...]] = {}
    for i, piece in enumerate(ranked):
        box = shapely.box(*piece.box)
        left[piece.id] = tuple(
            stretch for drawer in ranked[:i] if box.dwithin(shapely.box(*drawer.box), 1.0)
            for stretch in shared_stretches(piece.corners, drawer.corners)
        )
    return tuple(replace(piece, left=left[piece.id]) for piece in pieces)


def _hinge_line(hinge: Hinge, boxes: HingeBoxes, pieces: Sequence[Piece], onto: _Onto) -> HingeLine:
    start, end = onto.point(hinge.start), onto.point(hinge.end)
    return HingeLine(
        start, end, tuple(onto.point(place) for place in boxes.places), boxes.across * onto.scale,
        boxes.along * onto.scale, stretches_off(start, end, [p.corners for p in pieces], _ON_LINE),
    )


def _references(design: Design, chosen: Sequence[Outline], onto: _Onto) -> tuple[Reference, ...]:
    """One station and one height across everything: the datum itself where it lies there."""
    if not chosen:
        return ()
    low_x, low_z, high_x, high_z = _around([form_of(o).patch.box for o in chosen])
    units = design.display_units
    x, z = reference(low_x, high_x, units), reference(low_z, high_z, units)
    beyond = _BEYOND / onto.scale
    aft = "datum, station 0" if x == 0.0 else f"station {format_fine(x, units)}"
    up = "datum line, height 0" if z == 0.0 else f"{format_fine(z, units)} above the datum line"
    if z < 0.0:
        up = f"{format_fine(-z, units)} below the datum line"
    return (
        Reference(onto.point((x, low_z - beyond)), onto.point((x, high_z + beyond)), aft),
        Reference(
            *_from_left(onto.point((low_x - beyond, z)), onto.point((high_x + beyond, z))), up
        ),
    )


def _seats(
    design: Design, chosen: Sequence[Outline], whole: bool, onto: _Onto
) -> tuple[SeatLine, ...]:
    """The seats that lie on what is drawn, or all of them with the whole side."""
    regions = [form_of(o).patch.region for o in chosen]
    found = []
    for seat in seats_of(design):
        line = shapely.LineString((seat.leading, seat.trailing))
        if whole or any(region.dwithin(line, _SEAT_NEAR) for region in regions):
            words = (
                f"{seat.name} seat: root chord {format_fine(seat.chord, design.display_units)}, "
                f"incidence {format_angle(seat.incidence_deg)}"
            )
            found.append(SeatLine(onto.point(seat.leading), onto.point(seat.trailing), words))
    return tuple(found)


def _from_left(
    one: tuple[float, float], other: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    return (one, other) if one <= other else (other, one)


def _around(boxes: Sequence[Rect]) -> Rect:
    low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
