"""The bench sheet: one page, landscape, to pin above the bench.

The aeroplane is four times as long as high, so the page lies down: the answer on top, the profile
with the arm rule and the area band on one x axis, the tables and what to mind beneath.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.kit.cautions import CAUTIONS
from app.paper.bands import (
    AREA_LEAST,
    RULE_TALL,
    STATIONS_TALL,
    draw_area_band,
    draw_arm_rule,
    draw_stations,
    rule_top,
)
from app.paper.frame import Extents, Frame, extents_of, fit
from app.paper.ink import SOFT, Ink, Paper, one_line
from app.paper.pages import PAPERS, Sheet, date_words
from app.paper.profile import draw_grid, draw_profile
from app.paper.signs import check_bar, state_sign
from app.paper.tables import AreaRow, Tables, area_rows, draw_outlines, draw_readings, lay_out, shown_rows
from core.design import Design
from core.stability.answer import Answer, answer
from core.stability.readings import Readings

MARGIN = 10.0
_AIR = 3.0
_AIR_ABOVE = 1.3
_FOOT = 18.2


@dataclass(frozen=True)
class Places:
    """Where things came to lie, in mm from the corner of the paper; ``ratio`` is the n of 1:n."""

    profile: QRectF
    check_bar: QRectF
    ratio: float | None


def bench_sheet(
    design: Design, readings: Readings, counted_areas: Mapping[str, float], *, paper: Paper,
    today: datetime.date,
) -> Sheet:
    """The sheet of ``design`` with its readings, on ``paper``."""

    def paint(painter: QPainter, page: QRectF) -> None:
        paint_bench_sheet(painter, page, design, readings, counted_areas, today=today)

    size = PAPERS[paper]
    return Sheet(
        "the bench sheet", f"{design.title[:200]}: bench sheet", size.height, size.width, lambda *_: [paint]
    )


def paint_bench_sheet(
    painter: QPainter, page_rect_mm: QRectF, design: Design, readings: Readings,
    counted_areas: Mapping[str, float], *, today: datetime.date,
) -> Places:
    """Paint the sheet on a device whose origin is the paper's corner; ``page_rect_mm`` is the whole paper."""
    ink = Ink(painter)
    try:
        inner = page_rect_mm.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN)
        top = _draw_head(ink, design, readings, inner, today)
        foot = inner.bottom() - _FOOT
        rows = area_rows(design, counted_areas)
        tables = lay_out(ink, readings, rows, inner.width())
        below = foot - tables.height
        middle = QRectF(inner.left(), top, inner.width(), below - top - 0.7)
        frame, bands = _share_out(design, readings, middle)
        _draw_bands(ink, design, readings, frame, bands, {row.key: row.name for row in shown_rows(rows)})
        room = QRectF(inner.left(), below, inner.width(), foot - below)
        _draw_tables(ink, design, readings, tables, rows, room)
        bar = _draw_foot(ink, design, readings, inner, foot)
        return Places(frame.area, bar, frame.ratio)
    finally:
        ink.done()


def _draw_head(ink: Ink, design: Design, readings: Readings, inner: QRectF, today: datetime.date) -> float:
    """The title line and the answer; returns where they end."""
    left, right, y = inner.left(), inner.right(), inner.top()
    name = f"Sternpost bench sheet  ·  {date_words(today)}"
    wide = ink.text(right, y + 5.0, name, 8.5, align="right", colour=SOFT)
    ink.text(left, y + 5.0, design.title or "Untitled", 15.0, bold=True, room=inner.width() - wide - 8.0)
    ink.pen(0.5)
    ink.line(left, y + 7.2, right, y + 7.2)
    y += 8.0
    said = answer(design, readings)
    notes = one_line(design.notes[:5000])
    note_wide = inner.width() * 0.29 if notes else 0.0
    words = left
    if said.figure:
        # "24.6 ± 0.4 %": the figure large, how sure it is beside it.
        large = said.figure.removesuffix(" %") if said.spread else said.figure
        wide = ink.text(left, y + 10.2, large, 29.0, bold=True)
        if said.spread:
            wide += 2.0 + ink.text(left + wide + 2.0, y + 10.2, said.spread, 16.0, bold=True)
        badge = state_sign(ink, left, y + 15.5, said.state, 3.6)
        badge += 1.8 + ink.text(left + badge + 1.8, y + 16.8, said.state_words, 9.0, bold=True)
        words = left + max(wide, badge) + 7.0
    room = right - note_wide - (6.0 if notes else 0.0) - words
    end = y
    if said.figure:
        lines = ink.wrapped(said.sentence, 11.0, room, 3, bold=True)
        for at, line in enumerate(lines):
            ink.text(words, y + 4.4 + 4.4 * at, line, 11.0, bold=True)
        end = _draw_advice(ink, words, y + 4.0 + 4.4 * len(lines), (said.meaning, said.advice), room)
    else:
        ink.text(words, y + 4.4, "NO ANSWER YET. THE NEXT STEP:", 7.0, bold=True, colour=SOFT)
        ink.block(words, y + 11.0, said.sentence, 15.0, room, 2, pitch=6.6, bold=True)
    if notes:
        x = right - note_wide
        ink.pen(0.15, SOFT)
        ink.stroke(QRectF(x, y + 0.6, note_wide, 17.3))
        ink.caption(x + 1.8, y + 3.7, "NOTES")
        ink.block(x + 1.8, y + 7.0, design.notes, 7.0, note_wide - 3.6, 4, pitch=3.2)
    return _draw_notes(ink, said, left, max(y + 17.6, end) + 3.1, right - left)


def _draw_notes(ink: Ink, said: Answer, x: float, y: float, room: float) -> float:
    """What the answer rests on, in two lines at most; returns where they end."""
    parts = [said.sure] if said.sure else []
    for title, notes in (("At odds", said.at_odds), ("Not in it", said.left_out), ("Guessed", said.guessed)):
        if notes:
            parts.append(f"{title}: " + " ".join(one_line(note.words) for note in notes))
    lines = ink.wrapped("  ·  ".join(parts), 7.0, room, 3) if parts else []
    for line in lines:
        ink.text(x, y, line, 7.0)
        y += 2.9
    return y - 1.8


def _draw_advice(ink: Ink, x: float, y: float, parts: tuple[str, str], room: float) -> float:
    """Both parts, whole; a little smaller where that saves a line. Returns the baseline of the last line."""
    sizes = (8.0, 7.5)
    lines, size = min(
        (([line for part in parts for line in ink.wrapped(part, size, room, 5)], size) for size in sizes),
        key=lambda found: len(found[0]),
    )
    for i, line in enumerate(lines):
        ink.text(x, y + i * 3.35, line, size)
    return y + (len(lines) - 1) * 3.35


@dataclass(frozen=True)
class _Bands:
    rule: float
    area: float | None
    area_tall: float
    bottom: float


def _share_out(design: Design, readings: Readings, room: QRectF) -> tuple[Frame, _Bands]:
    """Share out the height: the profile as large as its scale allows, the area band where it costs none."""
    traced = extents_of(design, readings)
    extents = traced or (0.0, 0.0, 400.0, 100.0)
    known = readings.scale_known and traced is not None
    wide = room.width() - 2 * _AIR
    fixed = RULE_TALL + STATIONS_TALL
    bare = fit(extents, wide, room.height() - fixed - 2 * _AIR_ABOVE, known=known)
    with_band = fit(extents, wide, room.height() - fixed - AREA_LEAST - 2 * _AIR_ABOVE, known=known)
    banded = with_band[0] >= 0.85 * bare[0]
    per_mm, ratio = with_band if banded else bare
    spare = room.height() - fixed - (AREA_LEAST if banded else 0.0) - _tall(extents, per_mm) - 2 * _AIR_ABOVE
    area_tall = AREA_LEAST + min(8.0, max(0.0, spare) * 0.4) if banded else 0.0
    profile = QRectF(room.left(), room.top(), room.width(), room.height() - fixed - area_tall)
    frame = Frame(profile, (extents[0] + extents[2]) / 2, (extents[1] + extents[3]) / 2, per_mm, ratio)
    rule = profile.bottom()
    area = rule + RULE_TALL if banded else None
    return frame, _Bands(rule, area, area_tall, rule + RULE_TALL + area_tall)


def _tall(extents: Extents, per_mm: float) -> float:
    return (extents[3] - extents[1]) * per_mm


def _draw_bands(
    ink: Ink, design: Design, readings: Readings, frame: Frame, bands: _Bands, names: Mapping[str, str]
) -> None:
    area = frame.area
    draw_grid(ink, design, frame, area.top(), bands.bottom)
    if bands.area is not None:
        draw_area_band(ink, design, readings, frame, bands.area, bands.area_tall)
    on_rule = readings["cla_fraction"].value is not None
    draw_profile(
        ink, design, readings, frame, names, rule_top(bands.rule) if on_rule else bands.rule,
        legend=bands.area is None,
    )
    if extents_of(design, readings) is None:
        middle = area.center()
        ink.text(middle.x(), middle.y(), "Nothing is traced yet.", 12.0, align="centre", colour=SOFT)
    draw_arm_rule(ink, design, readings, frame, bands.rule)
    ink.pen(0.2)
    ink.stroke(QRectF(area.left(), area.top(), area.width(), bands.bottom - area.top()))
    for y in (bands.rule, *(() if bands.area is None else (bands.area,))):
        ink.line(area.left(), y, area.right(), y)
    draw_stations(ink, design, readings, frame, bands.bottom)


def _draw_tables(
    ink: Ink, design: Design, readings: Readings, tables: Tables, rows: list[AreaRow], room: QRectF
) -> None:
    draw_readings(ink, design, readings, tables, room.left(), room.top())
    x = room.right() - tables.outlines_wide
    draw_outlines(ink, design, readings, rows, x, room.top(), tables.outlines_wide)


def sources_words(readings: Readings) -> str:
    """Which kind of source the figures given have: by name where they are few, the commonest last."""
    by_source: dict[str, list[str]] = {}
    for reading in readings.table.values():
        if reading.value is not None:
            by_source.setdefault(reading.source, []).append(reading.label)
    if not by_source:
        return ""
    ranked = sorted(by_source.items(), key=lambda item: len(item[1]))
    parts = [
        f"{', '.join(labels) if len(labels) <= 3 else f'{len(labels)} figures'}: {source}."
        for source, labels in ranked[:-1]
    ]
    rest = f"All others: {ranked[-1][0]}." if len(ranked) > 1 else f"All figures: {ranked[0][0]}."
    return " ".join([*parts, rest])


def _draw_foot(
    ink: Ink, design: Design, readings: Readings, inner: QRectF, top: float
) -> QRectF:
    """On the left the check bar and how good the figures are, on the right what to mind."""
    ink.pen(0.2)
    ink.line(inner.left(), top, inner.right(), top)
    inches = design.display_units != "mm"
    x, y = inner.left(), top + 1.8
    length = check_bar(ink, x, y, inches=inches)
    name = "4 in" if inches else "100 mm"
    ruler = f"This bar must be {name} long. If it is not, print at 100 %, without “fit to page”."
    ink.text(x, y + 7.7, ruler, 6.8, room=length + 2.0)
    ink.block(x, y + 10.5, sources_words(readings), 6.2, length + 2.0, 3, pitch=2.5, colour=SOFT)
    x += length + 7.0
    ink.caption(x, y + 1.6, "BEFORE YOU CUT, BEFORE YOU FLY")
    ink.text(inner.right(), y + 1.6, "CLA: centre of lateral area, the centroid of the side area", 6.5,
             align="right", colour=SOFT)
    ink.block(x, y + 4.9, " ".join(CAUTIONS), 7.2, inner.right() - x, 4, pitch=3.3)
    return QRectF(inner.left(), y, length, 2.0)
