"""A path drawn freely by hand, made fit to be followed: little loops cut, one round kept of several."""

from __future__ import annotations

import numpy as np

from core.ink.corners import spaced
from core.ink.darkness import Array

TOO_SHORT = "the path is too short: draw along the line"
_STEP = 1.0
"""mm between the points that are looked at."""
_MOST, _MOST_EDGES = 3000, 900
_LOOP = 20.0
"""mm: a shorter loop is a slip of the pen."""
_LOBE = 0.15
"""Part of the area: a larger one on the other side of a crossing is a figure of eight."""
_PAST = 30.0
"""mm that the end of a round may run past its beginning, or the other way about."""
_TRIM, _SAME_WAY = 0.3, 0.3
"""What cutting a millimetre off costs, in mm of gap; the cosine from which two directions are alike."""
_LEAST = 6.0


def tidied(path_mm: Array, *, closed: bool) -> Array | str:
    """The path (M, 2), evenly spaced, without slips; or a clause that says why it cannot be followed."""
    path = np.asarray(path_mm, dtype=np.float64)
    if path.ndim != 2 or len(path) < 2 or not np.isfinite(path).all():
        return TOO_SHORT
    length = float(np.hypot(*np.diff(path, axis=0).T).sum())
    if length < _LEAST or (closed and len(path) < 3):
        return TOO_SHORT
    step = max(_STEP, length / _MOST)
    run = spaced(path, step)
    if closed:
        run = _met(_once(run), step)
    leap = -(-len(run) // _MOST_EDGES)
    crossed = [(i * leap, j * leap) for i, j in crossings(run[::leap], closed)]
    run = _without_loops(run, crossed, closed, step)
    if len(run) * step < _LEAST:
        return TOO_SHORT
    if closed and len(run) < 8:
        return "the path goes round nothing: draw once round the shape"
    if closed and crossed and _figure_of_eight(run[::leap]):
        return "the path crosses itself: draw once round the shape, without a figure of eight"
    return run


def _once(run: Array) -> Array:
    """The path up to where it comes round to its beginning again, as seen from its middle."""
    x, y = run.T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    area = float(cross.sum())
    if abs(area) < 1e-9:
        return run
    middle = np.array(
        [float(((x + np.roll(x, -1)) * cross).sum()), float(((y + np.roll(y, -1)) * cross).sum())]
    ) / (3 * area)
    angle = np.unwrap(np.arctan2(*(run - middle).T[::-1]))
    turned = np.abs(angle - angle[0])
    # Not where it only swings past the full round and back.
    past = np.flatnonzero(turned >= 2 * np.pi)
    return run if not len(past) or past[0] < 8 else run[: past[0]]


def _met(run: Array, step: float) -> Array:
    """The round without what its end runs past its beginning: from and to where the two come nearest."""
    reach = min(round(_PAST / step), len(run) // 6)
    if reach < 2:
        return run
    along = np.gradient(run, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    head, tail = np.arange(reach), np.arange(len(run) - reach, len(run))
    gap = run[head][None] - run[tail][:, None]
    spent = np.hypot(gap[..., 0], gap[..., 1])
    spent += _TRIM * step * (head[None, :] + (len(run) - 1 - tail)[:, None])
    same = (along[tail][:, None] * along[head][None]).sum(axis=2) > _SAME_WAY
    same[-1, 0] = True
    j, i = np.unravel_index(int(np.argmin(np.where(same, spent, np.inf))), spent.shape)
    return run[int(i) : int(tail[j]) + 1]


def crossings(run: Array, closed: bool) -> list[tuple[int, int]]:
    """Edges (i, j), i + 1 < j, of the run that cross each other, in order of i."""
    ring = np.vstack((run, run[:1])) if closed else run
    a, d = ring[:-1], np.diff(ring, axis=0)
    total = len(a)
    found: list[tuple[int, int]] = []
    block = max(1, 400_000 // total)
    for begin in range(0, total, block):
        p, r = a[begin : begin + block, None, :], d[begin : begin + block, None, :]
        q, s = a[None], d[None]
        gap = q - p
        cross = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
        safe = np.where(np.abs(cross) > 1e-12, cross, np.inf)
        t = (gap[..., 0] * s[..., 1] - gap[..., 1] * s[..., 0]) / safe
        w = (gap[..., 0] * r[..., 1] - gap[..., 1] * r[..., 0]) / safe
        i, j = np.nonzero((t > 0) & (t < 1) & (w > 0) & (w < 1))
        i = i + begin
        fine = (j > i + 1) & ~((i == 0) & (j == total - 1) & closed)
        found += zip(i[fine].tolist(), j[fine].tolist(), strict=True)
    return sorted(found)


def _without_loops(run: Array, crossed: list[tuple[int, int]], closed: bool, step: float) -> Array:
    keep = np.ones(len(run), dtype=bool)
    total = len(run)
    until = -1
    for i, j in crossed:
        if i < until:
            continue
        if (j - i) * step < _LOOP:
            keep[i + 1 : j + 1] = False
            until = j
        elif closed and (total - j + i) * step < _LOOP:
            keep[: i + 1] = False
            keep[j + 1 :] = False
    return run[keep]


def _figure_of_eight(run: Array) -> bool:
    def area(points: Array) -> float:
        u, v = points.T
        return 0.5 * float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum())

    for i, j in crossings(run, True):
        one, other = area(run[i + 1 : j + 1]), area(np.vstack((run[: i + 1], run[j + 1 :])))
        if one * other < 0 and min(abs(one), abs(other)) > _LOBE * max(abs(one), abs(other)):
            return True
    return False
