"""What pulling a path on to the ink gave, and the other lines that may stand in for stretches of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.ink.darkness import Array

_SHARED = 0.3
"""Of two choices that share a larger part of the shorter, only one can be taken."""


@dataclass(frozen=True, eq=False)
class Choice:
    """``other`` (K, 2): the line that could stand in place of points ``first`` to ``last``, both included."""

    first: int
    last: int
    other: Array


@dataclass(frozen=True, eq=False)
class Pull:
    """``points`` (M, 2) px on the middle of the ink, evenly spaced; a closed ring does not repeat its first.

    ``choices``: stretches beside which a second line runs, in order; they may overlap. ``bare``: first and
    last index of each stretch without ink. No stretch runs over the seam of a ring (first <= last).
    """

    points: Array
    choices: tuple[Choice, ...]
    bare: tuple[tuple[int, int], ...]
    unflipped: Pull | None = None
    """What was found first, where a choice has been flipped since."""
    taken: frozenset[int] = frozenset()
    """Which choices have been flipped."""


def flipped(pull: Pull, k: int) -> Pull:
    """The pull with the other line of its choice ``k`` taken, or the first one again.

    The choices stay in their order; one that is flipped offers what stood there before. A choice that
    overlaps this one is flipped back, unless they share no more than their ends. IndexError for no such one.
    """
    first = pull.unflipped or pull
    if not 0 <= k < len(first.choices):
        raise IndexError(f"there is no choice {k}: {len(first.choices)} were found")
    if k in pull.taken:
        taken = pull.taken - {k}
    else:
        taken = frozenset(n for n in pull.taken if not _rivals(first.choices[n], first.choices[k])) | {k}
    return _with(first, taken) if taken else first


def _rivals(a: Choice, b: Choice) -> bool:
    shared = min(a.last, b.last) - max(a.first, b.first) + 1
    return shared > _SHARED * min(a.last - a.first + 1, b.last - b.first + 1)


def _with(first: Pull, taken: frozenset[int]) -> Pull:
    spans = _spans([first.choices[n] for n in sorted(taken)])
    parts: list[Array] = []
    marks: list[tuple[int, int, int, int]] = []
    at, made = 0, 0
    for begin, end, line in spans:
        parts += [first.points[at:begin], line]
        made += begin - at
        marks.append((begin, end, made, made + len(line) - 1))
        made += len(line)
        at = end + 1
    points = np.vstack([*parts, first.points[at:]])

    def now(index: int) -> int:
        """Where a point of the first pull is now, or what stands in its place."""
        by = 0
        for begin, end, new, last in marks:
            if index < begin:
                break
            if index <= end:
                return new + round((index - begin) / max(end - begin, 1) * (last - new))
            by = last - end
        return index + by

    choices = tuple(
        Choice(now(c.first), now(c.last), first.points[c.first : c.last + 1] if n in taken else c.other)
        for n, c in enumerate(first.choices)
    )
    replaced = [(begin, end) for begin, end, _, _ in marks]
    bare = tuple(
        (now(a), now(b)) for a, b in first.bare if all(b < begin or a > end for begin, end in replaced)
    )
    return Pull(points, choices, bare, first, taken)


def _spans(chosen: Sequence[Choice]) -> list[tuple[int, int, Array]]:
    """(first, last, line) of choices in order; two that share their ends meet where they are nearest."""
    spans: list[tuple[int, int, Array]] = []
    for choice in chosen:
        first, line = choice.first, choice.other
        if spans and first <= spans[-1][1]:
            begin, _, before = spans[-1]
            back, ahead = before[len(before) // 2 :], line[: max(len(line) // 2, 1)]
            gap = np.square(back[:, None, :] - ahead[None]).sum(axis=2)
            i, j = np.unravel_index(int(np.argmin(gap)), gap.shape)
            meet = max(begin + 1, (first + spans[-1][1]) // 2)
            spans[-1] = (begin, meet - 1, before[: len(before) // 2 + int(i) + 1])
            first, line = meet, line[int(j) :]
        spans.append((first, max(choice.last, first), line))
    return spans
