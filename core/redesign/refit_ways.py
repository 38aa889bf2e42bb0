"""The ways in which a refit may change the aeroplane, each one number away from the design as it is."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from msgspec.structs import replace

from core.design import Design, Mark, Node, Outline, Weight
from core.kinds import FINS, Kind
from core.redesign.design_edits import add_outline, fresh_id
from core.redesign.outline_edits import EditError
from core.redesign.plug import fuselage_span, plug
from core.redesign.stretching import HELD
from core.redesign.tail import Tail, rise_at, span_at, stretched, tail_front, tails
from core.redesign.tail_hinge import chord_lines
from core.redesign.weight_edits import LEAD, inside_z, nose_x
from core.stability.balance import cg_of, masses, surface_masses
from core.stability.side_area import form_of
from core.stability.surfaces import wing_form
from core.units import format_length, format_mass, format_number

WayKey = Literal["scale", "height", "chord", "arm", "dorsal", "ventral", "cg"]
WAYS: tuple[WayKey, ...] = ("scale", "height", "chord", "arm", "dorsal", "ventral", "cg")
LABELS: dict[WayKey, str] = {
    "scale": "Size of the fin", "height": "Height of the fin", "chord": "Chord of the fin",
    "arm": "Tail arm", "dorsal": "Dorsal fin", "ventral": "Ventral fin", "cg": "Move the CG",
}
SMALLEST, LARGEST = 0.25, 4.0
"""Limits of the factors that are tried; beyond them it is another aeroplane."""
DORSAL_LENGTH, VENTRAL_LENGTH = 0.8, 1.0
"""Length of an added fin as a part of the fin's root chord, where none is given (own choice)."""
_GRID = 23
_BATTERY = ("battery", "accu", "akku", "lipo", "li-po", "pack", "cells")


@dataclass(frozen=True)
class Way:
    """One way: ``make`` gives the design for a parameter from ``grid``; ``start`` leaves all as it is."""

    key: WayKey
    label: str
    unit: Literal["×", "mm", "g"]
    start: float
    grid: tuple[float, ...]
    make: Callable[[float], Design]
    """EditError where the design cannot be so."""
    told: Callable[[float], str]
    """What is done, as a sentence."""


def way_of(design: Design, key: WayKey, *, length: float | None = None, weight: str | None = None) -> Way:
    """The way ``key`` for this design. EditError with the reason where it cannot be gone.

    ``length`` is that of a dorsal or ventral fin along x in mm; ``weight`` the id of the weight that
    "cg" moves where the CG comes from the weights.
    """
    if length is not None and not (math.isfinite(length) and length > 0.0):
        raise EditError("the length of the added fin must be more than nothing: type it in full")
    if key in ("scale", "height", "chord"):
        return _stretching(design, key)
    if key == "arm":
        return _arm(design)
    if key == "dorsal":
        return _dorsal(design, length)
    if key == "ventral":
        return _ventral(design, length)
    return _cg(design, weight)


def _stretching(design: Design, key: WayKey) -> Way:
    """"scale": x about the foot of the hinge line and z above the root alike. "height": z alone.
    "chord": x alone about the hinge line, so that the leading edge goes forward and the trailing edge
    aft; where there is no hinge about the foot of the leading edge.
    """
    found = tails(design)
    hinges = {i: line for t in found for i, line in chord_lines(design, t).items()} if key == "chord" else {}
    start = {i: t.front_x if key == "chord" else t.hinge_x for t in found for i in t.ids}
    about = {i: hinges.get(i, (x, 0.0)) for i, x in start.items()}

    def make(factor: float) -> Design:
        if factor == 1.0:
            return design
        along = 1.0 if key == "height" else factor
        up = 1.0 if key == "chord" else factor
        return stretched(design, along, up, about, found, HELD if hinges else 0.0)

    what = {
        "scale": "Fin and rudder scaled from the root, about the foot of the hinge line",
        "height": "Height of fin and rudder changed above the root, chords as they are",
        "chord": (
            "Chord of fin and rudder changed to both sides of the hinge line, which stays, height as it is"
            if hinges else "Chord of the fin changed from the foot of the leading edge, height as it is"
        ),
    }[key]
    return Way(
        key, LABELS[key], "×", 1.0, _factors(), make,
        lambda factor: f"{what}: × {format_number(factor, 3)}.",
    )


def _arm(design: Design) -> Way:
    """The tail moved aft by a plug between wing and tail, or forward by taking a piece out there."""
    found = tails(design)
    front = tail_front(design)
    wings = [s.le_x + s.chord for w in design.wings for s in w.stations]
    cg, no_cg = cg_of(design)
    behind = max(wings) if wings else cg.x if cg else None
    if behind is None:
        raise EditError(f"where the tail begins to be tail is not known: enter the wing, or {no_cg}")
    gap = front - behind
    if not gap > 1.0:
        raise EditError("there is no length of fuselage between wing and tail to cut: move the tail by hand")
    ids = {i for t in found for i in t.ids}
    best: tuple[float, float] | None = None
    why = ""
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        station = behind + share * gap
        try:
            moved = plug(design, station, 1.0, keep="front")
        except EditError as error:
            why = why or str(error)
            continue
        pairs = zip(design.outlines, moved.outlines, strict=True)
        if not all((b is not a) == (a.id in ids) for a, b in pairs if a.id in ids):
            continue
        room = _room(design, station, (0.95 - share) * gap)
        if best is None or room > best[1] * 1.2:
            best = (station, room)
    if best is None:
        raise EditError(why or "the fuselage cannot be cut between wing and tail: use a plug by hand")
    station, room = best
    most = max(gap, max(t.rear_x for t in found) - behind)

    def make(length: float) -> Design:
        return plug(design, station, length, keep="front") if abs(length) > 1e-9 else design

    def told(length: float) -> str:
        units = design.display_units
        does = "let in" if length > 0 else "taken out"
        way = "aft" if length > 0 else "forward"
        size, at = format_length(abs(length), units), format_length(station, units)
        return f"{size} of fuselage {does} at {at}, behind the wing: the tail moves {way} by that."

    below = [-room * (1.0 - k / 4) for k in range(4)] if room > 0.0 else []
    above = np.linspace(0.0, most, _GRID - 4).tolist()
    return Way("arm", LABELS["arm"], "mm", 0.0, (*below, *above), make, told)


def _room(design: Design, station: float, most: float) -> float:
    """How much can be taken out behind ``station``, in eighths of ``most``, mm."""
    for k in range(8, 0, -1):
        try:
            plug(design, station, -most * k / 8, keep="front")
        except EditError:
            continue
        return most * k / 8
    return 0.0


def _dorsal(design: Design, length: float | None) -> Way:
    """A three-cornered fin ahead of the fin: its height is where it meets the leading edge."""
    tail = tails(design)[0]
    long = length or DORSAL_LENGTH * (tail.rear_x - tail.front_x)
    foot, start = tail.front_x, tail.front_x - long
    ahead, under = _body_at(design, tail, start), _body_at(design, tail, foot)
    joined = tail.count == 1

    def make(height: float) -> Design:
        if height == 0.0:
            return design
        level = under[1] + height
        meets = span_at(tail.exposed, max(level, tail.root_z + 1e-3 * tail.height))
        if meets is None:
            raise EditError("a dorsal fin cannot be taller than the fin")
        # A little inside the fin, so that no slit is left between the two.
        back = min(meets[0] + 1.0, meets[1])
        corners = [(start, ahead[1]), (back, level), (back, under[1])]
        if joined:
            low = 0.5 * (under[0] + under[1])
            corners = [*corners[:2], (back, low), (start, min(low, ahead[1]))]
        return _added(design, tail, "fin", "Dorsal fin", corners)

    def told(height: float) -> str:
        units = design.display_units
        return (
            f"A dorsal fin {format_length(long, units)} long ahead of the fin, "
            f"{format_length(height, units)} high where it meets the leading edge."
        )

    most = 0.98 * (tail.top_z - under[1])
    grid = tuple(np.linspace(0.0, max(most, 1.0), _GRID).tolist())
    return Way("dorsal", LABELS["dorsal"], "mm", 0.0, grid, make, told)


def _ventral(design: Design, length: float | None) -> Way:
    """A fin under the body: upright behind, its lower edge level and 0.6 of the root."""
    tail = tails(design)[0]
    long = length or VENTRAL_LENGTH * (tail.rear_x - tail.front_x)
    box = tail.body.bounds if not tail.body.is_empty else None
    rear = min(tail.hinge_x, box[2] - 0.5) if box else tail.hinge_x
    start = rear - long
    ahead, behind = _body_at(design, tail, start), _body_at(design, tail, rear)
    lowest = min(ahead[0], behind[0])

    def make(height: float) -> Design:
        if height == 0.0:
            return design
        inner = (0.5 * (ahead[0] + ahead[1]), 0.5 * (behind[0] + behind[1]))
        corners = [
            (start, inner[0]), (start, ahead[0]), (rear - 0.6 * long, lowest - height),
            (rear, lowest - height), (rear, inner[1]),
        ]
        return _added(design, tail, "ventral fin", "Ventral fin", corners)

    def told(height: float) -> str:
        units = design.display_units
        return (
            f"A ventral fin {format_length(long, units)} long under the tail, "
            f"{format_length(height, units)} deep."
        )

    grid = tuple(np.linspace(0.0, 1.5 * max(tail.height, 1.0), _GRID).tolist())
    return Way("ventral", LABELS["ventral"], "mm", 0.0, grid, make, told)


def _body_at(design: Design, tail: Tail, x: float) -> tuple[float, float]:
    found = rise_at(tail.body, x)
    if found is None:
        where = format_length(x, design.display_units)
        raise EditError(f"there is no fuselage at {where} for the added fin to stand on: give another length")
    return found


def _added(
    design: Design, tail: Tail, kind: Kind, label: str, corners: list[tuple[float, float]]
) -> Design:
    fin = next((o for o in design.outlines if o.id in tail.ids and o.kind in FINS), None)
    made = Outline(
        fresh_id(design, label), kind, tuple(Node(x, z) for x, z in corners), label, tail.count,
        grams_per_dm2=_loading(design, fin) if fin is not None else None,
    )
    return add_outline(design, made)


def _loading(design: Design, fin: Outline) -> float | None:
    """What a fin weighs in g/dm², by its parts where it has any: an added fin is made as it is."""
    for mass in surface_masses(design):
        if mass.build is not None and fin.id in mass.ids:
            area = sum(
                o.count * form_of(o).patch.moments.area for o in design.outlines if o.id in mass.ids
            )
            return mass.grams / (area / 1e4) if area > 0.0 else None
    return fin.grams_per_dm2


def _cg(design: Design, weight_id: str | None) -> Way:
    """The CG mark moved along x; where the weights give the CG, one weight, or lead in nose or tail."""
    cg, why = cg_of(design)
    if cg is None:
        raise EditError(f"there is no CG to move: {why}")
    units = design.display_units
    if design.cg_from == "mark":
        wing = wing_form(design.wings)
        span = fuselage_span(design)
        reach = 0.6 * wing.mac if not isinstance(wing, str) else 0.15 * (span[1] - span[0]) if span else 100.0
        mark = Mark(cg.x, cg.z)

        def moved(shift: float) -> Design:
            return replace(design, cg_mark=Mark(mark.x + shift, mark.z)) if shift != 0.0 else design

        def told(shift: float) -> str:
            way = "aft" if shift > 0 else "forward"
            size, to = format_length(abs(shift), units), format_length(mark.x + shift, units)
            return f"The CG mark moved {size} {way}, to {to}."

        return Way("cg", LABELS["cg"], "mm", 0.0, _even(-reach, reach), moved, told)
    weight = _movable(design, weight_id)
    return _weight_moved(design, weight) if weight is not None else _lead(design)


def _movable(design: Design, weight_id: str | None) -> Weight | None:
    """The weight to move: the one named, else the heaviest called a battery; None: use lead."""
    if weight_id is not None:
        found = next((w for w in design.weights if w.id == weight_id), None)
        if found is None:
            raise EditError(f'there is no weight "{weight_id}": choose one of the list')
        return found
    batteries = [
        w for w in design.weights
        if any(word in f"{w.id} {w.label}".lower() for word in _BATTERY) and w.grams > 0.0
    ]
    return max(batteries, key=lambda w: w.grams) if batteries else None


def _weight_moved(design: Design, weight: Weight) -> Way:
    units = design.display_units
    span = fuselage_span(design) or (weight.x - 500.0, weight.x + 500.0)

    def moved(shift: float) -> Design:
        if shift == 0.0:
            return design
        there = replace(weight, x=weight.x + shift)
        return replace(design, weights=tuple(there if w is weight else w for w in design.weights))

    def told(shift: float) -> str:
        way = "aft" if shift > 0 else "forward"
        size, to = format_length(abs(shift), units), format_length(weight.x + shift, units)
        return f"{weight.name} moved {size} {way}, to {to}."

    low, high = min(span[0] - weight.x, 0.0), max(span[1] - weight.x, 0.0)
    return Way("cg", LABELS["cg"], "mm", 0.0, _even(low, high), moved, told)


def _lead(design: Design) -> Way:
    """Lead in the nose (parameter above 0) or at the tail end (below 0), in grams."""
    span = fuselage_span(design)
    front = nose_x(design)
    if front is None:
        raise EditError("there is no outline to put lead in: trace the fuselage first")
    rear = span[1] if span else front
    lead = fresh_id(design, LEAD)
    most = sum(m for m, _, _ in masses(design))

    def loaded(grams: float) -> Design:
        if grams == 0.0:
            return design
        x = front if grams > 0.0 else rear
        added = Weight(lead, abs(grams), x, 0.0, inside_z(design, x), LEAD)
        return replace(design, weights=(*design.weights, added))

    def told(grams: float) -> str:
        where = "nose" if grams > 0.0 else "tail end"
        return f"{format_mass(abs(grams), design.display_units)} of lead in the {where}."

    return Way("cg", LABELS["cg"], "g", 0.0, _even(-most, most), loaded, told)


def _factors() -> tuple[float, ...]:
    steps = np.geomspace(SMALLEST, LARGEST, _GRID).tolist()
    steps[_GRID // 2] = 1.0
    return tuple(steps)


def _even(low: float, high: float) -> tuple[float, ...]:
    """Evenly from ``low`` to ``high``, with 0 among them."""
    half = _GRID // 2
    below = [low * (1 - k / half) for k in range(half)] if low < 0.0 else []
    above = [high * k / half for k in range(1, half + 1)] if high > 0.0 else []
    return (*below, 0.0, *above)
