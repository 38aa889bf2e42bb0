"""The middle of the ink along a long path, stretch by stretch: each by its own width and darkness.

One level for the whole of a path fails in a shadow and where a line changes its width; a stretch of some
centimetres has one. It also keeps the window that is looked at small.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from core.ink.centring import centred
from core.ink.corners import corners, sharpened, smoothed, spaced
from core.ink.darkness import Array, Grey, reduced

_LENGTH_MM, _OVER_MM = 90.0, 12.0
_FIT_MM, _COARSEST_MM = 0.085, 0.175
"""Finer pixels than these are pooled: they tell no more. Along a long path, up to the second."""
_MOST_POINTS = 9000
_ROOM_MM = 6.0
_ASTRAY_MM, _BACK_MM = 0.6, 0.25
"""Centring that leaves its path by more, for more than a corner's length, has gone to another line."""
_CORNER_MM, _LOOK_MM = 6.0, 0.4
_ROUND_MM, _ROUGH_MM = 1.3, 0.12
"""How far a path rounds its corners off, and how much it wavers."""


def middle(
    grey: Grey, path: Array, *, closed: bool, mm_per_px: float, inverted: bool,
    gone: Callable[[], bool] | None = None,
) -> Array | None:
    """Points (M, 2) px on the middle of the ink that ``path`` (N, 2) px runs along; None where ``gone``.

    ``inverted``: the ink is lighter than the paper. A closed run does not repeat its first point.
    """
    line = spaced(path, 1.0 / mm_per_px, closed=closed)
    total = len(line)
    wanted = min(max(_FIT_MM, total / _MOST_POINTS), _COARSEST_MM)
    pool = max(1, int(wanted / mm_per_px))
    if total < 6:
        return _centred(grey, path, pool, mm_per_px, inverted)
    cuts = _cuts(line, round(_LENGTH_MM), closed)
    over = round(_OVER_MM)
    parts: list[Array] = []
    for begin, end in pairwise(cuts):
        if gone is not None and gone():
            return None
        low, high = begin - over, end + over
        if not closed:
            low, high = max(low, 0), min(high, total - 1)
        stretch = line[np.arange(low, high + 1) % total]
        found = _kept(_centred(grey, stretch, pool, mm_per_px, inverted), stretch, float(pool), mm_per_px)
        first = 0 if not closed and begin == 0 else _nearest(found, line[begin % total])
        last = len(found) if not closed and end == total - 1 else _nearest(found, line[end % total])
        parts.append(found[first:last] if last > first else line[np.arange(begin, end) % total])
    return spaced(np.vstack(parts), pool, closed=closed)


def _cuts(line: Array, length: int, closed: bool) -> list[int]:
    """Indices where stretches begin and end, where the path is calm."""
    total = len(line)
    soft = smoothed(line, 2.0, closed=closed)
    reach = min(4, (total - 1) // 2)
    if closed:
        bend = np.roll(soft, reach, axis=0) + np.roll(soft, -reach, axis=0) - 2 * soft
    else:
        bend = np.zeros_like(soft)
        bend[reach:-reach] = soft[: -2 * reach] + soft[2 * reach :] - 2 * soft[reach:-reach]
    turning = np.hypot(*bend.T)
    start = int(np.argmin(turning)) if closed else 0
    stop = start + total if closed else total - 1
    cuts = [start]
    while stop - cuts[-1] > 1.5 * length:
        near = np.arange(cuts[-1] + length * 2 // 3, cuts[-1] + length * 4 // 3)
        cuts.append(int(near[np.argmin(turning[near % total])]))
    return [*cuts, stop]


def _centred(grey: Grey, path: Array, pool: int, mm_per_px: float, inverted: bool) -> Array:
    room = _ROOM_MM / mm_per_px
    height, width = grey.shape
    low = np.clip((path.min(axis=0) - room) // pool * pool, 0, (width - 1, height - 1)).astype(int)
    high = np.clip(path.max(axis=0) + room, 1, (width, height)).astype(int)
    piece = grey[low[1] : max(high[1], low[1] + 1), low[0] : max(high[0], low[0] + 1)]
    if inverted:
        piece = 255 - piece
    if pool > 1:
        piece = np.rint(reduced(piece, pool)).astype(np.uint8)
    return np.asarray(centred(piece, (path - low) / pool, checked=True) * pool + low, dtype=np.float64)


def _kept(found: Array, path: Array, step: float, mm_per_px: float) -> Array:
    """What was found, without longer runs that lie astray of the path."""
    way = spaced(path, step)
    if len(found) < 2:
        return way
    leap = max(1, round(_LOOK_MM / (step * mm_per_px)))
    off = np.repeat(_apart(found[::leap], way[::leap]) * mm_per_px, leap)[: len(found)]
    if off.max() <= _ASTRAY_MM:
        return found
    # From where it leaves the path to where it comes back.
    change = np.flatnonzero(np.diff(np.concatenate(([False], off > _BACK_MM, [False])).astype(np.int8)))
    blind = max(2, round(_ROUND_MM / (step * mm_per_px)))
    sharp = corners(way, blind, 2 * blind, rough=_ROUGH_MM / mm_per_px)
    way = sharpened(way, sharp, blind)
    parts, at = [], 0
    for begin, end in zip(change[::2], change[1::2], strict=True):
        run = found[begin:end]
        astray = run[off[begin:end] > _ASTRAY_MM]
        if len(astray) * step * mm_per_px < _CORNER_MM:
            continue
        low = 0 if begin == 0 else _nearest(way, found[begin - 1])
        high = len(way) if end == len(found) else _nearest(way, found[end])
        parts += [found[at:begin], way[low:high]]
        at = end
    return np.vstack([*parts, found[at:]])


def _apart(points: Array, line: Array) -> Array:
    """Distance of each point (N, 2) from the nearest of the line's."""
    gap = points[:, None, :] - line[None]
    return np.asarray(np.sqrt(np.square(gap[..., 0]) + np.square(gap[..., 1])).min(axis=1))


def _nearest(points: Array, place: Array) -> int:
    return int(np.argmin(np.square(points - place).sum(axis=1)))
