"""What every window beside the window has in common: colours, timers, workers, listening, and leaving."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, cast

from PySide6.QtCore import QEvent, QPoint, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QDialog

from app.kit.asking_what import ask_what
from app.kit.help_places import help_of
from app.kit.keys import CLOSE, REDO, UNDO
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.kit.worker import Worker
from app.side.beside import Beside
from app.side.placing import keep_place, stand, tall_enough
from app.work.document import Change
from core.design import Outline
from core.kinds import UPRIGHT


class _Teller(Protocol):
    def listen(self, listener: Callable[[Change], None]) -> Callable[[], None]: ...


class _Guide(Protocol):
    def go_to(self, place: str) -> None: ...


@errors_told
class SideWindow(QDialog):
    """Stays open beside the window. Once it is left, by whatever way, nothing of it runs or listens."""

    shows_on_canvas = False
    """True if what it works out is seen on the canvas, which it must not hide then."""

    def __init__(self, beside: Beside, title: str) -> None:
        super().__init__(beside.window)
        self._beside, self._desk, self._theme = beside, beside.desk, beside.theme
        self._document, self._readout = beside.desk.document, beside.desk.readout
        self._has_left = False
        self._stood: tuple[str, QPoint] | None = None
        self._timers: list[QTimer] = []
        self._workers: list[Worker] = []
        self._deaf: list[Callable[[], None]] = []
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for keys, run in ((UNDO, beside.desk.undo), (REDO, beside.desk.redo), ((CLOSE,), self.close)):
            for one in keys:
                QShortcut(QKeySequence(one), self).activated.connect(run)
        application = QApplication.instance()
        assert application is not None
        application.aboutToQuit.connect(self.leave)
        # The menus' own key works in the window alone.
        asked = QShortcut(QKeySequence(QKeySequence.StandardKey.HelpContents), self)
        asked.activated.connect(lambda: self._help(help_of(self.focusWidget(), self)))
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(self._ask_what)

    def _help(self, place: str) -> None:
        cast(_Guide, self._beside.show("help")).go_to(place)

    def _ask_what(self, at: QPoint) -> None:
        ask_what(self, at, self._help)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme

    def stand(self, name: str) -> None:
        """Go beside the window, or to where a window of that ``name`` was moved to the last time."""
        if self.shows_on_canvas:
            stand(self, self._beside.canvas, name, self._shows)
            self._stood = name, self.pos()

    def _shows(self, outline: Outline) -> bool:
        """True if it must not hide that outline: the tail, where a kind of window does not say otherwise."""
        return outline.kind in UPRIGHT

    def _across(self, letters: int) -> int:
        """px that so many letters of the window's own font take: the least width goes by what is written."""
        return letters * self.fontMetrics().averageCharWidth()

    def event(self, event: QEvent) -> bool:  # noqa: D102
        heard = super().event(event)
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Resize) and not self._has_left:
            self._keep_whole()
        return heard

    def _keep_whole(self) -> None:
        """Never so low that words which break into more lines would be cut, where the screen has the room."""
        before = self.pos()
        tall_enough(self)
        if self._stood is not None and self.pos() != before:
            # It was not the builder who moved it.
            self._stood = self._stood[0], self._stood[1] + self.pos() - before

    # What ends with the window

    def _timer(self, pause_ms: int, call: Callable[[], object]) -> QTimer:
        """Calls ``call`` once, so long after it was last started."""
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(pause_ms)
        timer.timeout.connect(call)
        self._timers.append(timer)
        return timer

    def _worker(
        self, name: str, done: Callable[..., object], failed: Callable[[str], object]
    ) -> Worker:
        """Computes away from the drawing thread, in a thread of that name."""
        worker = Worker(self, name)
        worker.done.connect(done)
        worker.failed.connect(failed)
        self._workers.append(worker)
        return worker

    def _listen(self, teller: _Teller, heard: Callable[[Change], None]) -> None:
        """Have ``heard`` called after every change that ``teller`` tells."""
        deaf = teller.listen(heard)
        self._deaf.append(deaf)
        self.destroyed.connect(deaf)

    # Leaving

    def _leaving(self) -> None:
        """What this kind of window has to end by itself; called once, before the rest ends."""

    def leave(self) -> None:
        """End what runs and listens; once."""
        if self._has_left:
            return
        self._has_left = True
        if self._stood is not None:
            keep_place(self, *self._stood)
        self._leaving()
        for deaf in self._deaf:
            deaf()
        for timer in self._timers:
            timer.stop()
        for worker in self._workers:
            worker.stop()

    def done(self, result: int) -> None:  # noqa: D102
        self.leave()
        super().done(result)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: D102
        self.leave()
        super().closeEvent(event)
