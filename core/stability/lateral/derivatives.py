"""The derivatives of the motion sideways: what sideslip, rolling and yawing do to it.

Per radian of sideslip β and of the rates as handbooks count them, p b/(2V) and r b/(2V), about the
CG, on the wing's area and span. Axes of flight: sideslip from starboard, rolling and yawing to
starboard are positive. Hand-book estimates for attached flow and small angles, without what a swept
wing rolls by itself and without the propeller's slipstream.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

from core.design import Design, Station, Wing
from core.geometry.ring import Array
from core.stability.aeroplane import Aeroplane
from core.stability.body import Body, bodies, mid_depth
from core.stability.lateral.yaw import YawParts
from core.stability.surfaces import SurfaceForm, lift_slope, wing_form
from core.stability.volumes import lift_coefficient

F = TypeVar("F", float, Array)
"""A figure, or one for each draw."""
DRAG_AT_NO_LIFT = 0.04
"""C_D0 of a model with its gear and its gaps (this project's; no source)."""


def side_force_of_rolling(height_share: float, fin_side: F) -> F:
    """CYp = 2(z_v/b) CYβ_v; ``height_share`` z_v/b, how far the fin's load acts above the CG over the span.

    Range: the fin alone; a wing's part is small. Source: strip theory as handbooks have it (memory).
    """
    return 2.0 * height_share * fin_side


def side_force_of_yawing(arm_share: float, fin_side: F) -> F:
    """CYr = −2(l_v/b) CYβ_v; ``arm_share`` l_v/b, the fin's arm aft of the CG over the span.

    Range: the fin alone. Source: strip theory as handbooks have it (memory).
    """
    return -2.0 * arm_share * fin_side


def roll_of_dihedral(wing_slope: float, dihedral_moment: float, wing_area: float, span: float) -> float:
    """Clβ of dihedral: −(a_w/(S b)) ∫ γ|y| c dy, ``dihedral_moment`` being the integral in mm³.

    Range: attached flow, each strip with the whole wing's lift slope. Source: strips (exact for them).
    """
    return -wing_slope * dihedral_moment / (wing_area * span)


def roll_of_wing_height(aspect_ratio: float, below: float, depth: float, width: float, span: float) -> float:
    """Clβ of the wing's height: 1.2 √A z_w (d + w)/b²; ``below`` z_w in mm, negative for a high wing.

    ``depth`` and ``width`` are the body's greatest, mm. Range: a wing through or on a body of usual
    size. Source: Raymer, Aircraft Design (memory).
    """
    return 1.2 * math.sqrt(aspect_ratio) * below * (depth + width) / (span * span)


def roll_of_fin(height_share: float, fin_side: F) -> F:
    """Clβ of the fin: CYβ_v z_v/b. Source: a force times its arm (exact)."""
    return fin_side * height_share


def roll_damping(wing_slope: float, roll_moment: float, wing_area: float, span: float) -> float:
    """Clp = −(2a_w/(S b²)) ∫ c y² dy, ``roll_moment`` being the integral in mm⁴.

    Range: attached flow; strips know nothing of what the halves do to each other, so it runs high: on
    an elliptical wing lifting-line theory gives (A + 2)/(A + 4) of it, a fifth less at A 6, and the
    same of Clβ. Source: strip theory (exact for strips).
    """
    return -2.0 * wing_slope * roll_moment / (wing_area * span * span)


def roll_of_yawing_wing(lift_coefficient: float, roll_moment: float, wing_area: float, span: float) -> float:
    """Clr of the wing: (4C_L/(S b²)) ∫ c y² dy: the wing that comes forward meets more air.

    ``roll_moment`` is the integral in mm⁴. Range: C_L the same along the span. Source: strip theory.
    """
    return 4.0 * lift_coefficient * roll_moment / (wing_area * span * span)


def cross_of_fin(arm_share: float, height_share: float, fin_side: F) -> F:
    """The fin's part of both Clr and Cnp: −2(l_v/b)(z_v/b) CYβ_v. Source: strip theory (memory)."""
    return -2.0 * arm_share * height_share * fin_side


def yaw_of_rolling_wing(lift_coefficient: float) -> float:
    """Cnp of the wing: −C_L/8. Range: unswept, elliptical loading. Source: Nelson (memory)."""
    return -lift_coefficient / 8.0


def yaw_damping(arm_share: float, fin_side: F, lift_coefficient: float) -> F:
    """Cnr = 2(l_v/b)² CYβ_v − 0.3 C_D0 − 0.02 C_L², with C_D0 = 0.04.

    Range: plain wings. Source: fin by strips; wing by Etkin and by Nelson (memory).
    """
    return (
        2.0 * arm_share * arm_share * fin_side
        - 0.3 * DRAG_AT_NO_LIFT - 0.02 * lift_coefficient * lift_coefficient
    )


def body_side_force(depth: float, wing_area: float) -> float:
    """CYβ of a body: −2(π/4) h_max²/S. Range: slender body. Source: slender-body theory (memory)."""
    return -2.0 * 0.25 * math.pi * depth * depth / wing_area


@dataclass(frozen=True)
class WingIntegrals:
    """Over both halves of all wings: ``dihedral`` ∫ γ|y| c dy in mm³, ``roll`` ∫ c y² dy in mm⁴."""

    dihedral: float
    roll: float


def wing_integrals(wings: tuple[Wing, ...]) -> WingIntegrals:
    """Both integrals, the chord straight between stations and γ = atan(dz/dy) between them (exact)."""
    dihedral = roll = 0.0
    for inner, outer in _panels(wings):
        step = outer.y - inner.y
        gamma = math.atan((outer.z - inner.z) / step)
        dihedral += 2.0 * gamma * _over(inner, outer, lambda y, c: y * c)
        roll += 2.0 * _over(inner, outer, lambda y, c: y * y * c)
    return WingIntegrals(dihedral, roll)


def _panels(wings: tuple[Wing, ...]) -> Iterator[tuple[Station, Station]]:
    for wing in wings:
        for inner, outer in pairwise(sorted(wing.stations, key=lambda s: s.y)):
            # Stations nearer than that stand at one y: a step, with nothing between.
            if outer.y - inner.y > 1e-9:
                yield inner, outer


def _over(inner: Station, outer: Station, value: Callable[[float, float], float]) -> float:
    """∫ value(y, c) dy over a panel by Simpson's rule, exact up to cubics, and y² c is one."""
    middle = value(0.5 * (inner.y + outer.y), 0.5 * (inner.chord + outer.chord))
    ends = value(inner.y, inner.chord) + value(outer.y, outer.chord)
    return (outer.y - inner.y) * (ends + 4.0 * middle) / 6.0


@dataclass(frozen=True)
class Derivatives:
    """One figure each for every draw, arrays of one shape (N,)."""

    cy_beta: Array
    cy_p: Array
    cy_r: Array
    cl_beta: Array
    cl_p: Array
    cl_r: Array
    cn_beta: Array
    cn_p: Array
    cn_r: Array


@dataclass(frozen=True)
class LateralParts:
    """What the derivatives are put together from; shares without unit, the rest per radian."""

    span: float
    """mm."""
    fin_side: float
    """CYβ of the vertical tail, negative."""
    body_side: float
    arm_share: float
    """l_v/b."""
    height_share: float
    """z_v/b."""
    roll_of_wing: float
    """Clβ of dihedral and wing height."""
    roll_damping: float
    roll_of_yawing_wing: float
    lift_coefficient: float

    def derivatives(self, cn_beta: Array, fin_factor: Array, wing_factor: Array) -> Derivatives:
        """All of them for draws (N,) of Cnβ, and of the fin and the wing's Clβ as parts of the estimate."""
        side = self.fin_side * fin_factor
        cross = cross_of_fin(self.arm_share, self.height_share, side)
        return Derivatives(
            cy_beta=side + self.body_side,
            cy_p=side_force_of_rolling(self.height_share, side),
            cy_r=side_force_of_yawing(self.arm_share, side),
            cl_beta=self.roll_of_wing * wing_factor + roll_of_fin(self.height_share, side),
            cl_p=self.roll_damping + 0.0 * side,
            cl_r=self.roll_of_yawing_wing + cross,
            cn_beta=cn_beta,
            cn_p=yaw_of_rolling_wing(self.lift_coefficient) + cross,
            cn_r=yaw_damping(self.arm_share, side, self.lift_coefficient),
        )


def lateral_parts(a: Aeroplane, parts: YawParts) -> LateralParts | str:
    """What the derivatives of ``a`` are put together from, or the reason why there is nothing.

    The body's width is the design's ``fuselage_width``; where that is not entered the body is
    taken to be as wide as deep. Without a body there is no part of the wing's height.
    """
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return wing
    lift = lift_coefficient(a.design)
    if isinstance(lift, str):
        return lift
    area, span = wing.area, wing.span
    hulls = bodies(a.design)
    slope = lift_slope(wing.aspect_ratio, wing.sweep_half_deg)
    over = wing_integrals(a.design.wings)
    return LateralParts(
        span=span, fin_side=parts.fin_side,
        body_side=sum(h.count * body_side_force(h.form.depth, area) for h in hulls),
        arm_share=parts.fin_arm / span, height_share=parts.fin_height / span,
        roll_of_wing=roll_of_dihedral(slope, over.dihedral, area, span) + _of_height(a.design, wing, hulls),
        roll_damping=roll_damping(slope, over.roll, area, span),
        roll_of_yawing_wing=roll_of_yawing_wing(lift, over.roll, area, span),
        lift_coefficient=lift,
    )


def _of_height(design: Design, wing: SurfaceForm, hulls: tuple[Body, ...]) -> float:
    main = next((h for h in hulls if h.main), None)
    if main is None:
        return 0.0
    middle = mid_depth(main.patch, wing.root_le_x + 0.25 * wing.root_chord)
    depth = main.form.depth
    width = depth if design.fuselage_width is None else design.fuselage_width
    return roll_of_wing_height(wing.aspect_ratio, middle - wing.root_z, depth, width, wing.span)
