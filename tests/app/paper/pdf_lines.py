"""The lines of a PDF page as its own reader sees them: mm from the upper left corner, y down."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

MM = 25.4 / 72


@dataclass(frozen=True, eq=False)
class Drawn:
    """One stroked run of straight lines: places (N, 2), the pen's width in mm, whether it is broken."""

    points: NDArray[np.float64]
    pen: float
    broken: bool
    closed: bool

    @property
    def length(self) -> float:
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())


def lines_of(page: pypdfium2.PdfPage) -> list[Drawn]:
    """Every run; one with curves is left out."""
    found: list[Drawn] = []
    height = page.get_height()
    for number in range(pdfium.FPDFPage_CountObjects(page)):
        thing = pdfium.FPDFPage_GetObject(page, number)
        if pdfium.FPDFPageObj_GetType(thing) != pdfium.FPDF_PAGEOBJ_PATH:
            continue
        mode, stroke = ctypes.c_int(), ctypes.c_int()
        pdfium.FPDFPath_GetDrawMode(thing, mode, stroke)
        if not stroke.value:
            continue
        matrix = pdfium.FS_MATRIX()
        pdfium.FPDFPageObj_GetMatrix(thing, matrix)
        turn = np.array(((matrix.a, matrix.b), (matrix.c, matrix.d)))
        width = ctypes.c_float()
        pdfium.FPDFPageObj_GetStrokeWidth(thing, width)
        pen = width.value * float(np.sqrt(abs(np.linalg.det(turn)))) * MM
        broken = pdfium.FPDFPageObj_GetDashCount(thing) > 0
        runs: list[list[tuple[float, float]]] = []
        shut: list[bool] = []
        curved: list[bool] = []
        for at in range(pdfium.FPDFPath_CountSegments(thing)):
            segment = pdfium.FPDFPath_GetPathSegment(thing, at)
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            kind = pdfium.FPDFPathSegment_GetType(segment)
            if kind == pdfium.FPDF_SEGMENT_MOVETO:
                runs.append([])
                shut.append(False)
                curved.append(False)
            curved[-1] |= kind == pdfium.FPDF_SEGMENT_BEZIERTO
            runs[-1].append((x.value, y.value))
            shut[-1] |= bool(pdfium.FPDFPathSegment_GetClose(segment))
        for run, closed, bent in zip(runs, shut, curved, strict=True):
            if bent or len(run) < 2:
                continue
            points = np.array(run) @ turn + np.array((matrix.e, matrix.f))
            points = np.column_stack((points[:, 0], height - points[:, 1])) * MM
            found.append(Drawn(points, pen, broken, closed))
    return found


def circle(points: NDArray[np.float64]) -> tuple[float, float, float]:
    """(x, y, radius) of the circle nearest to points by least squares (Kåsa: x² + y² + Dx + Ey + F = 0)."""
    left = np.column_stack((points, np.ones(len(points))))
    (d, e, f), *_ = np.linalg.lstsq(left, -(points**2).sum(axis=1), rcond=None)
    return -d / 2, -e / 2, float(np.sqrt(d * d / 4 + e * e / 4 - f))
