"""Spiral parameter and roll coupling.

Source: M. Drela, lab notes of MIT Unified Engineering, 2006 (memory): B = (l_v/b)(Γ/C_L), Γ in degrees,
and V_v B. The worked figures are those of the project's collection of formulas.
"""

from __future__ import annotations

import pytest

from core.stability.lateral.spiral import spiral_parameter


def test_the_check_value() -> None:
    found = spiral_parameter(1.38, 3.625, 5.0, 0.518435)
    assert found == pytest.approx(1.38 / 3.625 * 5 / 0.518435, rel=1e-15)
    # Printed to six decimals from six-figure input.
    assert found == pytest.approx(3.671527, abs=5e-6)
    assert 0.045 * found == pytest.approx(0.165219, abs=5e-7)
