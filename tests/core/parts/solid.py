"""A surface as a solid, point by point: another way to volumes, that shares nothing with the parts."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from core.parts.part import Array


def half_thickness(x: float) -> float:
    """Half the thickness of the symmetric four-digit form, one thick; by its terms, one at a time."""
    terms = ((0.2969, 0.5), (-0.1260, 1.0), (-0.3516, 2.0), (0.2843, 3.0), (-0.1015, 4.0))
    return 5.0 * sum(factor * x**power for factor, power in terms)


def integral(of: Callable[[float], float], low: float, high: float, steps: int = 4000) -> float:
    """By the midpoint rule, finer towards ``low``: a round nose goes with the root of the distance."""
    total = 0.0
    for k in range(steps):
        a, b = (k / steps) ** 2, ((k + 1) / steps) ** 2
        total += (b - a) * of(low + 0.5 * (a + b) * (high - low))
    return total * (high - low)


def grid(low: float, high: float, count: int) -> Array:
    """Middles of so many even cells."""
    return low + (np.arange(count) + 0.5) * (high - low) / count


def swept_edges(s: Array) -> tuple[Array, Array]:
    """(leading, trailing edge) of the swept fin drawn by hand."""
    return 100.0 * s / 190.0, 150.0 + 15.0 * s / 190.0


def swept_half(c: Array, s: Array) -> Array:
    """Half the thickness of the swept fin, 14 mm thick at its root and 9 mm at its tip."""
    lead, trail = swept_edges(s)
    x = np.clip((c - lead) / (trail - lead), 0.0, 1.0)
    # Horner's form of the same polynomial, so that a slip in one of them shows.
    form = 5.0 * (0.2969 * np.sqrt(x) + x * (((-0.1015 * x + 0.2843) * x - 0.3516) * x - 0.1260))
    return np.where((c >= lead) & (c <= trail), (14.0 - 5.0 * s / 190.0) * form, 0.0)

