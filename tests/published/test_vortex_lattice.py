"""The vortex lattice against lifting surfaces that are known exactly, or to many figures.

Sources: E. O. Tuck, Some accurate solutions of the lifting surface integral equation, J. Austral. Math.
Soc. B 35, 1993: square plate 1.460227 (memory); P. F. Jordan, Exact solutions for lifting surfaces, AIAA
Journal 11, 1973: circular plate 1.790023 (memory). Two-dimensional flow 2π, R. T. Jones's slender wing
πA/2, and the slender fin on a round body by conformal mapping (exact in potential flow; the last is the
difference of the apparent masses of fin with body and of body alone, worked out below).
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi

import numpy as np
import pytest

from core.geometry.ring import Array
from core.stability.lateral.lattice import (
    Circle,
    Horseshoes,
    circulations,
    loads,
    slanted,
    strip_edges,
    upright,
)

Chord = Callable[[Array], tuple[Array, Array]]


def plate(
    low: float, high: float, strips: int, panels: int, chord: Chord, free_low: bool = True
) -> Horseshoes:
    """An upright plate; ``chord`` gives leading and trailing edge at heights (K,)."""
    edges = strip_edges(low, high, strips, free_low, True)
    leading, trailing = chord(0.5 * (edges[1:] + edges[:-1]))
    return upright(0.0, edges[:-1], edges[1:], leading, trailing, np.full(strips, panels))


def straight(length: float) -> Chord:
    """The chord of a rectangle."""
    return lambda z: (np.zeros_like(z), np.full_like(z, length))


def force(surface: Horseshoes, circle: Circle | None = None) -> float:
    """Side force over q and sideslip, the body's share included."""
    solved = circulations([surface], circle)
    assert solved is not None
    return loads(surface, solved[0], circle).total


def test_the_square_plate() -> None:
    assert force(plate(0, 1, 20, 20, straight(1.0))) == pytest.approx(1.460227, rel=0.002)


def test_the_square_plate_is_approached_from_lattice_to_lattice() -> None:
    departures = [abs(force(plate(0, 1, n, n, straight(1.0))) / 1.460227 - 1) for n in (6, 12, 24)]
    assert departures[0] > departures[1] > departures[2]
    assert departures[0] < 0.01


@pytest.mark.parametrize("z", (0.0, -4000.0))
def test_the_circular_plate(z: float) -> None:
    """Steps in place of the round edge: within 1 %."""
    def disc(height: Array) -> tuple[Array, Array]:
        half = np.sqrt(np.maximum(1.0 - (height - z) ** 2, 0.0))
        return -half, half

    assert force(plate(z - 1, z + 1, 40, 12, disc)) / pi == pytest.approx(1.790023, rel=0.01)


def test_a_very_long_plate_is_two_dimensional() -> None:
    """Of aspect ratio A, lifting-line theory takes about 2/A away, square ends a little more, and the
    lattice the quarter of a strip by which it ends short of either.
    """
    strips = 200
    for aspect in (50.0, 400.0, 3200.0):
        slope = force(plate(0, aspect, strips, 2, straight(1.0))) / aspect
        assert 2 * pi * (1 - 4 / aspect - 0.5 / strips) < slope < 2 * pi


@pytest.mark.parametrize("aspect", (0.02, 0.1))
def test_the_slender_delta(aspect: float) -> None:
    """πA/2, a plate of finite length giving less by about A/4 of it; 1 % for the steps of its edge."""
    root = 2.0 / aspect
    swept = plate(-0.5, 0.5, 40, 12, lambda z: (2 * root * np.abs(z), np.full_like(z, root)))
    slope = force(swept) / (0.5 * root)
    assert pi * aspect / 2 * (1 - aspect / 2 - 0.01) < slope < pi * aspect / 2


@pytest.mark.parametrize("aspect", (0.02, 0.1))
def test_the_slender_delta_with_swept_vortices(aspect: float) -> None:
    """The same by panels whose bound legs follow the sweep, laid flat and turned upright: each half."""
    root = 2.0 / aspect
    height = strip_edges(0.0, 0.5, 20, False, True)
    nothing = np.zeros_like(height)
    halves = [
        slanted(np.stack((nothing, sign * height, 2 * root * height, root * (1 - 2 * height)), axis=1), 12,
                mirrored=False)
        for sign in (1.0, -1.0)
    ]
    solved = circulations(halves)
    assert solved is not None
    total = sum(loads(half, gamma).total for half, gamma in zip(halves, solved, strict=True))
    slope = total / (0.5 * root)
    assert pi * aspect / 2 * (1 - aspect / 2 - 0.01) < slope < pi * aspect / 2


@pytest.mark.parametrize("tip", (1.2, 1.7, 3.0, 8.0))
def test_a_slender_fin_on_a_round_body(tip: float) -> None:
    """F + F_body = (π/2)(ℓ² − 16 a²), ℓ = (s + a)²/s, for a fin from a to s on a cylinder of radius a.

    The mapping ζ + a²/ζ flattens body and fin into a slit of length ℓ = s + a²/s + 2a and the body alone
    into one of 4a. Per density the cross-flow momentum of a slit of length l is π l²/4 less that of the
    section itself, which cancels in the difference; twice that, over q and sideslip, is the force.
    """
    body = Circle(1.0, 0.0)
    slit = (tip + 1.0) ** 2 / tip
    assert slit == pytest.approx(tip + 1.0 / tip + 2.0)
    expected = 0.5 * pi * (slit**2 - 16.0)
    # The fin is a hundred times as long as it is high.
    fin = plate(1.0, tip, 24, 8, straight(100.0 * (tip - 1.0)), free_low=False)
    assert force(fin, body) == pytest.approx(expected, rel=0.005)


def test_a_slender_fin_below_a_round_body() -> None:
    """The same upside down, and moved: the mirrored fin, about another middle."""
    body = Circle(20.0, 300.0)
    edges = 600.0 - strip_edges(320.0, 360.0, 24, False, True)[::-1]
    fin = upright(0.0, edges[:-1], edges[1:], np.full(24, 50.0), np.full(24, 4050.0), np.full(24, 8))
    slit = (60.0 + 20.0) ** 2 / 60.0
    assert force(fin, body) == pytest.approx(0.5 * pi * (slit**2 - 16 * 20.0**2), rel=0.005)


@pytest.mark.parametrize("tips", ((2.0, 2.0), (3.0, 1.4), (1.3, 5.0)))
def test_slender_fins_above_and_below_a_round_body(tips: tuple[float, float]) -> None:
    """The same mapping takes both into one slit of length s₁ + a²/s₁ + s₂ + a²/s₂."""
    above, below = tips
    expected = 0.5 * pi * ((above + 1 / above + below + 1 / below) ** 2 - 16.0)
    body = Circle(1.0, 0.0)
    fins = [plate(1.0, above, 24, 8, straight(400.0), free_low=False)]
    edges = -strip_edges(1.0, below, 24, False, True)[::-1]
    fins.append(upright(0.0, edges[:-1], edges[1:], np.zeros(24), np.full(24, 400.0), np.full(24, 8)))
    solved = circulations(fins, body)
    assert solved is not None
    total = sum(loads(fin, gamma, body).total for fin, gamma in zip(fins, solved, strict=True))
    assert total == pytest.approx(expected, rel=0.005)


def test_a_slender_fin_with_a_plate_across_its_tip() -> None:
    """Slender fin of height h, a plate of half span b level with its tip: an upside-down T.

    Slender, so that the flow across is that of the plane: there by point vortices along stem and bar,
    which shares nothing with the lattice.
    """
    height, half = 1.0, 0.6
    expected = _plane_force(height, half)
    fin_edges = strip_edges(0.0, height, 40, True, False)
    fin = upright(0.0, fin_edges[:-1], fin_edges[1:], np.zeros(40), np.full(40, 200.0), np.full(40, 6))
    span = strip_edges(0.0, half, 24, False, True)
    columns = (span, np.full_like(span, height), np.zeros_like(span), np.full_like(span, 200.0))
    level = slanted(np.stack(columns, axis=1), 6)
    solved = circulations([fin, level])
    assert solved is not None
    assert loads(fin, solved[0]).total == pytest.approx(expected, rel=0.01)


def _plane_force(height: float, half: float, count: int = 400) -> float:
    """Side force over q and sideslip of a long upright T, by point vortices in the plane across it.

    Point vortices on a cosine distribution along stem and bar, no flow through points between them; the
    force is twice the impulse Σ γ z.
    """
    def spread(low: float, high: float, number: int) -> tuple[Array, Array]:
        edge = low + (high - low) * 0.5 * (1 - np.cos(np.linspace(0, pi, number + 1)))
        return edge, 0.5 * (edge[1:] + edge[:-1])

    stem, stem_middle = spread(0.0, height, count)
    bar, bar_middle = spread(-half, half, count + count % 2)
    # The joint is a vortex of both; it is taken once.
    at = np.concatenate((1j * stem, np.delete(bar, len(bar) // 2) + 1j * height))
    where = np.concatenate((1j * stem_middle, bar_middle + 1j * height))
    normal = np.concatenate((np.ones(len(stem_middle)), np.full(len(bar_middle), 1j)))
    # A vortex of circulation γ at w: v_y − i v_z = γ/(2πi (p − w)).
    speed = np.conj(1.0 / (2j * pi * (where[:, None] - at[None, :])))
    matrix = (speed * np.conj(normal)[:, None]).real
    right = -(np.ones_like(where) * np.conj(normal)).real
    # No circulation about the whole.
    matrix = np.vstack((matrix, np.ones(len(at))))
    gamma, *_ = np.linalg.lstsq(matrix, np.append(right, 0.0), rcond=None)
    return abs(2.0 * float((gamma * at.imag).sum()))
