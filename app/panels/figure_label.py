"""A figure that changes under the hand: painted in its place, without laying anything out again."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget


class FigureLabel(QWidget):
    """One line of text, right aligned; its size never depends on what it says."""

    def __init__(self, name: str, room: str) -> None:
        super().__init__()
        self._text, self._colour = "", QColor()
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
        painter.end()
