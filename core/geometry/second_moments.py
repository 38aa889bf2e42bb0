"""Area integrals of a region up to the second degree, exact for polygons (Green's theorem)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.geometry.regions import rings_of


class SecondMoments(NamedTuple):
    """∫dA, ∫x dA, ∫y dA, ∫x² dA, ∫xy dA, ∫y² dA in powers of mm, about (0, 0)."""

    area: float
    x: float
    y: float
    xx: float
    xy: float
    yy: float


def second_moments(region: BaseGeometry) -> SecondMoments:
    """The integrals over ``region``; those near to its own place lose the least to rounding."""
    total = np.zeros(6)
    for corners, sign in rings_of(region):
        x, y = corners[:-1].T
        u, v = corners[1:].T
        w = x * v - u * y
        row = np.array((
            w.sum() / 2.0, ((x + u) * w).sum() / 6.0, ((y + v) * w).sum() / 6.0,
            ((x * x + x * u + u * u) * w).sum() / 12.0,
            ((2 * x * y + x * v + u * y + 2 * u * v) * w).sum() / 24.0,
            ((y * y + y * v + v * v) * w).sum() / 12.0,
        ))
        total += sign * (row if row[0] >= 0.0 else -row)
    return SecondMoments(*total.tolist())
