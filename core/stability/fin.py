"""The exposed vertical tail as a surface: its height and the quarter chord of its MAC."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from core.geometry.patch import Patch
from core.geometry.regions import union
from core.geometry.ring import Array
from core.geometry.slices import depths
from core.stability.side_area import SideArea

_SLICES = 400


@dataclass(frozen=True)
class FinForm:
    """Planform of the vertical tail; lengths in mm, area of one side of one fin in mm²."""

    height: float
    area: float
    mac: float
    quarter_chord_x: float


def fin_form(patches: tuple[Patch, ...]) -> FinForm | None:
    """Height, area, MAC and quarter chord by horizontal slices; None where there is no area.

    The chord of a slice is the length it cuts, its leading edge the most forward point it meets;
    MAC = ∫c² dz / ∫c dz and x_¼ = ∫(x_le + c/4) c dz / ∫c dz, the handbook definitions with z
    for the span.
    """
    region = union(p.region for p in patches)
    if region.is_empty:
        return None
    low_z, high_z = float(shapely.bounds(region)[1]), float(shapely.bounds(region)[3])
    if high_z <= low_z:
        return None
    step = (high_z - low_z) / _SLICES
    levels: Array = np.asarray(low_z + (np.arange(_SLICES) + 0.5) * step, dtype=np.float64)
    turned = shapely.transform(region, lambda p: p[:, ::-1])
    chord = depths(turned, levels)
    leading = _leading(np.asarray(shapely.get_coordinates(region)), region, levels)
    weight = float(chord.sum())
    if weight <= 0.0:
        return None
    held = chord > 0.0
    quarter = float(((leading[held] + 0.25 * chord[held]) * chord[held]).sum()) / weight
    return FinForm(
        height=high_z - low_z, area=weight * step, mac=float((chord**2).sum()) / weight,
        quarter_chord_x=quarter,
    )


def _leading(
    corners: Array,
    region: shapely.Geometry,
    levels: Array,
) -> Array:
    """The smallest x of the region at each level, shape (K,)."""
    ahead = float(corners[:, 0].min()) - 1.0
    behind = float(corners[:, 0].max()) + 1.0
    ends = np.empty((len(levels), 2, 2))
    ends[:, 0, 0], ends[:, 1, 0] = ahead, behind
    ends[:, :, 1] = levels[:, None]
    cuts = shapely.intersection(shapely.linestrings(ends), region)
    return np.asarray(shapely.bounds(cuts)[:, 0])


def quarter_chord_x(side: SideArea) -> float | None:
    """x in mm of the quarter chord of the vertical tail, counts weighting several; None without one."""
    total = moment = 0.0
    for count, patches in side.tail_pieces:
        form = fin_form(patches)
        if form is not None:
            total += count * form.area
            moment += count * form.area * form.quarter_chord_x
    return moment / total if total > 0.0 else None
