"""Mass spread over an area, as a builder types and reads it.

g/dm², or oz/sq ft where lengths are inches; coverings in g/m², or in oz/sq yd, as they are sold.
"""

from __future__ import annotations

import re

from core.design import LIMIT, DisplayUnits
from core.units import GRAMS_PER_OZ, MM2_PER_DM2, MM_PER_IN, UnitError, format_number, parse_number

DM2_PER_SQ_FT = (12 * MM_PER_IN) ** 2 / MM2_PER_DM2
GRAMS_PER_DM2_IN_OZ_PER_SQ_FT = GRAMS_PER_OZ / DM2_PER_SQ_FT
GRAMS_PER_M2_IN_OZ_PER_SQ_YD = GRAMS_PER_OZ / (9 * DM2_PER_SQ_FT / 100)
_TOLD = 1e-9
_METRIC = re.compile(r"(?i)\s*g\s*/\s*dm\s*(?:2|²)\s*$")
_G_M2 = re.compile(r"(?i)\s*g\s*/\s*m\s*(?:2|²)\s*$")
_SQ_YARD = re.compile(r"(?i)\s*oz\s*/\s*(?:sq\.?\s*yd\.?|yd\s*(?:2|²))\s*$")
_IMPERIAL = re.compile(r"(?i)\s*oz\s*/\s*(?:sq\.?\s*ft\.?|ft\s*(?:2|²))\s*$")


def unit_of_loading(units: DisplayUnits) -> str:
    """The unit that goes with lengths in ``units``."""
    return "g/dm²" if units == "mm" else "oz/sq ft"


def format_loading(grams_per_dm2: float, units: DisplayUnits, *, least_places: bool = False) -> str:
    """Text of a mass by area in g/dm²: "51.2 g/dm²", "16.8 oz/sq ft".

    ``least_places`` keeps what was typed: up to four figures behind the point, no zeros at the end; what
    so few do not tell wholly is rounded to three figures.
    """
    value = grams_per_dm2 if units == "mm" else grams_per_dm2 / GRAMS_PER_DM2_IN_OZ_PER_SQ_FT
    if not least_places:
        return format_number(value, 1, unit=unit_of_loading(units))
    return f"{_as_typed(value)} {unit_of_loading(units)}"


def _as_typed(value: float) -> str:
    if abs(value - round(value, 4)) > _TOLD * max(1.0, abs(value)):
        value = float(f"{value:.3g}")
    digits = format_number(value, 4)
    return digits.rstrip("0").rstrip(".") if "." in digits else digits


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


def format_covering(grams_per_m2: float, units: DisplayUnits) -> str:
    """Text of a covering's mass by area: "30 g/m²", or "0.88 oz/sq yd" where lengths are inches."""
    if units == "mm":
        return f"{_as_typed(round(grams_per_m2, 1))} g/m²"
    return f"{_as_typed(_two_figures(grams_per_m2 / GRAMS_PER_M2_IN_OZ_PER_SQ_YD))} oz/sq yd"


def _two_figures(value: float) -> float:
    """The value to two figures, or as it was typed where two decimals tell it."""
    near = round(value, 2)
    return near if abs(value - near) < _TOLD * max(1.0, abs(value)) else float(f"{value:.2g}")


def parse_covering(text: str, units: DisplayUnits, what: str) -> float:
    """g/m² from "30", "30 g/m²", "0.9 oz/sq yd" or "0.1 oz/sq ft"; a bare number goes with ``units``.

    UnitError, opened by ``what``, for everything else, below zero, and past 10 000 g/m².
    """
    most = 10_000.0
    if _METRIC.search(text) or _IMPERIAL.search(text):
        value = 100.0 * parse_loading(text, units, what)
        if value > most:
            raise UnitError(f"{what}: more than {most:g} g/m² is no covering; give one such as 30 g/m².")
        return value
    imperial, number = units != "mm", text
    for pattern, is_imperial in ((_G_M2, False), (_SQ_YARD, True)):
        if found := pattern.search(text):
            number, imperial = text[: found.start()], is_imperial
    size, name = (GRAMS_PER_M2_IN_OZ_PER_SQ_YD, "oz/sq yd") if imperial else (1.0, "g/m²")
    return size * parse_number(number, low=0.0, high=most / size, what=f"{what} in {name}")
