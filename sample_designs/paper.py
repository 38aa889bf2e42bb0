"""From a sheet to a scan: ink on old paper, folded, put on the glass a little askew."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from core.design import Matrix
from shaping import Points
from sheet import HEAVY, MEDIUM, Lettering, Sheet, dashes

Grey = NDArray[np.float32]
Make = Literal["grey png", "colour jpeg", "bilevel tiff"]


@dataclass(frozen=True)
class ScanPlan:
    """How a sheet was scanned. The frame is in mm of the plan, ``turn_deg`` clockwise as seen."""

    file: str
    make: Make
    dpi: float
    turn_deg: float
    left: float
    right: float
    bottom: float
    top: float
    seed: int
    folds_x: tuple[float, ...] = ()
    folds_z: tuple[float, ...] = ()
    bed: float = 0.0
    stain: tuple[float, float, float] | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        k = self.dpi / 25.4
        return round((self.right - self.left) * k), round((self.top - self.bottom) * k)

    @property
    def mm_to_px(self) -> NDArray[np.float64]:
        """3×3 from (x, z, 1) to (u, v, 1); u = 0 is the left edge of the first pixel, v = 0 its top."""
        k, a = self.dpi / 25.4, math.radians(self.turn_deg)
        c, s = k * math.cos(a), k * math.sin(a)
        x0, z0 = (self.left + self.right) / 2, (self.bottom + self.top) / 2
        width, height = self.size
        return np.array([[c, s, width / 2 - c * x0 - s * z0], [s, -c, height / 2 - s * x0 + c * z0], [0.0, 0.0, 1.0]])

    @property
    def to_mm(self) -> Matrix:
        """The inverse as the design stores it."""
        m = np.linalg.inv(self.mm_to_px)
        rows = [tuple(float(f"{value:.10g}") for value in row) for row in m[:2]]
        return ((rows[0][0], rows[0][1], rows[0][2]), (rows[1][0], rows[1][1], rows[1][2]), (0.0, 0.0, 1.0))


def place(matrix: NDArray[np.float64], points: Points) -> Points:
    """Points through an affine 3×3 matrix, shape (N, 2)."""
    return np.asarray(points @ matrix[:2, :2].T + matrix[:2, 2])


def ink(sheet: Sheet, scan: ScanPlan) -> Grey:
    """How much of each pixel is inked, 0 to 1, shape (height, width)."""
    fine = max(2, round(400 / scan.dpi))
    width, height = scan.size
    canvas = Image.new("L", (width * fine, height * fine), 0)
    pen = ImageDraw.Draw(canvas)
    matrix = np.diag([fine, fine, 1.0]) @ scan.mm_to_px
    for stroke in sorted(sheet.strokes, key=lambda stroke: stroke.width):
        tone = 245 if stroke.width >= HEAVY else 215 if stroke.width >= MEDIUM else 185
        for piece in dashes(stroke.points, stroke.dash):
            if piece.length <= 0:
                continue
            body = piece.buffer(stroke.width / 2, quad_segs=4)
            pen.polygon(_corners(matrix, np.asarray(body.exterior.coords)), fill=tone)
            for hole in body.interiors:
                _hollow(canvas, matrix, body, tone)
                break
            pen = ImageDraw.Draw(canvas)
    for patch in sheet.patches:
        pen.polygon(_corners(matrix, patch), fill=235)
    for lettering in sheet.letters:
        _letter(canvas, lettering, matrix, scan)
    return np.asarray(canvas.reduce(fine), dtype=np.float32) / 255.0
