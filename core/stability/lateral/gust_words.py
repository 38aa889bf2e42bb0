"""What an aeroplane does after a gust, in a sentence or two: how often it wags, when it settles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.ring import Array

VISIBLE = 0.1
"""A swing of less than that part of the first is not seen any more (this project's)."""
SMALL_DEG = 20.0
"""Sideslip up to which small angles say anything (this project's)."""
SMALL_BANK_DEG = 45.0
"""The same of bank (this project's)."""
_SELDOM = 0.05
_TIMES = ("not at all", "once", "twice", "three times", "four times", "five times", "six times",
          "seven times", "eight times")
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


@dataclass(frozen=True, eq=False)
class Traces:
    """What the sentence is made from: N draws over K times from the gust, or from letting go the rudder."""

    seconds: Array
    """(K,), from 0."""
    sideslip: Array
    """(N, K) in degrees, without what goes by the slow spiral: that is no wag."""
    kicked_to: float | None
    """Degrees of sideslip that the rudder brings it to while held; None after a gust."""
    banks_to: float
    """Degrees of bank that it comes to."""
    swaps_ends: NDArray[np.bool_]
    """(N,)."""
    grows: NDArray[np.bool_]
    """(N,), where it swings wider each time."""
    loose: NDArray[np.bool_]
    """(N,), where the fin is weaker than what body and propeller take away."""
    upright: float
    """Share of the draws that come upright by themselves."""


@dataclass(frozen=True, eq=False)
class Wags:
    """Of each draw (N,): how often it wags and when it has settled; infinite where it has not by the end."""

    count: NDArray[np.int64]
    settled_s: Array


def wags(seconds: Array, sideslip: Array) -> Wags:
    """How traces of sideslip (N, K) settle.

    The first swing is the farthest from straight, be it the gust itself. One wag is one swing after it,
    to one side or the other, as far out as a tenth of it or more. It has settled when sideslip stays
    below that tenth. A swing less than two steps long is not seen.
    """
    size = np.abs(sideslip)
    begin = np.argmax(size, axis=1)
    visible = VISIBLE * size[np.arange(len(size)), begin]
    out = size > visible[:, None]
    middle, before, after = sideslip[:, 1:-1], sideslip[:, :-2], sideslip[:, 2:]
    top = (middle > 0.0) & (middle >= before) & (middle > after)
    bottom = (middle < 0.0) & (middle <= before) & (middle < after)
    late = np.arange(1, sideslip.shape[1] - 1) > begin[:, None]
    count = ((top | bottom) & out[:, 1:-1] & late).sum(axis=1)
    last = sideslip.shape[1] - 1 - np.argmax(out[:, ::-1], axis=1)
    settled = seconds[np.minimum(last + 1, len(seconds) - 1)]
    return Wags(np.asarray(count), np.where(out[:, -1], np.inf, settled))


def gust_sentence(traces: Traces) -> str:
    """What the aeroplane does, with what is not sure about it."""
    swaps = float(traces.swaps_ends.mean())
    head = "After the gust" if traces.kicked_to is None else "After the rudder is let go"
    words: list[str] = []
    if swaps > 0.5:
        often = "" if swaps >= 1.0 - _SELDOM else f" in {_of_ten(swaps)}"
        words.append(f"{head} it {_lost(traces)}{often}.")
    else:
        steady = ~traces.swaps_ends
        found = wags(traces.seconds, traces.sideslip[steady])
        settles = _settling(found, float(traces.seconds[-1]))
        loose = float((traces.loose & steady).mean())
        weak = "the fin is too weak to bring the nose back"
        only = "and only wing and damping do: do not count on that."
        # What most draws lack comes first: that it settles would sound as if nothing were amiss.
        if loose > 0.5:
            words += [f"{head} {weak} in {_of_ten(loose)}, {only}", f"With their help it {settles}."]
        else:
            words.append(f"{head} it {settles}.")
        if swaps > _SELDOM:
            words.append(f"In {_of_ten(swaps)} it {_lost(traces)}.")
        if _SELDOM < loose <= 0.5:
            words.append(f"In {_of_ten(loose)} {weak}, {only}")
        words.append(_upright(traces.upright))
    if traces.kicked_to is not None and traces.kicked_to > SMALL_DEG:
        words.append(
            f"The rudder brings it to some {min(traces.kicked_to, 90.0):.0f}° of sideslip, further than "
            "these figures are good for: take them as a comparison."
        )
    elif traces.banks_to > SMALL_BANK_DEG and swaps <= 0.5:
        words.append("It banks steeper than these figures are good for: take them as a comparison.")
    return " ".join(words)


def _lost(traces: Traces) -> str:
    if 2 * int((traces.grows & traces.swaps_ends).sum()) > int(traces.swaps_ends.sum()):
        return "wags wider each time instead of settling"
    return "swings off and does not come back"


def _settling(found: Wags, end: float) -> str:
    counts, times = np.sort(found.count), np.sort(found.settled_s)
    n = len(counts) - 1
    few, many = int(counts[round(n / 6)]), int(counts[round(5 * n / 6)])
    early, middle, late = (float(times[round(share * n)]) for share in (1 / 6, 1 / 2, 5 / 6))
    if np.isinf(middle):
        what = "is still wagging" if many else "is still on its way back"
        return f"{what} after {end:g} s" + ("" if np.isinf(early) else ", or has only just settled")
    if np.isinf(late):
        when = f"settles in {_seconds(early)} s at the earliest, or not within {end:g} s"
    elif late <= 1.25 * early or _seconds(early) == _seconds(late):
        when = f"settles in about {_seconds(middle)} s"
    else:
        when = f"settles in {_seconds(early)} to {_seconds(late)} s"
    return f"{_wagging(few, many)} and {when}"


def _wagging(few: int, many: int) -> str:
    if many == 0:
        return "swings back without wagging"
    if few >= len(_TIMES):
        return "wags many times"
    if many >= len(_TIMES):
        return f"wags {_NUMBERS[few]} times or more" if few > 1 else "wags once or more"
    if few == many:
        return f"wags {_TIMES[few]}"
    if few == 0:
        return f"wags {_TIMES[many]} at most"
    if (few, many) == (1, 2):
        return "wags once or twice"
    return f"wags {_NUMBERS[few]} to {_TIMES[many]}"


def _upright(share: float) -> str:
    if share >= 1.0 - _SELDOM:
        often = "nearly all draws"
    elif share <= _SELDOM:
        often = "hardly any draw"
    else:
        often = _of_ten(share)
    return f"Left alone it stays upright by itself in {often}."


def _of_ten(share: float) -> str:
    n = min(max(round(10.0 * share), 1), 9)
    return f"{n} draw{'' if n == 1 else 's'} of 10"


def _seconds(value: float) -> str:
    """To a tenth below a second, to half seconds above."""
    if value < 0.95:
        return f"{max(value, 0.1):.1f}"
    return f"{round(2.0 * value) / 2.0:g}"
