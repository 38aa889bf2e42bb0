"""Readings that follow the document: computed once a change, then told to canvas and panels.

``readings`` are those of what is on view, a proposal's own with everything that is slow to compute.
What leaves the program takes ``committed_readings``; fields and lists take ``edited_readings``.
"""

from __future__ import annotations

from collections.abc import Callable

from app.work.document import Change, Document
from core.design import Design
from core.stability.readings import Readings, ReadingsEngine

Listener = Callable[[Change], None]


class Readout:
    """Stands between the document and everything that shows figures."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._engine, self._beside = ReadingsEngine(), ReadingsEngine()
        """Of what is on view, and of the committed design while something else is."""
        self._committed: tuple[Design, Readings] | None = None
        self._untold: tuple[Design, str] | None = None
        self._listeners: list[Listener] = []
        self.readings: Readings = self._engine.read(document.design)
        document.listen(self._changed)

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Have ``listener`` called after the readings of every change, until what is returned is called."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener) if listener in self._listeners else None

    @property
    def committed_readings(self) -> Readings:
        """Whole readings of the committed design; computed when asked for, where another one is on view."""
        document = self._document
        if not document.busy and document.proposal is None:
            return self.readings
        if self._committed is None or self._committed[0] is not document.committed:
            self._committed = document.committed, self._told(
                document.committed, self._beside.read(document.committed)
            )
        return self._committed[1]

    @property
    def edited_readings(self) -> Readings:
        """Readings of what hands and fields work on: with the gesture under way, without a proposal."""
        return self.readings if self._document.proposal is None else self.committed_readings

    def counted_areas(self) -> dict[str, float]:
        """By outline id, the area in mm² that it adds to the side area of what is worked on."""
        engine = self._engine if self._document.proposal is None else self._beside
        return engine.counted_areas(self._document.edited)

    def committed_areas(self) -> dict[str, float]:
        """The same of the committed design."""
        return self._beside.counted_areas(self._document.committed)

    def withhold(self, why: str) -> None:
        """Say ``why`` in place of all that depends on areas of the committed design, until it changes."""
        self._untold, self._committed = (self._document.committed, why), None
        self.readings = self._told(self._document.design, self.readings)
        for listener in tuple(self._listeners):
            listener(Change("design", "recount"))

    def _told(self, design: Design, readings: Readings) -> Readings:
        """The readings, withheld where that was said of this very design."""
        if self._untold is None or self._untold[0] is not design or readings.untold is not None:
            return readings
        return readings.withheld(self._untold[1])

    def _changed(self, change: Change) -> None:
        quick = change.what == "preview"
        self.readings = self._told(
            self._document.design, self._engine.read(self._document.design, quick=quick)
        )
        if not self._document.busy and self._document.proposal is None:
            self._committed = None
        for listener in tuple(self._listeners):
            listener(change)
