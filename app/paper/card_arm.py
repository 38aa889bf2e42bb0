"""The tail arm on the card: CG, fin centre, tenths between them, and the aim, to judge the crossing by."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Design
from core.stability.readings import Readings
from core.stability.wording import percent
from core.units import format_fine

Place = tuple[float, float]
ABOVE = 6.0
"""mm of card that the aim's lines stand above and below the CG and the CLA."""


@dataclass(frozen=True)
class Arm:
    """From the CG (0 %) to the fin centre's station (100 %), at the CG's height; mm of the design."""

    cg: Place
    fin: Place
    low: float
    aim: float
    high: float
    cla_z: float | None

    def station(self, fraction: float) -> float:
        """Where a fraction of the arm lies along the aeroplane."""
        return self.cg[0] + fraction * (self.fin[0] - self.cg[0])

    def line(self) -> BaseGeometry:
        """The arm itself, and from its end up or down to the fin centre."""
        return shapely.LineString((self.cg, (self.fin[0], self.cg[1]), self.fin))

    def band(self, ratio: float) -> BaseGeometry:
        """The aim from low to high, over the heights where the lines cross on a card at 1 : ``ratio``."""
        heights = [self.cg[1], self.cla_z if self.cla_z is not None else self.cg[1]]
        low, high = min(heights) - ABOVE * ratio, max(heights) + ABOVE * ratio
        return shapely.box(self.station(self.low), low, self.station(self.high), high)

    def shapes(self, ratio: float) -> list[BaseGeometry]:
        """Everything that is drawn of it, at that scale."""
        return [self.line(), self.band(ratio), shapely.Point(self.fin).buffer(2.0 * ratio)]


def arm_of(design: Design, readings: Readings) -> Arm | None:
    """The arm; None where CG or fin centre is missing, or the fin does not lie behind the CG."""
    cg, fin = readings.cg, readings.fin_centre
    if cg is None or fin is None or readings.value("cla_fraction") is None:
        return None
    aim = design.aim
    cla = readings.cla
    return Arm(
        (cg.x, cg.z), (float(fin[0]), float(fin[1])), aim.low, aim.cla_fraction, aim.high,
        None if cla is None else cla[1],
    )


def arm_words(design: Design, readings: Readings, ratio: float) -> list[str]:
    """The arm in figures on the card: a ruler then tells the fraction of any crossing."""
    arm = arm_of(design, readings)
    if arm is None:
        return []
    units = design.display_units
    whole = (arm.fin[0] - arm.cg[0]) / ratio
    low, high = (format_fine(part * whole, units) for part in (arm.low, arm.high))
    aim = f"{percent(arm.low, 0).removesuffix(' %')}–{percent(arm.high, 0)}"
    return [
        f"CG to fin centre, 100 % of the tail arm, is {format_fine(whole, units)} on the card; the aim, "
        f"{aim}, lies {low} to {high} behind the CG. "
        "CLA fraction: how far the crossing lies behind the CG, along the level line, by that length."
    ]
