"""The commands that need no window: readings, sheet, check.

Each returns the exit status: 0 done, 1 the file's content is at fault, 2 the command line is.
What was asked for goes to standard output, errors to standard error, one line each.
"""

from __future__ import annotations

import datetime
import json
import os
import re
import sys
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Literal, TextIO

from app.paper.grouped import GROUPED, given
from core.design import Design, DisplayUnits
from core.design_file import DesignFile, DesignFileError, read
from core.stability.answer import Answer, answer
from core.stability.catalogue import GROUPS
from core.stability.readings import ERRORS, NO_SCALE, Readings, ReadingsEngine, read_twice, scale_known
from core.stability.side_area import form_of, surface_patch
from core.stability.wording import figure, percent
from core.units import MISSING, format_area, format_length

DONE, CONTENT, COMMAND_LINE = 0, 1, 2
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")


class CommandError(Exception):
    """Ends a command: what to say on standard error, one line each, and the exit status."""

    def __init__(self, lines: list[str], status: int) -> None:
        super().__init__(lines[0])
        self.lines = lines
        self.status = status


def one_line(text: str) -> str:
    """``text`` with control characters, which could steer a terminal, turned into blanks."""
    return " ".join(_CONTROL.sub(" ", text).split())


def say(lines: Iterable[str], stream: TextIO | None = None) -> None:
    """Write lines; quiet where the reader has gone ("| head") or there is no such stream."""
    stream = sys.stdout if stream is None else stream
    if stream is None:
        return
    try:
        stream.write("".join(line + "\n" for line in lines))
        stream.flush()
    except OSError as error:
        # Else Python complains once more when it closes the stream on leaving.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        if not isinstance(error, BrokenPipeError) and stream is not sys.stderr:
            raise CommandError(
                [f"sternpost: the output could not be written ({error.strerror}); send it elsewhere"],
                COMMAND_LINE,
            ) from None


def _not_usable(name: str, error: OSError | ValueError) -> str:
    why = getattr(error, "strerror", None) or error
    return f"{one_line(name)}: it cannot be used ({why}); check the name"


def must_be_readable(name: str) -> None:
    """CommandError where there is no file of that name that can be read."""
    try:
        path = Path(name)
        if path.is_dir():
            fault = f"{one_line(name)}: this is a folder; name a design file"
        elif not path.exists():
            fault = f"{one_line(name)}: there is no such file; check the name"
        elif not os.access(path, os.R_OK):
            fault = f"{one_line(name)}: permission to read it was refused; check whose file it is"
        else:
            return
    except (OSError, ValueError) as error:
        fault = _not_usable(name, error)
    raise CommandError([fault], COMMAND_LINE)


def _opened(name: str, *, every_fault: bool = False) -> DesignFile:
    must_be_readable(name)
    try:
        return read(Path(name))
    except DesignFileError as error:
        shown = error.sentences if every_fault else error.sentences[:1]
        lines = [f"{one_line(name)}: {one_line(sentence)}" for sentence in shown]
        hidden = len(error.sentences) - len(shown)
        if hidden:
            lines[0] += f" (and {hidden} more; “sternpost check” names them all)"
        raise CommandError(lines, CONTENT) from None


def print_readings(name: str, *, as_json: bool) -> int:
    """Every reading of the design in the file ``name``, as text or as one JSON object."""
    opened = _opened(name)
    readings = read_twice(opened.design)
    areas = {} if readings.untold else ReadingsEngine().counted_areas(opened.design)
    warnings = list(dict.fromkeys([*readings.warnings, *opened.troubles]))
    if as_json:
        utf = (getattr(sys.stdout, "encoding", "") or "").lower().startswith("utf")
        table = readings_table(opened.design, readings, areas, warnings)
        say([json.dumps(table, indent=2, ensure_ascii=not utf, allow_nan=False)])
    else:
        say(_text(opened.design, readings, areas, warnings))
    return DONE


def readings_table(
    design: Design, readings: Readings, areas: Mapping[str, float], warnings: list[str]
) -> dict[str, object]:
    """What ``--json`` prints. Lengths in mm, areas in mm2, fractions as parts of 1 with the unit "1".

    While the scale is not set, lengths and areas are null.
    """
    outlines: list[dict[str, object]] = []
    for outline in design.outlines:
        moments = form_of(outline).patch.moments
        centre = moments.centroid() if readings.scale_known else None
        outlines.append({
            "id": outline.id,
            "area": moments.area if readings.scale_known else None,
            "counted_area": areas[outline.id] if readings.scale_known else None,
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
        lines += _aligned(_area_rows(design, readings, areas, units), "llrrrrr")
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
    rows = _aligned([_reading_row(key, readings, units) for _, keys in blocks for key in keys], "lrl")
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
        lines += ["", "Not given", *_aligned(gone, "ll")]
    return lines


def _reading_row(key: str, readings: Readings, units: DisplayUnits) -> tuple[str, ...]:
    reading = readings[key]
    return reading.label, figure(key, readings, units), reading.verdict or reading.missing or ""


def _area_rows(
    design: Design, readings: Readings, areas: Mapping[str, float], units: DisplayUnits
) -> list[tuple[str, ...]]:
    whole = readings.side.moments.area
    known = readings.scale_known

    def cells(area: float, counted: float, centre: tuple[float, float] | None) -> tuple[str, ...]:
        return (
            format_area(area, units) if known else MISSING,
            format_area(counted, units) if known else MISSING,
            percent(counted / whole) if whole > 0.0 else MISSING,
            f"x {format_length(centre[0], units)}, z {format_length(centre[1], units)}"
            if centre and known else MISSING,
        )

    rows: list[tuple[str, ...]] = [("label", "kind", "count", "area", "counted", "share", "centroid")]
    for outline in design.outlines:
        moments = form_of(outline).patch.moments
        rows.append((
            one_line(outline.name), outline.kind, str(outline.count),
            *cells(moments.area, areas[outline.id], moments.centroid()),
        ))
    for kind, surfaces in (("wing", design.wings), ("tailplane", design.tailplanes)):
        for surface in surfaces:
            moments = surface_patch(surface).moments
            counted = 2.0 * moments.area if surface.in_side_area else 0.0
            rows.append((
                one_line(surface.name), kind, "2", *cells(moments.area, counted, moments.centroid()),
            ))
    return rows


def _aligned(rows: list[tuple[str, ...]], sides: str) -> list[str]:
    widths = [max(len(row[i]) for row in rows) for i in range(len(sides))]
    return [
        ("  " + "  ".join(
            cell.rjust(wide) if side == "r" else cell.ljust(wide)
            for cell, wide, side in zip(row, widths, sides, strict=True)
        )).rstrip()
        for row in rows
    ]


def pdf_target(name: str, out: str) -> Path:
    """``out`` as the path of a PDF to write; CommandError where it is a folder or the design ``name``."""
    target = Path(out)
    try:
        if target.is_dir():
            raise CommandError([f"{one_line(out)}: this is a folder; name a PDF file in it"], COMMAND_LINE)
        if target.exists() and target.samefile(name):
            raise CommandError(
                [f"{one_line(out)}: this is the design itself; name another file"], COMMAND_LINE
            )
    except (OSError, ValueError) as error:
        raise CommandError([_not_usable(out, error)], COMMAND_LINE) from None
    return target


def write_sheet(name: str, out: str, paper: Literal["a4", "letter"]) -> int:
    """Write the bench sheet of the design in ``name`` to the PDF ``out``."""
    opened = _opened(name)
    target = pdf_target(name, out)
    readings = read_twice(opened.design)
    areas = {} if readings.untold else ReadingsEngine().counted_areas(opened.design)
    from app.paper.bench_sheet import write_bench_sheet

    try:
        write_bench_sheet(
            target, opened.design, readings, areas, paper=paper, today=datetime.date.today(),
        )
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    return DONE


def check(name: str) -> int:
    """Say what is wrong with the file ``name``, one fault a line, and what is not entered yet."""
    opened = _opened(name, every_fault=True)
    faults = [*opened.troubles, *_scan_faults(opened), *_outline_faults(opened.design)]
    lines = [f"{one_line(name)}: {one_line(fault)}" for fault in faults]
    lines += [f"{one_line(name)}: not yet: {one_line(text)}" for text in _not_yet(opened.design)]
    if not faults:
        lines.append(f"{one_line(name)}: nothing wrong")
    say(lines)
    return CONTENT if faults else DONE


def _scan_faults(opened: DesignFile) -> list[str]:
    found = []
    for i, scan in enumerate(opened.design.scans):
        if scan.file not in opened.pictures:
            continue
        from app.scans.opening import ScanError, open_picture

        try:
            open_picture(opened.pictures[scan.file], scan.file, page=scan.page)
        except ScanError as error:
            found.append(f"scans[{i}].file: {error}")
    return found


def _outline_faults(design: Design) -> list[str]:
    found = []
    for i, outline in enumerate(design.outlines):
        where = f'outlines[{i}] "{outline.name}"'
        form = form_of(outline)
        if (fault := form.fault) is not None:
            found.append(f"{where}: {fault}")
        elif form.crossings:
            x, z = form.crossings[0]
            found.append(
                f"{where}: crosses itself near x {x:.1f} mm, z {z:.1f} mm; move a node to untangle it"
            )
    return found


def _not_yet(design: Design) -> list[str]:
    readings = read_twice(design)
    found = [] if scale_known(design) else [NO_SCALE]
    for key in ("side_area", "fin_area", "cg_x", "cla_fraction"):
        missing = readings[key].missing
        if missing and missing not in found:
            found.append(missing)
    return found
