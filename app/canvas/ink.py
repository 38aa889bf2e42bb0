"""Drawing outlines: confident lines, a light wash, and doubled surfaces that look doubled."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPainterPathStroker, QPen, QTransform

from app.canvas.view import View
from app.kit.paths import ring_path, shape_path
from app.kit.theme import Theme
from core.design import Outline, Tailplane, Wing
from core.geometry.memo import IdentityMemo
from core.geometry.ring import Array
from core.kinds import Kind
from core.stability.side_area import form_of, surface_patch

SECOND_PX = 3.5
_MOST_DASHED_PX = 20_000.0
"""A dashed path longer than that is seen in small part only, and all of its dashes take too long."""

_paths: IdentityMemo[QPainterPath] = IdentityMemo(64)
_boxes: IdentityMemo[Array] = IdentityMemo(16)
_surface_paths: IdentityMemo[QPainterPath] = IdentityMemo(64)


def transform_of(view: View) -> QTransform:
    """From mm to logical pixels; z up becomes y down."""
    return QTransform(view.scale, 0, 0, -view.scale, -view.x * view.scale, view.z * view.scale)


def hatch_origin(view: View, ratio: float) -> QPoint:
    """Where hatches begin, so that they go with the paper by whole device pixels.

    ``ratio`` of those go to a logical one. Qt counts a pattern's 8 x 8 pixels, and from where they
    begin, in device pixels whatever the ratio.
    """
    # Rounded off the middle between two pixels, where a pan's last bits would tip it either way.
    x, y = (math.floor(at * ratio + 0.637) % 8 for at in view.to_px(0.0, 0.0))
    return QPoint(x, y)


def path_of(outline: Outline) -> QPainterPath:
    """The outline in mm, true cubics."""
    return _paths.get((outline,), lambda: ring_path(form_of(outline).ring))


def path_of_surface(surface: Wing | Tailplane) -> QPainterPath:
    """The side projection of a wing or tailplane in mm."""
    return _surface_paths.get((surface,), lambda: shape_path(surface_patch(surface).region))


@dataclass(frozen=True)
class _Style:
    """What a path is drawn with."""

    wash: QColor
    hatch: QBrush | None
    """Of a doubled surface; its twin's edge is drawn too."""
    twin: QPen
    line: QPen
    dashed: bool


@lru_cache(maxsize=256)
def _outline_style(theme: Theme, kind: Kind, *, selected: bool, doubled: bool, faint: bool) -> _Style:
    line = theme.pick if selected else theme.ink
    return _styled(theme.wash(kind), line, 2.2 if selected else 1.7, doubled=doubled, faint=faint)


@lru_cache(maxsize=16)
def _surface_style(theme: Theme) -> _Style:
    return _styled(QColor(theme.other), theme.ink_soft, 1.2, doubled=True, dashed=True)


def _styled(
    wash: QColor, line: str, width: float, *, doubled: bool, dashed: bool = False, faint: bool = False
) -> _Style:
    fill, hatch, thin = QColor(wash), QColor(line), QColor(line)
    fill.setAlpha(70 if faint else 95)
    hatch.setAlpha(95)
    thin.setAlpha(170)
    pen = QPen(QColor(line), width)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashed:
        pen.setDashPattern([5, 3])
    brush = QBrush(hatch, Qt.BrushStyle.BDiagPattern) if doubled else None
    return _Style(fill, brush, QPen(thin, 1.0), pen, dashed)


def draw_outline(
    painter: QPainter, outline: Outline, view: View, theme: Theme, *, selected: bool = False
) -> None:
    """One outline in logical pixels, as its kind and count want it."""
    style = _outline_style(
        theme, outline.kind, selected=selected, doubled=outline.count > 1, faint=outline.locked
    )
    _draw_path(painter, path_of(outline), view, style)


def draw_surface(painter: QPainter, surface: Wing | Tailplane, view: View, theme: Theme) -> None:
    """The side projection of a wing or tailplane: doubled, and dashed since it is typed, not traced."""
    _draw_path(painter, path_of_surface(surface), view, _surface_style(theme))


def _draw_path(painter: QPainter, in_mm: QPainterPath, view: View, style: _Style) -> None:
    """A path given in mm: wash, line, and for a doubled surface a hatch and its twin's edge."""
    path = transform_of(view).map(in_mm)
    # Under an unbroken line nobody sees whether the edge of a wash is smooth; rough it costs a quarter.
    smooth, rough = QPainter.RenderHint.Antialiasing, not style.dashed
    if rough:
        painter.setRenderHint(smooth, False)
    if style.hatch is not None:
        _draw_twin(painter, path, style.twin)
    painter.fillPath(path, style.wash)
    if style.hatch is not None:
        painter.setBrushOrigin(hatch_origin(view, painter.deviceTransform().m11()))
        painter.fillPath(path, style.hatch)
    if rough:
        painter.setRenderHint(smooth, True)
    if style.dashed:
        stroke_dashed(painter, path, style.line)
    else:
        painter.strokePath(path, style.line)


def stroke_dashed(painter: QPainter, path: QPainterPath, pen: QPen) -> None:
    """A path in logical pixels with a dashed pen, its dashes in their places wherever it is clipped."""
    if path.length() > _MOST_DASHED_PX:
        painter.strokePath(path, pen)
        return
    # Left to itself, Qt clips a line before it dashes it: two parts drawn one by one would not meet.
    painter.fillPath(QPainterPathStroker(pen).createStroke(path), pen.color())


def _draw_twin(painter: QPainter, path: QPainterPath, pen: QPen) -> None:
    """The edge of the second piece, which peeps out from behind the first like a second card."""
    outside = QPainterPath()
    outside.setFillRule(Qt.FillRule.OddEvenFill)
    outside.addRect(path.boundingRect().adjusted(-20, -20, 20, 20))
    outside.addPath(path)
    painter.save()
    painter.setClipPath(outside, Qt.ClipOperation.IntersectClip)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.strokePath(path.translated(SECOND_PX, SECOND_PX), pen)
    painter.restore()


def box_px(outline: Outline, view: View, margin: float = 8.0) -> QRectF:
    """Where the outline lies on the canvas, its line and twin included."""
    low_x, low_z, high_x, high_z = form_of(outline).box
    left, top = view.to_px(low_x, high_z)
    right, bottom = view.to_px(high_x, low_z)
    return QRectF(QPointF(left - margin, top - margin), QPointF(right + margin, bottom + margin))


def outlines_in(outlines: tuple[Outline, ...], part: QRectF, view: View) -> list[Outline]:
    """Those of ``outlines`` that show in ``part`` of the canvas (logical pixels), in their order."""
    if not outlines:
        return []
    _paths.at_least(3 * len(outlines))
    boxes = _boxes.get(outlines, lambda: np.array([form_of(outline).box for outline in outlines]))
    margin = 8.0
    low_x, high_z = view.to_mm(part.left() - margin, part.top() - margin)
    high_x, low_z = view.to_mm(part.right() + margin, part.bottom() + margin)
    seen = (
        (boxes[:, 2] >= low_x) & (boxes[:, 0] <= high_x) & (boxes[:, 3] >= low_z) & (boxes[:, 1] <= high_z)
    )
    return [outlines[i] for i in np.flatnonzero(seen)]
