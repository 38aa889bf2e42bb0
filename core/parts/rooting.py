"""Where an upright surface leaves its body, what of it stands out, and its tab into the body; in (x, z)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Build, Outline, State
from core.geometry.half_plane import beyond_line
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, common, without
from core.geometry.patch import Patch, united
from core.geometry.prepared import prepared
from core.geometry.slices import cuts
from core.kinds import CARRIERS
from core.outline_form import form_of
from core.parts.hinge import whole_parts
from core.parts.horizontal import LEAST

RESTS = 0.5
"""mm: a fin this near to a body stands on it."""
FORMER = 3.0
"""mm: how thick a former is that crosses a tab (common practice, no source)."""

_HELD: tuple[tuple[Literal["by nothing", "on it", "in it"], float], ...] = (("in it", 0.01), ("on it", RESTS))

_GRID = 5.0
"""mm: how near the places are at which a body's middle is found; twice as far on a tab of 2 m, and so on."""
_AFT = np.array((1.0, 0.0))

_exposed: IdentityMemo[BaseGeometry] = IdentityMemo(128)
_touching: IdentityMemo[bool] = IdentityMemo(256)
_tabs: IdentityMemo[BaseGeometry] = IdentityMemo(64)


@dataclass(frozen=True, eq=False)
class Root:
    """Where a surface leaves its body."""

    front: float
    rear: float
    z: float
    """The highest place where its edge leaves the body; of one that hangs the lowest."""
    way: float
    """1: it stands up; −1: it hangs."""
    held: Literal["by nothing", "on it", "in it"] = "by nothing"


def body_of(state: State, outlines: list[Outline]) -> Patch | None:
    """What the surface stands on: the bodies that it touches; None where it stands clear of them all."""
    count, clear = outlines[0].count, any(o.standing == "clear" for o in outlines)
    found = []
    for body in state.outlines:
        if body.kind not in CARRIERS or not form_of(body).patch.moments.area > LEAST:
            continue
        # A pair of fins may stand on a pair of booms; beside the fuselage it is not in it.
        carries = body.count == count if clear else body.count == 1 and body.standing == "joined"
        if carries and not (clear and count == 1) and any(_touches(o, body) for o in outlines):
            found.append(form_of(body).patch)
    return united(tuple(found)) if found else None


def _touches(outline: Outline, body: Outline) -> bool:
    one, other = form_of(outline).patch, form_of(body).patch
    a, b = one.box, other.box
    if a[0] > b[2] + RESTS or b[0] > a[2] + RESTS or a[1] > b[3] + RESTS or b[1] > a[3] + RESTS:
        return False
    return _touching.get((one, other), lambda: bool(shapely.dwithin(one.region, other.region, RESTS)))


def shown_of(outline: Outline, body: Patch | None) -> BaseGeometry:
    """What of an outline stands out of the body."""
    own = form_of(outline).patch
    if body is None or not own.meets(body):
        return own.region if own.region.geom_type == "Polygon" else _exposed.get(
            (own,), lambda: whole_parts(own.region)
        )
    return _exposed.get((own, body), lambda: whole_parts(without(own.region, body.region)))


def root_of(shown: list[BaseGeometry], body: Patch | None, hangs: bool) -> Root:
    """The level at which a surface is held by the body; its lowest edge where it stands on nothing."""
    way = -1.0 if hangs else 1.0
    boxes = shapely.bounds(shown)
    low_x, high_x = float(boxes[:, 0].min()), float(boxes[:, 2].max())
    low, high = sorted((way * float(boxes[:, 1].min()), way * float(boxes[:, 3].max())))
    corners = np.concatenate([shapely.get_coordinates(s) for s in shown])
    if body is not None:
        box = np.array(body.box)
        near = corners[((corners >= box[:2] - RESTS) & (corners <= box[2:] + RESTS)).all(axis=1)]
        region = prepared(body.region)
        points = shapely.points(near)
        for held, reach in _HELD:
            on = near[shapely.dwithin(region, points, reach)]
            if len(on) < 2:
                continue
            level = float((way * on[:, 1]).max())
            # What comes out of the body behind it alone has no root that runs along.
            if level <= high - 0.05 * (high - low):
                return Root(float(on[:, 0].min()), float(on[:, 0].max()), way * level, way, held)
    return Root(low_x, high_x, way * low, way)


def tab_of(build: Build, outlines: list[Outline], body: Patch, root: Root) -> BaseGeometry:
    """The root's tab into the body: down to its centre line, between formers where they are named."""
    shown = [shown_of(o, body) for o in outlines]
    for outline, region in zip(outlines, shown, strict=True):
        if region.geom_type != "Polygon" and _both_sides(region, body, root):
            # The body crosses it in the middle: it goes through in one piece, as it was traced.
            own = form_of(outline).patch
            return _tabs.get((own, body), lambda own=own: common(own.region, body.region))  # type: ignore[misc]
    front, rear = root.front, root.rear
    if len(build.formers) > 1:
        front, rear = min(build.formers), max(build.formers)
        if min(rear, root.rear) - max(front, root.front) < FORMER:
            return NOTHING
    if root.held == "by nothing" or not rear - front > FORMER:
        return NOTHING
    # On a grid of its own, so that a root whose ends are dragged keeps it.
    step = _GRID
    while rear - front > 400.0 * step:
        step *= 2.0
    low, high = step * math.floor(front / step), step * math.ceil(rear / step)
    objects = (body, *shown) if root.held == "on it" else (body,)
    tab = _tabs.get(
        objects, lambda: _tab(build.formers, (low, high, step), body, root, shown),
        (low, high, root.z if root.held == "on it" else 0.0, root.way, root.held, build.formers),
    )
    return largest_of(beyond_line(beyond_line(tab, _AFT, front), -_AFT, -rear))


def _tab(
    formers: tuple[float, ...], grid: tuple[float, float, float], body: Patch, root: Root,
    shown: list[BaseGeometry],
) -> BaseGeometry:
    low, high, step = grid
    stations = np.linspace(low, high, round((high - low) / step) + 1)
    depth, moment = cuts(body.region, stations)
    inside = depth > 1e-6
    if not inside.any():
        return NOTHING
    # A body that ends between two stations ends on the level of the last one in it.
    centre = np.interp(stations, stations[inside], moment[inside] / depth[inside])
    depth = np.interp(stations, stations[inside], depth[inside])
    outside = (body.box[3] + 1.0, body.box[1] - 1.0)
    above, below = outside if root.way > 0.0 else outside[::-1]
    if root.held == "on it":
        above = root.z
    strip = shapely.Polygon(np.vstack((
        np.column_stack((stations, centre)), ((stations[-1], above), (stations[0], above)),
    )))
    tab: BaseGeometry = strip
    if root.held == "on it":
        for region in shown:
            tab = without(tab, region)
    else:
        tab = common(body.region, strip)
    for former in formers:
        if min(formers) + FORMER < former < max(formers) - FORMER or len(formers) == 1:
            # Halved into one another: the tab gives way half of its depth at this station.
            half = float(np.interp(former, stations, centre + root.way * 0.25 * depth))
            tab = without(tab, shapely.box(
                former - 0.5 * FORMER, min(half, below), former + 0.5 * FORMER, max(half, below)
            ))
    return tab


def _both_sides(region: BaseGeometry, body: Patch, root: Root) -> bool:
    """True if the parts of ``region`` stand out of the body above and below it."""
    depth, moment = cuts(body.region, np.linspace(root.front - 1.0, root.rear + 1.0, 3))
    if not depth[1] > 0.0:
        return False
    middle = float(moment[1] / depth[1])
    heights = [0.5 * float(b[1] + b[3]) - middle for b in shapely.bounds(shapely.get_parts(region))]
    return min(heights) < 0.0 < max(heights)


def largest_of(region: BaseGeometry) -> BaseGeometry:
    """The largest of a region's parts."""
    parts = shapely.get_parts(region)
    if len(parts) <= 1:
        return region
    largest: BaseGeometry = parts[int(shapely.area(parts).argmax())]
    return largest
