"""From grey to darkness: the paper's shading taken away, how dark a line is, how wide its stroke."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
Dark = NDArray[np.float32]

_BLOCK = 24
_KNOWN = 0.6
"""A block darker than this part of the brightest is ink throughout, and says nothing of the paper."""
_MOST_BLOCKS = 40


def reduced(grey: Grey, k: int) -> Dark:
    """Means of ``k`` × ``k`` pixels; the last ones at the right and below of what is left over."""
    if k == 1:
        return grey.astype(np.float32)
    height, width = grey.shape
    whole_rows, whole_columns = height // k, width // k
    out = np.empty((-(-height // k), -(-width // k)), dtype=np.float32)
    body = grey[: whole_rows * k, : whole_columns * k]
    # Adding k * k thinned-out pictures takes a fifth of the time that sums over blocks take.
    total = np.zeros((whole_rows, whole_columns), dtype=np.float32)
    for i in range(k):
        for j in range(k):
            total += body[i::k, j::k]
    out[:whole_rows, :whole_columns] = total / np.float32(k * k)
    if whole_columns * k < width:
        out[:, whole_columns:] = _block_means(grey[:, whole_columns * k :], k)
    if whole_rows * k < height:
        out[whole_rows:] = _block_means(grey[whole_rows * k :], k)
    return out


def _block_means(grey: Grey, k: int) -> Dark:
    height, width = grey.shape
    rows = np.add.reduceat(grey, np.arange(0, height, k), axis=0, dtype=np.float32)
    cells = np.add.reduceat(rows, np.arange(0, width, k), axis=1)
    down = np.minimum(k, height - np.arange(0, height, k)).astype(np.float32)
    over = np.minimum(k, width - np.arange(0, width, k)).astype(np.float32)
    return np.asarray(cells / (down[:, None] * over[None, :]), dtype=np.float32)


class Darkness:
    """A grey picture as darkness against its own paper, whose shading is taken from bright blocks."""

    def __init__(self, grey: Grey | Dark, *, lines: bool = False) -> None:
        """``grey`` (H, W), at least one pixel; uint8, or float32 where it was reduced.

        With ``lines`` nothing but lines is looked for: what is dark over a wide space is then paper in the
        shadow, and no filled shape.
        """
        self.grey, self._lines = grey, lines
        height, width = grey.shape
        self._rows = min(max(1, round(height / _BLOCK)), _MOST_BLOCKS)
        self._columns = min(max(1, round(width / _BLOCK)), _MOST_BLOCKS)
        self._level = self._blocks()

    def _blocks(self) -> Dark:
        """The paper's grey in the middle of each block."""
        grey, rows, columns = self.grey, self._rows, self._columns
        height, width = grey.shape
        top = np.linspace(0, height, rows + 1).astype(int)
        left = np.linspace(0, width, columns + 1).astype(int)
        leap = max(1, math.ceil(math.sqrt(height * width / (rows * columns)) / _BLOCK))
        level = np.empty((rows, columns), dtype=np.float32)
        for i in range(rows):
            band = grey[top[i] : top[i + 1] : leap]
            for j in range(columns):
                block = band[:, left[j] : left[j + 1] : leap].ravel()
                place = int(0.7 * (block.size - 1))
                level[i, j] = np.partition(block, place)[place]
        level = _spread(level, level >= _KNOWN * (_brightest(level) if self._lines else level.max()))
        return np.maximum(level, _around(level))

    def paper(self) -> Dark:
        """The darkness of the bare paper at each pixel, (H, W)."""
        height, width = self.grey.shape
        v = (np.arange(height, dtype=np.float32) + 0.5) * self._rows / height
        u = (np.arange(width, dtype=np.float32) + 0.5) * self._columns / width
        down = _between(self._level, np.clip(v - 0.5, 0, self._rows - 1))
        over = _between(np.ascontiguousarray(down.T), np.clip(u - 0.5, 0, self._columns - 1))
        return np.ascontiguousarray(over.T)

    def darkness(self) -> Dark:
        """How much darker than the paper each pixel is, 0 or more, (H, W)."""
        return np.asarray(np.maximum(self.paper() - self.grey, 0.0), dtype=np.float32)

    def at(self, points: Array) -> Array:
        """Darkness at pixel coordinates ``points`` (..., 2), between pixels; shape (...)."""
        height, width = self.grey.shape
        share = points * np.array([self._columns / width, self._rows / height])
        return np.maximum(sampled(self._level, share) - sampled(self.grey, points), 0.0)


def _between(values: Dark, at: Dark) -> Dark:
    """Rows of ``values`` read at fractional places."""
    low = at.astype(int)
    high = np.minimum(low + 1, len(values) - 1)
    part = (at - low)[:, None]
    return np.asarray(values[low] * (1 - part) + values[high] * part, dtype=np.float32)


def _around(level: Dark) -> Dark:
    """Mean of each block and its eight neighbours."""
    wide = np.pad(level, 1, mode="edge")
    rows, columns = level.shape
    total = sum(wide[i : i + rows, j : j + columns] for i in range(3) for j in range(3))
    return np.asarray(total / 9.0, dtype=np.float32)


def _brightest(level: Dark) -> Dark:
    """The brightest of the blocks within two of each."""
    wide = np.pad(level, 2, mode="edge")
    rows, columns = level.shape
    over = np.max([wide[i : i + rows] for i in range(5)], axis=0)
    return np.asarray(np.max([over[:, j : j + columns] for j in range(5)], axis=0), dtype=np.float32)


def _spread(level: Dark, known: NDArray[np.bool_]) -> Dark:
    """Unknown blocks filled from known neighbours, ring by ring."""
    rows, columns = level.shape
    while not known.all():
        wide = np.pad(np.where(known, level, 0.0), 1)
        sure = np.pad(known, 1).astype(np.float32)
        total = sum(wide[i : i + rows, j : j + columns] for i in range(3) for j in range(3))
        number = sum(sure[i : i + rows, j : j + columns] for i in range(3) for j in range(3))
        fresh = ~known & (number > 0)
        level = np.where(fresh, total / np.maximum(number, 1), level).astype(np.float32)
        known = known | fresh
    return level


def blurred(values: Dark, rounds: int = 1) -> Dark:
    """Weights 1 2 1 both ways, ``rounds`` times."""
    for _ in range(rounds):
        wide = np.pad(values, 1, mode="edge")
        down = wide[:-2] + 2 * wide[1:-1] + wide[2:]
        values = (down[:, :-2] + 2 * down[:, 1:-1] + down[:, 2:]) / np.float32(16.0)
    return values


def noise(light: Grey | Dark) -> float:
    """Standard deviation of the grain, from neighbouring pixels (half of the differences are paper)."""
    if light.shape[1] < 2:
        return 1.0
    return float(np.median(np.abs(np.diff(light.astype(np.float32), axis=1)))) / (0.6745 * math.sqrt(2.0))


def sampled(values: Grey | Dark, points: Array) -> Array:
    """``values`` at pixel coordinates ``points`` (..., 2), bilinear, clamped at the border; shape (...)."""
    height, width = values.shape
    u = np.clip(points[..., 0] - 0.5, 0.0, width - 1.0)
    v = np.clip(points[..., 1] - 0.5, 0.0, height - 1.0)
    i, j = u.astype(np.intp), v.astype(np.intp)
    fu, fv = u - i, v - j
    i2, j2 = np.minimum(i + 1, width - 1), np.minimum(j + 1, height - 1)
    top = values[j, i] * (1 - fu) + values[j, i2] * fu
    below = values[j2, i] * (1 - fu) + values[j2, i2] * fu
    return np.asarray(top * (1 - fv) + below * fv, dtype=np.float64)


_RAYS = np.stack([f(np.radians(np.arange(0.0, 360.0, 22.5))) for f in (np.cos, np.sin)], axis=1)


def stroke_at(
    darkness: Darkness, at: tuple[float, float], near: float = 3.0, most: float = 60.0
) -> tuple[float, float]:
    """(level, width): the darkness of the stroke near ``at`` and its width in pixels.

    The darkest place within ``near`` pixels is taken as the stroke; the width is the shortest of eight
    cuts through it, at half the level, ``most`` at most.
    """
    height, width = darkness.grey.shape
    reach = np.arange(-math.floor(near), math.floor(near) + 1)
    u = np.clip(math.floor(at[0]) + reach, 0, width - 1) + 0.5
    v = np.clip(math.floor(at[1]) + reach, 0, height - 1) + 0.5
    spots = np.stack(np.meshgrid(u, v), axis=2)
    soft = blurred(darkness.at(spots).astype(np.float32))
    row, column = np.unravel_index(int(np.argmax(soft)), soft.shape)
    level = float(soft[row, column])
    if level <= 0:
        return 0.0, 1.0
    centre = spots[row, column]
    far = np.arange(0.0, min(most, max(width, height)), 0.5)
    rays = centre + far[None, :, None] * _RAYS[:, None, :]
    light = darkness.at(rays) < 0.5 * level
    light[:, -1] = True
    length = far[np.argmax(light, axis=1)]
    return level, max(1.0, float((length[:8] + length[8:]).min()))
