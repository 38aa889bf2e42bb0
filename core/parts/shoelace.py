"""What closed edges enclose and how far they reach, many at once: sums over arrays, no polygon made."""

from __future__ import annotations

import numpy as np

from core.parts.part import Array


def area_of(corners: Array) -> float:
    """What one edge (N, 2), not closed, encloses; mm²."""
    return float(areas_of(corners[None])[0][0])


def box_of(corners: Array) -> tuple[Array, Array]:
    """(least (..., 2), greatest (..., 2)) of corners (..., N, 2)."""
    # Laid so that it runs along memory: of pairs it would go two by two.
    flat = np.ascontiguousarray(corners.swapaxes(-1, -2))
    return flat.min(axis=-1), flat.max(axis=-1)


def areas_of(edges: Array) -> tuple[Array, Array]:
    """(area (K,), its first moment ∫u dA (K,)) within each of K simple edges (K, N, 2), not closed; mm.

    Green's theorem about the first corner of each, so that a place far from nought costs no digits.
    """
    first = edges[:, 0, 0]
    # The edge that closes each ring ends in nought, and adds nothing.
    u, v = (edges - edges[:, :1]).transpose(2, 0, 1)
    twice = u[:, :-1] * v[:, 1:] - u[:, 1:] * v[:, :-1]
    areas = 0.5 * twice.sum(axis=1)
    moments = ((u[:, :-1] + u[:, 1:]) * twice).sum(axis=1) / 6.0 + areas * first
    sign = np.where(areas < 0.0, -1.0, 1.0)
    return sign * areas, sign * moments
