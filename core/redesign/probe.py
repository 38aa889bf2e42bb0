"""The readings that a search looks at many times over, without the slow ones."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from core.design import Design
from core.stability.aeroplane import Aeroplane, Values
from core.stability.balance import cg_of
from core.stability.fin import no_tail, quarter_chord_x
from core.stability.lateral.rudder import rudder_values
from core.stability.lateral.spiral import spiral_values
from core.stability.lateral.yaw import carried, yaw_values
from core.stability.pitch import pitch_values
from core.stability.readings import NO_OUTLINE, NO_SCALE, scale_known
from core.stability.side_area import SideArea, SideAreaCounter
from core.stability.volumes import volume_values

Target = Literal["cla_fraction", "cn_beta", "both"]
"""What a search brings to a value; ``both``: the CLA fraction, and firmness in yaw at least so much."""


class Probe:
    """Reads designs one after another, keeping what they share. Not for two threads at once."""

    def __init__(self) -> None:
        self._counter = SideAreaCounter()
        self._carry = 1.0

    def aeroplane(self, design: Design) -> Aeroplane:
        """The design counted and balanced."""
        return aeroplane_of(design, self._counter.count(design))

    def near(self, design: Design) -> Aeroplane:
        """The same with the tail's lattice laid half as fine, carried on from where ``begin`` stood."""
        return replace(self.aeroplane(design), coarse=True, carry=self._carry)

    def begin(self, design: Design) -> None:
        """Carry what is ``near`` on from ``design``."""
        self._carry = carried(self.aeroplane(design))

    def read(
        self, design: Design, target: Target, wanted: float = 0.0, firm: float = 0.0, *, near: bool = False
    ) -> float | str:
        """One reading, the same as ``ReadingsEngine`` gives, or why it is missing; ``near``: of ``near``.

        Of ``both``: ``wanted`` where the CLA fraction and firmness are both content and one of them only
        just, less where either lacks (as a CLA fraction), more where both have some to spare.
        """
        if target != "cla_fraction" and not scale_known(design):
            return NO_SCALE
        if target == "cla_fraction":
            return cla_fraction(self.aeroplane(design))
        a = self.near(design) if near else self.aeroplane(design)
        fraction, cn_beta = cla_fraction(a), yaw_values(a)["cn_beta"]
        if target == "cn_beta" or isinstance(cn_beta, str):
            return cn_beta
        return fraction if isinstance(fraction, str) else wanted + min(fraction - wanted, cn_beta - firm)

    def values(self, design: Design) -> Values:
        """All readings but the error band and the yaw reversal; those in mm need a scale."""
        a = self.aeroplane(design)
        fraction = cla_fraction(a)
        if not scale_known(design):
            return {"cla_fraction": fraction}
        found: Values = {"cla_fraction": fraction}
        found["fin_area"] = a.side.tail_moments.area if a.fin_centre else no_tail(design)
        found["side_area"] = a.side.moments.area
        for part in (volume_values, yaw_values, rudder_values, spiral_values, pitch_values):
            found.update(part(a))
        return found


def aeroplane_of(design: Design, side: SideArea) -> Aeroplane:
    """What the further readings are computed from, the side area being counted already."""
    cg, no_cg = cg_of(design)
    centre = side.tail_moments.centroid()
    if centre is not None and design.aim.fin_centre == "quarter_chord":
        quarter = quarter_chord_x(side)
        if quarter is not None:
            centre = (quarter, centre[1])
    return Aeroplane(design, side, cg, no_cg, centre)


def cla_fraction(a: Aeroplane) -> float | str:
    """(x_CLA − x_CG) / (x_fin centre − x_CG), or why it is missing (exact geometry)."""
    cla = a.side.cla
    if cla is None:
        return NO_OUTLINE
    if a.fin_centre is None:
        return no_tail(a.design)
    if a.cg is None:
        return a.no_cg
    arm = a.fin_centre[0] - a.cg.x
    if arm <= 1e-9:
        return "the fin centre does not lie behind the CG: check the CG mark; the nose belongs on the left"
    fraction = (cla[0] - a.cg.x) / arm
    return fraction if math.isfinite(fraction) else "the tail arm is too short to measure by"
