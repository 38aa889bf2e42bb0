"""Designs of very many outlines or nodes are counted beside the drawing thread.

Meanwhile the readout shows no figures and says why. A count that is overtaken is given up in its midst.
"""

from __future__ import annotations

import logging

from PySide6.QtCore import QObject

from app.kit.worker import Job, Worker
from app.work.readout import Counted, Readout, uncounted
from core.design import Design
from core.geometry.stopping import stopped_by
from core.redesign.refit import CancelledError
from core.stability.readings import ReadingsEngine

_log = logging.getLogger("sternpost")


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

    def _count(self, design: Design | None) -> None:
        if design is None:
            self._worker.cancel()
            return

        def count(job: Job) -> Counted:
            with stopped_by(job.look):
                try:
                    readings = self._engine.read(design)
                    areas = {} if readings.untold else self._engine.counted_areas(design)
                except CancelledError:
                    raise
                except Exception:
                    _log.exception("counting a design beside the drawing thread")
                    self._engine = ReadingsEngine()
                    return uncounted(design)
            return Counted(design, readings, areas)

        self._worker.start(count)

    def _counted(self, found: object) -> None:
        if isinstance(found, Counted):
            self._readout.counted(found)
