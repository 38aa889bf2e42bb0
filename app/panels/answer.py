"""The answer first: where the CLA lies, the verdict, what it means in the air, what to do."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.marks import draw_verdict
from app.document import Change, Document
from app.overrides import errors_told
from app.readout import Readout
from app.theme import Theme
from core.stability.wording import Answer, answer, steps

_EDGE, _GAP = 16.0, 5.0
_WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


@errors_told
class AnswerPanel(QWidget):
    """The headline of the window, drawn in one go.

    Labels in a layout would lay the whole panel out again at every mouse move. It keeps its
    height, so that nothing under it jumps.
    """

    def __init__(self, document: Document, readout: Readout, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._theme = document, readout, theme
        self._answer: Answer = answer(document.design, readout.readings)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("The answer")
        readout.listen(self._changed)
        self._tell()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(320, int(self.fontMetrics().lineSpacing() * 15.6) + 40)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    @property
    def shown(self) -> Answer:
        """What stands there."""
        return self._answer

    def _changed(self, change: Change) -> None:
        found = answer(self._document.design, self._readout.readings)
        if found != self._answer or not found.figure:
            self._answer = found
            self.update()
        if change.what != "preview":
            self._tell()

    def _tell(self) -> None:
        a = self._answer
        words = " ".join(part for part in (a.sentence, a.verdict_words, a.meaning, a.advice) if part)
        self.setAccessibleDescription(words)
        self.setToolTip(words)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        theme, found = self._theme, self._answer
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(theme.paper))
        painter.fillRect(0, self.height() - 1, self.width(), 1, QColor(theme.line))
        y = 12.0
        y = self._words(painter, y, "The answer" if found.figure else "Next step", theme.ink_soft)
        if found.figure:
            top = y - 4
            y = self._words(painter, top, found.figure, theme.ink, 3.4, bold=True)
            if found.spread:
                big = QFont(self.font())
                big.setPointSizeF(big.pointSizeF() * 3.4)
                big.setBold(True)
                metrics = QFontMetricsF(big)
                painter.setFont(self.font())
                painter.setPen(QColor(theme.ink_soft))
                x = _EDGE + metrics.horizontalAdvance(found.figure) + 10
                painter.drawText(QPointF(x, top + metrics.ascent()), f"{found.spread} for tracing")
        y = self._words(painter, y, found.sentence, theme.ink, 1.15)
        if not found.figure:
            self._steps(painter, y + 4)
        if found.verdict is not None:
            colour = theme.verdict(found.verdict)
            high = QFontMetricsF(self.font()).height()
            draw_verdict(painter, QRectF(_EDGE, y + 1, high, high - 2), found.verdict, colour)
            y = self._words(painter, y, found.verdict_words, colour.name(), bold=True, indent=high + 10)
        y = self._words(painter, y, found.meaning, theme.ink_soft)
        self._words(painter, y, found.advice, theme.ink, bold=True)
        painter.end()

    def _steps(self, painter: QPainter, y: float) -> None:
        theme, high = self._theme, QFontMetricsF(self.font()).height()
        for words, done in steps(self._document.design, self._readout.readings):
            box = QRectF(_EDGE, y + 1, high - 2, high - 2)
            if done:
                draw_verdict(painter, box, "within", QColor(theme.within))
            else:
                painter.setPen(QPen(QColor(theme.ink_soft), 1.2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(box.adjusted(1, 1, -1, -1))
            y = self._words(painter, y, words, theme.ink_soft if done else theme.ink, indent=high + 8)

    def _words(
        self, painter: QPainter, y: float, text: str, colour: str, size: float = 1.0, *, bold: bool = False,
        indent: float = 0.0,
    ) -> float:
        """Draw wrapped words from ``y`` on; where the next may begin."""
        if not text:
            return y
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * size)
        font.setBold(bold)
        painter.setFont(font)
        painter.setPen(QColor(colour))
        box = QRectF(_EDGE + indent, y, self.width() - 2 * _EDGE - indent, self.height())
        drawn = painter.drawText(box, int(_WRAP), text)
        assert isinstance(drawn, QRectF)
        return drawn.bottom() + _GAP
