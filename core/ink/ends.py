"""The ends of an open run: brought to where they were clicked, or cut off beside it."""

from __future__ import annotations

import numpy as np

from core.ink.darkness import Array

_SLOPE = 8.0
"""The part that bends towards a pinned end, in times of what it missed by: it turns by 14° at most."""
_BASE = 6
"""Points that tell the direction of an end."""


def ended(
    line: Array, start: tuple[float, float], end: tuple[float, float], *,
    pinned: tuple[bool, bool] = (True, True), least: float = 1.0,
) -> Array:
    """The open run (N, 2) from beside ``start`` to beside ``end``, any unit; carried on straight if needed.

    A ``pinned`` end lies exactly on its place: where a line runs into another one its last stretch cannot
    be told from the ink of both, and whoever clicked saw better. What the run misses it by fades out as a
    parabola over 8 times as much, ``least`` at least. An end that is not pinned is the point of the run
    beside its place. Runs of fewer than three points come back with their ends on both places.
    """
    line = np.asarray(line, dtype=np.float64)
    if len(line) < 3:
        return np.array([start, end], dtype=np.float64)
    for place, hold in ((start, pinned[0]), (end, pinned[1])):
        # Each in turn is looked at as the first point.
        line = _begun(line, np.asarray(place, dtype=np.float64), hold, least)[::-1]
    return line


def _begun(line: Array, place: Array, hold: bool, least: float) -> Array:
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    direction = line[min(_BASE, len(line) - 1)] - line[0]
    direction /= max(float(np.hypot(*direction)), 1e-12)
    beyond = float((place - line[0]) @ direction)
    if beyond < 0.0:
        foot = line[0] + beyond * direction
        line = np.vstack((foot[None], line))
    else:
        # No further along than the place is away: the run may come by here again.
        near = int(np.searchsorted(away, min(2.0 * float(np.hypot(*(place - line[0]))), 0.5 * away[-1])))
        first, foot = _foot(line[: near + 2], place)
        line = np.vstack((foot[None], line[first + 1 :]))
    line = line[np.concatenate(([True], np.hypot(*(line[1:] - foot).T) > 1e-6))]
    if not hold:
        return line
    miss = place - foot
    reach = max(_SLOPE * float(np.hypot(*miss)), least)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    reach = min(reach, max(float(along[-1]), 1e-9))
    fading = np.square(np.clip(1.0 - along / reach, 0.0, 1.0))
    made = line + fading[:, None] * miss
    made[0] = place
    return np.asarray(made, dtype=np.float64)


def _foot(points: Array, place: Array) -> tuple[int, Array]:
    """(edge, point) of the open run's point nearest to ``place``."""
    a, d = points[:-1], np.diff(points, axis=0)
    length = np.maximum((d * d).sum(axis=1), 1e-18)
    t = np.clip(((place - a) * d).sum(axis=1) / length, 0.0, 1.0)
    feet = a + t[:, None] * d
    best = int(np.argmin(np.hypot(*(feet - place).T)))
    return best, feet[best]
