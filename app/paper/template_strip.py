"""The strip at the foot of every template page, and the page with the map of all tiles."""

from __future__ import annotations

import shapely
from PySide6.QtCore import QPointF, QRectF

from app.kit.cautions import CAUTIONS
from app.paper.frame import Frame
from app.paper.ink import FAINT, INK, SOFT, WHITE, Ink, closed_path
from app.paper.signs import check_bar
from app.paper.template import STRIP_PITCH, TemplatePlan, line_words, scale_words, turn_words
from core.bench.tiling import Tile, Tiling
from core.units import format_fine

_BARS = 102.0

PRACTICE = "Grain, number and place of the hinges: common practice, no source."
ONCE = "An edge that two pieces share is drawn once, as the rudder's or the smaller one's: true for both."
JOINING = "Joining: cut one page along the dash-dot line, lay its half diamonds on those of the next."


def draw_strip(ink: Ink, plan: TemplatePlan, tile: Tile) -> None:
    """Both check bars, the page's letter, the map, what it is, how to cut, what to mind."""
    margin = plan.choice.margin
    left, right = margin, plan.width - margin
    top = plan.height - margin - plan.strip
    ink.pen(0.2)
    ink.line(left, top, right, top)
    y = top + 1.5
    check_bar(ink, left, y, inches=False)
    check_bar(ink, left, y + 5.7, inches=True)
    letter = ink.width(tile.name, 22.0, bold=True)
    ink.text(right, y + 7.2, tile.name, 22.0, bold=True, align="right")
    number = plan.tiling.tiles.index(tile) + 1
    ink.text(right, y + 10.7, f"{number} of {len(plan.tiling.tiles)}", 6.5, align="right", colour=SOFT)
    room = max(letter, 12.0) + 3.0
    x = left + _BARS + 4.0
    wide_map = 0.0
    if len(plan.tiling.tiles) > 1:
        most = 60.0 if plan.wide_strip else right - room - x
        wide_map = _draw_map(ink, plan, QRectF(0, y, most, 11.0), right - room, tile)
    if plan.wide_strip:
        words = right - room - wide_map - (3.0 if wide_map else 0.0) - x
        ink.text(x, y + 2.6, plan.title, 9.0, bold=True, room=words)
        what = (plan.pieces_words[:1].upper() + plan.pieces_words[1:], _state_words(plan), plan.cg_words)
        for i, line in enumerate(what):
            ink.text(x, y + 5.8 + 2.9 * i, line, 7.0, room=words)
        y = ink.block(left, y + 14.3, _how(plan), 6.0, right - left, 2, pitch=2.5, colour=SOFT)
        ink.block(left, y + 0.2, " ".join(CAUTIONS), 6.0, right - left, 2, pitch=2.5)
        return
    head = y + 14.3
    wide = ink.text(left, head, plan.title, 9.0, bold=True, room=70.0)
    named = plan.pieces_words[:1].upper() + plan.pieces_words[1:]
    ink.text(left + wide + 3.0, head, f"{named} · {_state_words(plan)}", 7.0, room=right - left - wide - 3.0)
    if plan.cg_words:
        head += STRIP_PITCH
        ink.text(left, head, plan.cg_words, 7.0, room=right - left)
    y = ink.block(left, head + 3.1, _how(plan), 6.0, right - left, 3, pitch=2.5, colour=SOFT)
    ink.block(left, y + 0.2, " ".join(CAUTIONS), 6.0, right - left, 3, pitch=2.5)


def bridges_words(tiling: Tiling) -> str:
    """How many pages hold the others together; empty where there are none."""
    count = len(tiling.bridges)
    does = "holds" if count == 1 else "hold"
    return f"; {count} with nothing to cut {does} the others together" if count else ""


def _state_words(plan: TemplatePlan) -> str:
    parts = [plan.state, scale_words(plan.choice.scale)]
    if plan.choice.mirror:
        parts.append("mirrored")
    if plan.turn != 0.0:
        parts.append(turn_words(plan.turn))
    if plan.beside:
        parts.append(f"dashed: {plan.beside}")
    return " · ".join([*parts, plan.day])


def _how(plan: TemplatePlan) -> str:
    joining = [JOINING] if len(plan.tiling.tiles) > 1 else []
    bars = "Both bars must measure true: else print at 100 %."
    once = [ONCE] if plan.drawing.shares_edges else []
    return " ".join([bars, line_words(plan.choice.line), *once, *joining, PRACTICE])


def _draw_map(ink: Ink, plan: TemplatePlan, room: QRectF, right: float, tile: Tile | None) -> float:
    """The map of the tiles, as tall as ``room`` and no wider, ending at ``right``; its width."""
    tiling = plan.tiling
    u0, v0, u1, v1 = tiling.box
    per_mm = min(room.width() / (u1 - u0), room.height() / (v1 - v0))
    wide, tall = (u1 - u0) * per_mm, (v1 - v0) * per_mm
    area = QRectF(right - wide, room.center().y() - tall / 2, wide, tall)
    draw_map(ink, plan, area, per_mm, tile)
    return wide


def draw_map(ink: Ink, plan: TemplatePlan, area: QRectF, per_mm: float, tile: Tile | None) -> None:
    """All tiles with their letters and the outlines across them; the blank ones crossed through."""
    tiling = plan.tiling
    u0, v0, u1, v1 = tiling.box
    frame = Frame(area, (u0 + u1) / 2, (v0 + v1) / 2, per_mm, None)
    printed = set(tiling.tiles)
    names = []
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            one = Tile(row, column)
            a, b, c, d = tiling.core(one)
            cell = QRectF(QPointF(frame.x(a), frame.y(d)), QPointF(frame.x(c), frame.y(b)))
            if one in printed:
                ink.fill(cell, FAINT if one == tile else WHITE)
                names.append((one, cell))
            else:
                ink.pen(0.08, SOFT)
                ink.line(cell.left(), cell.top(), cell.right(), cell.bottom())
                ink.line(cell.left(), cell.bottom(), cell.right(), cell.top())
            ink.pen(0.12, SOFT)
            ink.stroke(cell)
    for piece in plan.drawing.pieces:
        ink.pen(min(0.3, max(0.1, 0.5 * per_mm)))
        rough = shapely.get_coordinates(shapely.simplify(shapely.LinearRing(piece.corners), 0.04 / per_mm))
        ink.stroke(closed_path([(frame.x(float(u)), frame.y(float(v))) for u, v in rough[:-1]]))
    for one, cell in names:
        size = min(16.0, 0.42 * min(cell.height(), 0.6 * cell.width()) / 0.3528)
        if size >= 3.5:
            bold = one == tile
            ink.text(cell.left() + 0.12 * size, cell.top() + 0.33 * size, one.name, size, bold=bold,
                     colour=INK if bold else SOFT)
    if tile is not None:
        a, b, c, d = tiling.core(tile)
        ink.pen(0.4)
        ink.stroke(QRectF(QPointF(frame.x(a), frame.y(d)), QPointF(frame.x(c), frame.y(b))))


def draw_map_page(ink: Ink, plan: TemplatePlan) -> None:
    """The page that comes first where there are many: the map, what it is, how to join, what to mind."""
    margin = plan.choice.margin
    left, right, top = margin, plan.width - margin, margin
    wide = right - left
    ink.text(left, top + 6.0, plan.title, 16.0, bold=True, room=wide * 0.7)
    ink.text(right, top + 6.0, f"Sternpost template · {plan.day}", 8.5, align="right", colour=SOFT)
    ink.pen(0.5)
    ink.line(left, top + 8.5, right, top + 8.5)
    y = top + 14.0
    named = plan.pieces_words[:1].upper() + plan.pieces_words[1:]
    blank = plan.tiling.rows * plan.tiling.columns - len(plan.tiling.tiles)
    u0, v0, u1, v1 = plan.drawing.box
    size = f"{format_fine(u1 - u0, 'mm')} × {format_fine(v1 - v0, 'mm')} on paper"
    lines = [
        f"{named} · {_state_words(plan)} · {size}",
        *([plan.cg_words + "."] if plan.cg_words else []),
        f"{len(plan.tiling.tiles)} pages, overlapping by {plan.tiling.overlap:g} mm"
        + (f"; {blank} that would be blank {'is' if blank == 1 else 'are'} left out (crossed through)"
           if blank else "") + bridges_words(plan.tiling) + ".",
        _how(plan), *(note[:1].upper() + note[1:] + "." for note in plan.notes[:-1]),
    ]
    for line in lines:
        y = ink.block(left, y, line, 8.5, wide, 3, pitch=4.0) + 0.8
    foot = plan.height - margin
    caution = ink.wrapped(" ".join(CAUTIONS), 8.0, wide, 5)
    start = foot - 3.8 * (len(caution) - 1) - 1.0
    ink.caption(left, start - 4.2, "BEFORE YOU CUT, BEFORE YOU FLY")
    for i, line in enumerate(caution):
        ink.text(left, start + 3.8 * i, line, 8.0)
    bars = start - 23.0
    check_bar(ink, left, bars, inches=False)
    check_bar(ink, left, bars + 6.5, inches=True)
    room = QRectF(left, y + 1.0, wide, bars - 4.0 - y)
    if room.height() > 15.0:
        a, b, c, d = plan.tiling.box
        per_mm = min(room.width() / (c - a), room.height() / (d - b))
        area = QRectF(0, 0, (c - a) * per_mm, (d - b) * per_mm)
        area.moveCenter(room.center())
        area.moveTop(room.top())
        draw_map(ink, plan, area, per_mm, None)
