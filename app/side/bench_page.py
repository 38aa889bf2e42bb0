"""A page of what was entered at the bench: a table, rows put in, copied and taken out by buttons."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from app.kit.plain import Label
from app.side.bench_table import BenchModel, BenchTable, Column
from app.work.document import Document, Edit
from core.design import Design
from core.redesign.outline_edits import EditError


@dataclass(frozen=True)
class Parts:
    """What the rows are; ``add`` and ``duplicate`` give the design changed and the id of the new part."""

    word: str
    several: str
    columns: Sequence[Column]
    of: Callable[[Design], tuple[Any, ...]]
    add: Callable[[Design], tuple[Design, str]]
    duplicate: Callable[[Design, str], tuple[Design, str]]
    delete: Callable[[Design, str], Design]
    none_yet: str
    """Shown in place of the table while there is no row."""


class BenchPage(QWidget):
    """The table with its buttons; who inherits lays them out and tells what is to be said of a row."""

    def __init__(self, document: Document, say: Callable[[str], None], parts: Parts) -> None:
        super().__init__()
        self._document, self._say, self._parts = document, say, parts
        self.model = BenchModel(document, parts.columns, parts.of, say)
        self.table = BenchTable(self.model, parts.several, say, self.delete)
        # Not a lambda: the model has no parent, and a lambda that knows the panel would outlive both.
        self.model.modelReset.connect(self._reset)
        self.add_button = QPushButton(f"&Add a {parts.word}")
        self.copy_button, self.delete_button = QPushButton("D&uplicate"), QPushButton("Re&move")
        for button, does in (
            (self.add_button, self.add), (self.copy_button, self.duplicate), (self.delete_button, self.delete)
        ):
            button.setAutoDefault(False)
            button.clicked.connect(lambda _checked=False, run=does: run())
        self.empty = Label(parts.none_yet)
        self.empty.setWordWrap(True)
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.table.selectionModel().currentChanged.connect(self._moved)

    def _buttons(self) -> QHBoxLayout:
        """The row of buttons, to be put into the page's layout."""
        buttons = QHBoxLayout()
        for button in (self.add_button, self.copy_button, self.delete_button):
            buttons.addWidget(button)
        buttons.addStretch(1)
        return buttons

    def _show_rows(self, *beside: QWidget) -> None:
        """The design's rows as they are now; ``beside`` is seen only while there is one."""
        self.model.refresh()
        any_there = bool(self.model.parts)
        self.empty.setVisible(not any_there)
        for part in (self.table, *beside):
            part.setVisible(any_there)
        for button in (self.copy_button, self.delete_button):
            button.setEnabled(any_there)
        self.table.fit()
        if any_there and self.table.current() is None:
            self.table.setCurrentIndex(self.model.index(0, 0))
        self._tell()

    def _reset(self) -> None:
        self.table.setCurrentIndex(QModelIndex())

    def _moved(self) -> None:
        self._tell()

    def _tell(self) -> None:
        """Say what is to be said of the current row."""
        raise NotImplementedError

    # Edits

    def add(self) -> None:
        """One more row, its name ready to be typed."""
        made = self._put_in(f"add {self._parts.word}", self._parts.add)
        if made:
            self.table.go_to(made, edit=True)

    def duplicate(self) -> None:
        """A copy of the current row behind it."""
        part = self.table.current()
        if part is None:
            return
        made = self._put_in(
            f"duplicate {self._parts.word}", lambda design: self._parts.duplicate(design, part.id)
        )
        if made:
            self.table.go_to(made)

    def delete(self) -> None:
        """The current row goes."""
        part = self.table.current()
        if part is not None:
            row = self.table.currentIndex().row()
            self._apply(f"remove {self._parts.word}", lambda design: self._parts.delete(design, part.id))
            if self.model.parts:
                self.table.setCurrentIndex(self.model.index(min(row, len(self.model.parts) - 1), 0))

    def _put_in(self, name: str, put: Callable[[Design], tuple[Design, str]]) -> str:
        """The id of what was put in; empty where it could not be."""
        made: list[str] = []

        def edit(design: Design) -> Design:
            changed, new = put(design)
            made.append(new)
            return changed

        return made[-1] if self._apply(name, edit) else ""

    def _apply(self, name: str, edit: Edit) -> bool:
        try:
            self._document.apply(name, edit, "bench")
        except EditError as error:
            self._say(str(error))
            return False
        return True
