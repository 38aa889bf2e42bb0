"""Downwash at the tailplane.

Source: USAF Stability and Control Datcom (read): dε/dα = 4.44 [K_A K_λ K_H √cos Λ_c/4]^1.19.
Bound from outside: far behind a wing with elliptic loading the downwash is 2 C_L/(πA), so its slope
is 2a/(πA) (lifting-line theory, exact); at a tail's distance it lies under that and over half of it.
"""

from __future__ import annotations

from math import cos, pi, radians, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.stability.downwash import TAIL_NOT_BEHIND, TAIL_TOO_NEAR, downwash_slope
from core.stability.surfaces import lift_slope
from tests.core.making import MANY


def test_the_formula_factor_by_factor() -> None:
    """A 6, λ 0.5, Λ 20°, l_h 0.4 b, h 0.1 b."""
    expected = 4.44 * (
        (1 / 6 - 1 / (1 + 6**1.7)) * (10 - 3 * 0.5) / 7 * (1 - 0.1) / (2 * 0.4) ** (1 / 3)
        * sqrt(cos(radians(20)))
    ) ** 1.19
    assert downwash_slope(6, 0.5, 20, 400, 100, 1000) == pytest.approx(expected)
    assert downwash_slope(6, 0.5, 20, 400, -100, 1000) == pytest.approx(expected)


@pytest.mark.parametrize("aspect_ratio", (4.0, 6.0, 8.0, 12.0))
def test_between_the_wing_and_far_behind(aspect_ratio: float) -> None:
    """Taper 0.5 is near to elliptic loading; the tail stands half a span behind."""
    found = downwash_slope(aspect_ratio, 0.5, 0, 500, 0, 1000)
    far = 2 * lift_slope(aspect_ratio) / (pi * aspect_ratio)
    assert isinstance(found, float)
    assert 0.5 * far < found < 1.1 * far


@MANY
@given(st.floats(1e-3, 1e3), st.floats(0, 2), st.floats(-80, 80), st.floats(-2, 5), st.floats(-3, 3))
def test_it_is_a_part_of_one_or_says_why(a: float, taper: float, sweep: float, arm: float, h: float) -> None:
    found = downwash_slope(a, taper, sweep, arm, h, 1.0)
    if isinstance(found, str):
        assert found == (TAIL_TOO_NEAR if arm > 1e-6 else TAIL_NOT_BEHIND)
    else:
        assert 0.0 <= found <= 1.0
        if abs(h) >= 1.0:
            assert found == 0.0
