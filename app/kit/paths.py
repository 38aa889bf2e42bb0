"""Outlines and regions as paths, in the unit that they are given in."""

from __future__ import annotations

import shapely
from PySide6.QtGui import QPainterPath
from shapely.geometry.base import BaseGeometry

from core.geometry.ring import Ring


def ring_path(ring: Ring) -> QPainterPath:
    """The closed edge itself, its cubics kept, filled even-odd as it is counted."""
    path = QPainterPath()
    if len(ring) == 0:
        return path
    curved = ring.curved
    path.moveTo(*ring.p0[0])
    for i in range(len(ring)):
        if curved[i]:
            path.cubicTo(*ring.p1[i], *ring.p2[i], *ring.p3[i])
        else:
            path.lineTo(*ring.p3[i])
    path.closeSubpath()
    return path


def shape_path(shape: BaseGeometry) -> QPainterPath:
    """Polygons, holes and all, and lines; nothing of what has no extent."""
    path = QPainterPath()
    for part in shapely.get_parts(shape):
        closed = part.geom_type == "Polygon"
        for line in (part.exterior, *part.interiors) if closed else (part,):
            corners = shapely.get_coordinates(line)
            if len(corners) < 2:
                continue
            path.moveTo(*corners[0])
            for corner in corners[1:]:
                path.lineTo(*corner)
            if closed:
                path.closeSubpath()
    return path
