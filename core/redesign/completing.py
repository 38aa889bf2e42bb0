"""Edits that say what the aeroplane has not got, and that what the program put is right."""

from __future__ import annotations

from msgspec.structs import replace

from core.design import Design, LeftOut
from core.stability.guesses import without_propeller

FLIGHT = ("flight.speed_m_s", "flight.air_density_kg_m3")
"""What the flight condition is computed for while nobody has typed it."""


def leave_out(design: Design, what: LeftOut, out: bool = True) -> Design:
    """The design with ``what`` said not to be there, or not said any more.

    A propeller that is said not to be there is not entered any more either.
    """
    if out == (what in design.left_out):
        return design
    kept = tuple(w for w in design.left_out if w != what)
    if out and what == "propeller" and design.flight.propeller is not None:
        design = replace(
            design, flight=replace(design.flight, propeller=None), guessed=without_propeller(design.guessed)
        )
    return replace(design, left_out=(*kept, what) if out else kept)


def confirm(design: Design, about: str) -> Design:
    """The design with the guesses of one surface, such as ``wings[0]``, of ``flight`` or of
    ``flight.propeller`` taken as right; the propeller's are not those of ``flight``.
    """
    own = [p for p in design.guessed if p.startswith(f"{about}.")]
    if about == "flight":
        own = list(without_propeller(tuple(own)))
    return replace(design, guessed=tuple(p for p in design.guessed if p not in own))


def confirm_all(design: Design) -> Design:
    """The design with everything that the program put taken as right."""
    return replace(design, guessed=()) if design.guessed else design


def set_flight(design: Design, name: str, value: float) -> Design:
    """The design with one figure of its flight condition typed: it is no guess any more."""
    kept = tuple(p for p in design.guessed if p != f"flight.{name}")
    return replace(design, flight=replace(design.flight, **{name: value}), guessed=kept)
