"""What is drawn anew with every frame: moving outlines, nodes, marks, and the hand's overlay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QRegion

from app.canvas import marks
from app.canvas.figure_place import figure_box
from app.canvas.hits import Hit, shown_handles
from app.canvas.ink import box_px, draw_outline, transform_of
from app.canvas.layers import RULER_PX
from app.canvas.line_marks import draw_beside
from app.canvas.sheet_marks import draw_edges, draw_labels
from app.canvas.tools.edit import grip_offset, scale_grip
from app.canvas.tools.hand import Overlay
from app.canvas.tools.weights import weight_size
from app.canvas.view import View
from app.kit.marks import disc_ends, draw_disc, draw_mark, draw_other_cg, mark_colour, named_marks
from app.kit.theme import Theme
from app.work.selection import Selection
from core.design import Design, Mark, Outline, Weight
from core.redesign.outline_edits import is_smooth
from core.stability.ballast import weighed
from core.stability.readings import Readings
from core.stability.side_area import form_of


@dataclass(frozen=True)
class Frame:
    """All that one frame shows."""

    design: Design
    readings: Readings
    view: View
    selection: Selection
    moving: frozenset[str]
    hover: Hit | None
    overlay: Overlay
    figure_at: QPointF
    editing: bool
    show_weights: bool = False
    """Whether the weights are what is worked on: their labels and the other CG are shown too."""
    hover_weight: str | None = None
    waiting: Overlay | None = None
    """What is half drawn and waits while another hand is in use."""


def draw_frame(painter: QPainter, frame: Frame, theme: Theme, size: QSize) -> None:
    """Draw ``frame`` over the resting layers, in logical pixels."""
    selected = set(frame.selection.outlines)
    disc = disc_ends(frame.design, frame.readings)
    if disc is not None:
        draw_disc(painter, frame.view.to_px(*disc[0]), frame.view.to_px(*disc[1]), theme)
    for outline in frame.design.outlines:
        if outline.id in frame.moving and not outline.hidden:
            draw_outline(painter, outline, frame.view, theme, selected=outline.id in selected)
    _draw_hover(painter, frame, theme)
    for outline in frame.design.outlines:
        if outline.hidden:
            continue
        for x, z in form_of(outline).crossings:
            marks.draw_crossing(painter, frame.view.to_px(x, z), theme)
        if frame.editing and outline.id in selected and not outline.locked:
            _draw_nodes(painter, outline, frame, theme)
    if frame.editing:
        grip = scale_grip(frame.design, frame.selection)
        if grip is not None:
            marks.draw_grip(painter, grip_offset(*frame.view.to_px(*grip)), theme)
    if frame.editing or frame.show_weights:
        _draw_weights(painter, frame, theme)
    taken = _draw_marks(painter, frame, theme, size)
    if frame.editing or frame.show_weights:
        taken += _label_weights(painter, frame, taken, theme, size)
    if frame.waiting is not None:
        _draw_waiting(painter, frame.waiting, frame.view, theme)
    _draw_overlay(painter, frame, theme, size, taken)


def _draw_waiting(painter: QPainter, waiting: Overlay, view: View, theme: Theme) -> None:
    """A half-drawn outline at rest: its line dashed, its clicks as dots."""
    colour = QColor(theme.draft)
    colour.setAlpha(170)
    if len(waiting.draft) > 1:
        painter.strokePath(_path(waiting.draft, view), QPen(colour, 1.6, Qt.PenStyle.DashLine))
    painter.setPen(QPen(colour, 5.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    for x, z in waiting.draft_nodes:
        painter.drawPoint(QPointF(*view.to_px(x, z)))


def _path(points: tuple[tuple[float, float], ...], view: View) -> QPainterPath:
    path = QPainterPath(QPointF(*view.to_px(*points[0])))
    for x, z in points[1:]:
        path.lineTo(*view.to_px(x, z))
    return path


def _draw_hover(painter: QPainter, frame: Frame, theme: Theme) -> None:
    hover = frame.hover
    if hover is None or not frame.editing:
        return
    outline = next((o for o in frame.design.outlines if o.id == hover.outline), None)
    if outline is None or hover.index >= len(outline.nodes):
        return
    ring = form_of(outline).ring
    if hover.kind == "edge":
        path = QPainterPath(QPointF(*ring.p0[hover.index]))
        path.cubicTo(*ring.p1[hover.index], *ring.p2[hover.index], *ring.p3[hover.index])
        pen = QPen(QColor(theme.pick), 4.0)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.strokePath(transform_of(frame.view).map(path), pen)
    elif hover.kind == "node":
        node = outline.nodes[hover.index]
        marks.draw_node(
            painter, frame.view.to_px(node.x, node.z), theme, smooth=is_smooth(node), selected=True
        )


def _draw_nodes(painter: QPainter, outline: Outline, frame: Frame, theme: Theme) -> None:
    view = frame.view
    for i in shown_handles(outline, frame.selection):
        node = outline.nodes[i]
        at = view.to_px(node.x, node.z)
        for handle in (node.handle_in, node.handle_out):
            if handle is not None:
                marks.draw_handle(painter, at, view.to_px(node.x + handle[0], node.z + handle[1]), theme)
    picked = set(frame.selection.nodes_of(outline.id))
    for i, node in enumerate(outline.nodes):
        marks.draw_node(
            painter, view.to_px(node.x, node.z), theme, smooth=is_smooth(node), selected=i in picked
        )


def _weights(frame: Frame) -> list[Weight]:
    """The heavy ones first, so that the small ones lie on top; the selected one last of all."""
    return sorted(frame.design.weights, key=lambda w: (w.id == frame.selection.weight, -w.grams))


def _draw_weights(painter: QPainter, frame: Frame, theme: Theme) -> None:
    for weight in _weights(frame):
        marks.draw_weight(
            painter, frame.view.to_px(weight.x, weight.z), weight_size(weight.grams), theme,
            selected=weight.id in (frame.selection.weight, frame.hover_weight), faint=not frame.show_weights,
        )


def _label_weights(
    painter: QPainter, frame: Frame, taken: list[QRectF], theme: Theme, size: QSize
) -> list[QRectF]:
    shown = (frame.selection.weight, frame.hover_weight)
    labels = [
        (w.name, frame.view.to_px(w.x, w.z), weight_size(w.grams),
         theme.pick if w.id in shown else theme.ink, w.id in shown)
        for w in _weights(frame) if frame.show_weights or w.id in shown
    ]
    inside = QRectF(2, 2, size.width() - 4, size.height() - RULER_PX - 4)
    moves = frame.selection.weight is not None
    return marks.draw_small_labels(painter, labels, taken, theme, inside, last_moves=moves)


def other_cg(design: Design) -> tuple[Mark | None, str]:
    """The CG that the design does not go by, and what to call it."""
    if design.cg_from == "weights":
        return design.cg_mark, "mark"
    now = weighed(design)
    return (None if isinstance(now, str) else Mark(now.x, now.z)), "weights"


def _draw_marks(painter: QPainter, frame: Frame, theme: Theme, size: QSize) -> list[QRectF]:
    view, cg = frame.view, frame.readings.cg
    other, name = other_cg(frame.design) if frame.show_weights else (None, "")
    other_at = None if other is None else view.to_px(other.x, other.z)
    if other_at is not None:
        draw_other_cg(painter, other_at, theme)
    labels: list[tuple[str, tuple[float, float], str]] = []
    named = named_marks(frame.design, frame.readings)
    for mark in reversed(named):
        draw_mark(painter, mark.kind, view.to_px(*mark.at), theme)
    for mark in named:
        labels.append((mark.words, view.to_px(*mark.at), mark_colour(mark.kind, theme)))
    # Where the two CGs fall together one label says it.
    if other_at is not None and (cg is None or math.dist(other_at, view.to_px(cg.x, cg.z)) > 4.0):
        labels.append((name, other_at, theme.ink_soft))
    return marks.draw_labels(painter, labels, theme, size.width(), size.height())


def mark_px(at: tuple[float, float]) -> QRect:
    """What a mark at a pixel covers, whichever side its label stands on."""
    return QRect(round(at[0]) - 220, round(at[1]) - 60, 440, 120)


def disc_px(top: tuple[float, float], bottom: tuple[float, float]) -> QRect:
    """What the propeller's disc and its name cover."""
    # At the edge of what is seen the name stands beside the disc.
    return QRect(round(top[0]) - 60, round(top[1]) - 26, 180, round(bottom[1] - top[1]) + 32)


def slip_px(at: QPointF) -> QRect:
    """What the figure beside the cursor may cover."""
    return QRect(round(at.x()) - 320, round(at.y()) - 130, 640, 260)


def moving_px(
    design: Design, readings: Readings, view: View, moving: frozenset[str], figure_at: QPointF
) -> QRegion:
    """What has to be painted anew while only the ``moving`` outlines and the marks move."""
    region = QRegion(slip_px(figure_at))
    for outline in design.outlines:
        if outline.id in moving:
            region += box_px(outline, view, 34.0).toAlignedRect()
    for mark in named_marks(design, readings):
        region += mark_px(view.to_px(*mark.at))
    disc = disc_ends(design, readings)
    if disc is not None:
        region += disc_px(view.to_px(*disc[0]), view.to_px(*disc[1]))
    return region


def moves_everything(shown: Design, committed: Design, *, show_weights: bool) -> bool:
    """Whether a gesture may change the picture anywhere: labels of weights make room for what moves."""
    labels = show_weights and bool(shown.weights)
    return labels or shown.weights != committed.weights or shown.scans != committed.scans


def _draw_overlay(
    painter: QPainter, frame: Frame, theme: Theme, size: QSize, taken: Sequence[QRectF]
) -> None:
    overlay, view = frame.overlay, frame.view
    draw_edges(painter, overlay, view, theme)
    if overlay.band is not None:
        (x0, z0), (x1, z1) = overlay.band
        box = QRectF(QPointF(*view.to_px(x0, z0)), QPointF(*view.to_px(x1, z1))).normalized()
        fill = QColor(theme.pick)
        fill.setAlpha(30)
        painter.fillRect(box, fill)
        pen = QPen(QColor(theme.pick), 1.0, Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.drawRect(box)
    if overlay.draft:
        path = _path(overlay.draft, view)
        rim = QColor(theme.paper)
        rim.setAlpha(200)
        painter.strokePath(path, QPen(rim, 4.0))
        painter.strokePath(path, QPen(QColor(theme.draft), 2.0))
    for beside in overlay.besides:
        draw_beside(painter, beside, view, theme)
    for node, end in overlay.draft_handles:
        marks.draw_handle(painter, view.to_px(*node), view.to_px(*end), theme)
    for i, (x, z) in enumerate(overlay.draft_nodes):
        marks.draw_node(painter, view.to_px(x, z), theme, smooth=False, selected=i == 0)
    if overlay.closing and overlay.draft_nodes:
        painter.setPen(QPen(QColor(theme.draft), 2.0))
        painter.drawEllipse(QPointF(*view.to_px(*overlay.draft_nodes[0])), 9, 9)
    for one, other in overlay.guides:
        painter.setPen(QPen(QColor(theme.draft), 1.6))
        painter.drawLine(QPointF(*view.to_px(*one)), QPointF(*view.to_px(*other)))
    for x, z in overlay.points:
        px, py = view.to_px(x, z)
        painter.setPen(QPen(QColor(theme.draft), 1.8))
        painter.drawEllipse(QPointF(px, py), 6, 6)
        painter.drawLine(QPointF(px - 11, py), QPointF(px + 11, py))
        painter.drawLine(QPointF(px, py - 11), QPointF(px, py + 11))
    if overlay.snap is not None:
        at = view.to_px(overlay.snap.x, overlay.snap.z)
        if overlay.snap.to == "ink":
            _draw_on_ink(painter, at, theme)
        else:
            marks.draw_snap(painter, at, theme, on_node=overlay.snap.to == "node")
    draw_labels(painter, overlay, view, theme, size)
    if overlay.figure:
        _draw_figure(painter, overlay.figure, frame.figure_at, theme, size, taken)


def _draw_on_ink(painter: QPainter, at: tuple[float, float], theme: Theme) -> None:
    """A point that catches the middle of a drawn line: a ring, open where the line shows, and a dot."""
    painter.setPen(QPen(QColor(theme.paper), 4.0))
    painter.drawEllipse(QPointF(*at), 7, 7)
    painter.setPen(QPen(QColor(theme.draft), 1.8))
    painter.drawEllipse(QPointF(*at), 7, 7)
    painter.setPen(QPen(QColor(theme.draft), 3.4, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    painter.drawPoint(QPointF(*at))


def _draw_figure(
    painter: QPainter, text: str, at: QPointF, theme: Theme, size: QSize, taken: Sequence[QRectF]
) -> None:
    """The figure beside the cursor, on a slip of paper inside the canvas that covers no mark and no name."""
    font = QFont(painter.font())
    font.setBold(True)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    wide, high = metrics.horizontalAdvance(text) + 14, metrics.height() + 6
    slip = figure_box((at.x(), at.y()), wide, high, QRectF(0, 0, size.width(), size.height()), taken)
    painter.setPen(QPen(QColor(theme.ink_soft), 1.0))
    painter.setBrush(QColor(theme.paper))
    painter.drawRoundedRect(slip, 3, 3)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QColor(theme.ink))
    painter.drawText(slip, Qt.AlignmentFlag.AlignCenter, text)
