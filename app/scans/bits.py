"""Big 1-bit scans kept as they are: one bit for a pixel, and greys only of what is looked at.

A picture here is Format_Mono: the first pixel is the highest bit of a byte, and the colour table
tells the grey of a clear and of a set bit.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage, qGray, qRgb

from app.scans.levels import Bytes, blank, grey_pixels
from app.scans.tone import thicken
from core.design import Tone

_ROWS = 256
_EACH_BIT = np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1)
_SET_BITS = _EACH_BIT.sum(axis=1, dtype=np.uint8)
Step = Callable[[float], None]


def bits_of(image: QImage) -> Bytes:
    """Every byte of a Format_Mono picture as a writable view, shape (height, bytes a line).

    The view must not outlive the image.
    """
    return np.frombuffer(image.bits(), np.uint8).reshape(image.height(), image.bytesPerLine())


def mono(width: int, height: int, like: QImage) -> QImage:
    """An unwritten Format_Mono picture with the colours of ``like``; MemoryError where there is no room."""
    image = QImage(width, height, QImage.Format.Format_Mono)
    if image.isNull():
        raise MemoryError(f"no room for a picture of {width} x {height} pixels")
    image.setColorTable(like.colorTable()[:2])
    return image


def greys_of(image: QImage) -> tuple[int, int]:
    """The grey of a clear and of a set bit, 0 to 255."""
    clear, set_ = image.colorTable()[:2]
    return qGray(clear), qGray(set_)


def prepared(image: QImage, orientation: int, tone: Tone, step: Step) -> QImage:
    """The picture turned as the EXIF ``orientation`` asks and in that tone; ``image`` may be changed.

    Levelling changes nothing: paper that is all white has no shading.
    """
    if orientation >= 5:
        image = _transposed(image)
    _flip(image, across=orientation in (2, 3, 6, 7), down=orientation in (3, 4, 7, 8))
    _fill_last_bytes(image)
    if tone.invert:
        clear, set_ = greys_of(image)
        image.setColorTable([qRgb(255 - grey, 255 - grey, 255 - grey) for grey in (clear, set_)])
    if tone.thicken:
        _thicken(image, tone.thicken, step)
        _fill_last_bytes(image)
    return image


def coarse_of(image: QImage) -> QImage:
    """A grey eighth: the mean of every 8 x 8 pixels, counted straight from the bits."""
    clear, set_ = greys_of(image)
    bits, height = bits_of(image), image.height()
    small = blank((image.width() + 7) // 8, (height + 7) // 8, colour=False)
    out = grey_pixels(small)
    for first in range(0, height, 8 * _ROWS):
        counts = _SET_BITS[bits[first : first + 8 * _ROWS]]
        if len(counts) % 8:
            counts = np.concatenate((counts, np.repeat(counts[-1:], 8 - len(counts) % 8, axis=0)))
        totals = counts.reshape(-1, 8, counts.shape[1]).sum(axis=1, dtype=np.uint8)
        shades = np.rint(clear + (set_ - clear) * np.arange(65) / 64).astype(np.uint8)
        out[first // 8 : first // 8 + len(totals)] = shades[totals[:, : out.shape[1]]]
    return small


def half_of(image: QImage, step: Step) -> QImage:
    """A grey half: the mean of every 2 x 2 pixels, an odd last row or column counting twice."""
    clear, set_ = greys_of(image)
    bits, height = bits_of(image), image.height()
    half = blank((image.width() + 1) // 2, (height + 1) // 2, colour=False)
    out = grey_pixels(half)
    four_pairs = (_EACH_BIT[:, 0::2] + _EACH_BIT[:, 1::2]).copy().view(np.uint32)[:, 0]
    shades = np.floor(clear + (set_ - clear) * np.arange(5) / 4 + 0.5).astype(np.uint8)
    for first in range(0, height, _ROWS):
        upper, lower = bits[first : first + _ROWS : 2], bits[first + 1 : first + _ROWS : 2]
        if len(lower) < len(upper):
            lower = np.concatenate((lower, upper[-1:]))
        # Four counts of 0 to 2 in a word: two of them add up without a carry.
        counts = (four_pairs[upper] + four_pairs[lower]).view(np.uint8)
        out[first // 2 : first // 2 + len(counts)] = shades[counts[:, : out.shape[1]]]
        step(min(first + _ROWS, height) / height)
    return half


def window_of(image: QImage, left: int, top: int, width: int, height: int) -> QImage:
    """That part in grey, of which ``left`` is a multiple of 8; the last byte of a line comes whole."""
    clear, set_ = greys_of(image)
    eight = np.where(_EACH_BIT, np.uint8(set_), np.uint8(clear)).view(np.uint64)[:, 0]
    part = bits_of_const(image)[top : top + height, left // 8 : (left + width + 7) // 8]
    window = blank(8 * part.shape[1], part.shape[0], colour=False)
    words = np.frombuffer(window.bits(), np.uint64).reshape(part.shape)
    np.take(eight, part, out=words, mode="clip")
    return window


def bits_of_const(image: QImage) -> NDArray[np.uint8]:
    """As ``bits_of``, read only: the picture is not copied where it is shared."""
    return np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())


def _flip(image: QImage, *, across: bool, down: bool) -> None:
    bits = bits_of(image)
    if down:
        bits[:] = bits[::-1].copy()
    for first in range(0, image.height() if across else 0, _ROWS):
        rows = np.unpackbits(bits[first : first + _ROWS], axis=1, count=image.width())
        packed = np.packbits(rows[:, ::-1], axis=1)
        bits[first : first + _ROWS, : packed.shape[1]] = packed


def _transposed(image: QImage) -> QImage:
    turned = mono(image.height(), image.width(), image)
    source, out = bits_of(image), bits_of(turned)
    for first in range(0, image.height(), _ROWS):
        rows = np.unpackbits(source[first : first + _ROWS], axis=1, count=image.width())
        packed = np.packbits(rows.T, axis=1)
        out[:, first // 8 : first // 8 + packed.shape[1]] = packed
    return turned


def _fill_last_bytes(image: QImage) -> None:
    """Repeat the last pixel of each line in the bits that are left of its byte, so that means come out."""
    bits, used = bits_of(image), image.width() % 8
    if used:
        last = bits[:, image.width() // 8]
        spare = np.uint8(0xFF >> used)
        is_set = (last >> (8 - used)) & 1
        last[:] = np.where(is_set == 1, last | spare, last & ~spare)


def _thicken(image: QImage, radius: int, step: Step) -> None:
    bits, (clear, set_) = bits_of(image), greys_of(image)
    height, above = image.height(), np.empty((0, bits.shape[1]), np.uint8)
    # Darker means smaller for ``thicken``; where a set bit is the ink, that is its complement.
    flip = np.uint8(0xFF if set_ < clear else 0)
    for first in range(0, height, _ROWS):
        last = min(first + _ROWS, height)
        packed = np.concatenate((above, bits[first : min(last + radius, height)])) ^ flip
        pixels = np.unpackbits(packed, axis=1, count=image.width())
        thicken(pixels[:, :, None], radius, lambda _: None)
        start = len(above)
        above = bits[max(last - radius, 0) : last].copy()
        fresh = np.packbits(pixels[start : start + last - first], axis=1)
        bits[first:last, : fresh.shape[1]] = fresh ^ flip
        step(last / height)
