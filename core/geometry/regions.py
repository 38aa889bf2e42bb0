"""Filled regions: what a drawing would show, and their moments."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.crossings import distinct_edges, tangle_of
from core.geometry.overlay import COARSER, GRID, NOTHING, UNTOLD, OverlayError, faces, faces_joined
from core.geometry.ring import Array

_SPANS_AT_ONCE = 1_000_000


class TangledError(OverlayError):
    """A closed polygon that meets itself too often to be filled."""


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

    TangledError where it meets itself too often, OverlayError where it cannot be told.
    """
    if len(corners) < 3:
        return NOTHING
    polygon = shapely.Polygon(corners)
    if polygon.is_valid:
        return polygon
    if (tangle := tangle_of(corners)) is not None:
        raise TangledError(tangle.fault)
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
    edges: list[BaseGeometry] = [line]
    distinct, again = distinct_edges(corners)
    if len(again):
        # Every pair of edges that lie on one another would be looked at.
        runs = np.split(distinct, np.nonzero(np.diff(distinct) != 1)[0] + 1)
        edges = [shapely.LineString(closed[run[0] : run[-1] + 2]) for run in runs]
    for grid in (GRID, COARSER, 10 * COARSER):
        found = faces(edges, grid)
        turns = _turns(closed, shapely.get_coordinates(shapely.point_on_surface(found)))
        areas = np.asarray(shapely.area(found))
        slack = 2.0 * grid * float(line.length + np.sum(shapely.length(found)))
        rounding = 1e-12 * float(np.square(u).sum(axis=1).max())
        if abs(float((turns * areas).sum()) - signed) <= slack + rounding:
            return faces_joined(found[turns % 2 == 1])
    raise OverlayError(UNTOLD)


def _turns(closed: Array, places: Array) -> NDArray[np.int64]:
    """How often the closed polygon (M + 1, 2) runs round each of ``places`` (K, 2), leftwards positive."""
    order = np.argsort(places[:, 1], kind="stable")
    x, z = places[order].T
    low, high = closed[:-1], closed[1:]
    way = np.where(high[:, 1] > low[:, 1], 1, -1)
    begin, end = (np.searchsorted(z, pick(low[:, 1], high[:, 1])) for pick in (np.minimum, np.maximum))
    some = np.nonzero(end > begin)[0]
    turns = np.zeros(len(places), dtype=np.int64)
    portion = np.cumsum(end[some] - begin[some]) // _SPANS_AT_ONCE
    for part in np.split(some, np.nonzero(np.diff(portion))[0] + 1) if len(some) else ():
        # Each edge with every place that it passes at the place's height.
        spans = end[part] - begin[part]
        edge = np.repeat(part, spans)
        place = np.arange(len(edge)) + np.repeat(begin[part] - np.cumsum(spans) + spans, spans)
        slope = (high[edge, 0] - low[edge, 0]) / (high[edge, 1] - low[edge, 1])
        beyond = low[edge, 0] + (z[place] - low[edge, 1]) * slope > x[place]
        found = np.bincount(place, np.where(beyond, way[edge], 0), len(places))
        turns[order] += found.astype(np.int64)
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


def deep_inside(region: BaseGeometry, mm: float) -> bool:
    """True if a place was found that lies in the region and more than ``mm`` from its edge.

    Looked for in the middle of the widest cuts at a few heights and stations: what is not found may be
    there all the same.
    """
    rings = [corners for corners, _ in rings_of(region)]
    if not rings:
        return False
    low, high = (np.concatenate([ring[part] for ring in rings]) for part in (slice(None, -1), slice(1, None)))
    bottom, top = low.min(axis=0), low.max(axis=0)
    for share in (0.5, 0.25, 0.75, 0.1, 0.9):
        for axis in (1, 0):
            at = bottom[axis] + share * (top[axis] - bottom[axis])
            over = np.nonzero((low[:, axis] <= at) != (high[:, axis] <= at))[0]
            u, v = low[over], high[over]
            along = u[:, 1 - axis] + (at - u[:, axis]) / (v[:, axis] - u[:, axis]) * (v - u)[:, 1 - axis]
            ends = np.sort(along)
            if len(ends) < 2:
                continue
            widest = 2 * int(np.argmax(ends[1::2] - ends[:-1:2]))
            place = [at, at]
            place[1 - axis] = 0.5 * float(ends[widest] + ends[widest + 1])
            point = shapely.Point(place)
            if region.contains(point) and float(shapely.distance(region.boundary, point)) > mm:
                return True
    return False
