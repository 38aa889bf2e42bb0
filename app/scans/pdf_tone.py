"""A scan's tone on the parts of a PDF page: the same paper, the same thickening, at every resolution."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtGui import QImage

from app.scans.tone import AS_IT_IS, Shading, channels_of, invert, level, shading_of, thicken
from core.design import Tone

_CELLS = 48
_SAMPLES = 512


def _nothing(_: float) -> None:
    """Parts are small: nobody waits for them step by step."""


@dataclass(frozen=True, eq=False)
class PageTone:
    """The tone of one page; ``shading`` is the whole page's, from its coarse picture."""

    tone: Tone
    shading: Shading | None

    @property
    def reach(self) -> int:
        """So many of the page's pixels around a part have a say in it."""
        return self.tone.thicken

    def apply(self, part: QImage, place: tuple[float, float, float, float], step: float) -> None:
        """Change a part in place: ``place`` is left, top, right, bottom as parts of the page, 0 to 1.

        ``step`` is the page's pixels to one of the part's: faint lines grow by as much of the paper
        whatever they are drawn at, where that is half a pixel or more.
        """
        if self.tone == AS_IT_IS:
            return
        pixels = channels_of(part)
        if self.tone.invert:
            invert(pixels, _nothing)
        if self.shading is not None:
            level(pixels, _cut(self.shading, place), _nothing)
        radius = round(self.tone.thicken / step)
        if radius:
            thicken(pixels, radius, _nothing)


def toned(coarse: QImage, tone: Tone, shrunk: int) -> PageTone:
    """Change the coarse picture of a page in place, and tell how to change its parts."""
    shading = None
    if tone.level:
        pixels = channels_of(coarse)
        if tone.invert:
            invert(pixels, _nothing)
        shading = shading_of(pixels)
        if tone.invert:
            invert(pixels, _nothing)
    found = PageTone(tone, shading)
    found.apply(coarse, (0.0, 0.0, 1.0, 1.0), float(shrunk))
    return found


def _cut(shading: Shading, place: tuple[float, float, float, float]) -> Shading:
    """The brightness of a part of the page, on a grid of its own."""
    left, top, right, bottom = place
    middles = (np.arange(_CELLS) + 0.5) / _CELLS
    rows = 255.0 / shading.gain_rows((top + middles * (bottom - top)).astype(np.float32), _SAMPLES)
    at = np.clip((left + middles * (right - left)) * _SAMPLES - 0.5, 0.0, _SAMPLES - 1.0)
    before = np.minimum(at.astype(np.intp), _SAMPLES - 2)
    share = (at - before)[None, :, None]
    return Shading((rows[:, before] * (1 - share) + rows[:, before + 1] * share).astype(np.float32))
