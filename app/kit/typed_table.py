"""What tables that are typed into have in common: a cell's field, what typing means, set-up and keys."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QAbstractTableModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtGui import QColor, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.kit.overrides import errors_told
from app.kit.plain import plain
from app.kit.theme import Theme
from app.work.document import Document, Edit
from core.redesign.outline_edits import EditError
from core.units import UnitError

Index = QModelIndex | QPersistentModelIndex
_LEAVING = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab, Qt.Key.Key_Backtab)


@errors_told
class RowsModel(QAbstractTableModel):
    """Rows of texts that follow the design. What they are, is said by the class of each table."""

    def __init__(self) -> None:
        super().__init__()
        self.things: tuple[Any, ...] = ()
        """What each row is of."""
        self.texts: list[list[str]] = []
        self._keys: list[object] = []
        self._heads: list[str] = []
        self.soft = QColor()
        """The colour of what can only be read."""

    def heads(self) -> list[str]:
        """The words over the columns."""
        raise NotImplementedError

    def tip(self, row: int | None, column: int) -> str:
        """What is told of a cell when the mouse rests on it; of a column's head where there is no row."""
        raise NotImplementedError

    def spoken(self, row: int, column: int) -> str:
        """What is said of a cell before its text, to who cannot see it."""
        raise NotImplementedError

    def is_left(self, column: int) -> bool:
        """True if the column holds words and not figures."""
        return False

    def is_typed(self, row: int, column: int) -> bool:
        """True if the cell can be typed into."""
        return True

    def show_rows(
        self, things: tuple[Any, ...], keys: Sequence[object], texts: list[list[str]]
    ) -> None:
        """Show ``texts`` of ``things``; built anew only when there are other keys, so that a cell stays."""
        heads, keys = self.heads(), list(keys)
        if keys != self._keys or len(heads) != len(self._heads):
            self.beginResetModel()
            self.things, self._keys, self._heads, self.texts = things, keys, heads, texts
            self.endResetModel()
            return
        if heads != self._heads:
            self._heads = heads
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(heads) - 1)
        before, self.things, self.texts = self.texts, things, texts
        for row, (now, old) in enumerate(zip(texts, before, strict=True)):
            for column, (text, was) in enumerate(zip(now, old, strict=True)):
                if text != was:
                    at = self.index(row, column)
                    self.dataChanged.emit(at, at)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() else len(self.texts)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() else len(self.heads())

    def flags(self, index: Index) -> Qt.ItemFlag:  # noqa: D102
        flags = super().flags(index)
        there = index.isValid() and index.row() < len(self.texts)
        if there and self.is_typed(index.row(), index.column()):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:  # noqa: D102
        if not index.isValid() or index.row() >= len(self.texts):
            return None
        row, column = index.row(), index.column()
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return self.texts[row][column]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self.spoken(row, column)} {self.texts[row][column]}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._side(column)
        if role == Qt.ItemDataRole.ForegroundRole and not self.is_typed(row, column):
            return self.soft
        return plain(self.tip(row, column)) if role == Qt.ItemDataRole.ToolTipRole else None

    def headerData(  # noqa: D102
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < self.columnCount():
            return None
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(self.tip(None, section))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._side(section)
        return self.heads()[section] if role == Qt.ItemDataRole.DisplayRole else None

    def _side(self, column: int) -> Qt.AlignmentFlag:
        side = Qt.AlignmentFlag.AlignLeft if self.is_left(column) else Qt.AlignmentFlag.AlignRight
        return side | Qt.AlignmentFlag.AlignVCenter


@errors_told
class TypedModel(RowsModel):
    """What is typed into a cell becomes one edit of the document, said to come from ``origin``."""

    def __init__(self, document: Document, say: Callable[[str], None], origin: str) -> None:
        super().__init__()
        self._document, self._say, self._origin = document, say, origin

    def edit_of(self, index: Index, text: str) -> tuple[str, Edit]:
        """(name for the menu, edit) for what was typed; UnitError, EditError where it cannot be taken."""
        raise NotImplementedError

    def trouble(self, index: Index, text: str) -> str:
        """Why the text cannot stand in that cell; empty where it can."""
        try:
            self.edit_of(index, text)
        except (UnitError, EditError) as error:
            return str(error)
        return ""

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:  # noqa: D102
        # What was shown and not touched is not an edit: it is rounded.
        if role != Qt.ItemDataRole.EditRole or value == self.data(index):
            return False
        try:
            name, edit = self.edit_of(index, str(value))
        except (UnitError, EditError) as error:
            self._say(str(error))
            return False
        self._document.apply(name, edit, self._origin)
        return True


@errors_told
class KeepingEditor(QStyledItemDelegate):
    """A cell in use keeps what is being typed, whatever the design does meanwhile."""

    def setEditorData(self, editor: QWidget, index: Index) -> None:  # noqa: D102
        if not (isinstance(editor, QLineEdit) and editor.isModified()):
            super().setEditorData(editor, index)

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:  # noqa: D102
        # A cell that was only looked into must not round what it shows into the design.
        if not isinstance(editor, QLineEdit) or editor.isModified():
            super().setModelData(editor, model, index)


@errors_told
class StayingEditor(KeepingEditor):
    """A field over the cell; while what stands in it cannot be taken, it stays open and says why.

    ``trouble`` (cell, typed text) gives the reason, empty where the text can be taken.
    """

    def __init__(self, trouble: Callable[[Index, str], str], say: Callable[[str], None]) -> None:
        super().__init__()
        self._trouble, self._say = trouble, say
        self._at = QPersistentModelIndex()

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:  # noqa: D102
        return self.field(parent, index)

    def field(self, parent: QWidget, index: Index) -> QLineEdit:
        """A field to type into, for that cell."""
        self._at = QPersistentModelIndex(index)
        field = QLineEdit(parent)
        field.setFrame(False)
        field.setStyleSheet("QLineEdit { padding: 0 2px; min-height: 0; }")
        return field

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:  # noqa: D102
        leaving = (
            isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in _LEAVING
        )
        if leaving and isinstance(editor, QLineEdit) and editor.isModified() and self._at.isValid():
            why = self._trouble(self._at, editor.text())
            if why:
                self._say(why)
                editor.selectAll()
                return True
        return super().eventFilter(editor, event)


def prepare_view(view: QTableView, *, narrowest: int) -> None:
    """Typing begins an edit, one cell or row at a time; columns no narrower than ``narrowest`` pixels."""
    triggers = QAbstractItemView.EditTrigger
    view.setEditTriggers(
        triggers.DoubleClicked | triggers.SelectedClicked | triggers.EditKeyPressed | triggers.AnyKeyPressed
    )
    view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    view.setWordWrap(False)
    view.setTabKeyNavigation(False)
    head = view.horizontalHeader()
    head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
    head.setMinimumSectionSize(narrowest)
    head.setHighlightSections(False)


def table_style(theme: Theme, *, ground: str, border: str, head_padding: str) -> str:
    """The style sheet of a table of rows without a grid; colours, border and padding as in a style sheet."""
    return (
        f"QTableView {{ background: {ground}; border: {border};"
        f" selection-background-color: {theme.desk}; selection-color: {theme.ink}; }}"
        f"QHeaderView {{ background: {ground}; }}"
        f"QHeaderView::section {{ background: {ground}; color: {theme.ink_soft}; border: none;"
        f" border-bottom: 1px solid {theme.line}; padding: {head_padding}; }}"
    )


@errors_told
class TypedTable(QTableView):
    """Whole rows, one at a time; Return types into the cell, Delete and Backspace take the row out."""

    def __init__(self, delete: Callable[[], None]) -> None:
        super().__init__()
        self._delete = delete
        # Not in event(): see the canvas.
        self.installEventFilter(self)

    def prepare(self, model: TypedModel, editor: StayingEditor, name: str, *, air: int) -> None:
        """Show ``model``; rows ``air`` pixels higher than their letters. ``name``: for who cannot see it."""
        # The view does not keep its delegate alive.
        self._editor = editor
        self.setModel(model)
        self.setItemDelegate(editor)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setShowGrid(False)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(18)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + air)
        prepare_view(self, narrowest=30)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        overrides = watched is self and event.type() == QEvent.Type.ShortcutOverride
        if overrides and isinstance(event, QKeyEvent):
            # Typing begins a change of the cell, whatever hand has that letter for its key.
            plain = not event.modifiers() & ~(
                Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
            )
            deletes = event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
            if plain and self.currentIndex().isValid() and (deletes or event.text().isprintable()):
                event.accept()
                return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if self.state() == QAbstractItemView.State.EditingState:
            # What the field has let through, Return for one, is not for the table.
            event.ignore()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._delete()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.edit(self.currentIndex())
        else:
            super().keyPressEvent(event)
