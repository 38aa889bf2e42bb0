"""The command that prints every reading. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

from collections.abc import Mapping

from app.cli.common import DONE, Parser, aligned, one_line, opened, say, say_json
from app.paper.grouped import GROUPED, given
from core.design import Design, DisplayUnits
from core.stability.answer import Answer, answer
from core.stability.catalogue import GROUPS
from core.stability.readings import ERRORS, Readings, ReadingsEngine, read_twice
from core.stability.side_area import form_of, surface_patch
from core.stability.wording import figure, instead, percent
from core.units import MISSING, format_area, format_length


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--json", action="store_true")
    parser.set_defaults(run=lambda given: print_readings(given.design, as_json=given.json))


def print_readings(name: str, *, as_json: bool) -> int:
    """Every reading of the design in the file ``name``, as text or as one JSON object."""
    found = opened(name)
    readings = read_twice(found.design)
    areas = {} if readings.untold else ReadingsEngine().counted_areas(found.design)
    warnings = list(dict.fromkeys([*readings.warnings, *found.troubles]))
    if as_json:
        say_json(readings_table(found.design, readings, areas, warnings))
    else:
        say(_text(found.design, readings, areas, warnings))
    return DONE


def readings_table(
    design: Design, readings: Readings, areas: Mapping[str, float], warnings: list[str]
) -> dict[str, object]:
    """What ``--json`` prints. Lengths in mm, areas in mm2, fractions as parts of 1 with the unit "1".

    While the scale is not set, lengths and areas are null.
    """
    outlines: list[dict[str, object]] = []
    for outline in design.outlines:
        form = form_of(outline)
        moments, told = form.patch.moments, readings.scale_known and form.untold is None
        centre = moments.centroid() if told else None
        outlines.append({
            "id": outline.id,
            "area": moments.area if told else None,
            "counted_area": areas.get(outline.id) if readings.scale_known else None,
            "centroid_x": centre[0] if centre else None,
            "centroid_z": centre[1] if centre else None,
        })
    return {
        "title": design.title,
        "answer": answer_table(answer(design, readings)),
        "readings": {
            key: {"value": r.value, "unit": r.unit, "verdict": r.verdict, "missing": r.missing}
            for key, r in readings.table.items()
        },
        "outlines": outlines,
        "warnings": warnings,
    }


def answer_table(said: Answer) -> dict[str, object]:
    """The answer as ``--json`` prints it: fractions as parts of 1, Cnβ per radian [low, best, high]."""
    return {
        "state": said.state, "words": list(said.words),
        "left_out": [note.words for note in said.left_out],
        "guessed": [note.words for note in said.guessed],
        "at_odds": [note.words for note in said.at_odds],
        "cla_fraction": said.cla_fraction, "plus_minus": said.plus_minus,
        "cn_beta": list(said.cn_beta) if said.cn_beta else None,
    }


def answer_lines(said: Answer) -> list[str]:
    """The answer as it is printed, with what stands under it."""
    if said.figure:
        state = said.state_words[:1].upper() + said.state_words[1:]
        lines = [f"{said.sentence} {state}.", said.meaning, said.advice]
    else:
        lines = [f"No answer yet. The next step: {said.sentence}"]
    for words, notes in (
        ("At odds", said.at_odds), ("Left out", said.left_out), ("Guessed", said.guessed)
    ):
        lines += [f"{words}: {one_line(note.words)}" for note in notes]
    return [*lines, said.sure] if said.sure else lines


def _text(design: Design, readings: Readings, areas: Mapping[str, float], warnings: list[str]) -> list[str]:
    said = answer(design, readings)
    units = design.display_units
    lines = [one_line(design.title) or "Untitled", ""]
    lines += answer_lines(said)
    lines += _reading_lines(readings, units)
    if design.outlines or design.wings or design.tailplanes:
        lines += ["", "Outlines and surfaces"]
        lines += aligned(_area_rows(design, readings, areas, units), "llrrrrr")
        lines += ["  (counted: the area that would be lost from the side area without it)"]
    if warnings:
        lines += ["", "Warnings", *(f"  {one_line(warning)}" for warning in warnings)]
    return lines


def _reading_lines(readings: Readings, units: DisplayUnits) -> list[str]:
    """Every reading by groups; a group that is missing altogether in one line, with what it would tell."""
    groups = given(readings)
    first = ["cla_fraction", *ERRORS, "cg_x", "cg_z"]
    blocks = [("Readings", first), *((f"{g.title}: {g.tells}", list(g.readings)) for g in groups)]
    rest = [key for key in readings.table if key not in GROUPED and key not in first]
    known = [key for key in rest if readings.value(key) is not None]
    if known:
        blocks.append(("Further readings", rest))
    rows = aligned([_reading_row(key, readings, units) for _, keys in blocks for key in keys], "lrl")
    lines: list[str] = []
    at = 0
    for title, keys in blocks:
        lines += ["", title, *rows[at : at + len(keys)]]
        at += len(keys)
    gone: list[tuple[str, ...]] = [
        (g.title, f"{g.tells}: {readings[g.readings[0]].missing}") for g in GROUPS if g not in groups
    ]
    if not known:
        gone.append(("Further readings", f"{', '.join(readings[key].label for key in rest)}: not given"))
    if gone:
        lines += ["", "Not given", *aligned(gone, "ll")]
    return lines


def _reading_row(key: str, readings: Readings, units: DisplayUnits) -> tuple[str, ...]:
    reading = readings[key]
    said = instead(reading) or figure(key, readings, units)
    # What stands in place of a figure is not said twice.
    why = "" if said == reading.missing else reading.missing or ""
    return reading.label, said, reading.verdict or why


def _area_rows(
    design: Design, readings: Readings, areas: Mapping[str, float], units: DisplayUnits
) -> list[tuple[str, ...]]:
    whole = readings.side.moments.area
    known = readings.scale_known

    def cells(
        area: float | None, counted: float | None, centre: tuple[float, float] | None
    ) -> tuple[str, ...]:
        return (
            format_area(area, units) if known and area is not None else MISSING,
            format_area(counted, units) if known and counted is not None else MISSING,
            percent(counted / whole) if whole > 0.0 and counted is not None else MISSING,
            f"x {format_length(centre[0], units)}, z {format_length(centre[1], units)}"
            if centre and known else MISSING,
        )

    rows: list[tuple[str, ...]] = [("label", "kind", "count", "area", "counted", "share", "centroid")]
    for outline in design.outlines:
        form = form_of(outline)
        area = form.patch.moments.area if form.untold is None else None
        rows.append((
            one_line(outline.name), outline.kind, str(outline.count),
            *cells(area, areas.get(outline.id), form.patch.moments.centroid()),
        ))
    for kind, surfaces in (("wing", design.wings), ("tailplane", design.tailplanes)):
        for surface in surfaces:
            moments = surface_patch(surface).moments
            counted = 2.0 * moments.area if surface.in_side_area else 0.0
            rows.append((
                one_line(surface.name), kind, "2", *cells(moments.area, counted, moments.centroid()),
            ))
    return rows
