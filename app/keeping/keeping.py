"""Keeps unsaved work safe while it is made, and offers it back after a crash."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.keeping.lost_work import choose
from app.keeping.lying_aside import delete_wanted
from app.keeping.recovery import Recovery, Salvage
from app.kit.plain import warn
from app.work.document import Change, Document
from core.design_file import DesignFileError

_AGAIN_MS = 10_000


class Keeper(QObject):
    """Watches the document and hands committed work, and what is half drawn, to recovery.

    At once, not when the hand pauses: a kill must cost the gesture under way and no more. Recovery
    writes in a thread of its own, and of several states in a row only the last.
    """

    trouble = Signal(str)
    """One sentence: unsaved work cannot be kept safe. Empty when it can be again."""

    def __init__(self, window: QWidget, document: Document) -> None:
        super().__init__(window)
        self._window, self._document = window, document
        self.recovery = Recovery(told=self._told)
        self.asked = False
        """Whether there was anything to ask about when it was looked last."""
        self._again = QTimer(self)
        self._again.setInterval(_AGAIN_MS)
        self._again.timeout.connect(self.keep)
        self.trouble.connect(self._try_again)
        document.listen(self._changed)

    def _told(self, sentence: str) -> None:
        # In the thread of recovery: the signal carries it over.
        with suppress(RuntimeError):
            self.trouble.emit(sentence)

    def _try_again(self, sentence: str) -> None:
        """Until it works, also where nobody does anything meanwhile."""
        if sentence:
            self._again.start()
        else:
            self._again.stop()

    def _changed(self, change: Change) -> None:
        if change.what in ("design", "trace"):
            self.keep()
        elif change.what == "file":
            self.keep()
            if not self._document.dirty and self._document.path is not None:
                self.recovery.opened(self._document.path)

    @property
    def unsafe(self) -> str:
        """Why unsaved work cannot be kept safe; empty while it can."""
        return self.recovery.trouble or ""

    def keep(self) -> None:
        """Hand over what is not saved; nothing is waited for."""
        document, trace = self._document, self._document.trace
        if document.dirty or trace is not None:
            self.recovery.keep(document.committed, document.pictures, document.path, trace)
        else:
            self.recovery.clear()

    def offer(self, may_leave: Callable[[], bool] | None = None) -> bool:
        """Ask about all that earlier windows lost; whether some was taken back.

        ``may_leave`` is asked before the design in hand gives way.
        """
        found = self.recovery.found()
        self.asked = bool(found or self.recovery.passed_over)
        while found or self.recovery.passed_over:
            chosen = choose(self._window, found, self.recovery.passed_over)
            if chosen is None:
                return False
            try:
                if chosen.taken and may_leave is not None and not may_leave():
                    return False
                if chosen.taken:
                    self._take(chosen.salvage)
                    return True
                self.recovery.discard(chosen.salvage)
            except DesignFileError as error:
                warn(self._window, "Sternpost", f"{error}.")
            found = self.recovery.found()
            if not found:
                return False
        return False

    def _take(self, salvage: Salvage) -> None:
        design, pictures, stamp = self.recovery.take(salvage)
        self._document.recover(design, pictures, stamp, salvage.trace)

    def look_aside(self) -> None:
        """Tell of the damaged files that were moved aside, and what can be done with them."""
        found = self.recovery.lying_aside()
        if not delete_wanted(self._window, found):
            return
        try:
            self.recovery.delete_aside(found)
        except DesignFileError as error:
            warn(self._window, "Sternpost", f"{error}.")

    def stop(self) -> None:
        """The window closes, its work saved or given up: nothing is left to be offered."""
        self.recovery.clear()
        self.let_go()

    def let_go(self) -> None:
        """The program ends: what is kept stays to be offered."""
        self._again.stop()
        self.recovery.stop()
