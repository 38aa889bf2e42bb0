"""How much fin the handbook asks for, and where the rule would stand with it: what the answer advises."""

from __future__ import annotations

from core.design import Design
from core.stability.lateral.yaw import yaw_parts
from core.stability.readings import Readings
from core.stability.wording import percent
from core.units import format_area

# How near its ± may come to the aim's limit, where what a larger fin does is known to first order alone.
_EDGE = 0.005
FIRM_CN_BETA = 0.05
"""Cnβ that is aimed at where the handbook asks for more: over the least that is usual (own choice)."""


def fin_factor(readings: Readings) -> float | None:
    """How many times its area the fin needs for ``FIRM_CN_BETA`` with the band above nought, the wing's
    part left out; under 1: so much can be spared. None where the fin gives nothing.

    To first order: the fin's part grows with its area.
    """
    parts = yaw_parts(readings.aeroplane)
    if readings.value("cn_beta") is None or isinstance(parts, str):
        return None
    if parts.fin <= 0.0 or parts.fin_low <= 0.0:
        return None
    return max(1.0 + (FIRM_CN_BETA - parts.best) / parts.fin, 1.0 - parts.low_without_wing / parts.fin_low)


def fin_size(change: float, design: Design, readings: Readings) -> str:
    """A change of fin area in mm² as it is told: in the builder's units, without a scale as a share."""
    if readings.scale_known:
        return format_area(abs(change), design.display_units)
    return percent(abs(change) / readings.side.tail_moments.area, 0)


def fin_for_both(design: Design, readings: Readings) -> str:
    """The fin that would satisfy the handbook, and whether the rule goes along; empty if none is known."""
    factor = fin_factor(readings)
    cg, fin, cla = readings.cg, readings.fin_centre, readings.cla
    if factor is None or cg is None or fin is None or cla is None:
        return ""
    change, area = (max(factor, 1.0) - 1.0) * readings.side.tail_moments.area, readings.side.moments.area
    then = ((area * cla[0] + change * fin[0]) / (area + change) - cg.x) / (fin[0] - cg.x)
    size = f"about {fin_size(change, design, readings)} more fin and rudder"
    high = design.aim.high
    if then > high - _EDGE - (readings.value("cla_fraction_error") or 0.0):
        where = percent(then) if then > high else f"{percent(then)}, to the edge of the aim"
        return (
            f"The handbook asks for {size}, which alone would bring the CLA to {where}: a longer "
            "tail arm or less side area ahead satisfies both (Redesign, Refit)."
        )
    if then < design.aim.low:
        return f"It needs {size} for the handbook, and more for the rule (CLA then {percent(then)})."
    return f"With {size} both would be content (CLA then {percent(then)})."
