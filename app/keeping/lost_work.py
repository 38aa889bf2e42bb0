"""Asks about work that earlier windows lost: all of it at once."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.keeping.recovery_file import Salvage
from app.kit.plain import Box, Label, plain

_STATES = {
    "none": "never saved to a file", "same": "not saved to {}", "changed": "{} was changed since",
    "missing": "{} is gone",
}


@dataclass(frozen=True)
class Chosen:
    """What to do with one of them: take it back, or throw it away."""

    salvage: Salvage
    taken: bool


def choose(parent: QWidget, found: Sequence[Salvage], passed_over: Sequence[str]) -> Chosen | None:
    """Ask; None where it is to be asked again later. One is asked about in a box, several in a list."""
    if len(found) == 1 and not passed_over:
        return _asked(parent, found[0])
    if not found:
        box = Box(
            parent, Box.Icon.Warning, "There is kept work that cannot be offered.", "\n".join(passed_over)
        )
        box.exec()
        box.deleteLater()
        return None
    dialog = LostWork(parent, found, passed_over)
    dialog.exec()
    dialog.deleteLater()
    return dialog.chosen


def _asked(parent: QWidget, salvage: Salvage) -> Chosen | None:
    words = ["Take the work back?"]
    if salvage.without:
        words[:] = [f"It can be taken back without: {_listed(salvage.without, 6)}. Take it back?"]
    if salvage.trace is not None:
        words.append(f"With it comes back {salvage.trace.words}, as it was.")
    if salvage.changed and not salvage.without:
        words.append("Its file has been changed since; taking the work back does not touch it.")
    if salvage.copy:
        words.append(f"It comes back as a copy, since {salvage.copy}; what was kept stays where it is.")
    elif salvage.without:
        if salvage.original is not None:
            words.append(f"It comes back as a new design: “{salvage.original.name}” stays as it is.")
        words.append(f"What was kept stays whole, as a file in {salvage.file.parent / 'damaged'}.")
    box = Box(
        parent, Box.Icon.Question,
        f"“{_title(salvage)}” was not saved when Sternpost ended on {_when(salvage)}.", " ".join(words),
    )
    take = box.addButton("Take it back", Box.ButtonRole.AcceptRole)
    discard = None if not salvage.ours else box.addButton("Throw it away", Box.ButtonRole.DestructiveRole)
    box.addButton("Ask again later", Box.ButtonRole.RejectRole)
    box.exec()
    box.deleteLater()
    pressed = box.clickedButton()
    if pressed is take or (discard is not None and pressed is discard):
        return Chosen(salvage, pressed is take)
    return None


def _title(salvage: Salvage) -> str:
    return salvage.title if len(salvage.title) <= 80 else f"{salvage.title[:79]}…"


def _when(salvage: Salvage) -> str:
    when = salvage.when
    with suppress(OverflowError, ValueError, OSError):
        # The first and the last day that there are have no other zone.
        when = when.astimezone()
    return when.strftime("%d %B %Y, %H:%M")


def _row(salvage: Salvage) -> str:
    name = salvage.original.name if salvage.original is not None else ""
    words = [_STATES[salvage.state].format(f"“{name}”")]
    if salvage.trace is not None:
        words.append(f"with {salvage.trace.words}")
    if salvage.copy:
        words.append(f"as a copy: {salvage.copy}")
    if salvage.without:
        words.append(f"without {_listed(salvage.without, 2)}")
    return f"{_title(salvage)}  ·  {_when(salvage)}\n{'; '.join(words)}"


def _tip(salvage: Salvage) -> str:
    lines = [] if salvage.original is None else [str(salvage.original)]
    if salvage.without:
        lines.append(f"Taken back without: {_listed(salvage.without, 12)}.")
        if not salvage.copy:
            lines.append(f"What was kept stays whole, as a file in {salvage.file.parent / 'damaged'}.")
    return "\n".join(lines)


def _listed(words: Sequence[str], most: int) -> str:
    more = len(words) - most
    return ", ".join(words[:most]) + (f", and {more} more" if more > 0 else "")


class LostWork(QDialog):
    """The list, and what to do with the one that is picked in it."""

    def __init__(self, parent: QWidget, found: Sequence[Salvage], passed_over: Sequence[str]) -> None:
        super().__init__(parent)
        self.setWindowTitle("Work that was not saved")
        self._found = list(found)
        self.chosen: Chosen | None = None
        several = len(self._found) > 1
        words = Label(
            "These were not saved when Sternpost ended. One can be taken back into this window; the others "
            "stay kept, and File, Kept work… asks about them again."
            if several else "This was not saved when Sternpost ended."
        )
        words.setWordWrap(True)
        self.list = QListWidget()
        self.list.setAccessibleName("Work that was not saved")
        for salvage in self._found:
            item = QListWidgetItem(_row(salvage))
            item.setToolTip(plain(_tip(salvage)))
            self.list.addItem(item)
        self.list.setCurrentRow(0)
        self.list.setMinimumWidth(560)
        self.list.setWordWrap(True)
        lines = len(self._found) + any(one.without for one in self._found)
        row = 2 * self.list.fontMetrics().lineSpacing() + 16
        self.list.setFixedHeight(row * min(max(lines, 2), 6) + 8)
        self.list.setSpacing(3)
        self.list.itemActivated.connect(lambda _: self._choose(True))
        self.list.currentRowChanged.connect(lambda _: self._refresh())
        self.passed_over = Label("\n".join(f"Not offered. {one}" for one in passed_over))
        self.passed_over.setWordWrap(True)
        self.passed_over.setVisible(bool(passed_over))
        self.take, self.discard = QPushButton("Take it back"), QPushButton("Throw it away")
        self.later = QPushButton("Ask again later")
        buttons = QDialogButtonBox()
        buttons.addButton(self.take, QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton(self.discard, QDialogButtonBox.ButtonRole.DestructiveRole)
        buttons.addButton(self.later, QDialogButtonBox.ButtonRole.RejectRole)
        self.take.setDefault(True)
        self.take.clicked.connect(lambda: self._choose(True))
        self.discard.clicked.connect(lambda: self._choose(False))
        self.later.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(12)
        for part in (words, self.list, self.passed_over, buttons):
            layout.addWidget(part)
        self._refresh()

    def _refresh(self) -> None:
        # What cannot be locked may be another window's: it is not thrown away from here.
        self.discard.setEnabled(self._found[self.list.currentRow()].ours)

    def _choose(self, taken: bool) -> None:
        self.chosen = Chosen(self._found[self.list.currentRow()], taken)
        self.accept()
