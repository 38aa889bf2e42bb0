"""Keeps unsaved work safe while it is made, and offers it back after a crash."""

from __future__ import annotations

from contextlib import suppress

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QMessageBox, QWidget

from app.keeping.recovery import Recovery, Salvage
from app.work.document import Change, Document
from app.work.stamp import path_of
from core.design_file import DesignFileError


class Keeper(QObject):
    """Watches the document and hands committed work to recovery.

    At once, not when the hand pauses: a kill must cost the gesture under way and no more. Recovery
    writes in a thread of its own, and of several states in a row only the last.
    """

    trouble = Signal(str)
    """One sentence: unsaved work cannot be kept safe."""

    def __init__(self, window: QWidget, document: Document) -> None:
        super().__init__(window)
        self._window, self._document = window, document
        self.recovery = Recovery(told=self._told)
        document.listen(self._changed)

    def _told(self, sentence: str) -> None:
        # In the thread of recovery: the signal carries it over.
        with suppress(RuntimeError):
            self.trouble.emit(sentence)

    def _changed(self, change: Change) -> None:
        if change.what == "design":
            self.keep()
        elif change.what == "file":
            self.keep()
            if not self._document.dirty and self._document.path is not None:
                self.recovery.opened(self._document.path)

    def keep(self) -> None:
        """Hand over what is not saved; nothing is waited for."""
        if self._document.dirty:
            self.recovery.keep(self._document.committed, self._document.pictures, self._document.path)
        else:
            self.recovery.clear()

    def offer(self) -> bool:
        """Ask about work that an earlier window lost; whether some was taken back."""
        return any(self._asked(salvage) for salvage in self.recovery.found())

    def _asked(self, salvage: Salvage) -> bool:
        when = salvage.when.astimezone().strftime("%d %B %Y, %H:%M")
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(f"“{salvage.title}” was not saved when Sternpost ended on {when}.")
        changed = (
            " Its file has been changed since; taking the work back does not touch it."
            if salvage.changed else ""
        )
        box.setInformativeText(f"Take the work back?{changed}")
        take = box.addButton("Take it back", QMessageBox.ButtonRole.AcceptRole)
        discard = box.addButton("Throw it away", QMessageBox.ButtonRole.DestructiveRole)
        box.addButton("Ask again later", QMessageBox.ButtonRole.RejectRole)
        box.exec()
        box.deleteLater()
        try:
            if box.clickedButton() is take:
                design, pictures, stamp = self.recovery.take(salvage)
                self._document.start(design, dict(pictures), path_of(stamp), stamp=stamp)
                self._document.mark_unsaved()
                return True
            if box.clickedButton() is discard:
                self.recovery.discard(salvage)
        except DesignFileError as error:
            QMessageBox.warning(self._window, "Sternpost", f"{error}.")
        return False

    def stop(self) -> None:
        """The window closes, its work saved or given up: nothing is left to be offered."""
        self.recovery.clear()
        self.recovery.stop()
