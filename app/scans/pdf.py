"""A page of a PDF as a scan: coarse and whole at once, and sharp wherever it is looked at.

A page is measured in points (1/72 inch; its crop box, turned by /Rotate, stretched by /UserUnit), so
a plan drawn full size has its scale. Its pixel coordinates are those of 300 dots per inch, whatever
it is drawn at: what stands in a design does not depend on it.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
from PySide6.QtGui import QImage

from app.scans import pdf_wire as wire
from app.scans.levels import blank, colour_pixels, grey_pixels, greys_of, pyramid, strips
from app.scans.pdf_detail import Detail
from app.scans.pdf_file import PdfFile
from app.scans.pdf_reader import PdfReader
from app.scans.pdf_tone import toned
from app.scans.photograph import looks_like_photograph
from app.scans.picture import Picture
from app.scans.tone import AS_IT_IS
from core.design import Tone

MOST_COARSE_PIXELS = 9_000_000
"""The first picture of a page: A4 at 300 dots per inch, A0 at 75."""
# Colours further apart than this are colours, and not the rounding of a grey.
_GREY_WITHIN = 4
_PIXELS_PER_POINT = wire.DOTS_PER_INCH / wire.POINTS_PER_INCH


def open_pdf(
    data: bytes, name: str, *, page: int = 0, tone: Tone = AS_IT_IS,
    progress: Callable[[float], None] | None = None, cancelled: Callable[[], bool] | None = None,
    reader: PdfReader | None = None,
) -> Picture:
    """The page ``page``, counted from 0, of the PDF ``data``: whole and coarse, with its ``detail``.

    The page is drawn into at most 9 million pixels, ``Picture.shrunk`` of its 300 dpi pixels to each.
    ``tone`` changes how it is shown, in the parts of ``detail`` too; inverted, it is grey.
    Raises ScanError, or OpeningCancelledError.
    """
    file = PdfFile(data, name, reader)
    count = file.pages(cancelled)
    size = file.size(page, cancelled)
    # A hair less, so that 8.5 inches stay 2550 pixels whatever single precision makes of them.
    width, height = (max(1, math.ceil(side * _PIXELS_PER_POINT - 1e-3)) for side in (size.width, size.height))
    shrunk = 1
    while math.ceil(width / shrunk) * math.ceil(height / shrunk) > MOST_COARSE_PIXELS:
        shrunk *= 2
    per_point = _PIXELS_PER_POINT / shrunk
    began = time.monotonic()
    drawn = file.draw(
        page, (per_point, per_point), (0.0, 0.0), (math.ceil(width / shrunk), math.ceil(height / shrunk)),
        colour=True, cancelled=cancelled, progress=None if progress is None else lambda f: progress(0.9 * f),
    )
    seconds = time.monotonic() - began
    colour = _is_coloured(drawn) and not tone.invert
    level_0 = drawn if colour else _greyed(drawn)
    page_tone = toned(level_0, tone, shrunk)
    levels = pyramid(level_0)
    if progress is not None:
        progress(1.0)
    note = [f"Page {page + 1} of {count}."] if count > 1 else []
    if size.picture is not None:
        left, _, right, _, across, _ = size.picture
        note.append(f"The page is one picture of {across / (right - left) * wire.POINTS_PER_INCH:.0f} dpi.")
    return Picture(
        levels, width, height, float(wire.DOTS_PER_INCH), " ".join(note), shrunk,
        detail=Detail(file, page, size, page_tone, pages=count, colour=colour, seconds=seconds),
        photograph=tone == AS_IT_IS and looks_like_photograph(levels),
    )


def _is_coloured(image: QImage) -> bool:
    words = colour_pixels(image)
    for first, last in strips(len(words), image.width()):
        rows = words[first:last]
        if not ((rows ^ (rows >> np.uint32(8))) & np.uint32(0xFFFF)).any():
            continue
        blue, green, red = (rows.view(np.uint8)[:, i::4].astype(np.int16) for i in range(3))
        if (np.abs(red - green) > _GREY_WITHIN).any() or (np.abs(blue - green) > _GREY_WITHIN).any():
            return True
    return False


def _greyed(image: QImage) -> QImage:
    grey = blank(image.width(), image.height(), colour=False)
    grey_pixels(grey)[:] = greys_of(image)
    return grey
