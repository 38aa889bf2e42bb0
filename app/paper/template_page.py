"""One page of a template: the window on the drawing, the joins with their marks, the strip at the foot."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise

import shapely
import shapely.ops
from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath

from app.kit.paths import shape_path
from app.paper.frame import Frame
from app.paper.ink import INK, SOFT, Ink, closed_path
from app.paper.pages import Paint, PaperSize, Sheet
from app.paper.template import PEN, LineEdge, TemplatePlan, plan_template
from app.paper.template_labels import Placed
from app.paper.template_pieces import Piece
from app.paper.template_signs import DOT_DASHED, draw_signs, on_page, signs_taken, spot, write_signs
from app.paper.template_strip import draw_map_page, draw_strip
from app.paper.template_words import Words
from core.bench.tiling import Join, Rect, Tile
from core.design import Design

MARK = 3.0
"""mm from the middle of a registration mark to its corners."""
_MARK_TONE = QColor("#a3a6ab")
_DASHED = (9.0, 5.0)
HOLDS = "Nothing to cut here: this page holds its neighbours together."


def template_sheet(design: Design, plan: TemplatePlan) -> Sheet:
    """The pages of ``plan``, which is one of ``design``; laid anew on a printer's paper of another size."""
    return Sheet(
        "the template", f"{plan.title}: template", plan.width, plan.height,
        lambda width, height: template_pages(for_paper(design, plan, width, height)), turns=False,
    )


def for_paper(design: Design, plan: TemplatePlan, width: float, height: float) -> TemplatePlan:
    """The plan, laid anew where a printer's paper of ``width`` × ``height`` mm is not the plan's."""
    if abs(width - plan.width) <= 0.6 and abs(height - plan.height) <= 0.6:
        return plan
    paper = PaperSize("the printer's paper", min(width, height), max(width, height))
    choice = replace(plan.choice, paper=paper, roll=None, landscape=width > height)
    return plan_template(design, choice, datetime.date.today())


def template_pages(plan: TemplatePlan) -> list[Paint]:
    """What paints each page, in order: the map where there is one, then the tiles."""
    pages: list[Paint] = [partial(_paint_map, plan)] if plan.has_map_page else []
    return pages + [partial(_paint_tile, plan, tile) for tile in plan.tiling.tiles]


def frame_of(plan: TemplatePlan, tile: Tile) -> Frame:
    """Where the drawing lies on that tile's page: mm of paper for mm of paper."""
    u0, v0, u1, v1 = plan.tiling.window(tile)
    return Frame(QRectF(*plan.window), (u0 + u1) / 2, (v0 + v1) / 2, 1.0, None)


def _paint_map(plan: TemplatePlan, painter: QPainter, page: QRectF) -> None:
    ink = Ink(painter)
    try:
        draw_map_page(ink, plan)
    finally:
        ink.done()


def _paint_tile(plan: TemplatePlan, tile: Tile, painter: QPainter, page: QRectF) -> None:
    ink = Ink(painter)
    try:
        frame = frame_of(plan, tile)
        painter.save()
        painter.setClipRect(frame.area)
        marks = plan.tiling.marks(tile)
        joins = plan.tiling.joins(tile)
        for join in joins:
            ink.pen(0.12, SOFT, DOT_DASHED)
            ink.line(*spot(frame, join.start), *spot(frame, join.end))
        # Beneath the outlines: no mark may hide where to cut.
        for u, v in marks:
            _draw_mark(ink, frame.x(u), frame.y(v))
        draw_signs(ink, plan.drawing, frame)
        _draw_outlines(ink, plan, frame, plan.tiling.window(tile))
        words = _words_on(ink, plan, tile, frame)
        for label in plan.labels:
            _draw_label(ink, frame, label, words)
        core = plan.tiling.core(tile)
        write_signs(words, plan, frame, core)
        for join in joins:
            _write_join(words, frame, join, marks)
        if len(plan.tiling.tiles) > 1:
            # For when the strip has been cut off.
            _write_name(words, frame, core, tile)
        if tile in plan.tiling.bridges:
            middle = spot(frame, ((core[0] + core[2]) / 2, (core[1] + core[3]) / 2))
            words.led(middle, HOLDS, 8.0, far=80.0)
        painter.restore()
        draw_strip(ink, plan, tile)
    finally:
        ink.done()


def _words_on(ink: Ink, plan: TemplatePlan, tile: Tile, frame: Frame) -> Words:
    """The page's words, kept off all that is drawn on it and off the labels of the pieces."""
    drawing = plan.drawing
    edges = [
        shapely.LineString(on_page(frame, p.closed)) for p in (*drawing.pieces, *drawing.before)
        if _meets(p.box, plan.tiling.window(tile))
    ]
    lines = list(signs_taken(drawing, frame))
    lines += [shapely.LineString((spot(frame, j.start), spot(frame, j.end))) for j in plan.tiling.joins(tile)]
    lines += [shapely.Point(spot(frame, m)).buffer(MARK, quad_segs=1) for m in plan.tiling.marks(tile)]
    return Words(ink, frame.area, edges, lines)


def _meets(box: Rect, window: Rect, air: float = 2.0) -> bool:
    return (
        box[0] - air < window[2] and box[2] + air > window[0]
        and box[1] - air < window[3] and box[3] + air > window[1]
    )


def _draw_outlines(ink: Ink, plan: TemplatePlan, frame: Frame, window: Rect) -> None:
    for piece in plan.drawing.before:
        if _meets(piece.box, window):
            ink.pen(0.25, SOFT, _DASHED)
            ink.stroke(frame.curve(piece.ring))
    for piece in plan.drawing.pieces:
        if _meets(piece.box, window):
            draw_edge(ink, frame, piece, plan.choice.line)


def draw_edge(ink: Ink, frame: Frame, piece: Piece, line: LineEdge) -> None:
    """The outline by a line of ``PEN`` mm that lies inside, outside or astride the true outline.

    Drawn twice as wide and clipped by the true curve itself, so that its true edge is exact.
    """
    path = frame.curve(piece.ring)
    ink.painter.save()
    for stretch in piece.left:
        _clip_off(ink, shapely.LineString(on_page(frame, stretch)))
    if line == "outer":
        ink.painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
    elif line == "inner":
        outside = QPainterPath()
        outside.addRect(path.boundingRect().adjusted(-10.0, -10.0, 10.0, 10.0))
        outside.addPath(path)
        ink.painter.setClipPath(outside, Qt.ClipOperation.IntersectClip)
    ink.pen(PEN if line == "middle" else 2 * PEN)
    ink.stroke(path)
    ink.painter.restore()


def _clip_off(ink: Ink, stretch: shapely.LineString) -> None:
    """Nothing is drawn along the stretch: a neighbour's line is the edge there. Its ends are left."""
    inner = shapely.ops.substring(stretch, PEN, stretch.length - PEN)
    band = shapely.buffer(inner, PEN + 0.1, cap_style="flat", join_style="mitre")
    low_x, low_y, high_x, high_y = band.bounds
    around = QPainterPath()
    around.addRect(QRectF(low_x - 9e3, low_y - 9e3, high_x - low_x + 18e3, high_y - low_y + 18e3))
    around.addPath(shape_path(band))
    ink.painter.setClipPath(around, Qt.ClipOperation.IntersectClip)


def _draw_label(ink: Ink, frame: Frame, label: Placed, words: Words) -> None:
    x, y = spot(frame, (label.u, label.v))
    tall = sum(line.pitch for line in label.lines)
    words.take(shapely.box(x - label.room / 2 - 0.5, y - tall / 2, x + label.room / 2 + 0.5, y + tall / 2))
    y -= tall / 2
    for line in label.lines:
        y += line.pitch
        ink.text(x, y - 0.25 * line.pitch, line.text, line.size, bold=line.bold, align="centre",
                 room=label.room + 0.5, colour=INK if line.bold else SOFT)
    if label.leader is not None:
        start, end = spot(frame, label.leader[0]), spot(frame, label.leader[1])
        ink.pen(0.15, SOFT)
        ink.line(*start, *end)
        words.take(shapely.LineString((start, end)))
    if label.arrow is not None:
        start, end = spot(frame, label.arrow[0]), spot(frame, label.arrow[1])
        _draw_arrow(ink, start, end)
        if math.dist(start, end) >= 18.0:
            words.along(start, end, "grain", 6.0, shares=(0.5, 0.35, 0.65), gaps=(0.5,))
        words.take(shapely.LineString((start, end)).buffer(2.4, quad_segs=1))


def _draw_arrow(ink: Ink, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A shaft with a barb at either end: the grain has no front."""
    length = math.dist(start, end)
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    ink.pen(0.25)
    ink.line(*start, *end)
    for (x, y), way in ((start, 1.0), (end, -1.0)):
        ink.fill(closed_path([
            (x, y), (x + way * (2.6 * dx - 0.8 * dy), y + way * (2.6 * dy + 0.8 * dx)),
            (x + way * (2.6 * dx + 0.8 * dy), y + way * (2.6 * dy - 0.8 * dx)),
        ]), INK)


def _write_join(words: Words, frame: Frame, join: Join, marks: Sequence[tuple[float, float]]) -> None:
    """The neighbour's name, beyond the join where there is room, so that it goes when it is cut."""
    which, level = (1, join.start[0]) if join.side in ("left", "right") else (0, join.start[1])
    on = sorted(m[which] for m in marks if abs(m[1 - which] - level) < 1e-3)
    low, high = join.start[which], join.end[which]
    shares = [
        (a + part * (b - a) - low) / (high - low)
        for part in (0.5, 0.4, 0.6) for a, b in pairwise(on)
    ]
    start, end, name = spot(frame, join.start), spot(frame, join.end), f"{join.neighbour.name} joins here"
    beyond_below = join.side in ("right", "bottom")
    if not words.along(start, end, name, 6.5, shares=shares, gaps=(0.8, 2.0), below=beyond_below):
        middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        words.led(middle, name, 6.5, far=200.0)


def _write_name(words: Words, frame: Frame, core: Rect, tile: Tile) -> None:
    """The page's letter and number in a corner of its own part of the drawing, or near one."""
    (left, top), (right, bottom) = spot(frame, (core[0], core[3])), spot(frame, (core[2], core[1]))
    spots = [
        (x, y) for away in (0.0, 9.0, 20.0, 35.0)
        for x, y in (
            (left + 7.5 + away, top + 5.0), (left + 7.5, top + 5.0 + away), (right - 7.5 - away, top + 5.0),
            (left + 7.5 + away, bottom - 5.0), (right - 7.5 - away, bottom - 5.0),
        )
    ]
    words.at(spots, tile.name, 9.0, bold=True)


def _draw_mark(ink: Ink, x: float, y: float) -> None:
    """A diamond with a cross through it; half of it is left on either side of the cut."""
    diamond = closed_path([(x, y - MARK), (x + MARK, y), (x, y + MARK), (x - MARK, y)])
    half = closed_path([(x, y - MARK), (x + MARK, y), (x, y)])
    other = closed_path([(x, y + MARK), (x - MARK, y), (x, y)])
    for part in (half, other):
        ink.fill(part, _MARK_TONE)
    ink.pen(0.12)
    ink.stroke(diamond)
    ink.painter.drawLines([QLineF(x - MARK, y, x + MARK, y), QLineF(x, y - MARK, x, y + MARK)])


