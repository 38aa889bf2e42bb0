"""Edits that say what the aeroplane has not got, and that what the program put is right."""

from __future__ import annotations

from msgspec.structs import replace

from core.design import Design, LeftOut

FLIGHT = ("flight.speed_m_s", "flight.air_density_kg_m3")
"""What the flight condition is computed for while nobody has typed it."""


def leave_out(design: Design, what: LeftOut, out: bool = True) -> Design:
    """The design with ``what`` said not to be there, or not said any more."""
    if out == (what in design.left_out):
        return design
    kept = tuple(w for w in design.left_out if w != what)
    return replace(design, left_out=(*kept, what) if out else kept)


def confirm(design: Design, about: str) -> Design:
    """The design with the guesses of one surface, such as ``wings[0]``, or of ``flight`` taken as right."""
    return replace(design, guessed=tuple(p for p in design.guessed if not p.startswith(f"{about}.")))


def confirm_all(design: Design) -> Design:
    """The design with everything that the program put taken as right."""
    return replace(design, guessed=()) if design.guessed else design



def set_flight(design: Design, name: str, value: float) -> Design:
    """The design with one figure of its flight condition typed: it is no guess any more."""
    kept = tuple(p for p in design.guessed if p != f"flight.{name}")
    return replace(design, flight=replace(design.flight, **{name: value}), guessed=kept)
