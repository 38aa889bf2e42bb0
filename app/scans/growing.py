"""Level 0 decoded straight into place, and the coarser levels growing behind it as its rows come.

Pillow would hold a picture of its own beside level 0. Given ours as its memory it does not, and what
has been decoded so far can be shown while the rest is still to come.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from PySide6.QtGui import QImage

from app.scans.levels import SMALLEST_LEVEL, blank, grey_pixels, halve_rows, strips
from app.scans.picture import Picture

if TYPE_CHECKING:
    from PIL import Image

COARSE_INDEX = 3
"""The level that is shown while the rest is decoded: one pixel for eight by eight."""
SECONDS_BETWEEN = 0.3
_MARK = np.frombuffer(b"\x5a\xc3\x17\xe8\x99\x04\xd2\x6b", np.uint8)
_MARKED_EVERY = 16
_ROWS_AT_ONCE = 256


class Growing:
    """A grey pyramid whose level 0 is written by somebody else, from the top down."""

    def __init__(self, level_0: QImage) -> None:
        """``level_0`` is Format_Grayscale8. MemoryError where there is no room for the levels."""
        self.levels = [level_0]
        while max(self.levels[-1].width(), self.levels[-1].height()) > SMALLEST_LEVEL:
            width, height = self.levels[-1].width(), self.levels[-1].height()
            self.levels.append(blank((width + 1) // 2, (height + 1) // 2, colour=False))
            if len(self.levels) > COARSE_INDEX:
                self.levels[-1].fill(255)
        self._ready = [0] * len(self.levels)

    def grow(self, rows: int, step: Callable[[float], None] | None = None) -> None:
        """The first ``rows`` rows of level 0 are written: bring the coarser levels as far as that reaches."""
        self._ready[0] = rows
        for k in range(1, len(self.levels)):
            fine, coarse, first = self.levels[k - 1], self.levels[k], self._ready[k]
            pairs = self._ready[k - 1] // 2
            for low, high in strips(pairs - first, 2 * fine.width()):
                upper = slice(2 * (first + low), 2 * (first + high), 2)
                halve_rows(fine, coarse, upper, slice(upper.start + 1, upper.stop, 2), first + low)
                if step is not None:
                    step(1 - 4.0 ** (1 - k) + 0.75 * 4.0 ** (1 - k) * (first + high) / coarse.height())
            self._ready[k] = max(pairs, first)
            if fine.height() % 2 and self._ready[k - 1] == fine.height() and self._ready[k] < coarse.height():
                last = slice(fine.height() - 1, fine.height())
                halve_rows(fine, coarse, last, last, coarse.height() - 1)
                self._ready[k] = coarse.height()

    def so_far(self) -> Picture | None:
        """What can be shown now, in copies; white where nothing is yet. None for a small picture."""
        if len(self.levels) <= COARSE_INDEX:
            return None
        copies = tuple(level.copy() for level in self.levels[COARSE_INDEX:])
        return Picture(copies, self.levels[0].width(), self.levels[0].height(), shrunk=1 << COARSE_INDEX)


class Marks:
    """Finds out how far rows are written from the top: each sixteenth begins with a mark until it is."""

    def __init__(self, level_0: QImage) -> None:
        self._rows = grey_pixels(level_0)
        self._next = _MARKED_EVERY - 1
        self._usable = level_0.width() >= len(_MARK)
        if self._usable:
            self._rows[self._next :: _MARKED_EVERY, : len(_MARK)] = _MARK

    def written(self) -> int:
        """How many rows are surely written by now, at least."""
        height = len(self._rows)
        while self._usable and self._next < height:
            if (self._rows[self._next, : len(_MARK)] == _MARK).all():
                break
            self._next += _MARKED_EVERY
        # The row of the last mark that is gone may itself be half written.
        return max(min(self._next, height) - _MARKED_EVERY, 0)


class Follower:
    """Grows the levels behind the decoder and shows them now and then; call it often."""

    def __init__(self, level_0: QImage, show: Callable[[Picture], None] | None) -> None:
        self.growing = Growing(level_0)
        self._marks, self._show = Marks(level_0), show
        self._rows, self._shown_at = 0, time.monotonic()

    def __call__(self) -> None:
        """See how far the rows have come."""
        rows = self._marks.written() & ~15
        if rows - self._rows >= _ROWS_AT_ONCE:
            self._rows = rows
            self.growing.grow(rows)
        if self._show is not None and self._rows and time.monotonic() - self._shown_at >= SECONDS_BETWEEN:
            found = self.growing.so_far()
            if found is not None:
                self._show(found)
            self._shown_at = time.monotonic()


def lend_memory(image: Image.Image, level_0: QImage) -> object:
    """Have ``image``, opened by Pillow and not decoded yet, decoded into ``level_0``, of its size, mode L.

    The pixels lie there only if ``image.im`` is still what is returned when it has been loaded: a
    plugin is free to turn or replace its picture. ``level_0`` must outlive ``image``.
    """
    from PIL import Image

    memory: Any = level_0.bits()
    lent = Image.frombuffer("L", image.size, memory, "raw", "L", level_0.bytesPerLine(), 1)
    image.im = lent.im
    return lent.im
