"""What a template is drawn of, laid out in mm of paper: u to the right, v up, mirrored and scaled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.bench.template_lines import grain_of, hinges_of, reference, root_lines
from core.bench.tiling import Rect
from core.design import Design, Outline
from core.geometry.regions import region_of
from core.geometry.ring import Array, Ring
from core.stability.side_area import form_of
from core.units import format_length

_BEYOND = 4.0


@dataclass(frozen=True, eq=False)
class Piece:
    """One outline as it is to be cut: its true curves, the same flattened, and the way of its grain."""

    id: str
    name: str
    count: int
    ring: Ring
    corners: Array
    region: BaseGeometry
    box: Rect
    grain: tuple[float, float]

    @property
    def closed(self) -> Array:
        """Corners (M + 1, 2), the first repeated."""
        return np.vstack((self.corners, self.corners[:1]))


@dataclass(frozen=True, eq=False)
class HingeLine:
    """A hinge line with its hinges, in mm of paper."""

    start: tuple[float, float]
    end: tuple[float, float]
    hinges: tuple[tuple[float, float], ...]


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
    without_area: tuple[str, ...]
    not_kept: tuple[str, ...]

    @property
    def strokes(self) -> list[Array]:
        """The outlines, kept ones included: what a page is needed for."""
        return [p.closed for p in (*self.pieces, *self.before)]

    @property
    def box(self) -> Rect:
        """The extent of the outlines."""
        return _around([p.box for p in (*self.pieces, *self.before)])


def draw_up(
    design: Design, chosen: Sequence[Outline], before: Design | None, *, scale: float, mirror: bool
) -> Drawing:
    """Lay out the ``chosen`` outlines of ``design``, and the same ones of the state ``before``.

    Outlines without area are left out and named.
    """
    way = np.array((-scale if mirror else scale, scale))

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return float(point[0] * way[0]), float(point[1] * way[1])

    hinges = hinges_of(design)
    by_rudder = {h.rudder: h for h in hinges}
    pieces, empty = [], []
    for outline in chosen:
        piece = _piece(outline, way, grain_of(outline, by_rudder.get(outline.id)))
        if piece is None:
            empty.append(outline.name)
        else:
            pieces.append(piece)
    shown = {p.id for p in pieces}
    old, missing = [], []
    if before is not None:
        there = {o.id: o for o in before.outlines}
        whole = len(chosen) == len(design.outlines)
        ids = list(there) if whole else [o.id for o in chosen]
        for outline_id in ids:
            kept = there.get(outline_id)
            laid = _piece(kept, way, (1.0, 0.0)) if kept is not None else None
            if laid is not None:
                old.append(laid)
        missing = [o.name for o in chosen if o.id not in there]
    return Drawing(
        tuple(pieces), tuple(old),
        tuple(
            HingeLine(at(h.start), at(h.end), tuple(at(p) for p in h.hinges))
            for h in hinges if h.rudder in shown or h.fin in shown
        ),
        tuple(line * way for o in chosen if o.id in shown for line in root_lines(design, o)),
        _references(design, [o for o in chosen if o.id in shown], way),
        tuple(empty), tuple(missing),
    )


def _piece(outline: Outline, way: Array, grain: tuple[float, float]) -> Piece | None:
    form = form_of(outline)
    if not form.patch.moments.area > 1e-9:
        return None
    ring = Ring(form.ring.p0 * way, form.ring.p1 * way, form.ring.p2 * way, form.ring.p3 * way)
    corners = form.corners * way
    low, high = corners.min(axis=0), corners.max(axis=0)
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    turned = (grain[0] * (1.0 if way[0] > 0 else -1.0), grain[1])
    return Piece(outline.id, outline.name, outline.count, ring, corners, region_of(corners), box, turned)


def _references(design: Design, chosen: Sequence[Outline], way: Array) -> tuple[Reference, ...]:
    """One station and one height across everything: the datum itself where it lies there."""
    if not chosen:
        return ()
    low_x, low_z, high_x, high_z = _around([form_of(o).patch.box for o in chosen])
    units = design.display_units
    x, z = reference(low_x, high_x, units), reference(low_z, high_z, units)
    beyond = _BEYOND / way[1]
    aft = "datum, station 0" if x == 0.0 else f"station {format_length(x, units)}"
    up = "datum line, height 0" if z == 0.0 else f"{format_length(z, units)} above the datum line"
    if z < 0.0:
        up = f"{format_length(-z, units)} below the datum line"
    return (
        Reference(_at(x, low_z - beyond, way), _at(x, high_z + beyond, way), aft),
        Reference(*_from_left(_at(low_x - beyond, z, way), _at(high_x + beyond, z, way)), up),
    )


def _from_left(
    one: tuple[float, float], other: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    return (one, other) if one <= other else (other, one)


def _at(x: float, z: float, way: Array) -> tuple[float, float]:
    return float(x * way[0]), float(z * way[1])


def _around(boxes: Sequence[Rect]) -> Rect:
    low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
