"""What stands on the setting-up sheet: what to measure, what it should read, how much it may be off."""

from __future__ import annotations

from app.paper.linkage_rows import linkage_section, wanted_deg
from app.paper.setting_up_row import BOTH_EDGES, BOTH_SIDES, Row, Section, fine_length
from core.bench.from_wing import cg_behind_wing_le, foremost_wing, from_wing_words
from core.bench.levels import datum_place, incidence_difference, rises_of, root_of_tail
from core.bench.pairs import pair_settings
from core.bench.pin import PinPlace, pin_of, place_of, tail_end_of
from core.bench.setting_up import (
    FinMarks,
    StringCheck,
    fin_marks,
    fin_square_check,
    leading_edge_rise,
    root_rise,
    starboard_tip,
    string_check,
    string_lengths,
)
from core.bench.taut import Body, body_of
from core.bench.throws import ELEVATOR_DEG, EdgeThrow, elevator_throws, rudder_throws
from core.bench.tolerances import (
    DIFFERENCE_DEG,
    TOLERANCE_DEG,
    fin_parallel_tolerance,
    fin_square_tolerance,
    level_tolerance,
    rise_tolerance,
    string_tolerance,
)
from core.design import Design, DisplayUnits, Mark, Tailplane
from core.stability.balance import cg_of
from core.units import format_angle, format_fine, nudge_step

SQUARE = "TAIL SQUARE"
_AT = 0.5
"""mm: nearer to a point than this is at it, on a sheet for a ruler (our own choice)."""


def sections_of(design: Design) -> tuple[Section, ...]:
    """Everything to measure, in the order in which it is built; the weighings stand by themselves."""
    half = format_angle(TOLERANCE_DEG)
    found = [
        Section("DATUM AND CG", tuple(_cg(design)), datum_words(design)),
        Section(
            "INCIDENCE", tuple(_incidences(design)) or (Row("Wing and tailplane", missing="enter the wing"),),
            "Set the fuselage level along its rigging line; measure both ends of the root chord from one flat"
            f" base. May be off: {half}, the difference of both {format_angle(DIFFERENCE_DEG, places=2)}, as"
            " that is what trims (common practice, no source).",
        ),
        Section(
            "WING SQUARE AND LEVEL", tuple(_wing(design)) or (Row("Wing square", missing="enter the wing"),),
            "Both lengths alike, both heights alike: from one flat base, the root level across. May be off: "
            f"what {half} comes to (common practice, no source).",
        ),
        Section(
            SQUARE, tuple(_square(design)),
            "Measure before the glue sets; both lengths of a pair must be alike. The fin's edges: from "
            f"a string along the centre line to the middle of its thickness. May be off: what {half} comes to"
            " (common practice, no source).",
        ),
        Section(
            "CONTROL THROWS", tuple(_throws(design)),
            "At the trailing edge, square to the neutral line, to each side. Elevator at "
            f"{format_angle(ELEVATOR_DEG, places=0)} (common practice, no source), the rudder at the design's"
            " throw.",
        ),
    ]
    found += [
        linkage_section(linkage, design.display_units, wanted_deg(design, linkage))
        for linkage in design.bench.linkages
    ]
    return tuple(found)


def datum_words(design: Design) -> str:
    """Where the datum lies on the aeroplane, in a sentence or two."""
    units, place = design.display_units, datum_place(design)
    if isinstance(place, str):
        return f"Where the datum lies on the aeroplane cannot be told: {place}."
    ahead = format_fine(abs(place.ahead), units)
    where = (
        "at the foremost point of the nose" if abs(place.ahead) < _AT
        else f"{ahead} ahead of the foremost point of the nose" if place.ahead > 0.0
        else f"{ahead} behind the foremost point of the nose"
    )
    up = format_fine(abs(place.above), units)
    level = "through" if abs(place.above) < _AT else f"{up} {'above' if place.above > 0.0 else 'below'}"
    return (
        f"The datum lies {where}: stations x count aft from there. Heights z count up from a level line "
        f"{level} {'it' if level == 'through' else 'that point'}."
    )


def _cg(design: Design) -> list[Row]:
    units, behind, wing = design.display_units, cg_behind_wing_le(design), foremost_wing(design)
    cg, why = cg_of(design)
    if cg is None:
        return [Row("CG", missing=why)]
    if isinstance(behind, str) or wing is None:
        return [
            Row("CG behind the leading edge of the wing's root", missing=str(behind)),
            Row("CG, aft of the datum", f"z {format_fine(cg.z, units)}", format_fine(cg.x, units)),
        ]
    name = "the wing" if len(design.wings) == 1 else wing.name
    way = "behind" if behind >= 0.0 else "ahead of"
    return [Row(
        f"CG {way} the leading edge of {name}'s root",
        f"x {format_fine(cg.x, units)} aft of the datum, z {format_fine(cg.z, units)}",
        format_fine(abs(behind), units),
    )]


def _incidences(design: Design) -> list[Row]:
    units, rows = design.display_units, []
    for surface in design.surfaces:
        rise, within = root_rise(surface), rise_tolerance(surface)
        if isinstance(rise, str) or isinstance(within, str):
            rows.append(Row(f"{surface.name}, incidence", missing=str(rise)))
            continue
        level = format_fine(rise.rise, units) == format_fine(0.0, units)
        way = "level with" if level else "above" if rise.rise > 0.0 else "below"
        rows.append(Row(
            f"{surface.name}: leading edge {way} the trailing edge",
            f"at the root chord of {format_fine(rise.chord, units)}; one degree more is "
            f"{fine_length(abs(rise.per_degree), units)}",
            f"{format_fine(abs(rise.rise), units)} ({format_angle(rise.incidence_deg)})",
            f"± {fine_length(within, units)}",
        ))
    for tailplane in design.tailplanes if design.wings else ():
        difference, chord = incidence_difference(design, tailplane), root_of_tail(tailplane)
        if isinstance(difference, str) or chord is None:
            continue
        name = "tailplane" if len(design.tailplanes) == 1 else tailplane.name
        fine = leading_edge_rise(chord, DIFFERENCE_DEG)
        at = f", {fine_length(fine, units)} at the {name}'s root chord" if isinstance(fine, float) else ""
        rows.append(Row(
            f"Wing against {name}: difference of incidence",
            f"set the {name} last, from the wing as it came out{at}",
            format_angle(difference), f"± {format_angle(DIFFERENCE_DEG, places=2)}",
        ))
    return rows


def _wing(design: Design) -> list[Row]:
    """Square to the fuselage, by strings to its tail end; and the rise of the tips."""
    units, rows, end = design.display_units, [], tail_end_of(design)
    for wing in design.wings:
        what = f"{wing.name} square: from each tip's leading edge to the tail end"
        if end is None:
            rows.append(Row(what, missing="trace the fuselage"))
        else:
            check, within = string_check(wing, end), string_tolerance(wing, end)
            if isinstance(check, str) or isinstance(within, str):
                rows.append(Row(what, missing=str(check)))
            else:
                rows.append(Row(
                    what, f"the middle of the fuselage's end, x {format_fine(end.x, units)}, z "
                    f"{format_fine(end.z, units)}",
                    format_fine(check.square, units), f"{fine_length(within, units)} apart",
                    blanks=BOTH_SIDES,
                ))
        rises = rises_of(wing)
        if isinstance(rises, str):
            rows.append(Row(f"{wing.name}, dihedral", missing=rises))
            continue
        for rise in rises:
            place = "tips" if rise.at_tip else "joints"
            way = "above" if rise.rise >= 0.0 else "below"
            rows.append(Row(
                f"{wing.name}, dihedral: leading edge at the {place} {way} the root's",
                f"{format_fine(rise.y, units)} out from the centre line",
                format_fine(abs(rise.rise), units), f"± {fine_length(level_tolerance(rise.run), units)}",
                blanks=BOTH_SIDES,
            ))
    return rows


def _level(tailplane: Tailplane, units: DisplayUnits) -> Row:
    tip = starboard_tip(tailplane)
    what = f"{tailplane.name} level: heights of both tips over the base"
    if isinstance(tip, str):
        return Row(what, missing=tip)
    return Row(
        what, "with the tips of the wing at one height; a difference of 0", "alike",
        f"{fine_length(level_tolerance(2.0 * tip[1]), units)} apart", blanks=BOTH_SIDES,
    )


def _square(design: Design) -> list[Row]:
    units, rows, pin, body = design.display_units, [], pin_of(design), body_of(design)
    if not design.tailplanes:
        rows.append(Row("Tailplane square", missing="enter the tailplane"))
    for tailplane in design.tailplanes:
        rows.append(_level(tailplane, units))
        check, within = string_check(tailplane, pin, body=body), string_tolerance(tailplane, pin, body)
        if isinstance(check, str) or isinstance(within, str):
            rows.append(Row(f"{tailplane.name}, strings to the tips", missing=str(check)))
            continue
        rows.append(Row(
            f"{tailplane.name} square: string from the pin to each tip's leading edge",
            "; ".join((
                pin_words(design, place_of(design, pin)), string_words(check, body, units),
                _off_centre(tailplane, pin, body, units),
            )),
            format_fine(check.square, units), f"{fine_length(within, units)} apart", blanks=BOTH_SIDES,
        ))
    rows += _fin(design, design.tailplanes[0] if design.tailplanes else None)
    return rows + _pairs(design)


def pin_words(design: Design, place: PinPlace) -> str:
    """Where the pin stands: "pin on the centre line 215.0 mm behind the leading edge of … (x …, z …)"."""
    units, pin = design.display_units, place.mark
    at = f"(x {format_fine(pin.x, units)}, z {format_fine(pin.z, units)})"
    where = from_wing_words(design, pin.x)
    said = f"pin on the centre line {where} {at}" if where else f"pin on the centre line {at}"
    above = place.above_body
    if above is None:
        return said
    far = format_fine(abs(above), units)
    if far == format_fine(0.0, units):
        where = {"nose": "at the nose", "tail": "at the end of the body"}.get(place.end, "on top of the body")
        return f"{said}, {where}"
    return f"{said}, {far} {'above' if above > 0.0 else 'below'} the body's top"


def string_words(check: StringCheck, body: Body | None, units: DisplayUnits) -> str:
    """How the string runs: free, or over a body that is as wide as the design knows."""
    if body is None:
        return "the string runs straight"
    if check.on_body == 0.0:
        return "the string runs free of the body"
    apart = format_fine(2.0 * body.half, units)
    wide = f"{apart} apart" if body.width_known else f"as far apart as it is deep, {apart}"
    on_body = format_fine(check.on_body, units)
    return f"the string lies on the body for {on_body}, its sides taken flat, {wide}"


def _off_centre(tailplane: Tailplane, pin: Mark, body: Body | None, units: DisplayUnits) -> str:
    """What a pin a little beside the centre line does; a tailplane seen from the pin is as far beside it."""
    step = nudge_step(units)
    found = string_lengths(tailplane, pin, off_centre=step, body=body)
    if isinstance(found, str):
        return ""
    beside = "1 mm" if units == "mm" else "1/16 in"
    return f"a pin {beside} off centre makes them differ by {fine_length(abs(found.difference), units)}"


def _fin(design: Design, tailplane: Tailplane | None) -> list[Row]:
    units, marks = design.display_units, fin_marks(design)
    if isinstance(marks, str):
        return [Row("Fin upright and parallel", missing=marks)]
    rows = [Row("Fin upright", missing="enter the tailplane")]
    if tailplane is not None:
        rows = [_upright(marks, tailplane, units)]
    rows.append(Row(
        "Fin parallel: its leading and trailing edge off the centre line",
        f"half way up, z {format_fine(marks.chord_z, units)}: "
        f"x {format_fine(marks.leading_x, units)} and x {format_fine(marks.trailing_x, units)}",
        format_fine(0.0, units), f"± {fine_length(fin_parallel_tolerance(marks), units)}",
        blanks=BOTH_EDGES,
    ))
    return rows


def _pairs(design: Design) -> list[Row]:
    """How far the two of each pair stand apart, at either edge; alike, they stand parallel."""
    units = design.display_units
    return [
        Row(
            f"{pair.name}: apart at the leading edges, and at the trailing edges",
            f"middle to middle at z {format_fine(pair.chord_z, units)}, x "
            f"{format_fine(pair.leading_x, units)} and x {format_fine(pair.trailing_x, units)}; "
            f"each {format_fine(0.5 * pair.apart, units)} off the centre line",
            format_fine(pair.apart, units), f"{fine_length(pair.within, units)} apart", blanks=BOTH_EDGES,
        )
        for pair in pair_settings(design)
    ]


def _upright(marks: FinMarks, tailplane: Tailplane, units: DisplayUnits) -> Row:
    square = fin_square_check(marks.tip, marks.foot_z, tailplane)
    within = fin_square_tolerance(marks, tailplane)
    if isinstance(square, str) or isinstance(within, str):
        return Row("Fin upright", missing=str(square))
    return Row(
        "Fin upright: from its tip to each tip of the tailplane",
        f"the fin's top corner at x {format_fine(marks.tip.x, units)}, to the leading edge of the tips",
        format_fine(square.upright, units), f"{fine_length(within, units)} apart", blanks=BOTH_SIDES,
    )


def _throws(design: Design) -> list[Row]:
    rows = []
    found: list[EdgeThrow | str] = list(rudder_throws(design))
    for tailplane in design.tailplanes:
        elevators = elevator_throws(tailplane)
        found += [elevators] if isinstance(elevators, str) else elevators
    for one in found:
        if isinstance(one, str):
            rows.append(Row("Control throw", missing=one))
            continue
        rows.append(Row(
            f"{one.name}, {one.where}: each way",
            f"chord from the hinge line {format_fine(one.chord, design.display_units)}",
            f"{format_fine(one.distance, design.display_units)} "
            f"({format_angle(one.degrees, places=0)})",
        ))
    return rows
