"""The sign that goes with a state of the answer or a verdict: a shape of its own, on screen and paper."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from core.stability.answer import AnswerState

_WHITE = QColor("#ffffff")


def draw_state(painter: QPainter, box: QRectF, state: AnswerState, colour: QColor) -> None:
    """Draw the sign of ``state`` in the middle of ``box``; for its word stands beside it.

    A disc with a tick (within), a wedge that points the way the CLA is off (below, above), an
    eight-cornered plate with a bar (stop), a disc filled by half (doubt), a broken ring (incomplete,
    missing).
    """
    painter.save()
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    c, r = box.center(), min(box.width(), box.height()) / 2
    if state == "within":
        painter.drawEllipse(c, r, r)
        _line(painter, _WHITE, r / 4, (-0.5, 0.0), (-0.125, 0.42), (0.5, -0.42), c=c, r=r)
    elif state in ("below", "above"):
        way = -1.0 if state == "below" else 1.0
        back = -way * r * 0.7
        painter.drawPolygon(
            QPolygonF([c + QPointF(way * r, 0), c + QPointF(back, -r), c + QPointF(back, r)])
        )
    elif state == "stop":
        turns = (math.pi / 8 + k * math.pi / 4 for k in range(8))
        painter.drawPolygon(QPolygonF([c + QPointF(r * math.cos(t), r * math.sin(t)) for t in turns]))
        _line(painter, _WHITE, r / 2.6, (-0.5, 0.0), (0.5, 0.0), c=c, r=r)
    elif state == "doubt":
        painter.drawPie(_square(c, r), 90 * 16, 180 * 16)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, r / 4))
        painter.drawEllipse(c, r * 0.87, r * 0.87)
    else:
        painter.setPen(QPen(colour, r / 3, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        painter.drawArc(_square(c, r * 0.83), 60 * 16, 270 * 16)
    painter.restore()


def _square(c: QPointF, r: float) -> QRectF:
    return QRectF(c.x() - r, c.y() - r, 2 * r, 2 * r)


def _line(
    painter: QPainter, colour: QColor, width: float, *points: tuple[float, float], c: QPointF, r: float
) -> None:
    painter.setPen(QPen(colour, width))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF([c + QPointF(r * x, r * y) for x, y in points]))
