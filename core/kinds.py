"""The kinds of outline: one row a kind, and the sets that all else asks about.

A new kind is a word of ``Kind`` and a row of ``TABLE``: whoever has to tell kinds apart asks one of
the sets below, and none keeps words of kinds of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "fuselage", "canopy", "fin", "rudder", "ventral fin", "pylon", "nacelle", "wing", "tailplane",
    "gear leg", "wheel", "float", "strut", "tip plate", "other",
]
Wash = Literal["body", "tail", "stand", "other"]
Offered = Literal["always", "on wheels", "on floats"]


@dataclass(frozen=True)
class Row:
    """What holds for outlines of one kind; what a row leaves out does not."""

    wash: Wash = "other"
    """Which of the theme's light washes it is filled with."""
    body: Literal["hull", "own"] | None = None
    """A body in a side wind: part of the hull's profile, or one by a profile of its own."""
    nose_to_tail: bool = False
    """Its ends are the aeroplane's nose and tail end, and its depth is where things are put in."""
    carries_fin: bool = False
    """A fin may stand on it."""
    sawn: bool = False
    """A plug cuts across it; anything else goes whole."""
    goes_with_wing: bool = False
    """Moved whole, it goes with the wing where the aeroplane has several."""
    tail: Literal["fin", "rudder", "besides"] | None = None
    """An upright surface at the tail: what the tail arm ends in, as fin or as rudder, or one besides."""
    rooted: bool = False
    """Its template is given the line where it meets the body."""
    surface: Literal["wing", "tailplane"] | None = None
    """Traced, it stands for a surface that could be typed."""
    clear: bool = False
    """It stands clear of the silhouette whatever its count."""
    apart: bool = False
    """Of a pair it is asked how far the two stand from each other, middle to middle."""
    twice: bool = False
    """The side view shows one in front of the other (common practice, no source)."""
    offered: tuple[Offered, ...] = ()
    """When it is offered as the next to trace."""
    partner: Kind | None = None
    """What is offered first once it is there."""
    stands_on: Literal["wheels", "floats"] | None = None
    """What an aeroplane that has one stands on."""
    since: int = 1
    """The format of design files that it came with."""


TABLE: Mapping[Kind, Row] = {
    "fuselage": Row(
        wash="body", body="hull", nose_to_tail=True, carries_fin=True, sawn=True, offered=("always",)
    ),
    "canopy": Row(wash="body", body="hull", carries_fin=True, sawn=True),
    "fin": Row(wash="tail", tail="fin", rooted=True, apart=True, offered=("always",), partner="rudder"),
    "rudder": Row(wash="tail", tail="rudder", apart=True, offered=("always",), partner="fin"),
    "ventral fin": Row(wash="tail", tail="besides", rooted=True, apart=True),
    "pylon": Row(wash="stand", carries_fin=True, rooted=True, offered=("on wheels", "on floats")),
    "nacelle": Row(wash="body", body="own", carries_fin=True, goes_with_wing=True),
    "wing": Row(surface="wing", clear=True),
    "tailplane": Row(surface="tailplane", clear=True),
    "gear leg": Row(wash="stand", twice=True, offered=("on wheels",), stands_on="wheels"),
    "wheel": Row(wash="stand", clear=True, twice=True, offered=("on wheels",), stands_on="wheels"),
    "float": Row(
        wash="stand", body="own", clear=True, twice=True, offered=("on floats",), stands_on="floats"
    ),
    "strut": Row(wash="stand", twice=True, offered=("on floats",)),
    "tip plate": Row(wash="tail", clear=True, apart=True),
    # Booms, for want of a kind of their own, are carried and sawn like a fuselage.
    "other": Row(carries_fin=True, sawn=True),
}
"""In the order in which lists show them and the work goes."""
KINDS: tuple[Kind, ...] = tuple(TABLE)
FIN: Kind = "fin"
"""What is made new from its sizes."""
WHEEL: Kind = "wheel"
"""What a circle is drawn for."""
OTHER: Kind = "other"
"""What an outline is of which nothing is known."""


def _where(holds: Callable[[Row], bool]) -> tuple[Kind, ...]:
    return tuple(kind for kind, row in TABLE.items() if holds(row))


HULL = frozenset(_where(lambda row: row.body == "hull"))
OWN_BODIES = frozenset(_where(lambda row: row.body == "own"))
NOSE_TO_TAIL = frozenset(_where(lambda row: row.nose_to_tail))
CARRIERS = frozenset(_where(lambda row: row.carries_fin))
SAWN = frozenset(_where(lambda row: row.sawn))
WITH_WING = frozenset(_where(lambda row: row.goes_with_wing))
FINS = frozenset(_where(lambda row: row.tail == "fin"))
RUDDERS = frozenset(_where(lambda row: row.tail == "rudder"))
VERTICAL_TAIL = FINS | RUDDERS
"""Where the tail arm ends."""
UPRIGHT = frozenset(_where(lambda row: row.tail is not None))
ROOTED = frozenset(_where(lambda row: row.rooted))
WINGS = frozenset(_where(lambda row: row.surface == "wing"))
TAILPLANES = frozenset(_where(lambda row: row.surface == "tailplane"))
APART = frozenset(_where(lambda row: row.apart))
HANGING = frozenset(_where(lambda row: row.tail == "besides"))
"""Upright surfaces that stand under the body."""
BUILDABLE = UPRIGHT | APART
"""What parts are drawn for, besides tailplanes that are typed."""
ALWAYS_CLEAR = frozenset(_where(lambda row: row.clear))
TWICE = frozenset(_where(lambda row: row.twice))
ALWAYS = _where(lambda row: "always" in row.offered)
"""What the answer is made of, in the order of work: offered as long as it is not there."""
ON_WHEELS = _where(lambda row: "on wheels" in row.offered)
ON_FLOATS = _where(lambda row: "on floats" in row.offered)
"""What many aeroplanes have besides, in the order of work: one that was passed over is not missed."""
WHEELS = frozenset(_where(lambda row: row.stands_on == "wheels"))
FLOATS = frozenset(_where(lambda row: row.stands_on == "floats"))
TOGETHER = tuple((kind, row.partner) for kind, row in TABLE.items() if row.partner is not None)
"""(kind, the kind that is offered first once it is there)."""
