"""A table of what was entered at the bench, edited in place: a row for each linkage or weighing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QComboBox, QStyleOptionViewItem, QWidget

from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.kit.typed_table import Index, StayingEditor, TypedModel, TypedTable, table_style
from app.work.document import Document, Edit
from core.design import Design, DisplayUnits

_AIR = 14


@dataclass(frozen=True)
class Column:
    """One column. ``show`` writes a part's cell; ``edit`` (part, typed text, units) is what typing means.

    ``edit`` raises UnitError or EditError; None: a result, to be read only. ``choices``: typed by choosing.
    ``head`` may hold {length} and {mass} for the builder's units.
    """

    key: str
    head: str
    words: str
    tip: str
    show: Callable[[Any, Design], str]
    edit: Callable[[Any, str, DisplayUnits], Edit] | None = None
    choices: tuple[str, ...] = ()
    left: bool = False


@errors_told
class BenchModel(TypedModel):
    """Parts of the design by rows; what is typed into a cell becomes one edit of the document."""

    def __init__(
        self, document: Document, columns: Sequence[Column], parts_of: Callable[[Design], tuple[Any, ...]],
        say: Callable[[str], None],
    ) -> None:
        super().__init__(document, say, "bench")
        self.columns = tuple(columns)
        self._parts_of = parts_of

    @property
    def parts(self) -> tuple[Any, ...]:
        """The parts of the design, a row each."""
        return self.things

    def heads(self) -> list[str]:  # noqa: D102
        mm = self._document.edited.display_units == "mm"
        units = {"length": "mm" if mm else "in", "mass": "g" if mm else "oz"}
        return [column.head.format(**units) for column in self.columns]

    def tip(self, row: int | None, column: int) -> str:  # noqa: D102
        return self.columns[column].tip

    def spoken(self, row: int, column: int) -> str:  # noqa: D102
        return f"{self.texts[row][0]}, {self.columns[column].words}"

    def is_left(self, column: int) -> bool:  # noqa: D102
        return self.columns[column].left

    def is_typed(self, row: int, column: int) -> bool:  # noqa: D102
        return self.columns[column].edit is not None

    def edit_of(self, index: Index, text: str) -> tuple[str, Edit]:  # noqa: D102
        part, column = self.parts[index.row()], self.columns[index.column()]
        assert column.edit is not None
        edit = column.edit(part, text, self._document.committed.display_units)
        changed = edit(self._document.committed)
        called = " ".join(part.name.replace("&", "and").split()) if hasattr(part, "name") else "weighing"
        return f"set {column.words} of {called[:28]}", lambda _: changed

    def refresh(self) -> None:
        """Show the design as it is."""
        design = self._document.edited
        parts = self._parts_of(design)
        texts = [[column.show(part, design) for column in self.columns] for part in parts]
        self.show_rows(parts, [part.id for part in parts], texts)


@errors_told
class _CellEditor(StayingEditor):
    """A field over the cell, or a choice."""

    def __init__(self, model: BenchModel, say: Callable[[str], None]) -> None:
        super().__init__(model.trouble, say)
        self._model = model

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        column = self._model.columns[index.column()]
        editor: QWidget
        if column.choices:
            editor = QComboBox(parent)
            editor.addItems(column.choices)
            editor.activated.connect(lambda _: self._chosen(editor))
        else:
            editor = self.field(parent, index)
            if not column.left:
                editor.setAlignment(Qt.AlignmentFlag.AlignRight)
        editor.setAccessibleName(column.words)
        return editor

    def _chosen(self, editor: QWidget) -> None:
        self.commitData.emit(editor)
        self.closeEditor.emit(editor)

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        box = QRect(option.rect)
        if isinstance(editor, QComboBox):
            box.setWidth(max(box.width(), editor.sizeHint().width()))
        elif self._model.columns[index.column()].left:
            box.setWidth(max(box.width(), 120))
        else:
            # Wide enough for "3 3/32 in" whatever the column is.
            box.setLeft(max(0, min(box.left(), box.right() - 92)))
        editor.setGeometry(box)


@errors_told
class BenchTable(TypedTable):
    """The model's rows; the first column takes the room that is left."""

    def __init__(
        self, model: BenchModel, name: str, say: Callable[[str], None], delete: Callable[[], None]
    ) -> None:
        super().__init__(delete)
        self._rows = model
        self.prepare(model, _CellEditor(model, say), name, air=10)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._rows.soft = QColor(theme.ink_soft)
        self.setStyleSheet(table_style(
            theme, ground=theme.paper, border=f"1px solid {theme.line}", head_padding="3px 4px"
        ))

    def fit(self) -> None:
        """Take the room in each column that its figures need."""
        metrics, heads, taken = self.fontMetrics(), self._rows.heads(), 0
        for number in range(1, self._rows.columnCount()):
            column = self._rows.columns[number]
            texts = [row[number] for row in self._rows.texts]
            texts += [heads[number], *column.choices]
            wide = max(map(metrics.horizontalAdvance, texts)) + _AIR
            self.setColumnWidth(number, wide)
            taken += wide
        self.setColumnWidth(0, max(90, self.viewport().width() - taken))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self.fit()

    def current(self) -> Any | None:
        """The part of the current row; None where there is none."""
        row = self.currentIndex().row()
        return self._rows.parts[row] if 0 <= row < len(self._rows.parts) else None

    def go_to(self, part_id: str, column: int = 0, *, edit: bool = False) -> None:
        """Make a part's row the current one."""
        for row, part in enumerate(self._rows.parts):
            if part.id == part_id:
                index = self._rows.index(row, column)
                self.setCurrentIndex(index)
                if edit:
                    self.edit(index)
