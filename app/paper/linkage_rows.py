"""What stands on the setting-up sheet, and beside the table, about a linkage."""

from __future__ import annotations

from app.kit.sentences import as_sentence
from app.paper.setting_up_row import Row, Section, fine_length
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
from core.bench.throws import ELEVATOR_DEG
from core.design import Design, DisplayUnits
from core.design_bench import Linkage
from core.units import format_angle, format_fine


def linkage_words(linkage: Linkage, units: DisplayUnits) -> str:
    """What a linkage is made of: "servo arm 12.0 mm, 45° each way; horn 15.0 mm"."""
    parts = [
        f"servo arm {format_fine(linkage.servo_arm, units)}, "
        f"{format_angle(linkage.servo_travel_deg, places=0)} each way"
    ]
    if linkage.crank_in is not None or linkage.crank_out is not None:
        arms = [
            format_fine(arm, units) if arm is not None else "not entered"
            for arm in (linkage.crank_in, linkage.crank_out)
        ]
        parts.append(f"bell crank in {arms[0]}, out {arms[1]}")
    horn = f"horn {format_fine(linkage.horn, units)}"
    if linkage.horn_set_back:
        way = "aft" if linkage.horn_set_back > 0.0 else "ahead"
        horn += f", holes {format_fine(abs(linkage.horn_set_back), units)} {way} of the hinge line"
    return "; ".join([*parts, horn, "pull-pull wires" if linkage.pull_pull else "rod"])


def throw_rows(linkage: Linkage, found: Throw, units: DisplayUnits) -> list[Row]:
    """The throw both ways, as distance and angle; one row where both are alike."""
    ways = [("rod going aft", found.pushed), ("rod going forward", found.pulled)]
    if linkage.pull_pull or abs(found.pushed - found.pulled) < 0.05:
        ways = [("each way", found.least)]
    chord = f"at the trailing edge, {format_fine(found.surface_chord, units)} behind the hinge line"
    return [
        Row(
            f"Full throw, {way}", chord if not at else "",
            f"{format_fine(found.at_edge(angle), units)} ({format_angle(angle)})",
        )
        for at, (way, angle) in enumerate(ways)
    ]


def slack_row(found: PullPull, units: DisplayUnits) -> Row:
    """The idle wire where it is furthest from fitting."""
    place = (
        f"worst with the servo at {format_angle(found.worst_servo_deg, places=0)}, the surface at "
        f"{format_angle(found.worst_surface_deg)}: {format_fine(found.wire_at_worst, units)} needed, "
        f"{format_fine(found.wire, units)} given"
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
        cure = f"put the holes of the horn {format_fine(abs(set_back), units)} {way} of the hinge line"
    return [f"{trouble}: {cure}."]


def wanted_deg(design: Design, linkage: Linkage) -> float | None:
    """The throw in degrees that the readings, or this sheet, want of what the linkage moves; or None."""
    return {"rudder": design.flight.rudder_throw_deg, "elevator": ELEVATOR_DEG}.get(linkage.moves)


def horn_words(linkage: Linkage, wanted: float, units: DisplayUnits) -> str:
    """The horn for a wanted throw: "For 25.0° each way: a horn of 18.0 mm.", or why there is none."""
    horn = horn_for(linkage, wanted)
    told = horn if isinstance(horn, str) else f"a horn of {format_fine(horn, units)}"
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
