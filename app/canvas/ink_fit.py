"""Followed ink made into nodes: found where it still has to be, centred on the scan's own pixels, fitted.

For a worker's thread: everything it looks at is handed in, and it asks whether anybody waits still.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import monotonic, sleep
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from app.canvas.tools.inking import Fit, NoWay, Point, Stretch, Way
from app.scans.ink_window import Box, InkWindow, ink_window, scan_under, want_sharp
from app.scans.picture import Picture
from app.scans.shapes import TOLERANCE_MM
from core.design import Node, Scan
from core.ink.centring import centred
from core.ink.ends import ended
from core.ink.fitting import closed_joints, nodes_along
from core.ink.following import Follower
from core.redesign.refit import CancelledError

Floats = NDArray[np.float64]

FIT_MM = 0.09
"""A line is centred on pixels of about 300 dpi: finer ones cost four times as long and tell no more."""
COARSEST_WAY_MM = 0.6
SPAN_PX = 380.0
"""A longer way is sought on coarser pixels, up to ``COARSEST_WAY_MM``: it would take too long."""
NO_SCAN = "no scan that is shown lies here"
NO_LINE = "no drawn line was found that leads there"
_SOUGHT_MM = 0.15
_BESIDE_MM = 4.0
_MOST_PIXELS = 12_000_000
_log = logging.getLogger(__name__)


class Asker(Protocol):
    """Whoever wants the fit."""

    def gone(self) -> bool:
        """Whether nobody waits any more."""


@dataclass(frozen=True)
class Ground:
    """The scans as they lay when the fit was asked for, and what of them is open."""

    scans: tuple[Scan, ...]
    picture_of: Callable[[Scan], Picture | None]
    patience_s: float = 2.5
    """So long a fit waits for a page of a PDF to be drawn sharp."""

    def under(self, points: Sequence[Point]) -> tuple[Scan, Picture] | None:
        """The scan that lies under all ``points`` (mm)."""
        return scan_under(self.scans, self.picture_of, points)


def ground_of(
    scans: Sequence[Scan], picture_of: Callable[[Scan], Picture | None], patience_s: float = 2.5
) -> Ground:
    """The scans and pictures of now, for another thread."""
    pictures = {id(scan): picture_of(scan) for scan in scans}
    return Ground(tuple(scans), lambda scan: pictures.get(id(scan)), patience_s)


def fit_all(ground: Ground, stretches: Sequence[Stretch], asker: Asker) -> tuple[Fit, ...]:
    """One answer for each stretch, in their order. CancelledError where ``asker`` has gone."""
    return tuple(_fit(ground, stretch, asker) for stretch in stretches)


def _fit(ground: Ground, stretch: Stretch, asker: Asker) -> Fit:
    found: list[Floats] = []
    for way in stretch.ways:
        points = np.asarray(way.points, np.float64) if way.found else _sought(ground, way, asker)
        if isinstance(points, str):
            return NoWay(way, points)
        found.append(points)
    line = _centred(ground, found, stretch.closed, asker)
    if asker.gone():
        raise CancelledError
    try:
        if stretch.closed:
            joints = closed_joints(line, TOLERANCE_MM)
        else:
            start, end = stretch.ways[0].points[0], stretch.ways[-1].points[-1]
            joints = nodes_along(ended(line, start, end, pinned=stretch.pinned), TOLERANCE_MM)
    except ValueError:
        return NoWay(stretch.ways[-1], NO_LINE)
    return tuple(Node(x=j.x, z=j.z, handle_in=j.handle_in, handle_out=j.handle_out) for j in joints)


def _sought(ground: Ground, way: Way, asker: Asker) -> Floats | str:
    """The ink between two clicks that came before it was found."""
    start, goal = way.points[0], way.points[-1]
    here = ground.under((start, goal))
    span = math.dist(start, goal)
    if here is None:
        return NO_SCAN
    wanted = max(_SOUGHT_MM, min(span / SPAN_PX, COARSEST_WAY_MM))
    window = ink_window(*here, around((start, goal), max(15.0, 0.75 * span)), wanted, at=start)
    if window is None:
        return NO_SCAN
    at, to = window.px([start, goal])
    follower = Follower(window.grey)
    follower.begin((float(at[0]), float(at[1])))
    found = follower.to((float(to[0]), float(to[1])), gone=asker.gone)
    if asker.gone():
        raise CancelledError
    return NO_LINE if found is None else window.mm(found)


def _centred(ground: Ground, found: Sequence[Floats], closed: bool, asker: Asker) -> Floats:
    """The middle of the ink along all ways at once; each for itself where no single scan lies under all."""
    whole = np.vstack(found)
    here = ground.under([(float(x), float(z)) for x, z in whole])
    if here is not None:
        return _middle(here, whole, closed, asker, ground.patience_s)
    parts = []
    for way in found:
        under = ground.under([(float(x), float(z)) for x, z in way])
        parts.append(way if under is None else _middle(under, way, False, asker, ground.patience_s))
    return np.vstack(parts)


def _middle(
    here: tuple[Scan, Picture], path: Floats, closed: bool, asker: Asker, patience_s: float
) -> Floats:
    scan, picture = here
    box = around([(float(x), float(z)) for x, z in path], _BESIDE_MM)
    first = (float(path[0, 0]), float(path[0, 1]))
    window = sharp_window(scan, picture, box, first, asker, patience_s)
    if window is None:
        return path
    try:
        return window.mm(centred(window.grey, window.px(path), closed=closed))
    except (ValueError, IndexError, np.linalg.LinAlgError):
        # The line as it was followed is still worth more than none.
        _log.exception("centring a followed line")
        return path


def sharp_window(
    scan: Scan, picture: Picture, box: Box, at: Point | None, asker: Asker, patience_s: float
) -> InkWindow | None:
    """The finest pixels there are; a page of a PDF is drawn sharp first, if that does not take too long."""
    until = monotonic() + patience_s
    while want_sharp(scan, picture, box, FIT_MM, _MOST_PIXELS) and monotonic() < until:
        if asker.gone():
            raise CancelledError
        sleep(0.02)
    return ink_window(scan, picture, box, FIT_MM, most_pixels=_MOST_PIXELS, at=at)


def around(points: Sequence[Point], reach: float) -> Box:
    """The box that holds ``points`` and ``reach`` mm around them."""
    xs, zs = [p[0] for p in points], [p[1] for p in points]
    return min(xs) - reach, min(zs) - reach, max(xs) + reach, max(zs) + reach
