"""From a sheet to a scan: ink on old paper, folded, put on the glass a little askew."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFont
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shaping import Points
from sheet import HEAVY, MEDIUM, Lettering, Sheet, dashes

from core.design import Matrix

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
        return np.array(
            [[c, s, width / 2 - c * x0 - s * z0], [s, -c, height / 2 - s * x0 + c * z0], [0.0, 0.0, 1.0]]
        )

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
            for body in _bodies(piece, stroke.width / 2):
                pen.polygon(_corners(matrix, np.asarray(body.exterior.coords)), fill=tone)
    for patch in sheet.patches:
        pen.polygon(_corners(matrix, patch), fill=235)
    for lettering in sheet.letters:
        _letter(canvas, lettering, matrix, scan)
    return np.asarray(canvas.reduce(fine), dtype=np.float32) / np.float32(255.0)


def _bodies(piece: LineString, half: float) -> list[Polygon]:
    """A stroke as polygons without holes: one that closes on itself is drawn in two parts."""
    body: BaseGeometry = piece.buffer(half, quad_segs=4)
    if not isinstance(body, Polygon) or body.is_empty:
        return []
    if not body.interiors or len(piece.coords) < 3:
        return [body]
    middle = len(piece.coords) // 2
    first, second = LineString(piece.coords[: middle + 1]), LineString(piece.coords[middle:])
    return _bodies(first, half) + _bodies(second, half)


def _corners(matrix: NDArray[np.float64], points: Points) -> list[tuple[float, float]]:
    """Pillow puts the middle of the first pixel at 0."""
    return [(float(u) - 0.5, float(v) - 0.5) for u, v in place(matrix, points)]


def _letter(canvas: Image.Image, lettering: Lettering, matrix: NDArray[np.float64], scan: ScanPlan) -> None:
    k = float(np.hypot(matrix[0, 0], matrix[1, 0]))
    font = ImageFont.load_default(lettering.size * k)
    gap = lettering.spacing * lettering.size * k
    steps = [font.getlength(character) + gap for character in lettering.text]
    width, pad = sum(steps) - gap, lettering.size * k
    tile = Image.new("L", (math.ceil(width + 2 * pad), math.ceil(3 * pad)), 0)
    pen, at = ImageDraw.Draw(tile), pad
    for character, step in zip(lettering.text, steps, strict=True):
        pen.text((at, 1.5 * pad), character, fill=225, font=font, anchor="lm")
        at += step
    angle = math.radians(lettering.degrees - scan.turn_deg)
    turned = tile.rotate(math.degrees(angle), Image.Resampling.BICUBIC, expand=True)
    along = {"l": width / 2, "m": 0.0, "r": -width / 2}[lettering.anchor[0]]
    u, v = place(matrix, np.array([[lettering.x, lettering.z]]))[0]
    u, v = u + along * math.cos(angle), v - along * math.sin(angle)
    corner = (round(u - turned.width / 2), round(v - turned.height / 2))
    room = (*corner, corner[0] + turned.width, corner[1] + turned.height)
    canvas.paste(ImageChops.lighter(canvas.crop(room), turned), corner)


def _cloud(rng: np.random.Generator, size: tuple[int, int], cells: int) -> Grey:
    """Slow unevenness, about -1 to 1."""
    width, height = size
    rows = max(3, round(cells * height / width))
    seed = rng.normal(0.0, 0.5, (rows, cells)).astype(np.float32)
    big = Image.fromarray(seed).resize(size, Image.Resampling.BICUBIC)
    return np.asarray(big, dtype=np.float32)


def _across(scan: ScanPlan, row: int, at: float, reach: float) -> tuple[slice, slice]:
    """The rows and columns of the picture within ``reach`` mm of a line of constant x (row 0) or z (1)."""
    width, height = scan.size
    ends = [(at, scan.bottom), (at, scan.top)] if row == 0 else [(scan.left, at), (scan.right, at)]
    middle = place(scan.mm_to_px, np.array(ends))[:, row]
    more = reach * scan.dpi / 25.4
    limit = width if row == 0 else height
    span = slice(max(0, int(middle.min() - more)), min(limit, int(middle.max() + more)))
    return (slice(0, height), span) if row == 0 else (span, slice(0, width))


def _grid(rows: slice, columns: slice) -> tuple[Grey, Grey]:
    """Pixel middles u of shape (1, n) and v of shape (m, 1)."""
    u = np.arange(columns.start, columns.stop, dtype=np.float32)[None, :] + np.float32(0.5)
    v = np.arange(rows.start, rows.stop, dtype=np.float32)[:, None] + np.float32(0.5)
    return u, v


def _fold(paper: Grey, inked: Grey, scan: ScanPlan, rng: np.random.Generator) -> None:
    """Folds change the tone beside them, and wear the ink off on them; both arrays are changed in place."""
    m = np.array(scan.to_mm, dtype=np.float32)
    for row, places in ((0, scan.folds_x), (1, scan.folds_z)):
        for at in places:
            rows, columns = _across(scan, row, at, 28.0)
            u, v = _grid(rows, columns)
            along = v[:, 0] if row == 0 else u[0]
            wander = np.interp(along, np.linspace(0, float(along[-1]), 40), rng.normal(0.0, 0.12, 40))
            wander = wander.astype(np.float32)
            off = m[row, 0] * u + m[row, 1] * v + (m[row, 2] - np.float32(at))
            off += wander[:, None] if row == 0 else wander[None, :]
            crease = np.exp(-np.square(off / np.float32(0.35)))
            paper[rows, columns] += (
                5.0 * np.exp(-np.square((off - 0.9) / 0.6))
                - 10.0 * crease
                - 4.0 * np.exp(-np.abs(off) / 6.0) * np.sign(off)
            )
            inked[rows, columns] *= 1.0 - np.float32(0.35) * crease


def _stain(paper: Grey, scan: ScanPlan) -> None:
    """The foot of a mug, darkened in place."""
    if scan.stain is None:
        return
    x, z, radius = scan.stain
    width, height = scan.size
    u0, v0 = place(scan.mm_to_px, np.array([[x, z]]))[0]
    k = scan.dpi / 25.4
    reach = (radius + 8.0) * k
    rows = slice(max(0, int(v0 - reach)), min(height, int(v0 + reach)))
    columns = slice(max(0, int(u0 - reach)), min(width, int(u0 + reach)))
    u, v = _grid(rows, columns)
    far, angle = np.hypot(u - u0, v - v0) / k, np.arctan2(v - v0, u - u0)
    off = far - radius - 0.5 * np.sin(3 * angle)
    rim = np.exp(-np.square(off / np.where(off > 0, 0.5, 1.9))) * (0.55 + 0.45 * np.sin(angle + 0.6))
    paper[rows, columns] -= 22.0 * rim + 2.0 * (off < 0)


def scanned(sheet: Sheet, scan: ScanPlan) -> bytes:
    """The scan file."""
    rng = np.random.default_rng(scan.seed)
    inked = ink(sheet, scan)
    width, height = scan.size
    inked = inked * (0.96 + 0.05 * _cloud(rng, scan.size, 60))
    paper = 228.0 + 8.0 * _cloud(rng, scan.size, 7) + 1.5 * _cloud(rng, scan.size, 45)
    _fold(paper, inked, scan, rng)
    _stain(paper, scan)
    edge = np.minimum.outer(
        np.minimum(np.arange(height), np.arange(height)[::-1]),
        np.minimum(np.arange(width), np.arange(width)[::-1]),
    ).astype(np.float32)
    paper -= 14.0 * np.exp(-edge / np.float32(scan.dpi * 0.5))
    specks = _specks(rng, scan.size, scan.dpi)
    grey = paper * (1.0 - 0.86 * np.clip(inked, 0, 1)) - specks
    grey = _blurred(grey.astype(np.float32))
    if scan.bed:
        grey = _on_the_bed(grey, scan)
    return _encoded(grey, scan, rng)


def _blurred(grey: Grey, share: float = 0.14) -> Grey:
    """The lens: each pixel gives a share to its neighbours."""
    for axis in (0, 1):
        grey = grey + share * (np.roll(grey, 1, axis) + np.roll(grey, -1, axis) - 2 * grey)
    return grey


def _specks(rng: np.random.Generator, size: tuple[int, int], dpi: float) -> Grey:
    width, height = size
    specks = np.zeros((height, width), dtype=np.float32)
    number = int(width * height / dpi**2 * 9)
    v, u = rng.integers(0, height - 2, number), rng.integers(0, width - 2, number)
    depth = rng.uniform(20.0, 130.0, number).astype(np.float32)
    specks[v, u] = depth
    wide = rng.random(number) < 0.3
    specks[v[wide] + 1, u[wide]] = depth[wide]
    specks[v[wide], u[wide] + 1] = depth[wide] * 0.7
    return specks


def _on_the_bed(grey: Grey, scan: ScanPlan) -> Grey:
    """The sheet ends ``bed`` mm inside the frame; beyond it lies the scanner's lid, with a shadow."""
    width, height = scan.size
    u = np.arange(width, dtype=np.float32)[None, :] + np.float32(0.5)
    v = np.arange(height, dtype=np.float32)[:, None] + np.float32(0.5)
    m = np.array(scan.to_mm, dtype=np.float32)
    x, z = m[0, 0] * u + m[0, 1] * v + m[0, 2], m[1, 0] * u + m[1, 1] * v + m[1, 2]
    inside = np.minimum(
        np.minimum(x - (scan.left + scan.bed), scan.right - scan.bed - x),
        np.minimum(z - (scan.bottom + scan.bed), scan.top - scan.bed - z),
    )
    lid = 243.0 - 70.0 * np.exp(np.minimum(inside, 0.0) / 1.6)
    return np.asarray(np.where(inside > 0, grey, lid), dtype=np.float32)


def _encoded(grey: Grey, scan: ScanPlan, rng: np.random.Generator) -> bytes:
    width, height = scan.size
    out, dpi = io.BytesIO(), (scan.dpi, scan.dpi)
    if scan.make == "grey png":
        noise = rng.standard_normal((height, width), dtype=np.float32) * np.float32(0.35)
        levels = np.clip(np.round((grey + noise) / 5.0), 0, 51) * 5.0
        Image.fromarray(levels.astype(np.uint8)).save(out, "PNG", compress_level=6, dpi=dpi)
    elif scan.make == "colour jpeg":
        grey = grey + rng.standard_normal((height, width), dtype=np.float32) * np.float32(2.0)
        tint = np.array([1.0, 0.955, 0.83], dtype=np.float32)
        drawn, blank = np.array([40.0, 48.0, 92.0], dtype=np.float32), 232.0
        depth = np.clip(grey / blank, 0.0, 1.08)[:, :, None]
        warm = drawn * (1.0 - depth) + blank * tint * depth
        colours = np.clip(np.round(warm), 0, 255).astype(np.uint8)
        Image.fromarray(colours).save(
            out, "JPEG", quality=84, subsampling=2, dpi=(round(scan.dpi), round(scan.dpi))
        )
    else:
        grime = np.where(grey > 195.0, 226.0 + 5.0 * np.minimum(grey - 226.0, 0.0), grey)
        grain = rng.standard_normal((height, width), dtype=np.float32) * np.float32(15.0)
        black = grime + grain < 150.0
        Image.fromarray(~black).convert("1").save(out, "TIFF", compression="group4", dpi=dpi)
    return out.getvalue()


def darkness(data: bytes) -> Grey:
    """A scan read back as darkness from 0 (white) to 1, shape (height, width)."""
    with Image.open(io.BytesIO(data)) as picture:
        return np.float32(1.0) - np.asarray(picture.convert("L"), dtype=np.float32) / np.float32(255.0)
