"""One page of a template: the window on the drawing, the joins with their marks, the strip at the foot."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath

from app.paper.frame import Frame
from app.paper.ink import INK, SOFT, Ink, closed_path
from app.paper.pages import Paint, PaperSize, Sheet
from app.paper.template import PEN, LineEdge, TemplatePlan, plan_template
from app.paper.template_labels import Placed
from app.paper.template_pieces import HingeLine, Piece, Reference
from app.paper.template_strip import draw_map_page, draw_strip
from core.bench.tiling import Join, Rect, Tile
from core.design import Design
from core.geometry.ring import Array

MARK = 3.0
"""mm from the middle of a registration mark to its corners."""
_MARK_TONE = QColor("#a3a6ab")
_SLOT, _SLOT_LONG = 5.0, 14.0
_DASHED = (9.0, 5.0)
_DOT_DASHED = (14.0, 3.5, 2.5, 3.5)


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
        for join in plan.tiling.joins(tile):
            _draw_join(ink, frame, join, marks)
        # Beneath the outlines: no mark may hide where to cut.
        for u, v in marks:
            _draw_mark(ink, frame.x(u), frame.y(v))
        _draw_drawing(ink, plan, frame, plan.tiling.window(tile))
        u0, _, _, v1 = plan.tiling.core(tile)
        if len(plan.tiling.tiles) > 1:
            # For when the strip has been cut off.
            ink.text(frame.x(u0) + 4.5, frame.y(v1) + 6.5, tile.name, 9.0, bold=True, colour=SOFT)
        painter.restore()
        draw_strip(ink, plan, tile)
    finally:
        ink.done()


def _meets(box: Rect, window: Rect, air: float = 2.0) -> bool:
    return (
        box[0] - air < window[2] and box[2] + air > window[0]
        and box[1] - air < window[3] and box[3] + air > window[1]
    )


def _draw_drawing(ink: Ink, plan: TemplatePlan, frame: Frame, window: Rect) -> None:
    drawing = plan.drawing
    for reference in drawing.references:
        _draw_reference(ink, frame, reference)
    for piece in drawing.before:
        if _meets(piece.box, window):
            ink.pen(0.25, SOFT, _DASHED)
            ink.stroke(frame.curve(piece.ring))
    for root in drawing.roots:
        _draw_root(ink, frame, root)
    for hinge in drawing.hinges:
        _draw_hinge(ink, frame, hinge, plan.choice.scale)
    for piece in drawing.pieces:
        if _meets(piece.box, window):
            draw_edge(ink, frame, piece, plan.choice.line)
    for label in plan.labels:
        _draw_label(ink, frame, label)


def draw_edge(ink: Ink, frame: Frame, piece: Piece, line: LineEdge) -> None:
    """The outline by a line of ``PEN`` mm that lies inside, outside or astride the true outline.

    Drawn twice as wide and clipped by the true curve itself, so that its true edge is exact.
    """
    path = frame.curve(piece.ring)
    if line == "middle":
        ink.pen(PEN)
        ink.stroke(path)
        return
    ink.painter.save()
    if line == "outer":
        ink.painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
    else:
        outside = QPainterPath()
        outside.addRect(path.boundingRect().adjusted(-10.0, -10.0, 10.0, 10.0))
        outside.addPath(path)
        ink.painter.setClipPath(outside, Qt.ClipOperation.IntersectClip)
    ink.pen(2 * PEN)
    ink.stroke(path)
    ink.painter.restore()


def along(
    ink: Ink, start: tuple[float, float], end: tuple[float, float], share: float, words: str, size: float,
    *, off: float = 1.0, bold: bool = False,
) -> None:
    """Words beside a line on paper, upright enough to read, their middle at ``share`` of it."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    if dx < -1e-9 or (abs(dx) <= 1e-9 and dy > 0.0):
        start, dx, dy, share = end, -dx, -dy, 1.0 - share
    painter = ink.painter
    painter.save()
    painter.translate(start[0] + share * dx, start[1] + share * dy)
    painter.rotate(math.degrees(math.atan2(dy, dx)))
    ink.text(0.0, -off, words, size, align="centre", colour=SOFT, bold=bold)
    painter.restore()


def _paper(frame: Frame, point: tuple[float, float]) -> tuple[float, float]:
    return frame.x(point[0]), frame.y(point[1])


def _draw_reference(ink: Ink, frame: Frame, line: Reference) -> None:
    start, end = _paper(frame, line.start), _paper(frame, line.end)
    ink.pen(0.13, SOFT, _DOT_DASHED)
    ink.line(*start, *end)
    words = max(1.0, ink.width(line.words, 6.5))
    length = math.dist(start, end)
    # At the line's end, beyond the outlines as a rule; again on every page it crosses.
    if length > words + 8.0:
        # Not at the crossing of both lines: level ones from the left, upright ones from the top.
        share = (words / 2 + 5.0) / length
        share = share if start[1] == end[1] else 1.0 - share
        along(ink, start, end, share, line.words, 6.5)
        visible = _visible_share(frame, start, end, share)
        if visible is not None and length > 3 * words:
            along(ink, start, end, visible, line.words, 6.5)


def _visible_share(
    frame: Frame, start: tuple[float, float], end: tuple[float, float], taken: float
) -> float | None:
    """Where on the line words stand well inside this page's window; None where those at ``taken`` do."""
    area = frame.area.adjusted(14.0, 14.0, -14.0, -14.0)
    at = start[0] + (end[0] - start[0]) * taken, start[1] + (end[1] - start[1]) * taken
    if frame.area.contains(QPointF(*at)):
        return None
    inside = [
        k / 200 for k in range(201)
        if area.contains(QPointF(
            start[0] + (end[0] - start[0]) * k / 200, start[1] + (end[1] - start[1]) * k / 200
        ))
    ]
    return inside[len(inside) // 5] if len(inside) > 2 else None


def _draw_root(ink: Ink, frame: Frame, root: Array) -> None:
    path = QPainterPath(QPointF(*_paper(frame, (float(root[0, 0]), float(root[0, 1])))))
    for u, v in root[1:]:
        path.lineTo(frame.x(float(u)), frame.y(float(v)))
    ink.pen(0.25, INK, (6.0, 4.0))
    ink.stroke(path)
    first, last = root[0], root[-1]
    along(ink, _paper(frame, (first[0], first[1])), _paper(frame, (last[0], last[1])), 0.3, "root line", 6.5,
          off=-3.0)


def _draw_hinge(ink: Ink, frame: Frame, hinge: HingeLine, scale: float) -> None:
    wide, far = _SLOT / 2 * min(1.0, scale), _SLOT_LONG / 2 * min(1.0, scale)
    start, end = _paper(frame, hinge.start), _paper(frame, hinge.end)
    length = math.dist(start, end)
    ahead = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    across = (-ahead[1], ahead[0])
    ink.pen(0.2, INK, _DOT_DASHED)
    ink.line(*start, *end)
    for i, point in enumerate(hinge.hinges):
        x, y = _paper(frame, point)
        slot = [
            (x + a * ahead[0] + b * across[0], y + a * ahead[1] + b * across[1])
            for a, b in ((-wide, -far), (wide, -far), (wide, far), (-wide, far))
        ]
        ink.pen(0.15, SOFT)
        ink.stroke(closed_path(slot))
        ink.pen(0.2)
        ink.line(x - across[0] * far, y - across[1] * far, x + across[0] * far, y + across[1] * far)
        ink.text(x + across[0] * (far + 2.4), y + across[1] * (far + 2.4) + 0.8,
                 f"H{i + 1}", 6.0, align="centre", colour=SOFT)
    along(ink, start, end, 2 / 7, "hinge line", 6.5)


def _draw_label(ink: Ink, frame: Frame, label: Placed) -> None:
    x, y = _paper(frame, (label.u, label.v))
    y -= sum(line.pitch for line in label.lines) / 2
    for line in label.lines:
        y += line.pitch
        ink.text(x, y - 0.25 * line.pitch, line.text, line.size, bold=line.bold, align="centre",
                 room=label.room + 0.5, colour=INK if line.bold else SOFT)
    if label.arrow is not None:
        start, end = _paper(frame, label.arrow[0]), _paper(frame, label.arrow[1])
        _draw_arrow(ink, start, end)


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
    if length >= 18.0:
        along(ink, start, end, 0.5, "grain", 6.0, off=0.7)


def _draw_join(ink: Ink, frame: Frame, join: Join, marks: Sequence[tuple[float, float]]) -> None:
    start, end = _paper(frame, join.start), _paper(frame, join.end)
    ink.pen(0.12, SOFT, _DOT_DASHED)
    ink.line(*start, *end)
    # The neighbour's name stands beyond the join where there is room, so that it goes when it is cut.
    inwards = {"left": -1.0, "right": 1.0, "top": -1.0, "bottom": 1.0}[join.side]
    upright = join.side in ("left", "right")
    which, level = (1, join.start[0]) if upright else (0, join.start[1])
    on = sorted(m[which] for m in marks if abs(m[1 - which] - level) < 1e-3)
    middle = (on[0] + on[1]) / 2
    x, y = _paper(frame, (level, middle) if upright else (middle, level))
    name = f"{join.neighbour.name} joins here"
    painter = ink.painter
    painter.save()
    painter.translate(x, y)
    if upright:
        painter.rotate(-90.0)
    ink.text(0.0, 3.1 if inwards > 0.0 else -1.1, name, 6.5, align="centre", colour=SOFT)
    painter.restore()


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


