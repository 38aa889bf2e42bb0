"""A surface of ribs: what it is cut into, its areas, and what of it cannot be made."""

from __future__ import annotations

import numpy as np
import shapely

from core.design import State
from core.geometry.memo import kept
from core.geometry.overlay import OverlayError, union
from core.parts.bays import Bays, edges_wide, rib_stations
from core.parts.cut import SAW_CUT, Piece, cut
from core.parts.edging import edging
from core.parts.hinge_edge import binding
from core.parts.part import Array, Part
from core.parts.plan import Plan
from core.parts.rib import rib_pieces, stretches
from core.parts.said import Remark
from core.parts.section import Surface, put_back
from core.parts.sheet import ply_tab
from core.parts.skin import covered, skins
from core.parts.spar import percent, runs_of, spar_pieces


def ribbed(state: State, plan: Plan) -> tuple[list[Part], list[str]]:
    """(parts, faults): ribs, spars, edges and skin of every panel of a ribbed plan, and its root's tab."""
    faults: list[str] = []
    pieces: list[Piece] = []
    if plan.build.ribs is None or plan.build.ribs.thick < SAW_CUT:
        faults.append("The ribs are thinner than a saw cut: enter how thick they are.")
    owned: set[int] = set()
    try:
        panels = _bays(plan)
        cut_up = [_panel(bays) for bays in panels]
    except OverlayError as error:
        return [], [*faults, f"Nothing can be drawn: {error}."]
    for bays, (found, wrong, spars) in zip(panels, cut_up, strict=True):
        name = bays.panel.name
        if bays.chords.lost > 0.01 * float(shapely.area(bays.panel.region)):
            faults.append(Remark(
                f"{name} has a gap across its chord: its parts are those of its larger piece at each height."
            ))
        pieces += found
        faults += wrong
        faults += _slotted(plan, name, found)
        owned |= spars
    faults += [
        f"The {percent(spar)} lies in no panel along its span: enter another part of the chord."
        for k, spar in enumerate(plan.build.spars) if k not in owned
    ]
    return cut(state, plan, [*pieces, *ply_tab(plan)]), faults


def _slotted(plan: Plan, name: str, pieces: list[Piece]) -> list[str]:
    """A sentence where a slot runs through sticks or webs of a panel, which are drawn whole."""
    if not plan.slots:
        return []
    whole = _near(plan, [piece for piece in pieces if piece.role in ("stick", "web")])
    if not whole:
        return []
    # A touch along its edge is no way through.
    slots = union([shapely.buffer(slot, -0.5 * SAW_CUT) for slot in plan.slots])
    through = [piece.name for piece in whole if shapely.intersects(shapely.Polygon(piece.places[0]), slots)]
    if not through:
        return []
    return [Remark(
        f"The slot in {name} goes through {', '.join(through)}: drawn and weighed whole, to be cut through"
        " there when both are glued."
    )]


def _near(plan: Plan, pieces: list[Piece]) -> list[Piece]:
    """Those of the pieces that reach into the box round a slot."""
    if not pieces:
        return []
    lines = [piece.places[0] for piece in pieces]
    starts = np.cumsum([0, *(len(line) for line in lines[:-1])])
    every = np.concatenate(lines)
    low, high = np.minimum.reduceat(every, starts), np.maximum.reduceat(every, starts)
    boxes = shapely.bounds(plan.slots)[:, None]
    near = ((low < boxes[..., 2:]) & (high > boxes[..., :2])).all(axis=2)
    return [pieces[k] for k in np.unique(np.nonzero(near)[1]).tolist()]


def ribbed_covering(plan: Plan) -> tuple[Array, Array]:
    """(places (K, 2) in (c, s), area there (K,) in mm²): both sides of all surfaces, along the section."""
    found = [covered(bays) for bays in _bays(plan)]
    found += [
        (shapely.get_coordinates(shapely.centroid(slot)), np.array((-float(slot.area),)))
        for slot in plan.slots
        if any(slot is one for panel in plan.panels for one in put_back(panel.region, plan.slots))
    ]
    where = np.concatenate([places for places, _ in found]) if found else np.zeros((0, 2))
    shares = np.concatenate([area for _, area in found]) if found else np.zeros(0)
    return where, 2.0 * plan.count * shares


@kept
def _bays(plan: Plan) -> list[Bays]:
    surface = Surface(plan)
    ribs = plan.build.ribs
    found = []
    for index, (chords, panel) in enumerate(zip(surface.cut, plan.panels, strict=True)):
        if chords is None or len(chords.low) == 0:
            continue
        slots = [
            (float(box[1]), float(box[3]))
            for box in (shapely.bounds(s) for s in plan.slots if shapely.intersects(s, panel.region))
        ]
        stations = np.zeros(0) if ribs is None else rib_stations(
            chords, ribs, slots, edges_wide(plan.build)
        )
        found.append(Bays(surface, index, chords, stations))
    return found


def _panel(bays: Bays) -> tuple[list[Piece], list[str], frozenset[int]]:
    build = bays.surface.plan.build
    pieces, faults = edging(bays)
    faults += binding(bays.surface.plan, bays.panel.name, float(bays.ends.radius.max(initial=0.0)))
    owned: frozenset[int] = frozenset()
    skin = 0.0 if build.skin is None else build.skin.thick
    ribs = build.ribs
    if ribs is not None and ribs.thick >= SAW_CUT:
        if len(bays.stations):
            stretch, made, wrong = stretches(bays, ribs, skin)
            runs, lacking, owned = runs_of(bays, stretch, made, skin)
            faults += [*wrong, *lacking]
            pieces += rib_pieces(bays, ribs, skin, stretch, made, runs)
            for run in runs:
                found, wrong = spar_pieces(bays, run, skin, ribs.thick)
                pieces += found
                faults += wrong
        else:
            faults.append(f"{bays.panel.name} is lower than a rib is thick: it gets no ribs.")
    if build.skin is not None:
        found, wrong = skins(bays, build.skin)
        pieces += found
        faults += wrong
    return pieces, faults, owned
