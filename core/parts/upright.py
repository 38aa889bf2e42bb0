"""The plan of an upright surface: what stands out of the body, its hinges, root tab and slots.

Taken from the side view's (x, z) and laid into (c, s).
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Build, Outline, State
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, without
from core.kinds import FINS, HANGING, RUDDERS
from core.outline_form import form_of
from core.parts.hinge import Hinge, bend_fault, hinge_between, whole_parts
from core.parts.horizontal import LEAST
from core.parts.plan import Array, Panel, Plan
from core.parts.rooting import Root, body_of, largest_of, root_of, shown_of, tab_of
from core.parts.slots import crossing, slotted

Regions = dict[str, BaseGeometry]

_laid: IdentityMemo[BaseGeometry] = IdentityMemo(128)
_cut: IdentityMemo[BaseGeometry] = IdentityMemo(128)


def upright_plan(state: State, build: Build) -> Plan | str:
    """The plan of the outlines that ``build`` names, all of them upright and of one count.

    A sentence where there is none. OverlayError where the areas cannot be told.
    """
    outlines = [o for o in state.outlines if o.id in build.of]
    for outline in outlines:
        if (fault := form_of(outline).fault) is not None:
            return f"{outline.name} {fault}."
    body = body_of(state, outlines)
    shown = {o.id: shown_of(o, body) for o in outlines}
    hidden = [o for o in outlines if not float(shapely.area(shown[o.id])) > LEAST]
    if hidden:
        return f"{hidden[0].name} lies inside the body: nothing of it stands out to be built."
    still = [o for o in outlines if o.kind not in RUDDERS]
    held = still or outlines
    root = root_of([shown[o.id] for o in held], body, all(o.kind in HANGING for o in held))
    plane = _Plane(root)
    regions = _apart({o.id: plane.laid(shown[o.id]) for o in sorted(outlines, key=_moves)})
    others = [o for o in state.outlines if _partner(o, outlines)]
    hinges, faults = _hinged(outlines, others, regions, {
        o.id: plane.laid(shown_of(o, body)) for o in others
    }, build.hinge_gap)
    boxes = [(name, plane.laid(box)) for name, box in crossing(state, outlines[0].count, outlines[0].apart)]
    slots, more = _slotted(outlines, regions, boxes)
    gone = [o for o in outlines if not float(shapely.area(regions[o.id])) > LEAST]
    if gone:
        return f"Nothing is left of {gone[0].name} beside the hinge gap and the slots: make them smaller."
    tab = NOTHING
    if build.tab and body is not None and still:
        tab = plane.laid(tab_of(build, still, body, root))
        for _, box in boxes:
            if shapely.relate_pattern(tab, box, "T********"):
                tab = _largest_less(tab, box)
        # Across the whole root, a tailplane has the surface standing on it.
        if slots and not any(shapely.dwithin(regions[o.id], tab, 0.01) for o in still):
            tab = NOTHING
    panels = tuple(Panel(o.id, o.name, regions[o.id], o.kind in RUDDERS) for o in outlines)
    return Plan(
        build, True, outlines[0].count, panels, max(float(shapely.bounds(p.region)[3]) for p in panels),
        tuple(h.line for h in hinges), tab, tuple(slots),
        state.flight.rudder_throw_deg if any(p.moves for p in panels) else 0.0, plane.place, plane.place,
        (*faults, *more),
    )


class _Plane:
    """The way between (c, s) and (x, z).

    c is x: a root that grows forward under a dragged node leaves all else where it was, and kept.
    """

    def __init__(self, root: Root) -> None:
        self._key = (root.z, root.way)
        self._origin = np.array((0.0, root.z))
        self._way = np.array((1.0, root.way))

    def place(self, points: Array) -> Array:
        return np.asarray(self._origin + points * self._way)

    def laid(self, region: BaseGeometry) -> BaseGeometry:
        """A region in (x, z) as it is in (c, s). Kept by identity."""
        if region.is_empty:
            return region
        return _laid.get(
            (region,), lambda: shapely.transform(region, lambda p: (p - self._origin) * self._way), self._key
        )


def _moves(outline: Outline) -> int:
    return int(outline.kind in RUDDERS)


def _partner(outline: Outline, outlines: list[Outline]) -> bool:
    """True if the outline is the other side of a hinge of these, and built apart from them."""
    if outline in outlines or outline.count != outlines[0].count or form_of(outline).fault is not None:
        return False
    if outline.kind in FINS:
        return any(o.kind in RUDDERS for o in outlines)
    return outline.kind in RUDDERS and any(o.kind in FINS for o in outlines)


def _apart(regions: Regions) -> Regions:
    """Regions that lie on one another, each without those that come after it."""
    ids = list(regions)
    for k, i in enumerate(ids):
        for j in ids[k + 1 :]:
            # A touch along an edge is no overlap, and needs no overlay.
            if shapely.relate_pattern(regions[i], regions[j], "T********"):
                regions[i] = _less(regions[i], regions[j])
    return regions


def _less(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    return _cut.get((region, other), lambda: whole_parts(without(region, other)))


def _largest_less(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    return _cut.get((region, other), lambda: largest_of(without(region, other)))


def _hinged(
    outlines: list[Outline], others: list[Outline], regions: Regions, beside: Regions, gap: float
) -> tuple[list[Hinge], list[str]]:
    """The hinges of these outlines, those with ``others`` built apart too; ``regions`` give way to them."""
    hinges: list[Hinge] = []
    faults: list[str] = []
    everywhere = {**beside, **regions}
    for moving in (o for o in (*outlines, *others) if o.kind in RUDDERS):
        for fixed in (o for o in (*outlines, *others) if o.kind in FINS):
            if moving in others and fixed in others:
                continue
            found = hinge_between(everywhere[fixed.id], everywhere[moving.id], gap)
            if found is None:
                continue
            hinges.append(found)
            faults += bend_fault(found.line, gap, f"{fixed.name} and {moving.name}")
            for i in (moving.id, fixed.id):
                if i in regions:
                    regions[i] = _cleared(found, regions[i])
    return hinges, faults


def _cleared(hinge: Hinge, region: BaseGeometry) -> BaseGeometry:
    key = (hinge.gap, hinge.line.tobytes(), *(edge.tobytes() for edge in hinge.edges))
    return _cut.get((region,), lambda: hinge.cleared(region), key)


def _slotted(
    outlines: list[Outline], regions: Regions, boxes: list[tuple[str, BaseGeometry]]
) -> tuple[list[BaseGeometry], list[str]]:
    """The slots for tailplanes that cross; ``regions`` give way to them."""
    slots: list[BaseGeometry] = []
    faults: list[str] = []
    for name, slot in boxes:
        for o in outlines:
            if not shapely.relate_pattern(regions[o.id], slot, "T********"):
                continue
            if o.kind in RUDDERS:
                faults.append(
                    f"{name} runs through {o.name}, which turns: no slot is cut there; cut it back by hand"
                    " until it swings clear."
                )
                continue
            made = slotted(regions[o.id], slot, o.name, name)
            regions[o.id] = made.left
            slots.append(made.taken)
            faults += made.faults
    return slots, faults
