"""One part drawn true to shape, with its sizes and its grain."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.kit.inks import mixed
from app.kit.overrides import errors_told
from app.kit.paths import shape_path
from app.kit.theme import Theme
from app.paper.frame import Frame
from core.design import DisplayUnits
from core.parts.part import Part
from core.units import format_fine

_EDGE, _TICK = 12.0, 4.0


@errors_told
class PartView(QWidget):
    """Length below, width at the left, thickness and wood above; the outline fills the room."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._part: Part | None = None
        self._head, self._units = "", "mm"
        self.setMinimumSize(180, 110)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The chosen part, true to shape")

    _units: DisplayUnits

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(360, 220)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def show_part(self, part: Part | None, head: str, units: DisplayUnits) -> None:
        """Show that part, ``head`` over it; nothing where there is none."""
        self._part, self._head, self._units = part, head, units
        self.setAccessibleDescription(head)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._theme.paper))
        if self._part is not None and not self._part.outline.is_empty:
            self._draw(painter, self._part)
        painter.end()

    def _draw(self, painter: QPainter, part: Part) -> None:
        theme, line = self._theme, self.fontMetrics().height()
        room = QRectF(self.rect()).adjusted(_EDGE, 6.0, -_EDGE, -6.0)
        painter.setPen(QColor(theme.ink))
        flags = Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
        head = painter.boundingRect(room, flags, self._head)
        painter.drawText(head, flags, self._head)
        low_u, low_v, high_u, high_v = part.outline.bounds
        wide, tall = max(high_u - low_u, 1e-3), max(high_v - low_v, 1e-3)
        long_words, wide_words = (format_fine(size, self._units) for size in (wide, tall))
        aside = self.fontMetrics().horizontalAdvance(wide_words) + 16.0
        area = room.adjusted(aside, head.height() + 8.0, -4.0, -line - 14.0)
        if area.width() < 20.0 or area.height() < 8.0:
            return
        per_mm = min(area.width() / wide, area.height() / tall)
        frame = Frame(area, 0.5 * (low_u + high_u), 0.5 * (low_v + high_v), per_mm, None)
        path = frame.transform.map(shape_path(part.outline))
        path.setFillRule(Qt.FillRule.OddEvenFill)
        painter.fillPath(path, mixed(theme.body, theme.paper, 0.45))
        painter.setPen(QPen(QColor(theme.ink), 1.4))
        painter.drawPath(path)
        painter.setPen(QPen(QColor(theme.ink_soft), 1.0, Qt.PenStyle.DashLine))
        for mark in part.engraved:
            if len(mark) > 1:
                corners = [QPointF(frame.x(float(u)), frame.y(float(v))) for u, v in mark]
                painter.drawPolyline(corners)
        self._draw_grain(painter, part, path.boundingRect())
        left, right, top, bottom = frame.x(low_u), frame.x(high_u), frame.y(high_v), frame.y(low_v)
        soft = QPen(QColor(theme.ink_soft), 1.0)
        painter.setPen(soft)
        below = bottom + 8.0
        _measure(painter, QPointF(left, below), QPointF(right, below))
        beside = left - 8.0
        _measure(painter, QPointF(beside, top), QPointF(beside, bottom))
        painter.setPen(QColor(theme.ink))
        middle = 0.5 * (left + right)
        painter.drawText(QRectF(middle - 120, below + 3.0, 240, line + 2.0), Qt.AlignmentFlag.AlignCenter,
                         long_words)
        side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(QRectF(beside - 126, 0.5 * (top + bottom) - line, 120, 2 * line), side, wide_words)

    def _draw_grain(self, painter: QPainter, part: Part, box: QRectF) -> None:
        """An arrow along the grain, where one matters."""
        if not math.isfinite(part.grain) or min(box.width(), box.height()) < 10.0:
            return
        angle = math.radians(part.grain)
        along = QPointF(math.cos(angle), -math.sin(angle))
        across = QPointF(-along.y(), along.x())
        inside = shape_inside(part)
        reach = 0.5 * min(
            box.width() / max(abs(along.x()), 1e-6), box.height() / max(abs(along.y()), 1e-6), 90.0
        )
        low_u, low_v, high_u, high_v = part.outline.bounds
        at = QPointF(
            box.left() + box.width() * (inside[0] - low_u) / max(high_u - low_u, 1e-6),
            box.bottom() - box.height() * (inside[1] - low_v) / max(high_v - low_v, 1e-6),
        )
        one, other = at - along * 0.5 * reach, at + along * 0.5 * reach
        painter.setPen(QPen(QColor(self._theme.fin), 1.2))
        painter.drawLine(one, other)
        for end, way in ((one, 1.0), (other, -1.0)):
            for side in (3.5, -3.5):
                painter.drawLine(end, end + along * 6.0 * way + across * side)


def shape_inside(part: Part) -> tuple[float, float]:
    """A place on the part itself, as near to its middle as may be."""
    centre = part.outline.centroid
    found = centre if part.outline.covers(centre) else part.outline.representative_point()
    return found.x, found.y


def _measure(painter: QPainter, one: QPointF, other: QPointF) -> None:
    """A line from end to end with a stroke across each."""
    painter.drawLine(one, other)
    across = QPointF(0.0, _TICK) if abs(one.y() - other.y()) < 1e-6 else QPointF(_TICK, 0.0)
    for end in (one, other):
        painter.drawLine(end - across, end + across)
