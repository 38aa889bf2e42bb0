"""Added masses of a prolate spheroid, and the couple of an elliptical body.

Source: H. Lamb, Hydrodynamics, articles 114 and 373, and M. M. Munk, NACA Report 184, 1924 (memory;
exact). α₀ = a b² ∫₀^∞ dλ/((a² + λ)^{3/2} (b² + λ)) and β₀ = a b² ∫₀^∞ dλ/((a² + λ)^{1/2} (b² + λ)²),
k₁ = α₀/(2 − α₀), k₂ = β₀/(2 − β₀). The integrals are taken here by Gauss's rule, which shares
nothing with the closed forms of the core. The −1.3 rule: Raymer, Aircraft Design, equation 16.50
(memory).
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from core.design import Node, Outline
from core.stability.body import body_form, munk_factors
from core.stability.lateral.yaw_formulas import body_cn_beta, munk_cn_beta
from core.stability.side_area import form_of


def by_quadrature(fineness: float) -> tuple[float, float]:
    """(k₁, k₂) from Lamb's integrals with b = 1: the substitution λ = f² (1 − t²)/t² makes them smooth."""
    nodes, weights = np.polynomial.legendre.leggauss(400)
    t, w = 0.5 * (nodes + 1), 0.5 * weights
    f2 = fineness**2
    # √(a² + λ) = f/t, dλ = −2 f²/t³ dt, b² + λ = (f² − (f² − 1) t²)/t².
    across = (f2 - (f2 - 1) * t**2) / t**2
    alpha = fineness * float((w * (t / fineness) ** 3 / across * 2 * f2 / t**3).sum())
    beta = fineness * float((w * (t / fineness) / across**2 * 2 * f2 / t**3).sum())
    return alpha / (2 - alpha), beta / (2 - beta)


@pytest.mark.parametrize(("fineness", "printed"), ((5, 0.83514), (10, 0.93953)))
def test_the_check_values(fineness: float, printed: float) -> None:
    along, across = munk_factors(fineness)
    # Printed to five decimals in the project's collection of formulas.
    assert across - along == pytest.approx(printed, abs=5e-6)


@pytest.mark.parametrize("fineness", (1.0001, 1.02, 1.3, 2.0, 3.3, 5.0, 8.0, 10.0))
def test_against_the_integrals(fineness: float) -> None:
    # 400 points on a smooth integrand whose nearest pole lies 1/(2 f²) beyond the end: to rounding.
    assert munk_factors(fineness) == pytest.approx(by_quadrature(fineness), rel=1e-9)


def test_sphere_and_needle() -> None:
    assert munk_factors(1.0) == (0.5, 0.5)
    assert munk_factors(1 + 1e-9) == pytest.approx((0.5, 0.5), abs=1e-8)
    along, across = munk_factors(1e6)
    # k₁ falls as (ln 2f − 1)/f².
    assert along == pytest.approx((np.log(2e6) - 1) / 1e12, rel=1e-5)
    assert across == pytest.approx(1.0, abs=1e-10)


@pytest.mark.parametrize("fineness", (0.5, 0.0, -1.0))
def test_a_body_deeper_than_long_has_no_couple(fineness: float) -> None:
    assert munk_factors(fineness) == (0.5, 0.5)


def ellipse(length: float, depth: float) -> Outline:
    """Four cubic arcs with the usual handles, within 0.03 % of the radius."""
    a, b, k = length / 2, depth / 2, 4 / 3 * (2**0.5 - 1)
    return Outline("body", "fuselage", (
        Node(a, 0, (0, -k * b), (0, k * b)), Node(0, b, (k * a, 0), (-k * a, 0)),
        Node(-a, 0, (0, k * b), (0, -k * b)), Node(0, -b, (-k * a, 0), (k * a, 0)),
    ))


def test_an_elliptical_profile_is_a_spheroid() -> None:
    """∫ (π/4) h² dx is the spheroid's volume, 4/3 π a b²; so both rules are multiples of the volume."""
    length, depth, area, span = 900.0, 180.0, 280_000.0, 1300.0
    form = body_form(form_of(ellipse(length, depth)).patch)
    assert form is not None
    assert form.length == pytest.approx(length)
    # The cubic arcs stray by under 0.03 % of the radius, so h² by under 0.06 %.
    assert form.depth == pytest.approx(depth, rel=3e-4)
    volume = 4 / 3 * pi * (length / 2) * (depth / 2) ** 2
    assert pi / 4 * form.square_integral == pytest.approx(volume, rel=6e-4)
    assert body_cn_beta(form.square_integral, area, span) == pytest.approx(
        -1.3 * volume / (area * span), rel=6e-4
    )
    along, across = by_quadrature(length / depth)
    assert munk_cn_beta(form.square_integral, form.fineness, area, span) == pytest.approx(
        -2 * (across - along) * volume / (area * span), rel=1e-3
    )


def test_a_box_profile() -> None:
    """Depth 80 over 500 mm: ∫ h² dx = 80² × 500, exact by slices."""
    nodes = (Node(10, -40), Node(510, -40), Node(510, 40), Node(10, 40))
    form = body_form(form_of(Outline("b", "fuselage", nodes)).patch)
    assert form is not None
    assert form.square_integral == pytest.approx(80**2 * 500)
    assert (form.length, form.depth, form.fineness) == pytest.approx((500, 80, 6.25))


def test_a_cone_profile() -> None:
    """Depth rising evenly to 80 over 500 mm: ∫ h² dx = 80² × 500/3; midpoint rule, 1/(4·400²) relative."""
    nodes = (Node(0, 0), Node(500, -40), Node(500, 40))
    form = body_form(form_of(Outline("b", "fuselage", nodes)).patch)
    assert form is not None
    assert form.square_integral == pytest.approx(80**2 * 500 / 3, rel=2e-6)
