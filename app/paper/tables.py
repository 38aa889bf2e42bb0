"""The tables of the bench sheet: readings and outlines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.kit.firmness_scale import FirmnessScale, draw_firmness, ends_of
from app.paper.bands import Letters
from app.paper.grouped import SCALE_ROWS, cell, columns, given, has_scale, own_rows, rows_of, wanting_words
from app.paper.ink import FAINT, ON_PAPER, SOFT, Ink
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
GAP = 3.5
_NOTE = 2.9
_WIDEST = 60.0
_OUTLINES_LEAST = 70.0


@dataclass(frozen=True)
class AreaRow:
    """One outline or surface in the table of outlines; ``area`` mm² is what it adds to the side area."""

    key: str
    name: str
    kind: str
    count: int
    area: float
    counted: bool = True


def area_rows(design: Design, counted_areas: Mapping[str, float]) -> list[AreaRow]:
    """Outlines and surfaces, the largest contribution first."""
    rows = [
        AreaRow(f"outline {o.id}", o.name, o.kind, o.count, counted_areas.get(o.id, 0.0))
        for o in design.outlines
    ]
    for kind, surfaces in (("wing", design.wings), ("tailplane", design.tailplanes)):
        for surface in surfaces:
            area = 2.0 * surface_patch(surface).moments.area if surface.in_side_area else 0.0
            rows.append(AreaRow(f"{kind} {surface.id}", surface.name, kind, 2, area, surface.in_side_area))
    return sorted(rows, key=lambda row: -row.area)


def shown_rows(rows: list[AreaRow]) -> list[AreaRow]:
    """Those that the table has room for."""
    return rows if len(rows) <= OUTLINE_ROWS else rows[: OUTLINE_ROWS - 1]


@dataclass(frozen=True)
class Tables:
    """How both tables share a width: columns of readings, the note under them, and what is left."""

    columns: list[list[Group]]
    column_wide: float
    note: list[str]
    outlines_wide: float
    height: float

    @property
    def readings_wide(self) -> float:
        """Width in mm of all columns of readings."""
        count = max(1, len(self.columns))
        return count * self.column_wide + (count - 1) * GAP


def lay_out(ink: Ink, readings: Readings, rows: list[AreaRow], width: float) -> Tables:
    """Share ``width`` mm between the tables: the readings in as few columns as the height allows."""
    shared = columns(given(readings), MOST_ROWS, MOST_COLUMNS)
    count = max(1, len(shared))
    room = width - _OUTLINES_LEAST - 1.5 * GAP - (count - 1) * GAP
    wide = min(_WIDEST, room / count) if shared else 2 * _WIDEST
    # A lone column leaves the note beside it room to be read.
    whole = max(count * wide + (count - 1) * GAP, min(2 * _WIDEST, width - _OUTLINES_LEAST - 1.5 * GAP))
    note = ink.wrapped(wanting_words(readings), 6.5, whole, 3)
    tall = max((_tall(column) for column in shared), default=HEAD) + len(note) * _NOTE + 0.6 * bool(note)
    # The rows, the line on what a share is, a warning.
    under = HEAD + (min(max(len(rows), 1), OUTLINE_ROWS) + 1 + bool(readings.warnings)) * PITCH
    return Tables(shared, wide, note, width - whole - 1.5 * GAP, max(tall, under) + 0.4)


def _tall(column: list[Group]) -> float:
    return len(column) * HEAD + (rows_of(column) - len(column)) * PITCH


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
                _reading_row(ink, design, readings, readings[key], left, at, tables.column_wide)
                at += PITCH
        foot = max(foot, at)
    for i, line in enumerate(tables.note):
        ink.text(x, foot + 2.4 + i * _NOTE, line, 6.5, colour=SOFT)


def _draw_scale(ink: Ink, readings: Readings, x: float, y: float, width: float) -> None:
    """Firmness in yaw on its scale, the witnesses and the band's ends with their figures."""
    found = firmness(readings)
    if found is None:
        why = shortly(readings["cn_beta"].missing or "")
        ink.text(x, y + 2.3, f"No scale of firmness yet: {why}.", 6.2, colour=SOFT, room=width)
        return
    script = Letters(ink)
    scale = FirmnessScale(x, x + width, y + 0.3, script.high(), ends_of(found, 0.05), UNIT)
    named = {key: f"{key} {format_number(value, 3)}" for key, value in found.witnesses.items()}
    draw_firmness(ink.painter, scale, found, ON_PAPER, script, names=named, figures=True)


def _reading_row(
    ink: Ink, design: Design, readings: Readings, reading: Reading, x: float, y: float, width: float
) -> None:
    base = y + 2.3
    bold = reading.verdict is not None
    right = x + width - 3.6
    wide = ink.text(x, base, reading.label, SIZE, bold=bold, room=width * 0.66)
    said = cell(reading.key, readings, design.display_units)
    if said:
        ink.text(right, base, said, SIZE, bold=bold, align="right")
    else:
        ink.text(x + width, base, shortly(reading.missing or ""), 6.2, colour=SOFT, align="right",
                 room=width - wide - 1.5)
    if reading.verdict is not None:
        state_sign(ink, x + width - 2.3, y + 1.4, reading.verdict, 2.2)
    _under(ink, x, y, width)


def _under(ink: Ink, x: float, y: float, width: float) -> None:
    ink.pen(0.07, FAINT)
    ink.line(x, y + PITCH - 0.1, x + width, y + PITCH - 0.1)


def draw_outlines(
    ink: Ink, design: Design, readings: Readings, rows: list[AreaRow], x: float, y: float, width: float
) -> None:
    """The table of outlines and surfaces: count and kind, counted area and its share of the whole."""
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
    shown = shown_rows(rows)
    for i, row in enumerate(shown):
        top = y + HEAD + i * PITCH
        base = top + 2.3
        ink.text(x, base, row.name, SIZE, room=kind_left - x - 1.5)
        kind = row.kind if row.count == 1 else f"{row.count} × {row.kind}"
        ink.text(kind_left, base, kind, SIZE, colour=SOFT, room=kind_right - kind_left - 1.0)
        area = row.area if row.counted else None
        _area_cells(ink, design, readings, area, whole, area_right, share_right, base)
        _under(ink, x, top, width)
    base = y + HEAD + len(shown) * PITCH + 2.3
    rest = rows[len(shown):]
    if rest:
        together = sum(row.area for row in rest)
        share = percent(together / whole if whole else 0.0)
        ink.text(x, base, f"and {len(rest)} more, {share} together", SIZE, room=kind_right - x)
        _area_cells(ink, design, readings, together, whole, area_right, share_right, base)
        base += PITCH
    note = "What would be lost without it; what overlaps counts once."
    ink.text(x, base + 0.2, note, 6.0, colour=SOFT, room=width)
    if readings.warnings:
        several = f" ({len(readings.warnings)} in all)" if len(readings.warnings) > 1 else ""
        ink.text(x, base + 0.2 + PITCH, f"Mind{several}: {readings.warnings[0]}", 6.5, bold=True, room=width)


def _area_cells(
    ink: Ink, design: Design, readings: Readings, area: float | None, whole: float, area_right: float,
    share_right: float, base: float,
) -> None:
    if area is None:
        ink.text(share_right, base, "left out", SIZE, align="right", colour=SOFT)
        return
    ink.text(area_right, base, format_area(area, design.display_units) if readings.scale_known else "–", SIZE,
             align="right")
    ink.text(share_right, base, percent(area / whole) if whole > 0.0 else "–", SIZE, align="right")
