"""From a decoded picture of any kind to level 0: Grayscale8, or RGB32 where the colour is kept.

Everything goes strip by strip, so that no second full-size copy is held.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage, qGray

from app.scans.faults import UnreadableValuesError
from app.scans.levels import Bytes, Words, blank, colour_pixels, grey_pixels, strips

if TYPE_CHECKING:
    from PIL import Image

_TIFF_BITS, _TIFF_PHOTOMETRIC, _TIFF_MOST, _WHITE_IS_ZERO = 258, 262, 281, 0
_DEPTHS = (8, 10, 12, 14, 16)
_STRIPS_AT_ONCE = 8
Step = Callable[[float], None]


def turned_size(width: int, height: int, orientation: int) -> tuple[int, int]:
    """The size as shown of a picture stored as ``width`` x ``height`` with that EXIF orientation."""
    return (height, width) if orientation >= 5 else (width, height)


def as_stored(shown: NDArray[Any], orientation: int) -> NDArray[Any]:
    """View the shown pixels the way the file stores them, so that writing to it turns them right.

    Orientation 1 to 8 as in CIPA DC-008 (EXIF), tag 274; anything else counts as 1.
    """
    match orientation:
        case 2:
            return shown[:, ::-1]
        case 3:
            return shown[::-1, ::-1]
        case 4:
            return shown[::-1]
        case 5:
            return shown.T
        case 6:
            return np.rot90(shown, 1)
        case 7:
            return shown.T[::-1, ::-1]
        case 8:
            return np.rot90(shown, -1)
        case _:
            return shown


def is_coloured(image: Image.Image) -> bool:
    """Whether the picture's mode can show anything but greys. A palette of greys is grey."""
    if image.mode in ("P", "PA"):
        palette = np.asarray(image.getpalette("RGB") or [0, 0, 0], np.uint8).reshape(-1, 3)
        return bool((palette != palette[:, :1]).any())
    return image.mode not in ("1", "L", "LA", "La", "F") and not image.mode.startswith("I")


def grey_bits(image: Image.Image) -> int:
    """How many bits of a decoded deep grey are in use: 8, 10, 12, 14 or 16; 0 for every other picture.

    Cameras and scanners put 10, 12 or 14 bits into words of 16 without saying so. The fewest that hold
    the largest number found are taken, but no fewer than the file's tags speak of (BitsPerSample, and
    MaxSampleValue where it is no mere 65535; TIFF 6.0, section 8). UnreadableValuesError for 32 bits.
    """
    if not _is_deep(image.mode):
        return 0
    if image.mode == "I" and image.format != "PNG":
        raise UnreadableValuesError(image.mode)
    tags = getattr(image, "tag_v2", {})
    held = tags.get(_TIFF_BITS)
    if isinstance(held, tuple) and len(held) == 1 and held[0] < 16:
        return max(int(held[0]), 8)
    most = 0
    for first, last in strips(image.height, max(1, image.width // _STRIPS_AT_ONCE)):
        most = max(most, int(np.asarray(image.crop((0, first, image.width, last))).max()))
    said = tags.get(_TIFF_MOST)
    said = said[0] if isinstance(said, tuple) and len(said) == 1 else said
    if isinstance(said, int) and said < 0xFFFF:
        most = max(most, said)
    return next(bits for bits in _DEPTHS if most < 1 << bits or bits == _DEPTHS[-1])


def _is_deep(mode: str) -> bool:
    return mode == "I" or mode.startswith("I;16")


def from_pillow(
    image: Image.Image, orientation: int, *, colour: bool, step: Step, grey_bits: int = 16
) -> QImage:
    """Level 0 of a decoded picture, turned as ``orientation`` asks, transparency shown over white.

    Of a deep grey ``grey_bits`` are in use. ``step`` hears the part done and may raise.
    UnreadableValuesError for modes that are no picture; MemoryError where there is no room.
    """
    width, height = image.size
    level = blank(*turned_size(width, height, orientation), colour=colour)
    rows = as_stored(colour_pixels(level) if colour else grey_pixels(level), orientation)
    convert = _coloured if colour else partial(_greyed, grey_bits=grey_bits)
    for first, last in strips(height, max(1, width // _STRIPS_AT_ONCE)):
        rows[first:last] = convert(image.crop((0, first, width, last)), image)
        step(last / height)
    return level


def from_bilevel(image: QImage, orientation: int, *, step: Step) -> QImage:
    """Level 0 of a Format_Mono picture; which bit is ink stands in its colour table."""
    width, height = image.width(), image.height()
    bits = np.frombuffer(image.constBits(), np.uint8).reshape(height, image.bytesPerLine())
    clear, set_ = (qGray(colour) for colour in image.colorTable()[:2])
    every_byte = np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1)
    eight_greys = np.where(every_byte, np.uint8(set_), np.uint8(clear)).view(np.uint64)[:, 0]
    level = blank(*turned_size(width, height, orientation), colour=False)
    rows = as_stored(grey_pixels(level), orientation)
    for first, last in strips(height, max(1, width // _STRIPS_AT_ONCE)):
        rows[first:last] = eight_greys[bits[first:last]].view(np.uint8)[:, :width]
        step(last / height)
    return level


def _greyed(strip: Image.Image, whole: Image.Image, grey_bits: int) -> Bytes:
    if _is_deep(strip.mode):
        return _from_deep(strip, whole, grey_bits)
    if strip.mode == "F":
        raise UnreadableValuesError(strip.mode)
    if strip.mode == "L" and not strip.has_transparency_data:
        return np.asarray(strip)
    if strip.has_transparency_data:
        grey = np.asarray(strip.convert("RGBA").convert("LA"), np.uint16)
        return _over_white(grey[..., :1], grey[..., 1:])[..., 0]
    if strip.mode == "1":
        return np.asarray(strip.convert("L"))
    return np.asarray(strip.convert("RGB").convert("L"))


def _coloured(strip: Image.Image, whole: Image.Image) -> Words:
    if strip.has_transparency_data:
        rgba = np.asarray(strip.convert("RGBA"), np.uint16)
        rgb = _over_white(rgba[..., :3], rgba[..., 3:])
    else:
        rgb = np.asarray(strip if strip.mode == "RGB" else strip.convert("RGB"))
    words = np.full(rgb.shape[:2], 0xFF000000, np.uint32)
    for channel, shift in enumerate((16, 8, 0)):
        words |= rgb[..., channel].astype(np.uint32) << shift
    return words


def _from_deep(strip: Image.Image, whole: Image.Image, grey_bits: int) -> Bytes:
    """Greys of more than 8 bits; some Pillow versions hand those of a PNG over as 32-bit numbers."""
    if strip.mode == "I" and whole.format != "PNG":
        raise UnreadableValuesError(strip.mode)
    grey = (np.asarray(strip) >> (grey_bits - 8)).astype(np.uint8)
    tags = getattr(whole, "tag_v2", {})
    return 255 - grey if tags.get(_TIFF_PHOTOMETRIC) == _WHITE_IS_ZERO else grey


def _over_white(values: NDArray[np.uint16], alpha: NDArray[np.uint16]) -> Bytes:
    return ((values * alpha + (255 - alpha) * 255 + 127) // 255).astype(np.uint8)
