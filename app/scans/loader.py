"""Opening scans beside the window: nothing here waits, but ``stop``."""

from __future__ import annotations

import logging
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import PurePath
from threading import Event

from PySide6.QtCore import QObject, Qt, Signal

from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.opening import open_picture
from app.scans.tone import AS_IT_IS
from core.design import Tone

_AT_ONCE = 2
_log = logging.getLogger(__name__)


@dataclass(frozen=True, eq=False)
class _Job:
    key: Hashable
    data: bytes
    name: str
    page: int
    tone: Tone
    gone: Event = field(default_factory=Event)


class ScanLoader(QObject):
    """Opens scans in threads of its own and tells the outcome in the thread it lives in.

    Each ``start`` ends in one ``ready`` or one ``failed`` for its key, unless it is cancelled or
    started anew first; after that nothing more is heard of it. Call ``stop`` before the program ends.
    """

    preview = Signal(object, object)
    """(key, Picture): a coarse first picture on the way to ``ready``; of big scans, and maybe several."""
    ready = Signal(object, object)
    """(key, Picture)"""
    failed = Signal(object, str)
    """(key, one sentence for the user)"""
    progress = Signal(object, float)
    """(key, part done, 0 to 1)"""

    _arrived = Signal(object, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._jobs: dict[Hashable, _Job] = {}
        self._threads: ThreadPoolExecutor | None = None
        self._arrived.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    def start(
        self, key: Hashable, data: bytes, name: str, page: int = 0, tone: Tone = AS_IT_IS
    ) -> None:
        """Open ``data``, the content of the file ``name``, under ``key``; an earlier start is dropped."""
        self.cancel(key)
        if self._threads is None:
            self._threads = ThreadPoolExecutor(_AT_ONCE, thread_name_prefix="scan")
        self._jobs[key] = job = _Job(key, data, name, page, tone)
        self._threads.submit(self._work, job)

    def cancel(self, key: Hashable) -> None:
        """Drop the opening under ``key``, if there is one; no signal comes for it any more."""
        job = self._jobs.pop(key, None)
        if job is not None:
            job.gone.set()

    def is_loading(self, key: Hashable) -> bool:
        """Whether an opening under ``key`` is under way."""
        return key in self._jobs

    def stop(self) -> None:
        """Drop every opening and wait until no thread is left. ``start`` may be called again."""
        for key in tuple(self._jobs):
            self.cancel(key)
        threads, self._threads = self._threads, None
        if threads is not None:
            threads.shutdown(wait=True, cancel_futures=True)

    def _work(self, job: _Job) -> None:
        """In a thread of the pool."""
        try:
            picture = open_picture(
                job.data,
                job.name,
                page=job.page,
                tone=job.tone,
                preview=lambda coarse: self._send(job, "preview", coarse),
                progress=lambda done: self._send(job, "progress", done),
                cancelled=job.gone.is_set,
            )
            self._send(job, "ready", picture)
        except OpeningCancelledError:
            return
        except ScanError as error:
            self._send(job, "failed", str(error))
        except Exception:
            _log.exception("opening %s", job.name)
            name = PurePath(job.name).name
            self._send(job, "failed", f"{name}: the picture could not be opened; save it anew and try that.")

    def _send(self, job: _Job, what: str, value: object) -> None:
        if job.gone.is_set():
            return
        try:
            self._arrived.emit(job, what, value)
        except RuntimeError:
            # The loader was destroyed meanwhile: nobody is left to be told.
            job.gone.set()

    def _tell(self, job: _Job, what: str, value: object) -> None:
        """In the thread of this object."""
        if self._jobs.get(job.key) is not job:
            return
        if what in ("ready", "failed"):
            del self._jobs[job.key]
        signals: dict[str, Callable[[Hashable, object], None]] = {
            "preview": self.preview.emit,
            "ready": self.ready.emit,
            "failed": self.failed.emit,
            "progress": self.progress.emit,
        }
        signals[what](job.key, value)
