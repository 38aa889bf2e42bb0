"""Thin aerofoil theory of the NACA four-digit mean line: zero-lift angle and moment, in closed form."""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.design import Section

FOREMOST_CAMBER, AFTMOST_CAMBER = 0.05, 0.95
NO_CAMBER_PLACE = (
    "set the place of the greatest camber between "
    f"{100 * FOREMOST_CAMBER:g} and {100 * AFTMOST_CAMBER:g} % of the chord"
)


@dataclass(frozen=True)
class CamberLine:
    """What the mean line of a section does to lift and moment."""

    zero_lift_rad: float
    """Angle of the chord line to the air at no lift; negative for a section that bulges upwards."""
    moment: float
    """Moment coefficient about the quarter chord, nose up positive; it does not change with lift."""
    ideal_lift: float
    """Lift coefficient at which the air meets the leading edge smoothly."""


def camber_line(section: Section) -> CamberLine | str:
    """The thin aerofoil figures of ``section``, or the reason why there are none.

    With x/c = (1 − cos θ)/2 the mean line of camber m at p has the slope (2m/p²)(p − x/c) ahead of
    p and (2m/(1 − p)²)(p − x/c) behind it, and with Aₙ = (2/π)∫ slope cos nθ dθ (n ≥ 1),
    A₀' = (1/π)∫ slope dθ:

        α₀ = A₀' − A₁/2,   c_m,c/4 = (π/4)(A₂ − A₁),   ideal c_l = π A₁.

    The slope is q + ½ cos θ on either side, so every integral is elementary: no quadrature.
    Range: thin sections of small camber, attached flow; real sections come out some tenths of a
    degree nearer to zero. Source: exact consequence of thin aerofoil theory (Glauert; Abbott and
    von Doenhoff, Theory of Wing Sections, for the mean line; memory).
    """
    camber, at = section.camber, section.camber_at
    if not (math.isfinite(camber) and math.isfinite(at)):
        return "give the section a camber that is a number"
    if camber == 0.0:
        return CamberLine(0.0, 0.0, 0.0)
    if not FOREMOST_CAMBER <= at <= AFTMOST_CAMBER:
        return NO_CAMBER_PLACE
    turn = math.acos(1.0 - 2.0 * at)
    fore = [2.0 * camber / at**2 * part for part in _integrals(at, turn, 0.0)]
    aft = [2.0 * camber / (1.0 - at) ** 2 * part for part in _integrals(at, math.pi, turn)]
    plain, first, second = ((f + a) / math.pi for f, a in zip(fore, aft, strict=True))
    return CamberLine(plain - first, 0.5 * math.pi * (second - first), 2.0 * math.pi * first)


def _integrals(at: float, end: float, start: float) -> tuple[float, float, float]:
    """∫ (p − x/c) cos nθ dθ from ``start`` to ``end`` for n = 0, 1, 2, where p − x/c = q + ½ cos θ."""
    q = at - 0.5

    def primitive(t: float) -> tuple[float, float, float]:
        return (
            q * t + 0.5 * math.sin(t),
            q * math.sin(t) + 0.25 * t + 0.125 * math.sin(2 * t),
            0.5 * q * math.sin(2 * t) + 0.25 * math.sin(t) + math.sin(3 * t) / 12.0,
        )

    high, low = primitive(end), primitive(start)
    return high[0] - low[0], high[1] - low[1], high[2] - low[2]
