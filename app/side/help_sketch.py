"""What the small drawings of the help are made of: an invented aeroplane, lines, words, arrows."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPainterPath, QPen, QPolygonF

from app.kit.theme import Theme

WIDE, HIGH = 156, 92
"""Logical pixels of a drawing."""
Place = tuple[float, float]

CG: Place = (58.0, 54.0)
FIN: Place = (133.0, 38.0)
CLA: Place = (77.0, 51.0)
FIN_CORNERS: tuple[Place, ...] = ((110, 47), (123, 21), (134, 21), (134, 51))
RUDDER_CORNERS: tuple[Place, ...] = ((134, 21), (143, 25), (143, 51), (134, 51))


def body_path() -> QPainterPath:
    """The fuselage of the aeroplane in the drawings, nose to the left."""
    path = QPainterPath(QPointF(8, 55))
    path.cubicTo(12, 40, 50, 37, 78, 42)
    path.lineTo(140, 49)
    path.lineTo(140, 55)
    path.cubicTo(96, 68, 36, 72, 8, 55)
    return path


def corners_path(corners: Sequence[Place]) -> QPainterPath:
    """A closed path of straight edges."""
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(*at) for at in corners]))
    path.closeSubpath()
    return path


class Sketch:
    """One drawing under way."""

    def __init__(self, painter: QPainter, theme: Theme) -> None:
        self.painter, self.theme = painter, theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(0, 0, WIDE, HIGH, QColor(theme.paper))
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.drawRect(QRectF(0.5, 0.5, WIDE - 1, HIGH - 1))

    def pen(self, colour: str, width: float = 1.5, *, dashed: bool = False) -> None:
        """Lines from here on."""
        pen = QPen(QColor(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        if dashed:
            pen.setDashPattern([3.0, 3.0])
        self.painter.setPen(pen)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)

    def line(self, *places: Place, colour: str = "", width: float = 1.5, dashed: bool = False) -> None:
        """An open line through places."""
        self.pen(colour or self.theme.ink, width, dashed=dashed)
        self.painter.drawPolyline([QPointF(*at) for at in places])

    def shape(
        self, path: QPainterPath, wash: str = "", edge: str = "", width: float = 1.4, *, dashed: bool = False
    ) -> None:
        """A path with a light wash."""
        if wash:
            fill = QColor(wash)
            fill.setAlpha(110)
            self.painter.fillPath(path, fill)
        self.pen(edge or self.theme.ink, width, dashed=dashed)
        self.painter.drawPath(path)

    def box(
        self, left: float, top: float, wide: float, high: float, wash: str = "", *, dashed: bool = False
    ) -> None:
        """A rectangle."""
        path = QPainterPath()
        path.addRect(left, top, wide, high)
        self.shape(path, wash, dashed=dashed)

    def ring(self, at: Place, radius: float, wash: str = "", colour: str = "", width: float = 1.4) -> None:
        """A circle."""
        path = QPainterPath()
        path.addEllipse(QPointF(*at), radius, radius)
        self.shape(path, wash, colour, width)

    def dot(self, at: Place, radius: float = 2.2, colour: str = "") -> None:
        """A filled spot."""
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(QColor(colour or self.theme.ink))
        self.painter.drawEllipse(QPointF(*at), radius, radius)

    def words(
        self, x: float, y: float, text: str, colour: str = "", *, size: float = 7.5, bold: bool = False
    ) -> None:
        """Words with their middle at ``x`` and their base line at ``y``."""
        font = QFont(self.painter.font())
        font.setPointSizeF(size)
        font.setBold(bold)
        self.painter.setFont(font)
        self.painter.setPen(QColor(colour or self.theme.ink))
        self.painter.drawText(QRectF(x - 100, y - 30, 200, 30), _MIDDLE_FOOT, text)

    def arrow(self, start: Place, end: Place, colour: str = "", width: float = 1.5) -> None:
        """A line with a head at its end."""
        colour = colour or self.theme.pick
        self.line(start, end, colour=colour, width=width)
        way = math.atan2(end[1] - start[1], end[0] - start[0])
        head = [
            (end[0] - 6 * math.cos(way + turn), end[1] - 6 * math.sin(way + turn)) for turn in (-0.45, 0.45)
        ]
        self.line(head[0], end, head[1], colour=colour, width=width)

    def span(self, left: float, right: float, y: float, text: str, colour: str = "") -> None:
        """A dimension line with its words below."""
        colour = colour or self.theme.ink
        self.line((left, y), (right, y), colour=colour, width=1.2)
        for x in (left, right):
            self.line((x, y - 4), (x, y + 4), colour=colour, width=1.2)
        self.words((left + right) / 2, y + 15, text, colour)

    # The aeroplane

    def body(self, wash: bool = True) -> None:
        """The fuselage."""
        self.shape(body_path(), self.theme.body if wash else "")

    def tail(self, wash: bool = True) -> None:
        """Fin and rudder."""
        for corners in (FIN_CORNERS, RUDDER_CORNERS):
            self.shape(corners_path(corners), self.theme.tail if wash else "")

    def plane(self, wash: bool = True) -> None:
        """Fin, rudder and, before them, the fuselage."""
        self.tail(wash)
        self.body(wash)

    def wheel(self, at: Place, radius: float = 9.0) -> None:
        """A wheel."""
        self.ring(at, radius, self.theme.stand)
        self.dot(at, 1.6)


_MIDDLE_FOOT = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom)
