"""Where the CG lies from the wing: a ruler finds a leading edge on the model, but no datum."""

from __future__ import annotations

import math

from core.design import LIMIT, Design, Station, Wing
from core.stability.balance import cg_of
from core.stability.ballast import OUT_OF_REACH
from core.stability.readings import NO_SCALE, scale_known
from core.units import format_length


def root_of(wing: Wing) -> Station | None:
    """The station nearest the centre line; None without stations."""
    return min(wing.stations, key=lambda s: abs(s.y), default=None)


def foremost_wing(design: Design) -> Wing | None:
    """The wing whose root has the foremost leading edge; None without one."""
    roots = [(root.le_x, at) for at, wing in enumerate(design.wings) if (root := root_of(wing)) is not None]
    return design.wings[min(roots)[1]] if roots else None


def cg_behind_wing_le(design: Design) -> float | str:
    """mm along x from the leading edge of the foremost wing's root aft to the CG; negative ahead of it.

    Exact difference of two stations. A str: why there is none.
    """
    wing = foremost_wing(design)
    root = None if wing is None else root_of(wing)
    if root is None:
        return "enter the wing"
    cg, why = cg_of(design)
    if cg is None:
        return why
    if not scale_known(design):
        return NO_SCALE
    behind = cg.x - root.le_x
    return behind if math.isfinite(behind) and abs(behind) <= 2.0 * LIMIT else OUT_OF_REACH


def cg_from_wing_words(design: Design) -> str:
    """ "CG 92.0 mm behind the leading edge of the wing's root"; empty where there is none.

    In the design's units; the wing is named where there are several.
    """
    behind, wing = cg_behind_wing_le(design), foremost_wing(design)
    root = None if wing is None else root_of(wing)
    if isinstance(behind, str) or root is None:
        return ""
    return f"CG {from_wing_words(design, root.le_x + behind)}"


def from_wing_words(design: Design, x: float) -> str:
    """Where a station lies, likewise: "92.0 mm behind …"; empty without a wing or without a scale."""
    wing = foremost_wing(design)
    root = None if wing is None else root_of(wing)
    if wing is None or root is None or not scale_known(design):
        return ""
    name = "the wing" if len(design.wings) == 1 else wing.name
    units, behind = design.display_units, x - root.le_x
    far = format_length(abs(behind), units)
    if far == format_length(0.0, units):
        return f"at the leading edge of {name}'s root"
    return f"{far} {'behind' if behind > 0.0 else 'ahead of'} the leading edge of {name}'s root"
