"""Qt's keys and cursor shapes in the words of the hands, which know no Qt."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent

from app.canvas.tools.hand import Pointer
from app.canvas.view import View

KEYS = {
    Qt.Key.Key_Return: "Return", Qt.Key.Key_Enter: "Return", Qt.Key.Key_Escape: "Escape",
    Qt.Key.Key_Backspace: "Backspace", Qt.Key.Key_Delete: "Delete", Qt.Key.Key_Left: "Left",
    Qt.Key.Key_Right: "Right", Qt.Key.Key_Up: "Up", Qt.Key.Key_Down: "Down",
}
CURSORS = {
    "arrow": Qt.CursorShape.ArrowCursor, "cross": Qt.CursorShape.CrossCursor,
    "move": Qt.CursorShape.SizeAllCursor, "edge": Qt.CursorShape.SplitHCursor,
    "node": Qt.CursorShape.PointingHandCursor,
}


def pointer_of(event: QMouseEvent, view: View) -> Pointer:
    """The mouse as the hands know it."""
    at, held = event.position(), event.modifiers()
    x, z = view.to_mm(at.x(), at.y())
    return Pointer(
        x, z, at.x(), at.y(),
        shift=bool(held & Qt.KeyboardModifier.ShiftModifier),
        ctrl=bool(held & Qt.KeyboardModifier.ControlModifier),
        alt=bool(held & Qt.KeyboardModifier.AltModifier),
    )


def holds(event: QKeyEvent) -> bool:
    """Whether it is the key that is held to follow the ink; pressed with Ctrl or Alt it is a shortcut's."""
    other = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
    pressed = event.type() == QKeyEvent.Type.KeyPress
    return event.key() == Qt.Key.Key_F and not (pressed and event.modifiers() & other)
