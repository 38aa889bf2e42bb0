"""Circles as outlines: four nodes with handles, within 0.03 % of the radius."""

from __future__ import annotations

import math

from core.design import Node, Vector
from core.redesign.outline_edits import EditError

_HANDLE = 4.0 / 3.0 * math.tan(math.pi / 8.0)
"""Of the radius: a cubic over a quarter so long is off the circle by 0.027 % at most, outwards."""


def circle(x: float, z: float, radius: float) -> tuple[Node, ...]:
    """Four nodes round (x, z) mm, anticlockwise from aft. EditError for no radius."""
    if not (math.isfinite(radius) and radius > 0.0):
        raise EditError("a circle needs a radius of more than nothing")
    nodes = []
    for c, s in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
        along = -s * _HANDLE * radius, c * _HANDLE * radius
        nodes.append(Node(x + c * radius, z + s * radius, (-along[0], -along[1]), along))
    return tuple(nodes)


def through(a: Vector, b: Vector, c: Vector) -> tuple[float, float, float]:
    """(x, z, radius) of the circle through three points, mm. EditError where they lie in one line."""
    bx, bz, cx, cz = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    cross = 2.0 * (bx * cz - bz * cx)
    b2, c2 = bx * bx + bz * bz, cx * cx + cz * cz
    if abs(cross) <= 1e-3 * max(b2, c2) or cross == 0.0:
        raise EditError("the three points lie in one line: take points further round the rim")
    x, z = (cz * b2 - bz * c2) / cross, (bx * c2 - cx * b2) / cross
    return a[0] + x, a[1] + z, math.hypot(x, z)
