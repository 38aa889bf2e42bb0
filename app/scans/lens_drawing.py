"""Drawing a scan whose lens bent it: cell by cell of the screen, each by a map that is straight in it.

A picture bent by a lens cannot be drawn by one matrix. The view is cut into cells so small that a map
without any bend, fitted to a cell's own pixels, lies within a small part of a device's pixel. The
cells lie on whole pixels of the device, so that no seam shows and nothing is painted twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QImage, QPainter, QTransform

from app.scans.drawing import (
    CRISP_FROM_MAGNIFICATION,
    MOST_WIDENED_PIXELS,
    level_for,
    matrix_rows,
    window_of,
)
from app.scans.picture import Picture
from core.design import Scan
from core.scan_map import pixels_of

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_OFF_PX = 0.12
"""How far a cell's own map may lie off in pixels of the device, by a bound; it is less than 0.1 in truth."""
_COARSE, _LEAST, _MOST = 96, 8, 512
_SAFE = 1.2
"""What is guessed from coarse cells is not all that there is."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The view in cells, N of them.

    ``corners`` (N, 2): their left top corners in device pixels, ``side`` pixels square; ``to_source``
    (N, 2, 3): from device pixels to pixels of the scan; ``low``, ``high`` (N, 2): what is seen of it.
    """

    side: int
    corners: NDArray[np.int64]
    to_source: Floats
    low: Floats
    high: Floats

    def only(self, which: Mask) -> Cells:
        """Some of them."""
        return Cells(
            self.side, self.corners[which], self.to_source[which], self.low[which], self.high[which]
        )

    @property
    def source_per_device(self) -> float:
        """Pixels of the scan along one of the device's, where the picture is magnified most."""
        a = self.to_source
        areas = np.abs(a[:, 0, 0] * a[:, 1, 1] - a[:, 0, 1] * a[:, 1, 0])
        return math.sqrt(float(areas.min())) if len(areas) else math.inf


def cells_of(scan: Scan, size: tuple[int, int], to_mm: Floats, view: QRect) -> Cells:
    """What of the scan, ``size`` pixels, shows in ``view``, a rectangle of device pixels.

    ``to_mm`` (3, 3) takes device pixels to mm. Cells that show nothing of the scan are left out.
    """

    def source(device: Floats) -> Floats:
        return pixels_of(scan, device @ to_mm[:2, :2].T + to_mm[:2, 2])

    side = _side(source, size, view)
    across = np.arange(view.left(), view.right() + 1, side)
    down = np.arange(view.top(), view.bottom() + 1, side)
    corners = np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2)
    cells = _fitted(source, corners, side)
    # Of what reaches beyond the horizon nothing is drawn: it is further off than any sheet.
    seen = np.isfinite(cells.to_source).all(axis=(1, 2))
    with np.errstate(invalid="ignore"):
        seen &= (cells.high > 0.0).all(axis=1) & (cells.low < size).all(axis=1)
    return Cells(side, corners[seen], cells.to_source[seen], cells.low[seen], cells.high[seen])


_NINE = np.array([(x, y) for y in (0.0, 0.5, 1.0) for x in (0.0, 0.5, 1.0)])
_LEAST_SQUARES = np.linalg.pinv(np.column_stack((_NINE, np.ones(9))))


def _fitted(source: Callable[[Floats], Floats], corners: NDArray[np.int64], side: int) -> Cells:
    at = (corners[:, None, :] + side * _NINE).reshape(-1, 2)
    seen = source(at).reshape(-1, 9, 2)
    within = np.einsum("pk,nkc->ncp", _LEAST_SQUARES, seen)
    to_source = within / np.array((side, side, 1.0))
    to_source[:, :, 2] -= np.einsum("ncp,np->nc", to_source[:, :, :2], corners.astype(np.float64))
    return Cells(side, corners, to_source, seen.min(axis=1), seen.max(axis=1))


def _side(source: Callable[[Floats], Floats], size: tuple[int, int], view: QRect) -> int:
    """How large cells may be, in pixels of the device: what lies off grows with the square of it."""
    step = float(max(min(_COARSE, view.width() // 2, view.height() // 2), 1))
    across, down = (
        np.arange(low, high + step, step)
        for low, high in ((view.left(), view.right()), (view.top(), view.bottom()))
    )
    grid = source(np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2))
    grid = grid.reshape(len(down), len(across), 2)
    with np.errstate(invalid="ignore"):
        on = np.asarray(((grid >= -np.array(size)) & (grid <= 2 * np.array(size))).all(axis=2))
        right, below = np.diff(grid, axis=1)[:-1] / step, np.diff(grid, axis=0)[:, :-1] / step
        pixel: Floats = np.sqrt(np.abs(right[..., 0] * below[..., 1] - right[..., 1] * below[..., 0]))
        smallest = pixel[on[:-1, :-1]]
        smallest = smallest[np.isfinite(smallest) & (smallest > 0)]
        if not len(smallest):
            return _MOST
        bends = [
            np.hypot(*np.moveaxis(second, -1, 0))[inner]
            for second, inner in (
                (np.diff(grid, 2, axis=1), on[:, 1:-1]), (np.diff(grid, 2, axis=0), on[1:-1]),
                (np.diff(np.diff(grid, axis=0), axis=1), on[1:, 1:]),
            )
        ]
    worst = max((float(np.nanmax(b)) for b in bends if np.isfinite(b).any()), default=0.0) / step**2
    if not worst > 0.0:
        return _MOST
    # A parabola lies off its best straight line by its bend × side² / 12 at the ends, each way and
    # across; the three may add up.
    allowed = MOST_OFF_PX * float(smallest.min())
    return int(np.clip(math.sqrt(allowed * 12.0 / (3.0 * _SAFE * worst)), _LEAST, _MOST))


@dataclass(frozen=True, eq=False)
class _Source:
    """What cells are painted from: a pixel of ``image`` covers ``step`` of the scan's, its left top lies
    at ``corner``, and nothing is there beyond ``edge``; the last two in pixels of the scan.
    """

    image: QImage
    step: Floats
    corner: Floats
    edge: Floats
    smooth: bool


def draw_bent(
    painter: QPainter, scan: Scan, picture: Picture, mm_to_view: QTransform, view_rect: QRectF,
    device_ratio: float,
) -> float:
    """As ``draw_scan``, for a scan with a lens. Of a PDF's page the sharp part where there is one."""
    ratio = device_ratio
    view = QRectF(
        view_rect.x() * ratio, view_rect.y() * ratio, view_rect.width() * ratio, view_rect.height() * ratio
    ).toRect()
    back = np.asarray(np.linalg.inv(matrix_rows(mm_to_view).T), np.float64)
    to_mm = back @ np.diag((1.0 / ratio, 1.0 / ratio, 1.0))
    cells = cells_of(scan, (picture.width, picture.height), to_mm, view)
    per_device = cells.source_per_device
    if not (len(cells.corners) and math.isfinite(per_device) and per_device > 0):
        return math.inf
    size = np.array((picture.width, picture.height), np.float64)
    low = np.maximum(cells.low.min(axis=0), 0.0)
    high = np.minimum(cells.high.max(axis=0), size)
    whole = QImage(view.width(), view.height(), QImage.Format.Format_ARGB32_Premultiplied)
    whole.fill(0)
    sharp = _sharp(picture, low, high, per_device)
    inside: Mask = np.zeros(len(cells.corners), np.bool_)
    if sharp is not None:
        reach = sharp.corner + sharp.step * (sharp.image.width(), sharp.image.height())
        inside = np.logical_and(
            (np.maximum(cells.low, 0.0) >= sharp.corner).all(axis=1),
            (np.minimum(cells.high, size) <= reach).all(axis=1),
        )
        _paint(whole, cells.only(inside), sharp, view)
    if not inside.all():
        _paint(whole, cells.only(~inside), _of_level(picture, low, high, per_device), view)
    painter.save()
    painter.setOpacity(painter.opacity() * min(max(scan.opacity, 0.0), 1.0))
    at = QRectF(view.x() / ratio, view.y() / ratio, view.width() / ratio, view.height() / ratio)
    painter.drawImage(at, whole, QRectF(whole.rect()))
    painter.restore()
    return per_device


def _is_smooth(source_per_device: float) -> bool:
    return source_per_device * CRISP_FROM_MAGNIFICATION > 1.0


def _of_level(picture: Picture, low: Floats, high: Floats, per_device: float) -> _Source:
    level, step = level_for(picture, per_device)
    first = np.maximum(np.floor(low / step) - 2.0, 0.0)
    last = np.ceil(high / step) + 2.0
    part = QRectF(float(first[0]), float(first[1]), float(last[0] - first[0]), float(last[1] - first[1]))
    window, left, top = window_of(level, part)
    if window.width() * window.height() <= MOST_WIDENED_PIXELS:
        window = window.convertToFormat(QImage.Format.Format_RGB32)
    corner = step * np.array((left, top), np.float64)
    edge = np.array((picture.width, picture.height), np.float64)
    return _Source(window, np.array((step, step)), corner, edge, _is_smooth(per_device))


def _sharp(picture: Picture, low: Floats, high: Floats, per_device: float) -> _Source | None:
    if picture.detail is None:
        return None
    part = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    patch = picture.detail.patch_for(part, (per_device, per_device), (0.0, 0.0), float(picture.finest))
    if patch is None:
        return None
    edge = np.array((picture.width, picture.height), np.float64)
    return _Source(
        patch.image, np.array(patch.step), np.array(patch.corner), edge, _is_smooth(per_device)
    )


def _paint(whole: QImage, cells: Cells, source: _Source, view: QRect) -> None:
    """Paint cells into the picture of the view."""
    device = QPainter(whole)
    device.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, source.smooth)
    device.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
    origin = np.array((view.left(), view.top()))
    held = source.image.width(), source.image.height()
    last = np.minimum((source.edge - source.corner) / source.step, held)
    low = np.maximum(np.floor((cells.low - source.corner) / source.step) - 2.0, 0.0)
    high = np.minimum(np.ceil((cells.high - source.corner) / source.step) + 2.0, last)
    # From the image's pixels, counted from the part's own corner, to those of the view's picture:
    # raster painting ends at 32,767 pixels.
    back = np.linalg.inv(cells.to_source[:, :, :2])
    begins = source.corner + source.step * low - cells.to_source[:, :, 2]
    shift = np.einsum("nij,nj->ni", back, begins) - origin
    linear = back * source.step
    rows = zip(
        (cells.corners - origin).tolist(), low.tolist(), (high - low).tolist(), linear.tolist(),
        shift.tolist(), strict=True,
    )
    for (x, y), (left, top), (width, height), ((a, b), (c, d)), (e, f) in rows:
        if width > 0.0 and height > 0.0:
            device.resetTransform()
            device.setClipRect(QRect(x, y, cells.side, cells.side))
            device.setTransform(QTransform(a, c, b, d, e, f))
            device.drawImage(
                QRectF(0.0, 0.0, width, height), source.image, QRectF(left, top, width, height)
            )
    device.end()
