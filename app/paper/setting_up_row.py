"""A row and a section of the setting-up sheet."""

from __future__ import annotations

from dataclasses import dataclass

from core.design import DisplayUnits
from core.units import format_fine, format_number

BOTH_SIDES = ("starboard", "port")
BOTH_EDGES = ("leading", "trailing")


@dataclass(frozen=True)
class Row:
    """One thing to measure. ``missing`` is the reason in place of what it should read.

    ``blanks``: names of the blanks to write into, where there are two.
    """

    what: str
    how: str = ""
    reads: str = ""
    within: str = ""
    missing: str = ""
    blanks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """Rows under a heading, with what goes for all of them, and sentences to mind before anything else."""

    title: str
    rows: tuple[Row, ...]
    note: str = ""
    minds: tuple[str, ...] = ()


def fine_length(mm: float, units: DisplayUnits) -> str:
    """A small length, never shown as nothing where it is something."""
    text = format_fine(mm, units)
    if mm and text == format_fine(0.0, units):
        return format_number(mm, 2, unit="mm") if units == "mm" else format_number(mm / 25.4, 4, unit="in")
    return text
