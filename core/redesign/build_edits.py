"""Edits of how surfaces are made: builds, and the builder's own materials.

The sizes that a build begins with are common practice, no source: they are there to be typed over.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any, NamedTuple

import numpy as np
import shapely
from msgspec.structs import replace

from core.design import LIMIT, MOST_PARTS, Design, State
from core.design_build import Build, BuildWay, Material, Ribs, Skin, Spar, Strip, Thickness
from core.design_check import problems
from core.geometry.overlay import lines_in
from core.kinds import BUILDABLE, HANGING, RUDDERS, VERTICAL_TAIL
from core.materials import WOODS
from core.parts.section import half_form
from core.redesign.outline_edits import EditError
from core.stability.side_area import form_of
from core.stability.touching import together

_LONGEST = 200
_THICK = 0.085
"""Thickness of a ribbed surface, as a part of its chord near the root and near the tip."""
_LEAST_TIP = 0.4
"""Of the thickness at the root, what a tip that runs out to a point keeps."""
_LEAST_EDGE = 1.2
"""mm: a trailing edge that is no deeper where it begins is wider."""
_SMALL = 100.0
"""mm of chord: below it neither skin nor halves nor spar find room."""


class Buildable(NamedTuple):
    """Surfaces that could be made as one, and what the builder calls them."""

    ids: tuple[str, ...]
    name: str


def buildable(state: State) -> tuple[Buildable, ...]:
    """What could have a build and has none: upright surfaces in groups of what touches, tailplanes.

    A fin goes with its rudder; a ventral fin or a tip plate is made by itself.
    """
    taken = {i for build in state.builds for i in build.of}
    tail = [o for o in state.outlines if o.kind in VERTICAL_TAIL and o.id not in taken]
    groups = [g for count in sorted({o.count for o in tail})
              for g in together([o for o in tail if o.count == count])]
    groups += [[o] for o in state.outlines if o.kind in BUILDABLE - VERTICAL_TAIL and o.id not in taken]
    order = {o.id: at for at, o in enumerate(state.outlines)}
    found = [
        Buildable(tuple(o.id for o in group), " and ".join(o.name for o in group))
        for group in (sorted(g, key=lambda o: order[o.id]) for g in groups)
    ]
    found.sort(key=lambda one: order[one.ids[0]])
    found += [Buildable((t.id,), t.name) for t in state.tailplanes if t.id not in taken]
    return tuple(found)


def name_of(state: State, build: Build) -> str:
    """What the builder calls a build: its label, or the surfaces that it makes."""
    names = {t.id: t.name for t in state.tailplanes} | {o.id: o.name for o in state.outlines}
    return build.label or " and ".join(names.get(i, i) for i in build.of)


def build_of(design: State, build_id: str) -> Build:
    """The build of that id; KeyError where there is none."""
    for build in design.builds:
        if build.id == build_id:
            return build
    raise KeyError(build_id)


def new_build(design: Design, ids: Collection[str], way: BuildWay) -> tuple[Design, str]:
    """(design with a build for those surfaces, its id), of sizes that suit how big they are.

    EditError for surfaces that are not there, cannot be made as one, or have a build already.
    """
    if len(design.builds) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} builds are the most a design can hold; delete some first")
    _check_surfaces(design, ids, None)
    wanted = tuple(ids)
    made = starting_build(design, wanted, way)
    made = replace(made, id=_fresh(design, "-".join(wanted[:1]) or "build"))
    return replace(design, builds=(*design.builds, made)), made.id


def starting_build(design: State, ids: Collection[str], way: BuildWay) -> Build:
    """A build of those surfaces with the sizes that one begins with; its id is empty."""
    near_root, near_tip = _chords(design, ids)
    # A fillet before the fin, or sweep, makes the whole long and no section thicker.
    chord = max(near_root, near_tip)
    of = tuple(ids)
    if way == "sheet":
        thick = _stock(chord * 0.025, (2.4, 3.2, 4.8, 6.4, 9.5, 12.7))
        return Build("", of, way, Thickness(thick, thick, "flat"), skin=Skin(thick, "balsa-medium"),
                     covering_g_m2=30.0, glue=0.03)
    if way == "frame":
        deep = _stock(chord * 0.035, (3.2, 4.8, 6.4, 9.5, 12.7))
        wide = _stock(chord * 0.05, (4.8, 6.4, 9.5, 12.7, 15.9))
        return Build(
            "", of, way, Thickness(deep, deep, "flat"),
            ribs=Ribs(_round(max(25.0, chord * 0.3)), None, deep, "balsa-medium", False, False),
            leading_edge=Strip(wide, None, "balsa-medium"), trailing_edge=Strip(wide, None, "balsa-medium"),
            covering_g_m2=30.0,
        )
    root = _round(max(near_root * _THICK, 4.0))
    tip = min(root, _round(max(near_tip * _THICK, _LEAST_TIP * root, 3.0)))
    small = chord < _SMALL
    stocks = (3.2, 4.8, 6.4, 9.5, 12.7)
    edge = _stock(chord * 0.035, stocks)
    # As wide as the section is thick enough there to be cut and glued.
    rear = next((w for w in stocks if w >= edge and min(
        _deep(root, near_root, w), _deep(tip, near_tip, w)
    ) >= _LEAST_EDGE), edge)
    spar = Spar(0.3, (4.8, 1.6) if chord < 180.0 else (6.4, 3.2), 1.6, "balsa-hard")
    return Build(
        "", of, way, Thickness(root, tip, "symmetric"),
        ribs=Ribs(
            _round(max(25.0, chord * 0.22)), None, 1.6 if chord < 180.0 else 2.4, holes=not small,
            halves=not small,
        ),
        leading_edge=Strip(edge, None, "balsa-hard"), trailing_edge=Strip(rear, None, "balsa-medium"),
        spars=() if small else (spar,),
        skin=None if small else Skin(0.8 if chord < 180.0 else 1.6, "balsa-light"), covering_g_m2=30.0,
    )


def change_build(design: Design, build_id: str, **fields: Any) -> Design:
    """Fields of one build set, for example ``hinge_gap=0.8``. EditError for what no file may hold."""
    now = build_of(design, build_id)
    changed = replace(now, **fields)
    if changed.of != now.of:
        _check_surfaces(design, changed.of, build_id)
    made = replace(design, builds=tuple(changed if b is now else b for b in design.builds))
    _check(made)
    return made


def set_way(design: Design, build_id: str, way: BuildWay) -> Design:
    """A build of another way: what it has and the way knows stays, what it lacks begins as new ones do.

    A frame's ribs are as wide as its sticks, and a solid sheet is no skin: such sizes begin anew.
    """
    now = build_of(design, build_id)
    if now.way == way:
        return design
    start = starting_build(design, now.of, way)
    form = now.thickness if (now.thickness.form == "symmetric") == (way == "ribbed") else start.thickness
    ribs, skin = now.ribs or start.ribs, start.skin
    if now.ribs is not None and start.ribs is not None:
        ribs = replace(start.ribs, every=now.ribs.every, at=now.ribs.at, material=now.ribs.material)
    if way == "sheet" and skin is not None:
        skin = replace(skin, thick=form.root)
    return change_build(
        design, build_id, way=way, thickness=form, ribs=ribs,
        leading_edge=now.leading_edge or start.leading_edge,
        trailing_edge=now.trailing_edge or start.trailing_edge,
        spars=now.spars or start.spars, skin=skin,
    )


def delete_build(design: Design, build_id: str) -> Design:
    """The design without that build; its surfaces stay."""
    gone = build_of(design, build_id)
    return replace(design, builds=tuple(b for b in design.builds if b is not gone))


def add_material(design: Design, label: str, kg_m3: float) -> tuple[Design, str]:
    """(design with one more material of the builder's own, its id); density in kg/m³. EditError."""
    if len(design.materials) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} materials are the most a design can hold; delete some first")
    name = _named(label)
    taken = {*WOODS, *(m.id for m in design.materials)}
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "material"
    made, number = base, 2
    while made in taken:
        made, number = f"{base}-{number}", number + 1
    found = replace(design, materials=(*design.materials, Material(made, name, kg_m3)))
    _check(found)
    return found, made


def change_material(design: Design, material_id: str, **fields: Any) -> Design:
    """Label or density of one of the builder's own materials set. EditError for what no file may hold."""
    if "label" in fields:
        fields["label"] = _named(fields["label"])
    made = replace(design, materials=tuple(
        replace(m, **fields) if m.id == material_id else m for m in design.materials
    ))
    _check(made)
    return made


def delete_material(design: Design, material_id: str) -> Design:
    """The design without one of the builder's own materials. EditError while a build is made of it."""
    if material_id not in WOODS:
        for build in design.builds:
            if any(material == material_id for _, material in build.materials):
                raise EditError(f"{name_of(design, build)} is made of it: choose another wood there first")
    return replace(design, materials=tuple(m for m in design.materials if m.id != material_id))


def _check_surfaces(design: Design, ids: Collection[str], but: str | None) -> None:
    if not ids:
        raise EditError("choose the surface that parts are wanted for")
    outlines = {o.id: o for o in design.outlines}
    tailplanes = {t.id for t in design.tailplanes}
    for one in ids:
        for build in design.builds:
            if build.id != but and one in build.of:
                raise EditError(f"{name_of(design, build)} has parts already: change those")
        if one in tailplanes and len(ids) > 1:
            raise EditError("a tailplane is made by itself: choose it alone")
        if one not in tailplanes and one not in outlines:
            raise EditError(f'there is no surface "{one}" any more: choose another')
        if one in outlines and one not in tailplanes and outlines[one].kind not in BUILDABLE:
            raise EditError(
                f"parts are made for fins, rudders, ventral fins, tip plates and tailplanes: "
                f'"{outlines[one].name}" is none'
            )
    if len({outlines[i].count for i in ids if i in outlines and i not in tailplanes}) > 1:
        raise EditError("surfaces of different counts are not one: choose those of one count")


def _check(design: Design) -> None:
    wrong = problems(design)
    if wrong:
        raise EditError(f"that is not a size that can be kept: {wrong[0]}")


def _named(label: str) -> str:
    name = " ".join(label.split())
    if not name:
        raise EditError("a material needs a name: type what the shop calls it")
    if len(name) > _LONGEST:
        raise EditError(f"a name of {len(name)} letters is too long: keep to {_LONGEST}")
    return name


def _fresh(design: Design, stem: str) -> str:
    taken, made, number = {b.id for b in design.builds}, stem, 2
    while made in taken:
        made, number = f"{stem}-{number}", number + 1
    return made


def _chords(design: State, ids: Collection[str]) -> tuple[float, float]:
    """(chord near the root, near the tip) in mm of what is made as one."""
    for tailplane in design.tailplanes:
        if tailplane.id in ids and tailplane.stations:
            stations = sorted(tailplane.stations, key=lambda s: abs(s.y))
            return stations[0].chord, stations[-1].chord
    forms = [(o, form_of(o).patch) for o in design.outlines if o.id in ids]
    if not forms:
        return 0.0, 0.0
    # A rudder may hang below its fin, and a fillet lie before it.
    boxes = [patch.box for o, patch in forms if o.kind not in RUDDERS] or [patch.box for _, patch in forms]
    low, high = min(b[1] for b in boxes), max(b[3] for b in boxes)
    regions = [patch.region for _, patch in forms]
    found = []
    for share in (0.25, 0.85):
        at = low + share * (high - low)
        line = shapely.LineString(((-2.0 * LIMIT, at), (2.0 * LIMIT, at)))
        found.append(sum(float(shapely.length(lines_in(line, region))) for region in regions))
    root, tip = found
    return (tip, root) if all(o.kind in HANGING for o, _ in forms) else (root, tip)


def _deep(thick: float, chord: float, wide: float) -> float:
    """How deep a symmetric section is so far before its trailing edge, mm."""
    return 2.0 * thick * float(half_form(np.array(max(1.0 - wide / max(chord, wide), 0.0))))


def _stock(size: float, stocks: tuple[float, ...]) -> float:
    """The stock size nearest to ``size``, mm."""
    return min(stocks, key=lambda stock: abs(stock - size))


def _round(size: float) -> float:
    return max(1.0, float(round(size)))
