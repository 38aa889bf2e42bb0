"""Roots of a costly function of one number that may jump, stop being defined, or have several.

No derivative is used: the range is scanned, every change of sign is closed in on, and every place
where the curve comes near without crossing is looked at more closely.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Function = Callable[[float], float]
"""NaN where it is not defined."""

SOLVED = 2e-6
"""A root is one when the function misses by no more than this; what misses by more is a jump."""
_CLOSE = 1e-10


@dataclass(frozen=True)
class Roots:
    """Where the function takes the wanted value, in rising order, and where it comes nearest."""

    roots: tuple[float, ...]
    nearest: float | None
    """None where the function is defined nowhere."""
    nearest_value: float
    at_limit: bool
    """Whether the nearest lies at an end of what is defined."""


def roots_of(function: Function, wanted: float, grid: Sequence[float]) -> Roots:
    """All roots of ``function(x) = wanted`` that the rising ``grid`` tells apart.

    Two roots between two neighbouring points of the grid are found where the points beside them
    show that the curve turns; a pair nearer than that can be missed.
    """
    seen: dict[float, float] = {}

    def miss(x: float) -> float:
        if x not in seen:
            seen[x] = function(x) - wanted
        return seen[x]

    for x in grid:
        miss(x)
    _find_ends(miss, list(grid))
    _look_at_turns(miss, seen)
    points = sorted((x, y) for x, y in seen.items() if math.isfinite(y))
    found: list[float] = []
    for i, (x, y) in enumerate(points):
        if abs(y) <= _CLOSE:
            found.append(x)
        elif i and points[i - 1][1] * y < 0.0 and abs(points[i - 1][1]) > _CLOSE:
            root = _close_in(miss, points[i - 1], (x, y))
            if root is not None:
                found.append(root)
    if not points:
        return Roots((), None, math.nan, False)
    points = sorted((x, y) for x, y in seen.items() if math.isfinite(y))
    nearest, by = min(points, key=lambda p: abs(p[1]))
    apart = 1e-7 * (grid[-1] - grid[0])
    roots: list[float] = []
    for x in sorted(found):
        if not roots or x - roots[-1] > apart:
            roots.append(x)
    return Roots(tuple(roots), nearest, by + wanted, nearest in (points[0][0], points[-1][0]))


def _find_ends(miss: Function, grid: list[float]) -> None:
    """Look at the last defined point beside every stretch where the function is not defined."""
    for a, b in pairwise(grid):
        if math.isfinite(miss(a)) == math.isfinite(miss(b)):
            continue
        good, bad = (a, b) if math.isfinite(miss(a)) else (b, a)
        for _ in range(12):
            middle = 0.5 * (good + bad)
            if math.isfinite(miss(middle)):
                good = middle
            else:
                bad = middle


def _look_at_turns(miss: Function, seen: dict[float, float]) -> None:
    """Look closer where the curve comes nearest to the wanted value without crossing it."""
    points = sorted((x, y) for x, y in seen.items() if math.isfinite(y))
    for before, here, after in zip(points[:-2], points[1:-1], points[2:], strict=True):
        ys = (before[1], here[1], after[1])
        one_side = all(y > 0 for y in ys) or all(y < 0 for y in ys)
        if not one_side or abs(ys[1]) > min(abs(ys[0]), abs(ys[2])):
            continue
        if abs(ys[0] - ys[1]) + abs(ys[2] - ys[1]) < 1e-12:
            continue
        low, high = before[0], after[0]
        for _ in range(24):
            one, other = low + 0.382 * (high - low), low + 0.618 * (high - low)
            y1, y2 = miss(one), miss(other)
            if not (math.isfinite(y1) and math.isfinite(y2)) or y1 * ys[1] <= 0 or y2 * ys[1] <= 0:
                break
            low, high = (low, other) if abs(y1) < abs(y2) else (one, high)


def _close_in(miss: Function, low: tuple[float, float], high: tuple[float, float]) -> float | None:
    """The root between two points of opposite sign, by false position kept honest by halving.

    None where the function jumps over the wanted value or is not defined on the way.
    """
    (a, ya), (b, yb) = low, high
    width = b - a
    for turn in range(80):
        if b - a <= 1e-13 * max(abs(a), abs(b), width):
            break
        x = (a * yb - b * ya) / (yb - ya)
        edge = 0.01 * (b - a)
        # Every third step halves, so that a curve with one steep end cannot hold it up.
        x = 0.5 * (a + b) if turn % 3 == 2 else min(max(x, a + 1e-3 * edge), b - 1e-3 * edge)
        y = miss(x)
        if not math.isfinite(y):
            return None
        if abs(y) <= _CLOSE:
            return x
        if y * ya > 0:
            a, ya = x, y
        else:
            b, yb = x, y
    best, by = (a, ya) if abs(ya) < abs(yb) else (b, yb)
    return best if abs(by) <= SOLVED else None
