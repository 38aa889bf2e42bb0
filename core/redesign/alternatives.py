"""Alternatives: states of the design kept under a name, to compare with and to take back."""

from __future__ import annotations

import re
from typing import NamedTuple

from msgspec.structs import replace

from core.design import MOST_PARTS, STATE, Alternative, Design
from core.redesign.outline_edits import EditError
from core.stability.catalogue import Spec
from core.stability.readings import Readings, read_twice

_LONGEST = 200


class Difference(NamedTuple):
    """One reading of two states side by side; ``difference`` is the second less the first."""

    spec: Spec
    a: float | None
    b: float | None
    difference: float | None
    """None where either is missing."""


def keep(design: Design, label: str) -> Design:
    """The design with its present state kept under ``label``; a name in use gets a number.

    EditError for an empty or endless name, or when there are too many.
    """
    if len(design.alternatives) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} alternatives are the most a design can hold; delete some")
    name = _free(design, _named(label), None)
    state = {field: getattr(design, field) for field in STATE}
    kept = Alternative(id=_fresh(design, name), label=name, **state)
    return replace(design, alternatives=(*design.alternatives, kept))


def take_back(design: Design, alternative_id: str) -> Design:
    """The design in the state that was kept. Alternatives, scans, title and notes stay.

    The present state is given up, but for undoing: keep it first if it is still wanted.
    """
    kept = alternative_of(design, alternative_id)
    return replace(design, **{field: getattr(kept, field) for field in STATE})


def rename(design: Design, alternative_id: str, label: str) -> Design:
    """One alternative under another name; a name in use gets a number. EditError for an empty name."""
    kept = alternative_of(design, alternative_id)
    named = replace(kept, label=_free(design, _named(label), alternative_id))
    return replace(design, alternatives=tuple(named if a is kept else a for a in design.alternatives))


def delete(design: Design, alternative_id: str) -> Design:
    """The design without that alternative."""
    alternative_of(design, alternative_id)
    left = tuple(a for a in design.alternatives if a.id != alternative_id)
    return replace(design, alternatives=left)


def alternative_of(design: Design, alternative_id: str) -> Alternative:
    """The alternative of that id. EditError where there is none."""
    for kept in design.alternatives:
        if kept.id == alternative_id:
            return kept
    raise EditError("that alternative is no longer there: choose one of the list")


def state_of(design: Design, alternative_id: str | None) -> Design:
    """The design as it would be with that alternative taken back; None: as it is now."""
    return design if alternative_id is None else take_back(design, alternative_id)


def same_state(design: Design, alternative: Alternative) -> bool:
    """Whether the design is at present as the alternative is: nothing would be lost by taking back."""
    return all(getattr(design, field) == getattr(alternative, field) for field in STATE)


def compare(a: Design, b: Design) -> list[Difference]:
    """All readings of two designs, in the order of the catalogue, with their differences.

    For an alternative: ``compare(design, state_of(design, id))``.
    """
    return differences(read_twice(a), read_twice(b))


def differences(one: Readings, other: Readings) -> list[Difference]:
    """The same of readings that are there."""
    found = []
    for key, reading in one.table.items():
        x, y = reading.value, other.value(key)
        found.append(Difference(reading.spec, x, y, None if x is None or y is None else y - x))
    return found


def _named(label: str) -> str:
    name = " ".join(label.split())
    if not name:
        raise EditError('an alternative needs a name, such as "as drawn": type one')
    if len(name) > _LONGEST:
        raise EditError(f"that name is too long: keep it within {_LONGEST} characters")
    return name


def _free(design: Design, name: str, own: str | None) -> str:
    taken = {a.label for a in design.alternatives if a.id != own}
    if name not in taken:
        return name
    number = 2
    while f"{name} {number}" in taken:
        number += 1
    return f"{name} {number}"


def _fresh(design: Design, name: str) -> str:
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "state"
    taken = {a.id for a in design.alternatives}
    found, number = base, 2
    while found in taken:
        found, number = f"{base}-{number}", number + 1
    return found
