"""The resolution that a picture's file really gives."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image

LEAST_DPI, MOST_DPI = 50.0, 4800.0
WRITTEN_BY_HABIT = (72.0, 96.0)
"""Cameras and screenshots write these without having measured anything."""

_TIFF_X, _TIFF_Y, _TIFF_UNIT = 282, 283, 296
_DOTS_PER_INCH = {2: 1.0, 3: 2.54}
# PNG keeps whole dots per metre, so 300 dpi comes back as 299.9994: half a step is 0.0127 dpi.
_HALF_STEP = 0.0127


def given_dpi(image: Image.Image) -> tuple[float, float] | None:
    """(across, down) in dots per inch as stored, or None where it is not given or not credible.

    ``image`` is a picture opened by Pillow and not decoded yet. Not credible: one axis alone, 72 or
    96 on both, or anything outside 50 to 4800.
    """
    pair = _tiff_pair(image) if image.format == "TIFF" else image.info.get("dpi")
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


def _tiff_pair(image: Image.Image) -> tuple[float, float] | None:
    """From the tags of the page itself; Pillow's ``info`` may still be that of the page before."""
    tags = getattr(image, "tag_v2", {})
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
