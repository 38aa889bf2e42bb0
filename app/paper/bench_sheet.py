"""The bench sheet: one page, landscape, to pin above the bench.

The aeroplane is four times as long as high, so the page lies down: the answer on top, the profile
with the arm rule and the area band on one x axis, the tables and what to mind beneath. Nothing is cut:
what the page has no room for stands whole on a page behind it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

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
from app.paper.heads import draw_title, title_of
from app.paper.ink import SOFT, Ink, Paper, one_line
from app.paper.overflow import Rest, pages_of
from app.paper.pages import PAPERS, Paint, Sheet, date_words
from app.paper.profile import draw_grid, draw_profile
from app.paper.signs import check_bar, state_sign
from app.paper.tables import AreaRow, Tables, area_rows, draw_outlines, draw_readings, lay_out, shown_rows
from core.bench.from_wing import cg_from_wing_words
from core.design import Design
from core.stability.answer import Answer, answer
from core.stability.readings import Readings

MARGIN = 10.0
_AIR = 3.0
_AIR_ABOVE = 1.3
_MOST_NOTES = 20_000
_MOST_ADVICE = 5
_ANSWER = "THE ANSWER"
_DOTS_PER_METRE = round(1200 / 0.0254)


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

    def pages(width: float, height: float) -> list[Paint]:
        image = QImage(8, 8, QImage.Format.Format_Grayscale8)
        image.setDotsPerMeterX(_DOTS_PER_METRE)
        image.setDotsPerMeterY(_DOTS_PER_METRE)
        painter, rest = QPainter(image), Rest()
        try:
            page = QRectF(0, 0, width, height)
            paint_bench_sheet(painter, page, design, readings, counted_areas, today=today, rest=rest)
            ink = Ink(painter)
            try:
                behind = pages_of(ink, rest, design, "bench sheet", width, height, MARGIN)
            finally:
                ink.done()
        finally:
            painter.end()

        def paint(painter: QPainter, page: QRectF) -> None:
            paint_bench_sheet(
                painter, page, design, readings, counted_areas, today=today, count=1 + len(behind)
            )

        return [paint, *behind]

    size = PAPERS[paper]
    return Sheet("the bench sheet", f"{title_of(design)[:200]}: bench sheet", size.height, size.width, pages)


def paint_bench_sheet(
    painter: QPainter, page_rect_mm: QRectF, design: Design, readings: Readings,
    counted_areas: Mapping[str, float], *, today: datetime.date, rest: Rest | None = None, count: int = 1,
) -> Places:
    """Paint the sheet on a device whose origin is the paper's corner; ``page_rect_mm`` is the whole paper.

    ``rest`` is given what there is no room for; ``count``: how many pages there are in all.
    """
    ink, rest = Ink(painter), Rest() if rest is None else rest
    try:
        inner = page_rect_mm.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN)
        top = _draw_head(ink, design, readings, inner, today, rest, count)
        below_all = _foot_of(ink, design, readings, inner)
        foot = inner.bottom() - below_all.height
        rows = area_rows(design, counted_areas)
        tables = lay_out(ink, design, readings, rows, inner.width(), rest)
        below = foot - tables.height
        middle = QRectF(inner.left(), top, inner.width(), below - top - 0.7)
        frame, bands = _share_out(design, readings, middle)
        names = {row.key: row.name for row in shown_rows(rows, tables)}
        _draw_bands(ink, design, readings, frame, bands, names)
        room = QRectF(inner.left(), below, inner.width(), foot - below)
        _draw_tables(ink, design, readings, tables, rows, room, rest)
        bar = _draw_foot(ink, design, below_all, inner, foot)
        return Places(frame.area, bar, frame.ratio)
    finally:
        ink.done()


def _draw_head(
    ink: Ink, design: Design, readings: Readings, inner: QRectF, today: datetime.date, rest: Rest, count: int
) -> float:
    """The title line and the answer; returns where they end."""
    left, right, y = inner.left(), inner.right(), inner.top()
    name = f"Sternpost bench sheet  ·  {date_words(today)}"
    if count > 1:
        name += f"  ·  page 1 of {count}"
    wide = ink.text(right, y + 5.0, name, 8.5, align="right", colour=SOFT)
    # As if there were a second page: so what fits does not hang on that.
    wide = max(wide, ink.width(f"Sternpost bench sheet  ·  {date_words(today)}  ·  page 1 of 88", 8.5))
    if not draw_title(ink, design, left, y, inner.width() - wide - 8.0):
        rest.add("TITLE", title_of(design))
    ink.pen(0.5)
    ink.line(left, y + 7.2, right, y + 7.2)
    y += 8.0
    said = answer(design, readings)
    notes = design.notes[:_MOST_NOTES] if one_line(design.notes[:_MOST_NOTES]) else ""
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
        lines, size = rest.lines(ink, _ANSWER, said.sentence, (11.0, 9.5, 8.5), room, 3, bold=True)
        for at, line in enumerate(lines):
            ink.text(words, y + 4.4 + 0.4 * size * at, line, size, bold=True)
        start = y + 4.0 + 0.4 * size * len(lines)
        end = _draw_advice(ink, words, start, (said.meaning, said.advice), room, rest)
    else:
        ink.text(words, y + 4.4, "NO ANSWER YET. THE NEXT STEP:", 7.0, bold=True, colour=SOFT)
        lines, size = rest.lines(ink, _ANSWER, said.sentence, (15.0, 12.0, 9.0), room, 2, bold=True)
        for at, line in enumerate(lines):
            ink.text(words, y + 11.0 + 0.44 * size * at, line, size, bold=True)
    if notes:
        x = right - note_wide
        ink.pen(0.15, SOFT)
        ink.stroke(QRectF(x, y + 0.6, note_wide, 17.3))
        ink.caption(x + 1.8, y + 3.7, "NOTES")
        lines, size = rest.lines(ink, "NOTES", notes, (7.0, 6.5), note_wide - 3.6, 4)
        for at, line in enumerate(lines):
            ink.text(x + 1.8, y + 7.0 + 3.2 * at, line, size)
    return _draw_notes(
        ink, said, cg_from_wing_words(design), left, max(y + 17.6, end) + 3.1, right - left, rest
    )


def _draw_notes(
    ink: Ink, said: Answer, cg: str, x: float, y: float, room: float, rest: Rest
) -> float:
    """Where the CG lies on the wing, and what the answer rests on; returns where that ends."""
    parts = [f"{cg}."] if cg else []
    parts += [said.sure] if said.sure else []
    for title, notes in (("At odds", said.at_odds), ("Not in it", said.left_out), ("Guessed", said.guessed)):
        if notes:
            parts.append(f"{title}: " + " ".join(one_line(note.words) for note in notes))
    if parts:
        lines, size = rest.lines(ink, _ANSWER, "  ·  ".join(parts), (7.0, 6.5), room, 5)
        for line in lines:
            ink.text(x, y, line, size)
            y += 2.9
    return y - 1.8


def _draw_advice(
    ink: Ink, x: float, y: float, parts: tuple[str, str], room: float, rest: Rest
) -> float:
    """Both parts, whole; a little smaller where that saves a line. Returns the baseline of the last line."""
    sizes = (8.0, 7.5)
    lines, size = min(
        (([line for part in parts for line in ink.whole(part, size, room)], size) for size in sizes),
        key=lambda found: len(found[0]),
    )
    if len(lines) > _MOST_ADVICE:
        lines, size = rest.lines(ink, _ANSWER, " ".join(parts), sizes, room, _MOST_ADVICE)
    for i, line in enumerate(lines):
        ink.text(x, y + i * 3.35, line, size)
    return y + (len(lines) - 1) * 3.35


@dataclass(frozen=True)
class _Bands:
    rule: float
    area: float
    area_tall: float
    bottom: float


def _share_out(design: Design, readings: Readings, room: QRectF) -> tuple[Frame, _Bands]:
    """Share out the height: the profile as large as its scale allows, the bands beneath it."""
    traced = extents_of(design, readings)
    extents = traced or (0.0, 0.0, 400.0, 100.0)
    known = readings.scale_known and traced is not None
    wide = room.width() - 2 * _AIR
    fixed = RULE_TALL + STATIONS_TALL
    per_mm, ratio = fit(
        extents, wide, max(1.0, room.height() - fixed - AREA_LEAST - 2 * _AIR_ABOVE), known=known
    )
    spare = room.height() - fixed - AREA_LEAST - _tall(extents, per_mm) - 2 * _AIR_ABOVE
    area_tall = AREA_LEAST + min(8.0, max(0.0, spare) * 0.4)
    profile = QRectF(room.left(), room.top(), room.width(), room.height() - fixed - area_tall)
    frame = Frame(profile, (extents[0] + extents[2]) / 2, (extents[1] + extents[3]) / 2, per_mm, ratio)
    rule = profile.bottom()
    return frame, _Bands(rule, rule + RULE_TALL, area_tall, rule + RULE_TALL + area_tall)


def _tall(extents: Extents, per_mm: float) -> float:
    return (extents[3] - extents[1]) * per_mm


def _draw_bands(
    ink: Ink, design: Design, readings: Readings, frame: Frame, bands: _Bands, names: Mapping[str, str]
) -> None:
    area = frame.area
    draw_grid(ink, design, frame, area.top(), bands.bottom)
    draw_area_band(ink, design, readings, frame, bands.area, bands.area_tall)
    on_rule = readings["cla_fraction"].value is not None
    draw_profile(
        ink, design, readings, frame, names, rule_top(bands.rule) if on_rule else bands.rule,
        legend=False,
    )
    if extents_of(design, readings) is None:
        middle = area.center()
        ink.text(middle.x(), middle.y(), "Nothing is traced yet.", 12.0, align="centre", colour=SOFT)
    draw_arm_rule(ink, design, readings, frame, bands.rule)
    ink.pen(0.2)
    ink.stroke(QRectF(area.left(), area.top(), area.width(), bands.bottom - area.top()))
    for y in (bands.rule, bands.area):
        ink.line(area.left(), y, area.right(), y)
    draw_stations(ink, design, readings, frame, bands.bottom)


def _draw_tables(
    ink: Ink, design: Design, readings: Readings, tables: Tables, rows: list[AreaRow], room: QRectF,
    rest: Rest,
) -> None:
    draw_readings(ink, design, readings, tables, room.left(), room.top())
    x = room.right() - tables.outlines_wide
    draw_outlines(ink, design, readings, tables, rows, x, room.top(), rest)


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


@dataclass(frozen=True)
class _Foot:
    """What stands under the line at the foot, in lines: the bar's caption, the sources, the cautions."""

    length: float
    ruler: list[str]
    sources: list[str]
    cautions: list[str]

    @property
    def height(self) -> float:
        """mm that it takes."""
        left = 1.8 + 7.7 + 2.7 * (len(self.ruler) - 1) + 2.8 + 2.5 * (len(self.sources) - 1) + 0.9
        return max(left, 1.8 + 4.9 + 3.3 * (len(self.cautions) - 1) + 1.0)


def _foot_of(ink: Ink, design: Design, readings: Readings, inner: QRectF) -> _Foot:
    inches = design.display_units != "mm"
    length, name = (101.6, "4 in") if inches else (100.0, "100 mm")
    ruler = f"This bar must be {name} long. If it is not, print at 100 %, without “fit to page”."
    return _Foot(
        length, ink.whole(ruler, 6.8, length + 2.0), ink.whole(sources_words(readings), 6.2, length + 2.0),
        ink.whole(" ".join(CAUTIONS), 7.2, inner.width() - length - 7.0),
    )


def _draw_foot(ink: Ink, design: Design, foot: _Foot, inner: QRectF, top: float) -> QRectF:
    """On the left the check bar and how good the figures are, on the right what to mind."""
    ink.pen(0.2)
    ink.line(inner.left(), top, inner.right(), top)
    x, y = inner.left(), top + 1.8
    length = check_bar(ink, x, y, inches=design.display_units != "mm")
    at = y + 7.7
    for line in foot.ruler:
        ink.text(x, at, line, 6.8)
        at += 2.7
    for number, line in enumerate(foot.sources):
        ink.text(x, at + 0.1 + 2.5 * number, line, 6.2, colour=SOFT)
    x += length + 7.0
    ink.caption(x, y + 1.6, "BEFORE YOU CUT, BEFORE YOU FLY")
    ink.text(inner.right(), y + 1.6, "CLA: centre of lateral area, the centroid of the side area", 6.5,
             align="right", colour=SOFT)
    for number, line in enumerate(foot.cautions):
        ink.text(x, y + 4.9 + 3.3 * number, line, 7.2)
    return QRectF(inner.left(), y, length, 2.0)
