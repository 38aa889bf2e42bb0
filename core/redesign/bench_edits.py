"""Edits of what was entered at the bench: linkages, weighings, the card copy's crossing, the strings' pin."""

from __future__ import annotations

import math
import re
from typing import Any, TypeVar

from msgspec.structs import replace

from core.design import LIMIT, LIMIT_WORDS, MOST_PARTS, Design, Mark
from core.design_bench import Linkage, ScaleReading, Weighing
from core.redesign.outline_edits import EditError

NEW_LINKAGE = Linkage("", servo_arm=12.0, horn=15.0, surface_chord=60.0)
"""What a linkage is before anything is typed; mm."""
_Part = TypeVar("_Part", Linkage, Weighing)


def linkage_of(design: Design, linkage_id: str) -> Linkage:
    """The linkage of that id; KeyError where there is none."""
    return _found(design.bench.linkages, linkage_id)


def weighing_of(design: Design, weighing_id: str) -> Weighing:
    """The weighing of that id; KeyError where there is none."""
    return _found(design.bench.weighings, weighing_id)


def add_linkage(design: Design, linkage: Linkage = NEW_LINKAGE) -> tuple[Design, str]:
    """(design with one more linkage, its id); the id is made from its label. EditError where it cannot be."""
    _room(design.bench.linkages, "linkages")
    made = replace(linkage, id=_fresh(design.bench.linkages, linkage.label or "linkage"))
    _check_linkage(made)
    return _with_linkages(design, (*design.bench.linkages, made)), made.id


def change_linkage(design: Design, linkage_id: str, **fields: Any) -> Design:
    """Fields of one linkage set, for example ``horn=18.0``; mm and degrees.

    EditError for an arm of no length, a travel outside 0° to 90°, or a number out of reach.
    """
    changed = replace(linkage_of(design, linkage_id), **fields)
    _check_linkage(changed)
    return _with_linkages(
        design, tuple(changed if one.id == linkage_id else one for one in design.bench.linkages)
    )


def duplicate_linkage(design: Design, linkage_id: str) -> tuple[Design, str]:
    """(design with a copy right behind the linkage, the copy's id)."""
    _room(design.bench.linkages, "linkages")
    parts, copy = _doubled(design.bench.linkages, linkage_of(design, linkage_id))
    return _with_linkages(design, parts), copy


def delete_linkage(design: Design, linkage_id: str) -> Design:
    """The design without that linkage."""
    return _with_linkages(design, tuple(one for one in design.bench.linkages if one.id != linkage_id))


def add_weighing(design: Design, label: str = "", stations: tuple[float, ...] = ()) -> tuple[Design, str]:
    """(design with one more weighing, its id): scales at ``stations`` in mm that read nothing yet."""
    _room(design.bench.weighings, "weighings")
    made = Weighing(
        _fresh(design.bench.weighings, label or "weighing"), tuple(ScaleReading(0.0, x) for x in stations),
        label,
    )
    _check_weighing(made)
    return _with_weighings(design, (*design.bench.weighings, made)), made.id


def rename_weighing(design: Design, weighing_id: str, label: str) -> Design:
    """One weighing called ``label``."""
    return _with_weighing(design, replace(weighing_of(design, weighing_id), label=label))


def set_support(
    design: Design, weighing_id: str, at: int, *, grams: float | None = None, x: float | None = None
) -> Design:
    """What the scale number ``at`` (from 0) of a weighing reads, or its station in mm; what is None stays.

    A number past the last adds a scale. EditError for a reading below zero or a number out of reach.
    """
    now = weighing_of(design, weighing_id)
    supports = list(now.supports)
    if at >= len(supports):
        at = len(supports)
        supports.append(ScaleReading(0.0, 0.0))
    before = supports[at]
    supports[at] = ScaleReading(before.grams if grams is None else grams, before.x if x is None else x)
    changed = replace(now, supports=tuple(supports))
    _check_weighing(changed)
    return _with_weighing(design, changed)


def drop_support(design: Design, weighing_id: str, at: int) -> Design:
    """The weighing without the scale number ``at`` (from 0); nothing happens where there is none."""
    now = weighing_of(design, weighing_id)
    return _with_weighing(design, replace(now, supports=now.supports[:at] + now.supports[at + 1 :]))


def duplicate_weighing(design: Design, weighing_id: str) -> tuple[Design, str]:
    """(design with a copy right behind the weighing, the copy's id)."""
    _room(design.bench.weighings, "weighings")
    parts, copy = _doubled(design.bench.weighings, weighing_of(design, weighing_id))
    return _with_weighings(design, parts), copy


def delete_weighing(design: Design, weighing_id: str) -> Design:
    """The design without that weighing."""
    return _with_weighings(design, tuple(one for one in design.bench.weighings if one.id != weighing_id))


def set_crossing(design: Design, crossing: Mark | None) -> Design:
    """Where the card copy's plumb lines crossed, in mm of the design; None takes the entry out. EditError."""
    if crossing is not None and not (abs(crossing.x) <= LIMIT and abs(crossing.z) <= LIMIT):
        raise EditError(f"the crossing is out of reach; keep within ±{LIMIT_WORDS} mm")
    return replace(design, bench=replace(design.bench, crossing=crossing))


def set_pin(design: Design, pin: Mark | None) -> Design:
    """Where the pin of the strings stands, mm; None lets it stand where the sheet puts it. EditError."""
    if pin is not None and not (abs(pin.x) <= LIMIT and abs(pin.z) <= LIMIT):
        raise EditError(f"the pin is out of reach; keep within ±{LIMIT_WORDS} mm")
    return replace(design, bench=replace(design.bench, pin=pin))


def _found(parts: tuple[_Part, ...], part_id: str) -> _Part:
    for part in parts:
        if part.id == part_id:
            return part
    raise KeyError(part_id)


def _fresh(parts: tuple[Linkage, ...] | tuple[Weighing, ...], stem: str) -> str:
    """An id made from ``stem`` that none of ``parts`` has."""
    base = re.sub(r"[^a-z0-9]+", "-", stem.lower()).strip("-")[:40] or "part"
    taken, made, number = {part.id for part in parts}, base, 2
    while made in taken:
        made, number = f"{base}-{number}", number + 1
    return made


def _doubled(parts: tuple[_Part, ...], part: _Part) -> tuple[tuple[_Part, ...], str]:
    copy = replace(part, id=_fresh(parts, re.sub(r"-\d+$", "", part.id)))
    held = list(parts)
    held.insert(held.index(part) + 1, copy)
    return tuple(held), copy.id


def _with_linkages(design: Design, linkages: tuple[Linkage, ...]) -> Design:
    return replace(design, bench=replace(design.bench, linkages=linkages))


def _with_weighings(design: Design, weighings: tuple[Weighing, ...]) -> Design:
    return replace(design, bench=replace(design.bench, weighings=weighings))


def _with_weighing(design: Design, changed: Weighing) -> Design:
    return _with_weighings(
        design, tuple(changed if one.id == changed.id else one for one in design.bench.weighings)
    )


def _room(parts: tuple[Linkage, ...] | tuple[Weighing, ...], name: str) -> None:
    if len(parts) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} {name} are the most a design can hold; delete some first")


def _check_linkage(linkage: Linkage) -> None:
    for name, words in (
        ("servo_arm", "the servo arm"), ("horn", "the horn"), ("surface_chord", "the chord of the surface"),
        ("crank_in", "the arm of the bell crank"), ("crank_out", "the arm of the bell crank"),
    ):
        length = getattr(linkage, name)
        if length is not None and not 0.0 < length <= LIMIT:
            raise EditError(f"{words} needs a length greater than 0, up to {LIMIT_WORDS} mm")
    if not abs(linkage.horn_set_back) <= LIMIT:
        raise EditError(f"the set-back of the horn is out of reach; keep within ±{LIMIT_WORDS} mm")
    if not 0.0 <= linkage.servo_travel_deg <= 90.0:
        raise EditError("the servo's travel lies between 0° and 90° to each side")


def _check_weighing(weighing: Weighing) -> None:
    for support in weighing.supports:
        if not (math.isfinite(support.grams) and support.grams <= LIMIT):
            raise EditError(f"a scale reads no more than {LIMIT_WORDS} g; check what was typed")
        if support.grams < 0.0:
            raise EditError("a scale reads no less than nothing: set it to zero before it is loaded")
        if not abs(support.x) <= LIMIT:
            raise EditError(f"the station of a scale is out of reach; keep within ±{LIMIT_WORDS} mm")
