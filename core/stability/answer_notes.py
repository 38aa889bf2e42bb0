"""What stands under the answer: what is not in it, what is guessed, what is at odds with what.

Each note is one line that a builder can act on; ``offers`` names what could settle it at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from core.design import Design, Outline, Tailplane, Wing
from core.kinds import FINS, RUDDERS, VERTICAL_TAIL, WINGS
from core.stability.aeroplane import Aeroplane
from core.stability.balance import surfaces_weigh
from core.stability.ballast import Balance, weighed
from core.stability.body import bodies
from core.stability.guesses import (
    PROPELLER_STATION,
    each_surface,
    is_guessed,
    not_entered,
    of_surface,
    sizes_guessed,
)
from core.stability.photographs import unstraightened
from core.stability.readings import Readings
from core.stability.side_area import form_of, surface_patch
from core.stability.surfaces import wing_form
from core.stability.touching import pairs
from core.units import format_area, format_fraction, format_length

Offer = Literal["leave out", "take in", "confirm"]

LEAST_SPAN, MOST_SPAN = 0.4, 4.0
"""Spans over fuselage lengths between which models lie (common practice, no source)."""
_CHORDS_APART = 0.1
_FAR = 0.5
"""Fuselage lengths ahead or aft of it where no propeller turns (own choice)."""


@dataclass(frozen=True)
class Note:
    """One line under the answer. ``about`` is what is offered to be left out, or a surface such as
    ``tailplanes[0]`` whose values can be confirmed.
    """

    words: str
    offers: Offer | None = None
    about: str = ""


def not_in_it(design: Design, readings: Readings) -> tuple[Note, ...]:
    """What the answer leaves out, whether the builder said so or not."""
    said = [Note(f"{_cap(what)}: not entered yet.", "leave out", what) for what in not_entered(design)]
    kinds = {outline.kind for outline in design.outlines}
    if kinds & FINS and not kinds & RUDDERS and "rudder" not in design.left_out:
        said.append(Note("Rudder: not traced.", "leave out", "rudder"))
    for what in ("wing", "tailplane", "rudder"):
        if what in design.left_out:
            said.append(Note(f"No {what}: left out by you.", "take in", what))
    for surface in (s for _, _, s in each_surface(design) if not s.in_side_area):
        said.append(Note(f"{surface.name}: not counted in the side area, by its tick."))
    if design.flight.propeller is not None:
        # What is entered is in it, whatever a file says besides; of no size it counts nothing.
        if not design.flight.propeller.diameter > 0.0:
            said.append(Note("Propeller: its diameter is nought, so it counts nothing."))
    elif "propeller" in design.left_out:
        said.append(Note("No propeller: left out by you.", "take in", "propeller"))
    elif design.wings:
        words = "Propeller: not entered, so left out of the handbook's figure."
        said.append(Note(words, "leave out", "propeller"))
    if design.wings and readings.value("static_margin") is None:
        said.append(Note(f"Pitch is not judged: {readings['static_margin'].missing}."))
    # What cannot be told, or not yet, is not said to count nothing.
    for outline in design.outlines if readings.untold is None else ():
        if not form_of(outline).patch.moments.area > 1e-9:
            said.append(Note(f"{outline.name}: has no area and counts nothing."))
    return tuple(said)


def guessed(design: Design, readings: Readings) -> tuple[Note, ...]:
    """Which inputs still stand as the program put them."""
    said = []
    for group, at, surface in each_surface(design):
        what = _what(design, group, at)
        if not what:
            continue
        words = f"{surface.name}: {what} as the program put {'it' if ' ' not in what else 'them'}"
        if sizes_guessed(design, group, at):
            alone = without(readings.aeroplane, surface)
            if alone is not None:
                words += f" (without it the CLA lies at {format_fraction(alone)})"
        said.append(Note(f"{words}.", "confirm", f"{group}[{at}]"))
    for scan in unstraightened(design):
        said.append(Note(f"{scan.file}: looks like a photograph, and is measured as if it were flat."))
    if any(scan.scale_from == "dpi" for scan in design.scans):
        said.append(Note("The scale is the picture's own dpi, taking the plan to be drawn full size."))
    flight = [
        words for place, words in (
            ("flight.speed_m_s", "flight speed"), ("flight.air_density_kg_m3", "air density"),
        ) if place in design.guessed
    ]
    if flight and readings.value("lift_coefficient") is not None:
        named = _cap(" and ".join(flight))
        said.append(Note(f"{named}: as the program put {'them' if len(flight) > 1 else 'it'}.",
                         "confirm", "flight"))
    if design.flight.propeller is not None and is_guessed(design, PROPELLER_STATION):
        about = PROPELLER_STATION.rpartition(".")[0]
        said.append(Note("Propeller: its station as the program put it.", "confirm", about))
    return (*said, *_pairs_unmeasured(design))


def _pairs_unmeasured(design: Design) -> tuple[Note, ...]:
    """Pairs of fins and rudders whose distance nobody typed, and what the handbook takes for it."""
    if not design.wings:
        return ()
    taken = "taken at the tips of the tailplane" if design.tailplanes else "each taken alone"
    return tuple(
        Note(f"{named(pair)}, a pair: their distance apart is not entered; {taken}.")
        for pair in pairs(design)
        if any(o.kind in VERTICAL_TAIL for o in pair) and not any(o.apart for o in pair)
    )


def named(pair: Sequence[Outline]) -> str:
    """What the outlines of a pair are called, in a row: "Fin and Rudder"."""
    names = [outline.name for outline in pair]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


_WORDS = {
    "y": "span", "chord": "chords", "le_x": "place", "z": "height", "thickness": "thickness",
    "incidence_deg": "incidence", "camber": "camber", "elevator_chord_fraction": "elevator",
}


def _what(design: Design, group: str, at: int) -> str:
    names = {guess.what.rpartition(".")[2] for guess in of_surface(design, group, at)}
    words = [word for name, word in _WORDS.items() if name in names]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def without(a: Aeroplane, *surfaces: Wing | Tailplane) -> float | None:
    """The CLA fraction without those wings and tailplanes; None where it cannot be given (exact)."""
    moments = a.side.moments
    for surface in surfaces:
        if surface.in_side_area:
            moments = moments.plus(surface_patch(surface).moments, -2.0)
    centre = moments.centroid()
    if centre is None or a.cg is None or a.fin_centre is None or not a.fin_centre[0] - a.cg.x > 1e-9:
        return None
    return (centre[0] - a.cg.x) / (a.fin_centre[0] - a.cg.x)


def at_odds(design: Design, readings: Readings) -> tuple[Note, ...]:
    """What was entered twice and differs, or does not go together."""
    said: list[Note] = []
    units = design.display_units
    # What surfaces weigh hangs on areas that cannot be told, or take long to.
    told = readings.untold is None or not surfaces_weigh(design)
    balance = weighed(design) if told and design.weights and design.cg_mark is not None else None
    if isinstance(balance, Balance) and design.cg_mark is not None:
        apart = balance.x - design.cg_mark.x
        if abs(apart) > design.sure.cg_mm:
            side = "behind" if apart > 0 else "ahead of"
            said.append(Note(f"The weights balance {format_length(abs(apart), units)} {side} the CG mark."))
    for pair in pairs(design):
        distances = sorted({outline.apart for outline in pair if outline.apart is not None})
        if len(distances) > 1:
            both = " and ".join(format_length(mm, units) for mm in distances)
            said.append(Note(f"{named(pair)} touch and stand {both} apart: type one distance for all."))
    if not readings.scale_known or readings.untold is not None:
        return tuple(said)
    wing = wing_form(design.wings)
    hull = next((body for body in bodies(design) if body.main), None)
    if not isinstance(wing, str) and hull is not None:
        low, _, high, _ = hull.patch.box
        length = high - low
        if length > 0.0 and not LEAST_SPAN <= wing.span / length <= MOST_SPAN:
            said.append(Note(
                f"Span {format_length(wing.span, units)} and fuselage {format_length(length, units)} hardly "
                "go together: check the scale, and the span."
            ))
        if wing.root_le_x >= high or wing.root_le_x + wing.root_chord <= low:
            said.append(Note("The wing as typed stands clear of the fuselage: check its place."))
    propeller = design.flight.propeller
    if propeller is not None and hull is not None:
        low, _, high, _ = hull.patch.box
        if not low - _FAR * (high - low) <= propeller.x <= high + _FAR * (high - low):
            said.append(Note("The propeller stands clear of the fuselage: check its station."))
    traced = [outline for outline in design.outlines if outline.kind in WINGS]
    if len(traced) == 1 and len(design.wings) == 1 and not isinstance(wing, str):
        box = form_of(traced[0]).patch.box
        chord = box[2] - box[0]
        if chord > 0.0 and abs(wing.root_chord - chord) > _CHORDS_APART * max(chord, wing.root_chord):
            said.append(Note(
                f"The wing is traced {format_length(chord, units)} long and typed with a root chord of "
                f"{format_length(wing.root_chord, units)}."
            ))
        if design.wings[0].in_side_area:
            twice = format_area(2.0 * surface_patch(design.wings[0]).moments.area, units)
            said.append(Note(f"The wing is traced and typed: both count; one of them adds {twice} too much."))
    return tuple(said)


def _cap(words: str) -> str:
    return words[:1].upper() + words[1:]
