"""The aeroplane as seen from above, as far as a design tells: a plain figure to be turned about its CG."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainterPath, QPolygonF

from core.design import Design, Mark, Outline, Tailplane, Wing
from core.geometry.patch import Patch, united
from core.kinds import HULL, OTHER, OWN_BODIES, VERTICAL_TAIL
from core.stability.side_area import form_of

_SLICES = 48


@dataclass(frozen=True, eq=False)
class PlanForm:
    """Paths in mm about the CG: to the right is starboard, downwards is aft."""

    surfaces: QPainterPath
    """Wings and tailplanes."""
    bodies: QPainterPath
    """As wide as they are deep: the side view knows no more."""
    fins: QPainterPath
    """A line each, along the root."""
    nose: float
    """How far the nose lies ahead of the CG."""
    reach: float
    """From the CG to whatever lies furthest from it."""


def plan_form(design: Design, cg: Mark) -> PlanForm:
    """What is seen of ``design`` from above. What stands on both sides is put where its distance says,
    or else, if it is of the tail, at the tips of the tailplane.
    """
    surfaces, hull, fins = QPainterPath(), QPainterPath(), QPainterPath()
    surfaces.setFillRule(Qt.FillRule.WindingFill)
    for surface in design.surfaces:
        surfaces.addPath(_surface(surface, cg))
    single = tuple(form_of(o).patch for o in design.outlines if o.kind in HULL and o.count == 1)
    if single:
        hull = _body(united(single), cg, 0.0, design.fuselage_width)
    for outline in design.outlines:
        patch = form_of(outline).patch
        if not patch.moments.area > 0.0:
            continue
        for y in _sides(design, outline):
            if outline.kind in OWN_BODIES or (outline.count == 2 and outline.kind in HULL | {OTHER}):
                hull = hull.united(_body(patch, cg, y, None))
            elif outline.kind in VERTICAL_TAIL:
                left, _, right, _ = patch.box
                fins.moveTo(y, left - cg.x)
                fins.lineTo(y, right - cg.x)
    box = surfaces.boundingRect().united(hull.boundingRect()).united(fins.boundingRect())
    corners = (box.topLeft(), box.topRight(), box.bottomLeft(), box.bottomRight())
    # No corner of the box is drawn on: the ends of the two axes are what lies furthest off.
    reach = max(*(max(abs(c.x()), abs(c.y())) for c in corners), 1.0)
    return PlanForm(surfaces, hull, fins, max(-box.top(), 0.0), reach)


def _sides(design: Design, outline: Outline) -> tuple[float, ...]:
    """Where across the aeroplane an outline stands, in mm; nothing where nobody can tell."""
    if outline.count == 1:
        return (0.0,)
    if outline.count != 2:
        return ()
    apart = outline.apart
    if apart is None and outline.kind in VERTICAL_TAIL | {OTHER}:
        tail = [o.apart for o in design.outlines if o.kind in VERTICAL_TAIL and o.apart is not None]
        tips = [s.y for plane in design.tailplanes for s in plane.stations]
        apart = tail[0] if tail else 2.0 * max(tips, default=0.0)
    return () if not apart else (-0.5 * apart, 0.5 * apart)


def _surface(surface: Wing | Tailplane, cg: Mark) -> QPainterPath:
    stations = sorted(surface.stations, key=lambda s: s.y)
    front = [(s.y, s.le_x - cg.x) for s in stations]
    back = [(s.y, s.le_x + s.chord - cg.x) for s in stations]
    right = [QPointF(y, x) for y, x in (*front, *reversed(back))]
    left = [QPointF(-y, x) for y, x in (*back, *reversed(front))]
    path = QPainterPath()
    path.addPolygon(QPolygonF([*right, *left]))
    path.closeSubpath()
    return path


def _body(patch: Patch, cg: Mark, y: float, width: float | None) -> QPainterPath:
    left, _, right, _ = patch.box
    path = QPainterPath()
    if not right > left:
        return path
    ends = 0.5 * (right - left) / _SLICES
    stations = np.linspace(left + ends, right - ends, _SLICES)
    half = 0.5 * patch.depths(stations)
    if width is not None and half.max() > 0.0:
        half = half * (0.5 * width / half.max())
    right_side = [QPointF(y + h, x - cg.x) for x, h in zip(stations, half, strict=True)]
    left_side = [QPointF(y - h, x - cg.x) for x, h in zip(stations, half, strict=True)]
    path.addPolygon(QPolygonF([
        QPointF(y, left - cg.x), *right_side, QPointF(y, right - cg.x), *reversed(left_side),
    ]))
    path.closeSubpath()
    return path
