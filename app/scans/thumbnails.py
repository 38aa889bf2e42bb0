"""Which pages a file has, how large they are and what they look like, found out beside the window."""

from __future__ import annotations

import logging
import threading
from collections.abc import Sequence

from PySide6.QtCore import QObject, Signal

from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.pages import Pages

_log = logging.getLogger(__name__)


class Thumbnails(QObject):
    """Looks at one file, page by page, in a thread of its own; the signals come in the thread it lives in.

    One ``counted`` or one ``failed`` comes first. Then, for each page that is wanted, ``sized`` and
    ``drawn``, or ``refused``. Call ``stop`` before it is let go.
    """

    counted = Signal(object)
    """The numbers of the pages, from 0."""
    failed = Signal(str)
    """One sentence."""
    sized = Signal(int, object)
    """(page from 0, Extent)"""
    drawn = Signal(int, object)
    """(page, QImage in RGB32)"""
    refused = Signal(int, str)
    """(page, one sentence)"""

    def __init__(self, pages: Pages, pixels: int, parent: QObject | None = None) -> None:
        """``pixels`` is the longer side of a thumbnail."""
        super().__init__(parent)
        self.pages, self._pixels = pages, pixels
        self._wanted: list[int] = []
        self._seen: set[int] = set()
        self._news = threading.Condition()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._work, name="thumbnails", daemon=True)

    def start(self) -> None:
        """Begin, once whoever wants to hear is connected."""
        self._thread.start()

    def want(self, pages: Sequence[int]) -> None:
        """Have these pages looked at, in this order, instead of what was wanted before."""
        with self._news:
            self._wanted = list(pages)
            self._news.notify()

    @property
    def is_over(self) -> bool:
        """Whether the thread has ended: then it may be let go."""
        return not self._thread.is_alive()

    def leave_off(self) -> None:
        """Leave off as soon as may be, without waiting for it."""
        self._ended.set()
        with self._news:
            self._news.notify()

    def stop(self) -> None:
        """Leave off, and wait until the thread has ended."""
        self.leave_off()
        if self._thread.ident is not None:
            self._thread.join()

    def _work(self) -> None:
        try:
            self._look()
        except (OpeningCancelledError, RuntimeError):
            # Stopped, or destroyed without it: nobody is left to be told.
            return
        except Exception:
            _log.exception("looking at the pages of %s", self.pages.label)

    def _look(self) -> None:
        try:
            self.counted.emit(self.pages.numbers(self._ended.is_set))
        except ScanError as error:
            self.failed.emit(str(error))
            return
        while True:
            with self._news:
                while not self._ended.is_set() and not self._left():
                    self._news.wait()
                if self._ended.is_set():
                    return
                page = self._left()[0]
                self._seen.add(page)
            self._look_at(page)

    def _left(self) -> list[int]:
        return [page for page in self._wanted if page not in self._seen]

    def _look_at(self, page: int) -> None:
        gone = self._ended.is_set
        try:
            self.sized.emit(page, self.pages.extent(page, gone))
            image = self.pages.drawn(page, self._pixels, gone)
        except ScanError as error:
            self.refused.emit(page, str(error))
        else:
            self.drawn.emit(page, image)
