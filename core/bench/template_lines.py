"""What is drawn on a template beside the outline: hinge line, root line, grain, lines to measure from.

Everything in mm of the design, x aft and z up. How many hinges, where they sit and how the grain
runs is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Design, DisplayUnits, Outline
from core.geometry.overlay import lines_in, union
from core.geometry.ring import Array
from core.kinds import ROOTED, RUDDERS, UPRIGHT
from core.parts.hinge_places import Point, hinge_places
from core.stability.side_area import form_of
from core.units import MM_PER_IN

NEAR = 3.0
"""mm: a rudder's edge this near to a fin's is taken to lie along it; traced edges never meet exactly."""
_STRAIGHT = 1.0
_SHORTEST_HINGE = 20.0
_SHORTEST_ROOT = 5.0
_TOUCHING = 0.3
SHARED, SHORTEST_SHARED = 0.05, 5.0
"""mm: two outlines this near to each other, for so long, have an edge in common."""


@dataclass(frozen=True)
class Hinge:
    """The straight line on which a rudder turns, from its lower to its upper end, and its hinges."""

    rudder: str
    fin: str
    start: Point
    end: Point
    hinges: tuple[Point, ...]

    @property
    def length(self) -> float:
        """In mm."""
        return math.dist(self.start, self.end)


def hinges_of(design: Design) -> tuple[Hinge, ...]:
    """Every rudder's hinge line: the longest straight stretch of its edge that lies along a fin's edge."""
    fins = [o for o in design.outlines if o.kind in UPRIGHT - RUDDERS]
    found = []
    for rudder in (o for o in design.outlines if o.kind in RUDDERS):
        lines = [(fin, _shared_line(rudder, fin)) for fin in fins]
        known = [(fin, line) for fin, line in lines if line is not None]
        if known:
            fin, (start, end) = max(known, key=lambda item: math.dist(*item[1]))
            found.append(Hinge(rudder.id, fin.id, start, end, hinge_places(start, end)))
    return tuple(found)


def _shared_line(rudder: Outline, fin: Outline) -> tuple[Point, Point] | None:
    one, other = form_of(rudder), form_of(fin)
    if one.patch.region.is_empty or other.patch.region.is_empty:
        return None
    fin_edge = other.patch.region.boundary
    if not shapely.dwithin(one.patch.region.boundary, fin_edge, NEAR):
        return None
    edge = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(one.corners), 1.0))[:-1]
    shared = edge[shapely.distance(shapely.points(edge), fin_edge) <= NEAR]
    if len(shared) < 2:
        return None
    # Every pair out of a few points proposes a line; the one that most points lie on has it.
    few = shared[np.unique(np.linspace(0, len(shared) - 1, 32).astype(np.int64))]
    a, b = np.triu_indices(len(few), 1)
    along = few[b] - few[a]
    length = np.hypot(along[:, 0], along[:, 1])
    keep = length >= _SHORTEST_HINGE / 2
    if not keep.any():
        return None
    start, along = few[a][keep], along[keep] / length[keep, None]
    away = shared[None] - start[:, None]
    on = np.abs(away[..., 0] * along[:, None, 1] - away[..., 1] * along[:, None, 0]) <= _STRAIGHT
    line = shared[on[int(on.sum(axis=1).argmax())]]
    middle = line.mean(axis=0)
    way = np.linalg.svd(line - middle, full_matrices=False)[2][0]
    if way[1] < 0.0:
        way = -way
    reach = (line - middle) @ way
    # The rudder's edge is near the fin's a little past its ends too: both must be there.
    facing = shapely.get_coordinates(shapely.segmentize(fin_edge, 1.0))
    near = shapely.distance(shapely.points(facing), shapely.LinearRing(one.corners)) <= NEAR
    beside = (facing[near] - middle) @ way
    if not len(beside):
        return None
    first, last = max(reach.min(), beside.min()), min(reach.max(), beside.max())
    if last - first < _SHORTEST_HINGE:
        return None
    low, high = middle + first * way, middle + last * way
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def body_under(design: Design) -> BaseGeometry:
    """What tail and pylons stand on: the union of all single joined outlines but those."""
    return union(
        form_of(o).patch.region for o in design.outlines
        if o.count == 1 and o.standing == "joined" and o.kind not in ROOTED | UPRIGHT
    )


def shared_stretches(one: Array, other: Array) -> tuple[Array, ...]:
    """Where the closed outline ``one`` runs on the other, as polylines (N, 2); both corners (M, 2).

    On it is what lies within SHARED, for SHORTEST_SHARED and more.
    """
    near = shapely.buffer(shapely.LinearRing(other), SHARED, quad_segs=2)
    met = lines_in(shapely.LinearRing(one), near)
    merged = shapely.line_merge(met) if met.geom_type == "MultiLineString" else met
    return tuple(
        shapely.get_coordinates(part) for part in shapely.get_parts(merged)
        if part.geom_type == "LineString" and part.length >= SHORTEST_SHARED
    )


def stretches_off(start: Point, end: Point, outlines: Sequence[Array], within: float) -> tuple[Array, ...]:
    """The parts of a straight line, (2, 2) each, that lie further than ``within`` from every closed outline.

    To half a millimetre.
    """
    points = np.linspace(start, end, 2 + int(math.dist(start, end) / 0.5))
    rings = shapely.MultiLineString([shapely.LinearRing(outline) for outline in outlines])
    off = np.concatenate(((False,), shapely.distance(shapely.points(points), rings) > within, (False,)))
    turns = np.flatnonzero(off[1:] != off[:-1])
    return tuple(
        points[[first, last - 1]] for first, last in zip(turns[::2], turns[1::2], strict=True)
        if last - first > 1
    )


def root_lines(design: Design, outline: Outline) -> tuple[Array, ...]:
    """Where a joined fin, ventral fin or pylon meets the body, as polylines (N, 2).

    The body is the union of all other single joined outlines but the tail's own. Where the fin only
    stands on it, the edge that both share.
    """
    if outline.kind not in ROOTED or outline.standing != "joined":
        return ()
    body = body_under(design)
    region = form_of(outline).patch.region
    if body.is_empty or region.is_empty:
        return ()
    for grown in (-_TOUCHING, _TOUCHING):
        met = lines_in(body.boundary, shapely.buffer(region, grown))
        merged = shapely.line_merge(met) if met.geom_type == "MultiLineString" else met
        found = tuple(
            shapely.get_coordinates(part) for part in shapely.get_parts(merged)
            if part.geom_type == "LineString" and part.length >= _SHORTEST_ROOT
        )
        if found:
            return found
    return ()


def grain_of(outline: Outline, hinge: Hinge | None = None) -> Point:
    """The direction (dx, dz), of length 1, upwards or aft, that the grain is laid in (common practice).

    A rudder: along its hinge line. Fins: along the leading edge. Everything else: its longest way.
    """
    if hinge is not None and hinge.rudder == outline.id:
        return _unit(hinge.end[0] - hinge.start[0], hinge.end[1] - hinge.start[1])
    corners = form_of(outline).corners
    if len(corners) < 3:
        return 1.0, 0.0
    if outline.kind in UPRIGHT:
        low, high = float(corners[:, 1].min()), float(corners[:, 1].max())
        edge = shapely.LinearRing(corners)
        front = []
        for share in (0.2, 0.8):
            z = low + share * (high - low)
            ends = float(corners[:, 0].min()) - 1.0, float(corners[:, 0].max()) + 1.0
            level = shapely.LineString(((ends[0], z), (ends[1], z)))
            met = shapely.get_coordinates(lines_in(level, edge))
            if len(met):
                front.append((float(met[:, 0].min()), z))
        if len(front) == 2:
            return _unit(front[1][0] - front[0][0], front[1][1] - front[0][1])
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.MultiPoint(corners)))
    if len(box) < 3:
        return 1.0, 0.0
    sides = box[1:3] - box[0:2]
    longest = sides[int(np.hypot(sides[:, 0], sides[:, 1]).argmax())]
    return _unit(float(longest[0]), float(longest[1]))


def _unit(dx: float, dz: float) -> Point:
    length = math.hypot(dx, dz)
    if length < 1e-9:
        return 1.0, 0.0
    level = abs(dz) < 0.3 * length
    turn = -1.0 if (dx < 0.0 if level else dz < 0.0) else 1.0
    return turn * dx / length, turn * dz / length


def reference(low: float, high: float, units: DisplayUnits) -> float:
    """The station or height, in mm, of the line to measure from: the datum's own 0 where it lies between.

    Otherwise the round one nearest to the middle: full 50 mm (2 in), then 10 mm (1/2 in).
    """
    if low <= 0.0 <= high:
        return 0.0
    middle = (low + high) / 2
    steps = (50.0, 10.0, 1.0) if units == "mm" else (2 * MM_PER_IN, MM_PER_IN / 2, MM_PER_IN / 16)
    for step in steps:
        at = round(middle / step) * step
        if low <= at <= high:
            return at
    return middle
