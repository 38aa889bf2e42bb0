"""Marks of the hands that place scans: the edge of the sheet in hand, and words beside points."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from app.canvas.tools.hand import Overlay, Point
from app.canvas.view import View
from app.kit.theme import Theme

_GAP_PX = 12.0


def draw_edges(painter: QPainter, overlay: Overlay, view: View, theme: Theme) -> None:
    """The sheet's own edge as a solid line on a light rim, and dashed where it would come to lie."""
    for edge, dashed in ((overlay.edge, False), (overlay.ghost_edge, True)):
        if not edge:
            continue
        rim = QColor(theme.paper)
        rim.setAlpha(190)
        pen = QPen(QColor(theme.pick), 2.4)
        if dashed:
            pen.setDashPattern([5, 3])
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for stroke in (QPen(rim, 5.0), pen):
            painter.setPen(stroke)
            painter.drawPolygon(_polygon(edge, view))


def _polygon(edge: tuple[Point, ...], view: View) -> QPolygonF:
    return QPolygonF([QPointF(*view.to_px(*corner)) for corner in edge])


def draw_labels(painter: QPainter, overlay: Overlay, view: View, theme: Theme, size: QSize) -> None:
    """Words on slips beside their points, moved apart where they would cover one another."""
    if not overlay.labels:
        return
    font = QFont(painter.font())
    font.setPointSizeF(max(7.0, font.pointSizeF() * 0.9))
    taken: list[QRectF] = []
    for label in sorted(overlay.labels, key=lambda each: not each.marked):
        font.setBold(label.marked)
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        wide, high = metrics.horizontalAdvance(label.text) + 10, metrics.height() + 2
        x, y = view.to_px(label.x, label.z)
        if not (-20 <= x <= size.width() + 20 and -20 <= y <= size.height() + 20):
            continue
        slip = _free_slip(x, y, wide, high, taken, size)
        taken.append(slip)
        painter.setPen(QPen(QColor(theme.fault if label.marked else theme.ink_soft), 1.0))
        painter.setBrush(QColor(theme.paper))
        painter.drawRoundedRect(slip, 3, 3)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QColor(theme.fault if label.marked else theme.ink))
        painter.drawText(slip, Qt.AlignmentFlag.AlignCenter, label.text)


def _free_slip(
    x: float, y: float, wide: float, high: float, taken: list[QRectF], size: QSize
) -> QRectF:
    places = (
        (x + _GAP_PX, y - high - 4), (x + _GAP_PX, y + 4), (x - wide - _GAP_PX, y - high - 4),
        (x - wide - _GAP_PX, y + 4), (x - wide / 2, y + _GAP_PX), (x - wide / 2, y - high - _GAP_PX),
    )
    slips = [
        QRectF(
            min(max(left, 3.0), max(size.width() - wide - 3.0, 3.0)),
            min(max(top, 3.0), max(size.height() - high - 3.0, 3.0)), wide, high,
        )
        for left, top in places
    ]
    free = (slip for slip in slips if not any(slip.intersects(other) for other in taken))
    return next(free, slips[0])
