"""The resolution that a picture's file really gives."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

LEAST_DPI, MOST_DPI = 50.0, 4800.0
WRITTEN_BY_HABIT = (72.0, 96.0)
"""Cameras and screenshots write these without having measured anything."""

_TIFF_X, _TIFF_Y, _TIFF_UNIT = 282, 283, 296
_DOTS_PER_INCH = {2: 1.0, 3: 2.54}
_BY_EXIF = ("HEIF", "AVIF", "WEBP")
"""Formats with no place of their own for a resolution: CIPA DC-008 (Exif 2.32), 4.6.4."""
# PNG keeps whole dots per metre, so 300 dpi comes back as 299.9994: half a step is 0.0127 dpi.
_HALF_STEP = 0.0127


def given_dpi(image: Image.Image) -> tuple[float, float] | None:
    """(across, down) in dots per inch as stored, or None where it is not given or not credible.

    ``image`` is a picture opened by Pillow and not decoded yet. Not credible: one axis alone, 72 or
    96 on both, or anything outside 50 to 4800.
    """
    pair = image.info.get("dpi")
    if image.format == "TIFF":
        pair = _pair_in(getattr(image, "tag_v2", {}))
    elif image.format in _BY_EXIF:
        try:
            pair = _pair_in(image.getexif())
        except Exception:  # a broken Exif block gives no resolution
            return None
    if pair is None:
        return None
    try:
        across, down = (_tidy(float(figure)) for figure in pair)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not all(math.isfinite(figure) and LEAST_DPI <= figure <= MOST_DPI for figure in (across, down)):
        return None
    if across == down and across in WRITTEN_BY_HABIT:
        return None
    return across, down


def _pair_in(tags: Mapping[int, Any]) -> tuple[float, float] | None:
    """From a TIFF page's own tags, since Pillow's ``info`` may be that of the page before; or from Exif's."""
    factor = _DOTS_PER_INCH.get(tags.get(_TIFF_UNIT, 2))
    across, down = tags.get(_TIFF_X), tags.get(_TIFF_Y)
    if factor is None or across is None or down is None:
        return None
    try:
        return float(across) * factor, float(down) * factor
    except (TypeError, ValueError, ZeroDivisionError):
        return None


def _tidy(figure: float) -> float:
    nearest = float(round(figure)) if math.isfinite(figure) else figure
    return nearest if abs(figure - nearest) <= _HALF_STEP else figure
