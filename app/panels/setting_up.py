"""Setting up: what to measure while gluing the tail on, from the design as it is now."""

from __future__ import annotations

from core.bench.pairs import pair_settings
from core.bench.setting_up import (
    fin_marks,
    fin_square_check,
    root_rise,
    string_check,
)
from core.bench.tolerances import nose_pin
from core.design import Design, DisplayUnits
from core.units import format_angle, format_length


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
                f"leading edge {format_length(abs(rise.rise), units)} {_way(rise.rise)} the trailing edge "
                f"at the root; {format_length(abs(rise.per_degree), units)} a degree",
            ))
    for tailplane in design.tailplanes:
        pin = nose_pin(design)
        check = string_check(tailplane, pin)
        name = f"{tailplane.name}, strings from a pin at x {format_length(pin.x, units)}"
        if isinstance(check, str):
            lines.append((name, f"not yet: {check}"))
        else:
            lines.append((
                name,
                f"both {format_length(check.square, units)} to the tips; they differ by "
                f"{format_length(abs(check.per_degree), units)} for a degree of skew, and by "
                f"{format_length(abs(check.per_mm_off_centre), units)} for a pin 1 mm off centre",
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
        f"{format_length(abs(check.per_degree), units)} for a degree of lean",
    )]
