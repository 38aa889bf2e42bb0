"""Numbers with units as a person types them, taken apart; ``units`` says which there are.

How numbers are read. The point is always the decimal mark. A lone comma is the decimal mark too
("2,5", "0,250", "1234,567"), except where it might as well part the thousands: "1,320" is refused
with both readings named. Where a second mark settles it, thousands are taken as such ("1,320.5",
"1.320,5", "1,234,567"). Whole and fraction are parted by a blank or a hyphen ("3 3/32",
"3-3/32", "3½"); a minus may be "-" or "−" and counts for all that follows.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

LONGEST = 64


class UnitError(ValueError):
    """Text that cannot be taken; ``str`` is one sentence: what was found, what is accepted."""


@dataclass(frozen=True)
class Measure:
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
class Quantity:
    """One number of what was typed, its unit by the short name; empty where none was."""

    value: Fraction
    unit: str
    is_fraction: bool


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


def read(text: str, measure: Measure) -> tuple[float, list[Quantity]]:
    """Sign and quantities of ``text``, units by their short names; linear, for the length is capped."""
    if len(text) > LONGEST:
        raise UnitError(
            f"{quoted(text)} has {len(text)} characters, more than {LONGEST}; {measure.advice}."
        )
    line = " ".join(text.translate(_ALIKE).casefold().split()).replace("''", '"')
    if not line:
        raise UnitError(f"No {measure.noun} stands here; {measure.advice}.")
    sign = -1.0 if line[0] == "-" else 1.0
    at = 1 if line[0] in "+-" else 0
    pieces: list[Quantity] = []
    while at < len(line):
        match = _PIECE.match(line, at)
        if match is None:
            raise UnitError(f"{quoted(text)} is not {_a(measure.noun)}; {measure.advice}.")
        pieces.append(_quantity(match, text, measure))
        at = match.end()
    if not pieces:
        raise UnitError(f"{quoted(text)} is not {_a(measure.noun)}; {measure.advice}.")
    return sign, pieces


def _quantity(match: re.Match[str], text: str, measure: Measure) -> Quantity:
    typed = (match["unit"] or "").removesuffix(".")
    if typed and typed not in measure.spellings:
        known = ", ".join(unit for unit in measure.size if unit)
        remedy = f"the units known here are {known}" if known else "give the number without a unit"
        raise UnitError(f"{quoted(text)} has the unknown unit {quoted(typed)}; {remedy}.")
    unit = measure.spellings.get(typed, "")
    if match["top"] is None:
        return Quantity(_decimal(match["decimal"], text, measure), unit, False)
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0:
        raise UnitError(f"{quoted(text)} divides by zero; write the fraction like 3/32.")
    if match["whole"] is not None and top >= bottom:
        raise UnitError(
            f"{quoted(text)} has {top}/{bottom} after a whole number; give a fraction less than one."
        )
    return Quantity(whole + Fraction(top, bottom), unit, True)


def _decimal(number: str, text: str, measure: Measure) -> Fraction:
    """The number written as ``number``, exactly, by the rules at the head of this module."""
    body, e, power = number.partition("e")
    if _EITHER.fullmatch(body):
        joined, pointed = body.replace(",", ""), body.replace(",", ".")
        raise UnitError(
            f"{quoted(text)} can be read as {joined} or as {pointed}; write it without the comma."
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
        raise UnitError(f"{quoted(text)} holds {quoted(body)}, which is not a number; {measure.advice}.")
    return Fraction(plain.removesuffix(".") + e + power)


def total(text: str, pieces: list[Quantity], measure: Measure, bare: str) -> float:
    """The pieces added up in the base unit, rounded once; ``bare`` stands in for a missing unit."""
    units = [piece.unit for piece in pieces]
    if len(pieces) == 1:
        units = [units[0] or bare]
    elif measure.implied and not units[-1]:
        units[-1] = measure.implied.get(units[-2], "")
    if len(pieces) > 1 and not any(_runs_down(units, chain) for chain in measure.chains):
        raise UnitError(f"{quoted(text)} holds numbers that do not go together; {measure.advice}.")
    exact = Fraction()
    for piece, unit in zip(pieces, units, strict=True):
        exact += piece.value * measure.size[unit]
    if exact > measure.limit:
        raise UnitError(f"{quoted(text)} is more than {measure.limit_text}; {measure.advice}.")
    return float(exact)


def _runs_down(units: list[str], chain: tuple[str, ...]) -> bool:
    """Whether ``units`` all stand in ``chain`` and grow strictly smaller."""
    if any(unit not in chain for unit in units):
        return False
    places = [chain.index(unit) for unit in units]
    return all(left < right for left, right in pairwise(places))


def quoted(text: str) -> str:
    """The text in quotation marks on one line, cut where long, unprintable characters replaced."""
    cut = text[:24] + "…" if len(text) > 25 else text
    return "“" + "".join(ch if ch.isprintable() else "\N{REPLACEMENT CHARACTER}" for ch in cut) + "”"


def _a(noun: str) -> str:
    return ("an " if noun[0] in "aeiou" else "a ") + noun
