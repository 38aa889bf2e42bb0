"""What stands on the setting-up sheet: what to measure, what it should read, how much it may be off."""

from __future__ import annotations

from dataclasses import dataclass

from app.kit.sentences import as_sentence
from core.bench.linkage import (
    ROD_ARMS,
    PullPull,
    Throw,
    horn_for,
    pull_pull_of,
    set_back_without_slack,
    throw_of,
)
from core.bench.linkage import slack_words as _verdict
from core.bench.pairs import pair_settings
from core.bench.setting_up import (
    FinMarks,
    fin_marks,
    fin_square_check,
    root_rise,
    string_check,
    string_lengths,
)
from core.bench.throws import ELEVATOR_DEG, EdgeThrow, elevator_throws, rudder_throws
from core.bench.tolerances import (
    TOLERANCE_DEG,
    fin_parallel_tolerance,
    fin_square_tolerance,
    nose_pin,
    rise_tolerance,
    string_tolerance,
)
from core.design import Design, DisplayUnits, Linkage, Mark, Tailplane
from core.units import format_angle, format_length, format_number, nudge_step

SQUARE = "TAIL SQUARE"


@dataclass(frozen=True)
class Row:
    """One thing to measure. ``missing`` is the reason in place of what it should read."""

    what: str
    how: str = ""
    reads: str = ""
    within: str = ""
    missing: str = ""


@dataclass(frozen=True)
class Section:
    """Rows under a heading, with what goes for all of them, and sentences to mind before anything else."""

    title: str
    rows: tuple[Row, ...]
    note: str = ""
    minds: tuple[str, ...] = ()


def fine_length(mm: float, units: DisplayUnits) -> str:
    """A small length, never shown as nothing where it is something."""
    text = format_length(mm, units)
    if mm and text == format_length(0.0, units):
        return format_number(mm, 2, unit="mm") if units == "mm" else format_number(mm / 25.4, 4, unit="in")
    return text


def sections_of(design: Design) -> tuple[Section, ...]:
    """Everything to measure, in the order in which it is built; the weighings stand by themselves."""
    half = format_angle(TOLERANCE_DEG)
    found = [
        Section(
            "INCIDENCE", tuple(_incidences(design)) or (Row("Wing and tailplane", missing="enter the wing"),),
            "Set the fuselage level along its rigging line; measure both ends of the root chord from one flat"
            f" base. It may be off by {half} (common practice, no source).",
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


def _incidences(design: Design) -> list[Row]:
    units, rows = design.display_units, []
    for surface in design.surfaces:
        rise, within = root_rise(surface), rise_tolerance(surface)
        if isinstance(rise, str) or isinstance(within, str):
            rows.append(Row(f"{surface.name}, incidence", missing=str(rise)))
            continue
        level = format_length(rise.rise, units) == format_length(0.0, units)
        way = "level with" if level else "above" if rise.rise > 0.0 else "below"
        rows.append(Row(
            f"{surface.name}: leading edge {way} the trailing edge",
            f"at the root chord of {format_length(rise.chord, units)}; one degree more is "
            f"{fine_length(abs(rise.per_degree), units)}",
            f"{format_length(abs(rise.rise), units)} ({format_angle(rise.incidence_deg)})",
            f"± {fine_length(within, units)}",
        ))
    return rows


def _square(design: Design) -> list[Row]:
    units, rows, pin = design.display_units, [], nose_pin(design)
    if not design.tailplanes:
        rows.append(Row("Tailplane square", missing="enter the tailplane"))
    place = f"pin on the centre line at x {format_length(pin.x, units)}, z {format_length(pin.z, units)}"
    for tailplane in design.tailplanes:
        check, within = string_check(tailplane, pin), string_tolerance(tailplane, pin)
        if isinstance(check, str) or isinstance(within, str):
            rows.append(Row(f"{tailplane.name}, strings to the tips", missing=str(check)))
            continue
        for side in ("starboard", "port"):
            rows.append(Row(
                f"{tailplane.name}: string from the pin to the {side} tip's leading edge",
                place if side == "starboard"
                else _off_centre(tailplane, pin, units),
                format_length(check.square, units), f"{fine_length(within, units)} apart",
            ))
    rows += _fin(design, design.tailplanes[0] if design.tailplanes else None)
    return rows + _pairs(design)


def _off_centre(tailplane: Tailplane, pin: Mark, units: DisplayUnits) -> str:
    """What a pin a little beside the centre line does; a tailplane seen from the pin is as far beside it."""
    step = nudge_step(units)
    found = string_lengths(tailplane, pin, off_centre=step)
    if isinstance(found, str):
        return ""
    beside = "1 mm" if units == "mm" else "1/16 in"
    return f"a pin {beside} off centre makes them differ by {fine_length(abs(found.difference), units)}"


def _fin(design: Design, tailplane: Tailplane | None) -> list[Row]:
    units, marks = design.display_units, fin_marks(design)
    if isinstance(marks, str):
        return [Row("Fin upright and parallel", missing=marks)]
    rows = [] if tailplane is None else _upright(marks, tailplane, units)
    if not rows:
        rows.append(Row("Fin upright", missing="enter the tailplane"))
    parallel = fine_length(fin_parallel_tolerance(marks), units)
    for edge, x in (("leading", marks.leading_x), ("trailing", marks.trailing_x)):
        rows.append(Row(
            f"Fin parallel: its {edge} edge off the centre line",
            f"half way up: x {format_length(x, units)}, z {format_length(marks.chord_z, units)}",
            format_length(0.0, units), f"± {parallel}",
        ))
    return rows


def _pairs(design: Design) -> list[Row]:
    """How far the two of each pair stand apart, at either edge; alike, they stand parallel."""
    units, rows = design.display_units, []
    for pair in pair_settings(design):
        for edge, x in (("leading", pair.leading_x), ("trailing", pair.trailing_x)):
            rows.append(Row(
                f"{pair.name}: from {edge} edge to {edge} edge",
                f"middle to middle at x {format_length(x, units)}, z {format_length(pair.chord_z, units)}; "
                f"each {format_length(0.5 * pair.apart, units)} off the centre line",
                format_length(pair.apart, units), f"{fine_length(pair.within, units)} apart",
            ))
    return rows


def _upright(marks: FinMarks, tailplane: Tailplane, units: DisplayUnits) -> list[Row]:
    square = fin_square_check(marks.tip, marks.foot_z, tailplane)
    within = fin_square_tolerance(marks, tailplane)
    if isinstance(square, str) or isinstance(within, str):
        return [Row("Fin upright", missing=str(square))]
    place = f"the fin's top corner at x {format_length(marks.tip.x, units)}"
    return [
        Row(
            f"Fin upright: from its tip to the {side} tip of the tailplane",
            place if side == "starboard" else "to the leading edge of the tip",
            format_length(square.upright, units), f"{fine_length(within, units)} apart",
        )
        for side in ("starboard", "port")
    ]


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
            f"chord from the hinge line {format_length(one.chord, design.display_units)}",
            f"{format_length(one.distance, design.display_units)} "
            f"({format_angle(one.degrees, places=0)})",
        ))
    return rows


def linkage_words(linkage: Linkage, units: DisplayUnits) -> str:
    """What a linkage is made of: "servo arm 12.0 mm, 45° each way; horn 15.0 mm"."""
    parts = [
        f"servo arm {format_length(linkage.servo_arm, units)}, "
        f"{format_angle(linkage.servo_travel_deg, places=0)} each way"
    ]
    if linkage.crank_in is not None or linkage.crank_out is not None:
        arms = [
            format_length(arm, units) if arm is not None else "not entered"
            for arm in (linkage.crank_in, linkage.crank_out)
        ]
        parts.append(f"bell crank in {arms[0]}, out {arms[1]}")
    horn = f"horn {format_length(linkage.horn, units)}"
    if linkage.horn_set_back:
        way = "aft" if linkage.horn_set_back > 0.0 else "ahead"
        horn += f", holes {format_length(abs(linkage.horn_set_back), units)} {way} of the hinge line"
    return "; ".join([*parts, horn, "pull-pull wires" if linkage.pull_pull else "rod"])


def throw_rows(linkage: Linkage, found: Throw, units: DisplayUnits) -> list[Row]:
    """The throw both ways, as distance and angle; one row where both are alike."""
    ways = [("rod going aft", found.pushed), ("rod going forward", found.pulled)]
    if linkage.pull_pull or abs(found.pushed - found.pulled) < 0.05:
        ways = [("each way", found.least)]
    chord = f"at the trailing edge, {format_length(found.surface_chord, units)} behind the hinge line"
    return [
        Row(
            f"Full throw, {way}", chord if not at else "",
            f"{format_length(found.at_edge(angle), units)} ({format_angle(angle)})",
        )
        for at, (way, angle) in enumerate(ways)
    ]


def slack_row(found: PullPull, units: DisplayUnits) -> Row:
    """The idle wire where it is furthest from fitting."""
    place = (
        f"worst with the servo at {format_angle(found.worst_servo_deg, places=0)}, the surface at "
        f"{format_angle(found.worst_surface_deg)}: {format_length(found.wire_at_worst, units)} needed, "
        f"{format_length(found.wire, units)} given"
    )
    size = fine_length(abs(found.worst), units)
    if abs(found.worst) < 0.005:
        return Row("Idle wire through the travel", "both wires fit everywhere", "no slack")
    what = "slack" if found.worst > 0.0 else "short"
    return Row("Idle wire through the travel", place, f"{size} {what}")


def linkage_notes(linkage: Linkage, units: DisplayUnits) -> list[str]:
    """Checks beside the throw, one sentence each; empty while it cannot be computed."""
    found = throw_of(linkage)
    if isinstance(found, str):
        return []
    notes = [
        f"By the ratio of the arms, right for small angles: {format_angle(found.by_ratio)}."
    ]
    if found.rod_matters >= 0.1:
        notes.append(
            f"Rods are taken {ROD_ARMS:g} times as long as the longer arm; half as long, they change it by "
            f"{format_angle(found.rod_matters)}."
        )
    return notes


def linkage_minds(linkage: Linkage, units: DisplayUnits) -> list[str]:
    """What to mend, one sentence each: near dead centre, wires that hang slack or bind."""
    found = throw_of(linkage)
    if isinstance(found, str):
        return []
    minds = [as_sentence(found.near_dead)] if found.near_dead else []
    return [*minds, *_wire_minds(linkage, units)] if linkage.pull_pull else minds


def _wire_minds(linkage: Linkage, units: DisplayUnits) -> list[str]:
    found = pull_pull_of(linkage)
    if isinstance(found, str):
        return []
    verdict = _verdict(found)
    if verdict == "true":
        return []
    trouble = (
        "The surface is loose at full throw" if verdict == "slack" else "The wires pull against each other"
    )
    set_back = set_back_without_slack(linkage)
    if isinstance(set_back, str):
        return [f"{trouble}; {set_back}."]
    if abs(set_back) < 0.3:
        cure = "put the holes of the horn square over the hinge line"
    else:
        way = "aft" if set_back > 0.0 else "ahead"
        cure = f"put the holes of the horn {format_length(abs(set_back), units)} {way} of the hinge line"
    return [f"{trouble}: {cure}."]


def wanted_deg(design: Design, linkage: Linkage) -> float | None:
    """The throw in degrees that the readings, or this sheet, want of what the linkage moves; or None."""
    return {"rudder": design.flight.rudder_throw_deg, "elevator": ELEVATOR_DEG}.get(linkage.moves)


def horn_words(linkage: Linkage, wanted: float, units: DisplayUnits) -> str:
    """The horn for a wanted throw: "For 25.0° each way: a horn of 18.0 mm.", or why there is none."""
    horn = horn_for(linkage, wanted)
    told = horn if isinstance(horn, str) else f"a horn of {format_length(horn, units)}"
    return f"For {format_angle(wanted)} each way: {told}."


def linkage_section(linkage: Linkage, units: DisplayUnits, wanted: float | None = None) -> Section:
    """One linkage: what it is made of, its throw, the wires, the horn for a wanted throw, what to mind."""
    title = f"LINKAGE: {linkage.name}, moves the {linkage.moves}"
    if linkage.moves == "other":
        title = f"LINKAGE: {linkage.name}"
    words = linkage_words(linkage, units)
    words = words[0].upper() + words[1:] + "."
    found = throw_of(linkage)
    if isinstance(found, str):
        return Section(title, (Row("Full throw", missing=found),), words)
    rows = throw_rows(linkage, found, units)
    if linkage.pull_pull:
        wires = pull_pull_of(linkage)
        rows.append(
            Row("Idle wire", missing=wires) if isinstance(wires, str) else slack_row(wires, units)
        )
    notes = linkage_notes(linkage, units)
    if wanted:
        notes.insert(0, horn_words(linkage, wanted, units))
    return Section(title, tuple(rows), " ".join([words, *notes]),
                   tuple(linkage_minds(linkage, units)))
