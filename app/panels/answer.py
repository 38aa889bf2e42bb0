"""The answer first: where the CLA lies, the verdict, what it means in the air, what to do."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.canvas.marks import draw_verdict
from app.document import Document
from app.readout import Readout
from app.theme import Theme
from core.stability.readings import Verdict
from core.stability.wording import answer


class VerdictSign(QWidget):
    """The verdict's shape."""

    def __init__(self, theme: Theme, size: int = 18) -> None:
        super().__init__()
        self._theme, self._verdict = theme, None
        self.setFixedSize(size, size)

    _verdict: Verdict | None

    def show_verdict(self, verdict: Verdict | None, theme: Theme) -> None:
        """Show the shape of that verdict."""
        if verdict != self._verdict or theme is not self._theme:
            self._verdict, self._theme = verdict, theme
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        if self._verdict is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(1, 1, self.width() - 2, self.height() - 2)
        draw_verdict(painter, box, self._verdict, self._theme.verdict(self._verdict))
        painter.end()


class AnswerPanel(QFrame):
    """The headline of the window. It keeps its height, so that nothing under it jumps."""

    def __init__(self, document: Document, readout: Readout, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._theme = document, readout, theme
        self._kicker = QLabel("The answer")
        self._figure = QLabel()
        self._sentence, self._meaning, self._advice = QLabel(), QLabel(), QLabel()
        self._verdict = QLabel()
        self._sign = VerdictSign(theme)
        self._figure.setAccessibleName("CLA fraction in per cent of the tail arm")
        self._sentence.setAccessibleName("The answer")
        self._verdict.setAccessibleName("Verdict")
        for label in (self._sentence, self._meaning, self._advice):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        big = QFont(self.font())
        big.setPointSizeF(self.font().pointSizeF() * 3.4)
        big.setBold(True)
        self._figure.setFont(big)
        bold = QFont(self.font())
        bold.setBold(True)
        self._verdict.setFont(bold)
        lead = QFont(self.font())
        lead.setPointSizeF(self.font().pointSizeF() * 1.15)
        self._sentence.setFont(lead)
        self._advice.setFont(bold)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self._sign)
        row.addWidget(self._verdict, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 10)
        layout.setSpacing(4)
        layout.addWidget(self._kicker)
        layout.addWidget(self._figure)
        layout.addWidget(self._sentence)
        layout.addLayout(row)
        layout.addWidget(self._meaning)
        layout.addWidget(self._advice)
        layout.addStretch(1)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.set_theme(theme)
        readout.listen(lambda _: self.refresh())

    def sizeHint(self) -> QSize:  # noqa: D102
        line = self.fontMetrics().lineSpacing()
        return QSize(320, int(line * 15.2) + 40)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.setObjectName("answer")
        self.setStyleSheet(
            f"#answer {{ background: {theme.paper}; border-bottom: 1px solid {theme.line}; }}"
        )
        self._kicker.setStyleSheet(f"color: {theme.ink_soft};")
        self._meaning.setStyleSheet(f"color: {theme.ink_soft};")
        self.refresh()

    def refresh(self) -> None:
        """Say what the readings say now."""
        found = answer(self._document.design, self._readout.readings)
        colour = self._theme.verdict(found.verdict).name()
        _set(self._figure, found.figure)
        self._figure.setVisible(bool(found.figure))
        _set(self._kicker, "The answer" if found.figure else "Next step")
        _set(self._sentence, found.sentence)
        _set(self._verdict, found.verdict_words)
        style = f"color: {colour};"
        if self._verdict.styleSheet() != style:
            self._verdict.setStyleSheet(style)
        self._sign.show_verdict(found.verdict, self._theme)
        _set(self._meaning, found.meaning)
        _set(self._advice, found.advice)


def _set(label: QLabel, text: str) -> None:
    # Setting the same text again would lay the panel out again at every mouse move.
    if label.text() != text:
        label.setText(text)
