"""Stability in yaw: what tail, body, propeller and wing give, side force, and the neutral point in yaw.

Two witnesses tell the tail's part: the handbook's charts and a lattice. Derivatives per radian of sideslip
about the CG, nose into the wind positive, on the wing's area and span. Estimates for small angles and
attached flow: good for deciding where to cut, no proof that an aeroplane is safe.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from core.design import Design
from core.geometry.memo import kept
from core.kinds import UPRIGHT, VERTICAL_TAIL
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import NO_BODY, Body, bodies, mid_depth
from core.stability.lateral.handbook_fin import handbook_fin
from core.stability.lateral.propeller import LEAST, MOST, propeller_cn_beta, propeller_cy_beta
from core.stability.lateral.tail_lattice import tail_load
from core.stability.lateral.yaw_formulas import (
    Sidewash,
    body_cn_beta,
    fin_cn_beta,
    munk_cn_beta,
    sidewash_factor,
    wing_cn_beta,
    wing_sidewash,
)
from core.stability.ranges import (
    FIN_BAND,
    FIN_BAND_ALONE,
    MOST_LIFT,
    TAIL_PRESSURE,
)
from core.stability.surfaces import SurfaceForm, surface_form, wing_form
from core.stability.volumes import (
    OUT_OF_REACH,
    VerticalTail,
    finite,
    lift_coefficient,
    tail_volume,
    vertical_tail,
)
from core.units import format_speed

_STEEP_DEG = 10.0
NO_PROPELLER = "enter the propeller"
KEYS = (
    "fin_lift_slope", "sidewash_factor", "cn_beta_fin_handbook", "cn_beta_fin_lattice", "cn_beta_fin",
    "cn_beta_body", "cn_beta_propeller", "cn_beta", "cn_beta_low", "cn_beta_high", "cy_beta", "yaw_neutral_x",
)
"""Of the readings that ``yaw_values`` gives."""


@dataclass(frozen=True, eq=False)
class YawParts:
    """What Cnβ is made of: per radian about the CG, on the wing's area (mm²) and span (mm)."""

    wing_area: float
    span: float
    fin_handbook: float
    fin_lattice: float | None
    """None where the lattice cannot be laid."""
    reach: float
    """0 to 1, how far the handbook's charts are good for this fin: by so much they are heard."""
    body: float
    """By the −1.3 rule."""
    body_munk: float
    propeller: float
    """0 where none is entered."""
    wing: float
    fin_bare: float
    """The mean of the two witnesses without sidewash, which a turned rudder does not make."""
    fin_side: float
    """CYβ of the vertical tail, negative."""
    fin_arm: float
    """mm from the CG aft to where the tail's load acts."""
    fin_height: float
    """mm from the CG up to it."""

    @property
    def fin(self) -> float:
        """The mean of the two witnesses, as far as the charts are heard."""
        return 0.5 * (self._handbook + self._lattice)

    @property
    def fin_low(self) -> float:
        """The least that the tail may give: a tenth under the smaller witness."""
        least = min(self._handbook, self._lattice)
        return least - self._band * abs(least)

    @property
    def fin_high(self) -> float:
        """The most that it may give: a tenth over the larger."""
        most = max(self._handbook, self._lattice)
        return most + self._band * abs(most)

    @property
    def best(self) -> float:
        """The best estimate of Cnβ."""
        return self.fin + self.body + self.propeller + self.wing

    @property
    def low(self) -> float:
        """What it may be as well, less firm: fin at its least, body by Munk, propeller at its worst."""
        worst = min(LEAST * self.propeller, MOST * self.propeller)
        return self.fin_low + min(self.body, self.body_munk) + worst + self.wing

    @property
    def low_without_wing(self) -> float:
        """The same by fin, body and propeller alone: the wing's part comes and goes with its lift."""
        return self.low - self.wing

    @property
    def high(self) -> float:
        """What it may be as well, firmer."""
        mildest = max(LEAST * self.propeller, MOST * self.propeller)
        return self.fin_high + max(self.body, self.body_munk) + mildest + self.wing

    @property
    def _lattice(self) -> float:
        return self.fin_handbook if self.fin_lattice is None else self.fin_lattice

    @property
    def _handbook(self) -> float:
        return self._lattice + self.reach * (self.fin_handbook - self._lattice)

    @property
    def _band(self) -> float:
        heard = 0.0 if self.fin_lattice is None else self.reach
        return FIN_BAND_ALONE + heard * (FIN_BAND - FIN_BAND_ALONE)


@dataclass(frozen=True)
class _Load:
    """The tail's load by one witness: slope × area in mm² without sidewash, where it acts, how far heard."""

    wash: float
    side: float
    x: float
    z: float
    weight: float


def yaw_values(a: Aeroplane) -> Values:
    """The readings of stability in yaw.

    Keys: fin_lift_slope (the handbook's, per radian), sidewash_factor, cn_beta_fin_handbook,
    cn_beta_fin_lattice, cn_beta_fin (their mean), cn_beta_body, cn_beta_propeller, cn_beta,
    cn_beta_low, cn_beta_high, cy_beta (per radian), yaw_neutral_x (mm). Total = fin + body by the −1.3
    rule + propeller + wing; the band is ``YawParts``'.
    Without a lift coefficient the wing's part, under 0.01 at cruising speed, is left out and
    ``yaw_warnings`` says so. CYβ = tail − Σ 2(π/4)h_max²/S − propeller; yaw neutral point
    x_CG + b Cnβ/(−CYβ).
    """
    return dict(_yaw_values(a))


def carried(a: Aeroplane) -> float:
    """The whole lattice's load over the coarse one's for ``a``: what a coarse one is multiplied by near it.

    1 where there is no lattice. So the figures that follow a hand stand where the whole ones will.
    """
    fine, coarse = tail_load(replace(a, coarse=False)), tail_load(replace(a, coarse=True))
    if isinstance(fine, str) or isinstance(coarse, str) or not (fine.side > 0.0 and coarse.side > 0.0):
        return 1.0
    return fine.side / coarse.side


@kept
def yaw_parts(a: Aeroplane) -> YawParts | str:
    """What Cnβ of ``a`` is made of, or why it cannot be told."""
    wing, tail = wing_form(a.design.wings), vertical_tail(a)
    if isinstance(wing, str):
        return wing
    if isinstance(tail, str):
        return tail
    by_book = handbook_fin(a)
    if isinstance(by_book, str):
        return by_book
    if a.cg is None:
        return a.no_cg
    hulls = bodies(a.design)
    if not hulls:
        return NO_BODY
    area, span = wing.area, wing.span
    scale = area * span
    below = wing_below_centre(wing, hulls)
    book = _Load(
        _sidewash(wing, tail, hulls).value, by_book.side,
        by_book.side_x / by_book.side if by_book.side > 0.0 else tail.quarter_chord_x,
        (a.side.tail_moments.centroid() or (0.0, a.cg.z))[1], 1.0,
    )
    loads, lattice = [book], None
    laid = tail_load(a)
    if not isinstance(laid, str) and laid.side > 0.0:
        lattice = _Load(
            wing_sidewash(below), TAIL_PRESSURE * (a.carry if a.coarse else 1.0) * laid.side,
            laid.side_x / laid.side, laid.side_z / laid.side, 1.0 - 0.5 * by_book.reach,
        )
        loads = [replace(book, weight=0.5 * by_book.reach), lattice]
    side = sum(load.weight * load.wash * load.side for load in loads)
    if not side > 0.0 or not math.isfinite(side):
        return OUT_OF_REACH
    x = sum(load.weight * load.wash * load.side * load.x for load in loads) / side
    z = sum(load.weight * load.wash * load.side * load.z for load in loads) / side
    lift = lift_coefficient(a.design)
    propeller = a.design.flight.propeller
    return YawParts(
        wing_area=area, span=span,
        fin_handbook=fin_cn_beta(
            book.wash, by_book.lift_slope, tail_volume(by_book.area, book.x - a.cg.x, area, span)
        ),
        fin_lattice=(
            None if lattice is None else lattice.wash * lattice.side * (lattice.x - a.cg.x) / scale
        ),
        reach=by_book.reach,
        body=sum(h.count * body_cn_beta(h.form.square_integral, area, span) for h in hulls),
        body_munk=sum(
            h.count * munk_cn_beta(h.form.square_integral, h.form.fineness, area, span) for h in hulls
        ),
        propeller=0.0 if propeller is None else propeller_cn_beta(
            propeller.diameter, propeller.x - a.cg.x, area, span
        ),
        wing=0.0 if isinstance(lift, str) else wing_cn_beta(lift, wing.aspect_ratio),
        fin_bare=sum(load.weight * load.side * (load.x - a.cg.x) for load in loads) / scale,
        fin_side=-side / area, fin_arm=x - a.cg.x, fin_height=z - a.cg.z,
    )


@kept
def _yaw_values(a: Aeroplane) -> Values:
    wing, tail, hulls = wing_form(a.design.wings), vertical_tail(a), bodies(a.design)
    by_book = handbook_fin(a)
    slope = by_book if isinstance(by_book, str) else by_book.lift_slope
    if isinstance(wing, str):
        return {**dict.fromkeys(KEYS, wing), "fin_lift_slope": slope}
    area, span = wing.area, wing.span
    values: Values = {**dict.fromkeys(KEYS, ""), "fin_lift_slope": slope}
    body: float | str = NO_BODY
    if hulls:
        body = sum(h.count * body_cn_beta(h.form.square_integral, area, span) for h in hulls)
    values["cn_beta_body"] = body
    values["sidewash_factor"] = tail if isinstance(tail, str) else _sidewash(wing, tail, hulls).value
    propeller = a.design.flight.propeller
    values["cn_beta_propeller"] = (
        NO_PROPELLER if propeller is None
        else a.no_cg if a.cg is None
        else propeller_cn_beta(propeller.diameter, propeller.x - a.cg.x, area, span)
    )
    parts = yaw_parts(a)
    if isinstance(parts, str):
        return finite({key: value if value != "" else parts for key, value in values.items()})
    laid = tail_load(a)
    force = -parts.fin_side + side_of_bodies(hulls) / area
    if propeller is not None:
        force -= propeller_cy_beta(propeller.diameter, area)
    values.update({
        "cn_beta_fin_handbook": parts.fin_handbook,
        "cn_beta_fin_lattice": (
            parts.fin_lattice if parts.fin_lattice is not None
            else laid if isinstance(laid, str) else OUT_OF_REACH
        ),
        "cn_beta_fin": parts.fin,
        "cn_beta": parts.best, "cn_beta_low": parts.low, "cn_beta_high": parts.high,
        "cy_beta": -force,
    })
    assert a.cg is not None
    values["yaw_neutral_x"] = (
        a.cg.x + span * parts.best / force if force > 1e-12
        else "there is no side force to have a neutral point"
    )
    return finite(values)


def side_of_bodies(hulls: tuple[Body, ...]) -> float:
    """Σ 2(π/4) h_max² of the bodies in mm²: −CYβ S of theirs. Source: physics of slender bodies (memory)."""
    return sum(h.count * 0.5 * math.pi * h.form.depth * h.form.depth for h in hulls)


def unseen_by_charts(design: Design) -> str:
    """What steadies it in yaw and is not in the handbook's charts, by name; empty where there is nothing."""
    ventral = any(o.kind in UPRIGHT - VERTICAL_TAIL for o in design.outlines)
    forms = [surface_form(tailplane) for tailplane in design.tailplanes]
    steep = any(not isinstance(form, str) and abs(form.dihedral_deg) > _STEEP_DEG for form in forms)
    return " and ".join(name for name, there in (("ventral fins", ventral), ("V-tails", steep)) if there)


def yaw_warnings(a: Aeroplane) -> list[str]:
    """What the reader of the yaw figures should know about them; empty when there is nothing."""
    found: list[str] = []
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return found
    tail = vertical_tail(a)
    hulls = bodies(a.design)
    if not isinstance(tail, str):
        sidewash = _sidewash(wing, tail, hulls)
        if sidewash.clamped:
            found.append(
                f"sidewash: the formula gives {sidewash.raw:.2f}, outside what it is good for; "
                f"{sidewash.value:.1f} is used: check the wing's height and the size of the fin"
            )
        unseen = unseen_by_charts(a.design)
        if hulls and unseen:
            found.append(
                f"yaw: the charts do not know {unseen}; only the lattice counts them, so firmness is "
                "reckoned low rather than high"
            )
    lift = lift_coefficient(a.design)
    if isinstance(lift, str):
        if hulls and not isinstance(tail, str) and a.cg is not None:
            found.append(f"yaw: the wing's small part is left out, since its lift is not known; {lift}")
    elif lift > MOST_LIFT:
        found.append(
            f"flight: at {format_speed(a.design.flight.speed_m_s, a.design.display_units)} the wing would "
            f"need a lift coefficient of {lift:.2f}, more than a plain wing gives; check the "
            "speed, the weights and the wing"
        )
    return found


def _sidewash(wing: SurfaceForm, tail: VerticalTail, hulls: tuple[Body, ...]) -> Sidewash:
    return sidewash_factor(
        tail.area / wing.area, wing.sweep_quarter_deg, wing_below_centre(wing, hulls), wing.aspect_ratio
    )


def wing_below_centre(wing: SurfaceForm, hulls: tuple[Body, ...]) -> float:
    """z_w/d: the wing root's quarter chord below the body's centre line there, over its greatest depth."""
    main = next((h for h in hulls if h.main), None)
    if main is None:
        return 0.0
    x = wing.root_le_x + 0.25 * wing.root_chord
    return (mid_depth(main.patch, x) - wing.root_z) / main.form.depth
