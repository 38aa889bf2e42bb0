"""A lens's one radial number from lines that are known to be straight.

A projective map keeps straight lines straight, so whatever bend is left in them is the lens's (or the
paper's, or the hand's), whichever way the plane lies. Source, from memory: D. C. Brown, Close-range
camera calibration, 1971, the plumb-line method.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from core.geometry.ring import Array

MOST_K = 0.2
_FIRST_STEP = 0.04
_ROUNDS = 5


def off_line(points: Array) -> Array:
    """Distances (N,) of points (N, 2) from the straight line that lies nearest to all, signed."""
    points = np.asarray(points, np.float64)
    middle = points - points.mean(axis=0)
    # The smaller principal axis of the points is square to their line.
    across = np.linalg.svd(middle, full_matrices=False)[2][-1]
    return np.asarray(middle @ across)


def solve_radial(
    cost: Callable[[float], float], start: float = 0.0, step: float = _FIRST_STEP, rounds: int = _ROUNDS
) -> tuple[float, float]:
    """(the number k within ±``MOST_K`` that makes ``cost`` least, what the sum of squares gains for k²).

    ``cost`` is a sum of squares whose residuals run nearly straight with k, so that a parabola through
    three of its values leads nearly there, and a narrower one nearer.
    ``start``: about where to begin; ``step``: how wide the first is; ``rounds``: how many.
    """
    k, bow = start, 0.0
    for _ in range(rounds):
        k = float(np.clip(k, -MOST_K + step, MOST_K - step))
        before, here, after = cost(k - step), cost(k), cost(k + step)
        second = before - 2.0 * here + after
        if not (np.isfinite(second) and second > 0.0):
            break
        bow = second / (2.0 * step * step)
        k = k - 0.5 * step * (after - before) / second
        step /= 6.0
    return float(np.clip(k, -MOST_K, MOST_K)), bow


def bend_left(lines: Sequence[Array]) -> float:
    """The sum of squares of what is left of a bend in lines, each (N, 2)."""
    return float(sum((off_line(line) ** 2).sum() for line in lines))
