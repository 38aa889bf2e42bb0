"""A figure that changes under the hand: painted in its place, without laying anything out again."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.kit.overrides import errors_told
from app.kit.state_sign import draw_state
from core.stability.readings import Verdict


@errors_told
class FigureLabel(QWidget):
    """One line of text, right aligned; its size never depends on what it says."""

    def __init__(self, name: str, room: str) -> None:
        super().__init__()
        self._text, self._colour = "", QColor()
        self._verdict: Verdict | None = None
        self._verdict_colour = QColor()
        self._room = room
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def text(self) -> str:
        """What it says."""
        return self._text

    def set_text(self, text: str) -> None:
        """Say something else."""
        if text != self._text:
            self._text = text
            self.setAccessibleDescription(text)
            self.update()

    def set_verdict(self, verdict: Verdict | None, colour: QColor) -> None:
        """Show a verdict's shape before the figure; None for none."""
        if verdict != self._verdict or colour != self._verdict_colour:
            self._verdict, self._verdict_colour = verdict, colour
            self.update()

    def set_colour(self, colour: QColor) -> None:
        """Say it in another colour."""
        self._colour = colour
        self.update()

    def sizeHint(self) -> QSize:  # noqa: D102
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance(self._room) + 4, metrics.height() + 2)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setPen(self._colour if self._colour.isValid() else self.palette().windowText().color())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._text)
        if self._verdict is not None:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            size = 0.62 * self.fontMetrics().height()
            wide = self.fontMetrics().horizontalAdvance(self._text)
            left = max(self.width() - wide - size - 6.0, 0.0)
            box = QRectF(left, (self.height() - size) / 2, size, size)
            draw_state(painter, box, self._verdict, self._verdict_colour)
        painter.end()
