"""Formulas of stability in yaw: sidewash at the fin, and Cnβ of fin, body and wing, each for itself.

Per radian of sideslip about the CG, nose into the wind positive, on the wing's area and span.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.stability.body import munk_factors
from core.stability.ranges import SIDEWASH, WING_SIDEWASH

BODY_RULE = 1.3


@dataclass(frozen=True)
class Sidewash:
    """The factor of sidewash and pressure at the fin, and whether it had to be clamped."""

    value: float
    raw: float

    @property
    def clamped(self) -> bool:
        """Whether the formula left the limits within which it is believed."""
        return self.value != self.raw


def sidewash_factor(
    fin_over_wing_area: float, sweep_quarter_deg: float, wing_below_centre: float, aspect_ratio: float
) -> Sidewash:
    """k_s = 0.724 + 3.06 (S_v/S)/(1 + cos Λ_c/4) + 0.4 z_w/d + 0.009 A.

    Λ and A are the wing's; ``wing_below_centre`` is z_w/d, how far the wing root's quarter chord
    lies below the body's centre line there over the greatest depth of the body (negative: a high
    wing). Clamped to 0.6–1.4. Source: USAF Stability and Control Datcom, section 5.4 (memory);
    the limits are this project's.
    """
    raw = (
        0.724
        + 3.06 * fin_over_wing_area / (1.0 + math.cos(math.radians(sweep_quarter_deg)))
        + 0.4 * wing_below_centre
        + 0.009 * aspect_ratio
    )
    low, high = SIDEWASH
    return Sidewash(min(max(raw, low), high), raw)


def fin_cn_beta(sidewash: float, lift_slope: float, fin_volume: float) -> float:
    """Cnβ of the fin per radian: k_s a_v V_v. Source: Datcom 5.4 (memory)."""
    return sidewash * lift_slope * fin_volume


def body_cn_beta(square_integral: float, wing_area: float, span: float) -> float:
    """Cnβ of a body per radian: −(1.3/(S b)) ∫ (π/4) h² dx, ``square_integral`` being ∫h² dx.

    Range: elliptical sections of whatever width, which cancels. Source: the rule
    −1.3 (volume/S b)(depth/width), Raymer, Aircraft Design, equation 16.50 (memory).
    """
    return -BODY_RULE * 0.25 * math.pi * square_integral / (wing_area * span)


def munk_cn_beta(square_integral: float, fineness: float, wing_area: float, span: float) -> float:
    """Cnβ of a body per radian by Munk: −(2(k₂ − k₁)/(S b)) ∫ (π/4) h² dx: the most a body can take.

    Range: slender body in ideal flow. Source: Munk, NACA Report 184 (memory); exact for a spheroid.
    """
    along, across = munk_factors(fineness)
    return -2.0 * (across - along) * 0.25 * math.pi * square_integral / (wing_area * span)


def wing_cn_beta(lift_coefficient: float, aspect_ratio: float) -> float:
    """Cnβ of the wing per radian: C_L²/(4πA). Range: unswept. Source: Datcom 5.1 (memory)."""
    return lift_coefficient * lift_coefficient / (4.0 * math.pi * aspect_ratio)


def wing_sidewash(wing_below_centre: float) -> float:
    """k_b = 1 + 0.4 z_w/d, kept within 0.7–1.3: the part of the wing's height alone in the sidewash.

    ``wing_below_centre`` is z_w/d as of ``sidewash_factor``. Source: Datcom 5.4 (memory); the limits
    are this project's.
    """
    low, high = WING_SIDEWASH
    return min(max(1.0 + 0.4 * wing_below_centre, low), high)
