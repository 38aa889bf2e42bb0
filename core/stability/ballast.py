"""Ballast, the weighed CG against the marked one, and wing loading.

Everything here is a closed form from moments about the datum (exact). What cannot be computed comes
back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from core.design import LIMIT, LIMIT_WORDS, Design, Mark
from core.stability.balance import masses

NO_WEIGHTS = "enter what the aeroplane carries"
OUT_OF_REACH = "a number is not finite or out of reach"
CLOSE = 1e-6
"""mm: stations nearer than this are the same station."""


@dataclass(frozen=True)
class Balance:
    """Mass in grams and CG in mm."""

    grams: float
    x: float
    z: float


@dataclass(frozen=True)
class Ballast:
    """A mass to put in at ``x`` (mm), and the aeroplane's mass in grams with it; 0 g: nothing needed."""

    grams: float
    x: float
    total_grams: float


@dataclass(frozen=True)
class CGDifference:
    """The weighed CG less the marked one, in mm: ``x`` positive aft, ``z`` positive up."""

    x: float
    z: float

    @property
    def distance(self) -> float:
        """How far apart the two lie in the side view, mm."""
        return math.hypot(self.x, self.z)


def weighed(design: Design) -> Balance | str:
    """Mass and CG from the weights and the surfaces that weigh: Σ m r / Σ m (exact).

    Whichever CG the design goes by: a mark has no mass.
    """
    found = masses(design)
    if not all(math.isfinite(value) for mass in found for value in mass):
        return OUT_OF_REACH
    total = sum(m for m, _, _ in found)
    if not total > 0.0:
        return NO_WEIGHTS
    x = sum(m / total * x for m, x, _ in found)
    z = sum(m / total * z for m, _, z in found)
    return Balance(total, x, z) if math.isfinite(x + z + total) else OUT_OF_REACH


def ballast_for(grams: float, cg_x: float, wanted_x: float, ballast_x: float) -> Ballast | str:
    """The ballast at ``ballast_x`` that brings the CG from ``cg_x`` to ``wanted_x``; stations in mm.

    m (x_CG − x_t)/(x_t − x_b), with m the mass in grams without ballast: moments about the wanted
    CG (exact). Refused where the ballast lies on the wrong side of the wanted CG, on it, or would
    have to weigh more than the design file can hold.
    """
    if not all(abs(v) <= LIMIT for v in (cg_x, wanted_x, ballast_x)) or not math.isfinite(grams):
        return OUT_OF_REACH
    if grams <= 0.0:
        return NO_WEIGHTS
    move, lever = cg_x - wanted_x, wanted_x - ballast_x
    if abs(move) <= CLOSE:
        return Ballast(0.0, ballast_x, grams)
    if abs(lever) <= CLOSE:
        return "the ballast lies where the CG is wanted and cannot move it: choose another station"
    if move * lever < 0.0:
        if move > 0.0:
            return "the CG has to move forward: put the ballast ahead of the wanted CG"
        return "the CG has to move aft: put the ballast behind the wanted CG"
    added = grams * move / lever
    if not added <= LIMIT:
        return f"the ballast lies too near the wanted CG: it would weigh more than {LIMIT_WORDS} g"
    return Ballast(added, ballast_x, grams + added)


def ballast(design: Design, wanted_x: float, ballast_x: float) -> Ballast | str:
    """The same for a design: mass and CG are those of its weights (:func:`weighed`)."""
    now = weighed(design)
    if isinstance(now, str):
        return now
    return ballast_for(now.grams, now.x, wanted_x, ballast_x)


def cg_difference(marked: Mark | None, weighed_cg: Balance | str) -> CGDifference | str:
    """How far the weighed CG lies from the marked one, in mm (exact)."""
    if isinstance(weighed_cg, str):
        return weighed_cg
    if marked is None:
        return "mark the CG"
    difference = CGDifference(weighed_cg.x - marked.x, weighed_cg.z - marked.z)
    return difference if math.isfinite(difference.distance) else OUT_OF_REACH


def wing_loading(grams: float, wing_area: float) -> float | str:
    """Wing loading in g/dm²: mass in grams over the area of all wings in mm² (10 000 mm² = 1 dm²; exact)."""
    if not (math.isfinite(grams) and math.isfinite(wing_area)):
        return OUT_OF_REACH
    if grams <= 0.0:
        return NO_WEIGHTS
    if wing_area <= 0.0:
        return "enter the wing"
    loading = grams / (wing_area / 1e4) if wing_area > 1e-6 else math.inf
    return loading if math.isfinite(loading) else OUT_OF_REACH
