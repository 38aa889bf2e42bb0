"""The design's wings and tailplanes: putting in, taking out, copying, changing one of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from typing import Any, Literal, NamedTuple

from msgspec.structs import replace

from core.design import LIMIT, Design, DisplayUnits, Flight, Station, Tailplane, Wing
from core.geometry.ring import around
from core.kinds import KINDS, NOSE_TO_TAIL, VERTICAL_TAIL, Kind
from core.redesign.completing import FLIGHT, leave_out
from core.redesign.design_edits import fresh_id
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import Measure, Surface, measure, stations_of
from core.stability.guesses import every_value, is_guessed, of_surface, place_of, still_guessed, taken_out
from core.stability.side_area import form_of
from core.units import MM_PER_IN

Group = Literal["wings", "tailplanes"]


class Which(NamedTuple):
    """One surface of a design: a wing and a tailplane may bear the same id."""

    group: Group
    id: str


def surface_of(design: Design, which: Which) -> Surface | None:
    """The surface, None where the design has no such one."""
    parts: tuple[Surface, ...] = getattr(design, which.group)
    return next((s for s in parts if s.id == which.id), None)


def all_surfaces(design: Design) -> tuple[Which, ...]:
    """Wings and tailplanes, in that order."""
    return (
        *(Which("wings", s.id) for s in design.wings),
        *(Which("tailplanes", s.id) for s in design.tailplanes),
    )


def change_surface(design: Design, which: Which, edit: Callable[[Any], Any]) -> Design:
    """The design with one surface put through ``edit``, a function Surface → Surface.

    A value that the program had put and the edit changed is no guess any more.
    """
    parts: tuple[Surface, ...] = getattr(design, which.group)
    at = next((i for i, s in enumerate(parts) if s.id == which.id), None)
    if at is None:
        return design
    made = edit(parts[at])
    changed: Any = {which.group: (*parts[:at], made, *parts[at + 1 :])}
    return replace(design, **changed, guessed=still_guessed(design.guessed, which.group, at, parts[at], made))


def measured(design: Design, which: Which, key: Measure) -> Design:
    """The design with one of the builder's measures of a surface taken as theirs, whatever it was before."""
    at, surface = _at(design, which)
    if surface is None:
        return design
    last = len(surface.stations) - 1
    own = {place_of(which.group, at, what.format(last)) for what in _MEASURED[key]}
    kept = tuple(place for place in design.guessed if place not in own)
    return design if kept == design.guessed else replace(design, guessed=kept)


def unmeasured(design: Design, which: Which) -> tuple[Measure, ...]:
    """Which of the builder's measures of a surface still stand as the program put them."""
    at, surface = _at(design, which)
    if surface is None:
        return ()
    last = len(surface.stations) - 1
    return tuple(
        key for key, places in _MEASURED.items()
        if any(is_guessed(design, place_of(which.group, at, what.format(last))) for what in places)
    )


_MEASURED: dict[Measure, tuple[str, ...]] = {
    "span": ("stations[{}].y",), "root_chord": ("stations[0].chord",), "tip_chord": ("stations[{}].chord",),
    "tip_offset": ("stations[{}].le_x",), "sweep_deg": ("stations[{}].le_x",),
    "tip_rise": ("stations[{}].z",), "dihedral_deg": ("stations[{}].z",),
    "root_x": ("stations[0].le_x",), "root_z": ("stations[0].z",),
    "incidence_deg": ("incidence_deg",), "thickness": ("section.thickness",),
    "camber": ("section.camber", "section.camber_at"), "camber_at": ("section.camber_at",),
    "elevator": ("elevator_chord_fraction",),
}
"""By measure, the values that it sets; {} is the last station."""


def _at(design: Design, which: Which) -> tuple[int, Surface | None]:
    parts: tuple[Surface, ...] = getattr(design, which.group)
    return next(((i, s) for i, s in enumerate(parts) if s.id == which.id), (0, None))


def delete_surface(design: Design, which: Which) -> Design:
    """The design without that surface."""
    parts: tuple[Surface, ...] = getattr(design, which.group)
    at = next((i for i, s in enumerate(parts) if s.id == which.id), None)
    if at is None:
        return design
    changed: Any = {which.group: (*parts[:at], *parts[at + 1 :])}
    return replace(design, **changed, guessed=taken_out(design.guessed, which.group, at))


def duplicate_surface(design: Design, which: Which) -> tuple[Design, Which]:
    """(design with a copy, the copy). It stands one root chord above, the usual gap of a biplane."""
    one = surface_of(design, which)
    if one is None:
        raise EditError("there is nothing to duplicate: select a wing or tailplane")
    new_id = fresh_id(design, re.sub(r"-\d+$", "", one.id))
    gap = one.stations[0].chord if one.stations else 0.0
    copy: Any = replace(
        one, id=new_id, label=_numbered(design, one.name),
        stations=tuple(replace(s, z=s.z + gap) for s in one.stations),
    )
    at = next(i for i, s in enumerate(getattr(design, which.group)) if s.id == one.id)
    copied = tuple(guess.what for guess in of_surface(design, which.group, at))
    return _added(design, which.group, copy, copied), Which(which.group, new_id)


def add_wing(design: Design) -> tuple[Design, Which]:
    """(design with one more wing, that wing), with first numbers to be typed over.

    Straight and plain, aspect ratio about 6, as wide as 1.4 lengths of what is traced, or 1.2 m.
    The CG mark lies at 30 % of its chord; without a mark it stands 28 % along the fuselage, else
    at the datum. Proportions of common models (common practice, no source).
    """
    units, body = design.display_units, _box(design, NOSE_TO_TAIL) or _box(design)
    span = _even(1.4 * (body[2] - body[0]), units) if body else 0.0
    span = min(span, LIMIT) if span > 0 else _even(1200.0, units)
    chord = _even(span / 6.0, units) or span / 6.0
    if design.cg_mark is not None:
        x, z = _even(design.cg_mark.x - 0.3 * chord, units), _even(design.cg_mark.z, units)
    elif body:
        x, z = _even(body[0] + 0.28 * (body[2] - body[0]), units), _even((body[1] + body[3]) / 2, units)
    else:
        x, z = 0.0, 0.0
    wing = Wing(
        id=fresh_id(design, "wing"), label=_numbered(design, "Wing"),
        stations=(Station(0.0, x, chord, z), Station(span / 2, x, chord, z)),
    )
    if not design.wings and replace(design.flight, propeller=None) == Flight():
        design = replace(design, guessed=(*design.guessed, *(p for p in FLIGHT if p not in design.guessed)))
    return _added(design, "wings", wing, every_value(wing)), Which("wings", wing.id)


def add_tailplane(design: Design) -> tuple[Design, Which]:
    """(design with one more tailplane, that tailplane), with first numbers to be typed over.

    0.36 of the wing's span and 0.6 of its chord (common practice, no source). It stands at the foot
    of the fin, else at the tail of the fuselage, else three wing chords behind the wing or the datum.
    """
    units, body = design.display_units, _box(design, NOSE_TO_TAIL) or _box(design)
    fin = _box(design, VERTICAL_TAIL)
    wing = next((w for w in design.wings if measure(w, "span")), None)
    if wing is None:
        grown, _ = add_wing(replace(design, wings=()))
        wing = grown.wings[0]
    stations = stations_of(wing)
    span = _even(0.72 * stations[-1].y, units) or 0.72 * stations[-1].y
    chord = _even(0.6 * stations[0].chord, units) or max(0.6 * stations[0].chord, 1.0)
    if fin:
        x, z = fin[0], fin[1]
    elif body:
        x, z = body[2] - chord, (body[1] + body[3]) / 2
    else:
        x, z = stations[0].le_x + 3.0 * stations[0].chord, stations[0].z
    x, z = _even(x, units), _even(z, units)
    tailplane = Tailplane(
        id=fresh_id(design, "tailplane"), label=_numbered(design, "Tailplane"),
        stations=(Station(0.0, x, chord, z), Station(span / 2, x, chord, z)),
    )
    return _added(design, "tailplanes", tailplane, every_value(tailplane)), Which("tailplanes", tailplane.id)


def _added(design: Design, group: Group, surface: Surface, guessed: tuple[str, ...]) -> Design:
    """One more surface, of which ``guessed`` is the program's; what is there is not left out any more."""
    parts = getattr(design, group)
    changed: Any = {group: (*parts, surface)}
    places = tuple(place_of(group, len(parts), what) for what in guessed)
    design = leave_out(design, "wing" if group == "wings" else "tailplane", False)
    return replace(design, **changed, guessed=(*design.guessed, *places))


def _numbered(design: Design, label: str) -> str:
    taken = {s.name for s in design.surfaces}
    if label not in taken:
        return label
    base, number = re.sub(r" \d+$", "", label), 2
    while f"{base} {number}" in taken:
        number += 1
    return f"{base} {number}"


def _box(design: Design, kinds: Collection[Kind] = KINDS) -> tuple[float, float, float, float] | None:
    """(x, z, x, z) around the outlines of those kinds, of all where no kinds are given."""
    return around(form_of(o).box for o in design.outlines if o.kind in kinds)


def _even(mm: float, units: DisplayUnits) -> float:
    """Rounded to 5 mm or a quarter of an inch, so that it reads as the first guess it is."""
    step = 5.0 if units == "mm" else MM_PER_IN / 4
    return round(mm / step) * step
