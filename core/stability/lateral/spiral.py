"""Spiral stability, and whether the aeroplane can be flown on the rudder alone."""

from __future__ import annotations

from core.stability.aeroplane import Aeroplane, Values
from core.stability.surfaces import wing_form
from core.stability.volumes import finite, lift_coefficient, tail_volume, vertical_tail


def spiral_parameter(arm: float, span: float, dihedral_deg: float, lift_coefficient: float) -> float:
    """B = (l_v/b)(Γ/C_L), Γ in degrees; arm and span in the same unit, span and C_L above zero.

    Range: conventional layout, level flight. Over 5 stable, 3–5 easily held, less diverges.
    Source: Drela, MIT Unified Engineering notes, 2006 (memory).
    """
    return arm / span * dihedral_deg / lift_coefficient


def spiral_values(a: Aeroplane) -> Values:
    """The readings spiral_parameter (B) and roll_coupling (V_v B), both without unit.

    The arm runs from the CG to the quarter chord of the fin's MAC, Γ is the effective dihedral by
    strips; a high wing's and sweep's own effect in roll is not counted.
    """
    keys = ("spiral_parameter", "roll_coupling")
    wing = wing_form(a.design.wings)
    if isinstance(wing, str):
        return dict.fromkeys(keys, wing)
    tail = vertical_tail(a)
    if isinstance(tail, str):
        return dict.fromkeys(keys, tail)
    if a.cg is None:
        return dict.fromkeys(keys, a.no_cg)
    lift = lift_coefficient(a.design)
    if isinstance(lift, str):
        return dict.fromkeys(keys, lift)
    if not lift > 0.0:
        return dict.fromkeys(keys, "enter the weights")
    arm = tail.quarter_chord_x - a.cg.x
    b = spiral_parameter(arm, wing.span, wing.dihedral_deg, lift)
    return finite({
        "spiral_parameter": b,
        "roll_coupling": b * tail_volume(tail.area, arm, wing.area, wing.span),
    })
