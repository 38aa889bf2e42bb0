"""What is not entered yet, and values that the program put and nobody has confirmed.

A place is written as in the file: ``tailplanes[0].stations[1].z``.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from core.design import LeftOut, State, Tailplane, Wing
from core.kinds import TAILPLANES, WINGS

_SURFACE = re.compile(r"(wings|tailplanes)\[(\d+)\]\.(.+)")
_STATION = re.compile(r"stations\[(\d+)\]\.(.+)")
PROPELLER_STATION = "flight.propeller.x"
"""Where the program puts a propeller of which only the diameter was typed: at the nose."""
SIZES = ("y", "le_x", "chord")
"""The numbers of a station that say how large a surface is and where it stands along the aeroplane."""


class Guess(NamedTuple):
    """A place of ``guessed``, taken apart: which list, which of its surfaces, what of it."""

    group: str
    at: int
    what: str


def without_propeller(places: tuple[str, ...]) -> tuple[str, ...]:
    """``places`` without those of the propeller."""
    return tuple(place for place in places if place != PROPELLER_STATION)


def each_surface(state: State) -> tuple[tuple[str, int, Wing | Tailplane], ...]:
    """(list, place in it, surface) of all wings and tailplanes."""
    wings = tuple(("wings", at, wing) for at, wing in enumerate(state.wings))
    tailplanes = tuple(("tailplanes", at, tailplane) for at, tailplane in enumerate(state.tailplanes))
    return (*wings, *tailplanes)


def place_of(group: str, index: int, what: str) -> str:
    """How the file names a value of a surface."""
    return f"{group}[{index}].{what}"


def is_guessed(state: State, place: str) -> bool:
    """True if nobody has confirmed the value at that place."""
    return place in state.guessed


def guesses(state: State) -> tuple[Guess, ...]:
    """Those that belong to a wing or tailplane that is there."""
    found = []
    for place in state.guessed:
        parts = _SURFACE.fullmatch(place)
        if parts is None:
            continue
        guess = Guess(parts[1], int(parts[2]), parts[3])
        if guess.at < len(getattr(state, guess.group)):
            found.append(guess)
    return tuple(found)


def every_value(surface: Wing | Tailplane) -> tuple[str, ...]:
    """Every value of a surface that has a say in the side area or in the stability.

    Not the y of the first station: that is the middle of the aeroplane.
    """
    stations = (
        f"stations[{i}].{name}" for i in range(len(surface.stations)) for name in (*SIZES, "z")
        if i or name != "y"
    )
    more = ("elevator_chord_fraction",) if isinstance(surface, Tailplane) else ()
    return (*stations, "incidence_deg", "section.thickness", "section.camber", "section.camber_at", *more)


def still_guessed(
    places: tuple[str, ...], group: str, at: int, before: Wing | Tailplane, after: Wing | Tailplane
) -> tuple[str, ...]:
    """``places`` without those of one surface whose value an edit changed.

    Where stations came or went, what was guessed of any station is guessed of all that are there now.
    """
    own = {p: p.removeprefix(f"{group}[{at}].") for p in places if p.startswith(f"{group}[{at}].")}
    if not own:
        return places
    if len(before.stations) == len(after.stations):
        return tuple(p for p in places if p not in own or _value(before, own[p]) == _value(after, own[p]))
    names = {what.rpartition(".")[2] for what in own.values() if what.startswith("stations[")}
    kept = tuple(p for p in places if p not in own or not own[p].startswith("stations["))
    return kept + tuple(
        place_of(group, at, what) for what in every_value(after)
        if what.startswith("stations[") and what.rpartition(".")[2] in names
    )


def taken_out(places: tuple[str, ...], group: str, at: int) -> tuple[str, ...]:
    """``places`` after one surface was taken out of its list: its own go, those behind move up."""
    kept = []
    for place in places:
        parts = _SURFACE.fullmatch(place)
        if parts is None or parts[1] != group or int(parts[2]) < at:
            kept.append(place)
        elif int(parts[2]) > at:
            kept.append(place_of(group, int(parts[2]) - 1, parts[3]))
    return tuple(kept)


def _value(surface: Wing | Tailplane, what: str) -> object:
    station = _STATION.fullmatch(what)
    if station is not None:
        at = int(station[1])
        return getattr(surface.stations[at], station[2], None) if at < len(surface.stations) else None
    part, _, name = what.rpartition(".")
    return getattr(surface.section if part == "section" else surface, name, None)


def of_surface(state: State, group: str, index: int) -> tuple[Guess, ...]:
    """What is guessed of one surface."""
    return tuple(g for g in guesses(state) if (g.group, g.at) == (group, index))


def sizes_guessed(state: State, group: str, index: int) -> bool:
    """True if how large a surface is, or where it stands, is still the program's guess."""
    return any(g.what.rpartition(".")[2] in SIZES for g in of_surface(state, group, index))


def not_entered(state: State) -> tuple[LeftOut, ...]:
    """Which of wing and tailplane count in the side area but were neither entered nor left out."""
    kinds = {outline.kind for outline in state.outlines}
    there: dict[LeftOut, bool] = {
        "wing": bool(state.wings) or bool(kinds & WINGS),
        "tailplane": bool(state.tailplanes) or bool(kinds & TAILPLANES),
    }
    return tuple(what for what, found in there.items() if not found and what not in state.left_out)
