"""A button of the toolbox: icon, words, and the key at the end of its line."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QStyle, QStyleOptionToolButton, QStylePainter, QToolButton

from app.kit.overrides import errors_told

_ICON, _EDGE, _GAP, _TALL = 24, 8, 11, 32


@errors_told
class HandButton(QToolButton):
    """With words, or the icon alone; dim while what it stands for cannot be used."""

    def __init__(self, words: str, letter: str) -> None:
        """``letter``: the key that does the same; empty for none."""
        super().__init__()
        self._words, self._letter, self._dim = words, letter, False
        self._soft = QColor()
        self.setText(words)
        self.setAccessibleName(words)
        self.setIconSize(QSize(_ICON, _ICON))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_icon(self, plain: QIcon, dim: QIcon, soft: QColor) -> None:
        """The icon as it is and where the button is dim, and the colour of what stands back."""
        self._plain, self._dimmed, self._soft = plain, dim, soft
        self.setIcon(dim if self._dim else plain)

    def set_worded(self, worded: bool) -> None:
        """Show the words beside the icon, or not."""
        style = Qt.ToolButtonStyle
        self.setToolButtonStyle(style.ToolButtonTextBesideIcon if worded else style.ToolButtonIconOnly)
        self.updateGeometry()

    @property
    def dim(self) -> bool:
        """True if what it stands for cannot be used now."""
        return self._dim

    def set_dim(self, dim: bool) -> None:
        """Whether it can be used; a press still says why not."""
        if dim != self._dim:
            self._dim = dim
            self.setIcon(self._dimmed if dim else self._plain)
            self.update()

    @property
    def worded(self) -> bool:
        """True if the words are shown."""
        return self.toolButtonStyle() == Qt.ToolButtonStyle.ToolButtonTextBesideIcon

    def sizeHint(self) -> QSize:  # noqa: D102
        metrics = self.fontMetrics()
        tall = max(_TALL, metrics.height() + 12)
        wide = _ICON + 2 * _EDGE
        if self.worded:
            wide += _GAP + metrics.horizontalAdvance(self._words) + 2 * _GAP + metrics.horizontalAdvance("W")
        return QSize(wide, tall)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        option = QStyleOptionToolButton()
        self.initStyleOption(option)
        option.text, option.icon = "", QIcon()
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ToolButton, option)
        inner = self.rect().adjusted(_EDGE, 0, -_EDGE, 0)

        def placed(left: int, wide: int) -> QRect:
            # From the other edge where lines run from right to left.
            return QStyle.visualRect(
                self.layoutDirection(), self.rect(), QRect(inner.left() + left, 0, wide, self.height())
            )

        self.icon().paint(painter, placed(0, _ICON) if self.worded else self.rect())
        if self.worded:
            painter.setPen(self._soft if self._dim else self.palette().buttonText().color())
            metrics, begin = self.fontMetrics(), _ICON + _GAP
            middle = Qt.AlignmentFlag.AlignVCenter
            painter.drawText(
                placed(begin, metrics.horizontalAdvance(self._words) + 2),
                int(middle | Qt.AlignmentFlag.AlignLeading), self._words,
            )
            painter.setPen(self._soft)
            wide = metrics.horizontalAdvance("W")
            painter.drawText(
                placed(inner.width() - wide, wide), int(middle | Qt.AlignmentFlag.AlignHCenter), self._letter
            )
        painter.end()
