"""How far a decoder is, and stopping it: when it is told to, and when it takes too long."""

from __future__ import annotations

import io
import time
from collections.abc import Callable

from app.scans.faults import OpeningCancelledError
from app.scans.guards import MOST_SECONDS

DECODED = 0.75
"""The part of the whole time, measured on grey PNG and JPEG of 140 megapixels."""


class Watch:
    """Turns what the decoder does into progress, and stops it when it is told to."""

    def __init__(
        self, size: int, progress: Callable[[float], None] | None, cancelled: Callable[[], bool] | None
    ) -> None:
        self._size, self._progress, self.cancelled = max(size, 1), progress, cancelled
        self._told = 0.0
        self._ends = time.monotonic() + MOST_SECONDS
        self.decoding = False
        self.follower: Callable[[], None] | None = None

    def tell(self, done: float) -> None:
        """So much is done, 0 to 1. Raises OpeningCancelledError, or TimeoutError after MOST_SECONDS."""
        if self.cancelled is not None and self.cancelled():
            raise OpeningCancelledError
        if time.monotonic() > self._ends:
            raise TimeoutError
        if self._progress is not None and (done - self._told >= 0.01 or done >= 1.0 > self._told):
            self._told = done
            self._progress(min(done, 1.0))

    def wait(self) -> None:
        """Nothing is done while others have their turn: that time does not count."""
        self._ends += 0.02
        self.tell(0.0)
        time.sleep(0.02)

    def has_read(self, position: int) -> None:
        """The decoder asks for the bytes from ``position`` on."""
        if self.follower is not None:
            self.follower()
        # Reading the header may jump to the end of the file: that is no progress.
        self.tell(DECODED * min(position / self._size, 1.0) if self.decoding else 0.0)

    def part(self, first: float, last: float) -> Callable[[float], None]:
        """A ``tell`` for a step that makes up the part from ``first`` to ``last``."""
        return lambda done: self.tell(first + (last - first) * done)


class WatchedBytes(io.BytesIO):
    """A file whose every reading the watch hears of."""

    def __init__(self, data: bytes, watch: Watch) -> None:
        super().__init__(data)
        self.watch = watch

    def read(self, size: int | None = -1, /) -> bytes:  # noqa: D102
        self.watch.has_read(self.tell())
        return super().read(size)
