"""Drawing a PDF page: its sharp part where there is one, the coarse picture around it."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPolygonF, QTransform

from app.scans.drawing import Floats, draw_scan, matrix_rows, seen_source, source_per_view, transform_for
from app.scans.pdf_detail import Pair, Patch
from app.scans.picture import Picture
from core.design import Matrix

# Beyond this a pixel of the page's own picture is a visible square, as in every other scan.
_CRISP_FROM_MAGNIFICATION = 2.0


def draw_page(
    painter: QPainter,
    picture: Picture,
    to_mm: Matrix,
    mm_to_view: QTransform,
    opacity: float,
    view_rect: QRectF,
    device_ratio: float,
) -> float:
    """Like ``draw_scan``, for a picture with ``detail``; what is sharper comes later and is told by it."""
    to_view = matrix_rows(mm_to_view).T @ np.asarray(to_mm, np.float64)
    patch, whole = _patch(picture, to_view, view_rect, device_ratio)
    if patch is None:
        return draw_scan(painter, picture, to_mm, mm_to_view, opacity, view_rect, device_ratio)
    if not whole:
        painter.save()
        # Drawn over the coarse picture it would let it shine through.
        around = QPainterPath()
        around.addRect(view_rect)
        painter.setClipPath(around - _outline(patch, to_view), Qt.ClipOperation.IntersectClip)
        draw_scan(painter, picture, to_mm, mm_to_view, opacity, view_rect, device_ratio)
        painter.restore()
    (u, v), (du, dv) = patch.corner, patch.step
    place = to_view @ np.array(((du, 0.0, u), (0.0, dv, v), (0.0, 0.0, 1.0)))
    # Its last pixels may reach past the page, whose edge is where it was.
    part = QRectF(
        0.0, 0.0, min(patch.image.width(), (picture.width - u) / du),
        min(patch.image.height(), (picture.height - v) / dv),
    )
    magnified = max(du, dv) * device_ratio / max(source_per_view(to_view, _corners(patch)), 1e-12)
    painter.save()
    try:
        painter.setOpacity(painter.opacity() * min(max(opacity, 0.0), 1.0))
        painter.setRenderHint(
            QPainter.RenderHint.SmoothPixmapTransform, magnified < _CRISP_FROM_MAGNIFICATION
        )
        painter.setTransform(transform_for(place), True)
        painter.drawImage(part, patch.image, part)
    finally:
        painter.restore()
    # However closely it is looked at, the coarse picture's finest level is all that it serves with.
    return max(*patch.step, float(picture.finest))


def _patch(
    picture: Picture, to_view: Floats, view_rect: QRectF, device_ratio: float
) -> tuple[Patch | None, bool]:
    """The sharp part to draw, and whether it is all that is seen."""
    seen = seen_source(picture.width, picture.height, to_view, view_rect)
    if picture.detail is None or seen.shape[0] < 3:
        return None, False
    low, high = seen.min(axis=0), seen.max(axis=0)
    part = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    step, anchor = _grid(to_view, seen, device_ratio)
    if not (np.isfinite(step).all() and min(step) > 0):
        return None, False
    patch = picture.detail.patch_for(part, step, anchor, float(picture.finest))
    edge = (*part[:2], min(part[2], picture.width - 1.0), min(part[3], picture.height - 1.0))
    return patch, patch is not None and patch.covers(edge)


def _grid(to_view: Floats, seen: Floats, device_ratio: float) -> tuple[Pair, Pair]:
    """How many pixels of the page one of the screen is, and a place where the corners of both meet."""
    flat = to_view / to_view[2, 2] if to_view[2, 2] else to_view
    if flat[2, 0] == flat[2, 1] == 0:
        for across, down in ((0, 1), (1, 0)):
            # Which row of the matrix u goes into: 0 where the page stands upright, 1 where it lies.
            if flat[down, 0] == flat[across, 1] == 0 and flat[across, 0] and flat[down, 1]:
                u, v = flat[across, 0], flat[down, 1]
                return (
                    (float(1 / (abs(u) * device_ratio)), float(1 / (abs(v) * device_ratio))),
                    (float(-flat[across, 2] / u), float(-flat[down, 2] / v)),
                )
    per_device = source_per_view(to_view, seen) / device_ratio
    return (per_device, per_device), (0.0, 0.0)


def _corners(patch: Patch) -> Floats:
    u0, v0, u1, v1 = patch.part
    return np.array(((u0, v0), (u1, v0), (u1, v1), (u0, v1)))


def _outline(patch: Patch, to_view: Floats) -> QPainterPath:
    mapped = np.column_stack((_corners(patch), np.ones(4))) @ to_view.T
    path = QPainterPath()
    # What reaches behind the horizon is not cut out: it shows twice rather than not at all.
    if (mapped[:, 2] > 0).all():
        path.addPolygon(QPolygonF([QPointF(float(x / w), float(y / w)) for x, y, w in mapped]))
        path.closeSubpath()
    return path
