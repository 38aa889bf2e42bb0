"""Areas and first moments of closed curves by Green's theorem.

Source: George Green, An Essay on the Application of Mathematical Analysis to the Theories of
Electricity and Magnetism, 1828, in the plane form of every calculus text (from memory; exact):
A = ∮ x dz, ∫x dA = ½ ∮ x² dz, ∫z dA = −½ ∮ z² dx for a closed curve run anticlockwise.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
import shapely
from green import exact_moments

from core.design import Design, Node, Outline
from core.geometry.ring import flatten, ring_of
from core.stability.side_area import SideAreaCounter

# Two cubics: (0,0) (30,−20) (90,−20) (120,0) below and (120,0) (120,40) (60,70) (0,0) above.
LOOP = (Node(0, 0, (60, 70), (30, -20)), Node(120, 0, (-30, -20), (0, 40)))

Power = tuple[Fraction, ...]
F = Fraction
# The same in powers of t, lowest first: p0, 3(p1 − p0), 3(p0 − 2p1 + p2), p3 − 3p2 + 3p1 − p0.
BELOW: tuple[Power, Power] = ((F(0), F(90), F(90), F(-60)), (F(0), F(-60), F(60), F(0)))
ABOVE: tuple[Power, Power] = ((F(120), F(0), F(-180), F(60)), (F(0), F(120), F(-30), F(-90)))


def integral(*factors: Power) -> F:
    """∫ of the product from 0 to 1, term by term: t^n gives 1/(n + 1)."""
    product: list[F] = [F(1)]
    for factor in factors:
        longer = [F(0)] * (len(product) + len(factor) - 1)
        for i, p in enumerate(product):
            for j, q in enumerate(factor):
                longer[i + j] += p * q
        product = longer
    return sum((c / (n + 1) for n, c in enumerate(product)), F(0))


def slope(power: Power) -> Power:
    return tuple(n * c for n, c in enumerate(power))[1:]


AREA = sum((integral(x, slope(z)) for x, z in (BELOW, ABOVE)), F(0))
MOMENT_X = sum((integral(x, x, slope(z)) for x, z in (BELOW, ABOVE)), F(0)) / 2
MOMENT_Z = -sum((integral(z, z, slope(x)) for x, z in (BELOW, ABOVE)), F(0)) / 2


def test_the_loop_s_exact_area_and_centroid() -> None:
    area, mx, mz = exact_moments(ring_of(LOOP))
    # Five-point Gauss is exact here: only rounding is left.
    assert area == pytest.approx(float(AREA), rel=1e-13)
    assert mx == pytest.approx(float(MOMENT_X), rel=1e-13)
    assert mz == pytest.approx(float(MOMENT_Z), rel=1e-13)


def test_the_same_figures_in_decimals() -> None:
    """As printed in the project's collection of formulas: 4860 mm², (64.603175, 11.190476)."""
    assert AREA == 4860
    area, mx, mz = exact_moments(ring_of(LOOP))
    assert (mx / area, mz / area) == pytest.approx((64.603175, 11.190476), abs=5e-7)


def test_run_the_other_way_the_signs_turn() -> None:
    backwards = tuple(Node(n.x, n.z, n.handle_out, n.handle_in) for n in reversed(LOOP))
    assert exact_moments(ring_of(backwards)) == pytest.approx(tuple(-m for m in exact_moments(ring_of(LOOP))))


def test_the_counted_area_of_the_loop() -> None:
    """Through flattening and counting, which keep the curve to 0.01 mm and its area to a higher order.

    3e-6 of the area and 2e-4 mm are asked for.
    """
    side = SideAreaCounter().count(Design(1, "t", outlines=(Outline("loop", "fuselage", LOOP),)))
    assert side.moments.area == pytest.approx(float(AREA), rel=3e-6)
    assert side.cla == pytest.approx((float(MOMENT_X / AREA), float(MOMENT_Z / AREA)), abs=2e-4)


def test_a_polygon_library_agrees_on_the_flattened_loop() -> None:
    """shapely (GEOS) as another implementation for polygons; the curve is the flattened one."""
    polygon = shapely.Polygon(flatten(ring_of(LOOP)))
    area, mx, mz = exact_moments(ring_of(LOOP))
    assert polygon.area == pytest.approx(area, rel=3e-6)
    assert (polygon.centroid.x, polygon.centroid.y) == pytest.approx((mx / area, mz / area), abs=2e-4)
