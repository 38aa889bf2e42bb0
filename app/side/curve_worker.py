"""Curves computed beside the window: nothing here waits, but ``stop``."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QObject, Signal

from app.kit.worker import Job, Worker
from core.design import Design
from core.redesign.curves import CurveData, Over, curve
from core.redesign.refit import CancelledError


class CurveWorker(QObject):
    """One curve at a time; an earlier one is dropped when another is started."""

    ready = Signal(object, object)
    """(the Design, its CurveData)"""
    failed = Signal(str)
    """Why there is no such curve."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker = Worker(self, "curves")
        self._worker.done.connect(lambda found: self.ready.emit(*found))
        self._worker.failed.connect(self.failed)

    @property
    def busy(self) -> bool:
        """Whether a curve is under way."""
        return self._worker.busy

    def start(self, design: Design, over: Over) -> None:
        """Compute the curve of ``design``."""
        self._worker.start(partial(_curve, design, over))

    def cancel(self) -> None:
        """Drop the curve under way, if there is one."""
        self._worker.cancel()

    def stop(self) -> None:
        """Drop the curve under way and wait until no thread is left."""
        self._worker.stop()


def _curve(design: Design, over: Over, job: Job) -> tuple[Design, CurveData]:
    found = curve(design, over, cancelled=job.gone)
    if found is None:
        raise CancelledError
    return design, found
