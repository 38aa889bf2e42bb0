"""Mass spread over an area, as a builder types and reads it: g/dm², or oz/sq ft where lengths are inches."""

from __future__ import annotations

import re

from core.design import LIMIT, DisplayUnits
from core.units import GRAMS_PER_OZ, MM2_PER_DM2, MM_PER_IN, format_number, parse_number

DM2_PER_SQ_FT = (12 * MM_PER_IN) ** 2 / MM2_PER_DM2
GRAMS_PER_DM2_IN_OZ_PER_SQ_FT = GRAMS_PER_OZ / DM2_PER_SQ_FT
_METRIC = re.compile(r"(?i)\s*g\s*/\s*dm\s*(?:2|²)\s*$")
_IMPERIAL = re.compile(r"(?i)\s*oz\s*/\s*(?:sq\.?\s*ft\.?|ft\s*(?:2|²))\s*$")


def unit_of_loading(units: DisplayUnits) -> str:
    """The unit that goes with lengths in ``units``."""
    return "g/dm²" if units == "mm" else "oz/sq ft"


def format_loading(grams_per_dm2: float, units: DisplayUnits, *, least_places: bool = False) -> str:
    """Text of a mass by area in g/dm²: "51.2 g/dm²", "16.78 oz/sq ft".

    ``least_places`` keeps what was typed: no zeros at the end, and up to four figures behind the point.
    """
    value = grams_per_dm2 if units == "mm" else grams_per_dm2 / GRAMS_PER_DM2_IN_OZ_PER_SQ_FT
    if not least_places:
        return format_number(value, 1 if units == "mm" else 2, unit=unit_of_loading(units))
    digits = format_number(value, 4)
    return f"{digits.rstrip('0').rstrip('.') if '.' in digits else digits} {unit_of_loading(units)}"


def parse_loading(text: str, units: DisplayUnits, what: str) -> float:
    """g/dm² from "12", "12 g/dm²", "4 oz/sq ft"; a bare number is in the unit that goes with ``units``.

    UnitError, opened by ``what``, for everything else, below zero, and past 1 000 000.
    """
    number, imperial = text, units != "mm"
    for pattern, is_imperial in ((_METRIC, False), (_IMPERIAL, True)):
        found = pattern.search(text)
        if found:
            number, imperial = text[: found.start()], is_imperial
    name = f"{what} in {'oz/sq ft' if imperial else 'g/dm²'}"
    most = LIMIT / GRAMS_PER_DM2_IN_OZ_PER_SQ_FT if imperial else LIMIT
    value = parse_number(number, low=0.0, high=most, what=name)
    return min(value * GRAMS_PER_DM2_IN_OZ_PER_SQ_FT, LIMIT) if imperial else value
