"""The radial bend of a camera's lens: by one number, about a centre, and back.

``straightened``: p ↦ c + (p − c)(1 + k r²/R²), r = |p − c|, as far as the reference radius R; beyond it
straight on with the slope that it has there, so that the map has an inverse all over the plane for
−1/3 < k. The corners move by k as a part of R: k > 0 takes out barrel, k < 0 pincushion.

Source, from memory: D. C. Brown, Close-range camera calibration, 1971 (radial terms; the first one
alone is kept, and put on the side of the picture, where its inverse is wanted less often).
"""

from __future__ import annotations

import numpy as np

from core.geometry.ring import Array

_STEPS = 40


def straightened(points: Array, k: float, centre: tuple[float, float], radius: float) -> Array:
    """``points`` (N, 2) of the picture where a lens without a bend had put them; (N, 2)."""
    at = (np.asarray(points, np.float64).reshape(-1, 2) - centre) / radius
    r = np.hypot(at[:, 0], at[:, 1])
    within = np.minimum(r, 1.0)
    # Beyond the radius: 1 + k at it, then 1 + 3 k for each bit further.
    out = within * (1.0 + k * within**2) + (1.0 + 3.0 * k) * (r - within)
    return np.asarray(centre + radius * at * _share(out, r))


def bent(points: Array, k: float, centre: tuple[float, float], radius: float) -> Array:
    """The inverse of ``straightened``, to rounding; (N, 2)."""
    at = (np.asarray(points, np.float64).reshape(-1, 2) - centre) / radius
    t = np.hypot(at[:, 0], at[:, 1])
    inner = np.minimum(t, 1.0 + k)
    # The cubic bends one way over the range, and the start lies on its hollow side: no step overshoots.
    r = inner.copy()
    for _ in range(_STEPS):
        step = (r * (1.0 + k * r * r) - inner) / (1.0 + 3.0 * k * r * r)
        r -= step
        if not (np.abs(step) > 1e-15).any():
            break
    out = r + (t - inner) / (1.0 + 3.0 * k)
    return np.asarray(centre + radius * at * _share(out, t))


def _share(out: Array, whole: Array) -> Array:
    safe = np.where(whole > 0.0, whole, 1.0)
    return np.asarray(np.where(whole > 0.0, out / safe, 1.0)[:, None])
