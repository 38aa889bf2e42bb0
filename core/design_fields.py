"""What the parts of a design file are made from: lawful ranges of numbers, and common ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, get_args, get_type_hints

import msgspec

Vector = tuple[float, float]

LIMIT = 1_000_000.0
LIMIT_WORDS = f"{LIMIT:,.0f}".replace(",", " ")
MOST_COUNT = 8
MOST_PARTS = 2_000
"""Entries in any list of a design, nodes apart."""
MOST_PAGES = 100_000
MOST_TEXT = 100_000
MOST_THICKENED = 4


@dataclass(frozen=True)
class Range:
    """The lawful range of a number of the design, ends included, and its unit as it is said.

    A number without one lies within ±LIMIT. ``core.design_check`` reads these from the types.
    """

    low: float
    high: float
    unit: str = ""
    whole: bool = False


Angle = Annotated[float, Range(-90, 90, "°")]
QuarterTurn = Annotated[float, Range(0, 90, "°")]
Length = Annotated[float, Range(0, LIMIT, " mm")]
Grams = Annotated[float, Range(0, LIMIT, " g")]
Share = Annotated[float, Range(0, 1)]
Fraction = Annotated[float, Range(-2, 2)]


class FilePart(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, weakref=True):
    """Common ground of everything that stands in a design file."""


class Mark(FilePart, frozen=True):
    """A point of the side view, in mm."""

    x: float
    z: float = 0.0


@cache
def starting_value(part: type[FilePart], name: str) -> object:
    """What a field of a part is where a file leaves it out."""
    return next(f.default for f in msgspec.structs.fields(part) if f.name == name)


@cache
def range_of(part: type[FilePart], name: str) -> Range:
    """The lawful range of a number of a part, from its type; within ±LIMIT where that names none.

    KeyError for a field that the part does not have.
    """
    hint = get_type_hints(part, include_extras=True)[name]
    return next((found for found in _within(hint) if isinstance(found, Range)), Range(-LIMIT, LIMIT))


def _within(hint: Any) -> Iterator[Any]:
    for found in get_args(hint):
        yield found
        yield from _within(found)
