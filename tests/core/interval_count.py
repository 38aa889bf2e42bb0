"""Side area by level lines: a third reading of the counting rule, plain intervals in plain Python.

Shares nothing with the core but the design's nodes. For single joined outlines alone: silhouette,
and vertical tail outside all others.
"""

from __future__ import annotations

import numpy as np

from core.design import Design
from tests.core.pixel_count import corners_of

Interval = tuple[float, float]


def united(intervals: list[Interval]) -> list[Interval]:
    """Disjoint intervals that cover the same."""
    found: list[Interval] = []
    for low, high in sorted(intervals):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return found


def count_by_intervals(design: Design, lines: int = 1500) -> tuple[float, float, float, float]:
    """(side area, x of the CLA, fin area, x of the fin centre), by the midpoint rule over z."""
    rings = [(o.kind in ("fin", "rudder"), corners_of(o)) for o in design.outlines]
    every = np.concatenate([ring for _, ring in rings])
    low, high = float(every[:, 1].min()), float(every[:, 1].max())
    step = (high - low) / lines
    sums = np.zeros(4)
    levels = low + (np.arange(lines) + 0.5) * step
    cuts: list[tuple[bool, list[list[float]]]] = []
    for tail, ring in rings:
        at: list[list[float]] = [[] for _ in range(lines)]
        for (x0, z0), (x1, z1) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            for k in np.nonzero((z0 <= levels) != (z1 <= levels))[0]:
                at[k].append(x0 + (levels[k] - z0) / (z1 - z0) * (x1 - x0))
        cuts.append((tail, at))
    for k in range(lines):
        every_one: list[Interval] = []
        bodies: list[Interval] = []
        for tail, at in cuts:
            xs = sorted(at[k])
            pairs = list(zip(xs[::2], xs[1::2], strict=True))
            every_one += pairs
            bodies += [] if tail else pairs
        for sign, intervals in ((1.0, united(every_one)), (-1.0, united(bodies))):
            for a, b in intervals:
                both = np.array((b - a, 0.5 * (b * b - a * a)))
                sums[2:] += sign * both
                if sign > 0:
                    sums[:2] += both
    sums *= step
    return float(sums[0]), float(sums[1] / sums[0]), float(sums[2]), float(sums[3] / sums[2])
