"""First placement of a scan, against the definition of the inch (25.4 mm)."""

from __future__ import annotations

import numpy as np
import pytest

from app.scans.placing import place_by_dpi, place_unscaled


def mm(matrix: object, u: float, v: float) -> tuple[float, float]:
    x, z, w = np.array(matrix) @ (u, v, 1.0)
    return x / w, z / w


def test_an_inch_of_dots_is_25_4_mm() -> None:
    matrix = place_by_dpi(3000, 1200, 300.0)
    assert mm(matrix, 0, 1200) == pytest.approx((0, 0))
    assert mm(matrix, 3000, 1200) == pytest.approx((10 * 25.4, 0))
    assert mm(matrix, 0, 0) == pytest.approx((0, 4 * 25.4))


def test_unequal_resolutions_stretch() -> None:
    # Fax paper: ITU-T T.4 fine mode has about 204 dots across and 196 lines down to the inch.
    assert mm(place_by_dpi(204, 196, (204.0, 196.0)), 204, 0) == pytest.approx((25.4, 25.4))


def test_unscaled_is_a_fixed_start_with_the_bottom_edge_at_zero() -> None:
    matrix = place_unscaled(1000, 500)
    assert mm(matrix, 0, 500) == pytest.approx((0, 0))
    assert mm(matrix, 1000, 0) == pytest.approx((254, 127))


@pytest.mark.parametrize("dpi", [0.0, -300.0, float("nan"), float("inf"), (300.0, 0.0)])
def test_a_bad_resolution_is_refused(dpi: float | tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="dpi: expected a number greater than zero"):
        place_by_dpi(100, 100, dpi)


def test_a_picture_without_size_is_refused() -> None:
    with pytest.raises(ValueError, match="picture size: expected at least"):
        place_unscaled(0, 10)
