"""What the rudder can do: its effectiveness, its moment, and the sideslip that it holds."""

from __future__ import annotations

import math

from core.stability.aeroplane import Aeroplane, Values
from core.stability.lateral.slip_range import balance_deg, slip_curve
from core.stability.lateral.yaw import YawParts, yaw_parts
from core.stability.ranges import CN_BETA, LITTLE_DEG, LOOSE_CN_BETA, LOOSE_DEG
from core.stability.surfaces import wing_form
from core.stability.volumes import VerticalTail, finite, vertical_tail

NO_RUDDER = "trace the rudder"
AHEAD = "the quarter chord of the fin does not lie behind the CG: check the CG mark"
MOST_DEG = 30.0
OVER = f"over {MOST_DEG:g}°"
REAL_SHARE = 0.8
"""What real control surfaces give of the thin-aerofoil effectiveness (common practice)."""
SIDE_FLOW = 0.9
"""Loss at the fin's root and gap (common practice)."""


def flap_effectiveness(fraction: float) -> float:
    """τ = (π − φ + sin φ)/π with cos φ = 2F − 1, F the control's chord over the whole chord.

    Range: 0 ≤ F ≤ 1 (what lies outside is taken at the limit), thin aerofoil, small angles.
    Source: Aerodynamics for Engineering Students, equation 4.52 (read).
    """
    phi = math.acos(2.0 * min(max(fraction, 0.0), 1.0) - 1.0)
    return (math.pi - phi + math.sin(phi)) / math.pi


def rudder_cn(effectiveness: float, fin_cn_beta: float) -> float:
    """Cn_δ per radian of rudder: −0.9 × 0.8 τ × Cnβ of the fin, negative as handbooks count it.

    ``effectiveness`` is τ of ``flap_effectiveness``, ``fin_cn_beta`` without sidewash (a_v V_v). Range: up
    to about 25° of throw, beyond which the flow leaves the rudder. Source: common practice for both factors.
    """
    return -SIDE_FLOW * REAL_SHARE * effectiveness * fin_cn_beta


def rudder_values(a: Aeroplane) -> Values:
    """The readings of the rudder.

    Keys: rudder_fraction (area of the exposed rudder over that of the whole exposed fin, standing
    for the chord ratio F), rudder_effectiveness (τ, before the 0.8 of real surfaces), cn_rudder
    (per radian), sideslip_full_rudder_deg (where full rudder and the moment in yaw balance, on the curve of
    ``slip_range``; past 30° it is missing, "over 30°": there neither is known that well). Fins of several
    counts: τ weighted by count × area × lift slope.
    """
    tail = vertical_tail(a)
    if isinstance(tail, str):
        keys = ("rudder_fraction", "rudder_effectiveness", "cn_rudder", "sideslip_full_rudder_deg")
        return dict.fromkeys(keys, tail)
    if not tail.rudder_fraction > 0.0:
        return {
            "rudder_fraction": 0.0, "rudder_effectiveness": NO_RUDDER, "cn_rudder": NO_RUDDER,
            "sideslip_full_rudder_deg": NO_RUDDER,
        }
    tau = _effectiveness(tail)
    values: Values = {"rudder_fraction": tail.rudder_fraction, "rudder_effectiveness": tau}
    wing = wing_form(a.design.wings)
    if isinstance(wing, str) or a.cg is None:
        values["cn_rudder"] = wing if isinstance(wing, str) else a.no_cg
        values["sideslip_full_rudder_deg"] = values["cn_rudder"]
        return values
    parts = yaw_parts(a)
    if isinstance(parts, str):
        values["cn_rudder"] = values["sideslip_full_rudder_deg"] = parts
        return values
    moment = rudder_cn(tau, parts.fin_bare)
    values["cn_rudder"] = moment
    values["sideslip_full_rudder_deg"] = _sideslip(a, parts, moment)
    return finite(values)


def authority_words(sideslip_deg: float, cn_beta: float) -> str:
    """What the sideslip held by full rudder means; empty between the limits (common practice)."""
    if sideslip_deg < LITTLE_DEG:
        return "little rudder authority"
    return loose_words(cn_beta) if sideslip_deg > LOOSE_DEG else ""


def loose_words(cn_beta: float) -> str:
    """What it means that full rudder slips it further than ``LOOSE_DEG``; empty where it is firm enough.

    Loose is only what lies under the usual range: what holds its heading is not called loose besides.
    """
    if cn_beta < CN_BETA[0]:
        return "loose in yaw"
    return "much rudder for its firmness in yaw" if cn_beta < LOOSE_CN_BETA else ""


def _effectiveness(tail: VerticalTail) -> float:
    weights = [g.count * g.form.area * g.lift_slope for g in tail.groups]
    total = sum(weights)
    if not total > 0.0:
        return flap_effectiveness(tail.rudder_fraction)
    taus = (flap_effectiveness(g.rudder_fraction) for g in tail.groups)
    return sum(w * tau for w, tau in zip(weights, taus, strict=True)) / total


def _sideslip(a: Aeroplane, parts: YawParts, cn_rudder: float) -> float | str:
    throw = a.design.flight.rudder_throw_deg
    if not throw > 0.0:
        return "enter the rudder throw"
    curve = slip_curve(a)
    if isinstance(curve, str):
        return curve
    if not cn_rudder < 0.0:
        return AHEAD
    if not parts.best > 0.0:
        return "it is not stable in yaw, so no rudder holds a steady sideslip"
    held = balance_deg(curve, -cn_rudder * math.radians(throw) * parts.wing_area * parts.span)
    return OVER if held is None or held > MOST_DEG else held
