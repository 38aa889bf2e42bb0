"""The symmetric thickness form of the NACA four-digit sections.

Source, from memory: Abbott and von Doenhoff, Theory of Wing Sections, appendix III, NACA 0012 basic
thickness form: ordinates in per cent of the chord, given to three decimals.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.parts.section import half_form, half_slope

NACA_0012 = {
    1.25: 1.894, 2.5: 2.615, 5.0: 3.555, 7.5: 4.200, 10.0: 4.683, 15.0: 5.345, 20.0: 5.737, 25.0: 5.941,
    30.0: 6.002, 40.0: 5.803, 50.0: 5.294, 60.0: 4.563, 70.0: 3.664, 80.0: 2.623, 90.0: 1.448, 95.0: 0.807,
    100.0: 0.126,
}


@pytest.mark.parametrize("station", NACA_0012)
def test_ordinates_of_0012(station: float) -> None:
    # Half a unit of the last decimal that the table gives.
    found = 12.0 * float(half_form(np.array(station / 100.0)))
    assert found == pytest.approx(NACA_0012[station], abs=0.0006)


def test_area_is_that_of_the_exact_integral() -> None:
    # 2 · 5 · (0.2969·2/3 − 0.1260/2 − 0.3516/3 + 0.2843/4 − 0.1015/5), by a fine polygon.
    x = np.linspace(0.0, 1.0, 20_001) ** 2
    y = half_form(x)
    upper, lower = np.stack((x, y), axis=1), np.stack((x, -y), axis=1)
    assert shapely.Polygon(np.vstack((lower, upper[::-1]))).area == pytest.approx(0.685083, abs=1e-6)


def test_nose_radius() -> None:
    # 1.1019 t² (the same source): near the nose y² = 2 r x, here of a form one thick.
    x = np.array(1e-10)
    assert float(half_form(x) ** 2 / (2.0 * x)) == pytest.approx(1.1019, rel=1e-4)


def test_slope_is_the_difference_quotient() -> None:
    x = np.linspace(0.01, 0.99, 99)
    assert half_slope(x) == pytest.approx((half_form(x + 1e-6) - half_form(x - 1e-6)) / 2e-6, abs=1e-6)
