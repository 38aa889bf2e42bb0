"""The grey pixels of a scan around a place of the plan, and the way from them to mm and back.

The scan's data are what counts, not how it is shown: paper that the dark theme turns to its negative
stays white here, and what is drawn light on dark is turned so that its ink is dark: told where one clicks,
unless the user has it inverted, who then knows better.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage

from app.scans.pdf_wire import DOTS_PER_INCH
from app.scans.picture import Picture
from core.design import Lens, Scan
from core.ink.darkness import reduced
from core.ink.polarity import light_on_dark
from core.scan_map import curved, mm_of, pixels_of, straight

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]
Box = tuple[float, float, float, float]
"""x low, z low, x high, z high in mm."""

MOST_PIXELS = 3_000_000
"""A window that would hold more comes from a coarser level."""
_DARK_PAPER = 96
_MOST_ASKED = 60_000
"""Pixels that are asked about it; of more, means are."""
_AROUND_MM = 10.0
"""Of a place that was clicked: there it shows whether lines are lighter than their paper."""
_ALONG_A_SIDE = 8


@dataclass(frozen=True, eq=False)
class Bend:
    """A scan's lens in the pixels of a window: ``place`` (3, 3) takes them to those of the full size."""

    lens: Lens
    place: Floats

    def straight(self, pixels: ArrayLike) -> Floats:
        """Points (N, 2) with the lens taken out."""
        back = np.asarray(np.linalg.inv(self.place), np.float64)
        return projected(back, straight(self.lens, projected(self.place, pixels)))

    def curved(self, points: ArrayLike) -> Floats:
        """The inverse of ``straight``."""
        back = np.asarray(np.linalg.inv(self.place), np.float64)
        return projected(back, curved(self.lens, projected(self.place, points)))


@dataclass(frozen=True, eq=False)
class InkWindow:
    """Part of a scan: ``grey`` (H, W), 0 ink and 255 paper, and the 3 x 3 matrices between it and mm.

    Window pixels are (u right, v down), continuous; mm are (x aft, z up). ``mm_per_px`` holds in the
    middle of the window. ``box`` is what was asked for, in mm. ``bend`` straightens what a lens bent,
    before ``to_mm`` and after ``to_px``; None where there is no lens.
    """

    grey: Bytes
    to_mm: Floats
    to_px: Floats
    mm_per_px: float
    box: Box
    scan: str
    bend: Bend | None = None

    def mm(self, pixels: ArrayLike) -> Floats:
        """Points (N, 2) in mm for points (N, 2) in pixels of the window."""
        return projected(self.to_mm, pixels if self.bend is None else self.bend.straight(pixels))

    def px(self, mm: ArrayLike) -> Floats:
        """Points (N, 2) in pixels of the window for points (N, 2) in mm."""
        at = projected(self.to_px, mm)
        return at if self.bend is None else self.bend.curved(at)

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
        if picture is not None and _covers(scan, picture, points):
            return scan, picture
    return None


def _covers(scan: Scan, picture: Picture, points: Sequence[tuple[float, float]]) -> bool:
    try:
        at = pixels_of(scan, np.asarray(points, np.float64))
    except np.linalg.LinAlgError:
        return False
    return bool((at >= 0).all() and (at <= (picture.width, picture.height)).all())


def ink_window(
    scan: Scan, picture: Picture, box: Box, mm_per_px: float, *, most_pixels: int = MOST_PIXELS,
    at: tuple[float, float] | None = None,
) -> InkWindow | None:
    """The part of ``picture`` that covers ``box`` mm, at about ``mm_per_px`` or the next finer level.

    A coarser level is taken where the window would hold more than ``most_pixels``, and what the
    picture has where it has nothing finer. ``at`` is where one clicked, in mm: whether the drawing is light
    on dark is told there, else by the window. None where the box lies beside the picture.
    """
    part = _part(scan, picture, box)
    if part is None:
        return None
    low, high = part
    forward = np.asarray(scan.to_mm, np.float64)
    source_mm = _mm_per_source(scan, (low + high) / 2)
    too_many = float(np.prod(high - low)) / most_pixels
    index = _level(picture, mm_per_px / source_mm, too_many)
    level, step = picture.levels[index], float(picture.shrunk * 2**index)
    sharp = _sharp(picture, low, high, step, max(mm_per_px / source_mm, math.sqrt(too_many)))
    grey, place = sharp or _of_level(level, step, low, high)
    if min(grey.shape) < 3:
        return None
    to_mm = np.asarray(forward @ place, np.float64)
    to_px = np.asarray(np.linalg.inv(to_mm), np.float64)
    mm = source_mm * math.sqrt(place[0, 0] * place[1, 1])
    bend = None if scan.lens is None else Bend(scan.lens, place)
    window = InkWindow(grey, to_mm, to_px, mm, box, scan.id, bend)
    near = None if at is None else _near(grey, window.px((at,))[0], max(_AROUND_MM / mm, 36.0))
    if not scan.tone.invert and _turned(grey, near, picture):
        return replace(window, grey=255 - grey)
    return window


def _part(scan: Scan, picture: Picture, box: Box) -> tuple[Floats, Floats] | None:
    """The low and the high corner of what ``box`` covers of the picture, in its pixels; None beside it."""
    low_x, low_z, high_x, high_z = box
    edge = np.array(((low_x, low_z), (high_x, low_z), (high_x, high_z), (low_x, high_z)))
    if scan.lens is not None:
        # Its sides are curves in the picture.
        part = np.linspace(0.0, 1.0, _ALONG_A_SIDE, endpoint=False)[:, None]
        edge = np.vstack([a + part * (b - a) for a, b in zip(edge, np.roll(edge, -1, axis=0), strict=True)])
    size = np.array((picture.width, picture.height), np.float64)
    try:
        at = pixels_of(scan, edge)
    except np.linalg.LinAlgError:
        return None
    if np.isnan(at).all():
        return None
    if np.isnan(at).any():
        # It reaches beyond the horizon: it may cover anything of the picture.
        return np.zeros(2), size
    low, high = np.maximum(at.min(axis=0), 0.0), np.minimum(at.max(axis=0), size)
    return (low, high) if (high - low >= 1.0).all() else None


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
    source_mm = _mm_per_source(scan, (low + high) / 2)
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


def _mm_per_source(scan: Scan, at: Floats) -> float:
    if scan.lens is not None:
        here, right, below = mm_of(scan, at + np.array(((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))))
        (a, b), (c, d) = right - here, below - here
        return math.sqrt(abs(float(a * d - b * c)))
    forward = np.asarray(scan.to_mm, np.float64)
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


def _near(grey: Bytes, at: Floats, reach: float) -> Bytes:
    low = np.maximum(np.floor(at - reach).astype(int), 0)
    high = np.maximum(np.ceil(at + reach).astype(int), 0)
    return grey[low[1] : high[1], low[0] : high[0]]


def _turned(grey: Bytes, near: Bytes | None, picture: Picture) -> bool:
    """Whether lines are light: as it is near the click, else in the window, else in the whole picture."""
    for part in (near, grey):
        if part is None or not part.size:
            continue
        leap = max(1, round(math.sqrt(part.size / _MOST_ASKED)))
        told = light_on_dark(part if leap == 1 else np.rint(reduced(part, leap)).astype(np.uint8))
        if told is not None:
            return told
    return _dark_all_over(picture)


_known: OrderedDict[int, tuple[QImage, bool]] = OrderedDict()


def _dark_all_over(picture: Picture) -> bool:
    """Whether most of the whole picture is dark. Remembered by its coarsest level."""
    level = picture.levels[-1]
    key = level.cacheKey()
    known = _known.get(key)
    if known is None:
        dark = float(np.median(_grey(level, level.rect()))) < _DARK_PAPER
        # The image is kept with its answer: its key must not be given out again meanwhile.
        known = _known[key] = (level, dark)
        while len(_known) > 16:
            _known.popitem(last=False)
    return known[1]
