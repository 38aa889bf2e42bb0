"""Snapping to nodes, edges and ink, and holding a direction level, upright or at 45°. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Literal

from app.canvas.view import View
from core.design import Design
from core.geometry.ring import nearest_on, point_on
from core.stability.side_area import form_of

SNAP_PX = 9.0


@dataclass(frozen=True)
class Snap:
    """Where a point came to lie, and on what: a ``node``, an ``edge``, ``ink``, or nothing (``free``)."""

    x: float
    z: float
    to: Literal["node", "edge", "ink", "free"] = "free"


def snap(
    design: Design, view: View, x: float, z: float, *,
    leave_out: Collection[str] = (), leave_out_nodes: Collection[tuple[str, int]] = (),
    ink: Callable[[float, float, float], tuple[float, float] | None] | None = None,
) -> Snap:
    """(x, z) mm drawn to the nearest node, or else edge, within reach of other visible outlines.

    Or else to ``ink``, which is asked for the middle of a stroke within a reach in mm, where it is given.
    """
    reach = SNAP_PX / view.scale
    best: tuple[float, Snap] | None = None
    near = []
    for outline in design.outlines:
        if outline.hidden or outline.id in leave_out:
            continue
        low_x, low_z, high_x, high_z = form_of(outline).box
        if not (low_x - reach <= x <= high_x + reach and low_z - reach <= z <= high_z + reach):
            continue
        near.append(outline)
        for i, node in enumerate(outline.nodes):
            gap = math.hypot(node.x - x, node.z - z)
            if gap <= reach and (outline.id, i) not in leave_out_nodes and (best is None or gap < best[0]):
                best = (gap, Snap(node.x, node.z, "node"))
    if best:
        return best[1]
    touched = {owner for owner, _ in leave_out_nodes}
    for outline in near:
        if outline.id in touched:
            continue
        ring = form_of(outline).ring
        edge, t, gap = nearest_on(ring, x, z)
        if gap <= reach and (best is None or gap < best[0]):
            px, pz = point_on(ring, edge, t)
            best = (gap, Snap(float(px), float(pz), "edge"))
    if best:
        return best[1]
    stroke = ink(x, z, reach) if ink is not None else None
    return Snap(*stroke, "ink") if stroke is not None else Snap(x, z)


def held_straight(x: float, z: float, from_x: float, from_z: float) -> tuple[float, float]:
    """(x, z) brought onto the nearest of the level, upright and 45° lines through a point."""
    dx, dz = x - from_x, z - from_z
    turn = round(math.atan2(dz, dx) / (math.pi / 4)) * (math.pi / 4)
    c, s = math.cos(turn), math.sin(turn)
    # Exactly level or upright, not to within a rounding.
    c, s = (0.0 if abs(c) < 1e-9 else c), (0.0 if abs(s) < 1e-9 else s)
    along = dx * c + dz * s
    return from_x + along * c, from_z + along * s
