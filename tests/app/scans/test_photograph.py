"""From a photograph to an area: a sheet seen by a known camera, laid flat, and a shape taken off it.

The picture is made by its own equations: every pixel is sent back through the camera to the sheet,
where an ellipse and a square are given by formulas. Then noise, and JPEG at quality 30.
"""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from green import exact_moments
from numpy.typing import NDArray
from PIL import Image
from PySide6.QtWidgets import QApplication

from app.scans.opening import open_picture
from app.scans.shapes import shape_around
from core.design import EMPTY, Scan
from core.geometry.ring import ring_of
from core.redesign.design_edits import add_scan
from core.redesign.scan_plane import KnownRectangle, straighten

Floats = NDArray[np.float64]
WIDE, HIGH = 420.0, 297.0
"""A sheet of A3, in mm (ISO 216)."""
PIXELS = (2000, 1500)
MIDDLE, AXES = (170.0, 150.0), (90.0, 55.0)
"""Of the ellipse on the sheet, in mm."""


class Asker:
    """Nobody gives up waiting."""

    def gone(self) -> bool:
        return False


def camera(tilt_deg: float, turn_deg: float, roll_deg: float) -> Floats:
    """The (3, 3) map from (x, z, 1) on the sheet to pixels: a pinhole of 2100 px, 620 mm off."""
    t, p, r = (math.radians(a) for a in (tilt_deg, turn_deg, roll_deg))
    about_x = np.array(((1, 0, 0), (0, math.cos(t), -math.sin(t)), (0, math.sin(t), math.cos(t))))
    about_y = np.array(((math.cos(p), 0, math.sin(p)), (0, 1, 0), (-math.sin(p), 0, math.cos(p))))
    about_z = np.array(((math.cos(r), -math.sin(r), 0), (math.sin(r), math.cos(r), 0), (0, 0, 1)))
    turned = about_z @ about_y @ about_x
    lens = np.array(((2100.0, 0, PIXELS[0] / 2), (0, 2100.0, PIXELS[1] / 2), (0, 0, 1)))
    # Points of the sheet, z up, in front of the camera, whose v runs down.
    sheet = np.array(((1, 0, -WIDE / 2), (0, -1, HIGH / 2), (0, 0, 0)))
    return np.asarray(lens @ (turned @ sheet + np.array(((0, 0, 0), (0, 0, 0), (0, 0, 620.0)))))


def photograph(seen: Floats, noise: float, quality: int | None) -> bytes:
    """The sheet with the ellipse drawn by a pen of 0.8 mm, its edges soft over a pixel, on a dark table."""
    u, v = np.meshgrid(np.arange(PIXELS[0]) + 0.5, np.arange(PIXELS[1]) + 0.5)
    back = np.linalg.inv(seen)
    w = back[2, 0] * u + back[2, 1] * v + back[2, 2]
    x = (back[0, 0] * u + back[0, 1] * v + back[0, 2]) / w
    z = (back[1, 0] * u + back[1, 1] * v + back[1, 2]) / w
    a, b = AXES
    p, q = (x - MIDDLE[0]) / a, (z - MIDDLE[1]) / b
    level = p * p + q * q - 1.0
    # First-order distance to the ellipse in mm: level over the length of its gradient.
    away = level / np.maximum(2.0 * np.hypot(p / a, q / b), 1e-9)
    ink = np.clip((0.4 - np.abs(away)) / 0.3 + 0.5, 0.0, 1.0)
    paper = (x > 0) & (x < WIDE) & (z > 0) & (z < HIGH)
    grey = np.where(paper, 225.0 - 25.0 * u / PIXELS[0] - 170.0 * ink, 110.0)
    grey += np.random.default_rng(7).normal(0.0, noise, grey.shape)
    image = Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))
    held = io.BytesIO()
    if quality is None:
        image.save(held, "PNG", compress_level=1)
    else:
        image.save(held, "JPEG", quality=quality)
    return held.getvalue()


@pytest.mark.parametrize(("angles", "noise", "quality"), [
    ((0.0, 0.0, 4.0), 3.0, None), ((25.0, -15.0, 8.0), 4.0, 30), ((-20.0, 22.0, -10.0), 2.0, 85),
])
def test_a_photographed_shape_has_its_area_and_its_middle(
    qapp: QApplication, angles: tuple[float, float, float], noise: float, quality: int | None
) -> None:
    seen = camera(*angles)
    data = photograph(seen, noise, quality)
    picture = open_picture(data, "photo")
    corners = np.array(((0, 0, 1), (WIDE, 0, 1), (WIDE, HIGH, 1), (0, HIGH, 1))) @ seen.T
    pixels = corners[:, :2] / corners[:, 2:]
    # Clicked to the whole pixel, as a mouse does.
    clicked = tuple((float(round(u)), float(round(v))) for u, v in pixels)
    size = (float(picture.width), float(picture.height))
    design = add_scan(EMPTY, Scan("photo", "photo.jpg"))
    flat, _ = straighten(design, "photo", KnownRectangle(clicked, WIDE, HIGH), {"photo": size})
    scan = flat.scan("photo")
    assert scan.scale_from == "points"
    matrix = np.array(scan.to_mm) @ seen
    # Where the sheet's own corner came to lie: places are compared from there.
    origin = matrix @ (0.0, 0.0, 1.0)
    seed = matrix @ (*MIDDLE, 1.0)
    found = shape_around(
        scan, picture, (float(seed[0] / seed[2]), float(seed[1] / seed[2])), 1.0, 10.0, Asker()
    )
    assert not isinstance(found, str), found
    area, first_x, first_z = exact_moments(ring_of(found))
    true = math.pi * AXES[0] * AXES[1]
    assert abs(area) == pytest.approx(true, rel=0.005)
    centre = np.array((first_x / area, first_z / area)) - origin[:2] / origin[2]
    assert math.hypot(*(centre - MIDDLE)) < 0.5
