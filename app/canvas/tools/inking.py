"""What a hand may ask of the ink on the scans. Plain points in, nodes out; no Qt and no pixels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from core.design import Node
from core.ink.pulling import Pull

Point = tuple[float, float]
Found = Callable[[tuple[Node, ...] | str], None]


@dataclass(frozen=True)
class Trail:
    """Points along the ink under the cursor; ``doubt`` is a clause where it hardly is a line, else empty."""

    points: tuple[Point, ...]
    doubt: str = ""


@dataclass(frozen=True, eq=False)
class Way:
    """The ink from one click to the next; each is itself alone, so that a fit can be remembered by it.

    Where it was not found yet (not ``found``), ``points`` are its two ends and it is yet to be looked for.
    """

    points: tuple[Point, ...]
    found: bool = True


@dataclass(frozen=True)
class Stretch:
    """Ways one after the other, to be centred and fitted as one; back to where it began if ``closed``.

    ``pinned``: whether its start and end are to stay exactly where they are.
    """

    ways: tuple[Way, ...]
    closed: bool = False
    pinned: tuple[bool, bool] = (True, True)


@dataclass(frozen=True)
class NoWay:
    """One way of a stretch turned out not to be there: ``reason`` is a clause."""

    way: Way
    reason: str


@dataclass(frozen=True, eq=False)
class Rounded:
    """A line drawn once round a shape, on the ink: ``pull`` in mm, and the nodes fitted to it."""

    pull: Pull
    nodes: tuple[Node, ...]


Fit = tuple[Node, ...] | NoWay
Fitted = Callable[[Sequence[Fit] | str], None]
Round = Callable[[Rounded | str], None]


@dataclass(frozen=True)
class Whole:
    """The outer outline of what was gone round. Without ``nodes``, ``words`` are a clause that says why.

    With them, ``words`` are sentences of what to look at, or none. ``at`` is the place they speak of.
    """

    nodes: tuple[Node, ...]
    words: str = ""
    at: Point | None = None


WholeFound = Callable[[Whole], None]


class InkService(Protocol):
    """The drawn lines under the outlines; all points in mm (x aft, z up).

    Where there is no answer, a string is one clause that says why ("no scan lies here").
    """

    def trail(self, start: Point, goal: Point) -> Trail | str | None:
        """The ink from ``start`` to ``goal``, fast enough for every move of the mouse.

        None where it is not found yet and still looked for: ask again at the next frame.
        """

    def fit(self, stretches: Sequence[Stretch], fitted: Fitted) -> None:
        """Have few cubic nodes put through the middle of the ink of each stretch; ``fitted`` hears, once.

        It hears one answer for each stretch, in their order, perhaps at once; or why there are none. What
        was asked for before is dropped.
        """

    def fit_now(self, stretches: Sequence[Stretch]) -> Sequence[Fit] | str:
        """The same while everybody waits: for when the window is about to close."""

    def nearest(self, x: float, z: float, reach: float) -> Point | None:
        """The middle of the stroke within ``reach`` mm of (x, z), a corner of strokes rather; or None."""

    def region(self, x: float, z: float, gap: float, found: Found) -> None:
        """Look for the drawn shape around (x, z), gaps of ``gap`` mm bridged; ``found`` hears of it, once.

        It hears either the nodes of the closed outline or why there is none, perhaps at once.
        """

    def lies_under(self, x: float, z: float) -> bool:
        """True if a scan that is shown lies at (x, z)."""

    def once_round(self, line: Sequence[Point], found: Round) -> None:
        """Have a closed line of the pen pulled on to the ink that runs along it; ``found`` hears, once."""

    def fit_round(self, pull: Pull, found: Round) -> None:
        """Have nodes fitted to such a line as it is, one that was flipped say; ``found`` hears, once."""

    def round_now(self, line: Sequence[Point] | Pull) -> Rounded | str:
        """Either of the two while everybody waits."""

    def whole(self, loop: Sequence[Point], gap: float, found: WholeFound) -> None:
        """Look for the outer outline of what is drawn within ``loop``, gaps of ``gap`` mm bridged.

        ``found`` hears of it, once, perhaps at once.
        """

    def cancel(self) -> None:
        """Nobody waits for a shape, a fit or a round any more."""
