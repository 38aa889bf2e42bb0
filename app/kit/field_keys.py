"""The keys of the menus work while a field has the focus; what the field needs itself it keeps.

A field of Qt takes Ctrl+Z for itself, even where it has nothing to take back, and on some systems
Ctrl+E, Ctrl+K and others: asked for by ``ShortcutOverride``, before any menu is.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDoubleSpinBox,
    QLineEdit,
    QMainWindow,
    QPlainTextEdit,
    QSpinBox,
    QTextEdit,
    QWidget,
)

from app.kit.keys import EDITING, REDO, UNDO
from app.kit.overrides import errors_told

_FIELDS = (QLineEdit, QAbstractSpinBox, QComboBox, QPlainTextEdit, QTextEdit)


@errors_told
class FieldKeys(QObject):
    """Stands before whatever field has the focus, in all windows of the program."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        app.focusChanged.connect(self._focus_moved)

    def _focus_moved(self, old: QWidget | None, new: QWidget | None) -> None:
        if isinstance(old, _FIELDS):
            old.removeEventFilter(self)
        if isinstance(new, _FIELDS):
            new.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return False
        if not isinstance(watched, QWidget) or _keeps(watched, event):
            return False
        event.ignore()
        return True


def _keeps(field: QWidget, event: QKeyEvent) -> bool:
    """True if the key is the field's own."""
    keys = QKeySequence(event.keyCombination())
    text = keys.toString(QKeySequence.SequenceFormat.PortableText)
    if text in UNDO:
        return has_own_change(field)
    if text in REDO:
        return _has_own_redo(field)
    if text in EDITING or not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
        return True
    window = field.window()
    actions = window.findChildren(QAction) if isinstance(window, QMainWindow) else window.actions()
    return not any(keys in action.shortcuts() and action.isEnabled() for action in actions)


def has_own_change(field: QWidget) -> bool:
    """True if something was typed there that is nowhere else yet."""
    if isinstance(field, QComboBox):
        line = field.lineEdit()
        return line is not None and has_own_change(line)
    if isinstance(field, QLineEdit):
        return field.isModified() and field.isUndoAvailable()
    if isinstance(field, QSpinBox | QDoubleSpinBox):
        value: str = field.textFromValue(field.value())  # type: ignore[arg-type]
        return field.text() != f"{field.prefix()}{value}{field.suffix()}"
    if isinstance(field, QPlainTextEdit | QTextEdit):
        return field.document().isUndoAvailable()
    return False


def _has_own_redo(field: QWidget) -> bool:
    if isinstance(field, QLineEdit):
        return field.isRedoAvailable()
    if isinstance(field, QPlainTextEdit | QTextEdit):
        return field.document().isRedoAvailable()
    return False


def finish_typing() -> None:
    """Have what stands half typed in the field with the focus taken up: a menu's key leaves it there."""
    field = QApplication.focusWidget()
    if isinstance(field, QLineEdit) and field.isModified():
        field.editingFinished.emit()
    elif isinstance(field, QAbstractSpinBox) and has_own_change(field):
        field.interpretText()
        field.editingFinished.emit()
