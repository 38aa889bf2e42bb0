"""The answer in words: where the CLA lies, what that means in the air, what to do about it.

What it means in the air is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.design import VERTICAL_TAIL, Aim, Design, DisplayUnits
from core.stability.catalogue import Spec
from core.stability.fin import NO_TAIL
from core.stability.readings import Readings, Verdict
from core.units import (
    format_angle,
    format_area,
    format_fraction,
    format_length,
    format_mass,
    format_number,
)


@dataclass(frozen=True)
class Answer:
    """What the window and the bench sheet say at their head.

    ``figure`` is empty while the answer cannot be given; then ``sentence`` is the one next step.
    """

    figure: str
    sentence: str
    verdict: Verdict | None
    verdict_words: str
    meaning: str
    advice: str
    spread: str = ""
    """How far the figure may be off for tracing alone: "± 0.4 %"; empty while it is not known."""


def percent(fraction: float, decimals: int = 1) -> str:
    """A fraction in per cent with its sign: "24.6 %"."""
    # Adding zero turns −0.0 into 0.0 after rounding.
    value = round(100.0 * fraction, decimals) + 0.0
    return f"{value:.{decimals}f} %".replace("-", "−")


def aim_words(aim: Aim) -> str:
    """The aim's limits: "22–28 %"."""
    low, high = f"{100 * aim.low:.4g}", f"{100 * aim.high:.4g}"
    return f"{low}–{high} %".replace("-", "−")


_VERDICT_WORDS: dict[Verdict, str] = {
    "below": "below the aim", "within": "within the aim", "above": "above the aim",
}


def answer(design: Design, readings: Readings) -> Answer:
    """The answer for ``design``, whose ``readings`` these are."""
    reading = readings["cla_fraction"]
    if reading.value is None:
        return Answer("", next_step(design, readings), None, "", "", "")
    aim = design.aim
    fraction, verdict = reading.value, reading.verdict
    assert verdict is not None
    side = "behind" if fraction >= 0 else "ahead of"
    sentence = f"The CLA lies {percent(abs(fraction))} of the tail arm {side} the CG."
    return Answer(
        percent(fraction), sentence, verdict, f"{_VERDICT_WORDS[verdict]} of {aim_words(aim)}",
        _meaning(fraction, verdict), _advice(design, readings), _spread(readings),
    )


def _spread(readings: Readings) -> str:
    error = readings.value("cla_fraction_error")
    if error is None:
        return ""
    # Never "± 0.0 %": no tracing is that good.
    return f"± {max(100.0 * error, 0.1):.1f} %"


def next_step(design: Design, readings: Readings) -> str:
    """The one thing to do next on the way to the answer."""
    if not design.outlines and not design.scans:
        return "Open a scan of the plan, or draw from nothing."
    if not design.outlines:
        if not readings.scale_known:
            return "Set the scale of the scan, or begin to trace: the answer does not need a scale."
        return "Trace the fuselage."
    if readings.fin_centre is None and readings["fin_centre_x"].missing == NO_TAIL:
        return "Trace the fin and the rudder."
    if readings.cg is None:
        return "Mark the CG." if design.cg_from == "mark" else "Enter the weights, or mark the CG by hand."
    missing = readings["cla_fraction"].missing or ""
    return missing[:1].upper() + missing[1:] + "."


def steps(design: Design, readings: Readings) -> tuple[tuple[str, bool], ...]:
    """The way to the answer, in the order of work, and which steps are done."""
    kinds = {outline.kind for outline in design.outlines}
    return (
        ("a scan of the plan, or an empty sheet", bool(design.scans or design.outlines)),
        ("its scale, for lengths", bool(design.scans or design.outlines) and readings.scale_known),
        ("the fuselage and what stands on it", bool(kinds - VERTICAL_TAIL)),
        ("the fin and the rudder", readings.fin_centre is not None),
        ("the CG", readings.cg is not None),
    )


def _meaning(fraction: float, verdict: Verdict) -> str:
    if fraction <= 0:
        return "In the air it would try to swap ends: the side area balances ahead of the CG."
    if verdict == "below":
        return (
            "In the air it will yaw freely, and in the extreme swap ends. "
            "Aerobatics like it lower, down to a limit."
        )
    if verdict == "above":
        return (
            "In the air it will hold its heading like a weathercock; "
            "in the extreme the rudder cannot overcome it."
        )
    return "In the air it should hold its heading and still answer the rudder."


def _advice(design: Design, readings: Readings) -> str:
    change = fin_change(readings, design.aim.cla_fraction)
    verdict = readings["cla_fraction"].verdict
    if verdict == "within":
        return "Nothing needs to be done."
    more = verdict == "below"
    goal = percent(design.aim.cla_fraction, 0)
    if change is None:
        return (
            f"No fin at this tail arm can bring it to {goal}: move side area aft, or the CG."
            if more else f"Taking fin away cannot bring it to {goal}: move the CG aft, or side area forward."
        )
    word = "more" if more else "less"
    if readings.scale_known:
        size = format_area(abs(change), design.display_units)
        return f"For {goal} it needs about {size} {word} fin and rudder in all: drag an edge of the fin."
    share = abs(change) / readings.side.tail_moments.area
    return f"For {goal} it needs about {percent(share, 0)} {word} fin and rudder: drag an edge of the fin."


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


def figure(key: str, readings: Readings, units: DisplayUnits) -> str:
    """The reading's value as the person sees it, unit included; "–" where it is missing."""
    reading = readings[key]
    if reading.value is None:
        return "–"
    return shown(reading.spec, reading.value, units)


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
    return format_number(value, spec.places, signed=signed)
