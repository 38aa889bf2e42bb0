"""Filled regions: what a drawing would show, and their moments."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.overlay import COARSER, GRID, NOTHING, UNTOLD, OverlayError, faces, meetings, union
from core.geometry.ring import Array

Ints = NDArray[np.int64]
MOST_CROSSINGS = 1000
"""Of an outline with itself: one with more was never traced, and would take minutes and gigabytes to fill."""
_PAIRS_AT_ONCE = 200_000


class TangledError(OverlayError):
    """A closed polygon that crosses itself too often to be filled."""


class Moments(NamedTuple):
    """Area in mm² and first moments ∫x dA, ∫z dA in mm³; they add, subtract and scale."""

    area: float
    x: float
    z: float

    def plus(self, other: Moments, times: float = 1.0) -> Moments:
        """This and ``times`` the other."""
        return Moments(
            self.area + times * other.area, self.x + times * other.x, self.z + times * other.z
        )

    def centroid(self) -> tuple[float, float] | None:
        """(x, z) in mm; None where there is no area."""
        if self.area <= 0.0:
            return None
        return self.x / self.area, self.z / self.area


NO_MOMENTS = Moments(0.0, 0.0, 0.0)


def region_of(corners: Array) -> BaseGeometry:
    """The region a filled drawing of the closed polygon ``corners`` (M, 2) would show (even-odd).

    TangledError where it crosses itself more than MOST_CROSSINGS times, OverlayError where it cannot be told.
    """
    if len(corners) < 3:
        return NOTHING
    polygon = shapely.Polygon(corners)
    if polygon.is_valid:
        return polygon
    if (at := tangled_at(corners)) is not None:
        raise TangledError(
            f"crosses itself at more than {MOST_CROSSINGS} places, one of them near x {at[0]:.1f} mm, "
            f"z {at[1]:.1f} mm, and cannot be counted; trace it again or delete it"
        )
    return _filled_alternately(corners)


def _filled_alternately(corners: Array) -> BaseGeometry:
    """The even-odd filling of a closed polygon (M, 2) that meets itself.

    The faces between its edges are kept whose inside an odd number of edges separate from the
    outside. ``shapely.make_valid`` loses count of edges that lie on one another. Checked by Green's
    theorem: every face times how often the edges run round it is what the corners alone give.
    OverlayError where that does not come out.
    """
    closed = np.vstack((corners, corners[:1]))
    line = shapely.LineString(closed)
    u, v = closed[:-1] - closed[0], closed[1:] - closed[0]
    signed = 0.5 * float((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum())
    for grid in (GRID, COARSER, 10 * COARSER):
        found = faces([line], grid)
        turns = _turns(closed, shapely.get_coordinates(shapely.point_on_surface(found)))
        areas = np.asarray(shapely.area(found))
        slack = 2.0 * grid * float(line.length + np.sum(shapely.length(found)))
        rounding = 1e-12 * float(np.square(u).sum(axis=1).max())
        if abs(float((turns * areas).sum()) - signed) <= slack + rounding:
            return union(found[turns % 2 == 1])
    raise OverlayError(UNTOLD)


def _turns(closed: Array, places: Array) -> NDArray[np.int64]:
    """How often the closed polygon (M + 1, 2) runs round each of ``places`` (K, 2), leftwards positive."""
    low, high = closed[:-1], closed[1:]
    rise = np.where(low[:, 1] == high[:, 1], 1.0, high[:, 1] - low[:, 1])
    slope = (high[:, 0] - low[:, 0]) / rise
    turns = np.zeros(len(places), dtype=np.int64)
    for k, (x, z) in enumerate(places):
        beyond = low[:, 0] + (z - low[:, 1]) * slope > x
        up, down = (low[:, 1] <= z) & (high[:, 1] > z), (high[:, 1] <= z) & (low[:, 1] > z)
        turns[k] = np.count_nonzero(up & beyond) - np.count_nonzero(down & beyond)
    return turns


def rings_of(region: BaseGeometry) -> list[tuple[Array, float]]:
    """(closed corners (M, 2), sign) of every ring: +1 for a shell, −1 for a hole."""
    found: list[tuple[Array, float]] = []
    for part in shapely.get_parts(region):
        if part.is_empty:
            continue
        found.append((shapely.get_coordinates(part.exterior), 1.0))
        found.extend((shapely.get_coordinates(hole), -1.0) for hole in part.interiors)
    return found


def moments_of(region: BaseGeometry) -> Moments:
    """Area and first moments of a region by Green's theorem over its rings."""
    total = NO_MOMENTS
    for corners, sign in rings_of(region):
        # About the ring's own first corner: far from the origin the products would cancel badly.
        origin = corners[0]
        u = corners[:-1] - origin
        v = corners[1:] - origin
        w = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        area = 0.5 * float(w.sum())
        mx = float(((u[:, 0] + v[:, 0]) * w).sum()) / 6.0
        mz = float(((u[:, 1] + v[:, 1]) * w).sum()) / 6.0
        if area < 0.0:
            area, mx, mz = -area, -mx, -mz
        total = total.plus(
            Moments(area, mx + area * float(origin[0]), mz + area * float(origin[1])), sign
        )
    return total


def box_of(region: BaseGeometry) -> tuple[float, float, float, float]:
    """(x low, z low, x high, z high), of shapes NaN for an empty region."""
    low_x, low_z, high_x, high_z = shapely.bounds(region)
    return float(low_x), float(low_z), float(high_x), float(high_z)


def crossings_of(corners: Array, most: int = 64) -> list[tuple[float, float]]:
    """Up to ``most`` points, in mm, where the closed polygon ``corners`` (M, 2) runs across itself."""
    if len(corners) < 4 or shapely.Polygon(corners).is_valid:
        return []
    places: list[tuple[float, float]] = []
    edges = _edges_of(corners)
    for first, second in _pairs(edges, "intersects"):
        for meeting in meetings(edges[first], edges[second]):
            for x, z in shapely.get_coordinates(meeting):
                if all(abs(x - px) + abs(z - pz) > 1e-6 for px, pz in places):
                    places.append((float(x), float(z)))
                if len(places) >= most:
                    return places
    return places


def tangled_at(corners: Array) -> tuple[float, float] | None:
    """One of the places where the closed polygon (M, 2) crosses itself, if there are over MOST_CROSSINGS.

    None where there are fewer. Never more pairs of edges are held than a chunk has.
    """
    edges = _edges_of(corners)
    at: tuple[float, float] | None = None
    crossed = 0
    for first, second in _pairs(edges, "crosses"):
        if at is None and len(first):
            x, z = shapely.get_coordinates(meetings(edges[first[:1]], edges[second[:1]]))[0]
            at = float(x), float(z)
        crossed += len(first)
        if crossed > MOST_CROSSINGS:
            return at
    return None


def _edges_of(corners: Array) -> NDArray[Any]:
    # Thousands of corners on one spot would each meet all others there, and none of them is an edge.
    moved = np.any(corners != np.roll(corners, 1, axis=0), axis=1)
    corners = corners[moved] if np.any(moved) else corners[:1]
    return np.asarray(shapely.linestrings(np.stack((corners, np.roll(corners, -1, axis=0)), axis=1)))


def _pairs(edges: NDArray[Any], how: Literal["crosses", "intersects"]) -> Iterator[tuple[Ints, Ints]]:
    """Pairs of edges of a closed polygon, no neighbours, of which ``how`` holds, some at a time.

    Each may meet nearly all others: so few are asked about at once that memory has a bound.
    """
    tree, count = shapely.STRtree(edges), len(edges)
    some = max(16, min(1024, _PAIRS_AT_ONCE // count))
    for begin in range(0, count, some):
        first, second = tree.query(edges[begin : begin + some], predicate=how)
        first = first + begin
        apart = (first < second) & (second - first > 1) & (second - first < count - 1)
        yield first[apart], second[apart]
