"""Qt's keys and cursor shapes in the words of the hands, which know no Qt."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QNativeGestureEvent, QWheelEvent

from app.canvas.tools.hand import ARROWS, Pointer
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


def is_hands(event: QKeyEvent) -> bool:
    """True if a key that might be a shortcut's belongs to the hand while the canvas has the focus.

    Arrows, Delete, Return and so on, with nothing but Shift.
    """
    plain = not event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
    return event.type() == QKeyEvent.Type.ShortcutOverride and plain and event.key() in KEYS


def ends_a_run(event: QKeyEvent) -> bool:
    """True if a key comes that is no arrow, nor Shift, with which arrows go further."""
    goes_on = KEYS.get(Qt.Key(event.key())) in ARROWS or event.key() == Qt.Key.Key_Shift
    return event.type() == QKeyEvent.Type.ShortcutOverride and not goes_on


def pinched(event: QNativeGestureEvent, view: View) -> View:
    """Where two fingers apart or together make one look; where it was for any other gesture of the system."""
    if event.gestureType() != Qt.NativeGestureType.ZoomNativeGesture:
        return view
    at = event.position()
    return view.zoomed(1.0 + event.value(), at.x(), at.y())


def stepped(arrow: str, far: bool, view: View) -> View:
    """Where an arrow key makes one look; ``far`` with Shift."""
    (right, up), pixels = ARROWS[arrow], 200 if far else 40
    return view.panned(-right * pixels, up * pixels)


def wheeled(event: QWheelEvent, view: View) -> View:
    """Where the wheel, or two fingers, make one look: zoomed at the cursor, or moved along."""
    at, pixels, turn = event.position(), event.pixelDelta(), event.angleDelta()
    if not pixels.isNull() and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
        return view.panned(pixels.x(), pixels.y())
    if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
        return view.panned(turn.y() or turn.x(), 0)
    return view.zoomed(1.0015 ** turn.y(), at.x(), at.y()) if turn.y() else view
