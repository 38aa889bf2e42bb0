"""How the front edge of a moving panel makes room for its throw: what that takes off flat wood.

The hinge lies in the middle plane, in the middle of the gap. A bevel runs from the middle plane to both
faces at the angle of the throw, so that at full throw a face lies flat against the fixed part's square
edge. A round edge is half a circle. What they take off is exact for any polygon, of a round edge beside
slanting edges to a millionth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.half_plane import Corners, across, beyond_line, polygon
from core.geometry.regions import rings_of
from core.geometry.second_moments import SecondMoments, second_moments
from core.parts.hinge import NEAR, straight
from core.parts.part import Array
from core.parts.plan import Panel, Plan
from core.parts.said import length

STEEPEST = 80.0
"""Degrees: no bevel is steeper, whatever the throw."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_NODES, _WEIGHTS = 0.5 + 0.5 * _NODES, 0.5 * _WEIGHTS


@dataclass(frozen=True, eq=False)
class HingeFace:
    """The front face of a moving panel at its hinge: ``normal`` · p ≥ ``face`` lies behind it, in (c, s).

    It runs from ``low`` to ``high`` along ``along`` (2,); ``deep``: how far behind it wood comes off, mm.
    """

    normal: Array
    along: Array
    face: float
    low: float
    high: float
    deep: float
    thick: float
    bevel: bool


@dataclass(frozen=True, eq=False)
class Relief:
    """What comes off behind a hinge face: mm³, and its first moments (2,) in (c, s)."""

    volume: float
    moments: Array


def relief_depth(plan: Plan, thick: float) -> float:
    """How far behind its hinge face a moving panel of that thickness is cut away, mm."""
    if plan.throw <= 0.0:
        return 0.0
    if plan.build.hinge == "round":
        return 0.5 * thick
    return 0.5 * thick * math.tan(math.radians(min(plan.throw, STEEPEST)))


def shaped(plan: Plan) -> str:
    """How a moving panel's hinge edge is shaped, to stand behind a part's name; empty where it is not."""
    if plan.throw <= 0.0:
        return ""
    if plan.build.hinge == "round":
        return ", edge rounded"
    return f", bevelled {min(plan.throw, STEEPEST):.0f}° both sides"


def binding(plan: Plan, name: str, radius: float) -> list[str]:
    """A sentence where a rounded edge of that radius in mm would run into the fixed part at full throw.

    Turned by θ about the middle of the gap g, half a circle that begins g/2 behind it reaches forward to
    (g/2 + r) cos θ − r; the fixed part ends at −g/2.
    """
    half = 0.5 * math.radians(min(plan.throw, STEEPEST))
    needed = 2.0 * radius * math.tan(half) ** 2
    if plan.build.hinge != "round" or needed <= plan.build.hinge_gap + 1e-6:
        return []
    return [
        f"{name}: its rounded edge would bind at full throw: it needs a hinge gap of"
        f" {length(math.ceil(10.0 * needed - 1e-6) / 10.0)}, or a bevelled edge."
    ]


def hinge_faces(plan: Plan, panel: Panel, thick: float) -> list[HingeFace]:
    """The faces of a flat panel from which wood comes off; none where it does not move."""
    deep = relief_depth(plan, thick)
    if not panel.moves or deep <= 0.0:
        return []
    found = (_face(plan, panel.region, line, thick, deep) for line in plan.hinges)
    return [face for face in found if face is not None]


def _face(plan: Plan, region: BaseGeometry, line: Array, thick: float, deep: float) -> HingeFace | None:
    axis, bends = straight(line)
    along = (axis[1] - axis[0]) / max(float(np.hypot(*(axis[1] - axis[0]))), 1e-300)
    normal = np.array((along[1], -along[0]))
    corners = shapely.get_coordinates(region)
    if float(((corners - axis[0]) @ normal).sum()) < 0.0:
        normal = -normal
    face = float(axis[0] @ normal) + 0.5 * plan.build.hinge_gap
    away, run = corners @ normal - face, corners @ along
    low, high = sorted((float(axis[0] @ along), float(axis[1] @ along)))
    beside = (np.abs(away) <= bends + NEAR) & (run >= low - 2.0 * NEAR) & (run <= high + 2.0 * NEAR)
    if not beside.any():
        return None
    # Where a balance reaches forward past the hinge, the face ends where the hinge does.
    if float(away.min()) >= -bends - 2.0 * NEAR:
        low, high = float(run.min()) - 1.0, float(run.max()) + 1.0
    return HingeFace(normal, along, face, low, high, deep, thick, plan.build.hinge == "bevel")


def relief(face: HingeFace, region: BaseGeometry | Corners) -> Relief | None:
    """What comes off ``region``, the panel or a piece of it that lies behind the face; None for nothing.

    It adds up: what comes off the pieces of a panel comes off the panel.
    """
    if isinstance(region, list):
        nx, ny = face.normal.tolist()
        if min(x * nx + y * ny for x, y in region) >= face.face + face.deep:
            return None
        region = polygon(region)
    strip = region
    for normal, offset in (
        (-face.normal, -(face.face + face.deep)), (face.normal, face.face),
        (face.along, face.low), (-face.along, -face.high),
    ):
        strip = beyond_line(strip, normal, offset)
    if not float(shapely.area(strip)) > 0.0:
        return None
    turn = np.array((face.normal, face.along))
    local = shapely.transform(strip, lambda p: p @ turn.T - np.array((face.face, face.low)))
    if face.bevel:
        volume, d, e = _bevelled(second_moments(local), face.thick, face.deep)
    else:
        volume, d, e = _rounded(rings_of(local), face.deep)
    return Relief(volume, np.array((d + face.face * volume, e + face.low * volume)) @ turn)


def relief_lines(face: HingeFace, region: BaseGeometry) -> list[Array]:
    """Where the relief ends on both sides of the panel, lines (2, 2) in (c, s)."""
    found = []
    for line in across([corners for corners, _ in rings_of(region)], face.normal, face.face + face.deep):
        run = np.clip(line @ face.along, face.low, face.high)
        if abs(float(run[1] - run[0])) > 1e-6:
            found.append(run[:, None] * face.along + (face.face + face.deep) * face.normal)
    return found


def _bevelled(m: SecondMoments, thick: float, deep: float) -> tuple[float, float, float]:
    """(mm³, and its first moments along and across the chord): ``thick`` at the edge, nothing at ``deep``."""
    slope = thick / deep
    return thick * m.area - slope * m.x, thick * m.x - slope * m.xx, thick * m.y - slope * m.xy


def _rounded(rings: list[tuple[Array, float]], r: float) -> tuple[float, float, float]:
    """The same beside half a circle of radius ``r``: Green's theorem over closed rings in (d, e), with signs.

    What is off in front of d, of a piece as long as 1, is ``off``; the arc's chord is integrated in closed
    form across the face and by Gauss' rule along slanting edges.
    """
    total = np.zeros(3)
    for corners, sign in rings:
        start, step = corners[:-1], np.diff(corners, axis=0)
        at = start[:, None, :] + _NODES[:, None] * step[:, None, :]
        d, e = np.clip(at[..., 0], 0.0, r), at[..., 1]
        weight = _WEIGHTS * step[:, 1, None]
        half = np.sqrt(np.maximum(2.0 * r * d - d * d, 0.0))
        segment = r * r * np.arccos(np.clip((r - d) / r, -1.0, 1.0)) - (r - d) * half
        off = 2.0 * r * d - segment
        first = r * d * d - r * segment + 2.0 / 3.0 * half**3
        row = np.array([(v * weight).sum() for v in (off, first, e * off)])
        total += sign * (row if row[0] >= 0.0 else -row)
    volume, along, across_it = total.tolist()
    return volume, along, across_it
