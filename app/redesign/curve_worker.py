"""Curves computed beside the window: nothing here waits, but ``stop``."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event

from PySide6.QtCore import QObject, Qt, Signal

from core.design import Design
from core.redesign.curves import Over, curve
from core.redesign.outline_edits import EditError

_log = logging.getLogger(__name__)


@dataclass(frozen=True, eq=False)
class _Job:
    design: Design
    over: Over
    gone: Event = field(default_factory=Event)


class CurveWorker(QObject):
    """Computes one curve at a time in a thread of its own; the outcome is told in the thread it lives in.

    Each ``start`` ends in one ``ready`` or one ``failed``, unless it is cancelled or another is
    started first; after that nothing more is heard of it. Call ``stop`` before the program ends.
    """

    ready = Signal(object, object)
    """(the Design, its CurveData)"""
    failed = Signal(str)
    """Why there is no such curve."""
    _arrived = Signal(object, str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._job: _Job | None = None
        self._threads: ThreadPoolExecutor | None = None
        self._arrived.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a curve is under way."""
        return self._job is not None

    def start(self, design: Design, over: Over) -> None:
        """Compute the curve of ``design``; an earlier start is dropped."""
        self.cancel()
        if self._threads is None:
            self._threads = ThreadPoolExecutor(1, thread_name_prefix="curve")
        self._job = job = _Job(design, over)
        self._threads.submit(self._work, job)

    def cancel(self) -> None:
        """Drop the curve under way, if there is one."""
        if self._job is not None:
            self._job.gone.set()
            self._job = None

    def stop(self) -> None:
        """Drop the curve under way and wait until no thread is left. ``start`` may be called again."""
        self.cancel()
        threads, self._threads = self._threads, None
        if threads is not None:
            threads.shutdown(wait=True, cancel_futures=True)

    def _work(self, job: _Job) -> None:
        """In the thread beside the window."""
        if job.gone.is_set():
            return
        try:
            found = curve(job.design, job.over, cancelled=job.gone.is_set)
            if found is not None:
                self._send(job, "", found)
        except EditError as error:
            self._send(job, str(error), None)
        except Exception:
            _log.exception("the curve over %s", job.over)
            self._send(job, "the curve could not be computed: undo the last change and try again", None)

    def _send(self, job: _Job, why: str, found: object) -> None:
        try:
            self._arrived.emit(job, why, found)
        except RuntimeError:
            # Destroyed meanwhile: nobody is left to be told.
            job.gone.set()

    def _tell(self, job: _Job, why: str, found: object) -> None:
        """In the thread of this object."""
        if job is not self._job:
            return
        self._job = None
        if found is None:
            self.failed.emit(why)
        else:
            self.ready.emit(job.design, found)
