"""Effectiveness of a plain flap, here a rudder.

Source: Aerodynamics for Engineering Students, equation 4.52 (read): τ = (π − φ + sin φ)/π, with
cos φ = 2F − 1. It is Glauert's integral of thin-aerofoil theory, τ = (1/π) ∫ (1 − cos θ) dθ over the
flap, x/c = (1 − cos θ)/2 (exact within that theory); it is taken here by the midpoint rule.
"""

from __future__ import annotations

import numpy as np
import pytest

from core.stability.lateral.rudder import flap_effectiveness


@pytest.mark.parametrize(("fraction", "printed"), ((0.2, 0.549815), (0.3, 0.660746)))
def test_the_check_values(fraction: float, printed: float) -> None:
    # Printed to six decimals.
    assert flap_effectiveness(fraction) == pytest.approx(printed, abs=5e-7)


@pytest.mark.parametrize("fraction", (0.05, 0.2, 0.3, 0.5, 0.8, 1.0))
def test_against_the_integral(fraction: float) -> None:
    hinge = np.arccos(1 - 2 * (1 - fraction))
    step = (np.pi - hinge) / 20_000
    theta = hinge + step * (np.arange(20_000) + 0.5)
    integral = float((1 - np.cos(theta)).sum()) * step / np.pi
    # Midpoint rule over 20 000 steps: (π/20 000)²/24 of the curvature, under 1e-8.
    assert flap_effectiveness(fraction) == pytest.approx(integral, abs=1e-8)


def test_no_flap_and_all_flap() -> None:
    assert flap_effectiveness(0.0) == pytest.approx(0.0, abs=1e-12)
    assert flap_effectiveness(1.0) == pytest.approx(1.0, abs=1e-12)
    assert flap_effectiveness(1.5) == 1.0
    assert flap_effectiveness(-0.5) == pytest.approx(0.0, abs=1e-12)
