"""The derivatives of the motion sideways on wings whose strips can be added up by hand.

Sources: straight-tapered wings by strips, Nelson, Flight Stability and Automatic Control, and Etkin,
Dynamics of Flight (memory): Clp = −(a/12)(1 + 3λ)/(1 + λ), Clβ = −(a Γ/6)(1 + 2λ)/(1 + λ); elliptical
chord: Clp = −a/8, Clr = C_L/4; both follow from the integrals by hand. A rectangle: Clr = C_L/3.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.design import Station, Wing
from core.stability.lateral.derivatives import (
    body_side_force,
    cross_of_fin,
    roll_damping,
    roll_of_dihedral,
    roll_of_fin,
    roll_of_wing_height,
    roll_of_yawing_wing,
    side_force_of_rolling,
    side_force_of_yawing,
    wing_integrals,
    yaw_damping,
    yaw_of_rolling_wing,
)


def tapered(root: float, tip: float, half: float, rise: float = 0.0) -> Wing:
    return Wing("w", (Station(0, 0, root, 0), Station(half, 10, tip, rise)))


@pytest.mark.parametrize("taper", (0.0, 0.4, 1.0, 1.7))
def test_straight_tapered_wings(taper: float) -> None:
    half, root, gamma, slope = 700.0, 240.0, math.radians(4), 4.3
    wing = tapered(root, taper * root, half, half * math.tan(gamma))
    area, span = root * (1 + taper) * half, 2 * half
    over = wing_integrals((wing,))
    assert roll_damping(slope, over.roll, area, span) == pytest.approx(
        -slope / 12 * (1 + 3 * taper) / (1 + taper), rel=1e-12
    )
    assert roll_of_dihedral(slope, over.dihedral, area, span) == pytest.approx(
        -slope * gamma / 6 * (1 + 2 * taper) / (1 + taper), rel=1e-12
    )


def test_a_rectangle_that_yaws() -> None:
    over = wing_integrals((tapered(200, 200, 500),))
    assert roll_of_yawing_wing(0.6, over.roll, 200 * 1000, 1000) == pytest.approx(0.6 / 3, rel=1e-12)


def test_an_elliptical_wing() -> None:
    """Through 400 stations of an ellipse; the straight chords stray by about (1/400)^1.5 of the area."""
    half, root = 600.0, 250.0
    angles = np.linspace(0, np.pi / 2, 400)
    stations = tuple(
        Station(float(half * np.sin(t)), 0, float(max(root * np.cos(t), 0)), 0) for t in angles
    )
    over = wing_integrals((Wing("w", stations),))
    area, span = math.pi / 2 * root * half, 2 * half
    assert roll_damping(5.0, over.roll, area, span) == pytest.approx(-5.0 / 8, rel=1e-4)
    assert roll_of_yawing_wing(0.5, over.roll, area, span) == pytest.approx(0.5 / 4, rel=1e-4)


def test_polyhedral_counts_outer_panels_by_their_arm() -> None:
    """Flat to 300 mm, 10° from there to 500 mm, chord 100: ∫ γ|y| c dy = 2 γ 100 (500² − 300²)/2."""
    gamma = math.radians(10)
    rise = 200 * math.tan(gamma)
    wing = Wing("w", (Station(0, 0, 100, 0), Station(300, 0, 100, 0), Station(500, 0, 100, rise)))
    assert wing_integrals((wing,)).dihedral == pytest.approx(gamma * 100 * (500**2 - 300**2), rel=1e-12)


def test_wings_add_and_their_stations_may_come_in_any_order() -> None:
    one, two = tapered(200, 120, 500, 40), tapered(150, 150, 400, -10)
    turned = Wing("w", one.stations[::-1])
    both, first, second = (wing_integrals(w) for w in ((turned, two), (one,), (two,)))
    assert both.roll == pytest.approx(first.roll + second.roll, rel=1e-12)
    assert both.dihedral == pytest.approx(first.dihedral + second.dihedral, rel=1e-12)


def test_wing_height_by_hand() -> None:
    """A high wing 60 mm above the middle of a body 100 deep and 90 wide, A 6, b 1200: it rolls upright."""
    assert roll_of_wing_height(6.0, -60, 100, 90, 1200) == pytest.approx(
        -1.2 * math.sqrt(6) * 60 * 190 / 1200**2, rel=1e-12
    )
    assert roll_of_wing_height(6.0, 60, 100, 90, 1200) > 0


def test_the_fin_as_a_force_on_an_arm() -> None:
    """A fin at (l, z) behind and above the CG, rolling and yawing, its moments taken force by force."""
    span, arm, height, slope = 1300.0, 620.0, 75.0, -0.21
    # Sideslip at the fin from p b/(2V) = 1 and from r b/(2V) = 1: it moves sideways by z p and −l r.
    by_rolling, by_yawing = 2 * height / span, -2 * arm / span
    assert side_force_of_rolling(height / span, slope) == pytest.approx(slope * by_rolling)
    assert side_force_of_yawing(arm / span, slope) == pytest.approx(slope * by_yawing)
    # Rolling moment: force × height; yawing moment: −force × arm.
    assert roll_of_fin(height / span, slope) == pytest.approx(slope * height / span)
    assert cross_of_fin(arm / span, height / span, slope) == pytest.approx(slope * by_yawing * height / span)
    assert cross_of_fin(arm / span, height / span, slope) == pytest.approx(-slope * by_rolling * arm / span)
    assert yaw_damping(arm / span, slope, 0.4) == pytest.approx(
        -slope * by_yawing * arm / span - 0.3 * 0.04 - 0.02 * 0.4**2
    )
    assert yaw_of_rolling_wing(0.4) == -0.05


def test_body_side_force_by_hand() -> None:
    assert body_side_force(120, 250_000) == pytest.approx(-2 * math.pi / 4 * 120**2 / 250_000)
