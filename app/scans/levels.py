"""The pixels of images as arrays, and the pyramid of whole images, each half as large as the one before."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage

SMALLEST_LEVEL = 256
_STRIP_PIXELS = 1 << 18

Bytes = NDArray[np.uint8]
Words = NDArray[np.uint32]


def blank(width: int, height: int, *, colour: bool) -> QImage:
    """An unwritten image of that size in pixels; MemoryError where there is no room for it."""
    kind = QImage.Format.Format_RGB32 if colour else QImage.Format.Format_Grayscale8
    image = QImage(width, height, kind)
    if image.isNull():
        raise MemoryError(f"no room for a picture of {width} x {height} pixels")
    return image


def grey_pixels(image: QImage, *, padded: bool = False) -> Bytes:
    """The bytes of a Format_Grayscale8 image, shape (height, width), as a writable view.

    ``padded`` keeps the unused bytes at the end of each line. The view must not outlive the image.
    """
    lines = np.frombuffer(image.bits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return lines if padded else lines[:, : image.width()]


def colour_pixels(image: QImage) -> Words:
    """The words 0xffRRGGBB of a Format_RGB32 image, shape (height, width), as a writable view."""
    return np.frombuffer(image.bits(), np.uint32).reshape(image.height(), image.width())


def pixels_of(image: QImage) -> Bytes:
    """Greys (height, width) or colours (height, width, 3), red first, of an image; a copy of the colours."""
    if image.format() == QImage.Format.Format_Grayscale8:
        return grey_pixels(image)
    words = colour_pixels(image)
    return np.stack([(words >> shift & 0xFF).astype(np.uint8) for shift in (16, 8, 0)], axis=2)


def strips(rows: int, width: int) -> Iterator[tuple[int, int]]:
    """Half-open row ranges that cover ``rows``, each small enough to stay in the cache."""
    step = max(1, _STRIP_PIXELS // max(width, 1))
    for first in range(0, rows, step):
        yield first, min(first + step, rows)


def greys_of(image: QImage) -> Bytes:
    """A Format_RGB32 image as greys 0 to 255, shape (height, width), weighted as qGray does."""
    words = colour_pixels(image)
    grey = np.empty(words.shape, np.uint8)
    for first, last in strips(len(words), image.width()):
        blue, green, red = (words[first:last].view(np.uint8)[:, i::4].astype(np.uint16) for i in range(3))
        grey[first:last] = (11 * red + 16 * green + 5 * blue) >> 5
    return grey


def pyramid(level_0: QImage, step: Callable[[float], None] | None = None) -> tuple[QImage, ...]:
    """``level_0`` and its halvings, down to a longer side of about 256 pixels.

    ``level_0`` is Format_Grayscale8 or Format_RGB32. ``step`` hears the part done, 0 to 1, after
    each strip, and may raise to stop. MemoryError where there is no room.
    """
    levels = [level_0]
    while max(levels[-1].width(), levels[-1].height()) > SMALLEST_LEVEL:
        levels.append(_halved(levels[-1], len(levels), step))
    return tuple(levels)


def _halved(image: QImage, index: int, step: Callable[[float], None] | None) -> QImage:
    width, height = image.width(), image.height()
    colour = image.format() == QImage.Format.Format_RGB32
    half = blank((width + 1) // 2, (height + 1) // 2, colour=colour)
    # Level k is a quarter of level k - 1, so the share of all work before it is 1 - 4**(1 - k).
    before, share = 1 - 4.0 ** (1 - index), 0.75 * 4.0 ** (1 - index)
    for first, last in strips(height // 2, 2 * width):
        halve_rows(image, half, slice(2 * first, 2 * last, 2), slice(2 * first + 1, 2 * last, 2), first)
        if step is not None:
            step(before + share * last / half.height())
    if height % 2:
        last_row = slice(height - 1, height)
        halve_rows(image, half, last_row, last_row, half.height() - 1)
    return half


def halve_rows(image: QImage, half: QImage, upper: slice, lower: slice, first: int) -> None:
    """Write the means of these row pairs of ``image`` to the rows of ``half`` from ``first`` on."""
    if image.format() == QImage.Format.Format_RGB32:
        words = colour_pixels(image)
        means = _mean_of_colours(words[upper], words[lower])
        colour_pixels(half)[first : first + means.shape[0]] = means
    else:
        lines = grey_pixels(image, padded=True)
        rows = grey_pixels(half)[first : first + lines[upper].shape[0]]
        _mean_of_greys(lines[upper], lines[lower], image.width(), rows)


def _mean_of_greys(upper: Bytes, lower: Bytes, width: int, out: Bytes) -> None:
    pairs = width // 2
    # Two neighbouring bytes are read as one 16-bit word: contiguous work instead of strided.
    a, b = upper.view(np.uint16)[:, :pairs], lower.view(np.uint16)[:, :pairs]
    total = (a & 0xFF) + (a >> 8)
    total += b & 0xFF
    total += b >> 8
    total += 2
    total >>= 2
    out[:, :pairs] = total
    if width % 2:
        edge = upper[:, width - 1].astype(np.uint16) + lower[:, width - 1]
        out[:, -1] = (edge + 1) >> 1


def _mean_of_colours(upper: Words, lower: Words) -> Words:
    if upper.shape[1] % 2:
        upper, lower = (np.concatenate((rows, rows[:, -1:]), axis=1) for rows in (upper, lower))
    # Two channels at a time, each with eight spare bits above it for the sum of four.
    mask, half = np.uint32(0x00FF00FF), np.uint32(0x00020002)
    low = np.full((upper.shape[0], upper.shape[1] // 2), half)
    high = low.copy()
    for rows in (upper, lower):
        for side in (rows[:, 0::2], rows[:, 1::2]):
            low += side & mask
            high += (side >> 8) & mask
    for channels in (low, high):
        channels >>= np.uint32(2)
        channels &= mask
    high <<= np.uint32(8)
    low |= high
    return low
