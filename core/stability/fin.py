"""The exposed vertical tail as a surface: height, MAC, quarter chord, sweep; and the rudder's share."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Design, Outline
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING
from core.geometry.patch import Patch, united
from core.geometry.ring import Array
from core.geometry.slices import cuts, depths
from core.kinds import RUDDERS, VERTICAL_TAIL
from core.stability.side_area import SideArea, form_of
from core.stability.surfaces import lift_slope

_SLICES = 400
# What two tracings leave between them: too small to be a fin, but it would stretch the fin's height.
_SLIVER = 0.01
NO_TAIL = "trace the fin or the rudder"
COVERED_TAIL = "the fin and rudder are wholly covered by other outlines: check their kind and place"
ON_A_BODY = 1.55
"""Effective over geometric aspect ratio of a single fin on a body (Raymer, Aircraft Design; memory)."""


@dataclass(frozen=True)
class FinForm:
    """Planform of the vertical tail; lengths in mm, area of one side of one fin in mm²."""

    height: float
    area: float
    mac: float
    quarter_chord_x: float
    aspect_ratio: float
    """height²/area, of the exposed fin alone."""
    sweep_quarter_deg: float
    """Of the chord-weighted straight fit of the quarter-chord line over z; positive aft."""
    sweep_half_deg: float


@dataclass(frozen=True)
class FinGroup:
    """The fins of one count, taken together as the planform of one of them."""

    count: int
    form: FinForm
    effective_aspect_ratio: float
    lift_slope: float
    """Per radian, of one fin on its own area."""
    rudder_fraction: float
    """Rudder area over the whole area of this fin, 0 to 1."""


_memo: IdentityMemo[FinForm | None] = IdentityMemo(48)


def fin_form(patches: tuple[Patch, ...]) -> FinForm | None:
    """The planform of the united ``patches`` by horizontal slices; None where there is no area.

    The chord of a slice is the length it cuts, its leading edge half of that ahead of its middle;
    MAC = ∫c² dz / ∫c dz and x_¼ = ∫(x_le + c/4) c dz / ∫c dz, A = height²/area: the handbook
    definitions with z for the span (exact but for the slicing, 400 over the height). The sweeps are
    those of the chord-weighted straight fit of x_le + f·c over z (a convention of this project; for
    a straight-tapered fin it is exact). Loose parts below a hundredth of the area are left out.
    """
    return _memo.get(patches, lambda: _form(united(patches).region) if patches else None)


def fin_form_above(patches: tuple[Patch, ...], z: float) -> FinForm | None:
    """``fin_form`` of what stands above the height ``z`` in mm; None where nothing does."""
    return _memo.get(patches, lambda: _form(united(patches).region, z) if patches else None, z)


def chord_at(patches: tuple[Patch, ...], z: float) -> float:
    """Length in mm that the united ``patches`` have at the height ``z``, holes left out."""
    turned = shapely.transform(united(patches).region, lambda p: p[:, ::-1])
    return float(depths(turned, np.array([z, z + 1.0]))[0])


def fin_groups(design: Design, side: SideArea) -> tuple[FinGroup, ...]:
    """The exposed fins of ``design`` by count; ``side`` is its counted side area.

    Effective aspect ratio: 1.55 A for a single fin on a body, A itself for pairs and more (Raymer,
    Aircraft Design; memory). Lift slope by ``surfaces.lift_slope`` with the half-chord sweep.
    """
    found = []
    for count, patches in side.tail_pieces:
        form = fin_form(patches)
        if form is None:
            continue
        effective = form.aspect_ratio * (ON_A_BODY if count == 1 else 1.0)
        found.append(
            FinGroup(
                count, form, effective, lift_slope(effective, form.sweep_half_deg),
                _rudder_fraction(design.outlines, count, patches),
            )
        )
    return tuple(found)


def no_tail(design: Design) -> str:
    """Why a design without exposed vertical tail has none: nothing traced, or all of it covered."""
    traced = any(
        o.kind in VERTICAL_TAIL and form_of(o).patch.moments.area > 0.0 for o in design.outlines
    )
    return COVERED_TAIL if traced else NO_TAIL


def quarter_chord_x(side: SideArea) -> float | None:
    """x in mm of the quarter chord of the vertical tail, counts weighting several; None without one."""
    total = moment = 0.0
    for count, patches in side.tail_pieces:
        form = fin_form(patches)
        if form is not None:
            total += count * form.area
            moment += count * form.area * form.quarter_chord_x
    return moment / total if total > 0.0 else None


def _rudder_fraction(outlines: tuple[Outline, ...], count: int, patches: tuple[Patch, ...]) -> float:
    """Exposed rudder over exposed fin and rudder. Where the two overlap the rudder has it."""
    # The pieces of a count stand in the order of the outlines that they were made from.
    kinds = [o.kind for o in outlines if o.count == count and o.kind in VERTICAL_TAIL]
    rudders = tuple(p for kind, p in zip(kinds, patches, strict=True) if kind in RUDDERS)
    if not rudders:
        return 0.0
    whole = float(shapely.area(united(patches).region))
    return min(float(shapely.area(united(rudders).region)) / whole, 1.0) if whole > 0.0 else 0.0


def _form(region: BaseGeometry, above: float | None = None) -> FinForm | None:
    if region.is_empty:
        return None
    region = _whole_parts(region)
    low_z, high_z = float(shapely.bounds(region)[1]), float(shapely.bounds(region)[3])
    whole = above is None or above <= low_z
    if not whole and above is not None:
        low_z = above
    height = high_z - low_z
    if not height > 0.0:
        return None
    step = height / _SLICES
    levels: Array = np.asarray(low_z + (np.arange(_SLICES) + 0.5) * step, dtype=np.float64)
    turned = shapely.transform(region, lambda p: p[:, ::-1])
    chord, moment = cuts(turned, levels)
    area = float(shapely.area(region)) if whole else float(chord.sum()) * step
    held = chord > 0.0
    c, z = chord[held], levels[held]
    # By the middle of what is cut, not by its foremost point: the tip of a fillet is no leading edge.
    le = moment[held] / c - 0.5 * c
    weight = float(c.sum())
    if not weight > 0.0 or not area > 1e-9:
        return None

    def sweep(part: float) -> float:
        line = le + part * c
        off = z - float((c * z).sum()) / weight
        spread = float((c * off * off).sum())
        if not spread > 0.0:
            return 0.0
        return math.degrees(math.atan(float((c * off * line).sum()) / spread))

    return FinForm(
        height=height, area=area, mac=float((c**2).sum()) / weight,
        quarter_chord_x=float(((le + 0.25 * c) * c).sum()) / weight,
        aspect_ratio=height * height / area,
        sweep_quarter_deg=sweep(0.25), sweep_half_deg=sweep(0.5),
    )


def _whole_parts(region: BaseGeometry) -> BaseGeometry:
    parts = shapely.get_parts(region)
    if len(parts) < 2:
        return region
    areas = np.asarray(shapely.area(parts))
    large = [p for p, a in zip(parts, areas, strict=True) if a >= _SLIVER * float(areas.sum())]
    return shapely.MultiPolygon(large) if large else NOTHING
