"""Which way the ink runs at each place of a picture, and how much of it runs each of four ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.ink.darkness import Dark, blurred

ACROSS, DOWN, FALLING, RISING = range(4)
"""The four ways that steps between cells go: right, down, right and down, right and up (v down)."""
_BLUR = 3
_LEAST, _FULL = 0.75, 0.93
"""Coherence at which the direction begins to count, and from which it is sure."""
_FAINT = 4e-3
_INK = 0.25
"""Less ink than this is paper."""


@dataclass(frozen=True, eq=False)
class Directions:
    """``u`` and ``v`` (H, W): the unit vector along the ink, either way round; ``sure``, 0 to 1.

    ``sure`` says how clearly: 0 on paper and where lines cross or meet.
    """

    u: Dark
    v: Dark
    sure: Dark


def directions(dark: Dark) -> Directions:
    """The local direction of lines, ``dark`` (H, W) being how much ink each cell holds, 0 to 1.

    By the structure tensor: the mean of the gradients' products around each cell, whose main axis lies across
    the ink (Bigün and Granlund, "Optimal orientation detection of linear symmetry", 1987; from memory).
    """
    wide = np.pad(dark, 1, mode="edge")
    down, over = wide[2:, 1:-1] - wide[:-2, 1:-1], wide[1:-1, 2:] - wide[1:-1, :-2]
    xx, yy, xy = (blurred(product, _BLUR) for product in (over * over, down * down, over * down))
    u, v, sure = (np.zeros(dark.shape, dtype=np.float32) for _ in range(3))
    # On paper nothing is asked: angles take their time.
    ink = dark > _INK
    xx, yy, xy, dark = xx[ink], yy[ink], xy[ink], dark[ink]
    coherent = np.hypot(xx - yy, 2.0 * xy) / (xx + yy + np.float32(_FAINT))
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy) + np.float32(0.5 * np.pi)
    u[ink], v[ink] = np.cos(angle), np.sin(angle)
    sure[ink] = np.clip((coherent - _LEAST) / (_FULL - _LEAST), 0.0, 1.0) * np.minimum(
        dark / _INK - 1.0, 1.0
    )
    return Directions(u, v, sure)


def ink_along(dark: Dark) -> tuple[Dark, Dark, Dark, Dark]:
    """How much ink runs ``ACROSS``, ``DOWN``, ``FALLING`` and ``RISING`` at each cell, 0 to 1.

    Means over seven cells along the way (five along the diagonals), the one in the middle counted twice: ink
    that runs across the way is little, and a flaw in a line hardly less.
    """
    return (
        _mean(dark, 0, 1, 7), _mean(dark, 1, 0, 7), _mean(dark, 1, 1, 5), _mean(dark, 1, -1, 5)
    )


def _mean(dark: Dark, down: int, over: int, cells: int) -> Dark:
    rows, columns = dark.shape
    by = cells // 2
    wide = np.pad(dark, by, mode="edge")
    total = 2.0 * dark
    for n in range(1, by + 1):
        for way in (-n, n):
            top, left = by + way * down, by + way * over
            total += wide[top : top + rows, left : left + columns]
    return np.asarray(total / np.float32(cells + 1), dtype=np.float32)
