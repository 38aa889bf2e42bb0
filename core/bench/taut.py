"""A string pulled taut from a pin on the centre line to a point off to one side, over the body if need be.

The body is what a design knows of it: its side view, with flat sides as far apart as the body is wide
(as deep, where no width is entered). A body that is rounder than that is touched later or not at all,
so what runs free here runs free on the model. Axes as in ``core.bench.setting_up``; mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from core.design import Design, Mark, Outline
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import union
from core.geometry.regions import rings_of
from core.geometry.ring import Array
from core.kinds import HULL
from core.stability.side_area import form_of

Point = tuple[float, float, float]
INSIDE = "the pin stands inside the body: put it on top"
_STEPS = 240
_FINE = 0.01
"""mm that the upper line is simplified by."""
_SKIN = 0.5
"""mm that a pin may lie under the traced line and still count as standing on it (our own choice)."""
_EDGE = 1e-4


@dataclass(frozen=True, eq=False)
class Body:
    """The single fuselage with its canopy: its upper line (N, 2) along x, its lower one turned upside down,
    and half its width.
    """

    top: Array
    under: Array
    half: float
    width_known: bool

    def top_at(self, x: float) -> float | None:
        """Height of the upper line at a station; None ahead of the nose and behind the tail."""
        return _at(self.top, x)

    def bottom_at(self, x: float) -> float | None:
        """Height of the lower line likewise."""
        z = _at(self.under, x)
        return None if z is None else -z


@dataclass(frozen=True)
class Taut:
    """A taut string: how long, and how much of that until it leaves the body; 0: it runs free."""

    length: float
    on_body: float

    @property
    def free(self) -> bool:
        """True if it is one straight line."""
        return self.on_body == 0.0


_bodies: IdentityMemo[Body | None] = IdentityMemo(4)


def body_of(design: Design) -> Body | None:
    """The body that a string may meet; None where no fuselage stands on the centre line."""
    hull = [o for o in design.outlines if o.kind in HULL and o.count == 1 and o.standing == "joined"]
    if not hull:
        return None
    wide = design.fuselage_width
    return _bodies.get(tuple(hull), lambda: _body_of(hull, wide), extra=wide)


def _body_of(hull: list[Outline], wide: float | None) -> Body | None:
    lines = lines_of(hull)
    if lines is None:
        return None
    top, bottom = lines
    known = wide is not None and wide > 0.0
    across = wide if known and wide is not None else float((top[:, 1] - bottom[:, 1]).max())
    return Body(top, bottom * np.array((1.0, -1.0)), 0.5 * across, known)


def lines_of(outlines: list[Outline]) -> tuple[Array, Array] | None:
    """The upper and the lower line (N, 2) of all outlines together, both at the same stations."""
    region = union(form_of(outline).patch.region for outline in outlines)
    if region.is_empty:
        return None
    closed = [ring for ring, _ in rings_of(shapely.simplify(region, _FINE))]
    start = np.concatenate([ring[:-1] for ring in closed])
    end = np.concatenate([ring[1:] for ring in closed])
    corners = start[:, 0]
    low, high = float(corners.min()), float(corners.max())
    # Beside each corner too: a step in the line stays a step.
    x = np.unique(np.concatenate((
        np.linspace(low, high, _STEPS), corners, corners - _EDGE, corners + _EDGE,
    )))
    x = x[(x >= low) & (x <= high)]
    run = end[:, 0] - start[:, 0]
    crossing = np.abs(run) > 1e-12
    start, end, run = start[crossing], end[crossing], run[crossing]
    part = (x[:, None] - start[:, 0]) / run
    z = np.where((part >= -1e-9) & (part <= 1 + 1e-9), start[:, 1] + part * (end[:, 1] - start[:, 1]), np.nan)
    there = ~np.isnan(z).all(axis=1)
    x, z = x[there], z[there]
    return np.column_stack((x, np.nanmax(z, axis=1))), np.column_stack((x, np.nanmin(z, axis=1)))


def _at(line: Array, x: float) -> float | None:
    if not line[0, 0] <= x <= line[-1, 0]:
        return None
    return float(np.interp(x, line[:, 0], line[:, 1]))


def taut(body: Body | None, pin: Mark, tip: Point) -> Taut | str:
    """The string from ``pin`` to ``tip``, the shortest way round the body; or why there is none.

    Over the top from a pin that stands on it, under the bottom from one that hangs there, whichever is
    shorter from one ahead of the nose or behind the end.
    """
    straight = math.dist((pin.x, 0.0, pin.z), tip)
    if body is None:
        return Taut(straight, 0.0)
    top, bottom = body.top_at(pin.x), body.bottom_at(pin.x)
    ways = []
    if top is None or pin.z >= top - _SKIN:
        on = pin.z if top is None else max(pin.z, top)
        ways.append(_over(body.top, body.half, Mark(pin.x, on), tip))
    if bottom is None or pin.z <= bottom + _SKIN:
        under = pin.z if bottom is None else min(pin.z, bottom)
        ways.append(_over(body.under, body.half, Mark(pin.x, -under), (tip[0], tip[1], -tip[2])))
    found = [way for way in ways if way is not None]
    if not ways:
        return INSIDE
    if not found:
        return "the tip lies inside the body: check the tailplane's stations"
    return min(found, key=lambda way: way.length)


def runs_free(body: Body | None, pin: Mark, tip: Point) -> bool:
    """True if the string of a pin on top is one straight line, clear of the body."""
    if body is None:
        return True
    way, reach, across, y = _seen(body.half, pin, tip)
    points = _from_pin(body.top, pin, way)
    far = math.hypot(reach, tip[2] - pin.z)
    return _clear(points, 0, np.array((reach, tip[2])), far * (across / y if y > 0.0 else 1.0), far)


def _seen(half: float, pin: Mark, tip: Point) -> tuple[float, float, float, float]:
    """(1 aft or −1 ahead, how far along, how much of the way out lies over the body, how far out)."""
    y = abs(tip[1])
    return 1.0 if tip[0] >= pin.x else -1.0, abs(tip[0] - pin.x), min(y, half), y


_roofs: IdentityMemo[tuple[Array, Array]] = IdentityMemo(8)


def _roof(line: Array, pin: Mark, way: float) -> tuple[Array, Array]:
    """The pin and the line on that side of it, x from the pin; and how long the taut line is to each."""

    def made() -> tuple[Array, Array]:
        points = _thinned(_from_pin(line, pin, way))
        return points, _lengths(points)

    return _roofs.get((line,), made, extra=(pin.x, pin.z, way))


def _from_pin(line: Array, pin: Mark, way: float) -> Array:
    roof = np.column_stack((way * (line[:, 0] - pin.x), line[:, 1]))[:: int(way)]
    return np.vstack(((0.0, pin.z), roof[roof[:, 0] > 1e-6]))


_strings: IdentityMemo[Taut | None] = IdentityMemo(64)


def _over(line: Array, half: float, pin: Mark, tip: Point) -> Taut | None:
    """``_found`` once: it is asked after every edit, and most edits leave body and tailplane alone."""
    return _strings.get(
        (line,), lambda: _found(line, half, pin, tip), extra=(half, pin.x, pin.z, *tip)
    )


def _found(line: Array, half: float, pin: Mark, tip: Point) -> Taut | None:
    """The taut string over ``line``; None where the tip lies inside.

    Between the body's sides its shadow in the side view is the taut line over the upper line, and it
    goes out to the side evenly along that (a roof without bend across unrolls flat). So there are two
    kinds: it leaves the roof in one straight line to the tip, or it is bent over the roof's edge.
    """
    way, reach, across, y = _seen(half, pin, tip)
    points, along = _roof(line, pin, way)
    if y < half:
        under = _at(line, tip[0])
        if under is not None and tip[2] < under - _SKIN:
            return None
    before = (points[:, 0] < reach) | (np.arange(len(points)) == 0)
    points, along = points[before], along[before]
    end = np.array((reach, tip[2]))
    to_end = np.hypot(*(end - points).T)
    whole = along + to_end
    share = across / y if y > 0.0 else 1.0
    best: tuple[float, float] | None = None
    # Leaving the roof at a point, straight to the tip: clear of all between, as long as it is over the roof.
    for k in np.argsort(whole):
        far = float(whole[k]) * share - float(along[k])
        if far >= -1e-9 and _clear(points, int(k), end, far, float(to_end[k])):
            long = math.hypot(float(whole[k]), y)
            best = long, long * float(along[k] / whole[k]) if whole[k] > 0.0 else 0.0
            break
    if y > half:
        over_edge = np.hypot(along, half) + np.hypot(to_end, y - half)
        k = int(over_edge.argmin())
        # Between the points beside the best one.
        parts = np.linspace(max(k - 1, 0), min(k + 1, len(points) - 1), 41)
        there = np.column_stack([np.interp(parts, np.arange(len(points)), points[:, i]) for i in (0, 1)])
        gone = np.interp(parts, np.arange(len(points)), along)
        over_edge = np.hypot(gone, half) + np.hypot(np.hypot(*(end - there).T), y - half)
        k = int(over_edge.argmin())
        if best is None or over_edge[k] < best[0] - 1e-9:
            best = float(over_edge[k]), math.hypot(float(gone[k]), half)
    if best is None:
        return None
    return Taut(best[0], best[1] if best[1] > 1e-6 else 0.0)


def _thinned(points: Array) -> Array:
    """At most some hundred of the points, the corners of their upper hull among them."""
    if len(points) <= _STEPS:
        return points
    kept = np.zeros(len(points), dtype=bool)
    kept[:: -(-len(points) // _STEPS)] = True
    kept[_hull(points)] = True
    return points[kept]


def _hull(points: Array) -> list[int]:
    chain: list[int] = []
    for at, (x, z) in enumerate(points):
        while len(chain) >= 2:
            (x0, z0), (x1, z1) = points[chain[-2]], points[chain[-1]]
            if (x1 - x0) * (z - z0) - (z1 - z0) * (x - x0) < 0.0:
                break
            chain.pop()
        chain.append(at)
    return chain


def _lengths(points: Array) -> Array:
    """How long the taut line over all points between is, from the first point to each."""
    found = np.zeros(len(points))
    for k in range(1, len(points)):
        run = points[k, 0] - points[:k, 0]
        steep = (points[:k, 1] - points[k, 1]) / np.maximum(run, 1e-12)
        last = int(steep.argmax())
        found[k] = found[last] + math.hypot(run[last], points[k, 1] - points[last, 1])
    return found


def _clear(points: Array, k: int, end: Array, far: float, whole: float) -> bool:
    """True if the line from point k to ``end`` passes above all, on its first ``far`` mm of ``whole``."""
    if whole <= 1e-9:
        return True
    limit = points[k, 0] + (end[0] - points[k, 0]) * min(1.0, far / whole)
    later = points[k + 1 :]
    if not len(later):
        return True
    # Where it comes to the side as well, which may lie between two points.
    if limit < later[-1, 0]:
        there = np.interp(limit, points[k:, 0], points[k:, 1])
        later = np.vstack((later[later[:, 0] < limit], (limit, there)))
    line = points[k, 1] + (end[1] - points[k, 1]) * (later[:, 0] - points[k, 0]) / (end[0] - points[k, 0])
    return bool((later[:, 1] <= line + 1e-6).all())
