"""A small view from above: the aeroplane swings about its CG, the wind comes from where it comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.kit.inks import mixed
from app.kit.marks import draw_cg
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.side.plan_form import PlanForm

_MOST_DRAWN_DEG = 52.0
"""An angle is not drawn larger than it is where that would turn it further."""
_TIMES = (4, 3, 2)
_RIM = 30.0
_ARC = 60.0


@dataclass(frozen=True, eq=False)
class Standing:
    """One aeroplane at one moment: its heading and the band about it, in degrees clockwise."""

    form: PlanForm
    heading: float
    low: float
    high: float
    name: str


def times_as_large(most_deg: float) -> int:
    """How much larger angles are drawn where none is more than ``most_deg``: a swing of 5° is hard to see."""
    return next((times for times in _TIMES if times * abs(most_deg) <= _MOST_DRAWN_DEG), 1)


@errors_told
class FromAbove(QWidget):
    """Draws what it is given and computes nothing."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.now: Standing | None = None
        self.kept: Standing | None = None
        self.wind_deg: float | None = None
        self.times = 1
        self._reach = 1.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The aeroplane from above")

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def show_standing(
        self, now: Standing | None, kept: Standing | None, wind_deg: float | None, times: int, reach: float
    ) -> None:
        """Show these; the wind comes from ``wind_deg``, angles are drawn ``times`` as large.

        ``reach`` in mm is what has to find room. Without wind nothing is flown: it stands as it is.
        """
        self.now, self.kept, self.wind_deg, self.times = now, kept, wind_deg, times
        self._reach = max(reach, 1.0)
        words = []
        if now is not None and wind_deg is not None:
            words.append(f"heading {_degrees(now.heading)}, wind from {_degrees(wind_deg)}")
        if kept is not None:
            words.append(f"{kept.name}: heading {_degrees(kept.heading)}")
        self.setAccessibleDescription("; ".join(words))
        self.update()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(300, 320)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return QSize(180, 170)

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(self._theme.paper))
        if self.now is not None:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            self._draw(painter, self.now)
        painter.end()

    def _draw(self, painter: QPainter, now: Standing) -> None:
        line = self.fontMetrics().height()
        foot = line + 4.0
        room = QRectF(self.rect()).adjusted(4.0, 4.0, -4.0, -foot)
        around = min(0.5 * room.width(), 0.5 * room.height())
        radius = around - line - 6.0
        at = QPointF(room.center().x(), room.center().y() + 0.4 * line)
        scale = 0.88 * (radius - 10.0) / self._reach
        if self.wind_deg is not None:
            self._draw_scale(painter, at, radius)
            self._draw_fan(painter, at, radius - 4.0, now)
            self._draw_wind(painter, at, radius, self.wind_deg, now.heading)
        if self.kept is not None:
            self._draw_aeroplane(painter, at, scale, self.kept, ghost=True)
        self._draw_aeroplane(painter, at, scale, now, ghost=False)
        draw_cg(painter, (at.x(), at.y()), self._theme, 5.0)
        if self.times > 1 and self.wind_deg is not None:
            painter.setPen(QColor(self._theme.ink_soft))
            below = QRectF(self.rect()).adjusted(4.0, self.height() - foot, -4.0, -2.0)
            painter.drawText(below, Qt.AlignmentFlag.AlignCenter, f"angles drawn {self.times} × as large")

    def _turned(self, degrees: float) -> float:
        return self.times * degrees

    def _toward(self, at: QPointF, degrees: float, far: float) -> QPointF:
        """The point ``far`` from ``at`` in the direction of a heading, drawn as large as angles are."""
        angle = math.radians(self._turned(degrees))
        return QPointF(at.x() + far * math.sin(angle), at.y() - far * math.cos(angle))

    def _draw_scale(self, painter: QPainter, at: QPointF, radius: float) -> None:
        """An arc ahead of the nose with ticks, so that a swing can be read off it."""
        soft = QColor(self._theme.ink_soft)
        painter.setPen(QPen(QColor(self._theme.line), 1.2))
        box = QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius)
        painter.drawArc(box, round((90 - _ARC) * 16), round(2 * _ARC * 16))
        step = next(s for s in (5, 10, 15, 20) if s * self.times >= 15.0)
        count = int(_ARC / (step * self.times))
        line = self.fontMetrics().height()
        for n in range(-count, count + 1):
            degrees = float(n * step)
            painter.setPen(QPen(soft, 1.2))
            painter.drawLine(self._toward(at, degrees, radius - 4.0), self._toward(at, degrees, radius + 2.0))
            words = f"{abs(n) * step}°"
            place = self._toward(at, degrees, radius + 4.0 + 0.5 * line)
            painter.drawText(
                QRectF(place.x() - 30, place.y() - 0.5 * line, 60, line), Qt.AlignmentFlag.AlignCenter, words
            )
        painter.setPen(QPen(soft, 1.0, Qt.PenStyle.DotLine))
        painter.drawLine(at, QPointF(at.x(), at.y() - radius))

    def _draw_fan(self, painter: QPainter, at: QPointF, radius: float, now: Standing) -> None:
        """How far the draws spread: a faint wedge with some headings in it."""
        low, high = self._turned(now.low), self._turned(now.high)
        box = QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius)
        wedge = QPainterPath(at)
        wedge.arcTo(box, 90.0 - low, low - high)
        wedge.closeSubpath()
        wash = QColor(self._theme.ink_soft)
        wash.setAlpha(40)
        painter.fillPath(wedge, wash)
        wash.setAlpha(110)
        painter.setPen(QPen(wash, 1.0))
        for degrees in (
            now.low, 0.5 * (now.low + now.heading), 0.5 * (now.heading + now.high), now.high,
        ):
            painter.drawLine(at, self._toward(at, degrees, radius))
        painter.setPen(QPen(QColor(self._theme.ink), 1.6))
        painter.drawLine(self._toward(at, now.heading, 0.55 * radius), self._toward(at, now.heading, radius))

    def _draw_wind(
        self, painter: QPainter, at: QPointF, radius: float, wind_deg: float, heading: float
    ) -> None:
        """An arrow with a feathered end, from without towards the CG, and its word."""
        colour = QColor(self._theme.ink_soft)
        tail = self._toward(at, wind_deg, radius - 8.0)
        angle = self._turned(wind_deg)
        long = min(_RIM, 0.28 * radius)
        painter.save()
        painter.translate(tail)
        painter.rotate(angle)
        painter.setPen(QPen(colour, 2.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        painter.drawLine(QPointF(0, 0), QPointF(0, long))
        for up in (0.0, 5.0, 10.0):
            painter.drawLine(QPointF(0, up + 5.0), QPointF(-5.0, up))
            painter.drawLine(QPointF(0, up + 5.0), QPointF(5.0, up))
        painter.setBrush(colour)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.drawPolygon(QPolygonF([
            QPointF(0, long + 8.0), QPointF(-4.5, long - 1.0), QPointF(4.5, long - 1.0),
        ]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.restore()
        line = self.fontMetrics().height()
        # Not on the side on which the nose is.
        right = wind_deg > heading
        aside = 12.0 + 0.25 * line
        place = QRectF(tail.x() + aside if right else tail.x() - aside - 100.0, tail.y() + 4.0, 100.0, line)
        painter.setPen(colour)
        side = Qt.AlignmentFlag.AlignLeft if right else Qt.AlignmentFlag.AlignRight
        painter.drawText(place, side | Qt.AlignmentFlag.AlignVCenter, "wind")

    def _draw_aeroplane(
        self, painter: QPainter, at: QPointF, scale: float, one: Standing, ghost: bool
    ) -> None:
        theme = self._theme
        turn = QTransform()
        turn.translate(at.x(), at.y())
        turn.rotate(self._turned(one.heading))
        turn.scale(scale, scale)
        surfaces, bodies, fins = (turn.map(p) for p in (one.form.surfaces, one.form.bodies, one.form.fins))
        if ghost:
            painter.setPen(QPen(QColor(theme.pick), 1.4, Qt.PenStyle.DashLine))
            for path in (surfaces, bodies, fins):
                painter.drawPath(path)
            return
        painter.setPen(QPen(QColor(theme.ink), 1.4))
        painter.setBrush(mixed(theme.tail, theme.paper, 0.55))
        painter.drawPath(surfaces)
        painter.setBrush(mixed(theme.body, theme.paper, 0.75))
        painter.drawPath(bodies)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.ink), 3.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        painter.drawPath(fins)


def _degrees(value: float) -> str:
    """A heading in words, to the side that it lies on."""
    if abs(value) < 0.05:
        return "straight ahead"
    return f"{abs(value):.1f}° to the {'right' if value > 0.0 else 'left'}"
