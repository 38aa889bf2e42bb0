"""Units at the edge: parse early, format late.

Inside, lengths are millimetres, areas mm², masses grams, angles degrees. Here alone stand inches,
ounces, fractions of an inch and per cents.

Exact by definition: 1 in = 25.4 mm, 1 ft = 12 in, 1 lb = 453.59237 g, 1 oz = 1 lb/16
(international yard and pound agreement of 1959; NIST SP 811, Appendix B; from memory).

How numbers are read is told in ``core.typed_numbers``.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from core.design import LIMIT, LIMIT_WORDS, DisplayUnits, Flight, range_of
from core.typed_numbers import LONGEST, Measure, Quantity, quoted, read, total
from core.typed_numbers import UnitError as UnitError

_ONE = Fraction(1)
_INCH = Fraction("25.4")
_POUND = Fraction("453.59237")
MM_PER_IN = float(_INCH)
GRAMS_PER_LB = float(_POUND)
GRAMS_PER_OZ = float(_POUND / 16)
MM2_PER_DM2 = 10_000.0

MINUS = "−"
MISSING = "–"

_BEYOND = 1e12  # no figure of an aeroplane; shown as missing rather than as a wall of digits
_TOLD = 1e-7  # what a float adds to a typed figure, and no rule or eye can see


_LENGTH = Measure(
    noun="length",
    advice="give one such as 318 mm, 12.5 in, 3 3/32 in or 5 ft 6 in",
    limit=LIMIT,
    limit_text=f"{LIMIT_WORDS} mm",
    size={"mm": _ONE, "cm": 10 * _ONE, "m": 1000 * _ONE, "in": _INCH, "ft": 12 * _INCH},
    spellings={
        **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
        **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
        **dict.fromkeys(("in", "ins", "inch", "inches", '"'), "in"),
        **dict.fromkeys(("ft", "foot", "feet", "'"), "ft"),
    },
    chains=(("m", "cm", "mm"), ("ft", "in")),
    implied={"ft": "in"},
)
_MASS = Measure(
    noun="mass",
    advice="give one such as 185 g, 1.2 kg, 6.5 oz or 2 lb 3 oz",
    limit=LIMIT,
    limit_text=f"{LIMIT_WORDS} g",
    size={"g": _ONE, "kg": 1000 * _ONE, "oz": _POUND / 16, "lb": _POUND},
    spellings={
        **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), "g"),
        **dict.fromkeys(("kg", "kilogram", "kilograms", "kilo", "kilos"), "kg"),
        **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    },
    chains=(("kg", "g"), ("lb", "oz")),
)
_ANGLE = Measure(
    noun="angle",
    advice="give one such as 2.5° or −1 deg",
    limit=360.0,
    limit_text="360°",
    size={"°": _ONE, "′": _ONE / 60},
    spellings={**dict.fromkeys(("°", "deg", "degs", "degree", "degrees"), "°"), "'": "′"},
    chains=(("°", "′"),),
)
_FRACTION = Measure(
    noun="fraction",
    advice="give one such as 25 % or 0.25",
    limit=10.0,
    limit_text="1000 %",
    size={"%": _ONE / 100, "": _ONE},
    spellings=dict.fromkeys(("%", "percent"), "%"),
)

# Exact by definition of mile, foot and nautical mile.
_SPEED_IN_M_S = {
    "m/s": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "mph": 0.44704, "ft/s": 0.3048, "kt": 1852 / 3600,
}

def parse_length(text: str, default: DisplayUnits) -> float:
    """Millimetres from what a builder types; a bare number is in ``default``.

    Takes mm, cm, m, in (``"``), ft (``'``) and their full names, fractions, and feet with inches or
    m with cm and mm ("5 ft 6 in", "5' 6 1/2", "1 m 32 cm"). A bare fraction is in inches whatever the
    default, for nobody divides a millimetre by 32; ``read_as_inches`` tells of it.
    UnitError for everything else, also past ±1 000 000 mm.
    """
    sign, pieces = read(text, _LENGTH)
    bare = "mm" if default == "mm" and not _is_bare_fraction(pieces) else "in"
    return sign * total(text, pieces, _LENGTH, bare)


def read_as_inches(text: str, default: DisplayUnits) -> str:
    """"3 3/32 in" where the bare fraction ``text`` was read so although lengths are mm; else empty."""
    try:
        pieces = read(text, _LENGTH)[1]
    except UnitError:
        return ""
    return f"{' '.join(text.split())} in" if default == "mm" and _is_bare_fraction(pieces) else ""


def _is_bare_fraction(pieces: list[Quantity]) -> bool:
    return len(pieces) == 1 and pieces[0].is_fraction and not pieces[0].unit


def parse_mass(text: str, default_units: DisplayUnits) -> float:
    """Grams from "185", "6.5 oz", "1.2 kg", "2 lb 3 oz"; bare: g where lengths are mm, else oz.

    UnitError for everything else, also past ±1 000 000 g. A minus is taken: a mass can be taken away.
    """
    sign, pieces = read(text, _MASS)
    return sign * total(text, pieces, _MASS, "g" if default_units == "mm" else "oz")


def parse_angle(text: str) -> float:
    """Degrees from "2.5", "2.5°", "−1 deg" or "1° 30′" (minutes of arc), within ±360°; else UnitError."""
    sign, pieces = read(text, _ANGLE)
    return sign * total(text, pieces, _ANGLE, "°")


def parse_fraction(text: str) -> float:
    """A part of the whole (0.25) from "25 %", "25" or "0.25", within ±10; else UnitError.

    A bare number means per cent, as the fields show it, so that "1" is a hundredth; what is less than
    one is the part itself: nobody means a quarter of a per cent by "0.25".
    """
    sign, pieces = read(re.sub(r"(?i)per cent", "%", text) if len(text) <= LONGEST else text, _FRACTION)
    bare_per_cent = len(pieces) == 1 and not pieces[0].unit and pieces[0].value >= 1
    return sign * total(text, pieces, _FRACTION, "%" if bare_per_cent else "")


def parse_number(text: str, *, low: float, high: float, what: str) -> float:
    """A number without a unit, ``low`` to ``high`` inclusive; ``what`` opens the sentence of the UnitError.

    ``what`` is read in front of a colon: "Air density in kg/m³: “2x” is not ...".
    """
    wanted = f"from {_plain(low)} to {_plain(high)}"
    measure = Measure("number", f"give a number {wanted}", _BEYOND, "1e12", {"": _ONE}, {})
    try:
        sign, pieces = read(text, measure)
        value = sign * total(text, pieces, measure, "")
    except UnitError as error:
        raise UnitError(f"{what}: {error}") from None
    if not low <= value <= high:
        raise UnitError(f"{what}: {quoted(text)} lies outside; give a number {wanted}.")
    return value


def parse_speed(text: str, default: DisplayUnits) -> float:
    """A speed above nothing and up to 400 m/s, in m/s: "12", "43 km/h", "27 mph", "40 ft/s".

    A bare number is m/s for mm, mph for inches. UnitError says what is wrong.
    """
    words = text.strip().lower()[:LONGEST]
    number, unit = re.split(r"\s*([a-z]+(?:/[a-z]+)?)?$", words, maxsplit=1)[:2]
    if unit and unit not in _SPEED_IN_M_S:
        raise UnitError(f"{quoted(text)} is not a speed; give one such as 12 m/s, 43 km/h or 27 mph.")
    most = range_of(Flight, "speed_m_s").high
    size = _SPEED_IN_M_S[unit or ("m/s" if default == "mm" else "mph")]
    speed = parse_number(number, low=0.0, high=most / size, what="speed") * size
    if not speed > 0.0:
        raise UnitError("speed: it must move; give one such as 12 m/s, 43 km/h or 27 mph.")
    return min(speed, most)


def format_speed(m_s: float, units: DisplayUnits) -> str:
    """A speed as a person reads it: m/s for mm, mph for inches."""
    unit = "m/s" if units == "mm" else "mph"
    return format_number(m_s / _SPEED_IN_M_S[unit], 1, unit=unit)


def format_length(mm: float, units: DisplayUnits, *, signed: bool = False, with_unit: bool = True) -> str:
    """Text of a length in mm as a rule measures it: "318.0 mm", "12.52 in", or "12 17/32 in" to a 1/32.

    ``signed`` writes a plus before what is greater than zero. Not finite: "–".
    """
    return _length(mm, units, 2, 32, signed, with_unit)


def format_fine(
    mm: float, units: DisplayUnits, *, signed: bool = False, with_unit: bool = True
) -> str:
    """Text of a length that is cut, drilled or set finer than a rule reads: 0.1 mm, 0.001 in, or 1/64 in."""
    return _length(mm, units, 3, 64, signed, with_unit)


def format_typed(mm: float, units: DisplayUnits, *, with_unit: bool = True) -> str:
    """Text of a length for the field it is typed into: as fine as it was typed, else as ``format_length``.

    A length counts as typed where a few decimals (mm: three, inches: four) or 64ths tell it wholly.
    """
    if units == "in64":
        parts = mm / MM_PER_IN * 64
        exact = _showable(mm) and abs(parts - round(parts)) < _TOLD
        return (format_fine if exact else format_length)(mm, units, with_unit=with_unit)
    value, least, most = (mm, 1, 3) if units == "mm" else (mm / MM_PER_IN, 2, 4)
    places = next((n for n in range(least, most + 1) if abs(value - round(value, n)) < _TOLD), least)
    return _fixed(value, places, (" mm" if units == "mm" else " in") if with_unit else "", False)


def _length(
    mm: float, units: DisplayUnits, inch_places: int, parts: int, signed: bool, with_unit: bool
) -> str:
    unit = " mm" if units == "mm" else " in"
    if units != "in64":
        value, places = (mm, 1) if units == "mm" else (mm / MM_PER_IN, inch_places)
        return _fixed(value, places, unit if with_unit else "", signed)
    if not _showable(mm):
        return MISSING
    counted = round(abs(mm) / MM_PER_IN * parts)
    whole, rest = divmod(counted, parts)
    common = math.gcd(rest, parts)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest // common}/{parts // common}")
    return _sign(mm, counted == 0, signed) + " ".join(words) + (unit if with_unit else "")


def format_area(mm2: float, units: DisplayUnits, *, signed: bool = False, with_unit: bool = True) -> str:
    """Text of an area in mm²: "3.42 dm²", below 1 dm² "0.342 dm²"; "53.0 sq in", below 10 "5.30 sq in"."""
    if units == "mm":
        value, unit, few = mm2 / MM2_PER_DM2, " dm²", 1.0
        places = 2 if round(abs(value), 3) >= few else 3
    else:
        value, unit, few = mm2 / MM_PER_IN**2, " sq in", 10.0
        places = 1 if round(abs(value), 2) >= few else 2
    return _fixed(value, places, unit if with_unit else "", signed)


def format_mass(g: float, units: DisplayUnits, *, signed: bool = False, with_unit: bool = True) -> str:
    """Text of a mass in g: "185 g", below 100 "18.5 g"; where lengths are inches "6.53 oz", "12.3 oz"."""
    if units == "mm":
        places = 0 if round(abs(g), 1) >= 100 else 1
        return _fixed(g, places, " g" if with_unit else "", signed)
    ounces = g / GRAMS_PER_OZ
    places = 1 if round(abs(ounces), 2) >= 10 else 2
    return _fixed(ounces, places, " oz" if with_unit else "", signed)


def format_fraction(f: float, *, places: int = 1, signed: bool = False, with_unit: bool = True) -> str:
    """Text of a part of the whole as per cent: 0.246 gives "24.6 %"."""
    return _fixed(f * 100, places, " %" if with_unit else "", signed)


def format_angle(deg: float, *, places: int = 1, signed: bool = False, with_unit: bool = True) -> str:
    """Text of an angle in degrees: "−1.0°"."""
    return _fixed(deg, places, "°" if with_unit else "", signed)


def format_number(value: float, places: int, *, unit: str = "", signed: bool = False) -> str:
    """Text of any other figure with a fixed number of decimals, the unit after a blank."""
    return _fixed(value, places, f" {unit}" if unit else "", signed)


def nudge_step(units: DisplayUnits) -> float:
    """How far one press of an arrow key moves, in mm: 1 mm, or 1/16 in."""
    return 1.0 if units == "mm" else MM_PER_IN / 16


def _plain(value: float) -> str:
    return f"{value:g}".replace("-", MINUS)


def _showable(value: float) -> bool:
    return math.isfinite(value) and abs(value) < _BEYOND


def _sign(value: float, is_zero: bool, signed: bool) -> str:
    """Sign of a figure as shown: none on what rounds to zero."""
    if is_zero:
        return ""
    return MINUS if value < 0 else "+" if signed else ""


def _fixed(value: float, places: int, unit: str, signed: bool) -> str:
    if not _showable(value):
        return MISSING
    digits = f"{abs(value):.{places}f}"
    return _sign(value, float(digits) == 0, signed) + digits + unit
