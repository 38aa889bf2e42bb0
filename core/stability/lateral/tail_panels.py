"""Fins and tailplanes as panels of the lattice: where their strips end, and what sits on what; mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Tailplane
from core.geometry.overlay import NOTHING
from core.geometry.regions import rings_of
from core.geometry.ring import Array
from core.stability.lateral.lattice import Circle, Horseshoes, slanted, strip_edges, upright

FIN_STRIPS, FIN_PANELS = 24, 8
VENTRAL_STRIPS = 12
TAIL_STRIPS, TAIL_PANELS = 16, 5
"""A half. Ten are enough beside a tall fin; on a low one their width beside the fin's tells."""
ON_THE_TIP = 0.06
"""So near to a free end, as a part of the height or half span, one surface sits on the other's (own)."""
NARROWEST = 1.0
"""mm: shorter cuts through a fin are left out, and shorter gaps in it closed: tracings leave them."""
_SLIVER = 0.01
_MOST_CUTS = 6
_BESIDE = (np.arange(16) + 0.5) / 16 - 0.5
"""Where in a strip it is cut: at mid-height alone, a low fillet would come and go by whole strips."""
_NEAR = 0.1
_WIDEST = 2.0
"""Half the width of a body over half its depth, where a tailplane may be entered from its side (own)."""


@dataclass(frozen=True, eq=False)
class Upright:
    """A fin in the plane ``y`` from ``low`` to ``high``, before it is divided."""

    region: BaseGeometry
    low: float
    high: float
    free_low: bool
    free_high: bool
    strips: int = FIN_STRIPS
    y: float = 0.0
    mirrored: bool = False
    at: tuple[float, ...] = ()
    """Heights at which strips have to end."""

    @property
    def height(self) -> float:
        """From end to end."""
        return self.high - self.low

    @property
    def strip(self) -> float:
        """About how high a strip is at full resolution."""
        return self.height / self.strips


@dataclass(frozen=True, eq=False)
class Level:
    """Half a tailplane as a line outwards, before it is divided."""

    line: Array
    """(K, 4): y, z, leading edge and chord at each station."""
    free_root: bool = False
    free_tip: bool = True
    at: tuple[float, ...] = ()
    """Distances along the line at which strips have to end."""

    @property
    def along(self) -> Array:
        """(K,), how far out each station lies along the line in the (y, z) plane."""
        steps = np.hypot(np.diff(self.line[:, 0]), np.diff(self.line[:, 1]))
        return np.concatenate((np.zeros(1), np.cumsum(steps)))

    @property
    def length(self) -> float:
        """From root to tip along the line."""
        return float(self.along[-1])

    @property
    def strip(self) -> float:
        """About how wide a strip is at full resolution."""
        return self.length / TAIL_STRIPS


def whole(region: BaseGeometry) -> BaseGeometry:
    """``region`` without loose parts below a hundredth of it: they would stretch it."""
    parts = [p for p in shapely.get_parts(region) if p.area > 0.0]
    least = _SLIVER * sum(p.area for p in parts)
    return shapely.MultiPolygon([p for p in parts if p.area >= least]) if parts else NOTHING


def level_of(tailplane: Tailplane) -> Level:
    """The tailplane's starboard half, its stations taken outwards."""
    rows = sorted(((s.y, s.z, s.le_x, s.chord) for s in tailplane.stations), key=lambda row: row[0])
    return Level(np.array(rows, dtype=np.float64))


def to_the_middle(level: Level, circle: Circle | None) -> Level:
    """A root that stands off the centreline, led inwards at its own chord.

    So where it is entered from the body's side, or from the fin's: within the height of the circle and
    not much wider, or nearer than a tenth of the half span. Elsewhere the root is a free end of its own.
    """
    root = level.line[0]
    if not root[0] > 0.0:
        return level
    near = root[0] <= _NEAR * level.length
    beside = (
        circle is not None and abs(root[1] - circle.middle) < circle.radius
        and root[0] <= _WIDEST * circle.radius + _NEAR * level.length
    )
    if not (beside or near):
        return replace(level, free_root=True)
    return replace(level, line=np.vstack(((0.0, *root[1:]), level.line)))


def outside(level: Level, circle: Circle) -> Level | None:
    """What of the line lies further out than where it last leaves the circle; None where nothing does."""
    line = level.line
    up = line[:, 1] - circle.middle
    for k in range(len(line) - 2, -1, -1):
        y, z = float(line[k, 0]), float(up[k])
        dy, dz = float(line[k + 1, 0]) - y, float(up[k + 1]) - z
        a, b = dy * dy + dz * dz, y * dy + z * dz
        rest = y * y + z * z - circle.radius**2
        if a + 2.0 * b + rest <= 0.0:
            # Its outer end lies inside: nothing further in counts.
            return replace(level, line=line[k + 1 :], free_root=False) if k + 2 < len(line) else None
        within = b * b - a * rest
        if a > 0.0 and within >= 0.0 and (t := (-b + float(np.sqrt(within))) / a) >= 0.0 and t <= 1.0:
            start = line[k] + t * (line[k + 1] - line[k])
            return replace(level, line=np.vstack((start, line[k + 1 :])), free_root=False)
    return level


def raised(level: Level, by: float) -> Level:
    """The same ``by`` mm higher."""
    return replace(level, line=level.line + np.array((0.0, by, 0.0, 0.0)))


def met(fin: Upright, z: float, leading: float, chord: float) -> tuple[Upright, float]:
    """``fin`` with a strip's edge where a tailplane passes at ``z``, and the height that it then has.

    Near an end it sits on the end, which is free no more where its chord lies beside the fin's; near
    another tailplane, at its height.
    """
    foremost, _, aftmost, _ = shapely.bounds(fin.region)
    beside = leading < aftmost and foremost < leading + chord
    for end, free in ((fin.high, fin.free_high), (fin.low, fin.free_low)):
        if abs(z - end) <= (ON_THE_TIP * fin.height if free else fin.strip):
            low = fin.free_low and not (beside and end == fin.low)
            high = fin.free_high and not (beside and end == fin.high)
            return replace(fin, free_low=low, free_high=high), end
    if not fin.low < z < fin.high:
        return fin, z
    for other in fin.at:
        if abs(z - other) < 0.5 * fin.strip:
            return fin, other
    return replace(fin, at=(*fin.at, z)), z


def cuts(region: BaseGeometry, heights: Array) -> list[Array]:
    """For each of ``heights``, the intervals (I, 2) of x in which the region is cut, gaps closed."""
    rings = [corners for corners, _ in rings_of(region)]
    none = np.zeros((0, 2))
    if not rings:
        return [none for _ in heights]
    p, q = (np.concatenate([ring[part] for ring in rings]) for part in (slice(None, -1), slice(1, None)))
    level, edge = np.nonzero((p[None, :, 1] <= heights[:, None]) != (q[None, :, 1] <= heights[:, None]))
    part = (heights[level] - p[edge, 1]) / (q[edge, 1] - p[edge, 1])
    x = p[edge, 0] + part * (q[edge, 0] - p[edge, 0])
    x = x[np.lexsort((x, level))]
    ends = np.cumsum(np.bincount(level, minlength=len(heights)))
    found = []
    for row in np.split(x, ends[:-1]):
        if len(row) > 2:
            apart = np.nonzero(row[2::2] - row[1:-1:2] >= NARROWEST)[0]
            row = np.concatenate((row[:1], np.ravel((row[1:-1:2][apart], row[2::2][apart]), "F"), row[-1:]))
        pairs = row.reshape(-1, 2)
        found.append(pairs[pairs[:, 1] - pairs[:, 0] >= NARROWEST])
    return found


def _mean(levels: list[Array]) -> Array:
    """The intervals (I, 2) of a strip: the means over its levels, of those that most levels have."""
    numbers = [len(pairs) for pairs in levels]
    most = max(numbers, key=lambda number: (numbers.count(number), number))
    return np.asarray(sum(pairs for pairs in levels if len(pairs) == most) / numbers.count(most))


def fin_panels(fin: Upright, divide: int, reach: float = 0.0) -> Horseshoes:
    """The panels of ``fin``: in each strip the intervals of its region, means over its height.

    ``divide``: 1 at full resolution, 2 at half. ``reach`` in mm: a strip without an interval takes that
    of one so near; a first or last strip whose middle the region misses is cut nearer to it.
    """
    edges = strip_edges(fin.low, fin.high, max(1, fin.strips // divide), fin.free_low, fin.free_high, fin.at)
    low, high = edges[:-1], edges[1:]
    _, region_low, _, region_high = shapely.bounds(fin.region)
    inset = 0.25 * (high - low)
    heights = np.clip(0.5 * (low + high), region_low + inset, np.maximum(region_high - inset, region_low))
    several = cuts(fin.region, (heights[:, None] + _BESIDE * (high - low)[:, None]).ravel())
    found = [_mean(several[k : k + len(_BESIDE)]) for k in range(0, len(several), len(_BESIDE))]
    there = [k for k, pairs in enumerate(found) if len(pairs)]
    rows: list[tuple[float, float, float, float]] = []
    panels: list[int] = []
    for k, pairs in enumerate(found):
        if not len(pairs) and there:
            nearest = min(there, key=lambda j: abs(heights[j] - heights[k]))
            if abs(heights[nearest] - heights[k]) <= reach:
                pairs = found[nearest]
        if len(pairs) > _MOST_CUTS:
            pairs = pairs[np.argsort(pairs[:, 0] - pairs[:, 1], kind="stable")[:_MOST_CUTS]]
        each = max(2, FIN_PANELS * min(2, len(pairs)) // max(1, len(pairs)) // divide)
        rows.extend((low[k], high[k], float(x0), float(x1)) for x0, x1 in pairs)
        panels.extend([each] * len(pairs))
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    under, over, leading, trailing = table.T
    return upright(fin.y, under, over, leading, trailing, np.array(panels, dtype=np.int64), fin.mirrored)


def level_panels(level: Level, divide: int) -> Horseshoes:
    """The panels of both halves of a tailplane; ``divide``: 1 at full resolution, 2 at half."""
    along = level.along
    edges = strip_edges(0.0, level.length, TAIL_STRIPS // divide, level.free_root, level.free_tip, level.at)
    table = np.stack([np.interp(edges, along, level.line[:, k]) for k in range(4)], axis=1)
    return slanted(table, -(-TAIL_PANELS // divide))
