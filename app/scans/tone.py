"""How a scan is shown, its file untouched: blueprints inverted, shading levelled, faint lines thickened.

Everything is done in place on level 0, strip by strip, beside the drawing thread: a strip and a few
rows of a float a pixel are all the memory it takes. The order is invert, level, thicken, so that the
paper is the light part in each step that asks for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage

from app.scans.levels import Bytes, grey_pixels, strips
from core.design import Tone

Floats = NDArray[np.float32]
Step = Callable[[float], None]

GRID = 32
"""Cells along the longer side over which the paper's brightness is estimated."""
PAPER_PERCENTILE = 85
"""Of a cell's pixels: with less than 15 % of ink, this is paper. Common practice, no source."""
INK_BELOW = 0.6
"""A cell darker than this part of its surroundings is drawn black, not shaded. From trials, no source."""
MOST_GAIN = 4.0
"""What is darker than a quarter of white is never taken for paper in a shade."""
_SAMPLES_ACROSS_CELL = 32
_CLOSED_CELLS = 5
_ROWS_AT_ONE_GAIN = 8
AS_IT_IS = Tone()


@dataclass(frozen=True, eq=False)
class Shading:
    """The paper's brightness on a grid of cell middles, shape (rows, columns, channels), 0 to 255."""

    cells: Floats

    def gain_rows(self, middles: Floats, width: int) -> Floats:
        """255 over the brightness, shape (rows, width, channels); ``middles`` are 0 to 1 down the sheet."""
        rows, columns = self.cells.shape[:2]
        down, lower, part_down = _between(middles, rows)
        middles_across = (np.arange(width, dtype=np.float32) + np.float32(0.5)) / np.float32(width)
        across, right, part_across = _between(middles_across, columns)
        at = self.cells[down] + part_down[:, None, None] * (self.cells[lower] - self.cells[down])
        wide: Floats = at[:, across] + part_across[None, :, None] * (at[:, right] - at[:, across])
        return (255.0 / np.maximum(wide, 255.0 / MOST_GAIN)).astype(np.float32, copy=False)


def applied(level_0: QImage, tone: Tone, step: Step | None = None) -> None:
    """Change a Format_Grayscale8 or Format_RGB32 picture in place.

    ``step`` hears the part done, 0 to 1, and may raise to stop: the picture is then half changed.
    """
    pixels = channels_of(level_0)
    parts = [tone.invert, tone.level, bool(tone.thicken)]
    done = 0

    def tell(part: float) -> None:
        if step is not None:
            step((done + part) / max(sum(parts), 1))

    if tone.invert:
        invert(pixels, tell)
        done += 1
    if tone.level:
        level(pixels, shading_of(pixels), tell)
        done += 1
    if tone.thicken:
        thicken(pixels, tone.thicken, tell)


def channels_of(image: QImage) -> Bytes:
    """Every byte of a grey or RGB32 image as a writable view, shape (height, width, 1 or 4).

    The view must not outlive the image.
    """
    if image.format() == QImage.Format.Format_Grayscale8:
        return grey_pixels(image)[:, :, None]
    return np.frombuffer(image.bits(), np.uint8).reshape(image.height(), image.width(), 4)


def invert(pixels: Bytes, tell: Step) -> None:
    """Light turned dark and dark light, in place; twice gives the first. Shape (height, width, 1 or 4).

    The fourth byte of RGB32 is no colour and is left alone.
    """
    colours = pixels[:, :, :3]
    for first, last in strips(len(pixels), pixels[0].size):
        np.subtract(255, colours[first:last], out=colours[first:last])
        tell(last / len(pixels))


def shading_of(pixels: Bytes) -> Shading:
    """The paper's brightness over the sheet, from a thinned-out picture; shape (height, width, 1 or 4).

    In each cell of a grid a high percentile; where that is dark because it is drawn black, up to four
    cells across, a closing (dilation, then erosion) over five cells takes its place; a mean over three
    smooths.
    """
    height, width, channels = pixels.shape
    cell = max(height, width) / GRID
    rows, columns = max(1, round(height / cell)), max(1, round(width / cell))
    cells = np.empty((rows, columns, channels), np.float32)
    thin = max(1, int(cell) // _SAMPLES_ACROSS_CELL)
    for i in range(rows):
        band = pixels[i * height // rows : max((i + 1) * height // rows, i * height // rows + 1) : thin]
        for j in range(columns):
            first = j * width // columns
            patch = band[:, first : max((j + 1) * width // columns, first + 1) : thin]
            cells[i, j] = np.percentile(patch, PAPER_PERCENTILE, axis=(0, 1))
    reach = _CLOSED_CELLS // 2
    closed = np.max(_windows(_continued(cells, 2 * reach), reach), axis=0)
    closed = np.min(_windows(closed, reach), axis=0)
    cells = np.where(cells < INK_BELOW * closed, closed, cells)
    smooth: Floats = np.mean(_windows(_continued(cells, 1), 1), axis=0, dtype=np.float32)
    return Shading(np.clip(smooth, np.float32(255.0 / MOST_GAIN), np.float32(255.0)))


def level(pixels: Bytes, shading: Shading, tell: Step) -> None:
    """Every pixel times 255 over the paper's brightness there, no more than 255; in place."""
    height, width, channels = pixels.shape
    rows_at_once = _ROWS_AT_ONE_GAIN * max(1, (1 << 17) // (width * channels * _ROWS_AT_ONE_GAIN))
    for first in range(0, height, rows_at_once):
        last = min(first + rows_at_once, height)
        # The paper changes so slowly that a few rows share their gain.
        middles = np.arange(first + _ROWS_AT_ONE_GAIN / 2, last + _ROWS_AT_ONE_GAIN / 2, _ROWS_AT_ONE_GAIN)
        gains = shading.gain_rows(np.minimum(middles / height, 1.0).astype(np.float32), width)
        for i, gain in enumerate(gains):
            rows = pixels[first + i * _ROWS_AT_ONE_GAIN : min(first + (i + 1) * _ROWS_AT_ONE_GAIN, last)]
            levelled = np.multiply(rows, gain, dtype=np.float32)
            levelled += np.float32(0.5)
            np.minimum(levelled, np.float32(255.0), out=levelled)
            rows[:] = levelled
        tell(last / height)


def thicken(pixels: Bytes, radius: int, tell: Step) -> None:
    """Every pixel becomes the darkest within ``radius`` pixels of it (a disc, its rim included); in place."""
    height, width, channels = pixels.shape
    half_widths = [math.isqrt(radius * radius - dy * dy) for dy in range(radius + 1)]
    above = np.empty((0, width, channels), np.uint8)
    step = max(4 * radius, (1 << 19) // (width * channels))
    for first in range(0, height, step):
        last = min(first + step, height)
        # The rows above are changed already: what they were has been kept.
        source = np.concatenate((above, pixels[first : min(last + radius, height)]))
        wide = _darkest_along(source, sorted(set(half_widths)))
        out, start = pixels[first:last], len(above)
        for dy in range(-radius, radius + 1):
            low = start + dy
            kept = slice(max(-low, 0), min(last - first, len(source) - low))
            if kept.stop <= kept.start:
                continue
            rows = wide[half_widths[abs(dy)]][low + kept.start : low + kept.stop]
            np.minimum(out[kept], rows, out=out[kept])
        # A copy: a view would keep the whole strip alive.
        above = source[start + last - first - min(radius, start + last - first) : start + last - first].copy()
        tell(last / height)


def _darkest_along(rows: Bytes, half_widths: list[int]) -> dict[int, Bytes]:
    """For each half width, the darkest of so many pixels to either side, along each row."""
    found: dict[int, Bytes] = {}
    darkest = rows.copy()
    for by in range(half_widths[-1] + 1):
        if 0 < by < rows.shape[1]:
            np.minimum(darkest[:, by:], rows[:, :-by], out=darkest[:, by:])
            np.minimum(darkest[:, :-by], rows[:, by:], out=darkest[:, :-by])
        if by in half_widths:
            found[by] = darkest if by == half_widths[-1] else darkest.copy()
    return found


def _between(places: Floats, count: int) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """For places 0 to 1 over ``count`` cells: the cell middle before, the one after, and the part between."""
    at = places * count - np.float32(0.5)
    before = np.clip(np.floor(at), 0, max(count - 2, 0)).astype(np.intp)
    # Half a cell at the edges is continued straight on.
    return before, np.minimum(before + 1, count - 1), (at - before).astype(np.float32)


def _continued(cells: Floats, by: int) -> Floats:
    """With so many more cells on all sides, a slope going on as it was."""
    return np.pad(cells, ((by, by), (by, by), (0, 0)), mode="reflect", reflect_type="odd")


def _windows(cells: Floats, reach: int) -> list[Floats]:
    """The cells within ``reach`` of each, but for those at the edges that have no such neighbours."""
    rows, columns = cells.shape[0] - 2 * reach, cells.shape[1] - 2 * reach
    span = range(2 * reach + 1)
    return [cells[i : i + rows, j : j + columns] for i in span for j in span]
