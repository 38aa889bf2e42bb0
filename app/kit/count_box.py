"""A box for a whole number that refuses with a sentence what it cannot take, not taking a part of it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QValidator
from PySide6.QtWidgets import QSpinBox

from app.kit.overrides import errors_told


@errors_told
class CountBox(QSpinBox):
    """A spin box that lets anything be typed and says what is wrong with it once it is entered.

    A plain one drops the keys that do not fit as they come: "360" would be 3, "5 ft 6 in" 5.
    """

    refused = Signal(str)
    """One sentence; the number stands as it was."""

    def __init__(self) -> None:
        super().__init__()
        self.setKeyboardTracking(False)

    def validate(self, text: str, at: int) -> tuple[QValidator.State, str, int]:
        """Whatever is no number of the range may still be typed."""
        state, _, _ = super().validate(text, at)
        if state == QValidator.State.Invalid:
            state = QValidator.State.Intermediate
        return state, text, at

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._mend()
        super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: D102
        self._mend()
        super().focusOutEvent(event)

    def _mend(self) -> None:
        """Where it is entered and still no number of the range: back to what stood there, and a sentence."""
        line = self.lineEdit()
        if super().validate(line.text(), 0)[0] == QValidator.State.Acceptable:
            return
        typed = line.text().removeprefix(self.prefix()).removesuffix(self.suffix()).strip()
        low = max(self.minimum(), 1) if self.specialValueText() else self.minimum()
        special = self.specialValueText() and self.value() == self.minimum()
        line.setText(self.specialValueText() if special else f"{self.prefix()}{self.value()}{self.suffix()}")
        if typed:
            self.refused.emit(
                f"“{typed[:40]}” is no whole number from {low} to {self.maximum()}; it stays as it was"
            )
