"""Edits of the propeller: its diameter, the station of its disc, and that it is not known any more."""

from __future__ import annotations

import math

from msgspec.structs import replace

from core.design import LIMIT, Design, Propeller, range_of
from core.redesign.completing import leave_out
from core.redesign.outline_edits import EditError
from core.redesign.weight_edits import nose_x
from core.stability.guesses import PROPELLER_STATION, without_propeller


def set_propeller_diameter(design: Design, diameter: float | None) -> Design:
    """The design with a propeller of that diameter in mm, which is then not left out any more.

    One that had no station yet is put at the nose, the foremost point of the fuselage (the datum where
    nothing is traced), and that is marked as a guess. None: not entered any more. EditError for a
    diameter that no file holds, or of nothing.
    """
    now, guessed = design.flight.propeller, design.guessed
    if diameter is None:
        if now is None:
            return design
        return replace(
            design, flight=replace(design.flight, propeller=None), guessed=without_propeller(guessed)
        )
    allowed = range_of(Propeller, "diameter")
    if not 0.0 < diameter <= allowed.high:
        raise EditError(
            "a propeller's diameter is more than nothing: type it, or \"none\" where there is none"
        )
    if now is None:
        made = Propeller(diameter, _nose(design))
        guessed = (*without_propeller(guessed), PROPELLER_STATION)
    else:
        made = replace(now, diameter=diameter)
    return replace(
        leave_out(design, "propeller", False), flight=replace(design.flight, propeller=made), guessed=guessed
    )


def set_propeller_station(design: Design, x: float | None) -> Design:
    """The design with the propeller's disc at the station ``x`` in mm, taken as the builder's.

    None: back at the nose, as a guess. EditError without a propeller, or for a station out of reach.
    """
    propeller = design.flight.propeller
    if propeller is None:
        raise EditError("there is no propeller yet: type its diameter first")
    guessed = without_propeller(design.guessed)
    if x is None:
        x, guessed = _nose(design), (*guessed, PROPELLER_STATION)
    if not (math.isfinite(x) and abs(x) <= LIMIT):
        raise EditError("the propeller's station is out of reach: check the number and its unit")
    flight = replace(design.flight, propeller=replace(propeller, x=x))
    return replace(design, flight=flight, guessed=guessed)


def _nose(design: Design) -> float:
    return nose_x(design) or 0.0
