"""The tables of the bench sheet: readings and outlines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.kit.firmness_scale import FirmnessScale, draw_firmness, ends_of
from app.paper.bands import Letters
from app.paper.grouped import SCALE_ROWS, cell, columns, given, has_scale, own_rows, rows_of, wanting_words
from app.paper.ink import FAINT, ON_PAPER, SOFT, Ink, one_line
from app.paper.overflow import OVER, Rest
from app.paper.signs import state_sign
from core.design import Design
from core.stability.catalogue import Group
from core.stability.firmness import firmness
from core.stability.in_place import shortly
from core.stability.readings import Reading, Readings
from core.stability.side_area import surface_patch
from core.stability.wording import percent
from core.units import format_area, format_number

PITCH = 3.12
HEAD = 4.15
SIZE = 6.8
MOST_ROWS = 15
MOST_COLUMNS = 4
UNIT = 0.155
"""mm of paper for a unit of the scale of firmness."""
OUTLINE_ROWS = 10
_SIZES = (SIZE, 6.3, 5.8)
_REASON, _MORE, _MIND = 6.2, 2.6, 2.75
_MOST_NOTE, _MOST_MINDS = 5, 4
GAP = 3.5
_NOTE = 2.9
_WIDEST = 60.0
_OUTLINES_LEAST = 70.0


@dataclass(frozen=True)
class AreaRow:
    """One outline or surface in the table of outlines; ``area`` mm² is what it adds to the side area.

    ``area`` None: not known, while it is still counted or where it cannot be told.
    """

    key: str
    name: str
    kind: str
    count: int
    area: float | None
    counted: bool = True


def area_rows(design: Design, counted_areas: Mapping[str, float]) -> list[AreaRow]:
    """Outlines and surfaces, the largest contribution first."""
    rows = [
        AreaRow(f"outline {o.id}", o.name, o.kind, o.count, counted_areas.get(o.id))
        for o in design.outlines
    ]
    for kind, surfaces in (("wing", design.wings), ("tailplane", design.tailplanes)):
        for surface in surfaces:
            area = 2.0 * surface_patch(surface).moments.area if surface.in_side_area else 0.0
            rows.append(AreaRow(f"{kind} {surface.id}", surface.name, kind, 2, area, surface.in_side_area))
    return sorted(rows, key=lambda row: -(row.area or 0.0))


def shown_rows(rows: list[AreaRow], tables: Tables) -> list[AreaRow]:
    """Those that the table has room for."""
    return rows if len(rows) <= tables.most_rows else rows[: tables.most_rows - 1]


@dataclass(frozen=True)
class Tables:
    """How both tables share a width: columns of readings, the note under them, and what is left.

    ``reasons``: by reading, the lines of a reason that has no room beside its name. ``minds``: what is to
    be minded, in lines, under the outlines.
    """

    columns: list[list[Group]]
    column_wide: float
    note: list[str]
    outlines_wide: float
    height: float
    reasons: Mapping[str, list[str]]
    minds: list[str]
    most_rows: int

    @property
    def readings_wide(self) -> float:
        """Width in mm of all columns of readings."""
        count = max(1, len(self.columns))
        return count * self.column_wide + (count - 1) * GAP


def lay_out(
    ink: Ink, design: Design, readings: Readings, rows: list[AreaRow], width: float, rest: Rest
) -> Tables:
    """Share ``width`` mm between the tables: the readings in as few columns as the height allows."""
    shared = columns(given(readings), MOST_ROWS, MOST_COLUMNS)
    count = max(1, len(shared))
    room = width - _OUTLINES_LEAST - 1.5 * GAP - (count - 1) * GAP
    wide = min(_WIDEST, room / count) if shared else 2 * _WIDEST
    # A lone column leaves the note beside it room to be read.
    whole = max(count * wide + (count - 1) * GAP, min(2 * _WIDEST, width - _OUTLINES_LEAST - 1.5 * GAP))
    note, _ = rest.lines(ink, "NOT GIVEN", wanting_words(readings), (6.5,), whole, _MOST_NOTE)
    reasons = {
        key: lines for column in shared for group in column for key in own_rows(group)
        if (lines := _reason_lines(ink, design, readings, readings[key], wide))
    }
    tall = max((_tall(column, reasons) for column in shared), default=HEAD)
    tall += len(note) * _NOTE + 0.6 * bool(note)
    # The rows, the line on what a share is, what to mind: in the room that there is, and some more.
    outlines_wide = width - whole - 1.5 * GAP
    most_rows = max(OUTLINE_ROWS, int((tall - HEAD) / PITCH) - 1)
    under = HEAD + (min(max(len(rows), 1), most_rows) + 1) * PITCH
    most = max(_MOST_MINDS, int((tall - under) / _MIND))
    minds = _mind_lines(ink, readings, outlines_wide, most, rest)
    height = max(tall, under + _MIND * len(minds)) + 0.4
    return Tables(shared, wide, note, outlines_wide, height, reasons, minds, most_rows)


def _mind_lines(ink: Ink, readings: Readings, wide: float, most: int, rest: Rest) -> list[str]:
    """Every warning, whole; those for which there is no room stand behind, all together."""
    told = [f"Mind: {warning}" for warning in readings.warnings]
    lines = [line for words in told for line in ink.whole(words, 6.5, wide, bold=True)]
    if len(lines) <= most:
        return lines
    for words in told:
        rest.add("MIND", words)
    return [*lines[: most - 1], f"{OVER}: {len(told)} to mind"]


def _reason_lines(
    ink: Ink, design: Design, readings: Readings, reading: Reading, width: float
) -> list[str]:
    """The reason of a reading without a value, where it does not fit beside its name."""
    if cell(reading.key, readings, design.display_units):
        return []
    why = shortly(reading.missing or "")
    beside = width - ink.width(reading.label, SIZE, bold=reading.verdict is not None) - 1.5
    return [] if ink.width(why, _REASON) <= beside else ink.whole(why, _REASON, width - 3.0)


def _tall(column: list[Group], reasons: Mapping[str, list[str]]) -> float:
    more = sum(len(reasons.get(key, ())) for group in column for key in own_rows(group))
    return len(column) * HEAD + (rows_of(column) - len(column)) * PITCH + more * _MORE


def _head(ink: Ink, x: float, y: float, width: float, title: str) -> None:
    ink.caption(x, y + 2.8, title)
    ink.pen(0.3)
    ink.line(x, y + 3.65, x + width, y + 3.65)


def draw_readings(
    ink: Ink, design: Design, readings: Readings, tables: Tables, x: float, y: float
) -> None:
    """The readings by groups, and in a line or two what is not given."""
    foot = y + HEAD
    if not tables.columns:
        _head(ink, x, y, tables.readings_wide, "READINGS")
    for i, column in enumerate(tables.columns):
        left, at = x + i * (tables.column_wide + GAP), y
        for group in column:
            _head(ink, left, at, tables.column_wide, group.title.upper())
            at += HEAD
            if has_scale(group):
                _draw_scale(ink, readings, left, at, tables.column_wide)
                at += SCALE_ROWS * PITCH
            for key in own_rows(group):
                more = tables.reasons.get(key, [])
                _reading_row(ink, design, readings, readings[key], left, at, tables.column_wide, more)
                at += PITCH + _MORE * len(more)
        foot = max(foot, at)
    for i, line in enumerate(tables.note):
        ink.text(x, foot + 2.4 + i * _NOTE, line, 6.5, colour=SOFT)


def _draw_scale(ink: Ink, readings: Readings, x: float, y: float, width: float) -> None:
    """Firmness in yaw on its scale, the witnesses and the band's ends with their figures."""
    found = firmness(readings)
    if found is None:
        why = shortly(readings["cn_beta"].missing or "")
        for at, line in enumerate(ink.whole(f"No scale of firmness yet: {why}.", _REASON, width)):
            ink.text(x, y + 2.3 + _MORE * at, line, _REASON, colour=SOFT)
        return
    script = Letters(ink)
    scale = FirmnessScale(x, x + width, y + 0.3, script.high(), ends_of(found, 0.05), UNIT)
    named = {key: f"{key} {format_number(value, 3)}" for key, value in found.witnesses.items()}
    draw_firmness(ink.painter, scale, found, ON_PAPER, script, names=named, figures=True)


def _reading_row(
    ink: Ink, design: Design, readings: Readings, reading: Reading, x: float, y: float, width: float,
    more: list[str],
) -> None:
    base = y + 2.3
    bold = reading.verdict is not None
    right = x + width - 3.6
    said = cell(reading.key, readings, design.display_units)
    apart = 1.5 if said else 0.0
    size = ink.fitting_size(f"{reading.label}{said}", _SIZES, right - x - apart, bold=bold) if said else SIZE
    ink.text(x, base, reading.label, size, bold=bold)
    if said:
        ink.text(right, base, said, size, bold=bold, align="right")
    elif not more:
        ink.text(x + width, base, shortly(reading.missing or ""), _REASON, colour=SOFT, align="right")
    for at, line in enumerate(more, 1):
        ink.text(x + 3.0, base + _MORE * at, line, _REASON, colour=SOFT)
    if reading.verdict is not None:
        state_sign(ink, x + width - 2.3, y + 1.4, reading.verdict, 2.2)
    _under(ink, x, y + _MORE * len(more), width)


def _under(ink: Ink, x: float, y: float, width: float) -> None:
    ink.pen(0.07, FAINT)
    ink.line(x, y + PITCH - 0.1, x + width, y + PITCH - 0.1)


def draw_outlines(
    ink: Ink, design: Design, readings: Readings, tables: Tables, rows: list[AreaRow], x: float, y: float,
    rest: Rest,
) -> None:
    """The table of outlines and surfaces: count and kind, counted area and its share of the whole."""
    width = tables.outlines_wide
    _head(ink, x, y, width, "OUTLINES AND SURFACES")
    share_right = x + width
    area_right = share_right - 11.0
    kind_right = area_right - 17.0
    kind_left = x + (kind_right - x) * 0.56
    for right, words in ((area_right, "counted area"), (share_right, "share")):
        ink.text(right, y + 2.8, words, 6.5, align="right", colour=SOFT)
    if not rows:
        ink.text(x, y + HEAD + 2.3, "Nothing is traced yet.", SIZE, colour=SOFT)
        return
    whole = readings.side.moments.area
    shown = shown_rows(rows, tables)
    for i, row in enumerate(shown):
        top = y + HEAD + i * PITCH
        base = top + 2.3
        name, size = rest.line(ink, "NAMES", one_line(row.name), _SIZES, kind_left - x - 1.5)
        ink.text(x, base, name, size)
        kind = row.kind if row.count == 1 else f"{row.count} × {row.kind}"
        size = ink.fitting_size(kind, _SIZES, kind_right - kind_left - 1.0)
        ink.text(kind_left, base, kind, size, colour=SOFT)
        if not row.counted:
            ink.text(share_right, base, "left out", SIZE, align="right", colour=SOFT)
        else:
            _area_cells(ink, design, readings, row.area, whole, area_right, share_right, base)
        _under(ink, x, top, width)
    base = y + HEAD + len(shown) * PITCH + 2.3
    behind = rows[len(shown):]
    if behind:
        together = None if any(row.area is None for row in behind) else sum(row.area or 0.0 for row in behind)
        share = "" if together is None else f", {percent(together / whole if whole else 0.0)} together"
        ink.text(x, base, f"and {len(behind)} more{share}: page 2", SIZE)
        for row in behind:
            rest.add("FURTHER OUTLINES AND SURFACES", _row_words(design, readings, row, whole))
        _area_cells(ink, design, readings, together, whole, area_right, share_right, base)
        base += PITCH
    note = "What would be lost without it; what overlaps counts once."
    ink.text(x, base + 0.2, note, 6.0, colour=SOFT)
    for at, line in enumerate(tables.minds):
        ink.text(x, base + 0.2 + PITCH + _MIND * at, line, 6.5, bold=True)


def _row_words(design: Design, readings: Readings, row: AreaRow, whole: float) -> str:
    kind = row.kind if row.count == 1 else f"{row.count} × {row.kind}"
    if row.area is None:
        return f"{one_line(row.name)} ({kind}): area not known"
    share = percent(row.area / whole) if whole > 0.0 else "–"
    if not row.counted:
        return f"{one_line(row.name)} ({kind}): left out"
    area = f"{format_area(row.area, design.display_units)}, " if readings.scale_known else ""
    return f"{one_line(row.name)} ({kind}): {area}{share}"


def _area_cells(
    ink: Ink, design: Design, readings: Readings, area: float | None, whole: float, area_right: float,
    share_right: float, base: float,
) -> None:
    known = area is not None and readings.scale_known
    ink.text(area_right, base, format_area(area or 0.0, design.display_units) if known else "–", SIZE,
             align="right")
    share = percent(area / whole) if area is not None and whole > 0.0 else "–"
    ink.text(share_right, base, share, SIZE, align="right")
