"""What decoding a picture takes in memory, reckoned from its header."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.scans.boxes import codestream

if TYPE_CHECKING:
    from PIL import Image

_HELD = {"1": 1.0, "L": 1.0, "P": 1.0, "I;16": 2.0, "I;16B": 2.0, "I;16L": 2.0}
"""Bytes a pixel of Pillow's own picture, by its mode; all others take four."""
_GREY_BESIDE = {"HEIF": 2.5, "AVIF": 3.5, "WEBP": 12.5}
_COLOUR_BESIDE = {"HEIF": 6.0, "AVIF": 7.0, "WEBP": 12.5}
"""Bytes a pixel that the decoder takes beside it, measured with 16 megapixels; the others work in rows."""
_WAVELET_BESIDE = 5.5
"""JPEG 2000: a pixel and channel, of a whole tile."""


def decoding_bytes(image: Image.Image, data: bytes) -> float:
    """The most bytes for each pixel that are held while ``image``, its header read, is decoded."""
    held = _HELD.get(image.mode, 4.0)
    if image.format == "JPEG2000":
        return held + _WAVELET_BESIDE * len(image.getbands()) * _tile_share(image.size, data)
    beside = _GREY_BESIDE if image.mode == "L" else _COLOUR_BESIDE
    return held + beside.get(image.format or "", 0.0)


def _tile_share(size: tuple[int, int], data: bytes) -> float:
    """Which part of the picture one tile is. ISO/IEC 15444-1, A.5.1: XTsiz and YTsiz."""
    stream = codestream(data)
    across, down = (int.from_bytes(stream[k : k + 4], "big") for k in (24, 28))
    return min(across, size[0]) * min(down, size[1]) / max(size[0] * size[1], 1)
