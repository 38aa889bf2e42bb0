"""The outline of a drawn shape, against a circle drawn by its own equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from green import exact_moments
from PySide6.QtGui import QImage

from app.scans.levels import pyramid
from app.scans.picture import Picture
from app.scans.shapes import shape_around
from core.design import Scan
from core.geometry.ring import ring_of
from core.redesign.refit import CancelledError

SIZE, RADIUS, MM = 600, 200.0, 0.2
SCAN = Scan("plan", "plan.png", to_mm=((MM, 0, 0), (0, -MM, SIZE * MM), (0, 0, 1)))
MIDDLE = (300.0 * MM, (SIZE - 300.0) * MM)


class Asker:
    def __init__(self, gone: bool = False) -> None:
        self._gone = gone

    def gone(self) -> bool:
        return self._gone


def circle(*, filled: bool = False, gap_px: float = 0.0) -> Picture:
    """A circle on grey paper, its line 3 px wide with soft edges; ``gap_px`` of it left out at the right."""
    u, v = np.meshgrid(np.arange(SIZE) + 0.5 - 300.0, np.arange(SIZE) + 0.5 - 300.0)
    away = np.hypot(u, v) - RADIUS
    ink = np.clip(0.5 - away, 0, 1) if filled else np.clip(2.0 - np.abs(away), 0, 1)
    ink[(u > 0) & (np.abs(v) < gap_px / 2)] = 0.0
    grey = np.ascontiguousarray((235 - 200 * ink).astype(np.uint8))
    image = QImage(grey.tobytes(), SIZE, SIZE, SIZE, QImage.Format.Format_Grayscale8).copy()
    return Picture(pyramid(image), SIZE, SIZE)


@pytest.mark.parametrize(("filled", "gap_px"), [(False, 0.0), (False, 4.0), (True, 0.0)])
def test_a_circles_outline_has_its_area_and_its_middle(filled: bool, gap_px: float) -> None:
    found = shape_around(SCAN, circle(filled=filled, gap_px=gap_px), MIDDLE, 1.2, 20.0, Asker())
    assert not isinstance(found, str), found
    area, x, z = exact_moments(ring_of(found))
    true = math.pi * (RADIUS * MM) ** 2
    assert abs(area) == pytest.approx(true, rel=0.005)
    assert len(found) <= 16
    # ``exact_moments`` gives the first moments about the origin.
    assert (x / area, z / area) == pytest.approx(MIDDLE, abs=0.2)


def test_a_circle_on_a_faded_blueprint_is_found() -> None:
    level = circle().levels[0]
    grey = np.frombuffer(level.constBits(), np.uint8).reshape(SIZE, level.bytesPerLine())[:, :SIZE]
    faded = np.ascontiguousarray((132 + (235.0 - grey) * 0.22).astype(np.uint8))
    image = QImage(faded.tobytes(), SIZE, SIZE, SIZE, QImage.Format.Format_Grayscale8).copy()
    found = shape_around(SCAN, Picture(pyramid(image), SIZE, SIZE), MIDDLE, 1.2, 20.0, Asker())
    assert not isinstance(found, str), found
    assert abs(exact_moments(ring_of(found))[0]) == pytest.approx(math.pi * (RADIUS * MM) ** 2, rel=0.005)


def test_an_open_shape_is_refused_without_a_figure_in_pixels() -> None:
    found = shape_around(SCAN, circle(gap_px=40.0), MIDDLE, 1.2, 20.0, Asker())
    assert found == "the shape is open: the line around it has wider gaps than those that are bridged"


def test_who_has_gone_gets_nothing_and_beside_the_scan_there_is_nothing() -> None:
    with pytest.raises(CancelledError):
        shape_around(SCAN, circle(), MIDDLE, 1.2, 20.0, Asker(gone=True))
    assert "no scan" in str(shape_around(SCAN, circle(), (-500.0, 0.0), 1.2, 20.0, Asker()))
