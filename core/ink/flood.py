"""Masks: what hangs together with a cell, grown and shrunk masks, and the way round a mask.

All by runs along rows and whole-array steps, since a flood cell by cell is too slow in Python.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.ink.darkness import Array

Mask = NDArray[np.bool_]


def component(mask: Mask, row: int, column: int) -> Mask:
    """The cells that hang together with (row, column) over their edges; empty where that cell is not set.

    Runs of set cells are joined to those they touch in the next row, labels sinking to the least by
    pointer jumping (Shiloach and Vishkin, Journal of Algorithms 3, 1982; from memory).
    """
    if not mask[row, column]:
        return np.zeros_like(mask)
    height, width = mask.shape
    padded = np.zeros((height, width + 2), dtype=np.int8)
    padded[:, 1:-1] = mask
    change = np.diff(padded, axis=1)
    rows, begin = np.nonzero(change == 1)
    end = np.nonzero(change == -1)[1]
    # Keys grow with row and column, so that one sorted search finds what lies below each run.
    key_begin, key_end = rows * (width + 2) + begin, rows * (width + 2) + end
    low = np.searchsorted(key_end, key_begin + width + 2, side="right")
    high = np.searchsorted(key_begin, key_end + width + 2, side="left")
    number = np.maximum(high - low, 0)
    upper = np.repeat(np.arange(len(rows)), number)
    first = np.concatenate(([0], np.cumsum(number)[:-1]))
    lower = np.arange(int(number.sum())) - np.repeat(first, number) + np.repeat(low, number)
    label = np.arange(len(rows))
    while True:
        a, b = label[upper], label[lower]
        differ = a != b
        if not differ.any():
            break
        a, b = a[differ], b[differ]
        np.minimum.at(label, np.maximum(a, b), np.minimum(a, b))
        while True:
            next_label = label[label]
            if np.array_equal(next_label, label):
                break
            label = next_label
    mine = int(np.searchsorted(key_begin, row * (width + 2) + column, side="right")) - 1
    chosen = label == label[mine]
    marks = np.zeros(height * (width + 1), dtype=np.int8)
    marks[(rows * (width + 1) + begin)[chosen]] = 1
    marks[(rows * (width + 1) + end)[chosen]] -= 1
    filled = np.cumsum(marks, dtype=np.int8).reshape(height, width + 1)[:, :width]
    return np.asarray(filled > 0)


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
