"""Readings by groups, for paper and for the command line: what is given, and what is wanting. No Qt."""

from __future__ import annotations

from collections.abc import Sequence

from core.design import DisplayUnits
from core.stability.catalogue import GROUPS, Group
from core.stability.in_place import shortly
from core.stability.readings import Readings
from core.stability.wording import figure, instead

GROUPED = frozenset(key for group in GROUPS for key in group.readings)


ON_SCALE = frozenset({
    "cn_beta_low", "cn_beta_high", "cn_beta_fin", "cn_beta_fin_handbook", "cn_beta_fin_lattice",
})
"""Readings that the scale of firmness shows, with figures, wherever it is drawn on paper."""
EDGES = {"yaw_reversal_deg": ("yaw_reversal_low_deg", "yaw_reversal_high_deg")}
"""Readings that stand on paper in the row of another, as its range."""
SCALE_ROWS = 4
"""Rows of a table that the scale takes the room of."""


def given(readings: Readings) -> list[Group]:
    """The groups of which at least one reading has a value."""
    return [g for g in GROUPS if any(readings.value(key) is not None for key in g.readings)]


def wanting(readings: Readings) -> list[tuple[str, list[Group]]]:
    """The groups that are missing altogether, by the reason why, which is that of their first reading."""
    found: dict[str, list[Group]] = {}
    there = given(readings)
    for group in GROUPS:
        if group not in there:
            found.setdefault(readings[group.readings[0]].missing or "", []).append(group)
    return list(found.items())


def wanting_words(readings: Readings) -> str:
    """ "Not given: Wing, Yaw – enter the wing; Weight – enter the weights."; empty with all given."""
    parts = [
        f"{', '.join(g.title for g in groups)} – {shortly(why)}" for why, groups in wanting(readings)
    ]
    return f"Not given: {'; '.join(parts)}." if parts else ""


def own_rows(group: Group) -> tuple[str, ...]:
    """The readings of a group that have a row of their own on paper."""
    in_others = {edge for edges in EDGES.values() for edge in edges}
    return tuple(key for key in group.readings if key not in ON_SCALE and key not in in_others)


def cell(key: str, readings: Readings, units: DisplayUnits) -> str:
    """What stands in a reading's row on paper, with its range where it has one; empty: not given."""
    keys = (key, *EDGES.get(key, ()))
    said = [instead(readings[k]) or (figure(k, readings, units) if readings.value(k) is not None else "")
            for k in keys]
    if len(said) == 1 or "" in said or len(set(said)) == 1:
        return said[0] if readings.value(key) is not None or len(set(said)) > 1 else ""
    return f"{said[0]} ({said[1]} to {said[2]})"


def has_scale(group: Group) -> bool:
    """True if the scale of firmness stands under the group's heading."""
    return not ON_SCALE.isdisjoint(group.readings)


def rows_of(column: Sequence[Group]) -> int:
    """Rows that a column takes, the headings of its groups and the scale counted."""
    return sum(len(own_rows(group)) + SCALE_ROWS * has_scale(group) + 1 for group in column)


def columns(groups: Sequence[Group], most_rows: int, most_columns: int) -> list[list[Group]]:
    """The groups in as few columns as keep within ``most_rows``, no group broken, in reading order.

    The columns are as even as they come out; where they cannot be kept that short, as short as they can.
    """
    longest = rows_of(groups)
    tries = [
        *((count, limit) for count in range(1, most_columns + 1) for limit in range(1, most_rows + 1)),
        *((most_columns, limit) for limit in range(most_rows + 1, longest + 1)),
    ]
    found = next((done for count, limit in tries if (done := _filled(groups, count, limit))), [])
    for column in found:
        column.sort(key=GROUPS.index)
    return sorted((c for c in found if c), key=lambda c: GROUPS.index(c[0]))


def _filled(groups: Sequence[Group], count: int, limit: int) -> list[list[Group]] | None:
    """Each group, the longest first, into the first of ``count`` columns that it does not make too long."""
    found: list[list[Group]] = [[] for _ in range(count)]
    for group in sorted(groups, key=lambda g: -rows_of([g])):
        column = next((c for c in found if rows_of([*c, group]) <= limit), None)
        if column is None:
            return None
        column.append(group)
    return found
