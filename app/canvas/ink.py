"""Drawing outlines: confident lines, a light wash, and doubled surfaces that look doubled."""

from __future__ import annotations

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QTransform
from shapely.geometry.base import BaseGeometry

from app.canvas.view import View
from app.theme import Theme
from core.design import Outline, Tailplane, Wing
from core.geometry.memo import IdentityMemo
from core.geometry.ring import Array
from core.stability.side_area import form_of, surface_patch

SECOND_PX = 3.5

_paths: IdentityMemo[QPainterPath] = IdentityMemo(4096)
_surface_paths: IdentityMemo[QPainterPath] = IdentityMemo(256)


def transform_of(view: View) -> QTransform:
    """From mm to logical pixels; z up becomes y down."""
    return QTransform(view.scale, 0, 0, -view.scale, -view.x * view.scale, view.z * view.scale)


def path_of(outline: Outline) -> QPainterPath:
    """The outline in mm, true cubics, filled even-odd as it is counted."""

    def make() -> QPainterPath:
        path = QPainterPath()
        ring = form_of(outline).ring
        if len(ring) == 0:
            return path
        path.moveTo(*ring.p0[0])
        curved = ring.curved
        for i in range(len(ring)):
            if curved[i]:
                path.cubicTo(*ring.p1[i], *ring.p2[i], *ring.p3[i])
            else:
                path.lineTo(*ring.p3[i])
        path.closeSubpath()
        path.setFillRule(Qt.FillRule.OddEvenFill)
        return path

    return _paths.get((outline,), make)


def path_of_region(region: BaseGeometry) -> QPainterPath:
    """A region's rings in mm."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for part in shapely.get_parts(region):
        for ring in (part.exterior, *part.interiors):
            points: Array = np.asarray(shapely.get_coordinates(ring))
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            path.closeSubpath()
    return path


def path_of_surface(surface: Wing | Tailplane) -> QPainterPath:
    """The side projection of a wing or tailplane in mm."""
    return _surface_paths.get((surface,), lambda: path_of_region(surface_patch(surface).region))


def draw_outline(
    painter: QPainter, outline: Outline, view: View, theme: Theme, *, selected: bool = False
) -> None:
    """One outline in logical pixels, as its kind and count want it."""
    colour = QColor(theme.pick) if selected else QColor(theme.ink)
    draw_path(
        painter, transform_of(view).map(path_of(outline)), theme, theme.wash(outline.kind), colour,
        doubled=outline.count > 1, width=2.2 if selected else 1.7, faint=outline.locked,
    )


def draw_surface(painter: QPainter, surface: Wing | Tailplane, view: View, theme: Theme) -> None:
    """The side projection of a wing or tailplane: doubled, and dashed since it is typed, not traced."""
    path = transform_of(view).map(path_of_surface(surface))
    draw_path(
        painter, path, theme, QColor(theme.other), QColor(theme.ink_soft),
        doubled=True, width=1.2, dashed=True,
    )


def draw_path(
    painter: QPainter, path: QPainterPath, theme: Theme, wash: QColor, line: QColor, *,
    doubled: bool, width: float, dashed: bool = False, faint: bool = False,
) -> None:
    """A path in logical pixels: wash, line, and for a doubled surface a hatch and its twin's edge."""
    if doubled:
        _draw_twin(painter, path, line)
    fill = QColor(wash)
    fill.setAlpha(70 if faint else 95)
    painter.fillPath(path, fill)
    if doubled:
        hatch = QColor(line)
        hatch.setAlpha(95)
        painter.fillPath(path, QBrush(hatch, Qt.BrushStyle.BDiagPattern))
    pen = QPen(line, width)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashed:
        pen.setDashPattern([5, 3])
    painter.strokePath(path, pen)


def _draw_twin(painter: QPainter, path: QPainterPath, line: QColor) -> None:
    """The edge of the second piece, which peeps out from behind the first like a second card."""
    outside = QPainterPath()
    outside.setFillRule(Qt.FillRule.OddEvenFill)
    outside.addRect(path.boundingRect().adjusted(-20, -20, 20, 20))
    outside.addPath(path)
    painter.save()
    painter.setClipPath(outside, Qt.ClipOperation.IntersectClip)
    thin = QColor(line)
    thin.setAlpha(170)
    painter.strokePath(path.translated(SECOND_PX, SECOND_PX), QPen(thin, 1.0))
    painter.restore()


def box_px(outline: Outline, view: View, margin: float = 8.0) -> QRectF:
    """Where the outline lies on the canvas, its line and twin included."""
    low_x, low_z, high_x, high_z = form_of(outline).box
    left, top = view.to_px(low_x, high_z)
    right, bottom = view.to_px(high_x, low_z)
    return QRectF(QPointF(left - margin, top - margin), QPointF(right + margin, bottom + margin))
