"""The tables of the bench sheet: readings and outlines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.sheets.ink import FAINT, SOFT, Ink
from app.sheets.signs import verdict_sign
from core.design import Design
from core.stability.readings import Reading, Readings
from core.stability.side_area import surface_patch
from core.stability.wording import figure, percent
from core.units import format_area

PITCH = 3.5
HEAD = 4.6
SIZE = 7.0
READING_ROWS = 12
OUTLINE_ROWS = 10


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


def table_height() -> float:
    """Height in mm that both tables need."""
    return HEAD + READING_ROWS * PITCH + 1.0


def _head(ink: Ink, x: float, y: float, width: float, title: str) -> None:
    ink.caption(x, y + 3.0, title)
    ink.pen(0.3)
    ink.line(x, y + 4.0, x + width, y + 4.0)


def draw_readings(ink: Ink, design: Design, readings: Readings, x: float, y: float, width: float) -> None:
    """The table of readings; with more than there is room for, two columns, the missing ones only told."""
    _head(ink, x, y, width, "READINGS")
    everything = list(readings.table.values())
    if len(everything) <= READING_ROWS:
        for i, reading in enumerate(everything):
            _reading_row(ink, design, readings, reading, x, y + HEAD + i * PITCH, width)
        return
    known = [r for r in everything if r.value is not None]
    shown = known[: 2 * (READING_ROWS - 1)]
    half = (width - 4.0) / 2
    rows = max(1, (len(shown) + 1) // 2)
    for i, reading in enumerate(shown):
        column, row = divmod(i, rows)
        _reading_row(ink, design, readings, reading, x + column * (half + 4), y + HEAD + row * PITCH, half,
                     short=True)
    more, missing = len(known) - len(shown), len(everything) - len(known)
    told = [f"{more} more"] * (more > 0) + [f"{missing} not known yet"] * (missing > 0)
    if told:
        base = y + HEAD + (READING_ROWS - 1) * PITCH + 2.5
        words = f"And {', '.join(told)}: “sternpost readings” prints them all."
        ink.text(x, base, words, 6.5, colour=SOFT, room=width)


def _reading_row(
    ink: Ink, design: Design, readings: Readings, reading: Reading, x: float, y: float, width: float, *,
    short: bool = False,
) -> None:
    base = y + 2.5
    bold = reading.verdict is not None
    label_room = width * (0.55 if short else 0.36)
    value_right = x + width * (0.86 if short else 0.57)
    ink.text(x, base, reading.label, SIZE, bold=bold, room=label_room)
    value = figure(reading.key, readings, design.display_units)
    ink.text(value_right, base, value, SIZE, bold=bold, align="right")
    note = value_right + 2.0
    if reading.verdict is not None:
        wide = verdict_sign(ink, note, y + 1.6, reading.verdict, 2.3)
        if not short:
            ink.text(note + wide + 1.2, base, f"{reading.verdict} the aim" if reading.key == "cla_fraction"
                     else reading.verdict, SIZE, bold=True, room=x + width - note - wide - 1.2)
    elif reading.missing and not short:
        # The remedy's first words are enough beside the figure; the window gives the whole.
        ink.text(note, base, reading.missing.split(":")[0], 6.5, colour=SOFT, room=x + width - note)
    _under(ink, x, y, width)


def _under(ink: Ink, x: float, y: float, width: float) -> None:
    ink.pen(0.07, FAINT)
    ink.line(x, y + PITCH - 0.1, x + width, y + PITCH - 0.1)


def draw_outlines(
    ink: Ink, design: Design, readings: Readings, rows: list[AreaRow], x: float, y: float, width: float
) -> None:
    """The table of outlines and surfaces: kind, count, counted area and its share of the whole."""
    _head(ink, x, y, width, "OUTLINES AND SURFACES")
    share_right = x + width
    area_right = share_right - 13.0
    count_right = area_right - 20.0
    kind_left = x + (width - 40.0) * 0.60
    for right, words in ((count_right, "count"), (area_right, "counted area"), (share_right, "share")):
        ink.text(right, y + 3.0, words, 6.5, align="right", colour=SOFT)
    if not rows:
        ink.text(x, y + HEAD + 2.5, "Nothing is traced yet.", SIZE, colour=SOFT)
        return
    whole = readings.side.moments.area
    shown = shown_rows(rows)
    for i, row in enumerate(shown):
        top = y + HEAD + i * PITCH
        base = top + 2.5
        ink.text(x, base, row.name, SIZE, room=kind_left - x - 1.5)
        ink.text(kind_left, base, row.kind, SIZE, colour=SOFT, room=count_right - kind_left - 5)
        ink.text(count_right, base, str(row.count), SIZE, align="right")
        area = row.area if row.counted else None
        _area_cells(ink, design, readings, area, whole, area_right, share_right, base)
        _under(ink, x, top, width)
    base = y + HEAD + len(shown) * PITCH + 2.5
    rest = rows[len(shown):]
    if rest:
        together = sum(row.area for row in rest)
        share = percent(together / whole if whole else 0.0)
        ink.text(x, base, f"and {len(rest)} more, {share} together", SIZE, room=count_right - x)
        _area_cells(ink, design, readings, together, whole, area_right, share_right, base)
        base += PITCH
    note = "Area that would be lost without it; what overlaps counts once, so shares may not reach 100 %."
    ink.text(x, base + 0.4, note, 6.0, colour=SOFT, room=width)
    if readings.warnings:
        several = f" ({len(readings.warnings)} in all)" if len(readings.warnings) > 1 else ""
        ink.text(x, base + 0.4 + PITCH, f"Mind{several}: {readings.warnings[0]}", 6.5, bold=True, room=width)


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
