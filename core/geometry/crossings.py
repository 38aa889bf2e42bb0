"""Where a closed polygon meets itself, and whether it does so too often to be filled.

Whether two edges meet is told by the signs of cross products, many at once; the library is asked about
those whose signs rounding could have turned.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from core.geometry.overlay import GRID, meetings
from core.geometry.ring import Array
from core.geometry.stopping import may_stop

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Predicate = Literal["crosses", "intersects"]

MOST_CROSSINGS = 1000
"""Of an outline with itself: one with more was never traced, and would take long to fill."""
MOST_MEETINGS = 500_000
"""Pairs of its edges so near each other that filling it has to look at them: a quarter of a second."""
_PAIRS_AT_ONCE = 200_000
# What the sign of a cross product of differences may be off by (Shewchuk 1997, ccwerrboundA).
_ROUNDING = (3.0 + 16.0 * 2.0**-53) * 2.0**-53
_ALONG = 0.3
"""Sine of the angle between two edges below which they rather run along each other than across."""


class Tangle(NamedTuple):
    """One of the places, in mm, where a polygon meets itself too often, and how it does there."""

    x: float
    z: float
    how: Literal["across", "along", "again"]

    @property
    def fault(self) -> str:
        """What is wrong with the outline, and what to do, as a clause."""
        near = f"near x {self.x:.1f} mm, z {self.z:.1f} mm"
        if self.how == "again":
            return (
                f"comes back to the same places, one of them {near}, more often than can be counted; "
                "trace it again or delete it"
            )
        across = f"crosses itself at more than {MOST_CROSSINGS} places"
        if self.how == "along":
            across = f"runs along itself there and back, so closely that it {across}"
        return f"{across}, one of them {near}, and cannot be counted; trace it again or delete it"


def tangle_of(corners: Array) -> Tangle | None:
    """Where and how the closed polygon (M, 2) meets itself too often to be filled; None where it does not.

    What falls together on the grid of the overlay is one: edges gone over again and again, and curves
    there and back that differ by their last bits, are neither crossings nor looked at twice.
    """
    distinct, _ = distinct_edges(corners)
    if len(distinct) == 0:
        return None
    a, b = corners[distinct], np.roll(corners, -1, axis=0)[distinct]
    grid_a, grid_b = np.round(a / GRID), np.round(b / GRID)
    at: tuple[float, float] | None = None
    crossed = along = met = 0
    for first, second in _near(grid_a, grid_b):
        met += len(first)
        first, second = _which(grid_a, grid_b, first, second, "crosses")
        if at is None and len(first):
            at = _meeting(a, b, first, second)
        crossed += len(first)
        along += int(np.count_nonzero(_along(grid_a, grid_b, first, second)))
        if crossed > MOST_CROSSINGS:
            assert at is not None
            return Tangle(*at, "along" if 2 * along > crossed else "across")
        if met > MOST_MEETINGS + 10 * len(distinct):
            return Tangle(*_busiest(corners), "again")
    return None


def crossings_of(corners: Array, most: int = 64) -> list[tuple[float, float]]:
    """Up to ``most`` points, in mm, where the closed polygon ``corners`` (M, 2) runs across itself.

    Of what lies together at one spot as thickly as MOST_MEETINGS forbids, the places found by then.
    """
    if len(corners) < 4 or shapely.Polygon(corners).is_valid:
        return []
    moved = np.any(corners != np.roll(corners, 1, axis=0), axis=1)
    # Thousands of corners on one spot would each meet all others there, and none of them is an edge.
    corners = corners[moved] if np.any(moved) else corners[:1]
    distinct, again = distinct_edges(corners)
    a, b = corners[distinct], np.roll(corners, -1, axis=0)[distinct]
    places: list[tuple[float, float]] = []

    def full(found: Array) -> bool:
        # Most of many lie on one spot: each spot once, in the order in which they were met.
        _, order = np.unique(np.round(found / 1e-6), axis=0, return_index=True)
        for x, z in found[np.sort(order)]:
            if all(abs(x - px) + abs(z - pz) > 1e-6 for px, pz in places):
                places.append((float(x), float(z)))
            if len(places) >= most:
                return True
        return False

    edges = _lines(a, b)
    met = 0
    for first, second in _near(a, b):
        met += len(first)
        between = distinct[second] - distinct[first]
        apart = (between > 1) & (between < len(corners) - 1)
        first, second = _which(a, b, first[apart], second[apart], "intersects")
        for some in range(0, len(first), 4096):
            part = slice(some, some + 4096)
            if full(_places(edges, a, b, first[part], second[part])):
                return places
        if met > MOST_MEETINGS + 10 * len(distinct):
            break
    full(corners[again])
    return places


def _places(edges: NDArray[Any], a: Array, b: Array, first: Ints, second: Ints) -> Array:
    """(K, 2) where those pairs of the edges a–b meet, in their order; of shared stretches the ends."""
    p, q, r, s = a[first], b[first], a[second], b[second]
    corner, known = np.zeros((len(first), 2)), np.zeros(len(first), dtype=np.bool_)
    for one, far in ((p, q), (q, p)):
        for other, beyond in ((r, s), (s, r)):
            # Edges from the same corner in two directions meet there alone.
            here = np.all(one == other, axis=1) & (_side(one, far, beyond) != 0)
            corner[here], known = one[here], known | here
    found, at = shapely.get_coordinates(
        meetings(edges[first[~known]], edges[second[~known]]), return_index=True,
    )
    order = np.argsort(np.concatenate((np.nonzero(known)[0], np.nonzero(~known)[0][at])), kind="stable")
    return np.asarray(np.concatenate((corner[known], found))[order])


def distinct_edges(corners: Array) -> tuple[Ints, Ints]:
    """Numbers of the edges of a closed polygon (M, 2) that differ on the grid, and of those gone over again.

    Edge i runs from corner i to the next. Edges without length are left out; those that lie on an
    earlier one, either way round, come second, unless the earlier one is their neighbour.
    """
    on_grid = np.round(corners / GRID)
    _, spot = np.unique(on_grid[:, 0] + 1j * on_grid[:, 1], return_inverse=True)
    to = np.roll(spot, -1)
    numbers = np.nonzero(spot != to)[0]
    spot, to = spot[numbers], to[numbers]
    key = np.minimum(spot, to) * np.int64(len(corners)) + np.maximum(spot, to)
    _, first, of = np.unique(key, return_index=True, return_inverse=True)
    between = numbers - numbers[first[of]]
    again = numbers[(between > 1) & (between < len(corners) - 1)]
    return numbers[np.sort(first)], again


def _lines(a: Array, b: Array) -> NDArray[Any]:
    """The straight lines from each of ``a`` (E, 2) to its partner in ``b``."""
    return np.asarray(shapely.linestrings(np.stack((a, b), axis=1)))


def _near(a: Array, b: Array) -> Iterator[tuple[Ints, Ints]]:
    """Pairs first < second of the edges a–b, each (E, 2), whose boxes meet, some at a time.

    Each may meet all others: how many it meets at most is counted before, so that memory has a bound.
    """
    low, high = np.minimum(a, b), np.maximum(a, b)
    most = np.minimum(*(
        np.searchsorted(np.sort(low[:, k]), high[:, k], "right")
        - np.searchsorted(np.sort(high[:, k]), low[:, k])
        for k in (0, 1)
    ))
    portion = np.cumsum(most) // _PAIRS_AT_ONCE
    begins = np.r_[0, np.nonzero(np.diff(portion))[0] + 1, len(a)]
    boxes = _lines(low, high)
    tree = shapely.STRtree(boxes)
    for begin, end in pairwise(begins.tolist()):
        may_stop()
        first, second = tree.query(boxes[begin:end])
        first = first + begin
        once = first < second
        yield first[once], second[once]


def _which(a: Array, b: Array, first: Ints, second: Ints, how: Predicate) -> tuple[Ints, Ints]:
    """Those pairs of the edges a–b of which ``how`` holds: by signs, by the library where they are unsure."""
    p, q, r, s = a[first], b[first], a[second], b[second]
    across, apart = np.ones(len(first), dtype=np.bool_), np.zeros(len(first), dtype=np.bool_)
    for u, v, one, other in ((p, q, r, s), (r, s, p, q)):
        side = _side(u, v, one) * _side(u, v, other)
        across &= side < 0
        apart |= side > 0
    # Edges with an end in common meet there, or lie on one another: neither is a crossing.
    ends = np.zeros(len(first), dtype=np.bool_)
    for one in (p, q):
        for other in (r, s):
            ends |= np.all(one == other, axis=1)
    across = across & ~ends if how == "crosses" else across | ends
    unsure = np.nonzero(~across & ~apart & ~ends)[0]
    if len(unsure):
        one, other = _lines(p[unsure], q[unsure]), _lines(r[unsure], s[unsure])
        holds = shapely.crosses(one, other) if how == "crosses" else shapely.intersects(one, other)
        across[unsure] = holds
    return first[across], second[across]


def _side(u: Array, v: Array, at: Array) -> NDArray[np.int8]:
    """On which side of the line from u to v each place lies, ±1; 0 where rounding leaves that open."""
    left = (u[:, 0] - at[:, 0]) * (v[:, 1] - at[:, 1])
    right = (u[:, 1] - at[:, 1]) * (v[:, 0] - at[:, 0])
    turn = left - right
    sure = np.abs(turn) > _ROUNDING * (np.abs(left) + np.abs(right))
    return np.where(sure, np.sign(turn), 0.0).astype(np.int8)


def _along(a: Array, b: Array, first: Ints, second: Ints) -> Bools:
    u, v = b[first] - a[first], b[second] - a[second]
    turn = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return np.asarray(np.abs(turn) < _ALONG * np.hypot(u[:, 0], u[:, 1]) * np.hypot(v[:, 0], v[:, 1]))


def _meeting(a: Array, b: Array, first: Ints, second: Ints) -> tuple[float, float]:
    one, other = (_lines(a[i[:1]], b[i[:1]]) for i in (first, second))
    found = shapely.get_coordinates(meetings(one, other))
    # On the grid they cross, off it they may pass by each other at a bit's distance.
    x, z = found[0] if len(found) else a[first[0]]
    return float(x), float(z)


def _busiest(corners: Array) -> tuple[float, float]:
    """The corner of (M, 2) that is there most often."""
    spots, often = np.unique(np.round(corners / GRID), axis=0, return_counts=True)
    x, z = spots[often.argmax()] * GRID
    return float(x), float(z)
