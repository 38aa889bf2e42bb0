"""What takes too long for the drawing thread is worked out beside it."""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event, Lock

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, Signal

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
    _bound: Event = field(default_factory=Event)
    _deciding: Lock = field(default_factory=Lock)

    @classmethod
    def alone(cls) -> Job:
        """One that nobody takes back and nobody listens to."""
        return cls(lambda _: None, lambda *_: None)

    def gone(self) -> bool:
        """Whether nobody wants the result any more: raise ``CancelledError``, or return anything."""
        return self._gone.is_set()

    def look(self) -> None:
        """CancelledError where nobody wants the result any more."""
        if self._gone.is_set():
            raise CancelledError

    def carry_through(self) -> None:
        """From here on it cannot be taken back. CancelledError where nobody wants it any more."""
        with self._deciding:
            if self._gone.is_set():
                raise CancelledError
            self._bound.set()

    def drop(self) -> bool:
        """Nobody wants it any more; whether that comes before it is carried through."""
        with self._deciding:
            if not self._bound.is_set():
                self._gone.set()
            return self._gone.is_set()

    def tell(self, value: object) -> None:
        """Something on the way to the result, for the signal ``progress``."""
        self._told(self, "progress", value)


class Worker(QObject):
    """Computes one thing at a time in a thread of its own, and tells it in the thread it lives in.

    ``start`` drops what is under way, and what waits behind it: however often it is called, no more than
    one computation is under way and one, the newest, waits. Each one ends in one ``done`` or one
    ``failed``, unless it is dropped first: after that nothing more is heard of it. Call ``stop`` before
    the worker is let go.
    """

    done = Signal(object)
    failed = Signal(str)
    """One sentence for the person."""
    progress = Signal(object)

    _arrived = Signal(object, str, object)

    def __init__(self, parent: QObject | None, name: str) -> None:
        """``name`` is that of the thread: a window that leaves one behind is found by it."""
        super().__init__(parent)
        self._name = name
        self._job: Job | None = None
        self._threads: ThreadPoolExecutor | None = None
        self._taking = Lock()
        self._waiting: Job | None = None
        self._running = False
        """Whether the thread will look once more for what waits."""
        self._arrived.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a result is still to come."""
        return self._job is not None

    def start(self, compute: Compute) -> None:
        """Have ``compute`` called away from the drawing thread; EditError becomes ``failed``."""
        self.cancel()
        if self._threads is None:
            self._threads = ThreadPoolExecutor(1, thread_name_prefix=self._name)
        self._job = job = Job(compute, self._send)
        with self._taking:
            self._waiting, running, self._running = job, self._running, True
        if not running:
            self._threads.submit(self._run)

    def cancel(self) -> None:
        """Drop what is under way; no signal comes for it any more."""
        if self._job is not None:
            self._job._gone.set()
            self._job = None

    def take_back(self) -> bool:
        """Drop what is under way unless it is being carried through; whether nothing will come of it."""
        if self._job is not None and not self._job.drop():
            return False
        self._job = None
        return True

    def stop(self) -> None:
        """Drop what is under way and wait until no thread is left. ``start`` may be called again."""
        self.cancel()
        threads, self._threads = self._threads, None
        if threads is not None:
            threads.shutdown(wait=True)

    def finish(self) -> bool:
        """``stop``, but what is being carried through is waited for and told; whether there was such."""
        if self.take_back() or self._threads is None:
            self.stop()
            return False
        self._threads.shutdown(wait=True)
        QCoreApplication.sendPostedEvents(self, QEvent.Type.MetaCall)
        self.stop()
        return True

    def _run(self) -> None:
        """In the thread of the pool: what waits, until nothing does."""
        while True:
            with self._taking:
                job, self._waiting = self._waiting, None
                if job is None:
                    self._running = False
                    return
            if not job.gone():
                self._work(job)

    def _work(self, job: Job) -> None:
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
