"""The dimensioned outline: fin and rudder apart, with the figures they are cut and checked by."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Sequence

import numpy as np
import shapely
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from shapely.geometry.base import BaseGeometry

from app.paper.dimensioned_drawing import Drawing, Side, draw_sides, lay_sides, room_needed
from app.paper.frame import ratio_words, round_ratio
from app.paper.ink import FAINT, SOFT, Ink, one_line
from app.paper.pages import Paint, PaperSize, Sheet, date_words
from app.paper.parts_chosen import before_of
from app.paper.parts_drawing import draw_window
from app.paper.parts_frame import draw_foot, draw_head
from app.paper.parts_layout import FOOT, HEAD, MARGIN, OVERLAP, room_of
from app.paper.parts_sheet import JOINING
from core.bench.dimensions import Measures, measures_of
from core.bench.tiling import Tile, Tiling, TilingError, tile_over
from core.design import Alternative, Build, Design, DisplayUnits, State
from core.parts.plan import Plan
from core.parts.planform import plan_of
from core.redesign.outline_edits import EditError
from core.stability.readings import NO_SCALE, scale_known
from core.units import format_angle, format_area, format_fine

_ROW, _SIZE = 4.4, 7.4
HOW = "H: hinges, along the hinge line from 0 at its lower end; where they sit is common practice, no source."


def dimensioned_sheet(
    design: Design, outline_ids: Sequence[str], *, paper: PaperSize, today: datetime.date,
    kept: str | None = None, full_size: bool = False,
) -> Sheet:
    """Those outlines (or one tailplane) apart on one page at a round scale, or full size over several.

    ``kept``: id of the alternative that is dashed beneath; None: the newest that differs.
    EditError, one sentence, where there is nothing to draw.
    """
    if not scale_known(design):
        raise EditError(NO_SCALE)
    plan = _plan(design, outline_ids)
    if isinstance(plan, str):
        raise EditError(plan)
    before = before_of(design, kept)
    sides, why = _sides(plan, before, outline_ids)
    upright, level = (paper.width, paper.height), (paper.height, paper.width)

    def sheet(width: float, height: float) -> _Sheet:
        return _Sheet(design, sides, plan.upright, before, why, today, width, height)

    # Whichever way shows it larger; upright where both do.
    width, height = min((upright, level), key=lambda size: sheet(*size).ratio)
    return Sheet(
        "the dimensioned outline", f"{design.title[:200]}: dimensioned outline", width, height,
        lambda width, height: sheet(width, height).pages(full_size),
    )


def _plan(state: State, ids: Sequence[str]) -> Plan | str:
    """The plan of those surfaces as they are built, or as they would be without sizes of their own."""
    wanted = set(ids)
    build = next((one for one in state.builds if set(one.of) == wanted), None)
    return plan_of(state, build or Build("outline", tuple(dict.fromkeys(ids))))


def _sides(plan: Plan, kept: Alternative | None, ids: Sequence[str]) -> tuple[tuple[Side, ...], str]:
    """The panels to draw, and why the kept state is not among them."""
    before, why = None, ""
    if kept is not None:
        there = {o.id for o in kept.outlines} | {t.id for t in kept.tailplanes}
        found = _plan(kept, [part_id for part_id in ids if part_id in there])
        before, why = (None, found) if isinstance(found, str) else (found, "")
    sides = []
    for panel in plan.panels:
        now = measures_of(plan, panel)
        old = next((p for p in before.panels if p.id == panel.id), None) if before is not None else None
        if before is None or old is None:
            sides.append(Side(panel.name, panel.region, now, None, None))
            continue
        was = measures_of(before, old)
        # Laid hinge foot upon hinge foot, else front upon front: what was moved bodily is nothing added.
        shift = now.root.front - was.root.front
        if now.hinge is not None and was.hinge is not None:
            shift = now.hinge.start[0] - was.hinge.start[0]
        sides.append(Side(panel.name, panel.region, now, _shifted(old.region, shift), was))
    return tuple(sides), why


def _shifted(region: BaseGeometry, aft: float) -> BaseGeometry:
    return shapely.transform(region, lambda points: np.asarray(points + np.array((aft, 0.0))))


class _Sheet:
    """The pages of one paper."""

    def __init__(
        self, design: Design, sides: tuple[Side, ...], upright: bool, kept: Alternative | None, why: str,
        today: datetime.date, width: float, height: float,
    ) -> None:
        self._design, self._sides, self._upright = design, sides, upright
        self._kept, self._why = kept, why
        self._day, self._width, self._height = date_words(today), width, height

    def pages(self, full_size: bool) -> list[Paint]:
        """One page with the table beneath; full size, where that is larger, more of them after it."""
        ratio = self.ratio
        if math.isinf(ratio):
            raise EditError("this paper is too small for so many surfaces: choose a larger one")
        units = self._design.display_units
        drawing = lay_sides(self._sides, 1.0 / ratio, units)
        if not full_size or ratio == 1.0:
            return [self._page(self._scale(ratio), self._one_page(drawing), 1, 1)]
        wide, tall = room_of(self._width, self._height)
        tiles: list[tuple[Drawing, Tiling, str, Tile]] = []
        for at, side in enumerate(self._sides, 1):
            alone = lay_sides((side,), 1.0, units, hinges_within=True)
            try:
                tiling = tile_over(alone.strokes, wide, tall, OVERLAP)
            except TilingError as error:
                raise EditError(str(error)) from None
            tiles += [(alone, tiling, f"{at} ", tile) for tile in tiling.tiles]
        count = 1 + len(tiles)
        pages = [self._page(self._scale(ratio), self._one_page(drawing), 1, count)]
        for number, (alone, tiling, prefix, tile) in enumerate(tiles, 2):
            joined = len(tiling.tiles) > 1
            what = f"full size · {prefix}{tile.name}" if joined else "full size"
            body = _tile(alone, tiling, prefix, tile)
            pages.append(self._page(what, body, number, count, JOINING if joined else ""))
        return pages

    @property
    def ratio(self) -> float:
        """mm to the mm of paper at which all stands on one page, never larger than it is."""
        wide, tall = room_of(self._width, self._height)
        tall -= self._table_tall()
        across, up, beside, above = room_needed(self._sides)
        if wide - beside < 20.0 or tall - above < 20.0:
            return math.inf
        return max(1.0, round_ratio(min((wide - beside) / across, (tall - above) / up)))

    def _scale(self, ratio: float) -> str:
        return "full size" if ratio == 1.0 else f"scale {ratio_words(ratio)}, not to measure from"

    def _page(
        self, what: str, body: Callable[[Ink, QRectF], None], number: int, count: int, more: str = ""
    ) -> Paint:
        def paint(painter: QPainter, page: QRectF) -> None:
            ink = Ink(painter)
            try:
                title = one_line(self._design.title[:300]) or "Untitled"
                of = f" · page {number} of {count}" if count > 1 else ""
                draw_head(ink, page, title, f"dimensioned outline · {what} · {self._day}{of}")
                body(ink, page.adjusted(MARGIN, MARGIN + HEAD, -MARGIN, -MARGIN - FOOT))
                draw_foot(ink, page, self._design.display_units, f"{HOW} {more}".strip())
            finally:
                ink.done()

        return paint

    def _one_page(self, drawing: Drawing) -> Callable[[Ink, QRectF], None]:
        def body(ink: Ink, room: QRectF) -> None:
            free = room.height() - self._table_tall() - drawing.tall
            draw_sides(ink, drawing, room.left() + (room.width() - drawing.wide) / 2,
                       room.top() + min(free / 2, 12.0) + drawing.tall)
            self._draw_table(ink, room)

        return body

    def _rows(self) -> list[tuple[str, ...]]:
        units = self._design.display_units
        rows = []
        for side in self._sides:
            rows.append((one_line(side.name[:60]), "now", *_figures(side.now, units)))
            if side.before is not None:
                rows.append(("", "before", *_figures(side.before, units)))
                rows.append(("", "added", *_added(side.now, side.before, units)))
        return rows

    def _table_tall(self) -> float:
        return _ROW * (len(self._rows()) + 1) + 4.0 + 3.0 * len(self._notes())

    def _notes(self) -> list[str]:
        notes = [
            "Half of the hinge gap, and slots for what crosses, are taken off. Sweep: of the leading edge "
            "from a fifth to four fifths of the height.",
        ]
        if any(chord.inside for side in self._sides for chord in (side.now.root, side.now.tip)):
            notes.append("The chord at an end that is rounded or raked off: a tenth of the height inside it.")
        if self._kept is not None:
            name = f"“{one_line((self._kept.label or self._kept.id)[:60])}”"
            notes.append(
                f"Not drawn as kept in {name}: {one_line(self._why[:200])}" if self._why else
                f"Dashed, and in brackets what is added: {name}, its hinge line's foot on this one's."
            )
        return notes

    def _draw_table(self, ink: Ink, room: QRectF) -> None:
        y = room.bottom() - self._table_tall()
        shares = (0.0, 0.25, 0.45, 0.59, 0.73, 0.86, 1.0)
        tall = "height" if self._upright else "half span"
        heads = ("", "", tall, "root chord", "tip chord", "sweep", "area")
        for share, words in zip(shares, heads, strict=True):
            ink.text(room.left() + share * room.width(), y + 3.0, words, 6.5, bold=True, colour=SOFT,
                     align="left" if share < 0.3 else "right")
        ink.pen(0.2, SOFT)
        ink.line(room.left(), y + _ROW, room.right(), y + _ROW)
        for row in self._rows():
            y += _ROW
            for share, words in zip(shares, row, strict=True):
                ink.text(room.left() + share * room.width(), y + 3.2, words, _SIZE, bold=row[1] == "now",
                         align="left" if share < 0.3 else "right",
                         room=0.24 * room.width() if share == 0.0 else None)
            ink.pen(0.07, FAINT)
            ink.line(room.left(), y + _ROW, room.right(), y + _ROW)
        y += _ROW + 3.4
        for note in self._notes():
            ink.text(room.left(), y, note, 6.4, colour=SOFT, room=room.width())
            y += 3.0


def _tile(drawing: Drawing, tiling: Tiling, prefix: str, tile: Tile) -> Callable[[Ink, QRectF], None]:
    lines = shapely.GeometryCollection([shapely.LineString(line) for line in drawing.strokes])

    def body(ink: Ink, room: QRectF) -> None:
        u0, v0, _, _ = tiling.window(tile)
        draw_window(ink, tiling, tile, room, prefix, lines,
                    lambda: draw_sides(ink, drawing, room.left() - u0, room.bottom() + v0))

    return body


def _figures(found: Measures, units: DisplayUnits) -> tuple[str, ...]:
    return (
        *(format_fine(mm, units) for mm in (found.height, found.root.length, found.tip.length)),
        format_angle(found.sweep_deg), format_area(found.area, units),
    )


def _added(now: Measures, before: Measures, units: DisplayUnits) -> tuple[str, ...]:
    pairs = (
        (now.height, before.height), (now.root.length, before.root.length),
        (now.tip.length, before.tip.length),
    )
    return (
        *(format_fine(a - b, units, signed=True) for a, b in pairs),
        format_angle(now.sweep_deg - before.sweep_deg, signed=True),
        format_area(now.area - before.area, units, signed=True),
    )
