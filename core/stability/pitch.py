"""Stability in pitch: downwash, neutral point, static margin, and the tailplane's trim.

Hand-book estimates for small angles and attached flow, power off: good for choosing where to put
the CG, no proof that an aeroplane is safe. Begin with the CG further forward than they allow.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.design import Design, Tailplane, Wing
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import NO_BODY, bodies
from core.stability.downwash import body_couple, tail_downwash
from core.stability.ranges import MOST_LIFT
from core.stability.surfaces import SurfaceForm, lift_slope, surface_form, tailplane_form, wing_form
from core.stability.thin_aerofoil import camber_line
from core.stability.volumes import GRAVITY, dynamic_pressure, finite, mass_of

TAIL_EFFICIENCY = 0.9
"""η: dynamic pressure at the tailplane over that of the free stream (common practice)."""
NO_WIDTH = "enter the fuselage width"
WOULD_STALL = "at this speed the wing would stall before it carries the weight: enter a higher flight speed"
_KEYS = ("downwash_slope", "neutral_point_x", "static_margin", "trim_incidence_deg", "tail_load_g")


@dataclass(frozen=True)
class Lifting:
    """A surface in the sums of moments: ``strength`` = η S a (local slope) in mm² per radian, at ``x`` mm."""

    strength: float
    x: float


@dataclass(frozen=True)
class Camber:
    """A surface at rest: ``zero_lift_rad`` from the aeroplane's x axis to its line of no lift (negative
    when it lifts at level), and its free moment S c̄ c_m in mm³, nose up positive.
    """

    zero_lift_rad: float
    moment: float


@dataclass(frozen=True)
class Balance:
    """What the tailplane must do in level flight: incidence to the x axis, load/q in mm² (down negative)."""

    incidence_rad: float
    load: float
    wing_angle_rad: float
    """Of the wing's line of no lift to the air."""


def pitching_slope(lifts: Sequence[Lifting], couple: float, x: float) -> float:
    """(∂M/∂α)/q about station ``x`` in mm³ per radian, nose up positive: Σ strength (x − xᵢ) + couple.

    Range: small angles. Source: moments of forces (exact).
    """
    return sum(s.strength * (x - s.x) for s in lifts) + couple


def neutral_point(lifts: Sequence[Lifting], couple: float) -> float | str:
    """The station x in mm about which ``pitching_slope`` vanishes (exact), or why there is none."""
    total = sum(s.strength for s in lifts)
    if not total > 1e-9:
        return "the surfaces carry nothing: enter the wing's stations"
    return (sum(s.strength * s.x for s in lifts) - couple) / total


def level_trim(
    weight: float, cg_x: float, wing: Lifting, wing_camber: Camber, tail: Lifting, tail_camber: Camber,
    downwash: float, couple: float,
) -> Balance | str:
    """The tailplane's incidence for no moment in level flight, elevator in line, or why there is none.

    ``weight`` is W/q in mm²; ``tail.strength`` is η S_t a_t, without the downwash; ``couple`` the
    body's (∂M/∂α)/q in mm³. With α from the x axis to the air, α_z the wing's line of no lift and
    L_w = a_w S (α − α_z), moments about the CG and L_w + L_t = W/q give

        α = [W (x_t − x_CG) − M₀ + a_w S α_z (x_t − x_w)] / [a_w S (x_t − x_w) + couple],

    then i_t = L_t/(η a_t S_t) + α₀t + (dε/dα)(α − α_z) − α. The body's couple is taken to vanish with
    α, thrust and drag to pass through the CG. Range: small angles, attached flow. Source: moments of
    forces (exact).
    """
    lever = tail.x - wing.x
    free = wing_camber.moment + tail_camber.moment
    zero = wing_camber.zero_lift_rad
    stiff = wing.strength * lever + couple
    if not (lever > 0.0 and stiff > 0.0 and tail.strength > 0.0):
        return "the tailplane does not lie far enough behind the wing to balance it"
    angle = (weight * (tail.x - cg_x) - free + wing.strength * zero * lever) / stiff
    on_wing = angle - zero
    load = weight - wing.strength * on_wing
    incidence = load / tail.strength + tail_camber.zero_lift_rad + downwash * on_wing - angle
    return Balance(incidence, load, on_wing)


def pitch_values(a: Aeroplane) -> Values:
    """The readings of pitch.

    Keys: downwash_slope (dε/dα), neutral_point_x (mm), static_margin ((x_NP − x_CG)/c̄),
    trim_incidence_deg (tailplane to the x axis, leading edge up positive, elevator in line),
    tail_load_g (grams, down negative), the last two at the design's ``flight``. Wing and tailplane
    at the quarter chord of their MAC with ``lift_slope``, η = 0.9; fuselage and canopy by
    Multhopp's strips, × count. Nacelles, floats, booms and the propeller are left out: a propeller
    ahead of the CG takes another 1 to 4 % of c̄ (common practice, no source).
    """
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return dict.fromkeys(_KEYS, wing)
    tail = tailplane_form(a.design.tailplanes)
    if isinstance(tail, str):
        return dict.fromkeys(_KEYS, tail)
    downwash = tail_downwash(wing, tail)
    if isinstance(downwash, str):
        return dict.fromkeys(_KEYS, downwash)
    values: Values = {"downwash_slope": downwash}
    couple = _body_couple(a.design, wing, tail, downwash)
    if isinstance(couple, str):
        values.update(dict.fromkeys(_KEYS[1:], couple))
        return values
    wing_lift = Lifting(lift_slope(wing.aspect_ratio, wing.sweep_half_deg) * wing.area, wing.quarter_chord_x)
    tail_lift = Lifting(
        TAIL_EFFICIENCY * lift_slope(tail.aspect_ratio, tail.sweep_half_deg) * tail.area, tail.quarter_chord_x
    )
    felt = Lifting(tail_lift.strength * (1.0 - downwash), tail_lift.x)
    neutral = neutral_point((wing_lift, felt), couple)
    values["neutral_point_x"] = neutral
    if isinstance(neutral, str):
        values["static_margin"] = neutral
    elif a.cg is None:
        values["static_margin"] = a.no_cg
    else:
        values["static_margin"] = (neutral - a.cg.x) / wing.mac
    trim = _trim(a, wing, wing_lift, tail_lift, downwash, couple)
    if isinstance(trim, str):
        values["trim_incidence_deg"] = values["tail_load_g"] = trim
    else:
        values["trim_incidence_deg"], values["tail_load_g"] = trim
    return finite(values)


def _body_couple(design: Design, wing: SurfaceForm, tail: SurfaceForm, downwash: float) -> float | str:
    hulls = [b for b in bodies(design) if b.main]
    if not hulls:
        return NO_BODY
    if design.fuselage_width is None:
        return NO_WIDTH
    return sum(
        b.count * body_couple(b.patch, design.fuselage_width, wing, tail.quarter_chord_x, downwash)
        for b in hulls
    )


def _trim(
    a: Aeroplane, wing: SurfaceForm, wing_lift: Lifting, tail_lift: Lifting, downwash: float, couple: float
) -> tuple[float, float] | str:
    """(incidence in degrees, load in grams), or why not."""
    if a.cg is None:
        return a.no_cg
    mass = mass_of(a.design)
    if isinstance(mass, str):
        return mass
    pressure = dynamic_pressure(a.design.flight)
    if isinstance(pressure, str):
        return pressure
    wing_camber = _camber(a.design.wings, with_incidence=True)
    if isinstance(wing_camber, str):
        return wing_camber
    tail_camber = _camber(a.design.tailplanes, with_incidence=False)
    if isinstance(tail_camber, str):
        return tail_camber
    grams_per_mm2 = pressure * 1e-6 / GRAVITY * 1e3
    if not grams_per_mm2 > 0.0:
        return "enter a flight speed above zero"
    weight = mass / grams_per_mm2
    if weight > MOST_LIFT * wing.area:
        return WOULD_STALL
    at_tail = Camber(tail_camber.zero_lift_rad, TAIL_EFFICIENCY * tail_camber.moment)
    found = level_trim(weight, a.cg.x, wing_lift, wing_camber, tail_lift, at_tail, downwash, couple)
    if isinstance(found, str):
        return found
    return math.degrees(found.incidence_rad), found.load * grams_per_mm2


def _camber(surfaces: tuple[Wing, ...] | tuple[Tailplane, ...], with_incidence: bool) -> Camber | str:
    """Area-weighted line of no lift, and the sum of free moments; from the chord line or from the x axis."""
    area = angle = moment = 0.0
    for surface in surfaces:
        form = surface_form(surface)
        if isinstance(form, str):
            return form
        line = camber_line(surface.section)
        if isinstance(line, str):
            return line
        incidence = math.radians(surface.incidence_deg) if with_incidence else 0.0
        area += form.area
        angle += form.area * (line.zero_lift_rad - incidence)
        moment += form.area * form.mac * line.moment
    return Camber(angle / area, moment)
