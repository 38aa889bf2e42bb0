"""Readings by groups, for paper and for the command line: what is given, and what is wanting. No Qt."""

from __future__ import annotations

from collections.abc import Sequence

from core.stability.catalogue import GROUPS, Group
from core.stability.readings import Readings

GROUPED = frozenset(key for group in GROUPS for key in group.readings)


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


def shortly(reason: str) -> str:
    """The first clause of a reason: enough beside a figure."""
    return reason.split(":")[0].split(";")[0]


def wanting_words(readings: Readings) -> str:
    """ "Not given: Wing, Yaw – enter the wing; Weight – enter the weights."; empty with all given."""
    parts = [
        f"{', '.join(g.title for g in groups)} – {shortly(why)}" for why, groups in wanting(readings)
    ]
    return f"Not given: {'; '.join(parts)}." if parts else ""


def rows_of(column: Sequence[Group]) -> int:
    """Rows that a column takes, the headings of its groups counted."""
    return sum(len(group.readings) + 1 for group in column)


def columns(groups: Sequence[Group], most_rows: int, most_columns: int) -> list[list[Group]]:
    """The groups in as few columns as keep within ``most_rows``, no group broken, in reading order.

    The longest goes first, each to the column that is shortest so far.
    """
    found: list[list[Group]] = []
    for count in range(1, most_columns + 1):
        found = [[] for _ in range(count)]
        for group in sorted(groups, key=lambda g: -len(g.readings)):
            min(found, key=rows_of).append(group)
        if max(rows_of(column) for column in found) <= most_rows:
            break
    for column in found:
        column.sort(key=GROUPS.index)
    return sorted((c for c in found if c), key=lambda c: GROUPS.index(c[0]))
