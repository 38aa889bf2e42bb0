"""The side area of the committed design counted a second time, beside the drawing thread.

Dropped as soon as the design changes. Where the two counts do not agree, the readings are withheld.
"""

from __future__ import annotations

from PySide6.QtCore import QObject

from app.kit.worker import Job, Worker
from app.work.document import Change, Document
from app.work.readout import COUNTING, Readout
from core.design import Design
from core.stability.readings import recounted


class Recounter(QObject):
    """Follows the readout; ``stop`` it before its window is let go."""

    def __init__(self, document: Document, readout: Readout, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document, self._readout = document, readout
        self._looked_at: Design | None = None
        self._worker = Worker(self, "recount")
        self._worker.done.connect(self._counted)
        readout.listen(self._changed)

    @property
    def busy(self) -> bool:
        """Whether the second count of the design shown is still to come."""
        return self._worker.busy

    def stop(self) -> None:
        """Drop what is under way and wait until no thread is left."""
        self._worker.stop()

    def _changed(self, _: Change) -> None:
        design, readings = self._document.committed, self._readout.readings
        if design is not self._looked_at:
            self._worker.cancel()
        # The committed design alone: neither a gesture nor a proposal is built by.
        if design is self._looked_at or self._document.busy or self._document.proposal is not None:
            return
        if readings.untold == COUNTING:
            # The first count is still under way; there will be another word of it.
            return
        self._looked_at = design
        if readings.untold is not None or not design.outlines:
            return

        def count(job: Job) -> str | None:
            return recounted(readings, design, job.look)

        self._worker.start(count)

    def _counted(self, why: object) -> None:
        if isinstance(why, str):
            self._readout.withhold(why)
