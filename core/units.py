"""Units at the edge: parse early, format late.

Inside, lengths are millimetres, areas mm², masses grams, angles degrees. Here alone stand inches,
ounces, fractions of an inch and per cents.

Exact by definition: 1 in = 25.4 mm, 1 ft = 12 in, 1 lb = 453.59237 g, 1 oz = 1 lb/16
(international yard and pound agreement of 1959; NIST SP 811, Appendix B; from memory).

How numbers are read. The point is always the decimal mark. A lone comma is the decimal mark too
("2,5", "0,250", "1234,567"), except where it might as well part the thousands: "1,320" is refused
with both readings named. Where a second mark settles it, thousands are taken as such ("1,320.5",
"1.320,5", "1,234,567"). Whole and fraction are parted by a blank or a hyphen ("3 3/32",
"3-3/32", "3½"); a minus may be "-" or "−" and counts for all that follows.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from core.design import LIMIT, LIMIT_WORDS, DisplayUnits, Flight, range_of

_ONE = Fraction(1)
_INCH = Fraction("25.4")
_POUND = Fraction("453.59237")
MM_PER_IN = float(_INCH)
GRAMS_PER_LB = float(_POUND)
GRAMS_PER_OZ = float(_POUND / 16)
MM2_PER_DM2 = 10_000.0

MINUS = "−"
MISSING = "–"

_LONGEST = 64
_BEYOND = 1e12  # no figure of an aeroplane; shown as missing rather than as a wall of digits
_BARE_PER_CENT = 1.5


class UnitError(ValueError):
    """Text that cannot be taken; ``str`` is one sentence: what was found, what is accepted."""


@dataclass(frozen=True)
class _Measure:
    """What may be typed for one kind of quantity: units by size, their spellings, advice when it fails."""

    noun: str
    advice: str
    limit: float
    limit_text: str
    size: Mapping[str, Fraction]
    spellings: Mapping[str, str]
    chains: tuple[tuple[str, ...], ...] = ()
    implied: Mapping[str, str] | None = None


@dataclass(frozen=True)
class _Quantity:
    value: Fraction
    unit: str
    is_fraction: bool


_LENGTH = _Measure(
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
_MASS = _Measure(
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
_ANGLE = _Measure(
    noun="angle",
    advice="give one such as 2.5° or −1 deg",
    limit=360.0,
    limit_text="360°",
    size={"°": _ONE, "′": _ONE / 60},
    spellings={**dict.fromkeys(("°", "deg", "degs", "degree", "degrees"), "°"), "'": "′"},
    chains=(("°", "′"),),
)
_FRACTION = _Measure(
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

_ALIKE = str.maketrans(
    {
        **dict.fromkeys("−–‐‑", "-"),
        **dict.fromkeys("′’‘‛ʹʼ´`", "'"),
        **dict.fromkeys("″”“‟ʺ", '"'),
        **dict.fromkeys("⁄∕", "/"),
        "º": "°",
        **{ch: f" {unicodedata.normalize('NFKD', ch).replace('⁄', '/')} " for ch in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"},
    }
)
_PIECE = re.compile(
    r" ?(?:(?:(?P<whole>[0-9]+)(?:- ?| ))?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    r"|(?P<decimal>[0-9.,]+(?:e[+-]?[0-9]{1,3})?))"
    r" ?(?P<unit>[a-z]+\.?|['\"%°])?"
)
_PLAIN = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_COMMA = re.compile(r"[0-9]*,[0-9]+")
_EITHER = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_BY_COMMA = re.compile(r"[1-9][0-9]{0,2}(?:(?:,[0-9]{3}){2,}|(?:,[0-9]{3})+\.[0-9]*)")
_BY_POINT = re.compile(r"[1-9][0-9]{0,2}(?:(?:\.[0-9]{3}){2,}|(?:\.[0-9]{3})+,[0-9]+)")


def parse_length(text: str, default: DisplayUnits) -> float:
    """Millimetres from what a builder types; a bare number is in ``default``.

    Takes mm, cm, m, in (``"``), ft (``'``) and their full names, fractions, and feet with inches or
    m with cm and mm ("5 ft 6 in", "5' 6 1/2", "1 m 32 cm"). A bare fraction where the default is mm is
    refused: it was surely meant in inches. UnitError for everything else, also past ±1 000 000 mm.
    """
    sign, pieces = _read(text, _LENGTH)
    if default == "mm" and len(pieces) == 1 and pieces[0].is_fraction and not pieces[0].unit:
        raise UnitError(f"{_shown(text)} is a fraction without a unit; write “in” after it, or “mm”.")
    return sign * _total(text, pieces, _LENGTH, "mm" if default == "mm" else "in")


def parse_mass(text: str, default_units: DisplayUnits) -> float:
    """Grams from "185", "6.5 oz", "1.2 kg", "2 lb 3 oz"; bare: g where lengths are mm, else oz.

    UnitError for everything else, also past ±1 000 000 g. A minus is taken: a mass can be taken away.
    """
    sign, pieces = _read(text, _MASS)
    return sign * _total(text, pieces, _MASS, "g" if default_units == "mm" else "oz")


def parse_angle(text: str) -> float:
    """Degrees from "2.5", "2.5°", "−1 deg" or "1° 30′" (minutes of arc), within ±360°; else UnitError."""
    sign, pieces = _read(text, _ANGLE)
    return sign * _total(text, pieces, _ANGLE, "°")


def parse_fraction(text: str) -> float:
    """A part of the whole (0.25) from "25 %", "25" or "0.25", within ±10; else UnitError.

    A bare number above 1.5 (or below −1.5) means per cent; from there inwards it is the part itself,
    so that "1" is the whole and "1 %" a hundredth.
    """
    sign, pieces = _read(re.sub(r"(?i)per cent", "%", text) if len(text) <= _LONGEST else text, _FRACTION)
    bare_per_cent = len(pieces) == 1 and not pieces[0].unit and pieces[0].value > _BARE_PER_CENT
    return sign * _total(text, pieces, _FRACTION, "%" if bare_per_cent else "")


def parse_number(text: str, *, low: float, high: float, what: str) -> float:
    """A number without a unit, ``low`` to ``high`` inclusive; ``what`` opens the sentence of the UnitError.

    ``what`` is read in front of a colon: "Air density in kg/m³: “2x” is not ...".
    """
    wanted = f"from {_plain(low)} to {_plain(high)}"
    measure = _Measure("number", f"give a number {wanted}", _BEYOND, "1e12", {"": _ONE}, {})
    try:
        sign, pieces = _read(text, measure)
        value = sign * _total(text, pieces, measure, "")
    except UnitError as error:
        raise UnitError(f"{what}: {error}") from None
    if not low <= value <= high:
        raise UnitError(f"{what}: {_shown(text)} lies outside; give a number {wanted}.")
    return value


def parse_speed(text: str, default: DisplayUnits) -> float:
    """A speed above nothing and up to 400 m/s, in m/s: "12", "43 km/h", "27 mph", "40 ft/s".

    A bare number is m/s for mm, mph for inches. UnitError says what is wrong.
    """
    words = text.strip().lower()[:_LONGEST]
    number, unit = re.split(r"\s*([a-z]+(?:/[a-z]+)?)?$", words, maxsplit=1)[:2]
    if unit and unit not in _SPEED_IN_M_S:
        raise UnitError(f"{_shown(text)} is not a speed; give one such as 12 m/s, 43 km/h or 27 mph.")
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
    """Text of a length in mm: "318.0 mm", "12.520 in" or, to the nearest 1/64, "12 33/64 in".

    ``signed`` writes a plus before what is greater than zero. Not finite: "–".
    """
    unit = " mm" if units == "mm" else " in"
    if units != "in64":
        value, places = (mm, 1) if units == "mm" else (mm / MM_PER_IN, 3)
        return _fixed(value, places, unit if with_unit else "", signed)
    if not _showable(mm):
        return MISSING
    sixty_fourths = round(abs(mm) / MM_PER_IN * 64)
    whole, rest = divmod(sixty_fourths, 64)
    common = math.gcd(rest, 64)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest // common}/{64 // common}")
    return _sign(mm, sixty_fourths == 0, signed) + " ".join(words) + (unit if with_unit else "")


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


def _read(text: str, measure: _Measure) -> tuple[float, list[_Quantity]]:
    """Sign and quantities of ``text``, units by their short names; linear, for the length is capped."""
    if len(text) > _LONGEST:
        raise UnitError(
            f"{_shown(text)} has {len(text)} characters, more than {_LONGEST}; {measure.advice}."
        )
    line = " ".join(text.translate(_ALIKE).casefold().split()).replace("''", '"')
    if not line:
        raise UnitError(f"No {measure.noun} stands here; {measure.advice}.")
    sign = -1.0 if line[0] == "-" else 1.0
    at = 1 if line[0] in "+-" else 0
    pieces: list[_Quantity] = []
    while at < len(line):
        match = _PIECE.match(line, at)
        if match is None:
            raise UnitError(f"{_shown(text)} is not {_a(measure.noun)}; {measure.advice}.")
        pieces.append(_quantity(match, text, measure))
        at = match.end()
    if not pieces:
        raise UnitError(f"{_shown(text)} is not {_a(measure.noun)}; {measure.advice}.")
    return sign, pieces


def _quantity(match: re.Match[str], text: str, measure: _Measure) -> _Quantity:
    typed = (match["unit"] or "").removesuffix(".")
    if typed and typed not in measure.spellings:
        known = ", ".join(unit for unit in measure.size if unit)
        remedy = f"the units known here are {known}" if known else "give the number without a unit"
        raise UnitError(f"{_shown(text)} has the unknown unit {_shown(typed)}; {remedy}.")
    unit = measure.spellings.get(typed, "")
    if match["top"] is None:
        return _Quantity(_decimal(match["decimal"], text, measure), unit, False)
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise UnitError(f"{_shown(text)} divides by zero; write the fraction like 3/32.")
    if match["whole"] is not None and top >= bottom:
        raise UnitError(
            f"{_shown(text)} has {top}/{bottom} after a whole number; give a fraction less than one."
        )
    return _Quantity(whole + Fraction(top, bottom), unit, True)


def _decimal(number: str, text: str, measure: _Measure) -> Fraction:
    """The number written as ``number``, exactly, by the rules at the head of this module."""
    body, e, power = number.partition("e")
    if _EITHER.fullmatch(body):
        joined, pointed = body.replace(",", ""), body.replace(",", ".")
        raise UnitError(
            f"{_shown(text)} can be read as {joined} or as {pointed}; write it without the comma."
        )
    if _PLAIN.fullmatch(body):
        plain = body
    elif _COMMA.fullmatch(body):
        plain = body.replace(",", ".")
    elif _BY_COMMA.fullmatch(body):
        plain = body.replace(",", "")
    elif _BY_POINT.fullmatch(body):
        plain = body.replace(".", "").replace(",", ".")
    else:
        raise UnitError(f"{_shown(text)} holds {_shown(body)}, which is not a number; {measure.advice}.")
    return Fraction(plain.removesuffix(".") + e + power)


def _total(text: str, pieces: list[_Quantity], measure: _Measure, bare: str) -> float:
    """The pieces added up in the base unit, rounded once; ``bare`` stands in for a missing unit."""
    units = [piece.unit for piece in pieces]
    if len(pieces) == 1:
        units = [units[0] or bare]
    elif measure.implied and not units[-1]:
        units[-1] = measure.implied.get(units[-2], "")
    if len(pieces) > 1 and not any(_runs_down(units, chain) for chain in measure.chains):
        raise UnitError(f"{_shown(text)} holds numbers that do not go together; {measure.advice}.")
    exact = Fraction()
    for piece, unit in zip(pieces, units, strict=True):
        exact += piece.value * measure.size[unit]
    if exact > measure.limit:
        raise UnitError(f"{_shown(text)} is more than {measure.limit_text}; {measure.advice}.")
    return float(exact)


def _runs_down(units: list[str], chain: tuple[str, ...]) -> bool:
    """Whether ``units`` all stand in ``chain`` and grow strictly smaller."""
    if any(unit not in chain for unit in units):
        return False
    places = [chain.index(unit) for unit in units]
    return all(left < right for left, right in pairwise(places))


def _shown(text: str) -> str:
    """The text in quotation marks on one line, cut where long, unprintable characters replaced."""
    cut = text[:24] + "…" if len(text) > 25 else text
    return "“" + "".join(ch if ch.isprintable() else "\N{REPLACEMENT CHARACTER}" for ch in cut) + "”"


def _a(noun: str) -> str:
    return ("an " if noun[0] in "aeiou" else "a ") + noun


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
