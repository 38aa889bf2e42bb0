"""Sections across a surface: how far a panel reaches at each height, and how thick it is there.

All in (c, s) of the plan, mm. The thickness form is the symmetric one of the NACA four-digit family
(Abbott and von Doenhoff, Theory of Wing Sections; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.memo import IdentityMemo
from core.geometry.overlay import union
from core.geometry.regions import rings_of
from core.parts.part import Array
from core.parts.plan import Plan

HINGE_NEAR = 5.0
"""mm: a panel that ends this near a hinge line ends at the hinge."""
_TRUE_EDGE = 0.9
"""Beyond this part of the chord a fixed panel's rear edge beside the rudder is its own trailing edge."""
SLOT_NEAR = 0.02
"""mm: a slot that stands out of the region by no more lies within it."""
_SAME = 1e-9
_of_regions: IdentityMemo[Chords | None] = IdentityMemo(64)
_whole: IdentityMemo[BaseGeometry] = IdentityMemo(64)


def _rule(count: int) -> tuple[Array, Array]:
    """(nodes, weights) in 0..1, squared: the round nose goes with the root of the distance."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (0.5 + 0.5 * nodes) ** 2, (0.5 + 0.5 * nodes) * weights


_SMOOTH, _KINKED = _rule(16), _rule(32)


def half_form(x: Array) -> Array:
    """Half the thickness at each ``x`` in 0..1 of the chord, of a form one thick."""
    return 5.0 * (np.sqrt(x) * 0.2969 + x * (-0.1260 + x * (-0.3516 + x * (0.2843 - 0.1015 * x))))


def half_slope(x: Array) -> Array:
    """The derivative of ``half_form``; x in 0..1, without bound at nought."""
    return 5.0 * (0.14845 / np.sqrt(x) - 0.1260 + x * (-0.7032 + x * (0.8529 - 0.4060 * x)))


def pair(one: Array, other: Array) -> Array:
    """Two arrays of one shape side by side along a last axis of two."""
    both = np.empty((*one.shape, 2))
    both[..., 0], both[..., 1] = one, other
    return both


@dataclass(frozen=True, eq=False)
class Chords:
    """A panel between its front and rear edge: trapezia from ``low`` to ``high`` (M,) in s, rising.

    ``front`` and ``rear`` (M, 2): c at the lower and upper end of each. ``hinged`` (M, 2): whether the
    front, the rear, is at a hinge. ``lost``: area in mm² that does not fit between one front and one rear.
    """

    low: Array
    high: Array
    front: Array
    rear: Array
    hinged: NDArray[np.bool_]
    lost: float

    @property
    def ends(self) -> tuple[float, float]:
        """s of its lowest and highest point."""
        return float(self.low[0]), float(self.high[-1])

    def row(self, s: Array) -> NDArray[np.int64]:
        """Which trapezium each height lies in, the nearest outside."""
        return np.minimum(np.searchsorted(self.high, s), len(self.low) - 1)

    def at(self, s: Array) -> tuple[Array, Array]:
        """(front, rear) in c at each height; beyond its ends as there."""
        low, long, front, front_on, rear, rear_on = self._table[:, self.row(s)]
        share = np.minimum(np.maximum((s - low) / long, 0.0), 1.0)
        return front + share * front_on, rear + share * rear_on

    @cached_property
    def _table(self) -> Array:
        """(6, M): low, height; front there, how far it goes on; rear likewise."""
        (front, front_end), (rear, rear_end) = self.front.T, self.rear.T
        return np.stack((
            self.low, self.high - self.low, front, front_end - front, rear, rear_end - rear
        ))


def chords_of(region: BaseGeometry) -> Chords | None:
    """A region cut at the height of every corner; where a height meets it several times, the longest cut."""
    rings = [corners for corners, _ in rings_of(region)]
    if not rings:
        return None
    start, end = np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])
    rising = np.abs(end[:, 1] - start[:, 1]) > _SAME
    start, end = start[rising], end[rising]
    levels = np.unique(start[:, 1])
    levels = levels[np.concatenate(([True], np.diff(levels) > 1e-6))]
    low, high = levels[:-1], levels[1:]
    middle = 0.5 * (low + high)
    slope = (end[:, 0] - start[:, 0]) / (end[:, 1] - start[:, 1])
    bottom, top = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    # Which levels each edge passes: those between its ends.
    first, beyond = np.searchsorted(middle, bottom, "right"), np.searchsorted(middle, top, "left")
    passes = np.maximum(beyond - first, 0)
    edge = np.repeat(np.arange(len(passes)), passes)
    slab = np.arange(len(edge)) + np.repeat(first - np.cumsum(passes) + passes, passes)
    across = start[edge, 0] + (middle[slab] - start[edge, 1]) * slope[edge]
    order = np.lexsort((across, slab))
    slab, edge, across = slab[order], edge[order], across[order]
    fore, aft = edge[0::2], edge[1::2]
    long, owner = across[1::2] - across[0::2], slab[0::2]
    best = np.lexsort((-long, owner))
    chosen = best[np.concatenate(([True], np.diff(owner[best]) > 0))]
    rows = owner[chosen]
    lost = float((long * (high - low)[owner]).sum() - (long[chosen] * (high - low)[rows]).sum())

    def ends(which: NDArray[np.int64]) -> Array:
        e = which[chosen]
        at = pair(low[rows], high[rows])
        return np.asarray(start[e, :1] + (at - start[e, 1:]) * slope[e, None])

    front, rear = ends(fore), ends(aft)
    return Chords(low[rows], high[rows], front, np.maximum(front, rear),
                  np.zeros((len(rows), 2), dtype=np.bool_), lost)


@dataclass(frozen=True, eq=False)
class Cuts:
    """Sections of one panel at the heights ``s``; all arrays (K,), mm.

    From ``front`` to ``inner`` reaches the stick of its front edge, from ``outer`` to ``rear`` that of its
    rear edge. ``opened``: how far the front runs back per mm from the middle plane to make room for the
    throw, 0 where it does not; with a ``radius`` it is rounded, and ``opened`` is its stretch along c.
    """

    s: Array
    lead: Array
    chord: Array
    thick: Array
    symmetric: bool
    front: Array
    inner: Array
    outer: Array
    rear: Array
    opened: Array
    radius: Array

    def of(self, rows: NDArray[Any] | slice) -> Cuts:
        """Some of the sections."""
        return Cuts(
            self.s[rows], self.lead[rows], self.chord[rows], self.thick[rows], self.symmetric,
            self.front[rows], self.inner[rows], self.outer[rows], self.rear[rows],
            self.opened[rows], self.radius[rows],
        )

    def form(self, c: Array) -> Array:
        """Half the thickness in mm of the whole surface at each ``c`` (K, N)."""
        if not self.symmetric:
            return np.asarray(np.broadcast_to(0.5 * self.thick[:, None], c.shape))
        x = np.minimum(np.maximum((c - self.lead[:, None]) / self.chord[:, None], 0.0), 1.0)
        return np.asarray(self.thick[:, None] * half_form(x))

    @cached_property
    def opens(self) -> bool:
        """Whether any of them makes room for a throw."""
        return bool(self.opened.any())

    @cached_property
    def rounded(self) -> bool:
        """Whether any of them makes it by a round edge."""
        return bool(self.radius.any())

    def half(self, c: Array) -> Array:
        """Half the thickness of the panel: the form, made room in for the throw."""
        found = self.form(c)
        if not self.opens:
            return found
        slant = np.maximum(self.opened, _SAME)[:, None]
        back = np.maximum(c - self.front[:, None], 0.0) / slant
        if self.rounded:
            radius = self.radius[:, None]
            arc = np.sqrt(np.maximum(radius**2 - np.maximum(radius - back, 0.0) ** 2, 0.0))
            back = np.where(radius > 0.0, np.where(back < radius, arc, np.inf), back)
        return np.where(self.opened[:, None] > 0.0, np.minimum(found, back), found)

    def slope(self, c: Array) -> Array:
        """How ``form`` rises along the chord at each ``c`` (K, N)."""
        if not self.symmetric:
            return np.zeros_like(c)
        x = np.minimum(np.maximum((c - self.lead[:, None]) / self.chord[:, None], 1e-12), 1.0)
        return np.asarray((self.thick / self.chord)[:, None] * half_slope(x))

    def area(self, start: Array, end: Array, deep: float | None = None) -> tuple[Array, Array]:
        """(area in mm², its moment ∫c dA in mm³) from ``start`` to ``end`` (K,), no deeper than ``deep``."""
        if self.opens:
            # The bevel's end is a corner: each side of it for itself.
            back = np.where(self.radius > 0.0, self.radius, self.form(self.front[:, None])[:, 0])
            corner = np.minimum(np.maximum(self.front + self.opened * back, start), end)
            if (corner == start).all():
                return self._area(start, end, deep)
            one, other = self._area(start, corner, deep), self._area(corner, end, deep)
            return one[0] + other[0], one[1] + other[1]
        return self._area(start, end, deep)

    def _area(self, start: Array, end: Array, deep: float | None) -> tuple[Array, Array]:
        nodes, weights = _SMOOTH if deep is None else _KINKED
        long = end - start
        c = start[:, None] + long[:, None] * nodes
        half = self.half(c)
        if deep is not None:
            half = np.minimum(half, 0.5 * deep)
        return 2.0 * long * (half @ weights), 2.0 * long * ((half * c) @ weights)

    def arc(self, start: Array, end: Array) -> tuple[Array, Array]:
        """(length in mm of one side of the form, its moment ∫c dl) from ``start`` to ``end`` (K,)."""
        long = end - start
        nodes, weights = _SMOOTH
        c = start[:, None] + long[:, None] * nodes
        per = np.sqrt(1.0 + self.slope(c) ** 2)
        return long * (per @ weights), long * ((per * c) @ weights)


class Surface:
    """A plan's panels as chords, and the form that all of them are cut from."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.whole = tuple(_chords(_unslotted(p.region, plan.slots)) for p in plan.panels)
        self.cut = tuple(
            None if w is None else self._hinged(w, p.moves)
            for w, p in zip(self.whole, plan.panels, strict=True)
        )
        pairs = [(p.moves, w) for p, w in zip(plan.panels, self.whole, strict=True) if w is not None]
        self._fixed = [w for moves, w in pairs if not moves]
        self._moving = [w for moves, w in pairs if moves]
        self._symmetric = plan.build.thickness.form == "symmetric"

    def edges(self, s: Array) -> tuple[Array, Array]:
        """(leading, trailing edge) in c of the whole section at each height.

        Where rudder or fin goes on alone, the section goes on as where the other ends; a horn balance
        that reaches forward past the hinge has its own.
        """
        if not self._fixed or not self._moving:
            lead, trail, _ = _reach(self._fixed or self._moving, s)
            return lead, trail
        lead, end, there = _reach(self._fixed, s)
        nose, trail, moves = _reach(self._moving, s)
        lead = np.where(moves, np.minimum(lead, nose), lead)
        alone = moves & ~there
        if alone.any():
            lead = np.where(alone & (nose < self._axis(s) - HINGE_NEAR), nose, lead)
        own = there & ~moves & (end - lead > _TRUE_EDGE * (trail - lead))
        return lead, np.where(own, end, np.where(there, np.maximum(trail, end), trail))

    def cuts(self, panel: int, s: Array) -> Cuts:
        """The sections of one panel, which has chords, at the heights ``s`` (K,)."""
        chords, build = self.cut[panel], self.plan.build
        assert chords is not None
        lead, trail = self.edges(s)
        front, rear = chords.at(s)
        wide = [0.0 if strip is None else strip.wide for strip in (build.leading_edge, build.trailing_edge)]
        share = np.minimum(1.0, (rear - front) / max(sum(wide), _SAME))
        opened = np.zeros(len(s))
        if self.plan.panels[panel].moves:
            slant = self.hinge_slope(s)
            turn = math.tan(math.radians(min(self.plan.throw, 80.0))) if build.hinge == "bevel" else 1.0
            opened = np.where(chords.hinged[chords.row(s), 0], turn * slant, 0.0)
        found = Cuts(
            s, lead, np.maximum(trail - lead, _SAME), self.plan.thickness(s), self._symmetric,
            front, front + share * wide[0], rear - share * wide[1], rear, opened, np.zeros(len(s)),
        )
        if build.hinge == "round" and opened.any():
            return replace(found, radius=found.form(front[:, None])[:, 0])
        return found

    def _axis(self, s: Array) -> Array:
        """c of the foremost hinge line, drawn on straight beyond its ends; far in front without one."""
        found = np.full(len(s), np.inf if self.plan.hinges else -np.inf)
        for line in self.plan.hinges:
            (c0, s0), (c1, s1) = line[0], line[-1]
            if abs(s1 - s0) > _SAME:
                found = np.minimum(found, c0 + (c1 - c0) / (s1 - s0) * (s - s0))
        return found

    def hinge_slope(self, s: Array) -> Array:
        """1 / cos of the slant of the hinge at each height, 1 where there is none."""
        found = np.ones(len(s))
        for line in self.plan.hinges:
            low, high = float(line[:, 1].min()), float(line[:, 1].max())
            along = (s >= low) & (s <= high)
            if high - low > _SAME:
                slant = (line[-1, 0] - line[0, 0]) / (line[-1, 1] - line[0, 1])
                found = np.where(along, math.hypot(1.0, float(slant)), found)
        return found

    def _hinged(self, chords: Chords, moves: bool) -> Chords:
        """The panel cut back by half the hinge gap, where it reaches nearer to the hinge."""
        front, rear, hinged = chords.front.copy(), chords.rear.copy(), chords.hinged.copy()
        at = pair(chords.low, chords.high)
        middle = 0.5 * (chords.low + chords.high)
        gap = 0.5 * self.plan.build.hinge_gap * self.hinge_slope(middle)[:, None]
        for line in self.plan.hinges:
            order = np.argsort(line[:, 1], kind="stable")
            turn_s, turn_c = line[order, 1], line[order, 0]
            if turn_s[-1] - turn_s[0] <= _SAME:
                continue
            along = (middle > turn_s[0]) & (middle < turn_s[-1])
            turn = np.interp(at, turn_s, turn_c)
            edge = front if moves else rear
            near = along & (np.abs(edge - turn) < HINGE_NEAR).all(axis=1)
            back = np.maximum(front, turn + gap) if moves else np.minimum(rear, turn - gap)
            edge[near] = back[near]
            hinged[near, 0 if moves else 1] = True
        # What the gap eats whole is nothing, not less.
        middle_c = 0.5 * (front + rear)
        crossed = front > rear
        front, rear = np.where(crossed, middle_c, front), np.where(crossed, middle_c, rear)
        return Chords(chords.low, chords.high, front, rear, hinged, chords.lost)


def _chords(region: BaseGeometry) -> Chords | None:
    """Kept by identity: a rudder is the same one while the fin's leading edge is dragged."""
    return _of_regions.get((region,), lambda: chords_of(region))


def _unslotted(region: BaseGeometry, slots: tuple[BaseGeometry, ...]) -> BaseGeometry:
    """The region with what was cut out of it put back: its edges run past a slot. Kept by identity."""
    within = put_back(region, slots)
    return _whole.get((region, *within), lambda: union((region, *within))) if within else region


def put_back(region: BaseGeometry, slots: tuple[BaseGeometry, ...]) -> list[BaseGeometry]:
    """The slots that edges run past: not one under or over which the region ends."""
    _, low, _, high = shapely.bounds(region)
    found = []
    for slot in slots:
        _, bottom, _, top = shapely.bounds(slot)
        if bottom >= low - SLOT_NEAR and top <= high + SLOT_NEAR and shapely.intersects(region, slot):
            found.append(slot)
    return found


def _reach(panels: list[Chords], s: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """(front, rear) of the nearest of ``panels`` at each height, and whether one is there."""
    if len(panels) == 1:
        low, high = panels[0].ends
        return *panels[0].at(s), (s >= low) & (s <= high)
    ends = np.array([p.ends for p in panels])
    away = np.maximum(np.maximum(ends[:, :1] - s, s - ends[:, 1:]), 0.0)
    nearest = away <= away.min(axis=0)
    both = [p.at(s) for p in panels]
    front = np.where(nearest, np.array([b[0] for b in both]), np.inf).min(axis=0)
    rear = np.where(nearest, np.array([b[1] for b in both]), -np.inf).max(axis=0)
    return front, rear, away.min(axis=0) <= 0.0
