"""Rows of two lines in a list: how high they are, and the ground of those that are selected."""

from __future__ import annotations

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QFontMetrics, QPainter
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem

from app.kit.theme import Theme

_LEAST = 40


def two_lines(metrics: QFontMetrics) -> int:
    """The height of a row with two lines of that font, in px."""
    return max(_LEAST, 2 * metrics.height() + 6)


def draw_ground(painter: QPainter, option: QStyleOptionViewItem, theme: Theme) -> QRect:
    """Where the row lies; a selected one has a ground and a bar at its edge."""
    box = QRect(option.rect)
    if option.state & QStyle.StateFlag.State_Selected:
        painter.fillRect(box, QColor(theme.desk))
        painter.fillRect(QRect(box.left(), box.top(), 3, box.height()), QColor(theme.pick))
    return box
