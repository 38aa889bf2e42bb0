"""What a propeller does in a side wind."""

from __future__ import annotations

import math

SIDE_SLOPE = 0.09
"""Side force per radian of a propeller on the area of its disc (Perkins and Hage; memory)."""
LEAST, MOST = 0.5, 2.0
"""How far the propeller's part may lie from that, as factors."""


def propeller_cy_beta(diameter: float, wing_area: float) -> float:
    """CYβ of the propeller per radian: −0.09 S_disc/S, mm and mm².

    Range: between half and twice that. Source: Perkins and Hage, Airplane Performance, Stability and
    Control (memory).
    """
    return -SIDE_SLOPE * 0.25 * math.pi * diameter * diameter / wing_area


def propeller_cn_beta(diameter: float, aft_of_cg: float, wing_area: float, span: float) -> float:
    """Cnβ of the propeller per radian: 0.09 (S_disc/S)(x_p − x_CG)/b: negative ahead of the CG.

    Range and source as ``propeller_cy_beta``.
    """
    return -propeller_cy_beta(diameter, wing_area) * aft_of_cg / span
