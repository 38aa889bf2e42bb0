"""What braces a frame inside its edge: spars, ribs, diagonals and gussets, none on another.

Each is cut from the room that is left by straight cuts, so that what is left can hold no part of it.
Rooms and braces are corners in (c, s), not closed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from core.geometry.half_plane import Corners, beyond, beyond_line, corners_of

Vector = tuple[float, float]
What = Literal["spar", "rib", "diagonal", "gusset"]
UP: Vector = (0.0, 1.0)
DOWN: Vector = (0.0, -1.0)
_LEAST = 1e-4
"""mm: what is thinner is the rounding of a cut."""
_MOST = 400


@dataclass(frozen=True, eq=False)
class Brace:
    """A piece inside a frame: a key and a name within its panel, its corners, the way it runs."""

    what: What
    key: str
    name: str
    corners: Corners
    along: Vector


def cut_off(rooms: Iterable[Corners], normal: Vector, offset: float) -> list[Corners]:
    """What of the rooms lies beyond a line."""
    found = []
    for room in rooms:
        left = beyond(room, normal, offset, _LEAST)
        if left is None:
            parts = shapely.get_parts(beyond_line(shapely.Polygon(room), np.array(normal), offset))
            found += [corners_of(part) for part in parts if float(shapely.area(part)) > _LEAST]
        elif len(left) > 2:
            found.append(left)
    return found


def area(corners: Corners) -> float:
    """Of a simple polygon, mm²."""
    x0, y0 = corners[-1]
    total = 0.0
    for x, y in corners:
        total += x0 * y - x * y0
        x0, y0 = x, y
    return 0.5 * abs(total)


def split(rooms: list[Corners], normal: Vector, low: float, high: float) -> tuple[list[Corners], ...]:
    """The rooms (before, inside, beyond) a band between two lines across ``normal``."""
    back = (-normal[0], -normal[1])
    rest = cut_off(rooms, normal, low)
    return cut_off(rooms, back, -low), cut_off(rest, back, -high), cut_off(rest, normal, high)


@dataclass(frozen=True, eq=False)
class Bands:
    """Where ribs go: (low, high) of each in s, rising, none on another; ``closed``: what is left empty."""

    ribs: tuple[Vector, ...]
    closed: tuple[Vector, ...] = ()


def rib_bands(
    low: float, high: float, wide: float, every: float | None, at: tuple[float, ...] | None,
    closed: list[Vector],
) -> Bands:
    """Ribs between ``low`` and ``high``, their own width from both; one to each side of what is closed."""
    if at is not None:
        wanted = sorted(set(at))[:_MOST]
    elif every is not None and every > 2.0 * wide:
        first, last = math.ceil(low / every), math.floor(high / every)
        wanted = [k * every for k in range(first, min(last, first + _MOST) + 1)]
    else:
        wanted = []
    beside = [band for a, b in closed for band in ((a - wide, a), (b, b + wide))]
    found = [band for band in beside if band[0] < high and band[1] > low]
    taken = [*beside, *closed]
    for middle in wanted:
        band = (middle - 0.5 * wide, middle + 0.5 * wide)
        if band[0] < low + wide or band[1] > high - wide:
            continue
        if all(band[1] + wide <= a or band[0] - wide >= b for a, b in taken):
            found.append(band)
            taken.append(band)
    return Bands(tuple(sorted(found)), tuple(closed))


def braced(
    rooms: list[Corners], bands: Bands, where: str, wide: float, diagonals: bool, gussets: bool
) -> Iterator[Brace]:
    """Ribs and what braces the bays between them, in the rooms beside or between spars (``where``)."""
    suffix = f", {where}" if where else ""
    tag = f"-{where.replace(' ', '-')}" if where else ""
    rest = rooms
    bay = 0
    for k in range(len(bands.ribs) + 1):
        under, ribs = rest, []
        if k < len(bands.ribs):
            under, ribs, rest = split(rest, UP, *bands.ribs[k])
        for room in under:
            middle = 0.5 * (min(s for _, s in room) + max(s for _, s in room))
            if any(a <= middle <= b for a, b in bands.closed):
                continue
            yield from _bay(room, bay, f"{tag}-{bay + 1}", f"{bay + 1}{suffix}", wide, diagonals, gussets)
            bay += 1
        for j, corners in enumerate(ribs):
            more, key = (f" ({j + 1})", f"-{j + 1}") if len(ribs) > 1 else ("", "")
            yield Brace("rib", f"rib-{k + 1}{tag}{key}", f"rib {k + 1}{suffix}{more}", corners, (1.0, 0.0))


def _bay(
    room: Corners, bay: int, key: str, name: str, wide: float, diagonals: bool, gussets: bool
) -> Iterator[Brace]:
    """A diagonal across one bay, rising and falling in turn; gussets in the lower corners of the first."""
    cs, ss = [c for c, _ in room], [s for _, s in room]
    long, high = max(cs) - min(cs), max(ss) - min(ss)
    if high < 3.0 * wide or long < 3.0 * wide:
        return
    # The four corners, each the furthest its own way whatever the bay's edges do between them.
    def corner(c_way: float, s_way: float) -> Vector:
        return max(room, key=lambda p: c_way * p[0] / long + s_way * p[1] / high)

    front, rear = corner(-1.0, -1.0), corner(1.0, -1.0)
    rises = bay % 2 == 0
    rooms = [room]
    if diagonals:
        foot, head = (front, corner(1.0, 1.0)) if rises else (rear, corner(-1.0, 1.0))
        run = math.hypot(head[0] - foot[0], head[1] - foot[1])
        if run < 3.0 * wide:
            return
        along = ((head[0] - foot[0]) / run, (head[1] - foot[1]) / run)
        normal = (-along[1], along[0])
        middle = foot[0] * normal[0] + foot[1] * normal[1]
        before, inside, after = split(rooms, normal, middle - 0.5 * wide, middle + 0.5 * wide)
        if inside:
            yield Brace("diagonal", f"diagonal{key}", f"diagonal {name}", max(inside, key=area), along)
        rooms = [*before, *after]
    if not gussets or bay > 0:
        return
    legs = min(0.3 * (rear[0] - front[0]), 0.5 * high)
    if legs < wide:
        return
    half = math.sqrt(0.5)
    for side, (c, s), way in (("front", front, -1.0), ("rear", rear, 1.0)):
        if diagonals and (side == "front") == rises:
            continue
        toward = (way * half, -half)
        edge = c * toward[0] + s * toward[1] - legs * half
        near = [
            piece for piece in cut_off(rooms, toward, edge)
            if min(math.hypot(x - c, y - s) for x, y in piece) < 0.5 * legs
        ]
        if near:
            yield Brace(
                "gusset", f"gusset{key}-{side}", f"gusset {name}, {side}", max(near, key=area),
                (-way * half, -half),
            )
            rooms = cut_off(rooms, (-toward[0], -toward[1]), -edge)
