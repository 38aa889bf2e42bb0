"""The motion sideways of many aeroplanes at once: four states, their roots and their answer in time.

Pure arithmetic; arrays of N aeroplanes go through together. States: sideslip β in radians, roll rate p
and yaw rate r in radians a second, bank φ in radians; starboard positive, sideslip positive with the
wind from starboard. Level flight, small angles: sin φ = φ. Source of the equations: any text of
flight dynamics, here after Nelson, Flight Stability and Automatic Control (memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.ring import Array

Complex = NDArray[np.complex128]
Trues = NDArray[np.bool_]
SIDESLIP, ROLL, YAW, BANK, HEADING = range(5)
"""Places of the states, and of the heading that a response has besides."""


@dataclass(frozen=True, eq=False)
class Dimensional:
    """Accelerations by sideslip, roll rate and yaw rate: arrays of one shape (N,).

    ``y_…`` are side accelerations over the speed: 1/s by sideslip, without unit by the rates;
    ``l_…`` and ``n_…`` angular accelerations in roll and yaw: 1/s² by sideslip, 1/s by the rates.
    ``gravity`` is g/V in 1/s.
    """

    y_beta: Array
    y_p: Array
    y_r: Array
    l_beta: Array
    l_p: Array
    l_r: Array
    n_beta: Array
    n_p: Array
    n_r: Array
    gravity: Array


def system(d: Dimensional) -> Array:
    """The matrices (N, 4, 4) of ẋ = A x, x = (β, p, r, φ).

    β̇ = Y_β β + Y_p p − (1 − Y_r) r + (g/V) φ, ṗ = L_β β + L_p p + L_r r, ṙ = N_β β + N_p p + N_r r,
    φ̇ = p; I_xz = 0. Source: linear equations of lateral motion (exact to first order).
    """
    matrix = np.zeros((len(d.y_beta), 4, 4))
    matrix[:, SIDESLIP] = np.stack((d.y_beta, d.y_p, d.y_r - 1.0, d.gravity), axis=1)
    matrix[:, ROLL, :3] = np.stack((d.l_beta, d.l_p, d.l_r), axis=1)
    matrix[:, YAW, :3] = np.stack((d.n_beta, d.n_p, d.n_r), axis=1)
    matrix[:, BANK, ROLL] = 1.0
    return matrix


def roots(matrix: Array) -> Complex:
    """The four roots of each of ``matrix`` (N, 4, 4), shape (N, 4), in 1/s (exact)."""
    return np.asarray(np.linalg.eigvals(matrix), dtype=np.complex128)


@dataclass(frozen=True, eq=False)
class Modes:
    """What the roots mean, arrays of shape (N,); NaN where an aeroplane has no such mode."""

    roots: Complex
    """(N, 4), all of them."""
    wag: Complex
    """The faster of its swinging pairs, the root above the real axis."""
    roll: Array
    """The real root that belongs to rolling, 1/s."""
    spiral: Array
    """The slowest of the other real roots, 1/s."""
    swaps_ends: Trues
    """True where a pair grows, or a real root that turns the nose away from the wind."""
    upright: Trues
    """True where all four die away, the spiral among them."""


def modes(matrix: Array) -> Modes:
    """The modes of each of ``matrix`` (N, 4, 4).

    The wag is the pair with the highest frequency. Rolling is the real root nearest to L_p. Where
    a pair grows, or a real root that turns the nose away from the wind (``turns_away``), the aeroplane
    swaps ends; a spiral turns the nose into the wind, however fast it winds.
    """
    found = roots(matrix)
    # A real root may come out with a grain of an imaginary part, and a pair without it.
    paired = np.abs(found.imag) > 1e-7 * (1e-9 + np.abs(found))
    place = np.arange(len(found))
    fastest = np.argmax(np.where(paired, found.imag, -np.inf), axis=1)
    wag = np.where(paired.any(axis=1), found[place, fastest], np.nan + 0j)
    away = np.where(paired, np.inf, np.abs(found.real - matrix[:, ROLL, ROLL, None]))
    nearest = np.argmin(away, axis=1)
    others = np.where(paired, np.inf, np.abs(found.real))
    others[place, nearest] = np.inf
    slowest = np.argmin(others, axis=1)
    grows = found.real > 0.0
    swaps = grows & (paired | turns_away(matrix, found))
    return Modes(
        found, wag,
        roll=np.where(np.isfinite(away[place, nearest]), found.real[place, nearest], np.nan),
        spiral=np.where(np.isfinite(others[place, slowest]), found.real[place, slowest], np.nan),
        swaps_ends=np.any(swaps, axis=1), upright=np.all(~grows, axis=1),
    )


def spiral_part(matrix: Array, m: Modes, state: Array) -> Array:
    """What of ``state`` (N, 4) goes by the spiral, shape (N, 4); 0 where there is none apart.

    Sylvester's formula: Π (A − λ_j)/(λ_s − λ_j) over the other three roots (exact). Where another root
    lies within a thousandth of it, the two cannot be told apart.
    """
    apart = m.roots - m.spiral[:, None]
    own = np.argmin(np.where(np.isnan(apart), np.inf, np.abs(apart)), axis=1)
    rest = np.arange(4)[None, :] != own[:, None]
    others, gaps = m.roots[rest].reshape(-1, 3), apart[rest].reshape(-1, 3)
    clear = np.abs(gaps).min(axis=1) > 1e-3 * np.abs(m.roots).max(axis=1)
    clear &= np.isfinite(m.spiral)
    found = state.astype(np.complex128)
    for j in range(3):
        moved = np.einsum("nij,nj->ni", matrix, found) - others[:, j, None] * found
        found = np.divide(moved, -gaps[:, j, None], out=np.zeros_like(moved), where=clear[:, None])
    return np.asarray(found.real)


def turns_away(matrix: Array, found: Complex) -> Trues:
    """True, shape (N, 4), where the mode of a root ``found`` has the nose away from the wind.

    That is where the heading ψ and the sideslip of the mode are of opposite sign, the real part of β/ψ
    below 0. From ṗ and ṙ with p eliminated, and ψ = r/λ:
    β/ψ = λ [(λ − N_r)(λ − L_p) − N_p L_r]/[N_β (λ − L_p) + N_p L_β] (exact).
    """
    m = matrix[:, :, :, None]
    rolling, yawing = found - m[:, ROLL, ROLL], found - m[:, YAW, YAW]
    above = found * (yawing * rolling - m[:, YAW, ROLL] * m[:, ROLL, YAW])
    below = m[:, YAW, SIDESLIP] * rolling + m[:, YAW, ROLL] * m[:, ROLL, SIDESLIP]
    return np.asarray((above * below.conj()).real < 0.0)


def response(
    matrix: Array, step_s: float, steps: int, start: Array, push: Array | None = None, held: int = 0,
) -> Array:
    """What follows from ``start``: shape (N, 5, steps + 1), the states and the heading in radians.

    ``matrix`` (N, 4, 4), ``start`` (4,) or (N, 4), heading from 0. ``push`` (N, 4) is added to the
    states' rates while the first ``held`` steps last, and is gone after. By the matrix exponential,
    exact at every step whatever its length.
    """
    count = len(matrix)
    whole = np.zeros((count, 6, 6))
    whole[:, :4, :4] = matrix
    whole[:, HEADING, YAW] = 1.0
    if push is not None:
        whole[:, :4, 5] = push
    one = exponential(step_s * whole)
    state = np.zeros((count, 6))
    state[:, :4] = start
    if push is None or held <= 0:
        return _stepped(one[:, :5, :5], state[:, :5], steps)
    held = min(held, steps)
    state[:, 5] = 1.0
    driven = _stepped(one, state, held)[:, :5]
    free = _stepped(one[:, :5, :5], driven[:, :, -1], steps - held)
    return np.concatenate((driven, free[:, :, 1:]), axis=2)


def _stepped(one: Array, start: Array, steps: int) -> Array:
    """one^k start for k from 0 to ``steps``, shape (N, K, steps + 1): what is known is doubled each time."""
    found = np.empty((*start.shape, steps + 1))
    found[:, :, 0] = start
    known, power = 1, one
    while known <= steps:
        more = min(known, steps + 1 - known)
        found[:, :, known:known + more] = power @ found[:, :, :more]
        known += more
        if known <= steps:
            power = power @ power
    return found


def exponential(matrix: Array) -> Array:
    """e to the power of each of ``matrix`` (N, K, K): Taylor's series on a part of it, squared up again.

    The part is so small that what twelve terms leave out is lost in rounding. Source: scaling and
    squaring, any text of numerical mathematics.
    """
    size = float(np.abs(matrix).sum(axis=2).max(initial=0.0))
    halvings = max(0, int(np.ceil(np.log2(size / 0.25)))) if size > 0.25 else 0
    part = matrix / 2.0**halvings
    unit = np.eye(matrix.shape[1])
    found = unit + part / 12.0
    for term in range(11, 0, -1):
        found = unit + part @ found / term
    for _ in range(halvings):
        found = found @ found
    return np.asarray(found)
