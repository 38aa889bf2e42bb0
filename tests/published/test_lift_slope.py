"""Lift slope of a wing of finite span.

Source: E. C. Polhamus's formula as the USAF Stability and Control Datcom, section 4.1.3.2, takes it
over (memory): a = 2πA/(2 + √(4 + (A²/κ²)(1 + tan²Λ_c/2))); with κ = 1 and no sweep it is Helmbold's
of 1942 (memory). Limits: R. T. Jones's slender wing, πA/2, and two-dimensional flow over a yawed
wing, 2π cos Λ (both exact in potential flow); the elliptic wing of lifting-line theory,
2πA/(A + 2) (exact within that theory).
"""

from __future__ import annotations

from math import cos, inf, pi, radians, sqrt, tan

import pytest

from core.stability.surfaces import lift_slope

# Printed to five decimals in the project's collection of formulas.
PRINTED = 5e-6


@pytest.mark.parametrize(
    ("aspect", "sweep", "printed"),
    ((2, 0, 2.60258), (4, 0, 3.88322), (6, 0, 4.52866), (6, 30, 4.09279)),
)
def test_the_check_values(aspect: float, sweep: float, printed: float) -> None:
    found = lift_slope(aspect, sweep)
    assert found == pytest.approx(printed, abs=PRINTED)
    written_out = 2 * pi * aspect / (2 + sqrt(4 + aspect**2 * (1 + tan(radians(sweep)) ** 2)))
    assert found == pytest.approx(written_out, rel=1e-12)


@pytest.mark.parametrize("sweep", (0.0, 25.0, -25.0, 50.0))
def test_the_limits(sweep: float) -> None:
    """Relative departure from the limits is of the order A/4 below, 2/A above."""
    assert lift_slope(1e-6, sweep) == pytest.approx(pi * 1e-6 / 2, rel=1e-6)
    assert lift_slope(1e7, sweep) == pytest.approx(2 * pi * cos(radians(sweep)), rel=1e-6)
    assert lift_slope(inf, sweep) == pytest.approx(2 * pi * cos(radians(sweep)), rel=1e-12)
    assert lift_slope(inf, sweep, 0.9) == pytest.approx(0.9 * 2 * pi * cos(radians(sweep)), rel=1e-12)


@pytest.mark.parametrize("aspect", (0.3, 1.0, 2.0, 4.0, 8.0, 20.0))
def test_it_stays_below_the_slender_wing_and_the_lifting_line(aspect: float) -> None:
    assert lift_slope(aspect) < pi * aspect / 2
    assert lift_slope(aspect) < 2 * pi * aspect / (aspect + 2)


@pytest.mark.parametrize("aspect", (0.0, -1.0))
def test_no_wing_no_lift(aspect: float) -> None:
    assert lift_slope(aspect) == 0.0
