"""Lines of a draft that wait for a choice: which of two that run side by side is meant."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from app.canvas.tools.hand import Beside, Point
from app.canvas.view import View
from app.kit.theme import Theme


def draw_beside(painter: QPainter, beside: Beside, view: View, theme: Theme) -> None:
    """The taken line in dashes over the draft's own, the other in thin dots; the marked pair is stronger."""
    paper = QColor(theme.paper)
    colour = QColor(theme.draft)
    taken, other = _on_screen(beside.taken, view), _on_screen(beside.other, view)
    painter.setPen(QPen(paper, 5.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    painter.drawPolyline(taken)
    pen = QPen(colour, 3.0 if beside.marked else 2.0)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    pen.setDashPattern([dash / pen.widthF() for dash in (9.0, 6.0)])
    painter.setPen(pen)
    painter.drawPolyline(taken)
    rim = QColor(paper)
    rim.setAlpha(200)
    painter.setPen(QPen(rim, 4.0))
    painter.drawPolyline(other)
    dots = QPen(QColor(theme.pick), 2.4 if beside.marked else 1.6)
    dots.setCapStyle(Qt.PenCapStyle.FlatCap)
    dots.setDashPattern([dash / dots.widthF() for dash in (2.5, 4.0)])
    painter.setPen(dots)
    painter.drawPolyline(other)


def _on_screen(line: Sequence[Point], view: View) -> QPolygonF:
    return QPolygonF([QPointF(*view.to_px(x, z)) for x, z in line])
