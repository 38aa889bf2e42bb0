"""A part of the window that folds to its edge: a slim button stays, and opens it again."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QBoxLayout, QSizePolicy, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import plain
from app.kit.theme import Theme

Where = Literal["left", "right", "below"]
THIN = 14
"""How thick the button is, in px, beside what is open."""
_NO_LIMIT = 16777215


@errors_told
class FoldEdge(QAbstractButton):
    """As long as what it folds: a chevron that points where it goes, and its name while it is folded."""

    def __init__(self, name: str, where: Where) -> None:
        super().__init__()
        self._where = where
        self._upright = where != "below"
        self._theme: Theme | None = None
        self.name, self.folded = name, False
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        across, along = QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding
        self.setSizePolicy(*((across, along) if self._upright else (along, across)))
        self.tell("")

    def tell(self, keys: str) -> None:
        """Name and tip, with the keys that do the same."""
        does = "open" if self.folded else "fold"
        self.setAccessibleName(f"{self.name}: {does}")
        self.setToolTip(plain(f"{does.capitalize()}: {self.name[:1].lower()}{self.name[1:]}"
                        + (f" ({keys})" if keys else "")))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    @property
    def thick(self) -> int:
        """How thick it is, in px: folded it has room for its name."""
        return self.fontMetrics().height() + 8 if self.folded else THIN

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(self.thick, 40) if self._upright else QSize(40, self.thick)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return self.sizeHint()

    def _points_to(self) -> tuple[float, float]:
        """Which way the chevron points: (right, down)."""
        away = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "below": (0.0, 1.0)}[self._where]
        if self.layoutDirection() == Qt.LayoutDirection.RightToLeft:
            away = (-away[0], away[1])
        return (-away[0], -away[1]) if self.folded else away

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = self._theme
        if theme is not None:
            painter.fillRect(self.rect(), QColor(theme.desk if self.underMouse() else theme.panel))
            painter.setPen(QPen(QColor(theme.line), 1))
            edge = QRect(self.rect()).adjusted(0, 0, -1, -1)
            if self._upright:
                painter.drawLine(edge.topLeft(), edge.bottomLeft())
                painter.drawLine(edge.topRight(), edge.bottomRight())
            else:
                painter.drawLine(edge.topLeft(), edge.topRight())
            painter.setPen(QPen(QColor(theme.pick if self.hasFocus() else theme.ink_soft), 1.6))
            if self.hasFocus():
                painter.drawRect(edge.adjusted(1, 1, -1, -1))
        right, down = self._points_to()
        middle = QPointF(self.width() / 2, self.height() / 2)
        if self.folded:
            middle = QPointF(self.width() / 2, 14) if self._upright else QPointF(
                self.width() - 16 if self.layoutDirection() == Qt.LayoutDirection.RightToLeft else 16,
                self.height() / 2,
            )
        tip = middle + QPointF(2.5 * right, 2.5 * down)
        side = QPointF(4.5 * down, 4.5 * right)
        back = middle - QPointF(2.5 * right, 2.5 * down)
        painter.drawPolyline([back + side, tip, back - side])
        if self.folded:
            self._write(painter)
        painter.end()

    def _write(self, painter: QPainter) -> None:
        theme = self._theme
        if theme is not None:
            painter.setPen(QColor(theme.ink))
        if not self._upright:
            painter.drawText(self.rect().adjusted(30, 0, -30, 0), int(
                Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeading), self.name)
            return
        painter.translate(self.width(), 30)
        painter.rotate(90)
        room = QRect(0, 0, max(self.height() - 40, 0), self.width())
        words = self.fontMetrics().elidedText(self.name, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), words)


class Folding(QWidget):
    """``content`` with its edge: at the left and the right between it and the middle, below above it."""

    asked = Signal(bool)
    """Somebody wants it open, or folded: what becomes of that is for the window to say."""

    def __init__(self, content: QWidget, name: str, where: Where) -> None:
        super().__init__()
        self.content, self._where = content, where
        self.edge = FoldEdge(name, where)
        self._keys = ""
        self._wide = 0
        direction = {
            "left": QBoxLayout.Direction.LeftToRight, "right": QBoxLayout.Direction.LeftToRight,
            "below": QBoxLayout.Direction.TopToBottom,
        }[where]
        row = QBoxLayout(direction, self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for part in (content, self.edge) if where == "left" else (self.edge, content):
            row.addWidget(part, int(part is content))
        self.edge.clicked.connect(lambda: self.asked.emit(self.folded))

    def set_keys(self, keys: str) -> None:
        """The keys that fold and open it, for the tip."""
        self._keys = keys
        self.edge.tell(keys)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.edge.set_theme(theme)

    @property
    def folded(self) -> bool:
        """True if the edge alone is seen."""
        return self.edge.folded

    @property
    def least(self) -> int:
        """How wide it must be, in px, to be open."""
        return max(self.content.minimumWidth(), self.content.minimumSizeHint().width()) + THIN

    @property
    def wished(self) -> int:
        """How wide it was before it was folded, in px; at first as wide as it must be."""
        if not self.folded and self.isVisible() and self.width() >= self.least:
            self._wide = self.width()
        return max(self._wide, self.least)

    def set_folded(self, folded: bool) -> None:
        """Fold it to its edge, or open it."""
        if folded == self.folded:
            return
        if folded:
            self._wide = self.wished
        had = folded and self._has_focus()
        self.edge.folded = folded
        self.content.setVisible(not folded)
        if self._where != "below":
            self.setMinimumWidth(self.edge.thick if folded else 0)
            self.setMaximumWidth(self.edge.thick if folded else _NO_LIMIT)
        self.edge.tell(self._keys)
        self.edge.updateGeometry()
        if had:
            # What had the keys is not seen any more: they stay at hand.
            self.edge.setFocus()

    def _has_focus(self) -> bool:
        now: QWidget | None = self.window().focusWidget()
        return now is not None and self.content.isAncestorOf(now)
