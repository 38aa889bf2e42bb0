"""Masks: what hangs together, what a line goes round, grown and shrunk masks, the way round a mask.

All by runs along rows and whole-array steps, since a flood cell by cell is too slow in Python.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.ink.darkness import Array

Mask = NDArray[np.bool_]


def component(mask: Mask, row: int, column: int) -> Mask:
    """The cells that hang together with (row, column) over their edges; empty where that cell is not set."""
    if not mask[row, column]:
        return np.zeros_like(mask)
    runs = _runs(mask)
    label = _joined(runs, mask.shape[1] + 2)
    rows, begin, end = runs
    mine = int(np.flatnonzero((rows == row) & (begin <= column) & (end > column))[0])
    return np.asarray(_filled(mask.shape, runs, (label == label[mine]).astype(np.int8)) > 0)


def parts(mask: Mask) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
    """(part, size): of each cell the number of the part it hangs together with, 0 where it is not set.

    Parts hang together over the edges of their cells and are numbered from 1, largest first; ``size[n]``
    is how many cells part n has, ``size[0]`` is 0.
    """
    runs = _runs(mask)
    rows, begin, end = runs
    if not len(rows):
        return np.zeros(mask.shape, dtype=np.int32), np.zeros(1, dtype=np.int64)
    root, name = np.unique(_joined(runs, mask.shape[1] + 2), return_inverse=True)
    cells = np.bincount(name, weights=end - begin, minlength=len(root)).astype(np.int64)
    order = np.argsort(-cells, kind="stable")
    number = np.empty(len(root), dtype=np.int32)
    number[order] = np.arange(1, len(root) + 1)
    return _filled(mask.shape, runs, number[name]), np.concatenate(([0], cells[order]))


def boxes(part: NDArray[np.int32], count: int) -> NDArray[np.int64]:
    """(count, 4): the first row, the row after the last, first and after the last column of each part.

    ``part`` as ``parts`` gives it; a number that no cell has gets an empty box.
    """
    rows, columns = np.nonzero(part)
    number = part[rows, columns]
    out = np.zeros((count, 4), dtype=np.int64)
    out[:, [0, 2]] = part.shape
    for column, at in ((0, rows), (2, columns)):
        np.minimum.at(out[:, column], number, at)
        np.maximum.at(out[:, column + 1], number, at + 1)
    return out


_Runs = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]


def _runs(mask: Mask) -> _Runs:
    """(row, begin, end) of every run of set cells along a row."""
    padded = np.zeros((mask.shape[0], mask.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = mask
    change = np.diff(padded, axis=1)
    rows, begin = np.nonzero(change == 1)
    return rows, begin, np.nonzero(change == -1)[1]


def _joined(runs: _Runs, stride: int) -> NDArray[np.int64]:
    """A label for every run, the same for those that hang together.

    Runs of set cells are joined to those they touch in the next row, labels sinking to the least by
    pointer jumping (Shiloach and Vishkin, Journal of Algorithms 3, 1982; from memory).
    """
    rows, begin, end = runs
    # Keys grow with row and column, so that one sorted search finds what lies below each run.
    key_begin, key_end = rows * stride + begin, rows * stride + end
    low = np.searchsorted(key_end, key_begin + stride, side="right")
    high = np.searchsorted(key_begin, key_end + stride, side="left")
    number = np.maximum(high - low, 0)
    upper = np.repeat(np.arange(len(rows)), number)
    first = np.concatenate(([0], np.cumsum(number)[:-1]))
    lower = np.arange(int(number.sum())) - np.repeat(first, number) + np.repeat(low, number)
    label = np.arange(len(rows))
    while True:
        a, b = label[upper], label[lower]
        differ = a != b
        if not differ.any():
            return label
        a, b = a[differ], b[differ]
        np.minimum.at(label, np.maximum(a, b), np.minimum(a, b))
        while True:
            next_label = label[label]
            if np.array_equal(next_label, label):
                break
            label = next_label


def _filled(shape: tuple[int, ...], runs: _Runs, values: NDArray[Any]) -> NDArray[Any]:
    """A picture whose runs hold ``values``, 0 beside them."""
    height, width = shape
    rows, begin, end = runs
    marks = np.zeros(height * (width + 1), dtype=values.dtype)
    marks[rows * (width + 1) + begin] = values
    marks[rows * (width + 1) + end] -= values
    return np.cumsum(marks, dtype=values.dtype).reshape(height, width + 1)[:, :width]


def within(loop: Array, shape: tuple[int, int]) -> Mask:
    """The cells of a picture of that shape whose middles a closed line (N, 2) goes round, (u, v).

    A line that crosses itself goes round all that it winds about: its beginning may lie inside its end.
    """
    height, width = shape
    (u, v), (u2, v2) = loop.T, np.roll(loop, -1, axis=0).T
    turns = np.zeros((height, width + 1), dtype=np.int32)
    low = np.clip(np.ceil(np.minimum(v, v2) - 0.5), 0, height).astype(int)
    high = np.clip(np.ceil(np.maximum(v, v2) - 0.5), 0, height).astype(int)
    number = high - low
    edge = np.repeat(np.arange(len(loop)), number)
    first = np.concatenate(([0], np.cumsum(number)[:-1]))
    rows = np.arange(int(number.sum())) - np.repeat(first, number) + low[edge]
    part = (rows + 0.5 - v[edge]) / (v2 - v)[edge]
    columns = np.clip(np.ceil(u[edge] + part * (u2 - u)[edge] - 0.5), 0, width).astype(int)
    np.add.at(turns, (rows, columns), np.where(v2 > v, 1, -1)[edge])
    return np.asarray(np.cumsum(turns, axis=1)[:, :width] != 0)


def grown(mask: Mask, radius: int, within: Mask | None = None) -> Mask:
    """The mask with all cells within about ``radius`` of it (an octagon), kept ``within`` at every step."""
    for step in range(radius):
        wide = np.pad(mask, 1)
        if step % 2:
            line = wide[:, :-2] | wide[:, 1:-1] | wide[:, 2:]
            mask = line[:-2] | line[1:-1] | line[2:]
        else:
            mask = wide[:-2, 1:-1] | wide[2:, 1:-1] | wide[1:-1, :-2] | wide[1:-1, 2:] | mask
        if within is not None:
            mask = mask & within
    return mask


def shrunk(mask: Mask, radius: int) -> Mask:
    """The mask without the cells within about ``radius`` of its outside; beyond the picture is inside."""
    return ~grown(~mask, radius)


def touches_border(mask: Mask) -> bool:
    """Whether any cell of the outermost rows and columns is set."""
    return bool(mask[0].any() or mask[-1].any() or mask[:, 0].any() or mask[:, -1].any())


def around(mask: Mask) -> Array:
    """The corners of cells passed on the way round the mask's first part, outside only; (N, 2) as (u, v).

    Clockwise as seen (v down), starting at its topmost, leftmost cell; the first is not repeated.
    """
    height, width = mask.shape
    wide = width + 2
    cells = np.zeros((height + 2, wide), dtype=np.uint8)
    cells[1:-1, 1:-1] = mask
    flat = cells.tobytes()
    start = flat.find(1)
    if start < 0:
        return np.zeros((0, 2))
    # A corner is named by the cell right below it. Right, down, left, up: the step along the crack, and
    # the cells ahead on its left and right.
    step = (1, wide, -1, -wide)
    left = (-wide, 0, -1, -wide - 1)
    right = (0, -1, -wide - 1, -wide)
    at, heading = start, 0
    trail = []
    while True:
        trail.append(at)
        at += step[heading]
        if not flat[at + right[heading]]:
            heading = (heading + 1) % 4
        elif flat[at + left[heading]]:
            heading = (heading - 1) % 4
        if at == start and heading == 0:
            break
    index = np.array(trail)
    return np.stack((index % wide - 1, index // wide - 1), axis=1).astype(np.float64)
