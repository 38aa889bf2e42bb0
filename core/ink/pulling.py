"""Pulling a path drawn loosely round a shape on to the ink that runs along it.

A band along the path is straightened into a strip, a line in it told by its direction, and the shortest
smooth way through the strip taken: in a wide band on coarse cells first, then in a narrow one round the
first result. The middle of the ink is found along that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from core.ink.beside import joined, lines_beside
from core.ink.darkness import Array, Dark, Grey
from core.ink.pen_path import TOO_SHORT, tidied
from core.ink.pulled import Choice, Pull, flipped
from core.ink.stretches import middle
from core.ink.strip import Strength, Strip, light_on_dark, priced, straightened, strength
from core.ink.strip_way import GoneError, way

__all__ = ["Choice", "Pull", "flipped", "pull"]

NO_LONGER_WANTED = "no longer wanted"
_NO_INK = "no drawn line runs along the path: draw nearer to the line, or set points by clicks"
_BESIDE = "the path lies beside the picture: draw along a line of the scan"

WIDE_MM, NARROW_MM = 8.0, 3.0
_OFF = 0.12
"""What a millimetre costs more at the edge of the band."""
_INSIDE = 0.02
"""What one costs more at the inner edge of a closed path's band than at the outer: of two lines that are
alike, the outline is the outer."""
_TURN, _MOST_TURN = 0.20, 1.2
"""What changing the slant by a quarter costs, and what any change does at most. With less, the way hops over
to a line beside it where its own has a gap."""
_FAINT = 0.35
"""Strength, as a part of the usual, under which there is no ink."""
_BARE_MM = 2.5
_TOLD_EVERY, _LEAST_ROWS = 4, 12
_LEAST_INK = 0.35
"""Part of the way that must run along ink."""


def pull(
    grey: Grey, path: Array, *, closed: bool, mm_per_px: float, gone: Callable[[], bool] | None = None
) -> Pull | str:
    """The ink along ``path`` (N, 2) px, drawn within some millimetres of it; or a clause: why there is none.

    ``closed``: once round a shape, wherever it begins. Ink may be darker or lighter than its paper. ``gone``
    is asked now and then; True gives back "no longer wanted".
    """
    run = tidied(np.asarray(path, dtype=np.float64).reshape(-1, 2) * mm_per_px, closed=closed)
    if isinstance(run, str):
        return run
    line = run / mm_per_px
    height, width = grey.shape
    inside = ((line >= 0) & (line < (width, height))).all(axis=1)
    if inside.mean() < 0.5:
        return _BESIDE
    try:
        return _pulled(grey, line, closed, mm_per_px, gone)
    except GoneError:
        return NO_LONGER_WANTED


def _pulled(
    grey: Grey, line: Array, closed: bool, mm_per_px: float, gone: Callable[[], bool] | None
) -> Pull | str:
    outward = _outward(line) if closed else 0.0
    wide = straightened(
        grey, line, WIDE_MM, closed=closed, mm_per_px=mm_per_px, step_mm=0.25, across_mm=0.25, soft_mm=1.5
    )
    if len(wide.base) < _LEAST_ROWS:
        return TOO_SHORT
    inverted = light_on_dark(wide.tone)
    first, _ = _through(wide, inverted, 4, outward, gone)
    narrow = straightened(
        grey, first, NARROW_MM, closed=closed, mm_per_px=mm_per_px, step_mm=0.25, across_mm=0.125,
        soft_mm=1.0,
    )
    if len(narrow.base) < _LEAST_ROWS:
        return TOO_SHORT
    second, ink = _through(narrow, inverted, 2, 0.0, gone)
    if float((ink >= _FAINT).mean()) < _LEAST_INK:
        return _NO_INK
    found = middle(grey, second, closed=closed, mm_per_px=mm_per_px, inverted=inverted, gone=gone)
    if found is None:
        return NO_LONGER_WANTED
    return _told(grey, found, closed, mm_per_px, inverted, gone)


def _outward(line: Array) -> float:
    """+1 or -1: on which side of a closed path, along its normals, its outside lies."""
    u, v = line.T
    # Normals are a quarter turn from u towards v, which is inwards where the area is positive.
    return -1.0 if float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum()) > 0 else 1.0


def _toned(strip: Strip, inverted: bool) -> Strip:
    return replace(strip, tone=np.asarray(255.0 - strip.tone, dtype=np.float32)) if inverted else strip


def _through(
    strip: Strip, inverted: bool, every: int, outward: float, gone: Callable[[], bool] | None
) -> tuple[Array, Dark]:
    """The shortest way through the strip, (N, 2) px, and the strength of the ink under each of its steps."""
    lines = strength(_toned(strip, inverted), every, 6)
    cell = float(strip.offsets[1] - strip.offsets[0])
    share = strip.offsets / float(strip.offsets[-1])
    wish = _OFF * np.square(share) + _INSIDE * 0.5 * (1.0 - outward * share) * abs(outward)
    length = np.hypot(1.0, lines.slants * cell / lines.step_mm) * lines.step_mm
    cost = priced(lines)
    cost += wish.astype(np.float32)[None, :, None]
    cost *= length.astype(np.float32)
    turn = _TURN * (cell / lines.step_mm) / 0.25
    found = way(cost, lines.slants, turn=turn, most_turn=_MOST_TURN, closed=strip.closed, gone=gone)
    rows = np.asarray(np.arange(len(found)) * every, dtype=np.float64)
    points = strip.points(rows, np.asarray(strip.offsets[found], dtype=np.float64))
    return points, _under(lines, found)


def _under(lines: Strength, found: NDArray[np.intp]) -> Dark:
    """Strength along the way, step by step."""
    count = len(lines.of)
    after = np.roll(found, -1)[:count] if len(found) == count else found[1:]
    slant = np.clip(after - found[:count], lines.slants[0], lines.slants[-1]) - lines.slants[0]
    return np.asarray(lines.of[np.arange(count), found[:count], slant], dtype=np.float32)


def _told(
    grey: Grey, points: Array, closed: bool, mm_per_px: float, inverted: bool,
    gone: Callable[[], bool] | None,
) -> Pull | str:
    """The points with what there is to say of them: where there is no ink, where a second line runs."""
    strip = straightened(
        grey, points, 5.0, closed=closed, mm_per_px=mm_per_px, step_mm=0.25, across_mm=0.125, soft_mm=0.3
    )
    if len(strip.base) < _LEAST_ROWS:
        return TOO_SHORT
    strip = _toned(strip, inverted)
    lines = strength(strip, _TOLD_EVERY, 4)
    centre = lines.of.shape[1] // 2
    under = lines.of[:, centre - 2 : centre + 3, 3:6].max(axis=(1, 2))
    bare = _runs(under < _FAINT, round(_BARE_MM / lines.step_mm), closed)
    beside = []
    scale = len(points) / len(lines.of) if closed else (len(points) - 1) / len(lines.of)
    for second in lines_beside(strip, lines, _TOLD_EVERY, gone):
        first, last = round(second.first * scale), round((second.last + 1) * scale)
        beside.append(joined(points, second.line, first, last, closed=closed, mm_per_px=mm_per_px))
    spans = [(round(a * scale), round((b + 1) * scale)) for a, b in bare]
    return _seamed(points, spans, beside, closed)


def _runs(flags: NDArray[np.bool_], least: int, closed: bool) -> list[tuple[int, int]]:
    """(first, last) of the runs of at least so many; one over the seam has last >= len(flags)."""
    total = len(flags)
    if flags.all():
        return [(0, total - 1)]
    start = int(np.argmin(flags)) if closed else 0
    turned = np.roll(flags, -start)
    change = np.flatnonzero(np.diff(np.concatenate(([False], turned, [False])).astype(np.int8)))
    pairs = zip(change[::2].tolist(), change[1::2].tolist(), strict=True)
    return [(a + start, b - 1 + start) for a, b in pairs if b - a >= least]


def _seamed(points: Array, spans: list[tuple[int, int]], beside: list[Choice], closed: bool) -> Pull:
    """A ring is turned so that no stretch runs over its seam, if there is such a place."""
    total = len(points)
    turn = 0
    if closed:
        taken = np.zeros(total, dtype=bool)
        for a, b in [*spans, *((c.first, c.last) for c in beside)]:
            taken[np.arange(a, min(b, a + total - 1) + 1) % total] = True
        turn = 0 if taken.all() else int(np.argmin(taken))
        points = np.roll(points, -turn, axis=0)

    def moved(a: int, b: int) -> tuple[int, int]:
        if not closed:
            return min(a, total - 1), min(b, total - 1)
        first = (a - turn) % total
        return first, min(first + b - a, total - 1)

    made = [Choice(*moved(c.first, c.last), c.other) for c in beside]
    return Pull(
        points, tuple(sorted(made, key=lambda c: c.first)), tuple(sorted(moved(a, b) for a, b in spans))
    )
