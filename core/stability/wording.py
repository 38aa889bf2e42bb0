"""Readings as a person sees them, the one next step, and the way to the answer."""

from __future__ import annotations

from core.design import Aim, Design, DisplayUnits
from core.kinds import FINS, NOSE_TO_TAIL, RUDDERS
from core.stability.catalogue import Spec
from core.stability.counts import unlooked
from core.stability.fin import NO_TAIL
from core.stability.guesses import not_entered
from core.stability.in_place import in_place_of
from core.stability.photographs import HOW_TO_STRAIGHTEN, unstraightened
from core.stability.readings import Reading, Readings
from core.stability.side_area import form_of
from core.units import (
    format_angle,
    format_area,
    format_fraction,
    format_length,
    format_mass,
    format_number,
)


def percent(fraction: float, decimals: int = 1) -> str:
    """A fraction in per cent with its sign: "24.6 %"."""
    # Adding zero turns −0.0 into 0.0 after rounding.
    value = round(100.0 * fraction, decimals) + 0.0
    return f"{value:.{decimals}f} %".replace("-", "−")


def aim_words(aim: Aim) -> str:
    """The aim's limits: "22–28 %"."""
    low, high = f"{100 * aim.low:.4g}", f"{100 * aim.high:.4g}"
    return f"{low}–{high} %".replace("-", "−")


def next_step(design: Design, readings: Readings) -> str:
    """The one thing to do next on the way to the answer."""
    if not design.outlines and not design.scans:
        return "Open a scan of the plan, or draw from nothing."
    if not design.outlines:
        if unstraightened(design):
            return f"The scan looks like a photograph: {HOW_TO_STRAIGHTEN}."
        if not readings.scale_known:
            return "Set the scale of the scan. Tracing can begin without: the CLA fraction needs none."
        return "Trace the fuselage."
    if readings.fin_centre is None and readings["fin_centre_x"].missing == NO_TAIL:
        return "Trace the fin and the rudder."
    if readings.untold is not None:
        return readings.untold[:1].upper() + readings.untold[1:] + "."
    if readings.cg is None:
        return "Mark the CG." if design.cg_from == "mark" else "Enter the weights, or mark the CG by hand."
    missing = readings["cla_fraction"].missing or ""
    return missing[:1].upper() + missing[1:] + "."


def steps(design: Design, readings: Readings) -> tuple[tuple[str, bool], ...]:
    """The way to the answer, in the order of work, and which steps are done."""
    unknown = readings.untold is not None
    kinds = {o.kind for o in design.outlines if unknown or form_of(o).patch.moments.area > 0.0}
    scaled = all(scan.scale_from == "points" for scan in design.scans)
    begun = bool(design.scans or design.outlines)
    rudder = bool(kinds & RUDDERS) or "rudder" in design.left_out
    return (
        ("a scan of the plan, or an empty sheet", begun),
        ("its scale, set by two points", begun and scaled),
        ("the fuselage", bool(kinds & NOSE_TO_TAIL)),
        ("the fin and the rudder", bool(kinds & FINS) and rudder),
        ("what comes twice", bool(kinds) and not unlooked(design)),
        ("wing and tailplane, or that there is none", not not_entered(design)),
        ("the CG", readings.cg is not None),
    )


def fin_change(readings: Readings, fraction: float) -> float | None:
    """Side area in mm² to add at the fin centre (negative: to take away) for a CLA fraction.

    (A x_CLA + ΔA x_fin) / (A + ΔA) = x_CG + f·arm, so ΔA = A (x_aim − x_CLA)/(x_fin − x_aim): exact
    while the fin centre and the CG stay, a first guess otherwise. None where no such area exists.
    """
    if readings.cg is None or readings.fin_centre is None or readings.cla is None:
        return None
    wanted = readings.cg.x + fraction * (readings.fin_centre[0] - readings.cg.x)
    lever = readings.fin_centre[0] - wanted
    if lever <= 0:
        return None
    change = readings.side.moments.area * (wanted - readings.cla[0]) / lever
    return change if change > -readings.side.tail_moments.area else None


def round_length(mm: float, units: DisplayUnits) -> str:
    """A length as it is sold, without decimals that say nothing: "10 in", "10.5 in", "254 mm"."""
    number, _, unit = format_length(mm, units).rpartition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


def figure(key: str, readings: Readings, units: DisplayUnits) -> str:
    """The reading's value as the person sees it, unit included; "–" where it is missing."""
    reading = readings[key]
    if reading.value is None:
        return "–"
    return shown(reading.spec, reading.value, units)


def instead(reading: Reading) -> str:
    """What stands in place of a figure where its absence is an answer: "none", "over 30°"; else empty."""
    return in_place_of(reading.missing or "")


def shown(spec: Spec, value: float, units: DisplayUnits, *, signed: bool = False) -> str:
    """A value of that kind of reading as the person sees it, unit included."""
    if spec.shown == "length":
        return format_length(value, units, signed=signed)
    if spec.shown == "area":
        return format_area(value, units, signed=signed)
    if spec.shown == "mass":
        return format_mass(value, units, signed=signed)
    if spec.shown == "angle":
        return format_angle(value, places=spec.places, signed=signed)
    if spec.shown == "percent":
        return format_fraction(value, places=spec.places, signed=signed)
    if spec.shown == "time":
        return format_number(value, spec.places, unit="s", signed=signed)
    return format_number(value, spec.places, signed=signed)


def range_words(spec: Spec) -> str:
    """The range that a reading should lie in and whose it is; empty where there is none."""
    if not spec.range_source:
        return ""
    low, high = (None if v is None else shown(spec, v, "mm") for v in (spec.low, spec.high))
    limits = f"{low} to {high}" if low and high else f"from {low}" if low else f"up to {high}"
    return f"Usual range: {limits} ({spec.range_source})."
