"""What the empty sheet is made of: the paper, an entry to choose, and the frame of a picture."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QEnterEvent,
    QFocusEvent,
    QFont,
    QFontMetricsF,
    QIcon,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.kit.overrides import errors_told
from app.kit.theme import Theme, icon

Paint = Callable[[QPainter, QRectF, Theme], None]


@errors_told
class Entry(QAbstractButton):
    """Something to choose: a line, a softer line beside or under it, and perhaps an icon."""

    def __init__(self, text: str, detail: str, theme: Theme, icon_name: str = "") -> None:
        super().__init__()
        self._detail, self._theme, self._icon_name = detail, theme, icon_name
        self.setText(text)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(text)
        self.setAccessibleDescription(detail)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.setIcon(icon(self._icon_name, theme.ink) if self._icon_name else QIcon())
        self.update()

    def sizeHint(self) -> QSize:  # noqa: D102
        line = self.fontMetrics().lineSpacing()
        return QSize(220, 2 * line + 14 if self._icon_name else line + 8)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return QSize(120, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:  # noqa: D102
        self.update()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: D102
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: D102
        super().focusInEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        theme = self._theme
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        big = bool(self._icon_name)
        fill = theme.desk if self.isDown() or self.underMouse() else theme.panel if big else ""
        edge, width = (theme.pick, 2.0) if self.hasFocus() else (theme.ink_soft if big else "", 1.0)
        painter.setBrush(QColor(fill) if fill else Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(edge), width) if edge else Qt.PenStyle.NoPen)
        painter.drawRoundedRect(frame, 4, 4)
        if big:
            self._paint_big(painter, frame)
        else:
            self._paint_line(painter, frame)
        painter.end()

    def _paint_big(self, painter: QPainter, frame: QRectF) -> None:
        middle = frame.center().y()
        self.icon().paint(painter, QRectF(frame.left() + 10, middle - 13, 26, 26).toRect())
        left = frame.left() + 46
        room = frame.right() - 8 - left
        bold = QFont(self.font())
        bold.setBold(True)
        self._text(painter, QPointF(left, middle - 3), self.text(), bold, self._theme.ink, room)
        ascent = QFontMetricsF(self.font()).ascent()
        under = QPointF(left, middle + 2 + ascent)
        self._text(painter, under, self._detail, self.font(), self._theme.ink_soft, room)

    def _paint_line(self, painter: QPainter, frame: QRectF) -> None:
        metrics = QFontMetricsF(self.font())
        base = frame.center().y() + (metrics.ascent() - metrics.descent()) / 2
        left, room = frame.left() + 8, frame.width() - 16
        wide = min(metrics.horizontalAdvance(self.text()), room)
        self._text(painter, QPointF(left, base), self.text(), self.font(), self._theme.pick, room,
                   Qt.TextElideMode.ElideMiddle)
        rest = room - wide - 12
        if rest > 50:
            beside = QPointF(left + wide + 12, base)
            self._text(
                painter, beside, self._detail, self.font(), self._theme.ink_soft, rest,
                Qt.TextElideMode.ElideMiddle,
            )

    def _text(
        self, painter: QPainter, at: QPointF, text: str, font: QFont, colour: str, room: float,
        elide: Qt.TextElideMode = Qt.TextElideMode.ElideRight,
    ) -> None:
        painter.setFont(font)
        painter.setPen(QColor(colour))
        painter.drawText(at, QFontMetricsF(font).elidedText(text, elide, room))


@errors_told
class Picture(QWidget):
    """One of the three pictures."""

    def __init__(self, paint: Paint, name: str, description: str, theme: Theme) -> None:
        super().__init__()
        self._paint, self._theme = paint, theme
        self.setAccessibleName(name)
        self.setAccessibleDescription(description)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        # A picture longer than five times its height would only grow empty at its ends.
        wide = min(float(self.width()), 3.9 * self.height())
        box = QRectF((self.width() - wide) / 2, 2, wide, self.height() - 4)
        self._paint(painter, box, self._theme)
        painter.end()


@errors_told
class Sheet(QWidget):
    """A sheet of paper with a drawn frame and centre marks, as a plan has them."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        theme = self.theme
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paper = QRectF(self.rect()).adjusted(0.5, 0.5, -3.5, -3.5)
        shade = QColor("#000000")
        shade.setAlpha(90 if theme.dark else 30)
        painter.fillRect(paper.translated(3, 3), shade)
        painter.fillRect(paper, QColor(theme.paper))
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.drawRect(paper)
        frame = paper.adjusted(9, 9, -9, -9)
        painter.setPen(QPen(QColor(theme.ink_soft), 1.1))
        painter.drawRect(frame)
        c = frame.center()
        for x, y, dx, dy in (
            (c.x(), frame.top(), 0, 1), (c.x(), frame.bottom(), 0, -1),
            (frame.left(), c.y(), 1, 0), (frame.right(), c.y(), -1, 0),
        ):
            painter.drawLine(QPointF(x - 5 * dx, y - 5 * dy), QPointF(x + 5 * dx, y + 5 * dy))
        painter.end()
