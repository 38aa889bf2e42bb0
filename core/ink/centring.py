"""The middle of a stroke: to a fraction of a pixel, weighted by darkness across it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.ink.bridging import bridged
from core.ink.corners import corners, sharpened, smoothed, spaced
from core.ink.darkness import Array, Darkness, Grey, noise, stroke_at
from core.ink.snapping import nearest_ink

__all__ = ["centred", "edged", "nearest_ink"]

_STEP = 0.25
"""Pixels between the samples across a stroke."""
_ROUNDS = 3
_ROUGH = 0.05
"""Grain, as a part of the darkness of the ink, that is smoothed over one pixel along the line."""
_CALM = 0.09
"""Pixels of scatter to leave in the line; a Gaussian mean over s points leaves 1/√(2 √π s) of it."""
_LIGHTEST = 0.12
"""Ink lighter than this, as a part of the usual along the line, is none, however light all is around it."""
_RUN, _INKED = 24, 0.7
"""Points over which ink is called equally dark, and the part of them, from the lightest, that tells it."""
_LONGEST = 60.0
"""Points: where the ink cannot be told for longer than this, the line stays where it was followed."""
_SLACK = 2.0
"""Pixels beside a stroke's width that a bridge may part from the line as it was followed."""
_MORE = 20.0
"""Points over which cuts are laid over each other, for each pixel that single ones scatter by."""


def centred(
    grey: Grey, path: Array, *, closed: bool = False, sharp: bool = True, checked: bool = False
) -> Array:
    """Points (M, 2) about a pixel apart along the middle of the ink that ``path`` (N, 2) runs along.

    Across the local normal the run of dark samples nearest the path is weighed; cuts whose width jumps
    (crossings, joints, flaws) or that find no ink (gaps) are passed over, and the line is carried on between
    its neighbours. With ``sharp``, corners that the pen or the smoothing rounded are put back where their two
    sides meet. A closed run does not repeat its first point. Who asks with ``checked`` holds the result
    against the path himself: then long doubtful runs are bridged too.
    """
    path = np.asarray(path, dtype=np.float64)
    if len(path) < 2 or (len(path) == 2 and np.hypot(*(path[1] - path[0])) < 1.0):
        return path.copy()
    low = np.maximum(np.floor(path.min(axis=0)).astype(int) - 60, 0)
    high = np.floor(path.max(axis=0)).astype(int) + 61
    piece = grey[low[1] : high[1], low[0] : high[0]]
    if piece.size == 0:
        return path.copy()
    darkness = Darkness(piece, lines=True)
    line = spaced(path - low, 1.0, closed=closed)
    if len(line) < 4:
        return path.copy()
    width, level = _usual(darkness, line)
    least = max(_LIGHTEST * level, 2.0 * noise(piece))
    line = _on_ink(darkness, line, least, 3.0 * width + 6.0, closed)
    if len(line) < 4:
        return path.copy()
    # The rougher the picture, the more neighbouring cuts are laid over each other before they are judged.
    along = min((noise(piece) / (_ROUGH * max(level, 1.0))) ** 2, 2.0 * width)
    if _bilevel(piece):
        # Black and white only: where the edge lies shows over a length, not in one cut.
        along = 0.7 * width
    grain = 1.5
    for turn in range(_ROUNDS):
        # What is finer than the cuts are laid over each other for would stay in the line for ever.
        line = smoothed(line, max(1.5, 0.5 * width if turn == 0 else 0.5 * grain, along), closed=closed)
        line = spaced(line, 1.0, closed=closed)
        normals = _normals(smoothed(line, max(2.0, 0.5 * width), closed=closed), closed)
        offset, sure = _offsets(darkness, line, normals, width, least, along, closed)
        if not sure.any():
            return np.asarray(line + low, dtype=np.float64)
        scatter = _scatter(offset, sure)
        grain = float(np.clip((scatter / _CALM) ** 2 / 3.54, 1.5, 3.0 * width))
        along = max(along, min(_MORE * scatter, width))
        line = line + _carried(offset, sure, grain, closed)[:, None] * normals
    sure &= ~_turning(line, 0.8 * width + 2.0 + along, closed)
    side = max(10, round(3.5 * width + along))
    longest, most_off = (np.inf, np.inf) if checked else (max(_LONGEST, 5.0 * width), width + _SLACK)
    line = bridged(line, sure, 2 * side, closed=closed, longest=longest, most_off=most_off)
    line = spaced(line, 1.0, closed=closed)
    if sharp:
        blind = max(3, round(1.1 * width + 2.5))
        found = corners(line, blind, side, closed=closed, rough=0.25 + 0.04 * width)
        line = sharpened(line, found, blind, closed=closed)
    return np.asarray(line + low, dtype=np.float64)


def _on_ink(darkness: Darkness, line: Array, least: float, most: float, closed: bool) -> Array:
    """The line without the excursions beside the ink (a click that missed) up to ``most`` points long."""
    found = darkness.at(line)
    beside = found < 0.4 * _running(found, least)
    if not closed:
        beside[[0, -1]] = False
    change = np.flatnonzero(np.diff(np.concatenate(([False], beside, [False])).astype(np.int8)))
    for begin, end in zip(change[::2], change[1::2], strict=True):
        if end - begin > most:
            beside[begin:end] = False
    return line if beside.all() else spaced(line[~beside], 1.0, closed=closed)


def _running(found: Array, least: float) -> Array:
    """How dark the ink is along a line whose points are ``found`` so dark: by its surroundings, (N,).

    In a shadow, or where the pen ran dry, the same ink is a part as dark as elsewhere on the line.
    """
    parts = np.array_split(found, max(1, len(found) // _RUN))
    here = np.array([float(np.quantile(part, _INKED)) for part in parts])
    wide = np.pad(here, 1, mode="edge")
    # A gap as long as a part does not make its paper the ink; a crossing line does not make ink paper.
    here = np.maximum(here, 0.5 * (wide[:-2] + wide[2:]))
    middle = (np.arange(len(parts)) + 0.5) * len(found) / len(parts)
    return np.asarray(np.maximum(np.interp(np.arange(len(found)) + 0.5, middle, here), least))


def _usual(darkness: Darkness, line: Array) -> tuple[float, float]:
    """The usual width and darkness of the stroke along ``line``."""
    picked = line[np.linspace(0, len(line) - 1, min(len(line), 9)).astype(int)]
    found = [stroke_at(darkness, (float(u), float(v)), 3.0) for u, v in picked]
    levels = np.array([level for level, _ in found])
    widths = np.array([width for _, width in found])
    inked = levels >= 0.4 * levels.max()
    return float(np.median(widths[inked])), float(np.median(levels[inked]))


def _normals(line: Array, closed: bool) -> Array:
    along = np.roll(line, -1, axis=0) - np.roll(line, 1, axis=0) if closed else np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.stack((-along[:, 1], along[:, 0]), axis=1)


def _offsets(
    darkness: Darkness, line: Array, normals: Array, width: float, least: float, along: float, closed: bool
) -> tuple[Array, NDArray[np.bool_]]:
    """How far along its normal the middle of the ink lies from each point, and where to believe it."""
    reach = 1.6 * width + 3.0
    n = np.arange(-reach, reach + _STEP / 2, _STEP)
    cut = darkness.at(line[:, None, :] + normals[:, None, :] * n[None, :, None])
    if along > 0.5:
        cut = smoothed(cut, along, closed=closed)
    # Each cut by its own peak, so that a line drawn lighter here and there keeps its width.
    near = np.abs(n) <= width + 1.5
    peak = cut[:, near].max(axis=1)
    level = _running(peak, least)
    peak = np.clip(peak, 0.4 * level, 1.3 * level)
    inked = cut > 0.4 * peak[:, None]
    columns = np.arange(len(n))
    distance = np.where(inked, np.abs(n)[None, :], np.inf)
    pick = np.argmin(distance, axis=1)
    rows = np.arange(len(line))
    has = np.isfinite(distance[rows, pick])
    before = np.maximum.accumulate(np.where(inked, -1, columns[None, :]), axis=1)[rows, pick]
    after = np.minimum.accumulate(np.where(inked, len(n), columns[None, :])[:, ::-1], axis=1)[:, ::-1][
        rows, pick
    ]
    inside = (columns[None, :] > before[:, None]) & (columns[None, :] < after[:, None])
    weight = np.where(inside, np.clip(cut - 0.4 * peak[:, None], 0.0, None), 0.0)
    total = weight.sum(axis=1)
    offset = (weight @ n) / np.maximum(total, 1e-9)
    cut_width = (after - before - 1) * _STEP
    whole = has & (before >= 0) & (after < len(n)) & (np.abs(n[pick]) < width + 1.5)
    if not whole.any():
        return offset, whole
    usual = float(np.median(cut_width[whole]))
    spread = 1.4826 * float(np.median(np.abs(cut_width[whole] - usual)))
    slack = 0.1 * usual + max(0.5, 2.5 * spread)
    odd = ~(whole & (np.abs(cut_width - usual) < slack))
    # What widens a cut reaches a little further than the widening can be told.
    return offset, ~_dilated(odd, max(1, round(0.4 * width + along)))


def _turning(line: Array, reach: float, closed: bool) -> NDArray[np.bool_]:
    """Where a corner may hide: the line turns by more than 30° within ``reach`` points either way.

    And by little more within twice that: a tight curve goes on turning, a corner does not.
    """
    by = max(2, round(reach))
    total, edge = len(line), 2 * by
    if total < 2 * edge + 2:
        return np.zeros(total, dtype=bool)
    soft = smoothed(line, 2.0, closed=closed)
    wide = (
        np.vstack((soft[-edge:], soft, soft[:edge])) if closed
        else np.pad(soft, ((edge, edge), (0, 0)), mode="reflect", reflect_type="odd")
    )
    turns = []
    for far in (by, edge):
        before = soft - wide[edge - far : edge - far + total]
        after = wide[edge + far : edge + far + total] - soft
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        turns.append(np.degrees(np.abs(np.arctan2(cross, (before * after).sum(axis=1)))))
    return np.asarray((turns[0] > 30.0) & (turns[1] < 1.5 * turns[0]))


def _bilevel(piece: Grey) -> bool:
    return bool(((piece == piece.min()) | (piece == piece.max())).all())


def _dilated(flags: NDArray[np.bool_], by: int) -> NDArray[np.bool_]:
    return np.asarray(np.convolve(flags, np.ones(2 * by + 1), "same") > 0.5)


def _scatter(offset: Array, sure: NDArray[np.bool_]) -> float:
    """Standard deviation of single cuts, in pixels.

    From second differences over three points' distance, since the steps of a line of black and white pixels
    do not show between neighbours.
    """
    leap = 3
    both = sure[: -2 * leap] & sure[leap:-leap] & sure[2 * leap :]
    bends = (offset[: -2 * leap] - 2 * offset[leap:-leap] + offset[2 * leap :])[both]
    if len(bends) < 8:
        return 0.0
    # Of independent values, second differences scatter by √6 as much.
    return 1.4826 * float(np.median(np.abs(bends))) / float(np.sqrt(6.0))


def _carried(offset: Array, sure: NDArray[np.bool_], sigma: float, closed: bool) -> Array:
    """Offsets smoothed over the points that are believed, and carried on over the others."""
    total = len(offset)
    index = np.arange(total)
    known = index[sure]
    if closed:
        filled = np.interp(index, known, offset[sure], period=total)
    else:
        filled = np.interp(index, known, offset[sure])
    pair = np.stack((filled, filled), axis=1)
    return smoothed(pair, sigma, closed=closed)[:, 0]


def edged(grey: Grey, path: Array, reach: float) -> Array:
    """Points (M, 2) about a pixel apart along the edge of the filled shape that ``path`` goes round, closed.

    The edge is where the darkness passes half of what it is inside. It is sought within ``reach`` pixels of
    the path along its normals; where the ink goes on (a line leads away), it is carried on between its
    neighbours. Corners are put back where their sides meet.
    """
    darkness = Darkness(grey)
    line = smoothed(spaced(np.asarray(path, dtype=np.float64), 1.0, closed=True), 1.5, closed=True)
    inward = 1.0 if _turns_clockwise(line) else -1.0
    n = np.arange(-reach - 3.0, reach + 3.0 + _STEP / 2, _STEP)
    least = 5.0 if _bilevel(grey) else 1.2
    grain = max(1.5, least)
    for _ in range(_ROUNDS):
        line = spaced(smoothed(line, 0.7 * grain, closed=True), 1.0, closed=True)
        normals = inward * _normals(smoothed(line, 3.0, closed=True), True)
        cut = darkness.at(line[:, None, :] + normals[:, None, :] * n[None, :, None])
        level = np.maximum(np.median(cut[:, n > 0.5 * reach], axis=1), 0.5 * float(np.median(cut[:, -1])))
        over = cut - 0.5 * level[:, None]
        passing = (over[:, :-1] < 0) & (over[:, 1:] >= 0)
        distance = np.where(passing, np.abs(n[:-1])[None, :], np.inf)
        pick = np.argmin(distance, axis=1)
        rows = np.arange(len(line))
        sure = distance[rows, pick] <= reach
        if not sure.any():
            break
        a, b = over[rows, pick], over[rows, pick + 1]
        offset = n[pick] + _STEP * a / np.where(a - b != 0, a - b, 1.0)
        grain = float(np.clip((_scatter(offset, sure) / _CALM) ** 2 / 3.54, least, 8.0))
        line = line + _carried(offset, sure, grain, True)[:, None] * normals
    line = spaced(line, 1.0, closed=True)
    blind = max(4, round(0.7 * reach), round(1.5 * grain))
    found = corners(line, blind, 16, closed=True, rough=0.4)
    return sharpened(line, found, blind, closed=True)


def _turns_clockwise(line: Array) -> bool:
    """As seen, v down."""
    u, v = line.T
    return float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum()) > 0
