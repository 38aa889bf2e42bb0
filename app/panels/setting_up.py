"""Setting up: what to measure while gluing the tail on, from the design as it is now."""

from __future__ import annotations

from core.bench.pairs import pair_settings
from core.bench.pin import pin_of
from core.bench.setting_up import (
    fin_marks,
    fin_square_check,
    root_rise,
    string_check,
)
from core.bench.taut import body_of
from core.design import Design, DisplayUnits
from core.units import format_angle, format_fine, format_length, nudge_step


def _off_centre(per_mm: float, units: DisplayUnits) -> str:
    """What a pin beside the centre line does, by a step of the rule in hand."""
    words = "1 mm" if units == "mm" else "1/16 in"
    return f"{format_fine(abs(per_mm) * nudge_step(units), units)} for a pin {words} off centre"


def setting_up_lines(design: Design) -> list[tuple[str, str]]:
    """(what to measure, what it should read) for wings, tailplanes and fin, or why it cannot be told."""
    units = design.display_units
    lines: list[tuple[str, str]] = []
    for surface in design.surfaces:
        rise = root_rise(surface)
        if isinstance(rise, str):
            lines.append((f"{surface.name}, incidence", f"not yet: {rise}"))
        else:
            lines.append((
                f"{surface.name} at {format_angle(rise.incidence_deg)}",
                f"leading edge {format_fine(abs(rise.rise), units)} {_way(rise.rise)} the trailing edge "
                f"at the root; {format_fine(abs(rise.per_degree), units)} a degree",
            ))
    for tailplane in design.tailplanes:
        pin = pin_of(design)
        check = string_check(tailplane, pin, body=body_of(design))
        name = f"{tailplane.name}, strings from a pin at x {format_length(pin.x, units)}"
        if isinstance(check, str):
            lines.append((name, f"not yet: {check}"))
        else:
            lines.append((
                name,
                f"both {format_length(check.square, units)} to the tips; they differ by "
                f"{format_fine(abs(check.per_degree), units)} for a degree of skew, and by "
                f"{_off_centre(check.per_mm_off_centre, units)}",
            ))
    lines.extend(_fin(design, units))
    lines.extend(
        (f"{pair.name}, apart", f"{format_length(pair.apart, units)}, middle to middle at both edges")
        for pair in pair_settings(design)
    )
    return lines


def _way(rise: float) -> str:
    return "above" if rise >= 0 else "below"


def _fin(design: Design, units: DisplayUnits) -> list[tuple[str, str]]:
    name = "Fin upright: its tip to the two tailplane tips"
    marks = fin_marks(design)
    if isinstance(marks, str):
        return [(name, f"not yet: {marks}")]
    if not design.tailplanes:
        return [(name, "not yet: enter the tailplane")]
    check = fin_square_check(marks.tip, marks.foot_z, design.tailplanes[0])
    if isinstance(check, str):
        return [(name, f"not yet: {check}")]
    return [(
        name,
        f"both {format_length(check.upright, units)}; they differ by "
        f"{format_fine(abs(check.per_degree), units)} for a degree of lean",
    )]
