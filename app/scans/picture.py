"""A scan in memory: a pyramid of whole pictures, each half as large as the one before.

Whole ``QImage``s rather than tiles or pixmaps: a pixmap is always 32 bit, and a single full-size
picture loses thin ink lines when it is drawn small.

Pixel coordinates are continuous: u right, v down, and the pixel (i, j) covers [i, i+1) x [j, j+1).
One pixel of level k covers ``shrunk * 2**k`` source pixels each way, measured from the top left
corner; the last column or row of an odd-sized level reaches past the picture's edge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtGui import QImage

if TYPE_CHECKING:
    from app.scans.lying_sheet import FoundSheet
    from app.scans.pdf_detail import Detail


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
    as the picture is, in no other tone), and ``sheet`` where its corners were found in it.
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
    sheet: FoundSheet | None = None

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
