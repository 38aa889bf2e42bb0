"""Second lines beside a line that was found: double-lined sheeting, a saddle, a hinge's other side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.ink.corners import spaced
from core.ink.darkness import Array, Dark
from core.ink.pulled import Choice
from core.ink.strip import Strength, Strip, along, priced
from core.ink.strip_way import way

_NEAREST_MM = 0.7
"""Closer than this it is the same line."""
_STRONG = 0.45
"""Strength, as a part of the usual, from which there is a second line."""
_SOFT_MM, _FINE_MM = 2.0, 1.5
_PAPER_MM, _STROKE_MM = 1.0, 0.45
"""How far beside a stroke its paper is looked for, and half the width that a stroke may have."""
_GAP_MM, _LEAST_MM = 6.0, 10.0
_CORNER_DEG, _CORNER_MM = 35.0, 2.0
_ROUGH_MM, _BASE_MM, _REACH_MM = 1.0, 5.0, 10.0
"""Of a second line's end: what is not believed, what tells its direction, how far it is carried on."""


_SAME_MM, _LEVEL = 0.3, 0.95
"""Points so near, and so level with it (a cosine), lie on the line that is carried on."""


@dataclass(frozen=True, eq=False)
class Beside:
    """A second line (K, 2) px beside rows ``first`` to ``last``, which may lie beyond the seam of a ring."""

    first: int
    last: int
    line: Array


def lines_beside(
    strip: Strip, lines: Strength, every: int, gone: Callable[[], bool] | None = None
) -> list[Beside]:
    """Second lines along the strip whose middle is the line that was found; rows are those of ``lines``."""
    rows = np.arange(len(lines.of))
    sharp = _corners(strip, every, len(rows))
    found: list[Beside] = []
    tone = along(strip, every)[: len(rows)]
    for side in (-1.0, 1.0):
        columns = np.flatnonzero(side * strip.offsets >= _NEAREST_MM)
        part = Strength(lines.of[:, columns], lines.slants, lines.step_mm, lines.grain)
        cost = priced(part) * np.float32(lines.step_mm)
        at = way(cost, lines.slants, turn=0.1, most_turn=1.2, closed=strip.closed, gone=gone)[: len(rows)]
        strong = _soft(part.of[rows, at].max(axis=1), _SOFT_MM / lines.step_mm, strip.closed) >= _STRONG
        found_at = _middles(tone, columns[at], strip.offsets)
        offsets = _soft(found_at, _FINE_MM / lines.step_mm, strip.closed)
        for first, last in _stretches(strong, sharp, lines.step_mm, strip.closed):
            span = np.arange(first, last + 1)
            inside = span % len(rows)
            line = strip.points(np.asarray(inside * every, dtype=np.float64), offsets[inside])
            found.append(Beside(first, last, line))
    return found


def _middles(tone: Dark, columns: NDArray[np.intp], offsets: Array) -> Array:
    """The offsets in mm of the middle of the stroke near these columns, by its darkness.

    ``tone`` (N, D), averaged along the line so that what crosses it counts little.
    """
    cell = float(offsets[1] - offsets[0])
    reach, half = round(_PAPER_MM / cell), round(_STROKE_MM / cell)
    wide = np.pad(tone, ((0, 0), (reach + half, reach + half)), mode="edge")
    rows = np.arange(len(columns))[:, None]
    near = wide[rows, columns[:, None] + half + np.arange(2 * reach + 1)[None, :]]
    paper = np.quantile(near, 0.8, axis=1)
    # The darkest cell first: the way through the strip may lie a cell or two beside it.
    peak = columns + np.argmin(near[:, reach - half : reach + half + 1], axis=1) - half
    cut = paper[:, None] - wide[rows, peak[:, None] + reach + np.arange(2 * half + 1)[None, :]]
    weight = np.clip(cut - 0.4 * cut[:, half : half + 1], 0.0, None)
    aside = (weight @ np.arange(-half, half + 1)) / np.maximum(weight.sum(axis=1), 1e-6)
    return np.asarray(offsets[0] + (peak + aside) * cell, dtype=np.float64)


def _soft(values: NDArray[np.float32] | Array, sigma: float, closed: bool) -> Array:
    reach = round(2 * sigma)
    weights = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / sigma))
    wide = np.pad(values.astype(np.float64), reach, mode="wrap" if closed else "edge")
    return np.convolve(wide, weights / weights.sum(), "valid")


def _corners(strip: Strip, every: int, count: int) -> NDArray[np.bool_]:
    """Rows at which the line that was found turns sharply, one each."""
    reach = max(1, round(_CORNER_MM / strip.step_mm))
    base = strip.base
    if len(base) < 2 * reach + 2:
        return np.zeros(count, dtype=bool)
    wide = np.pad(base, ((reach, reach), (0, 0)), mode="wrap" if strip.closed else "edge")
    before, after = base - wide[: len(base)], wide[2 * reach :] - base
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, (before * after).sum(axis=1))))
    if not strip.closed:
        turn[:reach] = turn[-reach:] = 0.0
    around = np.pad(turn, reach, mode="wrap" if strip.closed else "edge")
    most = np.lib.stride_tricks.sliding_window_view(around, 2 * reach + 1).max(axis=1)
    out = np.zeros(count, dtype=bool)
    peaks = np.flatnonzero((turn >= most) & (turn > _CORNER_DEG))
    out[np.minimum(peaks // every, count - 1)] = True
    return out


def _stretches(
    strong: NDArray[np.bool_], sharp: NDArray[np.bool_], step_mm: float, closed: bool
) -> list[tuple[int, int]]:
    """(first, last) of what is strong for long enough, short gaps joined, cut at corners."""
    total = len(strong)
    stops = np.flatnonzero(sharp)
    if closed:
        start = int(stops[0]) if len(stops) else int(np.argmin(strong))
        pieces = [*(stops - start).tolist(), total] if len(stops) else [0, total]
    else:
        start, pieces = 0, [0, *stops.tolist(), total]
    turned = np.roll(strong, -start)
    out: list[tuple[int, int]] = []
    for begin, end in pairwise(pieces):
        flags = np.concatenate(([False], turned[begin:end], [False])).astype(np.int8)
        change = np.flatnonzero(np.diff(flags))
        runs: list[list[int]] = []
        for a, b in zip(change[::2].tolist(), change[1::2].tolist(), strict=True):
            if runs and (a - runs[-1][1]) * step_mm <= _GAP_MM:
                runs[-1][1] = b
            else:
                runs.append([a, b])
        out += [
            (begin + a + start, begin + b - 1 + start) for a, b in runs if (b - a) * step_mm >= _LEAST_MM
        ]
    return out


def joined(points: Array, line: Array, first: int, last: int, *, closed: bool, mm_per_px: float) -> Choice:
    """``line`` (K, 2) px as a choice beside ``points`` ``first`` to ``last``: its ends brought on to them.

    Each end is carried on straight until it meets the points, or else goes across to the nearest of them.
    ``first`` of a ring may come out negative, ``last`` beyond its end.
    """
    step = float(np.median(np.hypot(*np.diff(points, axis=0).T)))
    rough = round(_ROUGH_MM / mm_per_px / max(_spacing(line), 1e-9))
    trimmed = line[rough : len(line) - rough] if len(line) > 4 * rough + 4 else line
    reach = round(_REACH_MM / mm_per_px / step)
    begin, head = _met(points, trimmed[::-1], first, reach, closed, mm_per_px)
    end, tail = _met(points, trimmed, last, reach, closed, mm_per_px)
    if end <= begin:
        begin, end = first, max(last, first + 1)
        head, tail = points[begin % len(points)], points[end % len(points)]
    return Choice(begin, end, spaced(np.vstack((head[None], trimmed, tail[None])), step))


def _spacing(line: Array) -> float:
    return float(np.median(np.hypot(*np.diff(line, axis=0).T))) if len(line) > 1 else 0.0


def _met(
    points: Array, line: Array, near: int, reach: int, closed: bool, mm_per_px: float
) -> tuple[int, Array]:
    """Index and place at which ``line``, carried on beyond its last point, comes to the points."""
    total = len(points)
    span = np.arange(near - reach, near + reach + 1)
    span = span if closed and len(span) < total else span[(span >= 0) & (span < total)]
    run = points[span % total]
    end = line[-1]
    back = min(len(line) - 1, max(2, round(_BASE_MM / mm_per_px / max(_spacing(line), 1e-9))))
    along = end - line[-1 - back]
    along = along / max(float(np.hypot(*along)), 1e-9)
    p, d = run[:-1], np.diff(run, axis=0)
    gap = p - end
    cross = along[0] * d[:, 1] - along[1] * d[:, 0]
    safe = np.where(np.abs(cross) > 1e-9, cross, np.inf)
    far = (gap[:, 0] * d[:, 1] - gap[:, 1] * d[:, 0]) / safe
    part = (gap[:, 0] * along[1] - gap[:, 1] * along[0]) / safe
    hit = (part >= 0) & (part < 1) & (far > -0.5 / mm_per_px) & (far < _REACH_MM / mm_per_px)
    hit &= np.isfinite(safe)
    # Where the points come on to the line itself, they may run along it without ever crossing it.
    beyond = gap @ along
    level = np.abs(d @ along) > _LEVEL * np.hypot(d[:, 0], d[:, 1])
    aside = np.abs(gap[:, 0] * along[1] - gap[:, 1] * along[0])
    on = level & (aside < _SAME_MM / mm_per_px) & (beyond > 0) & (beyond < _REACH_MM / mm_per_px)
    reach_of = np.minimum(np.where(hit, far, np.inf), np.where(on, beyond, np.inf))
    best = int(np.argmin(reach_of))
    if np.isfinite(reach_of[best]):
        if hit[best] and far[best] <= reach_of[best]:
            return int(span[best]) + round(float(part[best])), end + far[best] * along
        return int(span[best]), run[best]
    best = int(np.argmin(np.square(run - end).sum(axis=1)))
    return int(span[best]), run[best]
