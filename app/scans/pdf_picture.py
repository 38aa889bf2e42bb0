"""Pages that are one embedded picture, as scanners make them. In the process of ``pdf_process`` alone."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from typing import Any

import pypdfium2.raw as pdfium

_MOST_OBJECTS = 20_000
# A picture that leaves more of the page free than this is something on a page, not the page.
_LEAST_COVERED = 0.9
_INVISIBLE = 3  # text render mode 3: what a text recogniser lays over a scan


@dataclass(frozen=True)
class Picture:
    """``box``: left, top, right, bottom on the page as seen, in its units; pixels across and down it."""

    box: tuple[float, float, float, float]
    across: int
    down: int


def one_picture(page: Any) -> Picture | None:
    """The picture that the page is, or None: more than one thing is seen, or it lies askew."""
    count = pdfium.FPDFPage_CountObjects(page)
    if not 0 < count <= _MOST_OBJECTS:
        return None
    pictures = []
    for i in range(count):
        thing = pdfium.FPDFPage_GetObject(page, i)
        kind = pdfium.FPDFPageObj_GetType(thing)
        if kind == pdfium.FPDF_PAGEOBJ_IMAGE:
            pictures.append(thing)
        elif kind != pdfium.FPDF_PAGEOBJ_TEXT or pdfium.FPDFTextObj_GetTextRenderMode(thing) != _INVISIBLE:
            return None
        if len(pictures) > 1:
            return None
    return _placed(page, pictures[0]) if pictures else None


def _placed(page: Any, thing: Any) -> Picture | None:
    m, seen = pdfium.FS_MATRIX(), pdfium.FS_RECTF()
    across, down = ctypes.c_uint(), ctypes.c_uint()
    if not (
        pdfium.FPDFPageObj_GetMatrix(thing, m)
        and pdfium.FPDF_GetPageBoundingBox(page, seen)
        and pdfium.FPDFImageObj_GetImagePixelSize(thing, across, down)
    ):
        return None
    upright = m.b == m.c == 0 and m.a and m.d
    lying = m.a == m.d == 0 and m.b and m.c
    if not (upright or lying) or not across.value or not down.value:
        return None
    left, right = sorted((m.e, m.e + m.a + m.c))
    bottom, top = sorted((m.f, m.f + m.b + m.d))
    wide, high = seen.right - seen.left, seen.top - seen.bottom
    covered = max(0.0, min(right, seen.right) - max(left, seen.left)) * max(
        0.0, min(top, seen.top) - max(bottom, seen.bottom)
    )
    if covered < _LEAST_COVERED * wide * high:
        return None
    # From the page's own axes to those seen: the turn is clockwise.
    x0, y0, x1, y1 = left - seen.left, seen.top - top, right - seen.left, seen.top - bottom
    turn = pdfium.FPDFPage_GetRotation(page)
    box = (
        (x0, y0, x1, y1), (high - y1, x0, high - y0, x1), (wide - x1, high - y1, wide - x0, high - y0),
        (y0, wide - x1, y1, wide - x0),
    )[turn % 4]
    sideways = bool(lying) != bool(turn % 2)
    pixels = (down.value, across.value) if sideways else (across.value, down.value)
    return Picture(box, *pixels)
