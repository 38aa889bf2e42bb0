"""The part of a PDF page that is looked at, drawn sharp beside the window and kept while it serves.

Nothing here waits but ``stop_pdf``. One thread draws for all pages, always what was wanted last:
what has been passed by while it drew is never begun.
"""

from __future__ import annotations

import logging
import math
import threading
import weakref
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtGui import QImage

from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.levels import Bytes, grey_pixels, greys_of
from app.scans.pdf_tone import PageTone
from app.scans.pdf_wire import DOTS_PER_INCH, POINTS_PER_INCH

if TYPE_CHECKING:
    from app.scans.pdf_file import PageSize, PdfFile

MOST_PATCH_PIXELS = 24_000_000
"""Most pixels of one sharp part; a larger one is drawn coarser."""
MOST_PATCH_BYTES = 128 << 20
"""Most memory of all sharp parts of all pages; the one drawn last always stays."""
QUICK_SECONDS = 0.7
_MARGIN = 0.15
"""So much of what is seen is drawn around it too, to pan into."""
# Nearer to the resolution wanted than this is as good: a wheel's finest step is coarser.
_AS_FINE = 0.01
_KEPT_PER_PAGE = 2
_PER_POINT = DOTS_PER_INCH / POINTS_PER_INCH
_log = logging.getLogger(__name__)

Part = tuple[float, float, float, float]
"""Left, top, right, bottom in the page's pixel coordinates."""
Pair = tuple[float, float]


@dataclass(frozen=True)
class Wish:
    """A part that is wanted; see ``Detail.patch_for``."""

    part: Part
    step: Pair
    anchor: Pair


@dataclass(frozen=True, eq=False)
class Patch:
    """A sharp part of a page.

    The left top corner of ``image`` lies at ``corner`` in the page's pixel coordinates, and each of its
    pixels is ``step`` of them wide and high. ``at_true_pixels``: these are the pixels of the picture that
    the page is, and there is nothing finer.
    """

    image: QImage
    corner: Pair
    step: Pair
    at_true_pixels: bool = False
    wish: Wish | None = None

    @property
    def part(self) -> Part:
        """What of the page it shows."""
        (u, v), (du, dv) = self.corner, self.step
        return u, v, u + du * self.image.width(), v + dv * self.image.height()

    def covers(self, part: Part) -> bool:
        """Whether all of ``part`` is in it, but for a hundredth of a pixel."""
        own = self.part
        return (
            own[0] <= part[0] + 0.01 and own[1] <= part[1] + 0.01
            and own[2] >= part[2] - 0.01 and own[3] >= part[3] - 0.01
        )

    def grey(self) -> Bytes:
        """Its pixels as greys 0 to 255, shape (height, width), a copy."""
        if self.image.format() == QImage.Format.Format_Grayscale8:
            return grey_pixels(self.image).copy()
        return greys_of(self.image)


class Detail:
    """Of one page: asked for sharp parts, which come later if they are not here yet.

    ``listen`` to hear, in a thread that is not the window's, that one has come; ``version`` counts them.
    ``pages`` is how many the file has. ``trouble`` is one sentence once a part could not be drawn: then
    the page stays coarse.
    """

    def __init__(
        self, file: PdfFile, page: int, size: PageSize, tone: PageTone, *, pages: int, colour: bool,
        seconds: float,
    ) -> None:
        """``seconds`` is how long the whole page took to draw."""
        self.version, self.trouble = 0, ""
        self.size, self.pages = size, pages
        self._file, self._page, self._tone, self._colour = file, page, tone, colour
        self._quick = size.picture is None and seconds < QUICK_SECONDS
        self._patches: tuple[Patch, ...] = ()
        self._wish: Wish | None = None
        self._listeners: list[Callable[[], None]] = []

    @property
    def memory_bytes(self) -> int:
        """What the sharp parts hold, in bytes."""
        return sum(patch.image.sizeInBytes() for patch in self._patches)

    @property
    def finest_step(self) -> Pair:
        """Pixel coordinates to one pixel of the page's own picture, (0, 0) where it is drawn by lines."""
        if self.size.picture is None:
            return 0.0, 0.0
        left, top, right, bottom, across, down = self.size.picture
        return (right - left) * _PER_POINT / across, (bottom - top) * _PER_POINT / down

    def listen(self, listener: Callable[[], None]) -> None:
        """Have ``listener`` called, in another thread, whenever a part has come."""
        self._listeners.append(listener)

    def patch_for(
        self, seen: Part, step: Pair, anchor: Pair = (0.0, 0.0), coarsest: float = 1.0
    ) -> Patch | None:
        """The best sharp part that is here for what is seen; a better one is wanted where there is none.

        ``step`` is the page's pixel coordinates to one pixel of the screen, across and down, and
        ``anchor`` any place of the page at a corner of such a pixel: drawn from there, each pixel of the
        part falls on one of the screen. ``coarsest`` is the step of the picture's own finest level. None
        where that does, or nothing is here yet. A page of lines that is quick to draw is drawn even
        then: its thin lines come out evenly, which they do not in a picture made smaller.
        """
        if min(step) >= coarsest and not self._quick:
            return None
        wish = Wish(self._within(seen), self._attainable(step), anchor)
        if wish.part[0] >= wish.part[2] or wish.part[1] >= wish.part[3]:
            return None
        for patch in reversed(self._patches):
            if _serves(patch, wish):
                return patch
        self._want(wish)
        near = [p for p in self._patches if max(p.step) < coarsest and _overlap(p.part, wish.part) > 0]
        return max(near, key=lambda p: _overlap(p.part, wish.part), default=None)

    def best_patch(self, part: Part) -> Patch | None:
        """The finest sharp part here that covers ``part``; None where only the coarse picture does.

        For whoever follows the ink: what is seen is here soon after it is looked at. ``want`` has it come.
        """
        whole = self._within(part)
        found = [patch for patch in self._patches if patch.covers(whole)]
        return min(found, key=lambda p: max(p.step), default=None)

    def want(self, part: Part, dpi: float = DOTS_PER_INCH) -> None:
        """Have a part drawn at so many dots per inch, if it is not here; ``listen`` tells when."""
        step = DOTS_PER_INCH / dpi
        wish = Wish(self._within(part), self._attainable((step, step)), (0.0, 0.0))
        if not any(p.covers(wish.part) and max(p.step) <= max(wish.step) * 1.01 for p in self._patches):
            self._want(wish)

    def forget(self) -> None:
        """Let go of every part."""
        self._patches = ()

    def _want(self, wish: Wish) -> None:
        if not self.trouble and wish != self._wish:
            self._wish = wish
            _drawer().draw(self)

    def _within(self, part: Part) -> Part:
        right, bottom = self._page_pixels
        return max(part[0], 0.0), max(part[1], 0.0), min(part[2], right), min(part[3], bottom)

    @property
    def _page_pixels(self) -> Pair:
        return self.size.width * _PER_POINT, self.size.height * _PER_POINT

    def _attainable(self, step: Pair) -> Pair:
        finest = self.finest_step
        return max(step[0], finest[0]), max(step[1], finest[1])

    def draw_wish(self, gone: Callable[[], bool]) -> bool:
        """In the thread that draws: see to what was wanted last; whether there was anything."""
        wish = self._wish
        if wish is None or self.trouble:
            return False
        try:
            patch = self._drawn(wish, lambda: gone() or self._passed_by(wish))
        except OpeningCancelledError:
            if self._wish is wish:
                # Whoever still wants it asks again.
                self._wish = None
            return not gone() and self._wish is not None
        except ScanError as error:
            self.trouble = str(error)
            _log.info("%s", error)
        except Exception as error:
            self.trouble = f"{self._file.label}: a part of the page could not be drawn sharp ({error})"
            _log.exception("drawing a part of %s", self._file.label)
        else:
            self._patches = (*self._patches[1 - _KEPT_PER_PAGE:], patch)
        if self._wish is wish:
            self._wish = None
        self.version += 1
        for listener in tuple(self._listeners):
            listener()
        return True

    def _passed_by(self, wish: Wish) -> bool:
        now = self._wish
        return now is not None and now is not wish and _overlap(now.part, wish.part) <= 0

    def _drawn(self, wish: Wish, gone: Callable[[], bool]) -> Patch:
        part = self._with_margin(wish)
        wide, high = part[2] - part[0], part[3] - part[1]
        step, anchor, true = wish.step, wish.anchor, False
        finest = self.finest_step
        if finest[0] and step[0] <= finest[0] * 1.001 and step[1] <= finest[1] * 1.001 and self.size.picture:
            step, true = finest, True
            anchor = (self.size.picture[0] * _PER_POINT, self.size.picture[1] * _PER_POINT)
        pixels = wide / step[0] * (high / step[1])
        if pixels > MOST_PATCH_PIXELS:
            coarser = math.sqrt(pixels / MOST_PATCH_PIXELS)
            step, true = (step[0] * coarser, step[1] * coarser), False
        # Single precision in the file must not add a line of nothing beside the picture's own pixels.
        spare = 0.02 if true else 1e-6
        first = [math.floor((part[i] - anchor[i]) / step[i] + spare) for i in (0, 1)]
        last = [math.ceil((part[i + 2] - anchor[i]) / step[i] - spare) for i in (0, 1)]
        corner = (anchor[0] + first[0] * step[0], anchor[1] + first[1] * step[1])
        image = self._file.draw(
            self._page, (_PER_POINT / step[0], _PER_POINT / step[1]),
            (corner[0] / step[0], corner[1] / step[1]),
            (max(1, last[0] - first[0]), max(1, last[1] - first[1])), colour=self._colour, cancelled=gone,
        )
        patch = Patch(image, corner, step, true, wish)
        own, (wide, high) = patch.part, self._page_pixels
        self._tone.apply(image, (own[0] / wide, own[1] / high, own[2] / wide, own[3] / high), max(step))
        return patch

    def _with_margin(self, wish: Wish) -> Part:
        left, top, right, bottom = wish.part
        du, dv = (right - left) * _MARGIN, (bottom - top) * _MARGIN
        du, dv = max(du, self._tone.reach), max(dv, self._tone.reach)
        return self._within((left - du, top - dv, right + du, bottom + dv))


def _serves(patch: Patch, wish: Wish) -> bool:
    if not patch.covers(wish.part):
        return False
    # What was drawn for this very wish is as good as it gets, whatever it came out as.
    if patch.wish == wish or (patch.at_true_pixels and max(patch.step) >= max(wish.step) * 0.99):
        return True
    for i in (0, 1):
        if abs(patch.step[i] / wish.step[i] - 1.0) > _AS_FINE:
            return False
        apart = (patch.corner[i] - wish.anchor[i]) / wish.step[i]
        if wish.anchor != (0.0, 0.0) and abs(apart - round(apart)) > 0.1:
            return False
    return True


def _overlap(one: Part, other: Part) -> float:
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide * high if wide > 0 and high > 0 else 0.0


class _Drawer:
    """The thread that draws. It holds no page: one that is let go is not drawn any more."""

    def __init__(self) -> None:
        self._waiting: list[weakref.ref[Detail]] = []
        self._drawn: list[weakref.ref[Detail]] = []
        self._news = threading.Condition()
        self._ended = False
        self._thread = threading.Thread(target=self._work, name="pdf-detail", daemon=True)
        self._thread.start()

    def draw(self, detail: Detail) -> None:
        with self._news:
            self._waiting = [r for r in self._waiting if r() not in (None, detail)] + [weakref.ref(detail)]
            self._news.notify()

    def end(self) -> None:
        with self._news:
            self._ended = True
            self._news.notify()

    def join(self) -> None:
        self._thread.join()

    def _work(self) -> None:
        while True:
            with self._news:
                while not self._waiting and not self._ended:
                    self._news.wait()
                if self._ended:
                    return
                waiting = self._waiting.pop()
            self._see_to(waiting)

    def _see_to(self, waiting: weakref.ref[Detail]) -> None:
        detail = waiting()
        if detail is None:
            return
        while detail.draw_wish(lambda: self._ended) and not self._ended:
            self._drawn = [r for r in self._drawn if r() not in (None, detail)] + [waiting]
            self._keep_bounds()

    def _keep_bounds(self) -> None:
        details = [d for r in self._drawn if (d := r()) is not None]
        while len(details) > 1 and sum(d.memory_bytes for d in details) > MOST_PATCH_BYTES:
            details.pop(0).forget()


_the_drawer: list[_Drawer] = []
_making = threading.Lock()


def _drawer() -> _Drawer:
    with _making:
        if not _the_drawer:
            _the_drawer.append(_Drawer())
        return _the_drawer[0]


def stop_pdf() -> None:
    """End the thread that draws and the process that reads; a page that is wanted later begins them anew."""
    from app.scans.pdf_reader import stop_shared_reader

    with _making:
        ending = list(_the_drawer)
        _the_drawer.clear()
    for drawer in ending:
        drawer.end()
    stop_shared_reader()
    for drawer in ending:
        drawer.join()
