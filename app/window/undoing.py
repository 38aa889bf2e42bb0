"""Undo and redo: of what the hand has half drawn first, then of the design."""

from __future__ import annotations

from app.canvas.canvas import Canvas
from app.work.document import Document


class Undoing:
    """Walks back and forth through what was done."""

    def __init__(self, document: Document, canvas: Canvas) -> None:
        self._document, self._canvas = document, canvas

    def undo(self) -> None:
        """Take back the last node of a trace, or else the last edit."""
        if not self._canvas.hand.undo() and not self._canvas.half_drawn.go_back():
            self._canvas.hand.leave()
            self._document.undo("window")
        self._draft_changed()

    def redo(self) -> None:
        """Do it again."""
        if not self._canvas.hand.redo():
            self._document.redo("window")
        self._draft_changed()

    def _draft_changed(self) -> None:
        self._canvas.half_drawn.tell()
        self._canvas.update()
        self._canvas.hint_changed.emit()
