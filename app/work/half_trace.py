"""An outline that is half drawn, as it is kept beside the design: what a kill must not take.

It is no part of the design, and in no file of the builder's; it goes into the recovery file, and the
tracing hand takes it up again.
"""

from __future__ import annotations

from typing import Protocol

import msgspec

from core.design import Node, Vector
from core.kinds import Kind


class HalfPlace(msgspec.Struct, frozen=True, omit_defaults=True):
    """A click; ``pinned`` where no ink was followed."""

    node: Node
    pinned: bool = True


class HalfWay(msgspec.Struct, frozen=True, omit_defaults=True):
    """Ink from one click to the next, points (x, z) in mm; not ``found`` yet, its two ends alone."""

    points: tuple[Vector, ...]
    found: bool = True


class HalfChoice(msgspec.Struct, frozen=True):
    """A second line beside points ``first`` to ``last`` of a round."""

    first: int
    last: int
    other: tuple[Vector, ...]


class HalfRound(msgspec.Struct, frozen=True, omit_defaults=True):
    """A line drawn once round a shape, in mm: the pen's ``line``, and what it was pulled on to.

    ``points`` are as they were found first, empty where they never were; ``taken`` tells which of the
    ``choices`` have been flipped since. ``nodes`` are those fitted to it, if they are.
    """

    line: tuple[Vector, ...]
    points: tuple[Vector, ...] = ()
    choices: tuple[HalfChoice, ...] = ()
    bare: tuple[tuple[int, int], ...] = ()
    taken: tuple[int, ...] = ()
    nodes: tuple[Node, ...] | None = None
    as_drawn: bool = False
    """True if no ink was found, and the pen's own line waits to be accepted."""


class HalfTrace(msgspec.Struct, frozen=True, omit_defaults=True):
    """The clicks of a trace and what leads from each to the next (None: an edge of its own), or a round."""

    kind: Kind
    places: tuple[HalfPlace, ...] = ()
    ways: tuple[HalfWay | None, ...] = ()
    round: HalfRound | None = None

    @property
    def words(self) -> str:
        """What it is, in a few words."""
        if self.round is not None:
            return f"a line drawn round the {self.kind}"
        number = len(self.places)
        return f"a trace of the {self.kind} with {number} node{'' if number == 1 else 's'}"

    @property
    def worth_asking(self) -> bool:
        """True if more would be lost with it than a click or two."""
        return self.round is not None or len(self.places) > 2 or any(self.ways)


class Holder(Protocol):
    """Whoever holds the half-drawn outline: the tracing hand."""

    def half(self) -> HalfTrace | None:
        """What is half drawn now, where it lies in the committed design; the same object while it is."""

    def take_up(self, half: HalfTrace | None) -> None:
        """Another design is taken up, with this half drawn in it or nothing."""


def half_trace(data: bytes) -> HalfTrace | None:
    """What ``data`` (JSON) tells, None where it is no half-drawn outline: the design is worth more."""
    try:
        half = msgspec.json.decode(data, type=HalfTrace | None)
    except ValueError:
        return None
    return half if half is not None and _sound(half) else None


def _sound(half: HalfTrace) -> bool:
    if half.round is None:
        enough = all(way is None or len(way.points) > 1 for way in half.ways)
        return bool(half.places) and len(half.ways) == len(half.places) - 1 and enough
    round_, last = half.round, len(half.round.points)
    pairs = [(c.first, c.last) for c in round_.choices] + list(round_.bare)
    return (
        len(round_.line) > 2
        and all(0 <= a <= b < last for a, b in pairs)
        and all(choice.other for choice in round_.choices)
        and all(0 <= k < len(round_.choices) for k in round_.taken)
    )
