"""Corners of a dense run of points: found by what the sides do away from them, and sharpened."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from core.ink.darkness import Array


@dataclass(frozen=True)
class Corner:
    """``index`` into the points it was found in, ``at`` where the sides cross, ``turn_deg`` by how much."""

    index: int
    at: tuple[float, float]
    turn_deg: float


def spaced(points: Array, step: float, *, closed: bool = False) -> Array:
    """The run with points about ``step`` apart, both ends kept; a closed one does not repeat its first."""
    points = np.asarray(points, dtype=np.float64)
    if closed:
        points = np.vstack((points, points[:1]))
    away = np.hypot(*np.diff(points, axis=0).T)
    points = points[np.concatenate(([True], away > 1e-9))]
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    number = max(2, round(float(along[-1]) / step) + 1)
    at = np.linspace(0.0, float(along[-1]), number)
    even = np.stack((np.interp(at, along, points[:, 0]), np.interp(at, along, points[:, 1])), axis=1)
    return even[:-1] if closed else even


def smoothed(points: Array, sigma: float, *, closed: bool = False) -> Array:
    """Gaussian means along the first axis of (N, M), ``sigma`` in points; the ends of an open run stay."""
    reach = min(max(1, round(3 * sigma)), len(points) - 1)
    weights = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / sigma))
    weights /= weights.sum()
    if closed:
        wide = np.vstack((points[-reach:], points, points[:reach]))
    else:
        wide = np.vstack(
            (2 * points[0] - points[reach:0:-1], points, 2 * points[-1] - points[-2 : -reach - 2 : -1])
        )
    if points.shape[1] == 2:
        return np.stack([np.convolve(wide[:, axis], weights, "valid") for axis in (0, 1)], axis=1)
    return np.asarray(sum(w * wide[i : i + len(points)] for i, w in enumerate(weights)), dtype=np.float64)


def _filters(blind: int, side: int) -> tuple[Array, Array, Array]:
    """What a parabola through points ``blind`` to ``blind + side`` ahead says of place and direction at 0.

    The place and direction weights (side + 1,), and the matrix whose product with the points is what the
    parabola misses them by. Short sides take a straight line.
    """
    t = np.arange(blind, blind + side + 1, dtype=np.float64)
    degree = 2 if side >= 8 else 1
    basis = np.stack([t**n for n in range(degree + 1)], axis=1)
    solve = np.linalg.pinv(basis)
    return solve[0], solve[1], np.eye(len(t)) - basis @ solve


def corners(
    points: Array, blind: int, side: int, *, least_deg: float = 25.0, closed: bool = False,
    rough: float = 0.5,
) -> list[Corner]:
    """Where the run turns sharply. ``points`` (N, 2) evenly spaced.

    Each point is judged by parabolas through the ``side`` points beyond ``blind`` on either side of it,
    carried on to the point: on a smooth curve the two agree in direction, at a corner they do not, however
    rounded the ink is within ``blind``. Where a side misses its points by more than ``rough`` (in the units
    of the points) a side of a third of the length is tried.
    """
    kept: list[tuple[Corner, int]] = []
    total = len(points)
    for length in dict.fromkeys((side, max(3, side // 3))):
        found = _at_scale(points, blind, length, least_deg, closed, rough)
        found.sort(key=lambda entry: (entry[0], -entry[1]))
        reach = blind + length
        for _, _, corner in found:
            gaps = [(abs(corner.index - other.index), min(reach, far)) for other, far in kept]
            if all((min(gap, total - gap) if closed else gap) > least for gap, least in gaps):
                kept.append((corner, reach))
    return sorted((corner for corner, _ in kept), key=lambda corner: corner.index)


def _at_scale(
    points: Array, blind: int, side: int, least_deg: float, closed: bool, rough: float
) -> list[tuple[float, float, Corner]]:
    total, far = len(points), blind + side
    if total < 2 * far + 1:
        return []
    run = np.vstack((points[-far:], points, points[:far])) if closed else points
    place, heading, missed = _filters(blind, side)
    windows = sliding_window_view(run, far + 1, axis=0)
    # windows[i] covers run[i : i + far + 1]: what lies ahead of run[i], and behind run[i + far].
    ahead, behind = windows[:, :, blind:], windows[:, :, : side + 1][:, :, ::-1]
    count = len(run) - 2 * far
    ahead, behind = ahead[far : far + count], behind[:count]
    p1, d1 = behind @ place, -(behind @ heading)
    p2, d2 = ahead @ place, ahead @ heading
    error = np.maximum(
        np.sqrt(np.square(behind @ missed.T).sum(axis=1).mean(axis=1)),
        np.sqrt(np.square(ahead @ missed.T).sum(axis=1).mean(axis=1)),
    )
    cross = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
    turn = np.degrees(np.arctan2(cross, (d1 * d2).sum(axis=1)))
    gap = p2 - p1
    safe = np.where(np.abs(cross) > 1e-9, cross, 1.0)
    t = (gap[:, 0] * d2[:, 1] - gap[:, 1] * d2[:, 0]) / safe
    meet = p1 + t[:, None] * d1
    first = 0 if closed else far
    off = np.hypot(*(meet - run[far : far + count]).T)
    step = float(np.median(np.hypot(*np.diff(points, axis=0).T)))
    good = (np.abs(turn) > least_deg) & (error < rough) & (off < (blind + 2) * step)
    out: list[tuple[float, float, Corner]] = []
    score = np.where(good, off, np.inf)
    while True:
        i = int(np.argmin(score))
        if not np.isfinite(score[i]):
            break
        # Where the sides meet may lie some points from where they were judged.
        low = max(0, i + far - blind - 2)
        nearest = low + int(np.argmin(np.hypot(*(run[low : i + far + blind + 3] - meet[i]).T)))
        index = nearest - far + first
        index = index % total if closed else index
        corner = Corner(index, (float(meet[i, 0]), float(meet[i, 1])), float(turn[i]))
        out.append((round(off[i] / step / 2), float(abs(turn[i])), corner))
        score[max(0, i - blind - 2) : i + blind + 3] = np.inf
    return out


def sharpened(points: Array, found: list[Corner], blind: int, *, closed: bool = False) -> Array:
    """The run with the ``blind`` points on either side of each corner replaced by the corner itself."""
    if not found:
        return points
    total = len(points)
    keep = np.ones(total, dtype=bool)
    extra: dict[int, tuple[float, float]] = {}
    for corner in found:
        span = np.arange(corner.index - blind, corner.index + blind + 1)
        keep[span % total if closed else span[(span >= 0) & (span < total)]] = False
    for corner in found:
        keep[corner.index] = True
        extra[corner.index] = corner.at
    made = points.copy()
    for index, at in extra.items():
        made[index] = at
    return made[keep]
