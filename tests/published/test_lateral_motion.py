"""The equations of lateral motion: printed roots, exact limits, and the answer in time by other means.

Sources: R. C. Nelson, Flight Stability and Automatic Control, the general-aviation aeroplane (derivatives
and roots from memory); the limits are closed forms; the answer in time is integrated here by Runge and
Kutta's rule, which shares nothing with the matrix exponential of the core.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from core.geometry.ring import Array
from core.stability.lateral.motion import (
    BANK,
    HEADING,
    SIDESLIP,
    YAW,
    Dimensional,
    exponential,
    modes,
    response,
    roots,
    spiral_part,
    system,
)

NAMES = ("y_beta", "y_p", "y_r", "l_beta", "l_p", "l_r", "n_beta", "n_p", "n_r", "gravity")
NELSON = {
    "y_beta": -0.254, "l_beta": -16.02, "l_p": -8.40, "l_r": 2.19, "n_beta": 4.488, "n_p": -0.350,
    "n_r": -0.760, "gravity": 0.182,
}


def matrix_of(**given: Any) -> Array:
    """The system of one aeroplane, or of several: what is not named is 0."""
    count = max((len(v) for v in given.values() if not isinstance(v, float)), default=1)
    return system(Dimensional(**{
        name: np.broadcast_to(np.asarray(given.get(name, 0.0), dtype=float), (count,)) for name in NAMES
    }))


def runge_kutta(slope: Callable[[float, Array], Array], start: Array, step: float, steps: int) -> Array:
    """States (K, steps + 1) from ``start`` (K,) by the classical rule of the fourth order."""
    found = [start]
    for k in range(steps):
        t, x = k * step, found[-1]
        k1 = slope(t, x)
        k2 = slope(t + step / 2, x + step / 2 * k1)
        k3 = slope(t + step / 2, x + step / 2 * k2)
        k4 = slope(t + step, x + step * k3)
        found.append(x + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4))
    return np.array(found).T


def test_the_printed_roots() -> None:
    found = np.sort_complex(roots(matrix_of(**NELSON))[0])
    # Recomputed for the project's collection of formulas, to the digits given there.
    assert found == pytest.approx([-8.433, -0.486 - 2.334j, -0.486 + 2.334j, -0.0089], abs=6e-4)
    # The book prints −8.435, −0.487 ± 2.335 i, −0.00877 from the same derivatives, less rounded.
    assert found == pytest.approx([-8.435, -0.487 - 2.335j, -0.487 + 2.335j, -0.00877], abs=2.5e-3)


def test_what_the_printed_roots_mean() -> None:
    found = modes(matrix_of(**NELSON))
    assert found.wag[0] == pytest.approx(-0.487 + 2.335j, abs=2.5e-3)
    assert found.roll[0] == pytest.approx(-8.435, abs=2.5e-3)
    assert found.spiral[0] == pytest.approx(-0.00877, abs=2e-4)
    assert found.upright[0] and not found.swaps_ends[0]


def test_the_roots_are_those_of_the_characteristic_equation() -> None:
    """λ⁴ + B λ³ + C λ² + D λ + E, its coefficients written out by hand, Y_p and Y_r included."""
    d = {**NELSON, "y_p": -0.013, "y_r": 0.021}
    y, l, n = d["y_beta"], d["l_beta"], d["n_beta"]  # noqa: E741
    lp, lr, np_, nr, g = d["l_p"], d["l_r"], d["n_p"], d["n_r"], d["gravity"]
    yp, yr = d["y_p"], 1 - d["y_r"]
    b = -(y + lp + nr)
    c = lp * nr - lr * np_ + y * (lp + nr) + yr * n - yp * l
    dd = -y * (lp * nr - lr * np_) + yr * (l * np_ - n * lp) + yp * (l * nr - n * lr) - g * l
    e = g * (l * nr - n * lr)
    expected = np.sort_complex(np.roots([1.0, b, c, dd, e]))
    assert np.sort_complex(roots(matrix_of(**d))[0]) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("stiffness", (0.5, 9.0, 250.0))
def test_yaw_alone_swings_like_a_vane(stiffness: float) -> None:
    """Without damping and rolling the period is 2π √(I_z/N_β), N_β/I_z being ``stiffness``."""
    matrix = matrix_of(n_beta=stiffness, l_p=-10.0)
    assert 2 * np.pi / modes(matrix).wag[0].imag == pytest.approx(2 * np.pi / np.sqrt(stiffness), rel=1e-12)
    seconds = np.linspace(0, 5, 201)
    found = response(matrix, 0.025, 200, np.array((1.0, 0.0, 0.0, 0.0)))[0]
    assert found[SIDESLIP] == pytest.approx(np.cos(np.sqrt(stiffness) * seconds), abs=1e-10)
    # The path stays straight: what the nose turns is what the sideslip loses.
    assert found[HEADING] == pytest.approx(1.0 - found[SIDESLIP], abs=1e-10)


@pytest.mark.parametrize("damping", (0.4, 8.0, 90.0))
def test_rolling_alone_dies_away(damping: float) -> None:
    """p = p₀ e^{L_p t}, time constant −1/L_p."""
    matrix = matrix_of(l_p=-damping)
    assert -1 / modes(matrix).roll[0] == pytest.approx(1 / damping, rel=1e-12)
    found = response(matrix, 0.025, 200, np.array((0.0, 1.0, 0.0, 0.0)))[0]
    seconds = np.linspace(0, 5, 201)
    assert found[1] == pytest.approx(np.exp(-damping * seconds), abs=1e-12)
    assert found[BANK] == pytest.approx((1 - np.exp(-damping * seconds)) / damping, abs=1e-12)


def test_a_gust_by_runge_and_kutta() -> None:
    matrix = matrix_of(**NELSON, y_r=0.02)
    start = np.array((0.1, 0.0, 0.0, 0.05))
    found = response(matrix, 0.025, 200, start)[0]
    fine = runge_kutta(lambda t, x: np.append(matrix[0] @ x[:4], x[2]), np.append(start, 0.0), 0.0025, 2000)
    # The rule's own error goes by (8.4 × 0.0025)⁴ a second.
    assert found == pytest.approx(fine[:, ::10], abs=1e-7)


def test_a_held_and_released_rudder_by_runge_and_kutta() -> None:
    matrix = matrix_of(**NELSON)
    push = np.array((-0.05, -0.3, 1.4, 0.0))
    found = response(matrix, 0.025, 200, np.zeros(4), push[None], held=20)[0]

    def slope(with_rudder: float) -> Callable[[float, Array], Array]:
        return lambda t, x: np.append(matrix[0] @ x[:4] + with_rudder * push, x[2])

    held = runge_kutta(slope(1.0), np.zeros(5), 0.0025, 200)
    free = runge_kutta(slope(0.0), held[:, -1], 0.0025, 1800)
    assert found == pytest.approx(np.concatenate((held, free[:, 1:]), axis=1)[:, ::10], abs=1e-7)
    assert np.abs(found[YAW]).max() > 0.1


def test_mirrored_flight() -> None:
    """Wind from port is wind from starboard in a mirror: every angle of the other sign."""
    matrix, start = matrix_of(**NELSON), np.array((0.1, 0.2, -0.1, 0.05))
    push = np.array(((-0.05, -0.3, 1.4, 0.0),))
    right = response(matrix, 0.025, 200, start, push, held=20)
    assert response(matrix, 0.025, 200, -start, -push, held=20) == pytest.approx(-right, abs=1e-14)


def test_the_exponential_of_what_has_no_full_set_of_modes() -> None:
    """[[0, 1], [0, 0]] has one: e^A = [[1, 1], [0, 1]]; and a turn by 40 radians."""
    assert exponential(np.array([[[0.0, 1.0], [0.0, 0.0]]]))[0] == pytest.approx(np.array([[1, 1], [0, 1]]))
    turn = exponential(np.array([[[0.0, -40.0], [40.0, 0.0]]]))[0]
    c, s = np.cos(40.0), np.sin(40.0)
    assert turn == pytest.approx(np.array([[c, -s], [s, c]]), abs=1e-12)


def test_many_go_through_as_one_by_one() -> None:
    dice = np.random.default_rng(7)
    given = {name: value * (0.5 + dice.random(40)) for name, value in NELSON.items()}
    together, start = matrix_of(**given), np.array((0.1, 0.0, 0.0, 0.0))
    whole = response(together, 0.025, 200, start)
    for k in range(40):
        alone = matrix_of(**{name: values[k:k + 1] for name, values in given.items()})
        assert response(alone, 0.025, 200, start)[0] == pytest.approx(whole[k], abs=1e-10)


def test_a_vane_that_points_backwards_swaps_ends() -> None:
    """Nβ of the wrong sign: one root is near +√(−N_β), and its nose goes away from the wind."""
    found = modes(matrix_of(**{**NELSON, "n_beta": -4.488}))
    assert found.swaps_ends[0] and not found.upright[0]


def test_a_spiral_that_winds_in_does_not_swap_ends() -> None:
    """Without dihedral E = (g/V)(L_β N_r − N_β L_r) is below 0: one root is positive, the spiral's."""
    found = modes(matrix_of(**{**NELSON, "l_beta": 0.0}))
    assert found.spiral[0] > 0 and not found.swaps_ends[0] and not found.upright[0]


def test_a_pair_that_grows() -> None:
    """Yaw damping of the wrong sign: the wag gets wider."""
    found = modes(matrix_of(**{**NELSON, "n_r": 1.5}))
    assert found.wag[0].real > 0 and found.swaps_ends[0]


def test_the_spirals_part_of_a_state() -> None:
    """It grows by its own root alone, and what is left of the state has none of it."""
    matrix = matrix_of(**NELSON)
    found = modes(matrix)
    state = np.array(((0.1, 0.2, -0.1, 0.4),))
    part = spiral_part(matrix, found, state)
    assert matrix[0] @ part[0] == pytest.approx(found.spiral[0] * part[0], abs=1e-9)
    assert spiral_part(matrix, found, state - part) == pytest.approx(np.zeros((1, 4)), abs=1e-10)
    # After 8 s only the spiral is left: e^{−0.486 × 8} is 2 %, so compare far out.
    late = response(matrix, 0.5, 120, state)[0, :4, -1]
    assert late == pytest.approx(part[0] * np.exp(found.spiral[0] * 60.0), abs=1e-9)
