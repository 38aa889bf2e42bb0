"""The pen's line while it is drawn, and whether it goes round a shape or pulls at a handle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.canvas.tools.hand import Point, Pointer

_LONG_PX, _WIDE_PX = 140.0, 12.0
"""A line round a shape is so long, and what it encloses so wide; a pull at a handle encloses next to none."""
_BACK_OF_FURTHEST, _BACK_OF_LENGTH = 0.75, 0.4
"""It ends nearer to its start than it was: as parts of the furthest, and of the way gone."""
_SHOWN_LONG_PX, _SHOWN_WIDE_PX = 90.0, 8.0
_STEP_PX = 1.5


@dataclass
class PenLine:
    """The pen's line as it grows, with what tells a line round a shape from a pull at a handle. In pixels."""

    points: list[Point]
    """mm."""
    length: float = 0.0
    furthest: float = 0.0
    away: float = 0.0
    """How far the end is from the start."""
    doubled: float = 0.0
    """Twice the area between the line and the straight way back, with its sign."""
    start: Point = (0.0, 0.0)
    last: Point = (0.0, 0.0)

    @classmethod
    def begun(cls, at: Pointer) -> PenLine:
        """With the pen put down."""
        return cls([(at.x, at.z)], start=(at.px, at.py), last=(at.px, at.py))

    def draw_to(self, at: Pointer) -> None:
        """The pen moved; less than a pixel or so is not kept."""
        step = math.hypot(at.px - self.last[0], at.py - self.last[1])
        if step < _STEP_PX:
            return
        x0, y0 = self.last[0] - self.start[0], self.last[1] - self.start[1]
        x1, y1 = at.px - self.start[0], at.py - self.start[1]
        self.doubled += x0 * y1 - x1 * y0
        self.length += step
        self.away = math.hypot(x1, y1)
        self.furthest = max(self.furthest, self.away)
        self.last = at.px, at.py
        self.points.append((at.x, at.z))

    @property
    def width(self) -> float:
        """The mean width of what it encloses: that of a long narrow strip of the same length and area."""
        return abs(self.doubled) / max(self.length, 1e-9)

    @property
    def likely(self) -> bool:
        """True if it may become a line round a shape."""
        return self.length > _SHOWN_LONG_PX and self.width > _SHOWN_WIDE_PX

    @property
    def goes_round(self) -> bool:
        """True if it is one: long, back towards where it began, and with something inside."""
        return (
            self.length > _LONG_PX and self.width > _WIDE_PX
            and self.away <= _BACK_OF_FURTHEST * self.furthest and self.away <= _BACK_OF_LENGTH * self.length
        )
