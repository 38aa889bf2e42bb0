"""Moving the view along: with the middle button, or with the left one while the space bar is down."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent

from app.canvas.view import View, whole_step

_LEFT, _MIDDLE = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton


class Panning:
    """What of mouse and keys moves the view, and where it goes."""

    space = False
    """Whether the space bar is down."""
    _from: QPointF | None = None
    _button = Qt.MouseButton.NoButton

    @property
    def afoot(self) -> bool:
        """True while the button is down."""
        return self._from is not None

    def key(self, event: QKeyEvent, *, down: bool) -> bool:
        """True if the key is its own."""
        if event.key() != Qt.Key.Key_Space or event.isAutoRepeat():
            return False
        self.space = down
        return True

    def pressed(self, event: QMouseEvent) -> bool:
        """True if that begins it."""
        button = event.button()
        if button != _MIDDLE and not (button == _LEFT and self.space):
            return False
        self._from, self._button = event.position(), button
        return True

    def moved(self, at: QPointF, view: View, ratio: float) -> View:
        """Where one looks then: on by whole pixels of the screen, ``ratio`` to one of the window's.

        So what is drawn is scrolled; the rest goes with the next move.
        """
        assert self._from is not None
        away = at - self._from
        step = QPointF(whole_step(away.x(), ratio), whole_step(away.y(), ratio))
        self._from += step
        return view.panned(step.x(), step.y())

    def released(self, button: Qt.MouseButton) -> bool:
        """True if that ends it."""
        ends = self.afoot and button == self._button
        if ends:
            self._from = None
        return ends
