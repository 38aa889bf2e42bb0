"""Readings that follow the document: computed once a change, then told to canvas and panels."""

from __future__ import annotations

from collections.abc import Callable

from app.document import Change, Document
from core.stability.readings import Readings, ReadingsEngine

Listener = Callable[[Change], None]


class Readout:
    """Stands between the document and everything that shows figures."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._engine = ReadingsEngine()
        self._listeners: list[Listener] = []
        self.readings: Readings = self._engine.read(document.design)
        document.listen(self._changed)

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Have ``listener`` called after the readings of every change, until what is returned is called."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener) if listener in self._listeners else None

    def counted_areas(self) -> dict[str, float]:
        """By outline id, the area in mm² that it adds to the side area of the design shown."""
        return self._engine.counted_areas(self._document.design)

    def _changed(self, change: Change) -> None:
        quick = change.what == "preview"
        self.readings = self._engine.read(self._document.design, quick=quick)
        for listener in tuple(self._listeners):
            listener(change)
