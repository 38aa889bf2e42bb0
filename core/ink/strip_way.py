"""The shortest smooth way through a strip: dynamic programming over offset and slant.

Bellman, "Dynamic Programming", Princeton, 1957. A step's cost depends on where it leaves and on its slant,
and changing the slant costs, so that a line is followed straight over what crosses it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from core.ink.darkness import Dark

_HUGE = np.float32(1e9)
_ASK = 512
_OVERLAP = 80
"""Steps that a closed way is sought on before its beginning and beyond its end."""
_FREE = 1
"""A change of slant by so many cells costs nothing: slants between two whole ones alternate."""


class GoneError(Exception):
    """Nobody waits for the way any more."""


def way(
    cost: Dark, slants: NDArray[np.intp], *, turn: float, most_turn: float, closed: bool,
    gone: Callable[[], bool] | None = None,
) -> NDArray[np.intp]:
    """The offsets (N + 1,) as indices, or (N,) of a closed way, which ends where it begins.

    ``cost`` (N, D, K): of the step that leaves row n at offset d along ``slants[k]`` whole cells. ``turn``
    a cell of change in slant, ``most_turn`` at most. GoneError where ``gone`` says True.
    """
    apart = np.abs(slants[:, None] - slants[None, :])
    bends = np.minimum(turn * np.maximum(apart - _FREE, 0), most_turn).astype(np.float32)
    if not closed:
        return _open(cost, slants, bends, None, gone)
    total = len(cost)
    lap = min(_OVERLAP, total // 2)
    rows = np.arange(-lap, total + lap) % total
    found = _open(cost[rows], slants, bends, None, gone)
    if found[lap] != found[lap + total]:
        found = _open(cost, slants, bends, int(found[lap + total]), gone)
        return found[:-1]
    return found[lap : lap + total]


def _open(
    cost: Dark, slants: NDArray[np.intp], bends: Dark, pinned: int | None,
    gone: Callable[[], bool] | None,
) -> NDArray[np.intp]:
    total, width, kinds = cost.shape
    most = int(np.abs(slants).max())
    spent = np.zeros((width, kinds), dtype=np.float32)
    if pinned is not None:
        spent[:] = _HUGE
        spent[pinned] = 0.0
    target = (np.arange(width)[:, None] + most + slants[None, :]) * kinds + np.arange(kinds)[None, :]
    inside = slice(most * kinds, (most + width) * kinds)
    wide = np.full((width + 2 * most) * kinds, _HUGE, dtype=np.float32)
    tracks = np.zeros((width + 2 * most) * kinds, dtype=np.uint8)
    back = np.zeros((total, width * kinds), dtype=np.uint8)
    spot = (np.arange(width)[:, None] * kinds + np.arange(kinds)[None, :]) * kinds
    trial = np.empty((width, kinds, kinds), dtype=np.float32)
    flat = trial.reshape(-1)
    for n in range(total):
        if n % _ASK == 0 and gone is not None and gone():
            raise GoneError
        np.add(spent[:, None, :], bends, out=trial)
        best = trial.argmin(axis=2)
        wide.fill(_HUGE)
        wide[target] = flat[spot + best] + cost[n]
        tracks[target] = best
        back[n] = tracks[inside]
        spent = wide[inside].reshape(width, kinds)
    last = int(np.argmin(spent)) if pinned is None else pinned * kinds + int(np.argmin(spent[pinned]))
    out = np.empty(total + 1, dtype=np.intp)
    offset, kind = divmod(last, kinds)
    out[total] = offset
    for n in range(total - 1, -1, -1):
        before = int(back[n, offset * kinds + kind])
        offset -= int(slants[kind])
        kind = before
        out[n] = offset
    return out
