"""Hinges: where a moving panel meets a fixed one, as a line in (c, s), and the gap taken half from each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.half_plane import beyond_line
from core.geometry.overlay import GRID, lines_in, without
from core.geometry.prepared import prepared
from core.geometry.regions import rings_of
from core.parts.plan import Array
from core.parts.said import length

SHARED = 0.02
"""mm: two edges this near are one: twice what flattening a curve may be off."""
NEAR = 1.0
"""mm: two traced edges this near are the two sides of one hinge (our own choice)."""


@dataclass(frozen=True, eq=False)
class Hinge:
    """``line`` (N, 2): where it turns, two points where straight; the ``gap`` goes along ``edges`` (N, 2)."""

    line: Array
    edges: tuple[Array, ...]
    gap: float
    straight: bool
    """The two panels share the line and nothing else."""

    @cached_property
    def strip(self) -> BaseGeometry:
        """What the gap takes: half of it to each side, and all of it past the ends, round their corners."""
        every = shapely.MultiLineString([_lengthened(edge, 0.5 * self.gap) for edge in self.edges])
        return shapely.buffer(every, 0.5 * self.gap, cap_style="square", join_style="mitre")

    def cleared(self, region: BaseGeometry) -> BaseGeometry:
        """``region`` less its half of the gap, and less crumbs beside it that nobody could cut."""
        if self.gap < GRID:
            return region
        if self.straight:
            along = self.line[1] - self.line[0]
            normal = np.array((along[1], -along[0])) / np.hypot(*along)
            offset = float(self.line[0] @ normal)
            away = shapely.get_coordinates(region) @ normal - offset
            # All of it on one side: the gap goes on where a rudder stands beside its sternpost.
            for way in (1.0, -1.0):
                if float((way * away).min()) >= -NEAR:
                    return whole_parts(beyond_line(region, way * normal, way * offset + 0.5 * self.gap))
        return whole_parts(without(region, self.strip))


def hinge_between(fixed: BaseGeometry, moving: BaseGeometry, gap: float) -> Hinge | None:
    """The hinge of two regions in (c, s) that do not overlap; None where they do not meet. mm."""
    for near in (SHARED, max(NEAR, 1.5 * gap)):
        points = _beside(fixed, moving, near)
        if len(points) < 2:
            continue
        line, off = straight(points)
        low, high = float(points[:, 1].min()), float(points[:, 1].max())
        long = float(np.hypot(*(line[1] - line[0])))
        if long < 2.0 * near or high - low < 0.2 * _height(moving):
            continue
        # Within half the gap of one straight line, the gap itself makes it straight.
        if off <= max(0.5 * gap, SHARED):
            return Hinge(line, (line,), gap, True)
        found = _along_the_edge(fixed, moving, near, gap)
        if found is not None:
            return found
    return None


def whole_parts(region: BaseGeometry) -> BaseGeometry:
    """``region`` without parts that are less than a ten-thousandth of it: crumbs of cutting."""
    if region.geom_type == "Polygon":
        return region
    parts = shapely.get_parts(region)
    areas = shapely.area(parts)
    kept = parts[areas > 1e-4 * areas.sum()]
    return kept[0] if len(kept) == 1 else shapely.MultiPolygon(list(kept))


def _lengthened(line: Array, by: float) -> Array:
    ends = []
    for end, before in ((line[0], line[1]), (line[-1], line[-2])):
        way = end - before
        ends.append(end + by * way / max(float(np.hypot(*way)), 1e-300))
    return np.vstack((ends[0], line[1:-1], ends[1]))


def straight(points: Array) -> tuple[Array, float]:
    """(line (2, 2) from low to high s, how far the points lie off it): the line least far from the worst."""
    hull = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points)))
    if len(hull) <= 2:
        ends = hull[np.argsort(hull[:, 1])]
        return np.array((ends[0], ends[-1])), 0.0
    along = np.diff(hull, axis=0)
    along = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-300)[:, None]
    across = np.column_stack((-along[:, 1], along[:, 0]))
    away = across @ hull.T - (across * hull[:-1]).sum(axis=1)[:, None]
    wide = np.ptp(away, axis=1)
    least = int(wide.argmin())
    middle = 0.5 * float(away[least].max() + away[least].min())
    run = (points - hull[least]) @ along[least]
    foot = hull[least] + middle * across[least]
    ends = np.array((foot + run.min() * along[least], foot + run.max() * along[least]))
    return ends[np.argsort(ends[:, 1])], 0.5 * float(wide[least])


def axis_of(line: Array) -> Array:
    """The straight line (2, 2), from low to high s, that a hinge line (N, 2) turns about."""
    return straight(line)[0]


def bend_fault(line: Array, gap: float, names: str) -> list[str]:
    """A sentence where a hinge line (N, 2) bends more than its gap lets it turn."""
    _, off = straight(line)
    if off <= max(0.5 * gap, SHARED):
        return []
    return [
        f"{names} share a hinge line that bends {length(off)} off a straight line, more than the hinge gap"
        " allows: the hinges lie on the straight line nearest to it, and the two will bind there;"
        " straighten the edge that they share."
    ]


def _height(region: BaseGeometry) -> float:
    box = shapely.bounds(region)
    return float(box[3] - box[1])


def _beside(one: BaseGeometry, other: BaseGeometry, near: float) -> Array:
    """The corners (N, 2) of either region that lie ``near`` the other: where edges run together or part."""
    found = []
    for region, beside in ((one, other), (other, one)):
        corners = shapely.get_coordinates(region)
        box = shapely.bounds(beside) + np.array((-near, -near, near, near))
        corners = corners[((corners >= box[:2]) & (corners <= box[2:])).all(axis=1)]
        if len(corners):
            found.append(corners[shapely.dwithin(prepared(beside), shapely.points(corners), near)])
    return np.concatenate(found) if found else np.zeros((0, 2))


def _along_the_edge(fixed: BaseGeometry, moving: BaseGeometry, near: float, gap: float) -> Hinge | None:
    """A hinge that bends or steps: the longest steep stretch turns, and the gap goes all along."""
    edges = shapely.MultiLineString([corners for corners, _ in rings_of(moving)])
    shared = lines_in(edges, shapely.buffer(fixed, near, join_style="mitre"))
    merged = shapely.line_merge(shapely.MultiLineString([
        part for part in shapely.get_parts(shared) if part.geom_type == "LineString"
    ]))
    lines = [shapely.get_coordinates(part) for part in shapely.get_parts(merged)]
    runs = [run for line in lines for run in _steep(line)]
    if not runs:
        return None
    turns = max(runs, key=lambda run: float(np.abs(run[-1, 1] - run[0, 1])))
    axis, off = straight(turns)
    # Other stretches on the same line, as beside a cut-out, belong to it.
    for run in runs:
        both = np.vstack((turns, run))
        if run is not turns and straight(both)[1] <= max(off, 0.5 * gap, near):
            turns = both
    turns = turns[np.argsort(turns[:, 1], kind="stable")]
    axis, off = straight(turns)
    line = axis if off <= max(0.5 * gap, SHARED) else turns
    return Hinge(line, tuple(lines), gap, False)


def _steep(line: Array) -> list[Array]:
    """The stretches of a line that run more along the span than along the chord."""
    step = np.diff(line, axis=0)
    steep = np.abs(step[:, 1]) >= np.abs(step[:, 0])
    found, start = [], None
    for i, is_steep in enumerate([*steep.tolist(), False]):
        if is_steep and start is None:
            start = i
        elif not is_steep and start is not None:
            found.append(line[start : i + 1])
            start = None
    return found
