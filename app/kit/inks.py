"""The colours that marks and the arm rule are drawn in: a theme's on the screen, ink's on paper."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtGui import QColor


@dataclass(frozen=True)
class Inks:
    """Colours as #rrggbb."""

    paper: str
    ink: str
    ink_soft: str
    cla: str
    fin: str
    aim: str


@lru_cache(maxsize=32)
def mixed(one: str, other: str, part: float) -> QColor:
    """The opaque colour ``part`` of the way from ``other`` to ``one``."""
    a, b = QColor(one), QColor(other)
    red, green, blue = (
        round(part * x + (1 - part) * y)
        for x, y in ((a.red(), b.red()), (a.green(), b.green()), (a.blue(), b.blue()))
    )
    return QColor(red, green, blue)
