"""The unit last chosen, which a new design begins with."""

from __future__ import annotations

from typing import get_args

from msgspec.structs import replace
from PySide6.QtCore import QSettings

from core.design import EMPTY, Design, DisplayUnits

_KEY = "units"


def remember_units(units: DisplayUnits) -> None:
    """Begin the next new design with this unit."""
    QSettings().setValue(_KEY, units)


def empty_design() -> Design:
    """A new design, in the unit last chosen."""
    kept = QSettings().value(_KEY)
    return replace(EMPTY, display_units=kept) if kept in get_args(DisplayUnits) else EMPTY
