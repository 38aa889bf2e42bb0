"""The side area counted a second time, by strips: a witness that shares nothing with the overlay.

Between two heights where no outline has a corner every edge is straight, so a level strip of the
aeroplane falls into trapezoids, and the counting rule (DEVELOPERS.md) is applied to each of them by
what lies to its left. Nothing is united, cut or rounded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design import Design, DisplayUnits
from core.geometry.overlay import COARSER
from core.geometry.regions import NO_MOMENTS, Moments
from core.geometry.ring import Array
from core.kinds import VERTICAL_TAIL
from core.stability.panels import panels_of
from core.stability.side_area import SideArea, form_of
from core.units import format_area

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Group = tuple[int, str, bool]
"""(count, stance, vertical tail or not) of outlines; (2, "surface n", False) of a wing's panels."""

_AT_ONCE = 400_000
"""Edges in strips that are worked on at once: a bound on memory."""
_MOST_STRIPS = 20_000
_MOST_EDGES = 2_000_000
"""Edges in strips in all: what is not told by then stays in the bound."""
_HALVINGS = 14
_TANGLED = 1e-9
"""mm: edges that swap places by less than this in a strip are as good as one."""


@dataclass(frozen=True)
class Recount:
    """What the strips give: moments as in ``SideArea``, and how far their areas may be off.

    ``side_bound`` and ``tail_bound`` in mm²; ``reach`` is the greatest distance in mm of anything
    from the origin that the moments are taken about, ``origin`` (x, z) in mm.
    """

    side: Moments
    tail: Moments
    side_bound: float
    tail_bound: float
    origin: tuple[float, float]
    reach: float
    edges: float
    """Length in mm of all edges: what is rounded to the grid moves by no more than this much times it."""

    def disagreement(self, counted: SideArea, units: DisplayUnits = "mm") -> str | None:
        """Why the areas cannot be told, as a clause; None where ``counted`` agrees with the strips.

        They agree where area and first moments, about the middle of the aeroplane, of side area and
        vertical tail differ by no more than both ways' own errors.
        """
        rounding = 8.0 * COARSER * self.edges
        for what, mine, bound, theirs in (
            ("the side area", self.side, self.side_bound, counted.moments),
            ("the fin area", self.tail, self.tail_bound, counted.tail_moments),
        ):
            off = _about(mine.plus(theirs, -1.0), self.origin)
            most = bound + rounding + 1e-9 * abs(mine.area)
            if not (abs(off.area) <= most and max(abs(off.x), abs(off.z)) <= most * self.reach):
                return (
                    f"the areas cannot be told: counted in two ways {what} comes to "
                    f"{format_area(theirs.area, units)} and {format_area(mine.area, units)}; "
                    "move a node that two outlines share a little"
                )
        return None


def _about(moments: Moments, origin: tuple[float, float]) -> Moments:
    return Moments(
        moments.area, moments.x - origin[0] * moments.area, moments.z - origin[1] * moments.area
    )


@dataclass(frozen=True, eq=False)
class _Edges:
    """E edges that are not level, each from its lower end to its upper, about the origin."""

    low: Array
    high: Array
    ring: Ints
    """(E,) the outline or panel that it belongs to."""


def recount(design: Design, stop: Callable[[], None] = lambda: None) -> Recount:
    """Side area and exposed vertical tail of ``design`` by strips.

    Exact for the outlines as they are flattened, but for edges that cross one another inside a strip:
    such strips are halved until what they could be off by is small, and that is the bound. ``stop``
    is called now and then and may raise.
    """
    rings, groups, of_ring = _rings(design)
    if not rings:
        return Recount(NO_MOMENTS, NO_MOMENTS, 0.0, 0.0, (0.0, 0.0), 1.0, 0.0)
    every = np.concatenate(rings)
    low, high = every.min(axis=0), every.max(axis=0)
    middle = 0.5 * (low + high)
    edges = _edges(rings, middle)
    if len(edges.ring) == 0:
        return Recount(NO_MOMENTS, NO_MOMENTS, 0.0, 0.0, (0.0, 0.0), 1.0, 0.0)
    levels = np.unique(np.concatenate((edges.low[:, 1], edges.high[:, 1])))
    most = min(_MOST_STRIPS, max(2, int(len(levels) * 0.25 * _MOST_EDGES / _edges_in(edges, levels))))
    if len(levels) > most:
        levels = np.unique(levels[np.linspace(0, len(levels) - 1, most).astype(np.int64)])
    strips = np.stack((levels[:-1], levels[1:]), axis=1)
    total = np.zeros((2, 3))
    bounds = np.zeros(2)
    area = float((high - low).prod())
    rule = _Rule(groups)
    worked_on = 0
    for halving in range(_HALVINGS + 1):
        again: list[Array] = []
        for some in _portions(edges, strips):
            stop()
            worked_on += int(_met(edges, some).sum())
            found, off = _strips(edges, some, of_ring, rule)
            # What is off by next to nothing of the whole is left as it is.
            poor = off.max(axis=1) > 1e-10 * area
            if halving == _HALVINGS or worked_on > _MOST_EDGES:
                poor[:] = False
            total += found[~poor].sum(axis=0)
            bounds += off[~poor].sum(axis=0)
            half = 0.5 * (some[poor, 0] + some[poor, 1])
            again += [np.stack((some[poor, 0], half), axis=1), np.stack((half, some[poor, 1]), axis=1)]
        strips = np.concatenate(again)
        strips = strips[np.argsort(strips[:, 0])]
        if len(strips) == 0:
            break
    origin = (float(middle[0]), float(middle[1]))
    made = [
        Moments(float(a), float(x + a * middle[0]), float(z + a * middle[1])) for a, x, z in total
    ]
    long = sum(float(np.hypot(*(np.roll(r, -1, axis=0) - r).T).sum()) for r in rings)
    reach = max(float(np.hypot(*(high - low))), 1.0)
    return Recount(made[0], made[1], float(bounds[0]), float(bounds[1]), origin, reach, long)


def _rings(design: Design) -> tuple[list[Array], list[Group], Ints]:
    """Every outline's and panel's corners, the groups, and for each ring the number of its group."""
    rings: list[Array] = []
    numbers: dict[Group, int] = {}
    of_ring: list[int] = []

    def add(corners: Array, group: Group) -> None:
        if len(corners) > 2:
            rings.append(corners)
            of_ring.append(numbers.setdefault(group, len(numbers)))

    for outline in design.outlines:
        tail = outline.kind in VERTICAL_TAIL
        add(form_of(outline).corners, (outline.count, outline.standing, tail))
    for n, surface in enumerate(design.surfaces):
        if surface.in_side_area:
            for panel in panels_of(surface):
                add(shapely.get_coordinates(panel)[:-1], (2, f"surface {n}", False))
    return rings, list(numbers), np.array(of_ring, dtype=np.int64)


def _edges(rings: list[Array], middle: Array) -> _Edges:
    ends = [(ring - middle, np.roll(ring, -1, axis=0) - middle) for ring in rings]
    a, b = (np.concatenate(which) for which in zip(*ends, strict=True))
    ring = np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    up = (a[:, 1] < b[:, 1])[:, None]
    kept = a[:, 1] != b[:, 1]
    return _Edges(np.where(up, a, b)[kept], np.where(up, b, a)[kept], ring[kept])


def _portions(edges: _Edges, strips: Array) -> list[Array]:
    """The strips in portions that bound how many edges are worked on at once."""
    if len(strips) == 0:
        return []
    portion = (np.cumsum(np.maximum(_met(edges, strips), 1)) // _AT_ONCE).astype(np.int64)
    return np.split(strips, np.nonzero(np.diff(portion))[0] + 1)


def _met(edges: _Edges, strips: Array) -> Ints:
    """How many edges each of the strips (S, 2) meets."""
    bottoms, tops = np.sort(edges.low[:, 1]), np.sort(edges.high[:, 1])
    met = np.searchsorted(bottoms, strips[:, 1]) - np.searchsorted(tops, strips[:, 0], "right")
    return np.asarray(met, dtype=np.int64)


def _edges_in(edges: _Edges, levels: Array) -> int:
    """Edges in the strips between all levels (L,), each strip with its own."""
    return int(_met(edges, np.stack((levels[:-1], levels[1:]), axis=1)).sum())


class _Rule:
    """The counting rule for places: how often each counts by the groups it lies in."""

    def __init__(self, groups: list[Group]) -> None:
        self._groups = groups
        self.most = sum({count for count, _, _ in groups}) + 2 * len(groups)

    def counts(self, inside: Bools) -> tuple[Array, Array]:
        """(side, tail), each (K,); ``inside`` (groups, K) says which group a place lies in."""
        nowhere = np.zeros(inside.shape[1], dtype=np.bool_)

        def within(*wanted: Group) -> Bools:
            found = nowhere
            for i, group in enumerate(self._groups):
                if group in wanted:
                    found = found | inside[i]
            return found

        others = within((1, "joined", False))
        silhouette = others | within((1, "joined", True))
        side = silhouette.astype(np.float64)
        tail = np.zeros_like(side)
        for count in {count for count, _, _ in self._groups}:
            region = within((count, "clear", True), (count, "clear", False))
            if count > 1:
                region = region | (within((count, "joined", True), (count, "joined", False)) & ~silhouette)
            side += count * region
            tail += count * (within((count, "clear", True)) | (within((count, "joined", True)) & ~others))
        for group in self._groups:
            if group[1].startswith("surface"):
                side += 2.0 * within(group)
        return side, tail


def _strips(edges: _Edges, strips: Array, of_ring: Ints, rule: _Rule) -> tuple[Array, Array]:
    """Of each strip (S, 2) the moments of side and tail (S, 2, 3), and what their areas may be off by.

    An edge that ends inside a strip (where there are too many corners for a strip to each) is taken
    to go on to the strip's end; that is part of the bound.
    """
    count = len(strips)
    first = np.searchsorted(strips[:, 1], edges.low[:, 1], "right")
    last = np.searchsorted(strips[:, 0], edges.high[:, 1], "left")
    spans = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(spans)), spans)
    strip = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(spans) - spans, spans)
    bottom, top = strips[strip, 0], strips[strip, 1]
    low, high = edges.low[edge], edges.high[edge]
    slope = (high[:, 0] - low[:, 0]) / (high[:, 1] - low[:, 1])
    # Measured from the nearer end: of a nearly level edge the slope is steep.
    xs = [
        np.where(
            z - low[:, 1] <= high[:, 1] - z, low[:, 0] + (z - low[:, 1]) * slope,
            high[:, 0] - (high[:, 1] - z) * slope,
        ) for z in (np.maximum(bottom, low[:, 1]), np.minimum(top, high[:, 1]))
    ]
    half = 0.5 * (xs[0] + xs[1])
    cut_off = (np.maximum(bottom, low[:, 1]) > bottom) | (np.minimum(top, high[:, 1]) < top)
    ring = edges.ring[edge]
    # Even-odd: of every ring the first edge from the left goes in, the next out, and so on.
    by_half = np.argsort(half, kind="stable")
    order = _by(strip, _by(ring, by_half))
    begins = np.ones(len(order), dtype=np.bool_)
    begins[1:] = (strip[order][1:] != strip[order][:-1]) | (ring[order][1:] != ring[order][:-1])
    at = np.arange(len(order))
    rank = at - np.maximum.accumulate(np.where(begins, at, 0))
    enters = np.empty(len(order), dtype=np.int64)
    enters[order] = np.where(rank % 2 == 0, 1, -1)
    order = _by(strip, by_half)
    strip, enters, group = strip[order], enters[order], of_ring[ring[order]]
    x0, x1, cut_off = xs[0][order], xs[1][order], cut_off[order]
    here = strip[1:] == strip[:-1]
    # Each strip by itself: where an edge ends in it, not all that enters leaves again.
    begin = np.maximum.accumulate(np.where(np.r_[True, ~here], at, 0))
    inside = np.stack([
        (np.cumsum(way) - (np.cumsum(way) - way)[begin])[:-1] > 0
        for way in (np.where(group == g, enters, 0) for g in range(int(of_ring.max()) + 1))
    ])
    weights = rule.counts(inside & here)
    rise = (top - bottom)[order][:-1]
    z0, z1 = strips[strip[:-1], 0], strips[strip[:-1], 1]
    wide0, wide1 = x0[1:] - x0[:-1], x1[1:] - x1[:-1]
    area = 0.5 * rise * (wide0 + wide1)
    square = x0 * x0 + x0 * x1 + x1 * x1
    along = rise * (square[1:] - square[:-1]) / 6.0
    up = rise * (wide0 * (2.0 * z0 + z1) + wide1 * (z0 + 2.0 * z1)) / 6.0
    found = np.zeros((count, 2, 3))
    off = np.zeros((count, 2))
    # Where edges swap places inside the strip the widths turn negative at an end.
    tangled = np.where(here, np.maximum(-np.minimum(wide0, wide1), 0.0), 0.0)
    poor = np.bincount(strip[:-1], np.where(tangled > _TANGLED, 1.0, 0.0), count)
    poor += np.bincount(strip, np.where(cut_off, 1.0, 0.0), count)
    for k, weight in enumerate(weights):
        weight = np.where(here, weight, 0.0)
        for j, part in enumerate((area, along, up)):
            found[:, k, j] = np.bincount(strip[:-1], weight * part, count)
    # Sorting at both ends shows how far the swapped ones reach.
    reach = np.zeros(count)
    for x in (x0, x1):
        sorted_x = x[_by(strip, np.argsort(x))]
        reach += np.bincount(strip, np.abs(sorted_x - x), count)
    ends = np.bincount(strip, np.where(cut_off, np.abs(x1 - x0), 0.0), count)
    height = strips[:, 1] - strips[:, 0]
    wide = np.zeros(count)
    np.maximum.at(wide, strip, np.abs(x0 - x0[begin]))
    cut_reach = np.where(np.bincount(strip, cut_off, count) > 0, wide + ends, 0.0)
    off[:] = (rule.most * height * (np.where(poor > 0, reach, 0.0) + cut_reach))[:, None]
    return found, off


def _by(numbers: Ints, order: Ints) -> Ints:
    """``order`` (K,) sorted by ``numbers``, what is equal in them staying as it is."""
    wanted = numbers[order]
    if len(wanted) and wanted.max() < 2**16:
        # Small whole numbers are sorted by their digits, in a tenth of the time.
        return order[np.argsort(wanted.astype(np.uint16), kind="stable")]
    return order[np.argsort(wanted, kind="stable")]
