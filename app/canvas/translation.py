"""Qt's keys and cursor shapes in the words of the hands, which know no Qt."""

from __future__ import annotations

from PySide6.QtCore import Qt

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
