"""The first witness of the tail in yaw: the handbook's fin, run down to the body's centre line."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from core.geometry.memo import kept
from core.stability.aeroplane import Aeroplane
from core.stability.fin import ON_A_BODY, chord_at, fin_form, fin_form_above, fin_groups, no_tail
from core.stability.lateral.fin_root import FinRoot, fin_root, single_fin
from core.stability.surfaces import lift_slope

ROOT_AT = 0.15
"""Where on the fin's height above the body its root chord is taken: a fillet ahead of it is no root."""
_SLIVER = 1e-6


@dataclass(frozen=True)
class HandbookFin:
    """The vertical tail as the handbook's charts take it; x in mm, per radian, over the dynamic pressure."""

    side: float
    """Σ slope × area × count in mm²: side force over q and sideslip, before sidewash."""
    side_x: float
    """Its first moment in mm³: each slope × area at the quarter chord of the exposed fin's MAC."""
    area: float
    """mm², the single fin's run to the centre line."""
    lift_slope: float
    """Of all, weighted by area."""
    below: float
    """mm² of the single fin that hang below the body's top and are left out; 0 where nothing does."""
    reach: float
    """0 to 1, how far the charts are good for it: not at all where the fin is no higher than half the body's
    depth, which then outweighs it; wholly where it is twice as high (own; held against slender bodies)."""


@dataclass(frozen=True)
class RunToCentre:
    """A fin run down to the middle of its body: area in mm², aspect ratio and lift slope per radian."""

    area: float
    aspect_ratio: float
    lift_slope: float
    reach: float
    """As of ``HandbookFin``."""
    below: float = 0.0


def run_to_centre(
    area_above: float, root_chord: float, tip_z: float, root: FinRoot, sweep_half_deg: float
) -> RunToCentre:
    """S' = S_above + c_root (z_top − z_CL), b' = z_tip − z_CL, A' = b'²/S', a at 1.55 A'.

    mm and mm². Range: one fin upright on a body, its tip above the body's top. Source: the areas of
    handbooks run to the centre line; slope as ``surfaces.lift_slope``; 1.55 Raymer (memory).
    """
    height = tip_z - root.middle
    area = area_above + root_chord * root.half_depth
    aspect = height * height / area
    half = root.half_depth
    reach = min(max((tip_z - root.top) / half - 1.0, 0.0), 1.0) if half > 0.0 else 1.0
    return RunToCentre(area, aspect, lift_slope(ON_A_BODY * aspect, sweep_half_deg), reach)


@kept
def handbook_fin(a: Aeroplane) -> HandbookFin | str:
    """The vertical tail by the handbook, or why there is none.

    The single fin is run to the body's centre line; what of it hangs below the body's top behind the
    sternpost is left out. Where it does not rise above a body, or there is none, and for pairs that
    stand clear: their own area, and the slope at their own aspect ratio (a convention of this project).
    """
    groups = fin_groups(a.design, a.side)
    if not groups:
        return no_tail(a.design)
    side = moment = area = below = beyond = 0.0
    for group in groups:
        own, form = group.count * group.form.area, group.form
        slope = lift_slope(form.aspect_ratio, form.sweep_half_deg)
        run = _on_its_body(a) if group.count == 1 else None
        if run is not None:
            own, slope, below = run.area, run.lift_slope, run.below
            beyond = (1.0 - run.reach) * slope * own
        side += slope * own
        moment += slope * own * form.quarter_chord_x
        area += own
    if not area > 0.0 or not math.isfinite(moment):
        return no_tail(a.design)
    return HandbookFin(side, moment, area, side / area, below, 1.0 - beyond / side if side > 0.0 else 1.0)


def effective_aspect_ratio(a: Aeroplane) -> float | None:
    """The aspect ratio by which the tail stalls: 1.55 A' of a single fin on a body, A of what stands
    clear, weighted by area; None without a tail.
    """
    total = weighted = 0.0
    for group in fin_groups(a.design, a.side):
        area, aspect = group.count * group.form.area, group.form.aspect_ratio
        run = _on_its_body(a) if group.count == 1 else None
        if run is not None:
            aspect = ON_A_BODY * run.aspect_ratio
        total += area
        weighted += area * aspect
    return weighted / total if total > 0.0 else None


@kept
def _on_its_body(a: Aeroplane) -> RunToCentre | None:
    """The single fin run to the centre, and what of it hangs below; None where it stands on no body."""
    pieces, root = single_fin(a), fin_root(a)
    if not pieces or isinstance(root, str):
        return None
    exposed, above = fin_form(pieces), fin_form_above(pieces, root.top)
    if exposed is None or above is None or above.area < _SLIVER * exposed.area:
        return None
    chord = chord_at(pieces, root.top + ROOT_AT * above.height)
    found = run_to_centre(above.area, chord, root.top + above.height, root, above.sweep_half_deg)
    return replace(found, below=max(exposed.area - above.area, 0.0))
