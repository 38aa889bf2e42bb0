"""A surface as a flat frame: sticks of one depth round its edge; spars, ribs, diagonals, gussets between."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import State
from core.design_build import Ribs, Strip
from core.geometry.half_plane import Corners, across, corners_of
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import OverlayError, without
from core.geometry.regions import rings_of
from core.parts.bracing import DOWN, UP, Bands, Vector, area, braced, cut_off, rib_bands, split
from core.parts.cut import SAW_CUT, cut
from core.parts.frame_edges import Edging, Place, Side, edging_of
from core.parts.hinge_edge import hinge_faces, shaped
from core.parts.part import Array, Part, Role
from core.parts.plan import Panel, Plan
from core.parts.said import Remark, length
from core.parts.sheet import tab_pieces, too_deep
from core.parts.sticks import Flat, flat_parts


@dataclass(frozen=True, eq=False)
class _Sizes:
    """How wide the sticks of a frame are seen from the side, mm, and what they are cut from."""

    lead: Strip
    trail: Strip
    ribs: Ribs

    def wide(self, panel: Panel) -> dict[Place, float]:
        return {place: strip.wide for place, strip in self.strips(panel).items()}

    def strips(self, panel: Panel) -> dict[Place, Strip]:
        post = self.lead if panel.moves else self.trail
        return {
            "leading edge": self.lead, "trailing edge": self.trail, "hinge post": post,
            "tip": self.lead, "root": self.lead,
        }


def frame(state: State, plan: Plan) -> tuple[list[Part], list[str]]:
    """(parts, faults) of a flat frame: every stick with the ends that it is cut to, none on another."""
    build = plan.build
    thick = build.thickness.root
    if thick < SAW_CUT:
        return [], ["The frame is thinner than a saw cut: enter how thick it is at the root."]
    faults: list[str] = []
    if build.thickness.tip != thick or build.thickness.form != "flat":
        faults.append(Remark(
            f"A frame lies flat and is {length(thick)} thick all over, as entered for the root: build it with"
            " ribs to a form for another thickness at the tip."
        ))
    sizes, lacking = _sizes(plan)
    faults += lacking
    if any(width < SAW_CUT for width in (sizes.lead.wide, sizes.trail.wide, sizes.ribs.thick)):
        return [], [*faults, "Sticks of the frame are thinner than a saw cut: enter how wide they are."]
    spars = _spar_lines(plan)
    parts: list[Part] = []
    try:
        for k, panel in enumerate(plan.panels):
            own = [spar for spar in spars if spar.panel == k]
            found, said = _panel(state, plan, panel, sizes, own)
            parts += found
            faults += said
    except OverlayError as error:
        return [], [*faults, f"Nothing can be drawn: {error}."]
    faults += [
        f"The spar at {spar.chord_fraction:.0%} of the chord lies inside no panel: enter another part."
        for k, spar in enumerate(build.spars) if not any(f"-spar-{k + 1}" in part.id for part in parts)
    ]
    parts += cut(state, plan, tab_pieces(plan, thick, sizes.trail.material))
    return parts, faults


def _sizes(plan: Plan) -> tuple[_Sizes, list[str]]:
    build = plan.build
    usual = Strip(build.thickness.root)
    lacking: list[str] = [
        Remark(f"No width is entered for the {what}: {length(usual.wide)} are taken, as deep as the frame.")
        for what, strip in (("leading edge", build.leading_edge), ("trailing edge", build.trailing_edge))
        if strip is None
    ]
    return _Sizes(
        build.leading_edge or usual, build.trailing_edge or usual, build.ribs or Ribs(every=None)
    ), lacking


_made: IdentityMemo[tuple[list[Part], list[str]]] = IdentityMemo(64)


def _panel(
    state: State, plan: Plan, panel: Panel, sizes: _Sizes, spars: list[_SparLine]
) -> tuple[list[Part], list[str]]:
    """The parts of one panel; kept as long as all that they are made from is the same."""
    own = tuple(m for m in state.materials if m.id in {name for _, name in plan.build.materials})
    probe = plan.place(np.array(((0.0, 0.0), (0.0, 0.5 * plan.tip), (1.0, plan.tip))))
    key = (
        panel.id, panel.name, panel.moves, plan.throw, plan.count, probe.tobytes(),
        *(line.tobytes() for line in plan.hinges), *(spar.line.tobytes() for spar in spars),
    )
    # A tailplane's slope may bend where the probe does not look; its plans are kept as a whole.
    objects = (plan.build, panel.region, *own) if plan.upright else (plan, panel.region, *own)
    return _made.get(objects, lambda: _framed(state, plan, panel, sizes, spars), key)


def _framed(
    state: State, plan: Plan, panel: Panel, sizes: _Sizes, spars: list[_SparLine]
) -> tuple[list[Part], list[str]]:
    thick = plan.build.thickness.root
    faces = hinge_faces(plan, panel, thick)
    faults = too_deep(plan, panel, faces)
    wide = sizes.wide(panel)
    if any(face.deep > wide["hinge post"] for face in faces):
        faults.append(
            f"{panel.name}: its hinge post is {length(wide['hinge post'])} wide, and its throw takes"
            f" {length(max(face.deep for face in faces))} off its edge: make it wider."
        )
    parts = sorted(shapely.get_parts(panel.region), key=lambda part: float(shapely.bounds(part)[1]))
    flats: list[Flat] = []
    for k, part in enumerate(parts):
        tag, more = ("", "") if len(parts) == 1 else (f"-{k + 1}", f", piece {k + 1}")
        edging = edging_of(plan, panel, part, wide)
        made = _Cut(plan, panel, sizes, tag, more)
        if edging is None:
            faults.append(Remark(
                f"{panel.name}{more} is too narrow for a frame of these sticks, or its edge too broken: it is"
                " cut from one piece."
            ))
            flats.append(made.solid(part))
            continue
        holes: list[BaseGeometry] = [shapely.Polygon(hole) for hole in part.interiors]
        flats += made.edges(edging, holes)
        flats += made.inside(edging, holes, [spar for spar in spars if spar.inside(edging.inner)])
    return flat_parts(state, plan, flats, thick, faces), faults


@dataclass(frozen=True, eq=False)
class _Cut:
    """Makes the pieces of one panel, or of one part of it."""

    plan: Plan
    panel: Panel
    sizes: _Sizes
    tag: str
    more: str

    def solid(self, region: BaseGeometry) -> Flat:
        return self._flat("solid", "in one piece", "sheet", self.sizes.lead.material, corners_of(region), UP)

    def edges(self, edging: Edging, holes: list[BaseGeometry]) -> list[Flat]:
        strips = self.sizes.strips(self.panel)
        seen: dict[str, int] = {}
        total: dict[str, int] = {}
        for side, _ in edging.sticks:
            total[side.place] = total.get(side.place, 0) + 1
        found = []
        bevel = shaped(self.plan) if self.panel.moves else ""
        for side, corners in edging.sticks:
            seen[side.place] = seen.get(side.place, 0) + 1
            number = f" {seen[side.place]}" if total[side.place] > 1 else ""
            strip = strips[side.place]
            role, name, size = _edge_stock(side, corners, strip.wide)
            name += bevel if side.place == "hinge post" else ""
            (c0, s0), (c1, s1) = side.line[0].tolist(), side.line[-1].tolist()
            run = max(math.hypot(c1 - c0, s1 - s0), 1e-300)
            for k, piece in enumerate(_less_holes(corners, holes)):
                again = f"-{k + 1}" if k else ""
                found.append(self._flat(
                    f"{side.place.replace(' ', '-')}{number.replace(' ', '-')}{again}",
                    f"{side.place}{number}{name}", role, strip.material, piece,
                    ((c1 - c0) / run, (s1 - s0) / run), size,
                ))
        return found

    def inside(self, edging: Edging, holes: list[BaseGeometry], spars: list[_SparLine]) -> list[Flat]:
        ribs = self.sizes.ribs
        room = corners_of(edging.inner)
        low, high = min(s for _, s in room), max(s for _, s in room)
        closed = [(float(b[1]), float(b[3])) for b in shapely.bounds(holes)] if holes else []
        bands = rib_bands(low, high, ribs.thick, ribs.every, ribs.at, closed)
        found: list[Flat] = []
        rest = [room]
        names = ("in front", "behind") if len(spars) == 1 else tuple(
            f"bay {k + 1}" for k in range(len(spars) + 1)
        )
        for place, spar in enumerate(spars):
            before, inside, rest = split(rest, spar.normal, spar.offset - spar.half, spar.offset + spar.half)
            found += self._spar(spar, inside, bands)
            found += self._braces(before, bands, names[place])
        found += self._braces(rest, bands, names[len(spars)] if spars else "")
        return found

    def _spar(self, spar: _SparLine, inside: list[Corners], bands: Bands) -> list[Flat]:
        rooms = inside
        for low, high in bands.closed:
            rooms = [*cut_off(rooms, DOWN, -low), *cut_off(rooms, UP, high)]
        rooms = sorted(rooms, key=lambda room: min(s for _, s in room))
        several = len(rooms) > 1
        number = f" {spar.number}" if len(self.plan.build.spars) > 1 else ""
        return [
            self._flat(
                f"spar-{spar.number}{f'-{j + 1}' if several else ''}",
                f"spar{number}{f', piece {j + 1}' if several else ''}", "stick", spar.material, room,
                (-spar.normal[1], spar.normal[0]),
            )
            for j, room in enumerate(rooms)
        ]

    def _braces(self, rooms: list[Corners], bands: Bands, where: str) -> list[Flat]:
        ribs, build = self.sizes.ribs, self.plan.build
        found = braced(rooms, bands, where, ribs.thick, build.diagonals, not self.panel.moves)
        return [
            self._flat(
                brace.key, brace.name, "gusset" if brace.what == "gusset" else "stick", ribs.material,
                brace.corners, brace.along,
            )
            for brace in found if area(brace.corners) > SAW_CUT * SAW_CUT
        ]

    def _flat(
        self, key: str, name: str, role: Role, material: str, corners: Corners, along: Vector,
        size: Vector | None = None,
    ) -> Flat:
        return Flat(
            f"{self.panel.id}{self.tag}-{key}", f"{self.panel.name}{self.more}: {name}", role, material,
            corners, along, size,
        )


def _edge_stock(side: Side, corners: Corners, wide: float) -> tuple[Role, str, Vector | None]:
    """(role, what is added to its name, length and width of its stock where it is bent).

    A bent stick is laminated from strips; where it is hardly longer than wide it is a block.
    """
    if not side.bent:
        return "stick", "", None
    if side.long < 4.0 * wide or area(corners) > 1.5 * side.long * wide:
        return "sheet", ", cut from sheet", None
    return "stick", ", laminated", (side.long, wide)


def _less_holes(corners: Corners, holes: list[BaseGeometry]) -> list[Corners]:
    if not holes:
        return [corners]
    stick: BaseGeometry = shapely.Polygon(corners)
    hit = [hole for hole in holes if shapely.relate_pattern(stick, hole, "T********")]
    if not hit:
        return [corners]
    for hole in hit:
        stick = without(stick, hole)
    return [corners_of(part) for part in shapely.get_parts(stick) if float(shapely.area(part)) > SAW_CUT]


@dataclass(frozen=True, eq=False)
class _SparLine:
    """Where a spar runs: ``line`` (2, 2) from low to high in (c, s), and the same as normal and offset."""

    number: int
    material: str
    half: float
    line: Array
    normal: Vector
    offset: float

    panel: int
    """The panel in which most of it lies, as a place in the plan's panels; −1: none."""

    def inside(self, inner: BaseGeometry) -> bool:
        """True if the spar runs through the room ``inner`` of its panel."""
        return bool(shapely.contains_xy(inner, *_spread(self.line).T).any())


def _spread(line: Array) -> Array:
    """Places (11, 2) along a line (2, 2)."""
    return np.asarray(line[0] + np.linspace(0.0, 1.0, 11)[:, None] * (line[1] - line[0]))


def _spar_lines(plan: Plan) -> list[_SparLine]:
    """The spars, from front to rear: each straight, at its part of the surface's chord near both ends."""
    if not plan.build.spars:
        return []
    rings = [corners for panel in plan.panels for corners, _ in rings_of(panel.region)]
    chords = []
    for s in (0.1 * plan.tip, 0.9 * plan.tip):
        # Lines along c, so that what comes out is the chord.
        cuts = across(rings, np.array(UP), s)
        if not cuts:
            return []
        every = np.concatenate(cuts)[:, 0]
        chords.append((float(every.min()), float(every.max()), s))
    found = []
    for k, spar in enumerate(plan.build.spars):
        (c0, s0), (c1, s1) = (
            (front + spar.chord_fraction * (rear - front), s) for front, rear, s in chords
        )
        run = math.hypot(c1 - c0, s1 - s0)
        normal = ((s1 - s0) / run, -(c1 - c0) / run)
        line = np.array(((c0, s0), (c1, s1)))
        hits = [int(shapely.contains_xy(p.region, *_spread(line).T).sum()) for p in plan.panels]
        found.append(_SparLine(
            k + 1, spar.material, 0.5 * spar.cap[0], line, normal, c0 * normal[0] + s0 * normal[1],
            hits.index(max(hits)) if max(hits) > 0 else -1,
        ))
    return sorted(found, key=lambda spar: float(spar.line[:, 0].sum()))
