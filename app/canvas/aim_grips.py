"""What of the aim can be taken hold of on the arm rule, and what comes of pulling it. No Qt."""

from __future__ import annotations

from typing import Literal

from core.design import Aim

Grip = Literal["low", "aim", "high", "span"]
CALLED: dict[Grip, str] = {
    "aim": "The aim", "low": "The lower limit of the aim", "high": "The upper limit of the aim",
    "span": "The aim and its limits",
}


def place_of(fraction: float, cg_x: float, arm: float) -> float:
    """Station in mm of a part of the tail arm."""
    return cg_x + fraction * arm


def grip_at(aim: Aim, fraction: float, reach: float) -> Grip | None:
    """Which part of the aim lies at ``fraction`` of the arm, give or take ``reach``.

    Between a limit and the aim the grips leave the middle third to the span, however near they stand.
    """
    if aim.low < fraction < aim.high:
        gap = aim.cla_fraction - aim.low if fraction < aim.cla_fraction else aim.high - aim.cla_fraction
        reach = min(reach, gap / 3)
    gaps: dict[Grip, float] = {
        "aim": abs(aim.cla_fraction - fraction), "low": abs(aim.low - fraction),
        "high": abs(aim.high - fraction),
    }
    grip = min(gaps, key=lambda g: gaps[g])
    if gaps[grip] <= reach:
        return grip
    return "span" if aim.low < fraction < aim.high else None


def dragged_aim(aim: Aim, grip: Grip, fraction: float, start: float) -> tuple[float, float, float]:
    """(low, aim, high) after ``grip`` was pulled from ``start`` to ``fraction``; order is kept."""
    low, middle, high = aim.low, aim.cla_fraction, aim.high
    if grip == "low":
        return min(fraction, middle), middle, high
    if grip == "high":
        return low, middle, max(fraction, middle)
    if grip == "aim":
        return low, min(max(fraction, low), high), high
    step = fraction - start
    return low + step, middle + step, high + step


def reach_of(aim: Aim, grip: Grip) -> tuple[float, float]:
    """From where to where, as parts of the tail arm, a grip lies."""
    if grip == "span":
        return aim.low, aim.high
    at = aim.cla_fraction if grip == "aim" else aim.low if grip == "low" else aim.high
    return at, at
