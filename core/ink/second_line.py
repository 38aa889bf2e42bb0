"""Whether another line runs along beside a way: then it may be the one that was meant."""

from __future__ import annotations

import numpy as np

from core.ink.corners import smoothed
from core.ink.darkness import Array, Dark, sampled

_STATIONS = 80
_STEP, _SLOPE = 3.0, 1.0 / 3.0
"""Cells between the places looked at, more along a long way; a line that comes nearer faster runs across."""
_INK, _PAPER = 0.45, 0.3
"""Ink that is a line, and what at most lies between two lines."""
_NEAR = 2.0
_MISSING = 0.7
"""What a place without the other line takes from the length found so far: it may be broken."""


def longest_beside(ink: Dark, way: Array, reach: float) -> float:
    """How far, in cells, another line runs along the way within ``reach`` cells of it, on either side.

    ``ink`` (H, W) is how much each cell holds, 0 to 1; ``way`` (N, 2) are the cells one after the
    other. Between the two lines there has to be paper.
    """
    if len(way) < 4:
        return 0.0
    step = max(_STEP, len(way) / _STATIONS)
    soft = smoothed(way, min(3.0, len(way) / 4.0))
    picked = np.linspace(0, len(way) - 1, max(2, round(len(way) / step))).astype(int)
    along = np.gradient(soft, axis=0)[picked]
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    normal = np.stack((-along[:, 1], along[:, 0]), axis=1)
    away = np.arange(0.0, reach + 0.5)
    both = np.stack((away, -away))
    found = sampled(ink, soft[picked][:, None, None] + both[None, :, :, None] * normal[:, None, None])
    between = np.minimum.accumulate(found, axis=2)
    line = (found > _INK) & (between < _PAPER) & (away > _NEAR)
    by = max(1, round(step * _SLOPE))
    best, run = 0.0, np.zeros((2, len(away) + 2 * by))
    for there in line:
        before = np.max([run[:, n : n + len(away)] for n in range(2 * by + 1)], axis=0)
        run[:, by:-by] = np.where(there, before + 1.0, np.maximum(before - _MISSING, 0.0))
        best = max(best, float(run.max()))
    return best * len(way) / len(picked)
