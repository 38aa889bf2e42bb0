"""Readings that follow the document: computed once a change, then told to canvas and panels.

``readings`` are those of what is on view, a proposal's own with everything that is slow to compute.
What leaves the program takes ``committed_readings``; fields and lists take ``edited_readings``.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass

from app.work.document import Change, Document
from app.work.telling import tell_all
from core.design import Design
from core.stability.readings import Readings, ReadingsEngine, read_twice, unread

COUNTING = "the areas are still being counted, which takes a moment with so many outlines or nodes"
MANY_OUTLINES, MANY_NODES = 150, 10_000
"""Beyond either a design is counted beside the drawing thread: that may take longer than 100 ms."""
FEW_ENOUGH = 400
"""Outlines: once so many are counted, all else is read within 100 ms (376: 10 ms; 2,000: 2 s, measured)."""
NODES_ENOUGH = 25_000
"""The same of nodes (20,000: 60 ms; 190,000: 1.7 s, measured)."""
Listener = Callable[[Change], None]
UNREAD = "the readings could not be worked out: undo the last step, and save the work under another name"
"""What stands in the place of every figure where working them out failed in a way nobody foresaw."""


_log = logging.getLogger("sternpost")


def readings_of(engine: ReadingsEngine, design: Design) -> Readings:
    """Whole readings of ``design``; blank ones where they cannot be worked out, and the log says why."""
    return _guarded(engine.read, design)


def read_apart(design: Design) -> Readings:
    """``read_twice`` for what leaves the window; blank readings where it fails, and the log says why."""
    return _guarded(read_twice, design)


def _guarded(read: Callable[..., Readings], design: Design, *more: object) -> Readings:
    try:
        return read(design, *more)
    except Exception:
        _log.exception("readings of a design beside the one on view")
        return unread(design, UNREAD)


@dataclass(frozen=True, eq=False)
class Counted:
    """A design that was counted beside: its readings, and by outline id what each adds in mm²."""

    design: Design
    readings: Readings
    areas: dict[str, float]


def uncounted(design: Design) -> Counted:
    """What stands for the count of ``design`` where it failed in a way nobody foresaw."""
    return Counted(design, unread(design, UNREAD), {})


def takes_long(design: Design) -> bool:
    """True if its areas may take longer to count than a drawing thread can wait."""
    outlines = design.outlines
    return len(outlines) > MANY_OUTLINES or sum(len(o.nodes) for o in outlines) > MANY_NODES


class Readout:
    """Stands between the document and everything that shows figures."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._engine, self._beside = ReadingsEngine(), ReadingsEngine()
        """Of what is on view, and of the committed design while something else is."""
        self._committed: tuple[Design, Readings] | None = None
        self._untold: tuple[Design, str] | None = None
        self._listeners: list[Listener] = []
        self._counts: tuple[Counted, ...] = ()
        """Of the design counted last, and of the committed one where that is another."""
        self._waiting: Design | None = None
        self.beside: Callable[[Design | None], None] | None = None
        """Has a design that takes long counted beside the drawing thread, for ``counted``, in place of any
        other that is under way; told None where nothing is waited for any more. None: counted here."""
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
                document.committed, _guarded(self._read, document.committed, self._beside)
            )
        return self._committed[1]

    @property
    def edited_readings(self) -> Readings:
        """Readings of what hands and fields work on: with the gesture under way, without a proposal."""
        return self.readings if self._document.proposal is None else self.committed_readings

    def counted_areas(self) -> dict[str, float]:
        """By outline id, the area in mm² that it adds to the side area of what is worked on."""
        engine = self._engine if self._document.proposal is None else self._beside
        if self.edited_readings.untold:
            return {}
        return self._areas(self._document.edited, engine)

    def committed_areas(self) -> dict[str, float]:
        """The same of the committed design."""
        return {} if self.committed_readings.untold else self._areas(self._document.committed, self._beside)

    def counted(self, found: Counted) -> None:
        """What was counted beside; told where that design is still the one on view."""
        committed = self._document.committed
        before = (c for c in self._counts if c.design is committed and c.design is not found.design)
        self._counts = found, *before
        if found.design is self._document.design and self._waiting is found.design:
            self._waiting, self._committed = None, None
            self.readings = self._told(found.design, found.readings)
            tell_all(self._listeners, Change("design", "counted"))

    def _read(self, design: Design, engine: ReadingsEngine, quick: bool = False) -> Readings:
        """The readings; of what takes long those counted beside, else bare ones that say so meanwhile."""
        if self.beside is None or not takes_long(design):
            return engine.read(design, quick=quick)
        for known in self._counts:
            if known.design is design:
                return known.readings
        same = self._same_outlines(design)
        nodes = sum(len(outline.nodes) for outline in design.outlines)
        few = len(design.outlines) <= FEW_ENOUGH and nodes <= NODES_ENOUGH
        if same is not None and same.readings.untold is None and few:
            # Its outlines are counted: what else is read of it is quick.
            return engine.read(design, quick=quick)
        return engine.without_areas(design, COUNTING)

    def _areas(self, design: Design, engine: ReadingsEngine) -> dict[str, float]:
        if self.beside is None or not takes_long(design):
            return engine.counted_areas(design)
        same = self._same_outlines(design)
        return same.areas if same is not None else {}

    def _same_outlines(self, design: Design) -> Counted | None:
        return next((c for c in self._counts if c.design.outlines is design.outlines), None)

    def withhold(self, why: str) -> None:
        """Say ``why`` in place of all that depends on areas of the committed design, until it changes."""
        self._untold, self._committed = (self._document.committed, why), None
        self.readings = self._told(self._document.design, self.readings)
        tell_all(self._listeners, Change("design", "recount"))

    def _told(self, design: Design, readings: Readings) -> Readings:
        """The readings, withheld where that was said of this very design."""
        if self._untold is None or self._untold[0] is not design or readings.untold is not None:
            return readings
        return readings.withheld(self._untold[1])

    def _changed(self, change: Change) -> None:
        if change.what == "trace":
            # What is half drawn counts nowhere yet.
            return
        design, failed, waited = self._document.design, None, self._waiting
        try:
            quick = change.what == "preview"
            self.readings = self._told(design, self._read(design, self._engine, quick))
        except Exception as error:
            # Nothing is shown that is older than the design; nor is anything kept of what is half done.
            self._engine, self.readings, failed = ReadingsEngine(), unread(design, UNREAD), error
        self._waiting = design if self.readings.untold == COUNTING else None
        if not self._document.busy and self._document.proposal is None:
            self._committed = None
        try:
            tell_all(self._listeners, change)
        finally:
            if self._waiting is not waited and self.beside is not None:
                self.beside(self._waiting)
            if failed is not None:
                raise failed
