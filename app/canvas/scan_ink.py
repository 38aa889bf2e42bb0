"""The ink on the scans, for the hands: trails while the mouse moves; fits and shapes beside the window.

A trail is sought on pixels about as fine as the screen's, a few milliseconds at a time, so that the
window never stands still; what was clicked is centred on the scan's own pixels, by a worker.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from time import perf_counter
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QObject, QTimer, Signal

from app.canvas.ink_fit import (
    COARSEST_WAY_MM,
    NO_LINE,
    NO_SCAN,
    SPAN_PX,
    Ground,
    around,
    fit_all,
    ground_of,
)
from app.canvas.ink_pull import fit_round, pull_round
from app.canvas.ink_whole import whole_within
from app.canvas.tools.inking import (
    Fit,
    Fitted,
    Found,
    Round,
    Rounded,
    Stretch,
    Trail,
    Whole,
    WholeFound,
)
from app.canvas.view import View
from app.kit.worker import Worker
from app.scans.ink_window import Box, InkWindow, ink_window, scan_under
from app.scans.picture import Picture
from app.scans.shapes import shape_around
from core.design import Design, Outline, Scan
from core.ink.following import Follower
from core.ink.pulling import Pull
from core.ink.snapping import nearest_ink

Floats = NDArray[np.float64]
Point = tuple[float, float]

CHUNK_S = 0.002
"""After so long the search for a trail lets mouse and painting have their turn; it is asked now and then."""
_FINEST_MM = 0.05
_COARSEST_MM = 0.3
"""A drawn line is hardly thinner: on coarser pixels it fades away."""
_LEAST_REACH_DEVICE = 170.0
_SHAPE_DEVICE = 300.0
_FAINT = 0.6
"""A way whose ink is lighter than this, as a part of that at its start, is doubted."""
_BARE_MM, _BARE_PART = 5.0, 0.3
"""As is one that runs over paper for so long and for such a part of it in one piece."""
_ROUND_MM, _ROUND = 25.0, 4.0
"""And one so much longer, and so many times as long, as it is straight."""
_BESIDE_MM, _BESIDE_LEAST_MM = 4.5, 12.0
"""And one that another line runs along so near and so far: a hinge, sheeting, a line drawn twice."""
_HARDLY = "there is hardly a line here"
_ROUNDABOUT = "this is a long way round"
_SECOND = "a second line runs close beside this one"


@dataclass(eq=False)
class _Search:
    """A search from one start over one window."""

    scan: Scan
    fineness: tuple[int, int]
    start: Point
    window: InkWindow
    follower: Follower
    goal: Point | None = None
    path: Floats | None = None
    """mm, from ``start`` to ``goal``."""


class Looking(Protocol):
    """What shows the scans."""

    view: View

    @property
    def design(self) -> Design:
        """The design as shown."""

    def devicePixelRatioF(self) -> float:
        """Pixels of the screen's own to a logical one."""


class ScanInk(QObject):
    """The ``InkService`` of the window."""

    ready = Signal()
    """More of a trail is known than the last answer told."""

    def __init__(
        self, canvas: Looking, picture_of: Callable[[Scan], Picture | None], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._canvas, self._picture_of = canvas, picture_of
        self._search: _Search | None = None
        self._near: tuple[Scan, tuple[int, int], InkWindow] | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._look_on)
        self._wanted: tuple[Point, Point] | None = None
        self._told: tuple[tuple[Point, Point], Trail | str] | None = None
        self._worker = Worker(self, "ink-fit")
        self._worker.done.connect(self._worked_out)
        self._worker.failed.connect(self._worked_out)
        self._asker: Callable[[Any], None] | None = None

    def _device_mm(self) -> float:
        """How many mm a pixel of the screen's own covers now."""
        return 1.0 / (self._canvas.view.scale * self._canvas.devicePixelRatioF())

    def _scans(self) -> tuple[Scan, ...]:
        return self._canvas.design.scans

    # Trails

    def trail(self, start: Point, goal: Point) -> Trail | str | None:
        """See ``InkService.trail``. A little further than before is mostly known in one short go.

        What takes longer is looked for when the frame of this move is painted.
        """
        ends = (start, goal)
        if self._told is not None and self._told[0] == ends:
            return self._told[1]
        fresh = self._wanted != ends
        self._wanted = ends
        if fresh and self._search is not None and self._search.start == start:
            self._look(only_known=True)
            if self._wanted is None and self._told is not None:
                return self._told[1]
        if not self._soon.isActive():
            self._soon.start()
        return None

    def _look_on(self) -> None:
        if self._wanted is None:
            return
        self._look(only_known=False)
        if self._wanted is None:
            self.ready.emit()
        else:
            self._soon.start()

    def _look(self, *, only_known: bool) -> None:
        """Look for what is wanted, a short while; ``only_known``: only in the window that there is."""
        if self._wanted is None:
            return
        start, goal = self._wanted
        search = self._searching(start, goal, only_known=only_known)
        if search is None:
            return
        found = search if isinstance(search, str) else self._way(search, goal, CHUNK_S)
        if found is None:
            return
        told: Trail | str
        if isinstance(found, str) or isinstance(search, str):
            told = str(found)
        else:
            told = Trail(tuple((float(x), float(z)) for x, z in found), _doubt(search, found))
        self._told, self._wanted = (self._wanted, told), None

    def _way(self, search: _Search, goal: Point, seconds: float) -> Floats | str | None:
        """mm along the ink; why there is none; None where the time did not suffice."""
        if search.goal == goal and search.path is not None:
            return search.path
        until, late = perf_counter() + seconds, False

        def gone() -> bool:
            nonlocal late
            late = perf_counter() > until
            return late

        (at,) = search.window.px([goal])
        found = search.follower.to((float(at[0]), float(at[1])), gone=gone)
        if found is None:
            return None if late else NO_LINE
        search.goal, search.path = goal, search.window.mm(found)
        return search.path

    def _searching(self, start: Point, goal: Point, *, only_known: bool = False) -> _Search | str | None:
        """The search from ``start``; why there is none; None where it had to be begun and must not."""
        search, device = self._search, self._device_mm()
        here = scan_under(self._scans(), self._picture_of, (start, goal))
        if here is None:
            self._search = None
            return NO_SCAN
        scan, picture = here
        wanted_mm = min(max(0.7 * device, _FINEST_MM), _COARSEST_MM)
        wanted_mm = max(wanted_mm, min(math.dist(start, goal) / SPAN_PX, COARSEST_WAY_MM))
        if (
            search is not None and search.start == start and search.scan is scan
            and search.fineness == _fineness(picture) and search.window.holds([goal], 8.0)
            # Zoomed in or out by more than a level or so the screen asks for other pixels.
            and 0.3 < search.window.mm_per_px / wanted_mm < 2.5
        ):
            return search
        if only_known:
            return None
        reach = max(_LEAST_REACH_DEVICE * device, 0.75 * math.dist(start, goal))
        box = around((start, goal), reach)
        window = ink_window(scan, picture, box, wanted_mm, at=start)
        if window is None:
            return NO_SCAN
        follower = Follower(window.grey)
        (at,) = window.px([start])
        follower.begin((float(at[0]), float(at[1])))
        self._search = _Search(scan, _fineness(picture), start, window, follower)
        return self._search

    # Shapes

    def region(self, x: float, z: float, gap: float, found: Found) -> None:
        """See ``InkService.region``. Looked for beside the drawing thread, first in what is seen around."""
        self.cancel()
        here = scan_under(self._scans(), self._picture_of, ((x, z),))
        if here is None:
            found(NO_SCAN)
            return
        scan, picture = here
        self._asker = found
        reach = _SHAPE_DEVICE * self._device_mm()
        self._worker.start(partial(shape_around, scan, picture, (x, z), gap, reach))

    def whole(self, loop: Sequence[Point], gap: float, found: WholeFound) -> None:
        """See ``InkService.whole``. Looked for beside the drawing thread.

        A loop may run past the edge of the scan that lies in its middle.
        """
        self.cancel()
        low_x, low_z, high_x, high_z = around(loop, 0.0)
        middle = ((low_x + high_x) / 2, (low_z + high_z) / 2)
        here = scan_under(self._scans(), self._picture_of, (middle,))
        if here is None:
            found(Whole((), NO_SCAN))
            return
        # What cannot be worked out is told as a clause.
        self._asker = lambda told: found(told if isinstance(told, Whole) else Whole((), str(told)))
        self._worker.start(partial(whole_within, *here, tuple(loop), gap))

    def cancel(self) -> None:
        """See ``InkService.cancel``."""
        self._worker.cancel()
        self._asker = None

    def stop(self) -> None:
        """Drop what is looked for and wait until no thread is left; call it before the window goes."""
        self._soon.stop()
        self.cancel()
        self._worker.stop()

    def _worked_out(self, result: object) -> None:
        asker, self._asker = self._asker, None
        if asker is not None:
            asker(result)
            self.ready.emit()

    # Fits

    def fit(self, stretches: Sequence[Stretch], fitted: Fitted) -> None:
        """See ``InkService.fit``. Centred and fitted beside the drawing thread."""
        self.cancel()
        self._asker = fitted
        self._worker.start(partial(fit_all, ground_of(self._scans(), self._picture_of), tuple(stretches)))

    def fit_now(self, stretches: Sequence[Stretch]) -> Sequence[Fit] | str:
        """See ``InkService.fit_now``. A page of a PDF is taken as sharp as it is by now."""
        self.cancel()
        return fit_all(ground_of(self._scans(), self._picture_of, 0.0), stretches, _Waiting())

    # Once round

    def ground(self, patience_s: float = 2.5) -> Ground:
        """The scans of now, for another thread, and their pictures as they come."""
        return Ground(self._scans(), self._picture_of, patience_s)

    def _others(self) -> tuple[Outline, ...]:
        """The outlines whose edges a new one may share."""
        return tuple(outline for outline in self._canvas.design.outlines if not outline.hidden)

    def lies_under(self, x: float, z: float) -> bool:
        """See ``InkService.lies_under``."""
        return scan_under(self._scans(), self._picture_of, ((x, z),)) is not None

    def once_round(self, line: Sequence[Point], found: Round) -> None:
        """See ``InkService.once_round``. Pulled and fitted beside the drawing thread."""
        self.cancel()
        self._asker = found
        self._worker.start(partial(pull_round, self.ground(), self._others(), tuple(line)))

    def fit_round(self, pull: Pull, found: Round) -> None:
        """See ``InkService.fit_round``."""
        self.cancel()
        self._asker = found
        self._worker.start(partial(fit_round, self._others(), pull))

    def round_now(self, line: Sequence[Point] | Pull) -> Rounded | str:
        """See ``InkService.round_now``."""
        self.cancel()
        if isinstance(line, Pull):
            return fit_round(self._others(), line, _Waiting())
        return pull_round(self.ground(0.0), self._others(), tuple(line), _Waiting())

    # Snapping

    def nearest(self, x: float, z: float, reach: float) -> Point | None:
        """See ``InkService.nearest``."""
        here = scan_under(self._scans(), self._picture_of, ((x, z),))
        if here is None:
            return None
        scan, picture = here
        device, fineness = self._device_mm(), _fineness(picture)
        wanted_mm = min(max(0.6 * device, _FINEST_MM), _COARSEST_MM)
        near = self._near
        if not (
            near is not None and near[0] is scan and near[1] == fineness
            and _inside(around(((x, z),), 2.0 * reach), near[2].box)
            and 0.3 < near[2].mm_per_px / wanted_mm < 2.5
        ):
            window = ink_window(scan, picture, around(((x, z),), 6.0 * reach), wanted_mm, at=(x, z))
            if window is None:
                return None
            self._near = near = (scan, fineness, window)
        window = near[2]
        (at,) = window.px([(x, z)])
        found = nearest_ink(window.grey, (float(at[0]), float(at[1])), reach / window.mm_per_px)
        if found is None:
            return None
        (mm,) = window.mm([found])
        return float(mm[0]), float(mm[1])


class _Waiting:
    """Somebody who waits until it is there."""

    def gone(self) -> bool:
        return False


def _fineness(picture: Picture) -> tuple[int, int]:
    """What changes when finer pixels of a picture have come."""
    return picture.shrunk, picture.detail.version if picture.detail is not None else 0


def _doubt(search: _Search, path: Floats) -> str:
    """Why a trail is not to be trusted, as a clause; empty where it is."""
    length = float(np.hypot(*np.diff(path, axis=0).T).sum())
    straight = math.dist(path[0], path[-1])
    bare = search.follower.bare_px * search.window.mm_per_px
    if search.follower.held < _FAINT or bare > max(_BARE_MM, _BARE_PART * length):
        return _HARDLY
    if length > _ROUND * straight + _ROUND_MM:
        return _ROUNDABOUT
    mm = search.window.mm_per_px
    return _SECOND if search.follower.beside_px(_BESIDE_MM / mm) * mm > _BESIDE_LEAST_MM else ""


def _inside(inner: Box, outer: Box) -> bool:
    return (
        inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]
    )
