"""Whether a picture looks like a photograph: by a camera's tags, or by what is seen in it.

A photograph taken for flat gives wrong lengths and a wrong answer; a scan taken for a photograph costs
one click. Where it is hard to tell, this says photograph.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QImage

from app.scans.levels import pixels_of
from app.scans.lying_sheet import is_lit_unevenly, lies_on_something

if TYPE_CHECKING:
    from PIL import Image

_EXIF = 0x8769
_EXPOSURE = (
    0x829A, 0x829D, 0x8827, 0x9201, 0x9202, 0x9205, 0x9206, 0x9209, 0x920A, 0xA404, 0xA405, 0xA432, 0xA434,
)
"""CIPA DC-008 (Exif 2.32), 4.6.5: exposure time, F number, sensitivity, shutter speed, aperture, widest
aperture, subject distance, flash, focal length, digital zoom, focal length for 35 mm film, lens
specification, lens model."""
_FILE_SOURCE, _SCANNERS = 0xA300, (1, 2)
"""The same: film scanner, print scanner; 3 is a camera."""
_COARSE_FROM = 384
"""A level whose longer side is shorter than this is looked at."""


def has_camera_tags(image: Image.Image) -> bool:
    """True if the file tells of an exposure: time, aperture, focal length, lens …

    ``image`` as opened by Pillow. Make and model alone are no camera's: scanners write theirs. A file
    that names a scanner as its source is none, whatever else it says.
    """
    try:
        tags = image.getexif().get_ifd(_EXIF)
        source: Any = tags.get(_FILE_SOURCE)
        if (source[0] if isinstance(source, bytes) and source else source) in _SCANNERS:
            return False
        return any(_tells(tags.get(tag)) for tag in _EXPOSURE)
    except Exception:  # a broken Exif block must not cost the picture
        return False


def _tells(value: Any) -> bool:
    """True if a tag is there and was not left at nothing."""
    if isinstance(value, tuple):
        return any(_tells(part) for part in value)
    if isinstance(value, bytes):
        return bool(value.strip(b" \0"))
    if isinstance(value, str):
        return bool(value.strip(" \0"))
    return value is not None and value == value and value != 0


def looks_like_photograph(levels: tuple[QImage, ...]) -> bool:
    """True if a picture's levels show a sheet lying on something, or light that falls off across it."""
    small = (level for level in levels if max(level.width(), level.height()) < _COARSE_FROM)
    pixels = pixels_of(next(small, levels[-1]))
    return lies_on_something(pixels) or is_lit_unevenly(pixels)
