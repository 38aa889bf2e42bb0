"""How a window that stays open shows a change on the canvas before it is made.

What it shows is a proposal of the document, which may stand for minutes while the builder goes on
with mouse and keys. Whatever is begun meanwhile withdraws it and knows nothing of it; here it is put
on view again when that has ended.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QDialog

from app.canvas.extent import extent
from app.kit.overrides import errors_told
from app.side.beside import Beside
from app.work.document import Change, Proposal
from core.design import Design

_PRESSES = frozenset({QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonDblClick})
_BUSY_MS = 50
"""How soon to look again whether a hand at work has ended."""


@errors_told
class Stage(QObject):
    """One proposal, of one window beside the main one.

    ``changed`` is called when another design lies under the proposal: show it anew, or nothing;
    ``taken_back`` when undo has taken the proposal back; ``gone`` when the main window goes away.
    """

    def __init__(
        self, beside: Beside, dialog: QDialog, changed: Callable[[], object],
        taken_back: Callable[[], object], gone: Callable[[], object],
    ) -> None:
        super().__init__(dialog)
        self._window, self._dialog, self._document = beside.window, dialog, beside.desk.document
        self._canvas = beside.canvas
        self._changed, self._taken_back, self._gone = changed, taken_back, gone
        self._wanted: tuple[str, Design] | None = None
        self._own: Proposal | None = None
        self._down = False
        self._resting = False
        self._let_be = False
        self._open = True
        self._base = self._document.committed
        self._origin = f"stage-{id(self)}"
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self._resume)
        self._deaf = self._document.listen(self._heard)
        self._watched = (beside.window, beside.canvas, dialog)
        for part in self._watched:
            part.installEventFilter(self)

    @property
    def is_open(self) -> bool:
        """True if the window is still there."""
        return self._open

    @property
    def shown(self) -> bool:
        """True if the proposal is on view at present."""
        return self._own is not None and self._document.proposal is self._own

    @property
    def base(self) -> Design:
        """The design that the proposal starts from."""
        return self._document.committed

    def show(self, name: str, design: Design) -> None:
        """Put ``design`` on view; ``name`` is what undo will call it. Nothing once it is closed."""
        if not self._open:
            return
        for other in self._window.findChildren(Stage):
            if other is not self:
                other.rest()
        self._wanted = (name, design)
        self._resting = self._let_be = False
        self._put()

    def clear(self) -> None:
        """Show the design as it is."""
        self._wanted = None
        self._withdraw(for_good=True)

    def rest(self) -> None:
        """Make way for another proposal, until ``show`` is called or the dialog comes to the front."""
        self._resting = True
        self._withdraw()

    def commit(self) -> bool:
        """What is wanted becomes one entry of undo; false, with nothing done, while a hand is at work."""
        if self._wanted is None or not self._put():
            return False
        self._wanted = self._own = None
        self._document.accept(self._origin)
        self._base = self._document.committed
        return True

    def close(self) -> None:
        """The window is going: nothing is shown, heard or watched any more."""
        if not self._open:
            return
        self._open = False
        self.clear()
        self._again.stop()
        self._deaf()
        for part in self._watched:
            part.removeEventFilter(self)

    def _put(self) -> bool:
        """Put what is wanted on view; whether it is there."""
        assert self._wanted is not None
        if self._document.committed is not self._base:
            # It was made from another design: it is asked for anew first.
            self._again.start(0)
            return False
        name, design = self._wanted
        if not self.shown or self._own is None or (self._own.design, self._own.name) != (design, name):
            proposal = self._document.propose(design, name, self._origin)
            if proposal is None:
                self._again.start(_BUSY_MS)
                return False
            self._own = proposal
        if self._in_sight(self._document.committed) and not self._in_sight(design):
            self._canvas.fit()
        return True

    def _in_sight(self, design: Design) -> bool:
        """Whether the canvas shows the aeroplane from nose to tail."""
        canvas = self._canvas
        low, _, high, _ = extent(design, {})
        return canvas.view.to_px(low, 0.0)[0] >= 0.0 and canvas.view.to_px(high, 0.0)[0] <= canvas.width()

    def _withdraw(self, *, for_good: bool = False) -> None:
        if self.shown:
            self._document.withdraw(self._origin, for_good=for_good)
        self._own = None

    # What goes on elsewhere

    def _heard(self, change: Change) -> None:
        if not self._open or change.origin == self._origin or change.what in ("preview", "trace"):
            return
        if change.what == "proposal" and change.name == "let be" and self._own is not None:
            self._let_be = True
        self._own = self._own if self.shown else None
        self._again.start(0)

    def _soon(self, call: Callable[[], object]) -> None:
        """Not from within what is being told: the dialog may close over it."""
        QTimer.singleShot(0, self, lambda: call() if self._open else None)

    def _resume(self) -> None:
        if not self._open or self._down:
            return
        if self._document.committed is not self._base:
            self._base = self._document.committed
            self._wanted = None
            self._let_be = False
            self._changed()
        elif self._document.proposal is not None:
            # This one, or that of another window.
            return
        elif self._let_be:
            self._let_be = False
            self._wanted = None
            self._taken_back()
        elif self._wanted is not None and not self._resting:
            self._put()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        what = event.type()
        if watched is self._dialog:
            if what == QEvent.Type.WindowActivate:
                self._resting = False
                self._again.start(0)
        elif watched is self._window:
            if what == QEvent.Type.Hide and not event.spontaneous():
                self._soon(self._gone)
        elif what in _PRESSES:
            self._make_way(event)
        elif what == QEvent.Type.MouseButtonRelease and self._down:
            self._down = False
            self._again.start(0)
        return False

    def _make_way(self, event: QEvent) -> None:
        """A hand takes hold of what it sees: the design as it is, while the button is down."""
        left = isinstance(event, QMouseEvent) and event.button() == Qt.MouseButton.LeftButton
        if left and self._canvas.hand.name != "station":
            self._down = event.type() == QEvent.Type.MouseButtonPress
            self._withdraw()
