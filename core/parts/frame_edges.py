"""The edge of a frame: sticks lying flat round a panel, each with its outer side on the true edge.

What lies within a stick's width of the edge is shared out among the sticks of its sides. They meet
along straight cuts from the edge's corners to the nearest place inside, so that none lies on another.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.half_plane import Corners
from core.geometry.overlay import NOTHING, without
from core.parts.cut import SAW_CUT
from core.parts.hinge import SHARED
from core.parts.part import Array
from core.parts.plan import Panel, Plan

Place = Literal["leading edge", "trailing edge", "hinge post", "tip", "root"]
PLACES: tuple[Place, ...] = ("leading edge", "trailing edge", "hinge post", "tip", "root")
_LEAD, _TRAIL, _POST, _TIP, _ROOT = range(5)
_CORNER = np.radians(25.0)
"""A sharper turn ends a stick."""
_STRAIGHT = np.radians(0.05)


@dataclass(frozen=True, eq=False)
class Side:
    """A stretch of a panel's edge: its corners (N, 2) in (c, s), panel on the left."""

    place: Place
    line: Array

    @cached_property
    def long(self) -> float:
        """Along the edge, mm."""
        step = self.line[1:] - self.line[:-1]
        return float(_lengths(step).sum())

    @cached_property
    def bent(self) -> bool:
        """True if it is more than flattening off the straight line between its ends."""
        if len(self.line) == 2:
            return False
        along = self.line[-1] - self.line[0]
        away = (self.line - self.line[0]) @ np.array((-along[1], along[0]))
        return bool(np.abs(away).max() > SHARED * float(np.hypot(*along)))


@dataclass(frozen=True, eq=False)
class Edging:
    """``sticks``: each side with its stick's corners, not closed; ``inner``: what they leave free."""

    sticks: tuple[tuple[Side, Corners], ...]
    inner: BaseGeometry


def edging_of(plan: Plan, panel: Panel, region: BaseGeometry, wide: dict[Place, float]) -> Edging | None:
    """The sticks round one piece of a panel; None where it is too narrow for them.

    ``wide`` in mm by place. OverlayError where the areas cannot be told.
    """
    ring = _ring(shapely.get_exterior_ring(region))
    found = _edging(plan, ring, wide)
    if found is not None:
        return found
    even = _even(ring)
    return _edging(plan, even, wide) if len(even) < len(ring) else None


def _edging(plan: Plan, ring: Array, wide: dict[Place, float]) -> Edging | None:
    sides = _sides(plan, ring, wide)
    inner = _inner(shapely.Polygon(ring), sides, wide)
    if inner.is_empty:
        return None
    inside = _ring(inner.boundary)
    while len(sides) > 1:
        sticks, bad = _shared_out(sides, inside)
        bad = _first_bad(sticks) if bad is None else bad
        if bad is None:
            return Edging(tuple(
                (side, [(c, s) for c, s in stick.tolist()]) for side, stick in zip(sides, sticks, strict=True)
            ), inner)
        sides = _joined(sides, bad)
    return None


def _lengths(steps: Array) -> Array:
    """How long each step (N, 2) is."""
    u, v = steps[:, 0], steps[:, 1]
    return np.asarray(np.sqrt(u * u + v * v))


def _ring(line: BaseGeometry | None) -> Array:
    """Corners (M, 2) of a closed line, anticlockwise, none on the one before it."""
    closed = shapely.get_coordinates(line)
    u = closed - closed[0]
    if float((u[:-1, 0] * u[1:, 1] - u[:-1, 1] * u[1:, 0]).sum()) < 0.0:
        closed = closed[::-1]
    step = closed[1:] - closed[:-1]
    return np.asarray(closed[:-1][_lengths(step) > 1e-6])


def _even(ring: Array) -> Array:
    """The ring without steps as low as a hinge gap cuts them: of each the corner that stands out goes."""
    count = len(ring)
    step = np.concatenate((ring[1:], ring[:1])) - ring
    into = np.concatenate((step[-1:], step[:-1]))
    bulges = into[:, 0] * step[:, 1] - into[:, 1] * step[:, 0] > 0.0
    low = np.hypot(step[:, 0], step[:, 1]) < SAW_CUT
    kept = np.ones(count, dtype=np.bool_)
    for k in np.nonzero(low)[0].tolist():
        one, other = k, (k + 1) % count
        if bulges[one] != bulges[other] and kept[one] and kept[other]:
            kept[one if bulges[one] else other] = False
    return ring[kept]


def _sides(plan: Plan, ring: Array, wide: dict[Place, float]) -> list[Side]:
    """The edge cut into sides: long straight stretches, and what lies between them."""
    count = len(ring)
    step = np.concatenate((ring[1:], ring[:1])) - ring
    long = _lengths(step)
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((heading - np.concatenate((heading[-1:], heading[:-1])) + np.pi) % (2.0 * np.pi) - np.pi)
    least = max(3.0 * max(wide.values()), 0.1 * float(np.hypot(*np.ptp(ring, axis=0))))
    places = _places(plan, ring, step, np.degrees(heading) % 360.0)
    ends = turn > _CORNER
    # Ends of straight runs that are long enough to be sticks of their own.
    begins = np.nonzero(turn > _STRAIGHT)[0]
    if not len(begins):
        return []
    first = begins[0]
    runs = np.add.reduceat(np.concatenate((long[first:], long[:first])), begins - first)
    straight = np.nonzero(runs >= least)[0]
    ends[begins[straight]] = True
    ends[begins[(straight + 1) % len(begins)]] = True
    ends |= places != np.concatenate((places[-1:], places[:-1]))
    cuts = np.nonzero(ends)[0].tolist()
    if len(cuts) < 2:
        cuts = [0, count // 2]
    found = []
    twice = np.concatenate((ring, ring))
    for a, b in zip(cuts, [*cuts[1:], cuts[0] + count], strict=True):
        along = np.cumsum(long[np.arange(a, b) % count])
        half = (a + int(np.searchsorted(along, 0.5 * along[-1]))) % count
        found.append(Side(PLACES[places[half]], twice[a : b + 1]))
    return _without_crumbs(found, wide)


def _places(plan: Plan, ring: Array, step: Array, heading: Array) -> NDArray[np.int64]:
    """What each edge of the ring is part of, as its number in PLACES; ``heading`` in degrees."""
    # Panel on the left: forwards along c is its root, up its trailing edge, back its tip.
    found = np.full(len(ring), _LEAD)
    found[(heading >= 45.0) & (heading < 135.0)] = _TRAIL
    found[(heading >= 135.0) & (heading < 225.0)] = _TIP
    found[(heading < 45.0) | (heading >= 315.0)] = _ROOT
    middle = ring + 0.5 * step
    up = (middle[:, 1] - ring[:, 1].min()) / max(float(np.ptp(ring[:, 1])), 1e-9)
    # A long fillet in front is leading edge, however flat; an undercut behind is trailing edge.
    found[(found == _TIP) & (up < 0.6)] = _LEAD
    found[(found == _ROOT) & (up > 0.4)] = _TRAIL
    reach = 0.5 * plan.build.hinge_gap + SHARED
    for line in plan.hinges:
        for a, b in pairwise(line):
            along = b - a
            run = np.clip((middle - a) @ along / max(float(along @ along), 1e-300), 0.0, 1.0)
            away = middle - a - run[:, None] * along
            near = (away * away).sum(axis=1) <= reach * reach
            found[near & (found != _ROOT) & (found != _TIP)] = _POST
    return found


def _without_crumbs(sides: list[Side], wide: dict[Place, float]) -> list[Side]:
    """Sides hardly longer than their stick is wide go with the longer of their neighbours."""
    while len(sides) > 2:
        short = [k for k, side in enumerate(sides) if side.long < 1.5 * wide[side.place]]
        if not short:
            break
        sides = _joined(sides, min(short, key=lambda k: sides[k].long))
    return sides


def _joined(sides: list[Side], k: int) -> list[Side]:
    """Side ``k`` made one with its longer neighbour."""
    before, after = k - 1, (k + 1) % len(sides)
    first = before if sides[before].long >= sides[after].long else k
    # Turned so that the two that are joined come first.
    turned = [*sides[first:], *sides[:first]] if first >= 0 else [sides[first], *sides[:first]]
    one, other, *rest = turned
    longer = one if one.long >= other.long else other
    return [Side(longer.place, np.concatenate((one.line, other.line[1:]))), *rest]


def _inner(outer: BaseGeometry, sides: list[Side], wide: dict[Place, float]) -> BaseGeometry:
    """The largest piece that is further from every side than its stick is wide, its holes filled."""
    least = min((wide[side.place] for side in sides), default=0.0)
    if not least > 0.0:
        return NOTHING
    inner: BaseGeometry = shapely.buffer(outer, -least, join_style="mitre")
    for width in sorted({wide[side.place] for side in sides if wide[side.place] > least}):
        lines = [side.line for side in sides if wide[side.place] == width]
        inner = without(inner, shapely.buffer(
            shapely.MultiLineString(lines), width, cap_style="flat", join_style="mitre"
        ))
    parts = [part for part in shapely.get_parts(inner) if not part.is_empty]
    if not parts:
        return NOTHING
    largest: BaseGeometry = max(parts, key=shapely.area)
    if float(shapely.area(largest)) < least * least:
        return NOTHING
    return shapely.Polygon(shapely.get_exterior_ring(largest))


def _shared_out(sides: list[Side], ring: Array) -> tuple[list[Array], int | None]:
    """For each side the corners (M, 2) of its stick: along the edge, and back along the inside (M, 2).

    And the side whose ends do not follow one another along the inside; None where all do.
    """
    closed = np.concatenate((ring, ring[:1]))
    step = closed[1:] - closed[:-1]
    run = np.concatenate(([0.0], np.cumsum(_lengths(step))))
    whole = float(run[-1])
    corners = shapely.points(np.array([side.line[0] for side in sides]))
    at = np.asarray(shapely.line_locate_point(shapely.LineString(closed), corners)) % whole
    goes = (np.concatenate((at[1:], at[:1])) - at) % whole
    # Where the two nearest places are one, the stick ends in a point there.
    goes[goes > whole - 1e-6] = 0.0
    if abs(float(goes.sum()) - whole) > 1e-3:
        return [], int(goes.argmax())
    ends = np.column_stack((np.interp(at, run, closed[:, 0]), np.interp(at, run, closed[:, 1])))
    found = []
    for k, side in enumerate(sides):
        between = (run[:-1] - at[k]) % whole
        passed = np.nonzero((between > 1e-9) & (between < goes[k] - 1e-9))[0]
        back = ring[passed[np.argsort(-between[passed])]]
        last = ends[(k + 1) % len(sides)]
        first = ends[k : k + 1] if goes[k] > 0.0 else ends[:0]
        found.append(np.concatenate((side.line, last[None], back, first)))
    return found, None


def _first_bad(sticks: list[Array]) -> int | None:
    """The first stick that runs into itself or is turned over; None where all are sound.

    Their signed areas add up to what they share: where all are sound, none can lie on another.
    """
    counts = [len(stick) for stick in sticks]
    polygons = shapely.polygons(shapely.linearrings(
        np.concatenate(sticks), indices=np.repeat(np.arange(len(sticks)), counts)
    ))
    sound = shapely.is_valid(polygons) & shapely.is_ccw(shapely.get_exterior_ring(polygons))
    wrong = np.nonzero(~sound)[0]
    return int(wrong[0]) if len(wrong) else None
