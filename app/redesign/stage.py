"""How a window that stays open shows a change on the canvas before it is made.

The preview is a gesture of the document that may last for minutes, while the builder goes on with
mouse and keys. Whatever else is begun meanwhile must neither commit it nor build upon it: it is set
aside before any press or key reaches another part, and shown again when that part has finished.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from app.canvas.extent import extent
from app.document import Change
from app.overrides import errors_told
from app.window import Window
from core.design import Design

_BEGINS = frozenset({
    QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonDblClick, QEvent.Type.KeyPress,
    QEvent.Type.Shortcut, QEvent.Type.Drop,
})


@errors_told
class Stage(QObject):
    """One preview, of one window beside the main one.

    ``changed`` is called when another design lies under the preview: show it anew, or nothing;
    ``taken_back`` when undo has taken the preview back; ``gone`` when the main window goes away.
    """

    def __init__(
        self, window: Window, dialog: QDialog, changed: Callable[[], object],
        taken_back: Callable[[], object], gone: Callable[[], object],
    ) -> None:
        super().__init__(dialog)
        self._window, self._dialog, self._document = window, dialog, window.document
        self._changed, self._taken_back, self._gone = changed, taken_back, gone
        self._wanted: tuple[str, Design] | None = None
        self._armed = False
        self._down = False
        self._resting = False
        self._undone = False
        self._open = True
        self._base = self._document.committed
        self._origin = f"stage-{id(self)}"
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self._resume)
        self._deaf = self._document.listen(self._heard)
        window.filing.leaving.connect(self._set_aside)
        application = QApplication.instance()
        if application is not None:
            application.installEventFilter(self)

    @property
    def is_open(self) -> bool:
        """Whether the window is still there."""
        return self._open

    @property
    def shown(self) -> bool:
        """Whether the canvas shows the preview at present."""
        return self._armed

    @property
    def base(self) -> Design:
        """The design that the preview starts from."""
        return self._document.committed

    def show(self, name: str, design: Design) -> None:
        """Show ``design`` on the canvas; ``name`` is what undo will call it. Nothing once it is closed."""
        if not self._open:
            return
        for other in self._window.findChildren(Stage):
            if other is not self:
                other.rest()
        if self._armed and self._wanted is not None and self._wanted[0] != name:
            self._withdraw()
        self._wanted = (name, design)
        self._resting = self._undone = False
        self._put()

    def clear(self) -> None:
        """Show the design as it is."""
        self._wanted = None
        self._withdraw()

    def rest(self) -> None:
        """Make way for another preview, until ``show`` is called or the dialog comes to the front."""
        self._resting = True
        self._withdraw()

    def commit(self) -> None:
        """What is wanted becomes one entry of undo."""
        if self._wanted is None:
            return
        self._put()
        self._wanted = None
        self._armed = False
        self._document.commit(self._origin)
        self._base = self._document.committed

    def close(self) -> None:
        """The window is going: nothing is shown, heard or watched any more."""
        if not self._open:
            return
        self._open = False
        self.clear()
        self._again.stop()
        self._deaf()
        self._window.filing.leaving.disconnect(self._set_aside)
        application = QApplication.instance()
        if application is not None:
            application.removeEventFilter(self)

    def _put(self) -> None:
        assert self._wanted is not None
        name, design = self._wanted
        if not self._armed:
            # Nothing of another hand is committed for the sake of a preview.
            self._document.abort(self._origin)
            self._document.begin(name)
            self._armed = True
        self._document.preview(design, self._origin)
        if self._in_sight(self._document.committed) and not self._in_sight(design):
            self._window.canvas.fit()

    def _in_sight(self, design: Design) -> bool:
        """Whether the canvas shows the aeroplane from nose to tail."""
        canvas = self._window.canvas
        low, _, high, _ = extent(design, {})
        return canvas.view.to_px(low, 0.0)[0] >= 0.0 and canvas.view.to_px(high, 0.0)[0] <= canvas.width()

    def _withdraw(self) -> None:
        if self._armed:
            self._armed = False
            self._document.abort(self._origin)

    # What goes on elsewhere

    def _heard(self, change: Change) -> None:
        if not self._open or change.origin == self._origin or change.what == "preview":
            return
        if self._armed and not self._document.busy:
            self._armed = False
            self._undone = change.origin == "window"
        self._again.start(0)

    def _soon(self, call: Callable[[], object]) -> None:
        """Not from within what is being told: the dialog may close over it."""
        QTimer.singleShot(0, self, lambda: call() if self._open else None)

    def _resume(self) -> None:
        if not self._open or self._armed or self._down or self._document.busy:
            return
        if self._document.committed is not self._base:
            self._base = self._document.committed
            self._wanted = None
            self._undone = False
            self._changed()
        elif self._undone:
            # Nothing came of it but that the preview is gone: that is what undo took back.
            self._undone = False
            self._wanted = None
            self._taken_back()
        elif self._wanted is not None and not self._resting:
            self._put()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        what = event.type()
        if what == QEvent.Type.MouseButtonRelease:
            if self._down:
                self._down = False
                self._again.start(0)
        elif what in _BEGINS and self._open and not self._ours(watched):
            self._make_way(watched, event)
        elif what == QEvent.Type.WindowActivate and watched is self._dialog:
            self._resting = False
            self._again.start(0)
        elif what == QEvent.Type.Hide and watched is self._window and not event.spontaneous():
            self._soon(self._gone)
        return False

    def _make_way(self, watched: QObject, event: QEvent) -> None:
        if isinstance(event, QMouseEvent):
            canvas = self._window.canvas
            looking = event.button() != Qt.MouseButton.LeftButton
            if watched is canvas and (looking or canvas.hand.name == "station"):
                return
            self._down = event.type() == QEvent.Type.MouseButtonPress
        elif watched is self._window.canvas and self._window.canvas.hand.name == "station":
            return
        self._set_aside()

    def _set_aside(self) -> None:
        if self._armed:
            self._withdraw()
            self._again.start(0)

    def _ours(self, watched: QObject) -> bool:
        """Whether the event goes to the dialog or a popup of it, or to no widget or action at all."""
        if not isinstance(watched, QWidget):
            # A shortcut is sent to its action; other events pass through objects of the system first.
            return watched.isWindowType() or not self._of_window(watched)
        widget: QWidget | None = watched
        while widget is not None:
            if widget is self._dialog:
                return True
            widget = widget.parentWidget()
        return False

    def _of_window(self, watched: QObject) -> bool:
        parent: QObject | None = watched
        while parent is not None:
            if parent is self._dialog:
                return False
            if parent is self._window:
                return True
            parent = parent.parent()
        return False
