"""Designs of very many outlines or nodes are counted beside the drawing thread.

Meanwhile the readout shows no figures and says why; a design that has changed since is dropped.
"""

from __future__ import annotations

from PySide6.QtCore import QObject

from app.kit.worker import Job, Worker
from app.work.readout import Counted, Readout
from core.design import Design
from core.redesign.refit import CancelledError
from core.stability.readings import ReadingsEngine


class Counting(QObject):
    """Counts what the readout asks for; ``stop`` it before its window is let go."""

    def __init__(self, readout: Readout, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._readout = readout
        # The worker's own: it has one thread, so that nobody else asks it meanwhile.
        self._engine = ReadingsEngine()
        self._worker = Worker(self, "counting")
        self._worker.done.connect(self._counted)
        readout.beside = self._count

    @property
    def busy(self) -> bool:
        """Whether a count is still to come."""
        return self._worker.busy

    def stop(self) -> None:
        """Drop what is under way and wait until no thread is left."""
        self._worker.stop()

    def _count(self, design: Design) -> None:
        def count(job: Job) -> Counted:
            if job.gone():
                raise CancelledError
            readings = self._engine.read(design)
            if job.gone():
                raise CancelledError
            return Counted(design, readings, {} if readings.untold else self._engine.counted_areas(design))

        self._worker.start(count)

    def _counted(self, found: object) -> None:
        if isinstance(found, Counted):
            self._readout.counted(found)
