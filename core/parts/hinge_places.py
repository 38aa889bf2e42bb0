"""How many hinges a hinge line has, and where: common practice, no source."""

from __future__ import annotations

import math

import numpy as np

Point = tuple[float, float]


def hinge_count(length: float) -> int:
    """Two hinges up to 100 mm, three up to 250, one more for every further 120 (common practice)."""
    if length <= 100.0:
        return 2
    return 3 + max(0, math.ceil((length - 250.0) / 120.0))


def hinge_places(start: Point, end: Point) -> tuple[Point, ...]:
    """The hinges on a line: the outer ones a seventh of its length from its ends, the rest even between."""
    shares = np.linspace(1 / 7, 6 / 7, hinge_count(math.dist(start, end)))
    return tuple(
        (start[0] + float(s) * (end[0] - start[0]), start[1] + float(s) * (end[1] - start[1]))
        for s in shares
    )
