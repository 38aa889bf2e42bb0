"""What is drawn anew with every frame: moving outlines, nodes, marks, and the hand's overlay."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from app.canvas import marks
from app.canvas.hits import Hit, shown_handles
from app.canvas.ink import draw_outline, transform_of
from app.canvas.tools.edit import grip_offset, scale_grip
from app.canvas.tools.hand import Overlay
from app.canvas.view import View
from app.selection import Selection
from app.theme import Theme
from core.design import Design, Outline
from core.redesign.outline_edits import is_smooth
from core.stability.readings import Readings
from core.stability.side_area import form_of
from core.stability.wording import percent


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


def draw_frame(painter: QPainter, frame: Frame, theme: Theme, size: QSize) -> None:
    """Draw ``frame`` over the resting layers, in logical pixels."""
    selected = set(frame.selection.outlines)
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
    _draw_marks(painter, frame, theme, size)
    _draw_overlay(painter, frame, theme, size)


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


def _draw_marks(painter: QPainter, frame: Frame, theme: Theme, size: QSize) -> None:
    view, readings = frame.view, frame.readings
    labels: list[tuple[str, tuple[float, float], str]] = []
    if readings.fin_centre is not None:
        at = view.to_px(*readings.fin_centre)
        marks.draw_fin_centre(painter, at, theme)
        labels.append(("fin centre", at, theme.fin))
    if readings.cla is not None:
        at = view.to_px(*readings.cla)
        marks.draw_cla(painter, at, theme)
        fraction = readings.value("cla_fraction")
        labels.append(("CLA" if fraction is None else f"CLA {percent(fraction)}", at, theme.cla))
    if readings.cg is not None:
        at = view.to_px(readings.cg.x, readings.cg.z)
        marks.draw_cg(painter, at, theme)
        labels.append(("CG", at, theme.ink))
    marks.draw_labels(painter, labels, theme, size.width(), size.height())


def mark_places(readings: Readings) -> list[tuple[float, float]]:
    """Where marks stand, in mm."""
    cg = (readings.cg.x, readings.cg.z) if readings.cg else None
    return [place for place in (readings.fin_centre, readings.cla, cg) if place is not None]


def mark_px(at: tuple[float, float]) -> QRect:
    """What a mark at a pixel covers, whichever side its label stands on."""
    return QRect(round(at[0]) - 150, round(at[1]) - 60, 300, 120)


def slip_px(at: QPointF) -> QRect:
    """What the figure beside the cursor may cover."""
    return QRect(round(at.x()) - 300, round(at.y()) - 70, 620, 140)


def _draw_overlay(painter: QPainter, frame: Frame, theme: Theme, size: QSize) -> None:
    overlay, view = frame.overlay, frame.view
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
        path = QPainterPath(QPointF(*view.to_px(*overlay.draft[0])))
        for x, z in overlay.draft[1:]:
            path.lineTo(*view.to_px(x, z))
        rim = QColor(theme.paper)
        rim.setAlpha(200)
        painter.strokePath(path, QPen(rim, 4.0))
        painter.strokePath(path, QPen(QColor(theme.draft), 2.0))
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
        marks.draw_snap(painter, at, theme, on_node=overlay.snap.to == "node")
    if overlay.figure:
        _draw_figure(painter, overlay.figure, frame.figure_at, theme, size)


def _draw_figure(painter: QPainter, text: str, at: QPointF, theme: Theme, size: QSize) -> None:
    """The figure beside the cursor, on a slip of paper that stays inside the canvas."""
    font = QFont(painter.font())
    font.setBold(True)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    wide, high = metrics.horizontalAdvance(text) + 14, metrics.height() + 6
    x = min(at.x() + 18, size.width() - wide - 4)
    y = at.y() - high - 12 if at.y() > high + 16 else at.y() + 20
    slip = QRectF(max(x, 4.0), y, wide, high)
    painter.setPen(QPen(QColor(theme.ink_soft), 1.0))
    painter.setBrush(QColor(theme.paper))
    painter.drawRoundedRect(slip, 3, 3)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QColor(theme.ink))
    painter.drawText(slip, Qt.AlignmentFlag.AlignCenter, text)
