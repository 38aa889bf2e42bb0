"""The slots that upright surfaces have for a tailplane that runs through them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import State, Tailplane
from core.geometry.half_plane import beyond_line
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import without
from core.parts.hinge import SHARED, whole_parts
from core.parts.rooting import FORMER
from core.parts.said import Remark

_boxes: IdentityMemo[BaseGeometry | None] = IdentityMemo(64)
_cut: IdentityMemo[Slotted] = IdentityMemo(64)


def crossing(state: State, count: int, apart: float | None) -> list[tuple[str, BaseGeometry]]:
    """By name, in (x, z), the boxes of the tailplanes' sections where they run through the surface."""
    across = 0.0 if count == 1 else None if apart is None else 0.5 * apart
    if across is None:
        return []
    thick = {i: build.thickness.root for build in state.builds for i in build.of}
    found = []
    for tailplane in (t for t in state.tailplanes if t.stations):
        deep = thick.get(tailplane.id)
        box = _boxes.get((tailplane,), lambda t=tailplane, d=deep: _box(t, across, d), (across, deep))  # type: ignore[misc]
        if box is not None:
            found.append((tailplane.name, box))
    return found


def _box(tailplane: Tailplane, across: float, thick: float | None) -> BaseGeometry | None:
    stations = sorted(tailplane.stations, key=lambda s: abs(s.y))
    y, z, front, chord = np.array([(abs(s.y), s.z, s.le_x, s.chord) for s in stations]).T
    deep = tailplane.section.thickness * float(np.interp(across, y, chord)) if thick is None else thick
    # One that ends at the surface is glued to its side.
    if y[-1] < across + deep or not deep > 0.0:
        return None
    x, middle, long = (float(np.interp(across, y, v)) for v in (front, z, chord))
    return shapely.box(x, middle - 0.5 * deep, x + long, middle + 0.5 * deep)


def _inside(slot: BaseGeometry, region: BaseGeometry) -> BaseGeometry:
    """What of the region lies in the slot's level box."""
    low_x, low_s, high_x, high_s = (float(v) for v in shapely.bounds(slot))
    sides = ((1.0, 0.0, low_x), (-1.0, 0.0, -high_x), (0.0, 1.0, low_s), (0.0, -1.0, -high_s))
    for x, s, offset in sides:
        region = beyond_line(region, np.array((x, s)), offset)
    return region


@dataclass(frozen=True, eq=False)
class Slotted:
    """A region without a slot, what the slot takes of it, and what to say where that cuts it in two."""

    left: BaseGeometry
    taken: BaseGeometry
    faults: tuple[str, ...] = ()


def slotted(region: BaseGeometry, slot: BaseGeometry, name: str, tailplane: str) -> Slotted:
    """The region of the surface ``name`` without the slot for the ``tailplane``. Kept by identity."""
    return _cut.get((region, slot), lambda: _slotted(region, slot, name, tailplane), (name, tailplane))


def _slotted(region: BaseGeometry, slot: BaseGeometry, name: str, tailplane: str) -> Slotted:
    taken = _inside(slot, region)
    left = whole_parts(without(region, slot))
    if left.geom_type == "Polygon":
        return Slotted(left, taken, _stands(region, left, slot, name, tailplane))
    box = shapely.bounds(slot)
    parts = shapely.get_parts(left)
    heights = shapely.bounds(parts)
    kept = parts[(heights[:, 3] - heights[:, 1]) >= max(FORMER, box[3] - box[1])]
    if len(kept) == 0:
        kept = parts[shapely.area(parts).argmax():][:1]
    if len(kept) == 1:
        return Slotted(kept[0], taken, _stands(region, kept[0], slot, name, tailplane))
    return Slotted(
        shapely.MultiPolygon(list(kept)), taken,
        (Remark(f"{tailplane} runs through the whole of {name}, which is cut in two there."),),
    )


def _stands(
    region: BaseGeometry, left: BaseGeometry, slot: BaseGeometry, name: str, tailplane: str
) -> tuple[str, ...]:
    """What to say where the slot is closed, or takes a whole end off the region."""
    if isinstance(left, shapely.Polygon) and len(left.interiors) > shapely.get_num_interior_rings(region):
        return (Remark(
            f"{tailplane} goes through {name} in a closed slot, a box as deep as it is thick: push it through"
            " before anything is fixed to it."
        ),)
    before, after, box = shapely.bounds([region, left, slot])
    if after[1] > before[1] and after[1] >= box[3] - SHARED:
        return (Remark(f"{tailplane} lies across the root of {name}, which stands on it, without a tab."),)
    if after[3] < before[3] and after[3] <= box[1] + SHARED:
        return (Remark(f"{tailplane} lies on top of {name}, which ends under it."),)
    return ()
