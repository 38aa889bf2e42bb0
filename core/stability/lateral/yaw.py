"""Stability in yaw: what fin, body and wing give, side force, and the neutral point in yaw.

Derivatives per radian of sideslip about the CG, nose into the wind positive, on the wing's area and
span. Hand-book estimates for small angles and attached flow, without propeller: good for
deciding where to cut, no proof that an aeroplane is safe.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.geometry.memo import kept
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import NO_BODY, Body, bodies, mid_depth, munk_factors
from core.stability.ranges import FIN_BAND, MOST_LIFT, SIDEWASH
from core.stability.surfaces import SurfaceForm, wing_form
from core.stability.volumes import (
    VerticalTail,
    finite,
    lift_coefficient,
    tail_volume,
    vertical_tail,
)

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


def yaw_values(a: Aeroplane) -> Values:
    """The readings of stability in yaw.

    Keys: sidewash_factor, cn_beta_fin, cn_beta_body, cn_beta, cn_beta_low, cn_beta_high, cy_beta
    (per radian), yaw_neutral_x (mm). Total = fin + body by the −1.3 rule + wing. The band: fin
    ± 20 %, body from that rule to Munk's. Without a lift coefficient the wing's part, under 0.01
    at cruising speed, is left out and ``yaw_warnings`` says so.
    CYβ = −k_s a_v S_v/S − Σ 2(π/4)h_max²/S; yaw neutral point x_CG + b Cnβ/(−CYβ).
    """
    return dict(_yaw_values(a))


@kept
def _yaw_values(a: Aeroplane) -> Values:
    wing = wing_form(a.design.wings)
    tail = vertical_tail(a)
    hulls = bodies(a.design)
    values: Values = {}
    if isinstance(wing, str):
        keys = ("sidewash_factor", "cn_beta_fin", "cn_beta_body", "cn_beta", "cn_beta_low",
                "cn_beta_high", "cy_beta", "yaw_neutral_x")
        return dict.fromkeys(keys, wing)
    area, span = wing.area, wing.span
    body: float | str = NO_BODY
    munk = side_body = 0.0
    if hulls:
        body = sum(h.count * body_cn_beta(h.form.square_integral, area, span) for h in hulls)
        munk = sum(
            h.count * munk_cn_beta(h.form.square_integral, h.form.fineness, area, span) for h in hulls
        )
        side_body = sum(h.count * 0.5 * math.pi * h.form.depth * h.form.depth for h in hulls) / area
    values["cn_beta_body"] = body
    if isinstance(tail, str):
        sidewash: float | str = tail
        fin: float | str = tail
        side: float | str = tail
    else:
        sidewash = _sidewash(wing, tail, hulls).value
        volume = tail_volume(tail.area, tail.quarter_chord_x - a.cg.x, area, span) if a.cg else None
        fin = a.no_cg if volume is None else fin_cn_beta(sidewash, tail.lift_slope, volume)
        side = -sidewash * tail.lift_slope * tail.area / area - side_body if hulls else NO_BODY
    values["sidewash_factor"] = sidewash
    values["cn_beta_fin"] = fin
    values["cy_beta"] = side
    why = next((v for v in (fin, body) if isinstance(v, str)), "")
    if isinstance(fin, str) or isinstance(body, str):
        values.update(dict.fromkeys(("cn_beta", "cn_beta_low", "cn_beta_high", "yaw_neutral_x"), why))
        return finite(values)
    lift = lift_coefficient(a.design)
    wings = 0.0 if isinstance(lift, str) else wing_cn_beta(lift, wing.aspect_ratio)
    total = fin + body + wings
    values["cn_beta"] = total
    values["cn_beta_low"] = fin - FIN_BAND * abs(fin) + min(body, munk) + wings
    values["cn_beta_high"] = fin + FIN_BAND * abs(fin) + max(body, munk) + wings
    if a.cg is None:
        values["yaw_neutral_x"] = a.no_cg
    elif isinstance(side, str) or not side < -1e-12:
        values["yaw_neutral_x"] = "there is no side force to have a neutral point"
    else:
        values["yaw_neutral_x"] = a.cg.x + span * total / -side
    return finite(values)


def yaw_warnings(a: Aeroplane) -> list[str]:
    """What the reader of the yaw figures should know about them; empty when there is nothing."""
    found: list[str] = []
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return found
    tail = vertical_tail(a)
    hulls = bodies(a.design)
    if not isinstance(tail, str):
        sidewash = _sidewash(wing, tail, hulls)
        if sidewash.clamped:
            found.append(
                f"sidewash: the formula gives {sidewash.raw:.2f}, outside what it is good for; "
                f"{sidewash.value:.1f} is used: check the wing's height and the size of the fin"
            )
    lift = lift_coefficient(a.design)
    if isinstance(lift, str):
        if hulls and not isinstance(tail, str) and a.cg is not None:
            found.append(f"yaw: the wing's small part is left out, since its lift is not known; {lift}")
    elif lift > MOST_LIFT:
        found.append(
            f"flight: at {a.design.flight.speed_m_s:g} m/s the wing would need a lift coefficient of "
            f"{lift:.2f}, more than a plain wing gives; check the speed, the weights and the wing"
        )
    return found


def _sidewash(wing: SurfaceForm, tail: VerticalTail, hulls: tuple[Body, ...]) -> Sidewash:
    below = 0.0
    main = next((h for h in hulls if h.main), None)
    if main is not None:
        x = wing.root_le_x + 0.25 * wing.root_chord
        below = (mid_depth(main.patch, x) - wing.root_z) / main.form.depth
    return sidewash_factor(tail.area / wing.area, wing.sweep_quarter_deg, below, wing.aspect_ratio)
