"""Lifting the picture libraries' own size limits for as long as one picture needs it.

Both libraries keep their limit in one place for the whole process. Several threads may need it
lifted at once, so the first to come lifts it and the last to go puts the old limit back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock

from PySide6.QtGui import QImageReader

MOST_PIXELS = 400_000_000
"""Most pixels of a scan: A0 paper at 500 dpi has 387 million."""
MOST_SIDE = 65_500
"""Longest side of a scan in pixels: what the JPEG format can hold."""
MOST_DECODED_BYTES = 1 << 30
"""Most memory that a picture may need while it is decoded."""
MOST_SECONDS = 60.0
"""Longest that opening one picture may take; the biggest allowed take a few seconds."""
MOST_JPEG_PASSES = 100
"""Most passes of a JPEG; a progressive one has about ten. Each costs time by the picture's whole size."""
BIG_PIXELS = 50_000_000
"""Pictures from this size on are opened one at a time, so that the peak of memory is that of one."""

_big_one = Lock()


@contextmanager
def one_big_at_a_time(pixels: int, wait: Callable[[], None]) -> Iterator[None]:
    """Hold the turn for a big picture; ``wait`` is called until it comes, and may raise to give up."""
    if pixels < BIG_PIXELS:
        yield
        return
    while not _big_one.acquire(blocking=False):
        wait()
    try:
        yield
    finally:
        _big_one.release()


class _Guard:
    def __init__(
        self, get: Callable[[], int | None], put: Callable[[int | None], None], lifted: int | None
    ) -> None:
        self._get, self._put, self._lifted = get, put, lifted
        self._lock, self._users = Lock(), 0
        self._before: int | None = None

    @contextmanager
    def lift(self) -> Iterator[None]:
        with self._lock:
            if self._users == 0:
                self._before = self._get()
                self._put(self._lifted)
            self._users += 1
        try:
            yield
        finally:
            with self._lock:
                self._users -= 1
                if self._users == 0:
                    self._put(self._before)


def _pillow_limit() -> int | None:
    from PIL import Image

    return Image.MAX_IMAGE_PIXELS


def _set_pillow_limit(pixels: int | None) -> None:
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = pixels


def _set_qt_limit(megabytes: int | None) -> None:
    QImageReader.setAllocationLimit(megabytes or 0)


# Qt reckons four bytes for every pixel, whatever the depth.
_QT_MEGABYTES = 4 * MOST_PIXELS // (1 << 20) + 1

pillow_guard = _Guard(_pillow_limit, _set_pillow_limit, None)
qt_guard = _Guard(QImageReader.allocationLimit, _set_qt_limit, _QT_MEGABYTES)
