"""The grey pixels of a scan around a place of the plan, and the way from them to mm and back.

The scan's data are what counts, not how it is shown: paper that the dark theme turns to its negative
stays white here, and a plan drawn light on dark is turned so that its ink is dark.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage

from app.scans.pdf_wire import DOTS_PER_INCH
from app.scans.picture import Picture
from core.design import Matrix, Scan
from core.ink.darkness import reduced

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]
Box = tuple[float, float, float, float]
"""x low, z low, x high, z high in mm."""

MOST_PIXELS = 3_000_000
"""A window that would hold more comes from a coarser level."""
_DARK_PAPER = 96


@dataclass(frozen=True, eq=False)
class InkWindow:
    """Part of a scan: ``grey`` (H, W), 0 ink and 255 paper, and the 3 x 3 matrices between it and mm.

    Window pixels are (u right, v down), continuous; mm are (x aft, z up). ``mm_per_px`` holds in the
    middle of the window. ``box`` is what was asked for, in mm.
    """

    grey: Bytes
    to_mm: Floats
    to_px: Floats
    mm_per_px: float
    box: Box
    scan: str

    def mm(self, pixels: ArrayLike) -> Floats:
        """Points (N, 2) in mm for points (N, 2) in pixels of the window."""
        return projected(self.to_mm, pixels)

    def px(self, mm: ArrayLike) -> Floats:
        """Points (N, 2) in pixels of the window for points (N, 2) in mm."""
        return projected(self.to_px, mm)

    def holds(self, points: ArrayLike, margin_px: float = 0.0) -> bool:
        """Whether all these points in mm lie in the window, so many pixels from its edge."""
        at = self.px(points)
        room = np.array(self.grey.shape[::-1]) - margin_px
        return bool((at >= margin_px).all() and (at <= room).all())


def projected(matrix: Floats, points: ArrayLike) -> Floats:
    """Points (N, 2) through a 3 x 3 matrix."""
    flat = np.asarray(points, np.float64).reshape(-1, 2)
    out = flat @ matrix[:, :2].T + matrix[:, 2]
    return out[:, :2] / out[:, 2:]


def scan_under(
    scans: Sequence[Scan], picture_of: Callable[[Scan], Picture | None], points: Sequence[tuple[float, float]]
) -> tuple[Scan, Picture] | None:
    """The topmost scan that is shown, is open and lies under all ``points`` (mm); None where none does."""
    for scan in reversed(scans):
        picture = None if scan.hidden else picture_of(scan)
        if picture is not None and _covers(scan.to_mm, picture, points):
            return scan, picture
    return None


def _covers(to_mm: Matrix, picture: Picture, points: Sequence[tuple[float, float]]) -> bool:
    back = _inverse(to_mm)
    if back is None:
        return False
    homogeneous = np.column_stack((np.asarray(points, np.float64), np.ones(len(points)))) @ back.T
    # The sign of w tells the two sides of the horizon apart; in the picture itself it is that of w at (0, 0).
    w = homogeneous[:, 2:]
    if not (w > 0).all():
        return False
    at = homogeneous[:, :2] / w
    return bool((at >= 0).all() and (at <= (picture.width, picture.height)).all())


def _inverse(to_mm: Matrix) -> Floats | None:
    """mm to pixels of the full size, positive in front of the horizon."""
    forward = np.asarray(to_mm, np.float64)
    try:
        back = np.linalg.inv(forward)
    except np.linalg.LinAlgError:
        return None
    return np.asarray(back, np.float64) if np.isfinite(back).all() else None


def ink_window(
    scan: Scan, picture: Picture, box: Box, mm_per_px: float, *, most_pixels: int = MOST_PIXELS
) -> InkWindow | None:
    """The part of ``picture`` that covers ``box`` mm, at about ``mm_per_px`` or the next finer level.

    A coarser level is taken where the window would hold more than ``most_pixels``, and what the
    picture has where it has nothing finer. None where the box lies beside the picture.
    """
    part = _part(scan, picture, box)
    if part is None:
        return None
    low, high = part
    forward = np.asarray(scan.to_mm, np.float64)
    source_mm = _mm_per_source(forward, (low + high) / 2)
    too_many = float(np.prod(high - low)) / most_pixels
    index = _level(picture, mm_per_px / source_mm, too_many)
    level, step = picture.levels[index], float(picture.shrunk * 2**index)
    sharp = _sharp(picture, low, high, step, max(mm_per_px / source_mm, math.sqrt(too_many)))
    grey, place = sharp or _of_level(level, step, low, high)
    if min(grey.shape) < 3:
        return None
    if _light_on_dark(picture):
        grey = 255 - grey
    to_mm = np.asarray(forward @ place, np.float64)
    to_px = np.asarray(np.linalg.inv(to_mm), np.float64)
    mm = source_mm * math.sqrt(place[0, 0] * place[1, 1])
    return InkWindow(grey, to_mm, to_px, mm, box, scan.id)


def _part(scan: Scan, picture: Picture, box: Box) -> tuple[Floats, Floats] | None:
    """The low and the high corner of what ``box`` covers of the picture, in its pixels; None beside it."""
    back = _inverse(scan.to_mm)
    if back is None:
        return None
    low_x, low_z, high_x, high_z = box
    corners = projected(back, ((low_x, low_z), (high_x, low_z), (high_x, high_z), (low_x, high_z)))
    size = np.array((picture.width, picture.height), np.float64)
    low, high = np.maximum(corners.min(axis=0), 0.0), np.minimum(corners.max(axis=0), size)
    if not (np.isfinite(corners).all() and (high - low >= 1.0).all()):
        return None
    return low, high


def _of_level(level: QImage, step: float, low: Floats, high: Floats) -> tuple[Bytes, Floats]:
    """The pixels of a level between two corners, and the matrix from them to those of the full size."""
    first = np.floor(low / step).astype(int)
    last = np.minimum(np.ceil(high / step).astype(int), (level.width(), level.height()))
    place = np.array(((step, 0.0, step * first[0]), (0.0, step, step * first[1]), (0.0, 0.0, 1.0)))
    if (last - first < 3).any():
        return np.zeros((0, 0), np.uint8), place
    return _grey(level, QRect(*(int(n) for n in first), *(int(n) for n in last - first))), place


def _sharp(
    picture: Picture, low: Floats, high: Floats, step: float, wanted: float
) -> tuple[Bytes, Floats] | None:
    """The same from a part of a PDF page that was drawn sharp, at ``wanted`` or next finer; None for none.

    ``step`` is what the level has, in pixels of the full size to one of its own, as ``wanted`` is.
    """
    if picture.detail is None or step <= wanted:
        return None
    patch = picture.detail.best_patch((float(low[0]), float(low[1]), float(high[0]), float(high[1])))
    if patch is None or max(patch.step) > 0.8 * step:
        return None
    own = np.array(patch.step)
    k = max(1, math.floor(wanted / max(patch.step) + 1e-6))
    size = np.array((patch.image.width(), patch.image.height()))
    first = np.clip(np.floor((low - patch.corner) / own).astype(int), 0, size)
    last = np.clip(np.ceil((high - patch.corner) / own).astype(int), 0, size)
    if (last - first < 3 * k).any():
        return None
    grey = _grey(patch.image, QRect(*(int(n) for n in first), *(int(n) for n in last - first)))
    if k > 1:
        grey = np.rint(reduced(grey, k)).astype(np.uint8)
    corner = patch.corner + first * own
    return grey, np.array(((own[0] * k, 0.0, corner[0]), (0.0, own[1] * k, corner[1]), (0.0, 0.0, 1.0)))


def want_sharp(scan: Scan, picture: Picture, box: Box, mm_per_px: float, most_pixels: int) -> bool:
    """Have what ``box`` mm covers of a PDF page drawn at ``mm_per_px``; whether that is still to come.

    False too where the picture has nothing finer than its levels, or it cannot be drawn.
    """
    part = None if picture.detail is None or picture.detail.trouble else _part(scan, picture, box)
    if part is None or picture.detail is None:
        return False
    low, high = part
    source_mm = _mm_per_source(np.asarray(scan.to_mm, np.float64), (low + high) / 2)
    pixels = float(np.prod(high - low))
    finest = max(picture.detail.finest_step)
    step = max(mm_per_px / source_mm, math.sqrt(pixels / most_pixels), finest)
    if step >= 0.8 * picture.shrunk:
        return False
    seen = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    patch = picture.detail.best_patch(seen)
    if patch is not None and max(patch.step) <= 1.05 * step:
        return False
    picture.detail.want(seen, DOTS_PER_INCH / step)
    return True


def _mm_per_source(forward: Floats, at: Floats) -> float:
    # The Jacobian determinant of a projective map is det(H) / w**3.
    w = float(forward[2, :2] @ at + forward[2, 2])
    return math.sqrt(abs(float(np.linalg.det(forward))) / abs(w) ** 3)


def _level(picture: Picture, source_per_px: float, too_many: float) -> int:
    """The level for so many source pixels to one; at full size the window were ``too_many`` times too big."""
    shrunk, most = picture.shrunk, len(picture.levels) - 1
    index = math.floor(math.log2(max(source_per_px / shrunk, 1.0)) + 1e-6)
    while index < most and too_many > (shrunk * 2**index) ** 2:
        index += 1
    return min(index, most)


def _grey(level: QImage, part: QRect) -> Bytes:
    """A copy of the pixels of ``part``, whatever the format of the level."""
    image = level.copy(part)
    if image.format() != QImage.Format.Format_Grayscale8:
        image = image.convertToFormat(QImage.Format.Format_Grayscale8)
    lines = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    # A copy in any case: the bytes go with the image.
    return np.array(lines[:, : image.width()], order="C")


_turned: OrderedDict[int, tuple[QImage, bool]] = OrderedDict()


def _light_on_dark(picture: Picture) -> bool:
    """Whether most of the whole picture is dark, as a blueprint is. Remembered by its coarsest level."""
    level = picture.levels[-1]
    key = level.cacheKey()
    known = _turned.get(key)
    if known is None:
        dark = float(np.median(_grey(level, level.rect()))) < _DARK_PAPER
        # The image is kept with its answer: its key must not be given out again meanwhile.
        known = _turned[key] = (level, dark)
        while len(_turned) > 16:
            _turned.popitem(last=False)
    return known[1]
