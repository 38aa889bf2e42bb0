"""What the tracing hand knows of the ink: the trail under the cursor, and the fits of what was followed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from app.canvas.tools.draft import Draft
from app.canvas.tools.hand import Bench, Point
from app.canvas.tools.inking import Fit, InkService, NoWay, Stretch, Trail, Way
from core.design import Node
from core.ink.fitting import nodes_along

NO_TRAIL = Trail(())
_DASH_PX, _GAP_PX = 6.0, 5.0


@dataclass(frozen=True)
class Shown:
    """A draft as it is drawn: points along it, and its nodes."""

    line: tuple[Point, ...]
    nodes: tuple[Node, ...]


class TracingInk:
    """Of one draft: ``forget`` it all when the draft goes.

    ``fits`` are the nodes of every stretch that was fitted, ``gone`` the ways that turned out not to be
    there: those edges are straight.
    """

    def __init__(self, bench: Bench, arrived: Callable[[], None]) -> None:
        """``arrived`` is called when an answer to ``see_to`` has come."""
        self._bench, self._arrived = bench, arrived
        self.fits: dict[Stretch, tuple[Node, ...]] = {}
        self.gone: set[Way] = set()
        self._asked: tuple[Stretch, ...] = ()
        self._question = 0
        self._trail: Trail | str = NO_TRAIL
        self._trail_of: tuple[Point, Point] | None = None
        self._shown: tuple[Draft, int, Shown] | None = None

    def forget(self) -> None:
        """Drop everything; what is on its way is not wanted any more."""
        self._stop_asking()
        self.fits.clear()
        self.gone.clear()
        self._shown = None
        self.forget_trail()

    def put_by(self) -> None:
        """Another hand is taken, which may ask of the ink as well: what was fitted stays."""
        self._stop_asking()
        self.forget_trail()

    # Under the cursor

    def forget_trail(self) -> None:
        """There is none now."""
        self._trail, self._trail_of = NO_TRAIL, None

    def trail(self, ink: InkService, start: Point, goal: Point) -> Trail | str:
        """The ink from ``start`` to ``goal``, or why there is none; no points where it is not known yet.

        It is looked for once for every pair of ends, or until it is there.
        """
        if (start, goal) != self._trail_of:
            found = ink.trail(start, goal)
            if found is None:
                # The way so far is better than none, as long as it begins at the same node.
                same = self._trail_of is not None and self._trail_of[0] == start
                return self._trail if same else NO_TRAIL
            self._trail, self._trail_of = found, (start, goal)
        return self._trail

    def way(self, ink: InkService, start: Point, goal: Point, near: float) -> Way | str:
        """The ink from one click to the next, or why there is none; found later where it is not known yet.

        The trail that was shown will do if it went to within ``near`` mm of the goal, which is where the
        cursor was before it snapped.
        """
        known = self._trail if self._trail_of and self._trail_of[0] == start else None
        if known is None or self._trail_of is None or math.dist(self._trail_of[1], goal) > near:
            known = ink.trail(start, goal)
        if known is None or (isinstance(known, Trail) and len(known.points) < 2):
            return Way((start, goal), found=False)
        if isinstance(known, str):
            return known
        points = known.points
        if points[-1] != goal:
            at = min(range(1, len(points)), key=lambda i: math.dist(points[i], goal))
            points = (*points[: max(at, 1)], goal)
        return Way(points)

    # What was followed

    def missing(self, draft: Draft) -> tuple[Stretch, ...]:
        """The stretches that are not fitted yet."""
        return tuple(s for s in draft.stretches(self.gone) if s not in self.fits)

    def see_to(self, draft: Draft) -> bool:
        """Have what is missing fitted; whether nothing is."""
        missing, ink = self.missing(draft), self._bench.ink
        if not missing or ink is None:
            self._stop_asking()
            return not missing
        if missing == self._asked:
            return False
        self._question += 1
        self._asked, question = missing, self._question

        def fitted(answer: Sequence[Fit] | str) -> None:
            if question == self._question:
                self._asked = ()
                self._take(missing, answer)
                self._arrived()

        ink.fit(missing, fitted)
        return False

    def finish_now(self, draft: Draft) -> None:
        """Have all that is missing fitted while everybody waits."""
        self._stop_asking()
        ink = self._bench.ink
        while missing := self.missing(draft):
            self._take(missing, "nothing is there to fit them to" if ink is None else ink.fit_now(missing))

    def _take(self, stretches: Sequence[Stretch], answer: Sequence[Fit] | str) -> None:
        for i, stretch in enumerate(stretches):
            fit = _as_followed(stretch) if isinstance(answer, str) else answer[i]
            if not isinstance(fit, NoWay):
                self.fits[stretch] = fit
            elif fit.way not in self.gone:
                self.gone.add(fit.way)
                self._bench.say(f"The edge is straight: {fit.reason}.")

    def _stop_asking(self) -> None:
        self._question += 1
        if self._asked and self._bench.ink is not None:
            self._bench.ink.cancel()
        self._asked = ()

    def shown(self, draft: Draft) -> Shown:
        """The draft as it is drawn now."""
        state = len(self.fits) + len(self.gone)
        if self._shown is None or self._shown[0] is not draft or self._shown[1] != state:
            shown = Shown(draft.line(self.fits, self.gone), draft.nodes(self.fits, self.gone))
            self._shown = draft, state, shown
        return self._shown[2]

    def line_home(self, draft: Draft) -> tuple[Point, ...]:
        """Points along the draft and by an edge of its own back to its first place."""
        return (draft if draft.closed else draft.closed_by(None)).line(self.fits, self.gone)


def _as_followed(stretch: Stretch) -> Fit:
    """Nodes along the ink as it was followed on the screen, where no better ones can be had."""
    points = np.array([point for way in stretch.ways for point in way.points])
    try:
        return tuple(Node(j.x, j.z, j.handle_in, j.handle_out) for j in nodes_along(points))
    except ValueError:
        return NoWay(stretch.ways[-1], "no drawn line was found that leads there")


def dashes(points: Sequence[Point], scale: float) -> tuple[tuple[Point, Point], ...]:
    """A line through ``points`` (mm) as dashes, at ``scale`` pixels to the mm."""
    line = np.asarray(points, np.float64)
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    begins = np.arange(0.0, away[-1], (_DASH_PX + _GAP_PX) / scale)
    ends = np.minimum(begins + _DASH_PX / scale, away[-1])
    pairs = [
        np.stack([np.interp(at, away, line[:, axis]) for axis in (0, 1)], axis=1) for at in (begins, ends)
    ]
    one, other = ([(float(x), float(z)) for x, z in points] for points in pairs)
    return tuple(zip(one, other, strict=True))
