"""Drawing a scan: of the level that fits the zoom, the part that is seen, and no more."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter, QTransform

from app.scans import bits
from app.scans.levels import blank, colour_pixels, grey_pixels
from app.scans.picture import Picture, levels_for
from core.design import Matrix

Floats = NDArray[np.float64]

# Beyond this a source pixel is a visible square, and its true edges tell more than a blur.
CRISP_FROM_MAGNIFICATION = 2.0
_MARGIN_PIXELS = 2
# Under perspective the part that is seen may be a whole level: too much to copy for a frame.
MOST_WIDENED_PIXELS = 16_000_000


def scan_corners_mm(width: int, height: int, to_mm: Matrix) -> Floats:
    """Corners of the picture's edge in mm (x, z), shape (4, 2).

    In the picture's own order: top left, top right, bottom right, bottom left. ``width`` and
    ``height`` in pixels. ValueError where the matrix throws a corner to infinity or beyond.
    """
    corners = _corners(width, height) @ np.asarray(to_mm, np.float64).T
    if not (np.isfinite(corners).all() and (corners[:, 2] > 0).all()):
        raise ValueError("to_mm: a corner of the scan lies at infinity; set the scan's scale and place again")
    return corners[:, :2] / corners[:, 2:]


def draw_scan(
    painter: QPainter,
    picture: Picture,
    to_mm: Matrix,
    mm_to_view: QTransform,
    opacity: float,
    view_rect: QRectF,
    device_ratio: float,
) -> float:
    """Draw the part of ``picture`` in ``view_rect``; how many of its pixels make one of the device's.

    ``to_mm`` takes pixels (u right, v down) to mm (x aft, z up): any turn, mirror, unequal scale or
    perspective. ``mm_to_view`` takes mm to the painter's present coordinates and already turns z
    upside down; ``view_rect`` is in those coordinates, and ``device_ratio`` is the number of device
    pixels to one of them. ``opacity`` 0 to 1, on top of the painter's own. The painter is left as
    it was. Where nothing is seen, or a matrix flattens the picture, nothing is drawn and the answer
    is infinite.
    """
    to_view = matrix_rows(mm_to_view).T @ np.asarray(to_mm, np.float64)
    seen = seen_source(picture.width, picture.height, to_view, view_rect)
    if seen.shape[0] < 3:
        return math.inf
    per_device = source_per_view(to_view, seen) / device_ratio
    if not (math.isfinite(per_device) and per_device > 0):
        return math.inf
    level, step = level_for(picture, per_device)
    low = np.maximum(np.floor(seen.min(axis=0) / step) - _MARGIN_PIXELS, 0.0)
    # The last column and row of a level may reach past the picture; its edge is where it was.
    edge = np.array((picture.width, picture.height)) / step
    high = np.minimum(np.ceil(seen.max(axis=0) / step) + _MARGIN_PIXELS, edge)
    part = QRectF(float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1]))
    smooth = per_device * CRISP_FROM_MAGNIFICATION > 1.0
    painter.save()
    try:
        painter.setOpacity(painter.opacity() * min(max(opacity, 0.0), 1.0))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, smooth)
        drawn, left, top = window_of(level, part)
        # Counted from the window's own corner: raster painting ends at 32,767 pixels.
        placed = np.array(((step, 0.0, step * left), (0.0, step, step * top), (0.0, 0.0, 1.0)))
        inner = part.translated(-left, -top)
        turn = _upright(to_view @ placed, inner)
        if turn is not None and inner.width() * inner.height() <= MOST_WIDENED_PIXELS:
            # Qt is several times as fast where nothing is turned or mirrored, so that is done beforehand.
            drawn, inner, back = _turned(drawn, inner, *turn)
            placed = placed @ back
        if drawn.width() * drawn.height() <= MOST_WIDENED_PIXELS and smooth:
            # Qt's smooth transform of 32-bit pixels is that much faster that it pays to convert, each frame.
            drawn = drawn.convertToFormat(QImage.Format.Format_RGB32)
        painter.setTransform(transform_for(to_view @ placed), True)
        painter.drawImage(inner, drawn, inner)
    finally:
        painter.restore()
    return per_device


def level_for(picture: Picture, per_device: float) -> tuple[QImage, float]:
    """What to draw, and how many source pixels one of its pixels covers each way."""
    if picture.bits is not None and per_device < picture.shrunk:
        return picture.bits, 1.0
    index = levels_for(picture, per_device)
    return picture.levels[index], float(picture.shrunk * 2**index)


def window_of(level: QImage, part: QRectF) -> tuple[QImage, int, int]:
    """The pixels of a level under ``part``, and where their left top corner lies. Bits come as greys.

    Otherwise the window looks into the level's own memory, which must outlive it.
    """
    seen = part.toAlignedRect().intersected(level.rect())
    if level.format() == QImage.Format.Format_Mono:
        left = seen.left() & ~7
        window = bits.window_of(level, left, seen.top(), seen.right() + 1 - left, seen.height())
        return window, left, seen.top()
    grey = level.format() == QImage.Format.Format_Grayscale8
    left = seen.left() & ~3 if grey else seen.left()  # QImage wants its lines to begin on whole words
    stride = level.bytesPerLine()
    first = seen.top() * stride + left * (1 if grey else 4)
    window = QImage(level.constBits()[first:], seen.right() + 1 - left, seen.height(), stride, level.format())
    return window, left, seen.top()


def _upright(to_view: Floats, part: QRectF) -> tuple[bool, bool, bool] | None:
    """(transposed, mirrored across, mirrored down) where that is all that is turned, and something is.

    ``part`` tells how much a skew counts: less than a hundredth of a pixel over all of it is none.
    """
    a, b, c, d = to_view[0, 0], to_view[0, 1], to_view[1, 0], to_view[1, 1]
    reach = max(part.right(), part.bottom(), 1.0)
    if abs(to_view[2, 0]) + abs(to_view[2, 1]) > 0 or to_view[2, 2] <= 0:
        return None
    if max(abs(b), abs(c)) * reach < 0.01:
        return None if a > 0 and d > 0 else (False, bool(a < 0), bool(d < 0))
    if max(abs(a), abs(d)) * reach < 0.01:
        return True, bool(c < 0), bool(b < 0)
    return None


def _turned(
    window: QImage, part: QRectF, transposed: bool, across: bool, down: bool
) -> tuple[QImage, QRectF, Floats]:
    """The window turned, ``part`` in it, and the (3, 3) way back from its pixels to the window's own.

    ``across`` and ``down`` say which of the window's own axes runs against the view.
    """
    width, height = window.width(), window.height()
    left = width - part.right() if across else part.left()
    top = height - part.bottom() if down else part.top()
    back = np.diag((-1.0 if across else 1.0, -1.0 if down else 1.0, 1.0))
    back[:2, 2] = (width if across else 0.0, height if down else 0.0)
    if not transposed:
        return _mirrored(window, across, down), QRectF(left, top, part.width(), part.height()), back
    # Clockwise is mirrored down and transposed, anticlockwise mirrored across and transposed.
    turned = window.transformed(QTransform().rotate(90.0 if down else 270.0))
    if across == down:
        turned = _mirrored(turned, across=False, down=True)
    inner = QRectF(top, left, part.height(), part.width())
    return turned, inner, back @ np.array(((0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))


def _mirrored(image: QImage, across: bool, down: bool) -> QImage:
    """A grey or RGB32 picture mirrored."""
    kind = np.dtype(np.uint8 if image.format() == QImage.Format.Format_Grayscale8 else np.uint32)
    width, height, stride = image.width(), image.height(), image.bytesPerLine()
    held = np.frombuffer(image.constBits(), np.uint8, count=stride * (height - 1) + width * kind.itemsize)
    rows = np.ndarray((height, width), kind, held, strides=(stride, kind.itemsize))
    mirrored = blank(width, height, colour=kind.itemsize == 4)
    target = colour_pixels(mirrored) if kind.itemsize == 4 else grey_pixels(mirrored)
    target[:] = rows[:: -1 if down else 1, :: -1 if across else 1]
    return mirrored


def _corners(width: float, height: float) -> Floats:
    return np.array(((0, 0, 1), (width, 0, 1), (width, height, 1), (0, height, 1)), np.float64)


def matrix_rows(transform: QTransform) -> Floats:
    """Qt's matrix as it is written, for points that are rows."""
    t = transform
    return np.array(
        ((t.m11(), t.m12(), t.m13()), (t.m21(), t.m22(), t.m23()), (t.m31(), t.m32(), t.m33())), np.float64
    )


def transform_for(matrix: Floats) -> QTransform:
    """Qt's transform for a matrix that acts on columns."""
    return QTransform(*(float(value) for value in matrix.T.ravel()))


def seen_source(width: int, height: int, to_view: Floats, view_rect: QRectF) -> Floats:
    """Corners (u, v) of the part of the picture that shows in ``view_rect``, shape (N, 2).

    Cut in homogeneous coordinates (Sutherland and Hodgman), where cutting along an edge of the view
    is linear in u and v even under perspective, and what lies behind the horizon is cut off too.
    """
    source = _corners(width, height)
    if not np.isfinite(to_view).all():
        return np.empty((0, 2))
    size = np.abs(source @ to_view[2]).max()
    if size == 0:
        return np.empty((0, 2))
    half_planes = np.array(
        (
            to_view[2] - np.array((0.0, 0.0, 1e-6 * size)),
            to_view[0] - view_rect.left() * to_view[2],
            view_rect.right() * to_view[2] - to_view[0],
            to_view[1] - view_rect.top() * to_view[2],
            view_rect.bottom() * to_view[2] - to_view[1],
        )
    )
    for plane in half_planes:
        if source.shape[0] == 0:
            break
        inside = source @ plane
        after, inside_after = np.roll(source, -1, axis=0), np.roll(inside, -1)
        kept: list[Floats] = []
        for here, there, a, b in zip(source, after, inside, inside_after, strict=True):
            if a >= 0:
                kept.append(here)
            if (a < 0) != (b < 0):
                kept.append(here + (there - here) * (a / (a - b)))
        source = np.array(kept).reshape(-1, 3)
    return source[:, :2]


def source_per_view(to_view: Floats, seen: Floats) -> float:
    """Source pixels along one unit of the view, where the picture is magnified most."""
    w = seen @ to_view[2, :2] + to_view[2, 2]
    determinant = abs(float(np.linalg.det(to_view)))
    # The Jacobian determinant of a projective map is det(H) / w**3.
    magnified = determinant / float(np.abs(w).min()) ** 3
    return 1.0 / math.sqrt(magnified) if magnified > 0 else math.inf
