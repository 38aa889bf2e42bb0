"""A small note that stands at a part of the window and tells one thing to do there."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import Label
from app.kit.theme import Theme

Side = Literal["left", "right", "top", "bottom", "none"]
_WIDE_PX = 276
_POINT_PX = 9


@errors_told
class StepNote(QWidget):
    """Takes no focus by itself; its two buttons can be reached by the mouse and by Tab."""

    next_wanted = Signal()
    leave_wanted = Signal()

    def __init__(self, parent: QWidget, theme: Theme) -> None:
        super().__init__(parent)
        self._theme, self._side = theme, "none"
        self._count, self._words = Label(), Label()
        self._words.setWordWrap(True)
        for label in (self._count, self._words):
            label.setTextFormat(Qt.TextFormat.PlainText)
        self.next_button, self.leave_button = QToolButton(), QToolButton()
        for button, words, signal in (
            (self.next_button, "Next", self.next_wanted), (self.leave_button, "Leave", self.leave_wanted),
        ):
            button.setText(words)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(signal)
        self.leave_button.setToolTip("They can be begun again from the Help menu")
        foot = QHBoxLayout()
        foot.addWidget(self._count)
        foot.addStretch(1)
        foot.addWidget(self.leave_button)
        foot.addWidget(self.next_button)
        layout = QVBoxLayout(self)
        edge = _POINT_PX + 9
        layout.setContentsMargins(edge, edge, edge, edge - 4)
        layout.setSpacing(4)
        layout.addWidget(self._words)
        layout.addLayout(foot)
        self.setFixedWidth(_WIDE_PX + 2 * _POINT_PX)
        self.set_theme(theme)
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._words.setStyleSheet(f"color: {theme.ink};")
        self._count.setStyleSheet(f"color: {theme.ink_soft};")
        for button in (self.next_button, self.leave_button):
            button.setStyleSheet(
                f"QToolButton {{ border: 1px solid {theme.ink_soft}; }} "
                f"QToolButton:focus, QToolButton:hover {{ border-color: {theme.pick}; }}"
            )
        self.update()

    def tell(self, words: str, at: int, of: int) -> None:
        """Show these words, the ``at``-th of so many."""
        self._words.setText(words)
        self._count.setText(f"{at} of {of}")
        self.next_button.setText("Next" if at < of else "Done")
        self.setAccessibleName(f"First steps, {at} of {of}")
        self.setAccessibleDescription(words)
        layout = self.layout()
        assert layout is not None
        self.setFixedHeight(layout.heightForWidth(self.width()))

    def stand(self, at: QRect, side: Side, room: QRect) -> None:
        """Stand beside the place ``at``, its point on that side of the note, wholly within ``room``."""
        wide, high = self.width(), self.height()
        x, y = {
            "left": (at.right(), at.top()), "right": (at.left() - wide, at.top()),
            "top": (at.left(), at.bottom()), "bottom": (at.left(), at.top() - high),
            "none": (at.left(), at.top()),
        }[side]
        self._side = side
        self.move(
            max(room.left(), min(x, room.right() - wide)), max(room.top(), min(y, room.bottom() - high))
        )
        self.raise_()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        p = float(_POINT_PX)
        inner = QRectF(self.rect()).adjusted(p, p, -p, -p)
        path = QPainterPath()
        path.addRoundedRect(inner, 5, 5)
        corner = {
            "left": ((inner.left(), p + 14), (0.0, p + 14 + p), (inner.left(), p + 14 + 2 * p)),
            "right": ((inner.right(), p + 14), (float(self.width()), p + 14 + p),
                      (inner.right(), p + 14 + 2 * p)),
            "top": ((p + 16, inner.top()), (2 * p + 16, 0.0), (3 * p + 16, inner.top())),
            "bottom": ((p + 16, inner.bottom()), (2 * p + 16, float(self.height())),
                       (3 * p + 16, inner.bottom())),
        }.get(self._side)
        if corner is not None:
            point = QPainterPath(QPointF(*corner[0]))
            for each in corner[1:]:
                point.lineTo(QPointF(*each))
            point.closeSubpath()
            path = path.united(point)
        painter.fillPath(path, QColor(self._theme.panel))
        painter.strokePath(path, QPen(QColor(self._theme.pick), 1.5))
        painter.end()
