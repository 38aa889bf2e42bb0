"""Thin aerofoil theory of the NACA four-digit mean lines.

Sources: the theory is Glauert's; the mean line z/c = (m/p²)(2p x − x²) ahead of p and
(m/(1 − p)²)(1 − 2p + 2p x − x²) behind it is Abbott and von Doenhoff's, Theory of Wing Sections,
1959 (memory). For the 2412 text books print α₀ = −2.07° to −2.08° and c_m,c/4 = −0.053, for the 4412
−4.15° and −0.106 (memory). The closed forms are checked against the defining integrals (exact).
"""

from __future__ import annotations

from math import acos, cos, degrees, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss

from core.design import Section
from core.stability.thin_aerofoil import NO_CAMBER_PLACE, CamberLine, camber_line
from tests.core.making import MANY


def line(camber: float, at: float) -> CamberLine:
    found = camber_line(Section(0.12, camber, at))
    assert isinstance(found, CamberLine), found
    return found


def slope(x: float, m: float, p: float) -> float:
    return 2 * m / p**2 * (p - x) if x < p else 2 * m / (1 - p) ** 2 * (p - x)


def glauert(m: float, p: float, n: int) -> float:
    """∫ slope cos nθ dθ over 0..π by 40-point Gauss on either side of the kink."""
    kink = acos(1 - 2 * p)
    total = 0.0
    for low, high in ((0.0, kink), (kink, pi)):
        for node, weight in zip(*leggauss(40), strict=True):
            t = 0.5 * (low + high) + 0.5 * (high - low) * float(node)
            # The slope on this side, not whichever rounding at the kink would choose.
            x = (1 - cos(t)) / 2
            s = 2 * m / p**2 * (p - x) if high == kink else 2 * m / (1 - p) ** 2 * (p - x)
            total += 0.5 * (high - low) * float(weight) * s * cos(n * t)
    return total


def test_the_mean_line_s_slope() -> None:
    """The slope used above is the derivative of the mean line as printed."""
    m, p, step = 0.04, 0.4, 1e-6

    def z(x: float) -> float:
        return m / p**2 * (2 * p * x - x * x) if x < p else m / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x * x)

    for x in (0.1, 0.3, 0.5, 0.9):
        assert slope(x, m, p) == pytest.approx((z(x + step) - z(x - step)) / (2 * step), abs=1e-8)


@pytest.mark.parametrize(
    ("camber", "zero_lift_deg", "moment"),
    # Text books round to the second decimal of a degree and the third of the moment.
    ((0.02, -2.08, -0.053), (0.04, -4.15, -0.106)),
)
def test_2412_and_4412(camber: float, zero_lift_deg: float, moment: float) -> None:
    found = line(camber, 0.4)
    assert degrees(found.zero_lift_rad) == pytest.approx(zero_lift_deg, abs=0.006)
    assert found.moment == pytest.approx(moment, abs=0.0005)


def test_the_parabola() -> None:
    """Camber at half chord is the parabola 4m x(1 − x): slope 4m cos θ, so A₁ = 4m and no other."""
    m = 0.03
    found = line(m, 0.5)
    assert found.zero_lift_rad == pytest.approx(-2 * m)
    assert found.moment == pytest.approx(-pi * m)
    assert found.ideal_lift == pytest.approx(4 * pi * m)


@MANY
@given(st.floats(-0.09, 0.09).filter(lambda m: abs(m) > 1e-6), st.floats(0.05, 0.95))
def test_against_the_defining_integrals(m: float, p: float) -> None:
    found = line(m, p)
    plain, first, second = (glauert(m, p, n) for n in (0, 1, 2))
    # Forty Gauss points leave rounding alone.
    close = {"abs": 1e-11}
    assert found.zero_lift_rad == pytest.approx((plain - first) / pi, **close)
    assert found.moment == pytest.approx(pi / 4 * (2 / pi) * (second - first), **close)
    assert found.ideal_lift == pytest.approx(pi * (2 / pi) * first, **close)


def test_no_camber_and_impossible_camber() -> None:
    assert line(0.0, 0.0) == CamberLine(0.0, 0.0, 0.0)
    assert camber_line(Section(0.12, 0.02, 0.0)) == NO_CAMBER_PLACE
    assert camber_line(Section(0.12, 0.02, 1.0)) == NO_CAMBER_PLACE
    assert isinstance(camber_line(Section(0.12, float("nan"), 0.4)), str)
    assert sqrt(2) * line(0.02, 0.3).moment == pytest.approx(line(0.02 * sqrt(2), 0.3).moment)
