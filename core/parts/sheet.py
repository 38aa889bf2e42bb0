"""A surface cut from solid sheet: a plate for each panel, the fixed one with the root's tab."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import State
from core.design_build import Skin
from core.geometry.half_plane import across, beyond_line
from core.geometry.overlay import OverlayError, union
from core.geometry.regions import Moments, moments_of, rings_of
from core.parts.cut import SAW_CUT, Piece, cut
from core.parts.flat import Laid, edges_of, hangs_on, longest_straight
from core.parts.hinge_edge import HingeFace, binding, hinge_faces, relief, relief_lines
from core.parts.part import Array, Drawn, Part
from core.parts.plan import Panel, Plan
from core.parts.said import Remark, length

STOCK = 100.0
"""mm: the widest sheet that is commonly sold; a wider plate is joined from strips."""
PLY = "birch-ply"
TAB_SHARE, MOST_PLY = 0.2, 6.0
"""A tab of ply: of the root's thickness, and no thicker than so many mm (our own choice)."""
RIM = 0.15
"""Of the mean chord: what lightening holes leave along the edge and between them (our own choice)."""


def sheet(state: State, plan: Plan) -> tuple[list[Part], list[str]]:
    """(parts, faults) of a surface of solid sheet: one plate a panel, joined with the tab."""
    thick, skin = plan.build.thickness, plan.build.skin
    faults: list[str] = []
    if thick.root < SAW_CUT:
        return [], ["The sheet is thinner than a saw cut: enter how thick it is at the root."]
    if thick.tip != thick.root or thick.form != "flat":
        faults.append(Remark(
            f"Solid sheet is flat and {length(thick.root)} thick all over, as entered for the root: build it"
            " with ribs for another form or thickness at the tip."
        ))
    if skin is None:
        faults.append(Remark("No wood is entered for the sheet: light balsa is taken."))
    material = (skin or Skin()).material
    try:
        pieces = [
            piece for panel in plan.panels
            for piece in _plates(plan, panel, thick.root, material, faults)
        ]
    except OverlayError as error:
        return [], [*faults, f"Nothing can be drawn: {error}."]
    if not plan.tab.is_empty and not any(_held(panel, plan.tab) for panel in plan.panels):
        pieces += tab_pieces(plan, thick.root, material)
    return cut(state, plan, pieces), faults


def ply_tab(plan: Plan) -> list[Piece]:
    """The root's tab as a piece of its own, of ply a fifth as thick as the root: for what has no plate."""
    thick = min(max(TAB_SHARE * plan.build.thickness.root, SAW_CUT), MOST_PLY)
    return tab_pieces(plan, thick, PLY)


def tab_pieces(plan: Plan, thick: float, material: str) -> list[Piece]:
    """The root's tab, if there is one, cut from wood so thick."""
    if plan.tab.is_empty:
        return []
    still = [panel for panel in plan.panels if not panel.moves]
    name = f"{still[0].name}: root tab" if still else "Root tab"
    # Upright in the grain: it is bent about the root.
    laid = Laid(plan.tab, np.array((0.0, 1.0)))
    mass = moments_of(plan.tab)
    where, shares = hangs_on(plan, plan.tab, mass)
    return [Piece(
        "tab", name, "tab", material, lambda: Drawn(laid.outline),
        (laid.length, laid.width, thick), mass.area * thick, where, edges_of(plan.tab), shares=shares,
    )]


def _held(panel: Panel, tab: BaseGeometry) -> bool:
    return not panel.moves and bool(shapely.dwithin(panel.region, tab, 1e-3))


def _plates(plan: Plan, panel: Panel, thick: float, material: str, faults: list[str]) -> list[Piece]:
    """The plates of one panel: more than one where a slot cuts it in two."""
    faces = hinge_faces(plan, panel, thick)
    faults += too_deep(plan, panel, faces)
    whole = panel.region
    if not plan.tab.is_empty and _held(panel, plan.tab):
        whole = union((panel.region, plan.tab))
    parts = sorted(shapely.get_parts(whole), key=lambda part: float(shapely.bounds(part)[1]))
    own = shapely.get_parts(panel.region)
    found = []
    for k, part in enumerate(parts):
        # By a place within: pieces may touch at a corner.
        mine = [region for region in own if shapely.contains(part, shapely.point_on_surface(region))]
        holes: list[Array] = []
        if plan.build.holes:
            for region in mine:
                deepest = max((face.deep for face in faces), default=0.0)
                holes += lightening(region, max(0.5 * thick, 1.5 * deepest))
            if not holes:
                faults.append(Remark(
                    f"{panel.name} is too small for holes between its rims: it stays whole."
                ))
        name = panel.name if len(parts) == 1 else f"{panel.name}, piece {k + 1}"
        key = panel.id if len(parts) == 1 else f"{panel.id}-{k + 1}"
        along = longest_straight(max(mine, key=shapely.area) if mine else part)
        found.append(_plate(plan, (key, name, material), part, holes, along, thick, faces))
    return found


def too_deep(plan: Plan, panel: Panel, faces: list[HingeFace]) -> list[str]:
    """A sentence where a panel is too narrow for what its throw takes off its hinge face, or would bind."""
    corners = shapely.get_coordinates(panel.region)
    bound = binding(plan, panel.name, max((0.5 * face.thick for face in faces), default=0.0))
    return bound + [
        f"{panel.name} is too narrow behind its hinge for an edge {length(face.deep)} deep: make it wider or"
        " thinner, or its throw smaller."
        for face in faces if face.deep > 0.5 * (float((corners @ face.normal).max()) - face.face)
    ]


def _plate(
    plan: Plan, named: tuple[str, str, str], region: BaseGeometry, holes: list[Array], along: Array,
    thick: float, faces: list[HingeFace],
) -> Piece:
    off = [found for face in faces if (found := relief(face, region)) is not None]
    before = region
    if holes and isinstance(region, shapely.Polygon):
        region = shapely.Polygon(region.exterior, [*region.interiors, *holes])
    flat = moments_of(region)
    volume = flat.area * thick - sum(taken.volume for taken in off)
    c, s = np.array((flat.x, flat.z)) * thick - sum((taken.moments for taken in off), np.zeros(2))
    where, shares = hangs_on(plan, region, Moments(volume, float(c), float(s)))
    laid = Laid(region, along)
    key, name, material = named
    return Piece(
        key, name, "sheet", material, partial(_drawn, laid, faces, before),
        (laid.length, laid.width, thick), volume, where, edges_of(region), shares=shares,
    )


def _drawn(laid: Laid, faces: list[HingeFace], region: BaseGeometry) -> Drawn:
    """A plate on its stock: where its bevels end, and where strips are joined, engraved."""
    engraved = [laid.line(line) for face in faces for line in relief_lines(face, region)]
    if laid.width > STOCK + 1e-6:
        strips = math.ceil(laid.width / STOCK - 1e-9)
        rings = [corners for corners, _ in rings_of(laid.outline)]
        for k in range(1, strips):
            engraved += across(rings, np.array((0.0, 1.0)), k * laid.width / strips)
    return Drawn(laid.outline, tuple(engraved))


def lightening(region: BaseGeometry, least: float) -> list[Array]:
    """Closed edges of rounded holes in one plate (c, s): a rim all round, and cross-pieces as wide between.

    None where the plate is too small; no rim is narrower than ``least`` mm or than a saw cut.
    """
    box = shapely.bounds(region)
    chord = float(shapely.area(region)) / max(float(box[3] - box[1]), 1e-9)
    rim = max(RIM * chord, SAW_CUT, least)
    found = []
    for inner in shapely.get_parts(shapely.buffer(region, -rim, join_style="mitre")):
        if inner.is_empty:
            continue
        _, low, _, high = (float(v) for v in shapely.bounds(inner))
        bands = max(1, round((high - low + rim) / chord))
        step = (high - low + rim) / bands
        for k in range(bands):
            cell = beyond_line(inner, np.array((0.0, 1.0)), low + k * step)
            cell = beyond_line(cell, np.array((0.0, -1.0)), -(low + (k + 1) * step - rim))
            found += _rounded(cell, rim)
    return found


def _rounded(cell: BaseGeometry, rim: float) -> list[Array]:
    box = shapely.bounds(cell)
    if cell.is_empty:
        return []
    r = min(rim, 0.25 * float(min(box[2] - box[0], box[3] - box[1])))
    opened = shapely.buffer(shapely.buffer(cell, -r, join_style="mitre"), r, quad_segs=12)
    return [
        shapely.get_coordinates(part.exterior) for part in shapely.get_parts(opened)
        if not part.interiors and float(shapely.area(part)) > rim * rim
    ]
