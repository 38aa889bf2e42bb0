"""Areas and centroids of plain figures in closed form.

Source: the table of centroids in any engineers' handbook, e.g. Dubbel, Taschenbuch für den
Maschinenbau, section Mechanik, "Schwerpunkte" (from memory; every formula is exact and follows from
the integral). Curves are drawn with cubic arcs: the arc of half-angle θ/2 with handles 4/3 tan(θ/4)
strays outwards from the circle by at most 2/27 · sin⁶(θ/4)/cos²(θ/4) of the radius
(M. Goldapp, Computer Aided Geometric Design 8, 1991; from memory).
"""

from __future__ import annotations

from math import cos, pi, sin, tan

import pytest

from core.design import Design, Node, Outline
from core.stability.side_area import SideAreaCounter


def measured(*nodes: Node) -> tuple[float, float, float]:
    """Area and centroid as the aeroplane's only outline is counted."""
    side = SideAreaCounter().count(Design(1, "t", outlines=(Outline("o", "fuselage", nodes),)))
    assert side.cla is not None
    return side.moments.area, *side.cla


def arc(a: float, b: float, start: float, end: float, pieces: int) -> list[Node]:
    """Nodes along the ellipse (a cos φ, b sin φ) from ``start`` to ``end``, joined by cubic arcs."""
    step = (end - start) / pieces
    k = 4 / 3 * tan(step / 4)
    made = []
    for i in range(pieces + 1):
        phi = start + i * step
        along = (-a * k * sin(phi), b * k * cos(phi))
        back = (-along[0], -along[1])
        made.append(Node(a * cos(phi), b * sin(phi), back if i > 0 else None, along if i < pieces else None))
    return made


def arc_error(step: float) -> float:
    """How far a cubic arc over ``step`` radians strays, as a part of the radius."""
    return 2 / 27 * sin(step / 4) ** 6 / cos(step / 4) ** 2


# Flattened points keep within 0.01 mm, and the area to a higher order: 1e-6 is what is asked for here.
FLAT = 1e-6


def test_semi_ellipse() -> None:
    """Semi-axes 100 and 40: area π·a·b/2 = 2000 π, centroid at 4b/(3π) = 160/(3π) above the chord."""
    area, x, z = measured(*arc(100, 40, 0, pi, 8))
    allowed = 2 * arc_error(pi / 8) + FLAT
    assert allowed < 1.2e-6
    assert area == pytest.approx(2000 * pi, rel=allowed)
    assert x == pytest.approx(0, abs=100 * allowed)
    assert z == pytest.approx(160 / (3 * pi), rel=2 * allowed)


def test_semi_ellipse_of_two_arcs_as_it_is_commonly_drawn() -> None:
    """Quarter arcs stray by 2.7e-4 of the radius: the area is larger by less than twice that."""
    area, _, z = measured(*arc(100, 40, 0, pi, 2))
    assert 2000 * pi < area < 2000 * pi * (1 + 2 * arc_error(pi / 2))
    assert z == pytest.approx(160 / (3 * pi), rel=2 * arc_error(pi / 2))


@pytest.mark.parametrize("half", (0.3, 0.8, pi / 2, 2.2))
def test_circular_segment(half: float) -> None:
    """Half-angle α: area r²(α − sin α cos α), centroid 2r sin³α / (3 (α − sin α cos α)) from the centre."""
    r, pieces = 150.0, 6
    area, x, z = measured(*arc(r, r, pi / 2 - half, pi / 2 + half, pieces))
    share = half - sin(half) * cos(half)
    stray = arc_error(2 * half / pieces)
    # A strip as wide as the arc's error, over the arc 2αr; and the flattening of so thin a figure.
    allowed = (2 * half * stray) / share + 3e-6
    assert area == pytest.approx(r * r * share, rel=allowed)
    assert z == pytest.approx(2 * r * sin(half) ** 3 / (3 * share), rel=allowed)
    assert x == pytest.approx(0, abs=r * allowed)


@pytest.mark.parametrize("half", (0.4, 1.0, 1.5))
def test_circular_sector(half: float) -> None:
    """Half-angle α: area α r², centroid 2 r sin α / (3 α) from the centre."""
    r = 80.0
    area, _, z = measured(Node(0, 0), *arc(r, r, pi / 2 - half, pi / 2 + half, 6))
    allowed = 2 * arc_error(half / 3) + 3e-6
    assert area == pytest.approx(half * r * r, rel=allowed)
    assert z == pytest.approx(2 * r * sin(half) / (3 * half), rel=allowed)


def test_circle() -> None:
    """A wheel of radius 45 drawn with eight arcs: π r²."""
    *nodes, last = arc(45, 45, 0, 2 * pi, 8)
    first = Node(nodes[0].x, nodes[0].z, last.handle_in, nodes[0].handle_out)
    area, x, z = measured(first, *nodes[1:])
    assert area == pytest.approx(pi * 45**2, rel=2 * arc_error(pi / 4) + 3e-6)
    assert (x, z) == pytest.approx((0, 0), abs=1e-4)


def test_parabolic_segment() -> None:
    """Base b, height h: area 2bh/3, centroid 2h/5 above the base (Archimedes). A cubic draws it exactly.

    The quadratic with its one handle at (b/2, 2h) has cubic handles two thirds of the way to it.
    """
    b, h = 180.0, 60.0
    out, into = (b / 3, 4 * h / 3), (-b / 3, 4 * h / 3)
    area, x, z = measured(Node(0, 0, None, out), Node(b, 0, into, None))
    assert area == pytest.approx(2 * b * h / 3, rel=FLAT)
    # A hundredth of the 0.01 mm that single points may be off.
    assert (x, z) == pytest.approx((b / 2, 2 * h / 5), abs=1e-4)


def test_triangle() -> None:
    """Half the base times the height; the centroid is the mean of the corners."""
    area, x, z = measured(Node(12, 7), Node(112, 7), Node(43, 67))
    assert area == pytest.approx(100 * 60 / 2)
    assert (x, z) == pytest.approx(((12 + 112 + 43) / 3, (7 + 7 + 67) / 3))


def test_trapezium() -> None:
    """Parallel sides a below, b above, h apart: area (a + b)h/2, centroid h/3 · (a + 2b)/(a + b) up."""
    a, b, h = 120.0, 50.0, 80.0
    area, _, z = measured(Node(0, 0), Node(a, 0), Node(33 + b, h), Node(33, h))
    assert area == pytest.approx((a + b) * h / 2)
    assert z == pytest.approx(h / 3 * (a + 2 * b) / (a + b))
