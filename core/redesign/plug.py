"""A plug: a straight length of fuselage let in, or taken out, at a station.

As a builder saws it: the fuselage, its canopy and booms are cut across and lengthened; fins, wheels,
legs, nacelles are not stretched but go whole with the side that they stand on, together with what
they touch. One of the two parts stays where it is, the other moves. Scans stay: what lies on the part
that stays still lies on its lines. Alternatives are not touched.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Literal, TypeVar

from msgspec.structs import replace

from core.design import LIMIT, Bench, Build, Design, Flight, Mark, Outline, Tailplane, Weight, Wing
from core.kinds import SAWN, WITH_WING
from core.redesign.cutting import SAME, crosses, lengthen, shorten
from core.redesign.outline_edits import EditError, translate
from core.stability.side_area import form_of
from core.stability.surfaces import surface_form
from core.stability.touching import together
from core.units import format_length

Keep = Literal["front", "aft"]
Surface = TypeVar("Surface", Wing, Tailplane)

STEP_SHARE = 0.1
"""Highest step that a shortened outline may be left with, as a part of the greatest depth of what is
cut (own choice)."""


@dataclass(frozen=True)
class PlugPreview:
    """What a plug does, for the dialogue to say before it is done; lengths in mm."""

    design: Design
    at_x: float
    length: float
    keep: Keep
    strip: tuple[float, float]
    """Stations between which the new piece lies, or the piece taken out lay before."""
    cut: tuple[str, ...]
    """Ids of the outlines that are cut across."""
    moved: tuple[str, ...]
    """Ids of the outlines that move whole."""
    moved_surfaces: tuple[str, ...]
    moved_weights: tuple[str, ...]
    cg_mark_moves: bool
    steps: tuple[tuple[str, float], ...]
    """(id of an outline, height of the step at its joint), where taking out leaves one."""
    words: tuple[str, ...]


def plug(
    design: Design, at_x: float, length: float, *, keep: Keep | None = None,
    cut: Collection[str] | None = None,
) -> Design:
    """The design with ``length`` mm of fuselage let in at the station ``at_x``; negative: taken out.

    ``keep`` names the part that stays, ahead of the station ("front") or behind it ("aft"); the new
    piece lies on the other side of the station, and a piece to be taken out is looked for there. So
    a plug and its negative at the same station undo each other. Left out: the part that bears the
    wing stays, else the one with the CG mark, else the aft one.

    - Outlines of the kinds ``SAWN``, or those with an id in ``cut``, are cut where they cross the
      station. Everything else goes whole, with all that it touches, by the middle of its area; a
      nacelle that the aeroplane has twice goes with the wing.
    - Wings and tailplanes go by where the quarter chord of their root lies.
    - The CG mark goes with the largest wing, since it says where the wing is to be balanced; without
      a wing by where it lies. Weights and the propeller go by where they lie; what lay in a piece taken
      out comes to the joint.

    A shortened outline may be left with an upright step, up to ``STEP_SHARE`` of the greatest depth
    of what is cut; no node is moved to hide it. EditError where nothing is cut, an outline or surface
    ends or lies within the piece to be taken out, the step would be higher, or an outline would be
    folded.
    """
    return _plugged(design, at_x, length, keep, cut).design


def plug_preview(
    design: Design, at_x: float, length: float, *, keep: Keep | None = None,
    cut: Collection[str] | None = None,
) -> PlugPreview | str:
    """What ``plug`` would do, its result with it, or why it cannot be done."""
    try:
        return _plugged(design, at_x, length, keep, cut)
    except EditError as error:
        return str(error)


def part_kept(design: Design, at_x: float) -> Keep:
    """The part that stays unless told otherwise: the one that bears the wing."""
    anchor = _anchor(design)
    return "aft" if anchor is None or anchor >= at_x - SAME else "front"


def fuselage_span(design: Design, cut: Collection[str] | None = None) -> tuple[float, float] | None:
    """(foremost, rearmost) station in mm between which a plug finds something to cut."""
    boxes = [form_of(o).patch.box for o in design.outlines if _sawn(o, cut)]
    boxes = [b for b in boxes if math.isfinite(b[0])]
    return (min(b[0] for b in boxes), max(b[2] for b in boxes)) if boxes else None


def root_quarter_x(surface: Wing | Tailplane) -> float | None:
    """Station in mm of the quarter chord of the root; None without stations."""
    if not surface.stations:
        return None
    root = min(surface.stations, key=lambda s: s.y)
    return root.le_x + 0.25 * root.chord


def _plugged(
    design: Design, at_x: float, length: float, keep: Keep | None, cut: Collection[str] | None
) -> PlugPreview:
    if not (math.isfinite(at_x) and math.isfinite(length)):
        raise EditError("a plug needs a station and a length: type both as numbers")
    if length == 0.0:
        raise EditError("a plug of no length changes nothing: type how much to let in or take out")
    stays = keep or part_kept(design, at_x)
    front_dx, aft_dx = (-length, 0.0) if stays == "aft" else (0.0, length)
    reach = abs(length)
    strip = (at_x - reach, at_x) if stays == "aft" else (at_x, at_x + reach)
    out = length < 0.0
    units = design.display_units

    def dx_at(x: float) -> float:
        """How far what lies at ``x`` moves."""
        if not out:
            return front_dx if x < at_x - SAME else aft_dx
        if x <= strip[0] + SAME:
            return front_dx
        return aft_dx if x >= strip[1] - SAME else at_x - x

    sawn = [o for o in design.outlines if _sawn(o, cut) and _meets(o, strip if out else (at_x, at_x))]
    if not sawn:
        span = fuselage_span(design, cut)
        where = format_length(at_x, units)
        if span is None:
            raise EditError("there is no fuselage to cut: trace it first")
        low, high = format_length(span[0], units), format_length(span[1], units)
        raise EditError(f"nothing is cut at {where}: choose a station between {low} and {high}")
    boxes = [form_of(o).patch.box for o in sawn]
    deepest = max(b[3] - b[1] for b in boxes)
    made: dict[str, Outline] = {}
    steps: list[tuple[str, float]] = []
    for outline in sawn:
        if out:
            shorter = shorten(outline, *strip, front_dx, aft_dx)
            _check_joint(outline, shorter.outline, shorter.step, STEP_SHARE * deepest, design)
            made[outline.id] = shorter.outline
            if shorter.step > 1e-6:
                steps.append((outline.id, shorter.step))
        else:
            made[outline.id] = lengthen(outline, at_x, front_dx, aft_dx)
    wing_dx = _wing_dx(design, dx_at)
    moved: list[str] = []
    for group in together([o for o in design.outlines if o.id not in made]):
        dx = _group_dx(group, dx_at, wing_dx)
        for outline in group:
            made[outline.id] = translate(outline, dx, 0.0) if dx != 0.0 else outline
            if dx != 0.0:
                moved.append(outline.id)
    wings = tuple(_surface(s, dx_at, strip, out) for s in design.wings)
    tailplanes = tuple(_surface(s, dx_at, strip, out) for s in design.tailplanes)
    weights = tuple(_weight(w, dx_at(w.x)) for w in design.weights)
    flight = _flight(design.flight, dx_at)
    mark = design.cg_mark
    if mark is not None:
        mark = _mark(mark, wing_dx if wing_dx is not None else dx_at(mark.x))
    plugged = replace(
        design, outlines=tuple(made[o.id] for o in design.outlines), wings=wings, tailplanes=tailplanes,
        weights=weights, cg_mark=mark, flight=flight, builds=tuple(_formers(b, dx_at) for b in design.builds),
        bench=_pin(design.bench, dx_at),
    )
    _check_reach(plugged)
    found = PlugPreview(
        design=plugged, at_x=at_x, length=length, keep=stays, strip=strip,
        cut=tuple(o.id for o in sawn), moved=tuple(moved),
        moved_surfaces=tuple(
            a.id for a, b in zip(design.surfaces, plugged.surfaces, strict=True) if a is not b
        ),
        moved_weights=tuple(
            a.id for a, b in zip(design.weights, plugged.weights, strict=True) if a is not b
        ),
        cg_mark_moves=mark is not design.cg_mark, steps=tuple(steps), words=(),
    )
    return dataclasses.replace(found, words=_words(found, design))


def _words(found: PlugPreview, design: Design) -> tuple[str, ...]:
    units = design.display_units
    size, at = format_length(abs(found.length), units), format_length(found.at_x, units)
    names = ", ".join(design.outline(i).name for i in found.cut)
    side = "ahead of" if found.keep == "aft" else "behind"
    way = "forward" if (found.keep == "aft") == (found.length > 0) else "aft"
    does = "let in" if found.length > 0 else "taken out"
    words = [
        f"{size} {does} at {at}. Cut across: {names}.",
        f"What lies {side} the cut moves {size} {way}; the rest stays, and the scans with it.",
    ]
    if design.cg_mark is not None and design.wings:
        words.append(
            "The CG mark goes with the wing"
            + (", which moves." if found.cg_mark_moves else ", which stays.")
        )
    if found.moved_weights:
        words.append("Weights move with the part they lie in: see whether the weights still balance.")
    for outline_id, step in found.steps:
        if step >= 0.05:
            name = design.outline(outline_id).name
            words.append(f"{name}: the joint is left with a step of {format_length(step, units)}; fair it.")
    return tuple(words)


def _sawn(outline: Outline, cut: Collection[str] | None) -> bool:
    if not outline.nodes:
        return False
    return outline.kind in SAWN if cut is None else outline.id in cut


def _meets(outline: Outline, strip: tuple[float, float]) -> bool:
    if strip[0] == strip[1]:
        return crosses(outline, strip[0])
    low, _, high, _ = form_of(outline).patch.box
    return low < strip[1] - SAME and high > strip[0] + SAME


def _anchor(design: Design) -> float | None:
    wing = _main_wing(design)
    if wing is not None:
        return root_quarter_x(wing)
    return design.cg_mark.x if design.cg_mark is not None else None


def _main_wing(design: Design) -> Wing | None:
    """The largest wing; where none has an area, the first that has a station."""

    def area(wing: Wing) -> float:
        form = surface_form(wing)
        return 0.0 if isinstance(form, str) else form.area

    with_root = [w for w in design.wings if w.stations]
    return max(with_root, key=area) if with_root else None


def _wing_dx(design: Design, dx_at: Callable[[float], float]) -> float | None:
    wing = _main_wing(design)
    x = root_quarter_x(wing) if wing is not None else None
    return None if x is None else dx_at(x)


def _group_dx(group: list[Outline], dx_at: Callable[[float], float], wing_dx: float | None) -> float:
    if wing_dx is not None and any(o.kind in WITH_WING and o.count > 1 for o in group):
        return wing_dx
    area = sum(form_of(o).patch.moments.area for o in group)
    if area > 0.0:
        return dx_at(sum(form_of(o).patch.moments.x for o in group) / area)
    xs = [n.x for o in group for n in o.nodes]
    return dx_at(sum(xs) / len(xs)) if xs else 0.0


def _surface(
    surface: Surface, dx_at: Callable[[float], float], strip: tuple[float, float], out: bool
) -> Surface:
    x = root_quarter_x(surface)
    if x is None:
        return surface
    if out and strip[0] + SAME < x < strip[1] - SAME:
        raise EditError(
            f'the root of "{surface.name}" lies within the piece to be taken out: choose another station'
        )
    dx = dx_at(x)
    if dx == 0.0:
        return surface
    return replace(surface, stations=tuple(replace(s, le_x=s.le_x + dx) for s in surface.stations))


def _weight(weight: Weight, dx: float) -> Weight:
    return replace(weight, x=weight.x + dx) if dx != 0.0 else weight


def _flight(flight: Flight, dx_at: Callable[[float], float]) -> Flight:
    """The propeller goes like a weight, with the part that it turns at."""
    propeller = flight.propeller
    dx = dx_at(propeller.x) if propeller is not None else 0.0
    if propeller is None or dx == 0.0:
        return flight
    return replace(flight, propeller=replace(propeller, x=propeller.x + dx))


def _formers(build: Build, dx_at: Callable[[float], float]) -> Build:
    """Formers go with the fuselage that they stand in."""
    moved = tuple(x + dx_at(x) for x in build.formers)
    return replace(build, formers=moved) if moved != build.formers else build


def _pin(bench: Bench, dx_at: Callable[[float], float]) -> Bench:
    """The pin of strings stands on the fuselage; where plumb lines crossed was another card's business."""
    dx = dx_at(bench.pin.x) if bench.pin is not None else 0.0
    return replace(bench, pin=replace(bench.pin, x=bench.pin.x + dx)) if dx != 0.0 and bench.pin else bench


def _mark(mark: Mark, dx: float) -> Mark:
    return replace(mark, x=mark.x + dx) if dx != 0.0 else mark


def _check_joint(before: Outline, after: Outline, step: float, most: float, design: Design) -> None:
    was, now = form_of(before), form_of(after)
    if step > most:
        raise EditError(
            f'"{before.name}" would be left with a step of {format_length(step, design.display_units)}: '
            "take out less, or choose a station where it runs straighter"
        )
    if not now.patch.moments.area > 1e-6 or (step > 0.0 and now.crossings and not was.crossings):
        raise EditError(f'"{before.name}" would be folded: take out less, or choose another station')


def _check_reach(design: Design) -> None:
    xs = [n.x for o in design.outlines for n in o.nodes]
    xs += [s.le_x for part in design.surfaces for s in part.stations]
    xs += [w.x for w in design.weights] + ([design.cg_mark.x] if design.cg_mark else [])
    xs += [design.flight.propeller.x] if design.flight.propeller else []
    if not all(abs(x) <= LIMIT for x in xs):
        raise EditError("that would carry the aeroplane past what a file can hold: check the length's unit")
