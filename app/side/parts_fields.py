"""Fields of the form for tail parts: a size that is typed, a material that is chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QFocusEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QLineEdit

from app.kit.overrides import errors_told
from app.kit.plain import plain
from core.materials import Wood

OWN = "own"
_PASSING = (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason)


@errors_told
class SizeField(QLineEdit):
    """Gives what was typed when it is done; ``give`` tells whether it could be taken.

    What could not be taken stays to be mended after Return; leaving the field puts back what stood there.
    """

    def __init__(self, words: str, tip: str, give: Callable[[str], bool]) -> None:
        super().__init__()
        self._give, self._stands = give, ""
        self.setAccessibleName(words)
        self.setToolTip(plain(tip))
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.setMinimumWidth(60)
        self.editingFinished.connect(self._finished)

    def show_text(self, text: str) -> None:
        """Show ``text``; a field in which something is being typed keeps it."""
        self._stands = text
        if not self.isModified() and self.text() != text:
            self.setText(text)

    def forget(self) -> None:
        """What is being typed was about something else."""
        self.setModified(False)
        self.show_text(self._stands)

    def _finished(self) -> None:
        if not self.isModified():
            return
        if self._give(self.text()):
            self.forget()
        else:
            self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: D102
        super().focusOutEvent(event)
        # A menu over the field, or another window, does not end what is being typed.
        if event.reason() not in _PASSING and self.isModified():
            self.forget()


@errors_told
class Choice(QComboBox):
    """A choice that the wheel does not change while a form is scrolled past it."""

    def __init__(self, words: str, tip: str, give: Callable[[str], object]) -> None:
        super().__init__()
        self.setAccessibleName(words)
        self.setToolTip(plain(tip))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumContentsLength(10)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.activated.connect(lambda _: give(str(self.currentData())))

    def offer(self, choices: Sequence[tuple[str, str]], chosen: str) -> None:
        """Offer (words, key), ``chosen`` being in force."""
        now = [(self.itemText(i), self.itemData(i)) for i in range(self.count())]
        if now != list(choices):
            self.clear()
            for words, key in choices:
                self.addItem(words, key)
        self.setCurrentIndex(self.findData(chosen))

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: D102
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


def material_choices(woods: Sequence[Wood]) -> list[tuple[str, str]]:
    """(words, id) of each, and of what asks for one of the builder's own."""
    return [*((f"{wood.label}, {wood.kg_m3:.4g} kg/m³", wood.id) for wood in woods), ("Own material…", OWN)]
