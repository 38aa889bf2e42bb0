"""The one door for overlay: union, intersection and difference of regions, and cutting lines.

Without a grid the library may lose a whole part, in silence, where two outlines share edges but for
the last bits of their nodes. So everything is rounded to GRID, and each result is checked in a way
that needs no second overlay. What fails is overlaid again, more robustly; where that fails too,
``OverlayError`` says that the areas cannot be told. Nothing else calls these of the library.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.stopping import may_stop

GRID = 1e-6
"""mm: every corner of a result lies on this grid. At the format's limit of a kilometre it is still
a thousand times coarser than what a double can hold."""
COARSER = 1e-5
"""mm: the grid of the second try."""
UNTOLD = (
    "the areas cannot be told: the outlines lie on one another in a way that cannot be computed; "
    "move a node that they share a little"
)
_FEW, _AT_ONCE = 16, 4
"""Up to so many are united in one go; of more, so many and then the results by twos."""
NOTHING: BaseGeometry = shapely.Polygon()
_AREAS = ("Polygon", "MultiPolygon")
# A low-discrepancy pattern in the unit square, six places to a part (Roberts' R2 sequence).
_PATTERN = np.modf(0.5 + np.outer(np.arange(1, 7), (0.7548776662466927, 0.5698402909980532)))[0]

_OUTWARD = np.array((-1.0, -1.0, 1.0, 1.0))

Operation = Literal["union", "common", "without"]
Bools = NDArray[np.bool_]
Try = Callable[[], BaseGeometry]


class OverlayError(ValueError):
    """Regions that no way of overlay could do; its text is a clause for the person."""


def union(regions: Iterable[BaseGeometry]) -> BaseGeometry:
    """The union of valid regions; what overlaps is there once. OverlayError where it cannot be told."""
    several = [r for r in regions if not r.is_empty]
    if not several:
        return NOTHING
    if len(several) == 1:
        return several[0]
    return _union(several) if len(several) <= _FEW else _of_many(several)


def _of_many(several: list[BaseGeometry]) -> BaseGeometry:
    """The union of many: equal ones once, each heap of boxes that meet alone, in it neighbours first.

    All at once, every crossing of any two edges would be a corner on the way, though few are left.
    """
    once = list(dict(zip(shapely.to_wkb(several), several, strict=True)).values())
    boxes = shapely.bounds(once)
    found = [_by_halves([once[i] for i in heap], boxes[heap]) for heap in heaps(boxes)]
    return found[0] if len(found) == 1 else _areas(shapely.GeometryCollection(found))


def heaps(boxes: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    """The numbers of ``boxes`` (N, 4), none of them NaN, in groups that do not touch each other."""
    grown = np.asarray(shapely.box(*(boxes + 10 * COARSER * _OUTWARD).T))
    one, other = shapely.STRtree(grown).query(grown)
    # Each takes the lowest number that it can reach; the chain of numbers is halved on the way.
    lowest = np.arange(len(boxes))
    while True:
        before = lowest.copy()
        np.minimum.at(lowest, one, lowest[other])
        lowest = lowest[lowest]
        if (lowest == before).all():
            break
    order = np.argsort(lowest, kind="stable")
    return np.split(order, np.nonzero(np.diff(lowest[order]))[0] + 1)


def halves(boxes: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The numbers of ``boxes`` (N, 4) in two halves, split across the longer way."""
    middles = boxes[:, :2] + boxes[:, 2:]
    axis = int(np.ptp(middles, axis=0).argmax())
    order = np.argsort(middles[:, axis], kind="stable")
    return order[: len(order) // 2], order[len(order) // 2 :]


def _by_halves(several: list[BaseGeometry], boxes: NDArray[np.float64]) -> BaseGeometry:
    if len(several) == 1:
        return several[0]
    if len(several) <= _AT_ONCE:
        return _union(several)
    parts = (_by_halves([several[i] for i in half], boxes[half]) for half in halves(boxes))
    return _union([*parts])


def _union(several: list[BaseGeometry]) -> BaseGeometry:
    """The union of two or a few more, checked."""

    def one_by_one() -> BaseGeometry:
        whole = NOTHING
        for region in sorted(several, key=lambda r: -float(shapely.area(r))):
            whole = _areas(shapely.union(whole, region, grid_size=GRID))
        return whole

    return _checked("union", several, (
        lambda: shapely.union_all(several, grid_size=GRID),
        lambda: shapely.union_all(several, grid_size=COARSER),
        one_by_one,
        lambda: _by_faces("union", several),
    ))


def common(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two valid regions share; edges and points that merely touch are dropped. OverlayError too."""
    if one.is_empty or other.is_empty:
        return NOTHING
    return _checked("common", (one, other), (
        lambda: shapely.intersection(one, other, grid_size=GRID),
        lambda: shapely.intersection(one, other, grid_size=COARSER),
        lambda: shapely.intersection(other, shapely.snap(one, other, COARSER), grid_size=COARSER),
        lambda: _by_faces("common", (one, other)),
    ))


def without(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """The region ``one`` with ``other`` taken away. OverlayError where it cannot be told."""
    if one.is_empty or other.is_empty:
        return one
    return _checked("without", (one, other), (
        lambda: shapely.difference(one, other, grid_size=GRID),
        lambda: shapely.difference(one, other, grid_size=COARSER),
        lambda: shapely.difference(one, shapely.snap(other, one, COARSER), grid_size=COARSER),
        lambda: _by_faces("without", (one, other)),
    ))


# A division by nought inside the library is its own business: what comes of it is checked here.
@np.errstate(all="ignore")
def lines_in(line: BaseGeometry, region: BaseGeometry) -> BaseGeometry:
    """The parts of a line, or of several, in a valid region, on its edge or on a line; points too.

    OverlayError where more comes out than was there.
    """
    if line.is_empty or region.is_empty:
        return shapely.LineString()
    long = float(shapely.length(line))
    for grid in (GRID, COARSER, 10 * COARSER):
        try:
            found = shapely.intersection(line, region, grid_size=grid)
        except shapely.GEOSException:
            continue
        corners = len(shapely.get_coordinates(found)) + 2
        if float(shapely.length(found)) <= long + 2 * grid * corners and _ends_hold(found, region, grid):
            return found
    raise OverlayError(UNTOLD)


@np.errstate(all="ignore")
def meetings(edges: NDArray[Any], others: NDArray[Any]) -> NDArray[Any]:
    """Where each of the straight ``edges`` (N,) meets its partner in ``others`` (N,): points or lines."""
    return np.asarray(shapely.intersection(edges, others))


@np.errstate(all="ignore")
def faces(lines: Iterable[BaseGeometry], grid: float = GRID) -> NDArray[Any]:
    """The faces, shape (F,), into which closed lines divide what they enclose."""
    noded = shapely.union_all(list(lines), grid_size=grid)
    return np.asarray(shapely.get_parts(shapely.polygonize([noded])))


@np.errstate(all="ignore")
def faces_joined(some: NDArray[Any]) -> BaseGeometry:
    """The union of some of the ``faces`` of one drawing, which share whole edges and overlap nowhere.

    Checked by area and validity; where it does not come out, they are united like any regions.
    """
    if len(some) < 2:
        return some[0] if len(some) else NOTHING
    try:
        found = _areas(shapely.coverage_union_all(some))
    except shapely.GEOSException:
        return union(some)
    areas = float(np.sum(shapely.area(some)))
    right = abs(float(shapely.area(found)) - areas) <= 1e-9 * areas and bool(shapely.is_valid(found))
    return found if right else union(some)


def areas_only(geometry: BaseGeometry) -> BaseGeometry:
    """The polygons in ``geometry``; lines and points, which have no area, are dropped."""
    if geometry.geom_type in _AREAS:
        return geometry
    return union(g for g in shapely.get_parts(geometry) if g.geom_type in _AREAS)


def _areas(geometry: BaseGeometry) -> BaseGeometry:
    """The polygons of one result, which do not overlap each other."""
    if geometry.geom_type in _AREAS:
        return geometry
    found: list[BaseGeometry] = []
    for part in shapely.get_parts(geometry):
        if part.geom_type in _AREAS:
            found.extend(shapely.get_parts(part))
    if not found:
        return NOTHING
    return found[0] if len(found) == 1 else shapely.MultiPolygon(found)  # type: ignore[arg-type]


@np.errstate(all="ignore")
def _checked(what: Operation, parts: Sequence[BaseGeometry], tries: Sequence[Try]) -> BaseGeometry:
    for attempt in tries:
        may_stop()
        try:
            found = _areas(attempt())
        except shapely.GEOSException:
            continue
        may_stop()
        if holds(what, parts, found):
            return found
    raise OverlayError(UNTOLD)


def holds(what: Operation, parts: Sequence[BaseGeometry], result: BaseGeometry) -> bool:
    """True if ``result`` can be the union, the common region, or the first without the second.

    By areas (the largest part ≤ union ≤ the sum; common ≤ the smaller; first − second ≤ without ≤
    first), by boxes, and by places: some in every part and in the result must lie in what they should,
    unless they lie on an edge. A part that is lost, or comes out of nothing, has such a place.
    """
    areas, area = shapely.area(parts), float(shapely.area(result))
    slack = 2.0 * COARSER * float(np.sum(shapely.length(parts)) + shapely.length(result))
    if what == "union":
        low, high = float(areas.max()), float(areas.sum())
    elif what == "common":
        low, high = 0.0, float(areas.min())
    else:
        low, high = float(areas[0] - areas[1]), float(areas[0])
    if not low - slack <= area <= high + slack:
        return False
    boxes = shapely.bounds(parts)
    if not result.is_empty:
        box = shapely.bounds(result)
        # Lower corners downwards, so that one comparison does for all four sides.
        reach = boxes[0] if what == "without" else (boxes * _OUTWARD).max(axis=0) * _OUTWARD
        if what == "common":
            reach = (boxes * _OUTWARD).min(axis=0) * _OUTWARD
        if ((box - reach) * _OUTWARD > 2 * COARSER).any():
            return False
    places = np.concatenate((
        (boxes[:, None, :2] + _PATTERN * (boxes[:, None, 2:] - boxes[:, None, :2])).reshape(-1, 2),
        shapely.get_coordinates(shapely.point_on_surface([*parts, *shapely.get_parts(result)[:8]])),
    ))
    x, z = np.ascontiguousarray(places[:, 0]), np.ascontiguousarray(places[:, 1])
    inside = np.array([shapely.intersects_xy(part, x, z) for part in parts])
    wrong = np.nonzero(_wanted(what, inside) != shapely.intersects_xy(result, x, z))[0]
    if len(wrong) == 0:
        return True
    at = shapely.points(places[wrong])
    edges = shapely.boundary([*parts, result])
    # An empty result has no edge and no distance: NaN, which fmin passes over.
    return bool(np.all(np.fmin.reduce(shapely.distance(edges[:, None], at)) <= 4 * COARSER))


def _wanted(what: Operation, inside: Bools) -> Bools:
    """Which places belong to the result; ``inside`` (parts, K) says which lie in which part."""
    if what == "union":
        return np.asarray(inside.any(axis=0))
    if what == "common":
        return np.asarray(inside.all(axis=0))
    return np.asarray(inside[0] & ~inside[1])


def _by_faces(what: Operation, parts: Sequence[BaseGeometry]) -> BaseGeometry:
    """The faces between all edges, each judged by a place inside it: another way to the same region."""
    found = faces((shapely.boundary(p) for p in parts), COARSER)
    if len(found) == 0:
        return NOTHING
    places = shapely.get_coordinates(shapely.point_on_surface(found))
    inside = np.array([shapely.intersects_xy(part, places[:, 0], places[:, 1]) for part in parts])
    return shapely.coverage_union_all(found[_wanted(what, inside)])


def _ends_hold(found: BaseGeometry, region: BaseGeometry, grid: float) -> bool:
    points = shapely.points(shapely.get_coordinates(found))
    return bool(np.all(shapely.dwithin(region, points, 4 * grid)))


