"""What takes too long for the drawing thread is worked out beside it."""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event

from PySide6.QtCore import QObject, Qt, Signal

from core.geometry.overlay import OverlayError
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError

_log = logging.getLogger(__name__)
Compute = Callable[["Job"], object]


@dataclass(frozen=True, eq=False)
class Job:
    """What the computation sees of whoever asked for it: ask ``gone`` often, ``tell`` seldom."""

    compute: Compute
    _told: Callable[[Job, str, object], None]
    _gone: Event = field(default_factory=Event)

    def gone(self) -> bool:
        """Whether nobody wants the result any more: raise ``CancelledError``, or return anything."""
        return self._gone.is_set()

    def tell(self, value: object) -> None:
        """Something on the way to the result, for the signal ``progress``."""
        self._told(self, "progress", value)


class Worker(QObject):
    """Computes one thing at a time in a thread of its own, and tells it in the thread it lives in.

    ``start`` drops what is under way; each one ends in one ``done`` or one ``failed``, unless it is
    dropped first: after that nothing more is heard of it. Call ``stop`` before the worker is let go.
    """

    done = Signal(object)
    failed = Signal(str)
    """One sentence for the person."""
    progress = Signal(object)

    _arrived = Signal(object, str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._job: Job | None = None
        self._threads: ThreadPoolExecutor | None = None
        self._arrived.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a result is still to come."""
        return self._job is not None

    def start(self, compute: Compute) -> None:
        """Have ``compute`` called away from the drawing thread; EditError becomes ``failed``."""
        self.cancel()
        if self._threads is None:
            self._threads = ThreadPoolExecutor(1, thread_name_prefix="redesign")
        self._job = job = Job(compute, self._send)
        self._threads.submit(self._work, job)

    def cancel(self) -> None:
        """Drop what is under way; no signal comes for it any more."""
        if self._job is not None:
            self._job._gone.set()
            self._job = None

    def stop(self) -> None:
        """Drop what is under way and wait until no thread is left. ``start`` may be called again."""
        self.cancel()
        threads, self._threads = self._threads, None
        if threads is not None:
            threads.shutdown(wait=True, cancel_futures=True)

    def _work(self, job: Job) -> None:
        """In the thread of the pool."""
        try:
            result = job.compute(job)
        except CancelledError:
            return
        except (EditError, OverlayError) as error:
            self._send(job, "failed", str(error))
        except Exception:
            _log.exception("working out a redesign")
            self._send(job, "failed", "it could not be worked out: change the design a little")
        else:
            self._send(job, "done", result)

    def _send(self, job: Job, what: str, value: object) -> None:
        if job.gone():
            return
        try:
            self._arrived.emit(job, what, value)
        except RuntimeError:
            # The worker was destroyed meanwhile: nobody is left to be told.
            job._gone.set()

    def _tell(self, job: Job, what: str, value: object) -> None:
        """In the thread of this object."""
        if job is not self._job:
            return
        if what == "progress":
            self.progress.emit(value)
            return
        self._job = None
        if what == "done":
            self.done.emit(value)
        else:
            self.failed.emit(str(value))
