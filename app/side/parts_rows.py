"""What the form for tail parts asks of each way of building, and what typing it means."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from msgspec.structs import replace

from core.design import LIMIT, DisplayUnits
from core.design_build import Build, BuildWay, Skin, Thickness
from core.loading import format_covering, parse_covering
from core.units import (
    UnitError,
    format_fraction,
    format_typed,
    parse_fraction,
    parse_length,
)

Kind = Literal["length", "lengths", "share", "covering", "tick", "choice", "material"]
Fields = dict[str, Any]
"""What ``change_build`` is given."""
_EVERY = 40.0
FLAT: tuple[BuildWay, ...] = ("sheet", "frame")
ALL: tuple[BuildWay, ...] = ("sheet", "frame", "ribbed")
STICKS: tuple[BuildWay, ...] = ("frame", "ribbed")
RIBBED: tuple[BuildWay, ...] = ("ribbed",)
SHEET: tuple[BuildWay, ...] = ("sheet",)
FRAME: tuple[BuildWay, ...] = ("frame",)


@dataclass(frozen=True)
class Row:
    """One field. ``of`` reads it from a build, ``put`` gives the fields that a new value changes."""

    key: str
    words: str
    tip: str
    kind: Kind
    of: Callable[[Build], Any]
    put: Callable[[Build, Any], Fields]
    ways: tuple[BuildWay, ...] = ALL
    choices: tuple[tuple[str, str], ...] = ()
    may_be_none: bool = False


@dataclass(frozen=True)
class Group:
    """Rows under a heading; ``part``: the field of the build that is there or not, ticked in the heading."""

    title: str
    rows: tuple[Row, ...]
    ways: tuple[BuildWay, ...] = ALL
    part: str = ""
    tip: str = ""


def _whole(key: str) -> tuple[Callable[[Build], Any], Callable[[Build, Any], Fields]]:
    return lambda build: getattr(build, key), lambda _, value: {key: value}


def _within(part: str, key: str) -> tuple[Callable[[Build], Any], Callable[[Build, Any], Fields]]:
    """Of a part of the build that is there: rows of one that is not are not shown."""
    return (
        lambda build: getattr(getattr(build, part), key),
        lambda build, value: {part: replace(getattr(build, part), **{key: value})},
    )


def _flat(build: Build, thick: float) -> Fields:
    fields: Fields = {"thickness": Thickness(thick, thick, "flat")}
    if build.way == "sheet":
        fields["skin"] = Skin(thick, build.skin.material if build.skin else "balsa-medium")
    return fields


def _ribs_every(build: Build, every: float) -> Fields:
    return {"ribs": replace(build.ribs, every=every, at=None)}  # type: ignore[type-var]


def _ribs_at(build: Build, at: tuple[float, ...] | None) -> Fields:
    """Places of their own, or at even distances again."""
    assert build.ribs is not None
    if at:
        return {"ribs": replace(build.ribs, at=at, every=None)}
    return {"ribs": replace(build.ribs, at=None, every=build.ribs.every or _EVERY)}


def _strip(part: str, name: str) -> Group:
    return Group(f"{name} edge", (
        Row(f"{part}.wide", "Wide", "Along the chord.", "length", *_within(part, "wide")),
        Row(f"{part}.deep", "Deep", "Across the chord. Empty: as deep as the section is there.", "length",
            *_within(part, "deep"), RIBBED, may_be_none=True),
        Row(f"{part}.material", "Wood", "What it is cut from.", "material", *_within(part, "material")),
    ), STICKS, part)


GROUPS: tuple[Group, ...] = (
    Group("Thickness", (
        Row("thickness", "Thick", "The sheet’s own thickness; of a frame, that of all its sticks.", "length",
            lambda build: build.thickness.root, _flat, FLAT),
        Row("wood", "Wood", "What the sheet is.", "material",
            lambda build: build.skin.material if build.skin else "balsa-medium",
            lambda build, wood: {"skin": Skin(build.thickness.root, wood)}, SHEET),
        Row("thickness.root", "At the root", "Full thickness where it meets the body.", "length",
            *_within("thickness", "root"), RIBBED),
        Row("thickness.tip", "At the tip", "Straight between the two.", "length",
            *_within("thickness", "tip"), RIBBED),
        Row("thickness.form", "Section", "Symmetric: the thickness form of the NACA four-digit sections.",
            "choice", *_within("thickness", "form"), RIBBED,
            (("symmetric section", "symmetric"), ("flat, edges rounded", "flat"))),
        Row("holes", "Holes lighten it", "Holes in the sheet, well inside its edges.", "tick",
            *_whole("holes"), SHEET),
    )),
    Group("Ribs", (
        Row("ribs.every", "One every", "From the root outwards. Typing here gives up places of their own.",
            "length", _within("ribs", "every")[0], _ribs_every, may_be_none=True),
        Row("ribs.at", "or at", "Distances from the root, a semicolon between them. Empty: evenly again.",
            "lengths", _within("ribs", "at")[0], _ribs_at, may_be_none=True),
        Row("ribs.thick", "Thick", "Of a frame: how wide the stick is as the frame is seen.", "length",
            *_within("ribs", "thick")),
        Row("ribs.material", "Wood", "What they are cut from.", "material", *_within("ribs", "material")),
        Row("ribs.holes", "Holes lighten them", "Holes that leave a fifth of the depth above and below.",
            "tick", *_within("ribs", "holes"), RIBBED),
        Row("ribs.halves", "In two halves", "Split on the middle plane: one half is built on the plan, then "
            "the other on it.", "tick", *_within("ribs", "halves"), RIBBED),
        Row("diagonals", "Diagonals", "Sticks across each bay, against twisting.", "tick",
            *_whole("diagonals"), FRAME),
    ), STICKS, "ribs"),
    _strip("leading_edge", "Leading"),
    _strip("trailing_edge", "Trailing"),
    Group("Skin", (
        Row("skin.thick", "Thick", "Sheet over both sides; the ribs are less deep by it.", "length",
            *_within("skin", "thick")),
        Row("skin.material", "Wood", "What the sheet is.", "material", *_within("skin", "material")),
    ), RIBBED, "skin"),
    Group("Covering and glue", (
        Row("covering_g_m2", "Covering", "Film, or tissue and dope, on both sides. Empty: none.",
            "covering", *_whole("covering_g_m2"), may_be_none=True),
        Row("glue", "Glue", "Its weight as a share of the wood’s.", "share", *_whole("glue")),
    )),
    Group("Hinge", (
        Row("hinge_gap", "Gap", "Between what stands and what moves.", "length", *_whole("hinge_gap")),
        Row("hinge", "Moving edge", "How it makes room for the throw.", "choice", *_whole("hinge"),
            choices=(("bevelled", "bevel"), ("rounded", "round"))),
    )),
    Group("Root", (
        Row("tab", "A tab into the body", "It goes on to the body’s centre line, or between the formers.",
            "tick", *_whole("tab")),
        Row("formers", "Formers at", "Their stations, a semicolon between them. Empty: none.", "lengths",
            *_whole("formers"), may_be_none=True),
    )),
)


def shown_text(row: Row, build: Build, units: DisplayUnits) -> str:
    """What stands in the field of ``row``; of a tick, a choice and a material, see ``Row.of``."""
    value = row.of(build)
    if value is None or value == ():
        return ""
    if row.kind == "lengths":
        return "; ".join(format_typed(one, units, with_unit=False) for one in value)
    if row.kind == "share":
        return format_fraction(value, places=0 if abs(100 * value - round(100 * value)) < 1e-9 else 1)
    if row.kind == "covering":
        return format_covering(value, units)
    return format_typed(value, units)


def read(row: Row, text: str, units: DisplayUnits) -> Any:
    """The value that was typed. UnitError with the reason where it is none."""
    if row.may_be_none and not text.strip():
        return () if row.key == "formers" else None
    if row.kind == "lengths":
        # A former may stand ahead of the datum.
        one_of = parse_length if row.key == "formers" else size_of
        return tuple(sorted(one_of(one, units) for one in text.split(";") if one.strip()))
    if row.kind == "share":
        return _within_range(parse_fraction(text), 1.0, text, "a share from 0 to 100 %")
    if row.kind == "covering":
        return parse_covering(text, units, "The weight of the covering")
    return size_of(text, units)


def size_of(text: str, units: DisplayUnits) -> float:
    """A size in mm, not below nothing. UnitError where it is none."""
    return _within_range(parse_length(text, units), LIMIT, text, "a size, which is never below nothing")


def _within_range(value: float, most: float, text: str, wanted: str) -> float:
    if not 0.0 <= value <= most:
        raise UnitError(f"“{text.strip()[:20]}” is not {wanted}.")
    return value
