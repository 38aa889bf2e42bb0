"""A scan in memory: a pyramid of whole pictures, each half as large as the one before.

Whole ``QImage``s rather than tiles or pixmaps: a pixmap is always 32 bit, and a single full-size
picture loses thin ink lines when it is drawn small.

Pixel coordinates are continuous: u right, v down, and the pixel (i, j) covers [i, i+1) x [j, j+1).
One pixel of level k covers ``shrunk * 2**k`` source pixels each way, measured from the top left
corner; the last column or row of an odd-sized level reaches past the picture's edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage

if TYPE_CHECKING:
    from app.scans.pdf_detail import Detail

SMALLEST_LEVEL = 256
_STRIP_PIXELS = 1 << 18

Bytes = NDArray[np.uint8]
Words = NDArray[np.uint32]


@dataclass(frozen=True)
class Picture:
    """An opened scan, ready to draw.

    ``levels`` are Format_Grayscale8 or Format_RGB32; ``width`` and ``height`` are the full size in
    pixels as shown (after the turn that a camera asked for). ``dpi`` is the resolution that the file
    really gives, the same both ways, else None. ``note`` tells the user what was changed or chosen
    on opening, and is empty where nothing was. ``shrunk`` is 1 except where level 0 has one pixel for
    ``shrunk`` x ``shrunk`` source pixels: in a coarse first picture, in one that has to save memory,
    and beside ``bits``, which are the full size of a big 1-bit scan (Format_Mono, its colour table
    telling which bit is ink), so that it takes an eighth of the room. ``detail`` draws what is looked
    at sharp, for a page of a PDF; None for all others. ``photograph``: it looks like one (judged only
    as the picture is, in no other tone).
    """

    levels: tuple[QImage, ...]
    width: int
    height: int
    dpi: float | None = None
    note: str = ""
    shrunk: int = 1
    bits: QImage | None = None
    detail: Detail | None = None
    photograph: bool = False

    @property
    def memory_bytes(self) -> int:
        """What the levels hold in memory, in bytes."""
        finest = 0 if self.bits is None else self.bits.sizeInBytes()
        return finest + sum(level.sizeInBytes() for level in self.levels)

    @property
    def finest(self) -> int:
        """Source pixels along one pixel of the finest that is held: 1 where everything is."""
        return self.shrunk if self.bits is None else 1


def without_finest(picture: Picture) -> Picture:
    """The picture without its finest level; itself where it has only one."""
    if picture.bits is not None:
        return replace(picture, bits=None)
    if len(picture.levels) < 2:
        return picture
    return replace(picture, levels=picture.levels[1:], shrunk=2 * picture.shrunk)


def levels_for(picture: Picture, source_per_device: float) -> int:
    """Index of the coarsest level that still has a pixel of its own for every device pixel.

    ``source_per_device`` is the number of source pixels (of the full size) along one device pixel.
    What is not a positive number gives level 0.
    """
    if not source_per_device > picture.shrunk:
        return 0
    wanted = min(source_per_device / picture.shrunk * (1 + 1e-6), 2.0**60)
    return min(int(np.log2(wanted)), len(picture.levels) - 1)


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


def strips(rows: int, width: int) -> Iterator[tuple[int, int]]:
    """Half-open row ranges that cover ``rows``, each small enough to stay in the cache."""
    step = max(1, _STRIP_PIXELS // max(width, 1))
    for first in range(0, rows, step):
        yield first, min(first + step, rows)


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
