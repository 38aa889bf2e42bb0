"""A field for a length, typed in any unit or stepped by keys and buttons."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import plain
from core.design import DisplayUnits
from core.units import UnitError, format_typed, nudge_step, parse_length, read_as_inches

_BUTTON_STEPS = 5


@errors_told
class _Line(QLineEdit):
    stepped = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        up = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}.get(Qt.Key(event.key()))
        if up is None:
            super().keyPressEvent(event)
        else:
            fast = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.stepped.emit(up * (10 if fast else 1))

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.hasFocus() and event.angleDelta().y():
            self.stepped.emit(1 if event.angleDelta().y() > 0 else -1)
            event.accept()


class LengthField(QWidget):
    """``value`` in mm, None while nothing is typed; ``fault`` is the sentence about what cannot be read."""

    changed = Signal()

    def __init__(self, words: str, units: Callable[[], DisplayUnits], tip: str = "") -> None:
        super().__init__()
        self._units = units
        self.value: float | None = None
        self.fault = self._inches = ""
        self.line = _Line()
        self.line.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.line.setAccessibleName(words)
        keys = "Up and down: 1 mm or 1/16 in, with Shift ten times as far."
        self.line.setToolTip(plain(f"{tip}\n{keys}".strip()))
        self.line.textEdited.connect(self._typed)
        self.line.editingFinished.connect(self.write)
        self.line.stepped.connect(self.step)
        self.line.setMinimumWidth(self.fontMetrics().horizontalAdvance("00.00 in") + 12)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(self.line, 1)
        self.less, self.more = QPushButton("−"), QPushButton("+")
        for button, by, does in ((self.less, -1, "less"), (self.more, 1, "more")):
            button.setFixedWidth(30)
            button.setStyleSheet("padding: 3px 0;")
            button.setAutoRepeat(True)
            button.setAutoDefault(False)
            button.setAccessibleName(f"{words}: {does}")
            button.clicked.connect(lambda _checked=False, n=by: self.step(n * _BUTTON_STEPS))
            row.addWidget(button)
        self.setFocusProxy(self.line)

    def set_value(self, mm: float | None) -> None:
        """Hold and show another length, without telling of it."""
        self.value, self.fault, self._inches = mm, "", ""
        self.write()

    def step(self, times: int) -> None:
        """So many steps more, to whole steps."""
        step = nudge_step(self._units())
        self.set_value(step * (round((self.value or 0.0) / step) + times))
        self.changed.emit()

    def write(self) -> None:
        """Show the length held in the unit of the design; what cannot be read stays for mending."""
        if not self.fault:
            text = "" if self.value is None else format_typed(self.value, self._units())
            if self._inches and self._units() == "mm":
                # The unit that a bare fraction was read in is to be seen.
                text = self._inches
            if self.line.text() != text:
                self.line.setText(text)

    def _typed(self, text: str) -> None:
        self.fault = ""
        self.value = None
        self._inches = read_as_inches(text, self._units())
        if text.strip() not in ("", "-", "−", "+"):
            try:
                self.value = parse_length(text, self._units())
            except UnitError as error:
                self.fault = str(error)
        self.changed.emit()
