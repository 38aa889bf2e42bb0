"""Reference lengths, tail volumes, mass and lift coefficient: what yaw, spiral and pitch build on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.design import Design, Flight
from core.geometry.memo import kept
from core.stability.aeroplane import Aeroplane, Values
from core.stability.balance import masses
from core.stability.fin import FinGroup, fin_groups, no_tail
from core.stability.surfaces import tailplane_form, wing_form

GRAVITY = 9.80665
"""m/s², standard gravity (exact by convention)."""
OUT_OF_REACH = "a number in the design is out of reach"


@dataclass(frozen=True)
class VerticalTail:
    """All exposed fins and rudders as one: counts times areas, and means weighted by them."""

    area: float
    """mm², sum of exposed areas × count."""
    quarter_chord_x: float
    rudder_fraction: float
    groups: tuple[FinGroup, ...]

    @property
    def largest(self) -> FinGroup:
        """The count whose fins have the most area together; one of them is "the fin" of readings."""
        return max(self.groups, key=lambda g: g.count * g.form.area)


def tail_volume(tail_area: float, arm: float, wing_area: float, length: float) -> float:
    """S_t l_t/(S L): L is the MAC for a tailplane, the wing span for a fin.

    Any consistent units; areas and length of the wing above zero. Arms run from the CG to the
    quarter chord of the tail's MAC, aft positive. Source: definition (exact); Anderson,
    Introduction to Flight, equation 7.26 (read), works an example.
    """
    return tail_area * arm / (wing_area * length)


@kept
def vertical_tail(a: Aeroplane) -> VerticalTail | str:
    """The exposed vertical tail of ``a``, or the reason why there is none.

    Fins of one count are one planform, seen from one side; several counts are weighted by
    area × count (a convention of this project).
    """
    groups = fin_groups(a.design, a.side)
    area = a.side.tail_moments.area
    total = sum(g.count * g.form.area for g in groups)
    if not groups or not area > 0.0 or not total > 0.0:
        return no_tail(a.design)
    shares = [g.count * g.form.area / total for g in groups]
    return VerticalTail(
        area=area,
        quarter_chord_x=sum(s * g.form.quarter_chord_x for s, g in zip(shares, groups, strict=True)),
        rudder_fraction=sum(s * g.rudder_fraction for s, g in zip(shares, groups, strict=True)),
        groups=groups,
    )


def mass_of(design: Design) -> float | str:
    """Grams of every weight and of every surface that weighs (exact sum), or why not."""
    total = sum(m for m, _, _ in masses(design))
    return total if total > 0.0 else "enter the weights"


def dynamic_pressure(flight: Flight) -> float | str:
    """q = ½ρV² in N/m² (exact, incompressible), or what to enter."""
    if not flight.speed_m_s > 0.0:
        return "enter a flight speed above zero"
    if not flight.air_density_kg_m3 > 0.0:
        return "enter an air density above zero"
    return 0.5 * flight.air_density_kg_m3 * flight.speed_m_s * flight.speed_m_s


def lift_coefficient(design: Design) -> float | str:
    """C_L = W/(q S) in level flight at the design's ``flight``, S of all wings, or why not (exact).

    Range: level and unaccelerated; nothing here knows at which C_L the wing stalls.
    """
    wing = wing_form(design.wings)
    if isinstance(wing, str):
        return wing
    mass = mass_of(design)
    if isinstance(mass, str):
        return mass
    q = dynamic_pressure(design.flight)
    if isinstance(q, str):
        return q
    force = q * wing.area * 1e-6
    if not force > 0.0:
        return "enter a flight speed above zero"
    return mass * 1e-3 * GRAVITY / force


def volume_values(a: Aeroplane) -> Values:
    """Wing, tailplane and fin in figures: lengths in mm, areas in mm², mass in g.

    Keys: wing_area, wing_span, aspect_ratio, mac, mac_le_x, dihedral_deg, tailplane_area,
    tailplane_arm, tailplane_volume, fin_exposed_height, fin_aspect_ratio, fin_mac (of one fin of
    the largest group), fin_quarter_chord_x, fin_arm, fin_volume (of all), mass,
    lift_coefficient. Volumes may be negative: a surface ahead of the CG has a negative arm.
    """
    values: Values = {}
    wing = wing_form(a.design.wings)
    for key, name in (
        ("wing_area", "area"), ("wing_span", "span"), ("aspect_ratio", "aspect_ratio"),
        ("mac", "mac"), ("mac_le_x", "mac_le_x"), ("dihedral_deg", "dihedral_deg"),
    ):
        values[key] = wing if isinstance(wing, str) else float(getattr(wing, name))
    cg = a.cg
    tailplane = tailplane_form(a.design.tailplanes)
    if isinstance(tailplane, str):
        values["tailplane_area"] = values["tailplane_arm"] = values["tailplane_volume"] = tailplane
    else:
        values["tailplane_area"] = tailplane.area
        arm = tailplane.quarter_chord_x - cg.x if cg else None
        values["tailplane_arm"] = a.no_cg if arm is None else arm
        values["tailplane_volume"] = (
            wing if isinstance(wing, str)
            else a.no_cg if arm is None
            else tail_volume(tailplane.area, arm, wing.area, wing.mac)
        )
    values.update(_fin_values(a))
    values["mass"] = mass_of(a.design)
    values["lift_coefficient"] = lift_coefficient(a.design)
    return finite(values)


def _fin_values(a: Aeroplane) -> Values:
    tail = vertical_tail(a)
    if isinstance(tail, str):
        return dict.fromkeys(
            ("fin_exposed_height", "fin_aspect_ratio", "fin_mac", "fin_quarter_chord_x", "fin_arm",
             "fin_volume"), tail,
        )
    wing = wing_form(a.design.wings)
    arm = tail.quarter_chord_x - a.cg.x if a.cg else None
    form = tail.largest.form
    return {
        "fin_exposed_height": form.height,
        "fin_aspect_ratio": form.aspect_ratio,
        "fin_mac": form.mac,
        "fin_quarter_chord_x": tail.quarter_chord_x,
        "fin_arm": a.no_cg if arm is None else arm,
        "fin_volume": (
            wing if isinstance(wing, str)
            else a.no_cg if arm is None
            else tail_volume(tail.area, arm, wing.area, wing.span)
        ),
    }


def finite(values: Values) -> Values:
    """The same values, with a reason in place of every figure that is not a finite number."""
    return {
        key: value if isinstance(value, str) or math.isfinite(value) else OUT_OF_REACH
        for key, value in values.items()
    }
