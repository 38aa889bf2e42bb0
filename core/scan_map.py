"""From the pixels of a scan to millimetres and back: the one pair of functions for it.

First what the lens bent is made straight, then ``Scan.to_mm`` lays it on the plan.
"""

from __future__ import annotations

import numpy as np

from core.design import Lens, Scan
from core.geometry import lens as bends
from core.geometry.plane import depths, mapped
from core.geometry.ring import Array

Size = tuple[float, float]
"""Width and height of a scan in pixels."""

_ALONG_A_SIDE = 24


def mm_of(scan: Scan, pixels: Array) -> Array:
    """Points (N, 2) in mm, x aft and z up, of ``pixels`` (N, 2), u right and v down."""
    return mapped(np.array(scan.to_mm), straight(scan.lens, pixels))


def pixels_of(scan: Scan, mm: Array) -> Array:
    """Pixels (N, 2) of points (N, 2) in mm; not numbers for what lies on or beyond the horizon.

    LinAlgError where the matrix folds the picture to nothing.
    """
    back = np.linalg.inv(np.array(scan.to_mm))
    mm = np.asarray(mm, np.float64).reshape(-1, 2)
    seen = depths(back, mm) > 0.0
    found = np.full(mm.shape, np.nan)
    found[seen] = curved(scan.lens, mapped(back, mm[seen]))
    return found


def straight(lens: Lens | None, pixels: Array) -> Array:
    """Pixels (N, 2) with the lens taken out: what ``Scan.to_mm`` takes."""
    pixels = np.asarray(pixels, np.float64).reshape(-1, 2)
    return pixels if lens is None else bends.straightened(pixels, lens.k, (lens.u, lens.v), lens.radius)


def curved(lens: Lens | None, points: Array) -> Array:
    """The inverse of ``straight``: the picture's own pixels, (N, 2)."""
    points = np.asarray(points, np.float64).reshape(-1, 2)
    return points if lens is None else bends.bent(points, lens.k, (lens.u, lens.v), lens.radius)


def lens_about_the_middle(k: float, size: Size) -> Lens:
    """A lens about the middle of a picture, its radius reaching to the corners."""
    width, height = size
    return Lens(k, width / 2, height / 2, max(float(np.hypot(width, height)) / 2, 1.0))


def edge_of(scan: Scan, size: Size) -> Array:
    """The picture's edge in mm, from its top left corner clockwise as the picture is seen.

    Its four corners, (4, 2); with a lens, whose picture has curved sides, points along them as well.
    """
    width, height = size
    corners = np.array(((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)))
    if scan.lens is not None:
        part = np.arange(_ALONG_A_SIDE)[:, None] / _ALONG_A_SIDE
        after = np.roll(corners, -1, axis=0)
        corners = np.vstack([a + part * (b - a) for a, b in zip(corners, after, strict=True)])
    return mm_of(scan, corners)
