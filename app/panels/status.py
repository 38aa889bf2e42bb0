"""The last line: what the hand in use does, where the cursor is, the scale, and long work under way."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QProgressBar, QStatusBar, QToolButton

from app.canvas.canvas import Canvas
from app.kit.plain import Label
from app.kit.theme import Theme
from app.panels.one_line import OneLine
from app.work.document import Document
from app.work.readout import Readout
from core.units import format_length


class StatusLine(QStatusBar):
    """Hint on the left, cursor and scale on the right."""

    cancelled = Signal()

    def __init__(self, document: Document, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._canvas = document, readout, canvas
        self._hint, self._at, self._scale = OneLine(), Label(), Label()
        self._instead = ""
        self._words, self._bar, self._stop = Label(), QProgressBar(), QToolButton()
        self._bar.setRange(0, 100)
        self._bar.setFixedWidth(120)
        self._bar.setTextVisible(False)
        self._stop.setText("Cancel")
        self._stop.clicked.connect(self.cancelled)
        self._at.setMinimumWidth(self.fontMetrics().horizontalAdvance("x −0000.0 mm  z −0000.0 mm"))
        self.addWidget(self._hint, 1)
        for widget in (self._words, self._bar, self._stop, self._at, self._scale):
            self.addPermanentWidget(widget)
        self.setSizeGripEnabled(False)
        self.show_busy("", 1.0)
        canvas.hint_changed.connect(self._show_hint)
        canvas.hand_changed.connect(lambda _: self._show_hint())
        canvas.cursor_at.connect(self._show_cursor)
        canvas.view_changed.connect(self._show_scale)
        readout.listen(lambda _: self._show_scale())
        self.set_theme(theme)
        self._show_hint()
        self._show_scale()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._at.setStyleSheet(f"color: {theme.ink_soft};")
        self._scale.setStyleSheet(f"color: {theme.ink_soft}; padding: 0 8px;")

    def show_busy(self, words: str, done: float) -> None:
        """Long work: what it is and how far it is; 1 takes it away."""
        under_way = bool(words) and done < 1.0
        for widget in (self._words, self._bar, self._stop):
            widget.setVisible(under_way)
        if under_way:
            self._words.setText(words)
            self._bar.setValue(round(100 * done))

    def _show_hint(self) -> None:
        self._hint.show_text(self._instead or self._canvas.hand.hint())

    def say_instead(self, hint: str) -> None:
        """What the keys do while another part of the window has them; empty to give way to the hand."""
        self._instead = hint
        self._show_hint()

    def _show_cursor(self, x: float, z: float) -> None:
        if self._readout.readings.scale_known:
            units = self._document.design.display_units
            self._at.setText(f"x {format_length(x, units)}  z {format_length(z, units)}")
        else:
            self._at.setText("no scale yet")

    def _show_scale(self) -> None:
        view = self._canvas.view
        per_mm = self._canvas.logicalDpiX() / 25.4
        scale = view.scale / per_mm
        text = f"{scale:.2g}:1" if scale >= 1 else f"1:{1 / scale:.2g}"
        if not self._readout.readings.scale_known:
            text = "–"
        elif self._at.text() == "no scale yet":
            self._at.setText("")
        if self._scale.text() != text:
            self._scale.setText(text)
