"""What is drawn on the pages of a PDF, as paths and characters in mm from the page's upper left corner."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import shapely
from numpy.typing import NDArray

MM = 25.4 / 72


@dataclass(frozen=True, eq=False)
class Drawn:
    """One stroked or filled subpath; ``width`` of its pen in mm, 0 where it is filled alone."""

    points: NDArray[np.float64]
    closed: bool
    width: float
    rgb: tuple[int, int, int]
    filled: bool

    @property
    def line(self) -> shapely.LineString:
        points = self.points
        return shapely.LineString(np.vstack((points, points[:1])) if self.closed else points)


def drawn(page: pypdfium2.PdfPage) -> list[Drawn]:
    """Every path of a page, straight ones alone, whether clipped or not."""
    tall = page.get_height()
    found = []
    for number in range(raw.FPDFPage_CountObjects(page.raw)):
        thing = raw.FPDFPage_GetObject(page.raw, number)
        if raw.FPDFPageObj_GetType(thing) != raw.FPDF_PAGEOBJ_PATH:
            continue
        matrix = raw.FS_MATRIX()
        raw.FPDFPageObj_GetMatrix(thing, ctypes.byref(matrix))
        way = np.array(((matrix.a, matrix.b), (matrix.c, matrix.d)))
        fill, stroke = ctypes.c_int(), ctypes.c_int()
        raw.FPDFPath_GetDrawMode(thing, ctypes.byref(fill), ctypes.byref(stroke))
        wide = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(thing, ctypes.byref(wide))
        colours = [ctypes.c_uint() for _ in range(4)]
        get = raw.FPDFPageObj_GetStrokeColor if stroke.value else raw.FPDFPageObj_GetFillColor
        get(thing, *map(ctypes.byref, colours))
        scale = abs(float(np.linalg.det(way))) ** 0.5
        runs: list[tuple[list[tuple[float, float]], bool]] = []
        for i in range(raw.FPDFPath_CountSegments(thing)):
            segment = raw.FPDFPath_GetPathSegment(thing, i)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, ctypes.byref(x), ctypes.byref(y))
            if raw.FPDFPathSegment_GetType(segment) == raw.FPDF_SEGMENT_MOVETO:
                runs.append(([], False))
            runs[-1][0].append((x.value, y.value))
            if raw.FPDFPathSegment_GetClose(segment):
                runs[-1] = runs[-1][0], True
        for points, closed in runs:
            if len(points) < 2:
                continue
            at = np.array(points) @ way + (matrix.e, matrix.f)
            at = np.column_stack((at[:, 0], tall - at[:, 1])) * MM
            # A closed path may come back with its first point repeated.
            shut = closed or (len(at) > 3 and np.abs(at[0] - at[-1]).max() < 1e-6)
            if shut and np.abs(at[0] - at[-1]).max() < 1e-6:
                at = at[:-1]
            found.append(Drawn(at, shut, wide.value * scale * MM * bool(stroke.value),
                               tuple(c.value for c in colours[:3]), bool(fill.value)))  # type: ignore[arg-type]
    return found


def characters(page: pypdfium2.PdfPage) -> list[tuple[str, shapely.Polygon]]:
    """Every visible character with the box about its ink, turned text included."""
    tall, text = page.get_height(), page.get_textpage()
    found = []
    for i in range(text.count_chars()):
        sign = text.get_text_range(i, 1)
        if not sign.strip():
            continue
        left, bottom, right, top = text.get_charbox(i)
        found.append((sign, shapely.box(left * MM, (tall - top) * MM, right * MM, (tall - bottom) * MM)))
    return found


def words_of(page: pypdfium2.PdfPage, *, left: float = 0.0, top: float = 0.0) -> str:
    """The text of a page on one line: what lies right of ``left`` and below ``top`` mm."""
    text = page.get_textpage()
    if not left and not top:
        return " ".join(text.get_text_bounded().split())
    return " ".join(text.get_text_bounded(left=left / MM, top=page.get_height() - top / MM).split())
