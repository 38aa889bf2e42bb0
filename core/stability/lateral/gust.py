"""What the aeroplane does in the seconds after a side gust or a kick of the rudder.

Much of what goes into it is known to a third at best. So it is reckoned not once but 300 times, each
time with other values from within what is uncertain, always the same 300: what comes out is a middle
and the band in which two thirds of the draws lie. Small angles, controls held, no propeller
slipstream, a wing that does not stall: for comparing one state of a design with another.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.geometry.memo import kept
from core.geometry.ring import Array
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import NO_BODY, bodies
from core.stability.lateral.derivatives import Derivatives, LateralParts, lateral_parts
from core.stability.lateral.gust_words import Traces, gust_sentence
from core.stability.lateral.motion import (
    BANK,
    HEADING,
    SIDESLIP,
    Dimensional,
    Modes,
    Trues,
    modes,
    response,
    spiral_part,
    system,
)
from core.stability.lateral.rudder import rudder_values
from core.stability.lateral.yaw import YawParts, yaw_parts
from core.stability.surfaces import wing_form
from core.stability.volumes import GRAVITY, OUT_OF_REACH, dynamic_pressure, mass_of

Kick = Literal["gust", "rudder"]
SECONDS, STEP_S = 5.0, 0.025
GUST_DEG = 5.0
DEGREES = 180.0 / math.pi
HELD_S = 0.5
"""How long full rudder is held in a kick (this project's)."""
DRAWS = 300
INERTIA_BAND = 0.3
DIHEDRAL_BAND = 0.2
ROLL_GYRATION, YAW_GYRATION = 0.25, 0.39
"""Radii of gyration over b/2 and over (b + L)/4, single-engined (Raymer, Aircraft Design; memory)."""
SWAPS = "it swaps ends"
NO_WAG = "it comes back without wagging"
ROLLS_ALONG = "rolling and banking swing together"
GUST_KEYS = ("wag_period_s", "wag_damping", "wag_half_time_s", "roll_time_s", "spiral_upright_share")
"""Of the readings that ``gust_values`` gives."""
_SEED = 250


def _even_draws() -> Array:
    """(6, 300) numbers from 0 to 1, in every row one in each three-hundredth: they fill it evenly."""
    dice = np.random.default_rng(_SEED)
    order = np.argsort(dice.random((6, DRAWS)), axis=1)
    return np.asarray((order + dice.random((6, DRAWS))) / DRAWS)


_DRAWN = _even_draws()


@dataclass(frozen=True)
class Spread:
    """The middle of the draws, and the band in which two thirds of them lie."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class GustFigures:
    """What the roots of all draws say; a reason in place of what most draws do not have."""

    period_s: Spread | str
    damping: Spread | str
    """ζ of the wag: below 0 it grows, from 1 on it would no more swing past."""
    half_time_s: Spread | str
    roll_time_s: Spread | str
    upright_share: float | str
    """Of the draws, those in which all dies away: left alone it comes upright by itself."""
    swaps_share: float
    """Of the draws, those in which it swings off and does not come back."""


@dataclass(frozen=True, eq=False)
class Band:
    """A figure over time, arrays of shape (K,): the middle draw at each instant, and two thirds of all."""

    low: Array
    middle: Array
    high: Array


@dataclass(frozen=True, eq=False)
class Flown:
    """The seconds after a kick: times (K,) in s; degrees, starboard positive.

    Heading and bank are changes from before. Sideslip is positive with the wind from starboard.
    Angles beyond ±180° stand at that: small angles told nothing long before.
    """

    seconds: Array
    heading: Band
    sideslip: Band
    bank: Band
    sentence: str


@dataclass(frozen=True)
class Inertia:
    """Moments of inertia in kg m² about the axes of roll and yaw."""

    roll: float
    yaw: float


def inertia(mass_kg: float, span_m: float, length_m: float) -> Inertia:
    """I_x = m (b/2)² 0.25², I_z = m ((b + L)/4)² 0.39²; I_xz is taken as 0.

    Range: single-engined, weights near the middle; within ± 30 %. Source: Raymer's radii of gyration
    (memory).
    """
    return Inertia(
        mass_kg * (0.5 * span_m * ROLL_GYRATION) ** 2,
        mass_kg * (0.25 * (span_m + length_m) * YAW_GYRATION) ** 2,
    )


@dataclass(frozen=True, eq=False)
class _Draws:
    matrix: Array
    """(300, 4, 4)."""
    modes: Modes
    dynamic: Dynamic
    parts: YawParts
    loose: Trues
    """(300,), where Cnβ is below 0 without the wing's part, which comes and goes with its lift."""


@dataclass(frozen=True)
class Dynamic:
    """What turns coefficients into accelerations: SI units; inertia arrays of shape (N,)."""

    pressure: float
    speed: float
    mass: float
    area: float
    span: float
    roll_inertia: Array
    yaw_inertia: Array

    def dimensional(self, d: Derivatives) -> Dimensional:
        """Accelerations a radian and a radian a second (exact, from the definition of coefficients)."""
        force = self.pressure * self.area
        side = force / (self.mass * self.speed)
        turn = 0.5 * self.span / self.speed
        roll, yaw = force * self.span / self.roll_inertia, force * self.span / self.yaw_inertia
        return Dimensional(
            y_beta=side * d.cy_beta, y_p=side * turn * d.cy_p, y_r=side * turn * d.cy_r,
            l_beta=roll * d.cl_beta, l_p=roll * turn * d.cl_p, l_r=roll * turn * d.cl_r,
            n_beta=yaw * d.cn_beta, n_p=yaw * turn * d.cn_p, n_r=yaw * turn * d.cn_r,
            gravity=np.full(self.roll_inertia.shape, GRAVITY / self.speed),
        )


def drawn_derivatives(parts: YawParts, lateral: LateralParts) -> Derivatives:
    """The derivatives of all 300 draws.

    Each evenly within its band, the others apart from it: the fin from the least to the most that its
    witnesses let it give, in all that it does; the body from the −1.3 rule to Munk; the
    propeller from half to twice (evenly in its logarithm); what the wing rolls by sideslip ± 20 %.
    """
    body = parts.body + (parts.body_munk - parts.body) * _DRAWN[1]
    propeller = parts.propeller * 2.0 ** (2.0 * _DRAWN[2] - 1.0)
    dihedral = 1.0 + DIHEDRAL_BAND * (2.0 * _DRAWN[3] - 1.0)
    return lateral.derivatives(_fin(parts) + body + propeller + parts.wing, fin_strength(parts), dihedral)


def fin_strength(parts: YawParts) -> Array:
    """Of all 300 draws, the fin over the mean of its witnesses; 1 where that gives nothing to go by."""
    if not abs(parts.fin) > 1e-12:
        return np.ones(DRAWS)
    return np.asarray(np.maximum(_fin(parts) / parts.fin, 0.0))


def _fin(parts: YawParts) -> Array:
    return np.asarray(parts.fin_low + (parts.fin_high - parts.fin_low) * _DRAWN[0])


@kept
def _draws(a: Aeroplane) -> _Draws | str:
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return wing
    parts = yaw_parts(a)
    if isinstance(parts, str):
        return parts
    mass = mass_of(a.design)
    if isinstance(mass, str):
        return mass
    pressure = dynamic_pressure(a.design.flight)
    if isinstance(pressure, str):
        return pressure
    lateral = lateral_parts(a, parts)
    if isinstance(lateral, str):
        return lateral
    hulls = bodies(a.design)
    if not hulls:
        return NO_BODY
    length = hulls[0].form.length if hulls[0].main else max(h.form.length for h in hulls)
    kilograms, span = 1e-3 * mass, 1e-3 * wing.span
    if not kilograms * a.design.flight.speed_m_s > 0.0:
        return OUT_OF_REACH
    middle = inertia(kilograms, span, 1e-3 * length)
    with np.errstate(all="ignore"):
        dynamic = Dynamic(
            pressure, a.design.flight.speed_m_s, kilograms, 1e-6 * wing.area, span,
            middle.roll * (1.0 + INERTIA_BAND * (2.0 * _DRAWN[4] - 1.0)),
            middle.yaw * (1.0 + INERTIA_BAND * (2.0 * _DRAWN[5] - 1.0)),
        )
        derivatives = drawn_derivatives(parts, lateral)
        matrix = system(dynamic.dimensional(derivatives))
        # Beyond that nothing flies, and rounding would say what it does.
        if not (np.abs(matrix) < 1e8).all():
            return OUT_OF_REACH
    return _Draws(matrix, modes(matrix), dynamic, parts, derivatives.cn_beta < parts.wing)


@kept
def gust_figures(a: Aeroplane) -> GustFigures | str:
    """Wag, rolling and spiral of ``a`` from 300 draws, or the reason why there is nothing to say.

    Each spread is that of the draws that have such a figure and do not swap ends; where half of all swap
    ends, or fewer than half of the others have it, a reason stands instead. Source: roots of the
    linear equations (exact for each draw).
    """
    drawn = _draws(a)
    if isinstance(drawn, str):
        return drawn
    m = drawn.modes
    swaps = float(m.swaps_ends.mean())
    held = ~m.swaps_ends
    decay, size = -m.wag.real, np.abs(m.wag)
    with np.errstate(all="ignore"):
        period = 2.0 * math.pi / m.wag.imag
        damping, half = decay / size, math.log(2.0) / decay
        # The only real root may be a spiral that winds in: that is no rolling which dies away.
        roll = np.where(m.roll < 0.0, -1.0 / m.roll, np.nan)
    return GustFigures(
        period_s=spread_of(period, held, NO_WAG), damping=spread_of(damping, held, NO_WAG),
        half_time_s=spread_of(half, held, NO_WAG), roll_time_s=spread_of(roll, held, ROLLS_ALONG),
        upright_share=SWAPS if swaps > 0.5 else float(m.upright.mean()), swaps_share=swaps,
    )


def gust_values(a: Aeroplane) -> Values:
    """The readings wag_period_s, wag_damping, wag_half_time_s, roll_time_s, spiral_upright_share.

    Seconds, but damping (ζ) and share without unit: the middle of the draws. See ``gust_figures``.
    """
    found = gust_figures(a)
    if isinstance(found, str):
        return dict.fromkeys(GUST_KEYS, found)
    spreads = (found.period_s, found.damping, found.half_time_s, found.roll_time_s)
    middles = tuple(s if isinstance(s, str) else s.middle for s in spreads)
    return dict(zip(GUST_KEYS, (*middles, found.upright_share), strict=True))


def after_a_gust(a: Aeroplane, kick: Kick = "gust") -> Flown | str:
    """What ``a`` does in 5 s after ``kick``, or the reason why that cannot be said.

    "gust": all at once the wind comes 5° from starboard, and goes on so. "rudder": the design's whole
    throw to starboard, held for half a second and let go; its side force is its moment over the
    fin's arm. Held controls, small angles. Source: linear equations of lateral motion (exact for
    each draw).
    """
    drawn = _draws(a)
    if isinstance(drawn, str):
        return drawn
    steps, held = round(SECONDS / STEP_S), 0
    start: Array = np.zeros(4)
    push: Array | None = None
    if kick == "gust":
        start[SIDESLIP] = math.radians(GUST_DEG)
    else:
        kicked = _rudder_push(a, drawn)
        if isinstance(kicked, str):
            return kicked
        push = kicked
        held = round(HELD_S / STEP_S)
    with np.errstate(all="ignore"):
        found = DEGREES * response(drawn.matrix, STEP_S, steps, start, push, held)
    if not np.isfinite(found).all():
        return OUT_OF_REACH
    seconds: Array = np.linspace(0.0, SECONDS, steps + 1)
    m = drawn.modes
    free = seconds[held:] - seconds[held]
    with np.errstate(all="ignore"):
        slow = spiral_part(drawn.matrix, m, found[:, :4, held])[:, SIDESLIP, None]
        swinging = found[:, SIDESLIP, held:] - slow * np.exp(np.nan_to_num(m.spiral)[:, None] * free)
    sentence = gust_sentence(Traces(
        seconds=free, sideslip=swinging,
        kicked_to=_farthest(found[:, SIDESLIP, :held + 1]) if held else None,
        banks_to=_farthest(found[:, BANK]),
        swaps_ends=m.swaps_ends, loose=drawn.loose, upright=float(m.upright.mean()),
        # What takes longer for one swing to and fro than is shown is not seen to wag.
        grows=(m.wag.real > 0.0) & (m.wag.imag > 2.0 * math.pi / SECONDS),
    ))
    heading, sideslip, bank = (_band(found[:, place]) for place in (HEADING, SIDESLIP, BANK))
    return Flown(seconds, heading, sideslip, bank, sentence)


def _farthest(traces: Array) -> float:
    """Of traces (N, K) the most that the middle one of them reaches to either side."""
    return float(np.median(np.abs(traces).max(axis=1)))


def _rudder_push(a: Aeroplane, drawn: _Draws) -> Array | str:
    """What the kick adds to the rates of the states: (300, 4), nose to starboard."""
    throw = a.design.flight.rudder_throw_deg
    if not throw > 0.0:
        return "enter the rudder throw"
    moment = rudder_values(a)["cn_rudder"]
    if isinstance(moment, str):
        return moment
    d, parts = drawn.dynamic, drawn.parts
    span = parts.span
    if not parts.fin_arm > 1e-3 * span:
        return "the fin does not lie behind the CG: check the CG mark"
    # A fin that is stronger than its witnesses' mean has a rudder that is, too.
    yaw = -moment * math.radians(throw) * fin_strength(parts)
    # To turn the nose to starboard the fin is pushed to port.
    side = -yaw * span / parts.fin_arm
    force = d.pressure * d.area
    push = np.zeros((len(drawn.matrix), 4))
    push[:, 0] = force * side / (d.mass * d.speed)
    push[:, 1] = force * d.span * side * parts.fin_height / span / d.roll_inertia
    push[:, 2] = force * d.span * yaw / d.yaw_inertia
    return push


def spread_of(values: Array, held: Trues, otherwise: str) -> Spread | str:
    """The spread of ``values`` (N,) over the draws that are ``held``, as ``gust_figures`` has it."""
    if 2 * int(held.sum()) < len(held):
        return SWAPS
    there = values[held & np.isfinite(values)]
    if 2 * len(there) < int(held.sum()):
        return otherwise
    low, middle, high = two_thirds(there)
    return Spread(float(low), float(middle), float(high))


def _band(traces: Array) -> Band:
    """The band of traces (N, K) over the N."""
    low, middle, high = two_thirds(np.clip(traces, -180.0, 180.0))
    return Band(low, middle, high)


def two_thirds(draws: Array) -> Array:
    """(3, …): of draws (N, …) those at a sixth, the half and five sixths, in order of size."""
    n = len(draws)
    places = (round((n - 1) / 6), (n - 1) // 2, round(5 * (n - 1) / 6))
    return np.asarray(np.sort(draws, axis=0)[list(places)])
