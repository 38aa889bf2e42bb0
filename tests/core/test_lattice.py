"""The kernel of the vortex lattice, against a slow one that shares no formula with it."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from core.geometry.ring import Array
from core.stability.lateral.lattice import (
    Circle,
    Horseshoes,
    circulations,
    cross_flow,
    imaged,
    loads,
    normal_speeds,
    slanted,
    strip_edges,
    upright,
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def filament(a: Array, b: Array, at: Array) -> Array:
    """The speed (3,) that a straight vortex of Γ = 1 from ``a`` to ``b`` gives at ``at``, by quadrature.

    ∮ dl × r / (4π r³), twelve Gauss points on each of many pieces that shrink towards ``at``.
    """
    length = float(np.linalg.norm(b - a))
    nearest = float(np.clip(np.dot(at - a, b - a) / length**2, 0.0, 1.0))
    distance = float(np.linalg.norm(a + nearest * (b - a) - at))
    steps = np.concatenate(([0.0], np.geomspace(0.3 * distance / length, 1.0, 20)))
    stops = np.unique(np.clip(np.concatenate((nearest - steps, nearest + steps)), 0.0, 1.0))
    half = 0.5 * np.diff(stops)
    t = (stops[:-1] + half)[:, None] + half[:, None] * _NODES
    r = at - (a + t[..., None] * (b - a))
    speed = np.cross(b - a, r) / np.linalg.norm(r, axis=2)[..., None] ** 3
    weighted = (half[:, None] * _WEIGHTS)[..., None] * speed
    return np.asarray(weighted.sum(axis=(0, 1)) / (4 * pi))


FAR = 2e5


def horseshoe(start: Array, end: Array, at: Array) -> Array:
    """Three filaments, the trailing ones very long."""
    far = np.array((FAR, 0.0, 0.0))
    return filament(start + far, start, at) + filament(start, end, at) + filament(end, end + far, at)


def in_the_circle(point: Array, circle: Circle) -> Array:
    """The inverse point, by complex numbers."""
    place = complex(point[1], point[2] - circle.middle)
    inverse = circle.radius**2 / place.conjugate()
    return np.array((point[0], inverse.real, circle.middle + inverse.imag))


def slow_forces(surfaces: list[Horseshoes], circle: Circle | None) -> list[float]:
    """Side forces over q and sideslip, by loops over everything: both halves laid out as panels."""
    panels = []
    for index, surface in enumerate(surfaces):
        for side in ((1.0, -1.0) if surface.mirrored else (1.0,)):
            mirror = np.array((1.0, side, 1.0))
            for start, end, control, normal in zip(
                surface.start, surface.end, surface.control, surface.normal, strict=True
            ):
                panels.append((index, start * mirror, end * mirror, control * mirror, normal * (side, 1.0)))
    matrix, right = np.zeros((len(panels), len(panels))), np.zeros(len(panels))
    for i, (_, _, _, control, normal) in enumerate(panels):
        flow = 1.0 + 0.0j
        if circle is not None:
            place = complex(control[1], control[2] - circle.middle)
            # Of the potential ζ + a²/ζ.
            flow = 1.0 - circle.radius**2 / place**2
        right[i] = -(normal[0] * flow.real - normal[1] * flow.imag)
        for j, (_, start, end, _, _) in enumerate(panels):
            speed = horseshoe(start, end, control)
            if circle is not None:
                speed = speed - horseshoe(
                    in_the_circle(start, circle), in_the_circle(end, circle), control
                )
            matrix[i, j] = normal[0] * speed[1] + normal[1] * speed[2]
    gamma = np.linalg.solve(matrix, right)
    forces = [0.0] * len(surfaces)
    for strength, (index, start, end, _, _) in zip(gamma, panels, strict=True):
        # Kutta and Joukowski: speed × vortex, the speed being 1 along x, over q = ½.
        forces[index] += 2.0 * float(np.cross((1.0, 0.0, 0.0), strength * (end - start))[1])
        if circle is not None:
            image = in_the_circle(end, circle) - in_the_circle(start, circle)
            forces[index] -= 2.0 * float(np.cross((1.0, 0.0, 0.0), strength * image)[1])
    return forces


def fin(low: float, high: float, strips: int = 3, panels: int = 2, y: float = 0.0) -> Horseshoes:
    """A swept fin in steps."""
    edges = strip_edges(low, high, strips, False, True)
    leading = 700.0 + 0.4 * edges[:-1]
    return upright(y, edges[:-1], edges[1:], leading, np.full(strips, 800.0), np.full(strips, panels), y > 0)


def tail(z: float, rise: float, strips: int = 2, panels: int = 2) -> Horseshoes:
    """A swept and tapered tailplane that rises outwards by ``rise`` times y."""
    y = np.linspace(25.0, 150.0, strips + 1)
    return slanted(np.stack((y, z + rise * y, 720.0 + 0.2 * y, 90.0 - 0.2 * y), axis=1), panels)


@pytest.mark.parametrize("circle", (None, Circle(20.0, 5.0)))
def test_it_agrees_with_loops_over_filaments(circle: Circle | None) -> None:
    surfaces = [fin(25.0, 180.0), tail(60.0, 0.35), fin(20.0, 90.0, 2, 2, y=110.0)]
    solved = circulations(surfaces, circle)
    assert solved is not None
    found = [loads(s, gamma, circle).total for s, gamma in zip(surfaces, solved, strict=True)]
    assert found == pytest.approx(slow_forces(surfaces, circle), rel=2e-5)


def test_without_a_body_the_images_vanish() -> None:
    """A circle shrunk to nothing gives what none gives."""
    surfaces = [fin(25.0, 180.0), tail(60.0, 0.35)]
    none, thin = circulations(surfaces), circulations(surfaces, Circle(1e-4, 0.0))
    assert none is not None and thin is not None
    for surface, one, other in zip(surfaces, none, thin, strict=True):
        assert other == pytest.approx(one, rel=1e-6)
        assert loads(surface, other, Circle(1e-4, 0.0)).body == pytest.approx(0.0, abs=1e-3)


def test_the_flow_round_the_circle_does_not_pass_it() -> None:
    circle = Circle(30.0, -12.0)
    angle = np.linspace(0.0, 2.0 * pi, 37)
    y, up = 30.0 * np.cos(angle), 30.0 * np.sin(angle)
    v, w = cross_flow(y, up - 12.0, circle)
    assert v * y + w * up == pytest.approx(0.0, abs=1e-12)
    assert v[9] == pytest.approx(2.0)  # over the top, twice as fast
    far, still = cross_flow(np.array([1e6]), np.array([0.0]), circle)
    assert (far[0], still[0]) == pytest.approx((1.0, 0.0))


def test_no_air_passes_the_circle_below_a_solved_fin() -> None:
    """Far behind, where the images are exact: what fin and image blow has no part across the circle."""
    circle = Circle(20.0, 5.0)
    solved_fin = fin(25.0, 180.0)
    solved = circulations([solved_fin], circle)
    assert solved is not None
    for angle in (0.3, 1.2, 2.0, 4.0):
        out = np.array((0.0, np.cos(angle), np.sin(angle)))
        at = np.array((60000.0, 0.0, 5.0)) + 20.0 * out
        through = across = 0.0
        for gamma, start, end in zip(solved[0], solved_fin.start, solved_fin.end, strict=True):
            speed = horseshoe(start, end, at) * gamma
            image = horseshoe(in_the_circle(start, circle), in_the_circle(end, circle), at) * gamma
            through += float(np.dot(speed - image, out))
            across += abs(float(np.dot(speed, out)))
        assert abs(through) < 1e-4 * across


def test_images_of_images_are_where_they_came_from() -> None:
    points = np.array(((1.0, 30.0, 40.0), (2.0, -21.0, 5.0), (3.0, 0.0, 60.0)))
    circle = Circle(20.0, 5.0)
    for point, image in zip(points, imaged(points, circle), strict=True):
        assert image == pytest.approx(in_the_circle(point, circle))


@pytest.mark.parametrize("height", (0.5, 1.0, 5.0, 40.0))
def test_a_core_weakens_what_passes_close(height: float) -> None:
    """Far behind, a leg is a vortex of the plane: h/(2π (h² + core²)) beside it, bounded by 1/(4π core)."""
    start, end = np.array([[0.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1e5]])
    at, across = np.array([[1e5, 0.0, height]]), np.array([[1.0, 0.0]])
    for core in (0.0, 5.0):
        found = normal_speeds(at, across, start, end, np.array([core]))[0, 0]
        assert found == pytest.approx(height / (2 * pi * (height**2 + core**2)), rel=1e-3)


def test_nothing_to_solve_and_what_cannot_be_solved() -> None:
    nothing = upright(0.0, *(np.zeros(0) for _ in range(4)), np.zeros(0, dtype=np.int64))
    solved = circulations([nothing])
    assert solved is not None and len(solved[0]) == 0
    assert circulations([]) == []
    # Two panels that are the same one: the equations are.
    twice = fin(0.0, 50.0, 1, 1)
    assert circulations([twice, twice]) is None


def test_edges_are_even_between_what_they_have_to_meet() -> None:
    edges = strip_edges(0.0, 100.0, 10, False, True, at=(33.0,))
    assert edges[0] == 0.0 and 33.0 in edges
    widths = np.diff(edges)
    assert widths[:3] == pytest.approx(11.0)
    assert len(edges) == 11
    # The free end lies a quarter of a strip further out.
    assert edges[-1] + 0.25 * widths[-1] == pytest.approx(100.0)
    both = strip_edges(-5.0, 5.0, 4, True, True)
    assert both == pytest.approx(-both[::-1])
