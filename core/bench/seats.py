"""Where wing and tailplane sit on the side view: the root chord's line with its incidence.

mm of the design, x aft and z up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from core.design import LIMIT, Design, Tailplane, Wing

Point = tuple[float, float]


@dataclass(frozen=True)
class Seat:
    """The line of a root chord, from its ``leading`` to its ``trailing`` edge, mm; degrees, up in front.

    ``name``: the surface's own where there are several of its sort, else "wing" or "tailplane".
    """

    name: str
    leading: Point
    trailing: Point
    incidence_deg: float

    @property
    def chord(self) -> float:
        """In mm."""
        return math.dist(self.leading, self.trailing)


def seats_of(design: Design) -> tuple[Seat, ...]:
    """The seat of every wing and tailplane that has a root chord.

    The leading edge is where the design has it, whatever the incidence; the trailing edge lies the
    chord aft of it, turned down about it by the incidence (exact geometry of what was entered).
    """
    return (*_seats("wing", design.wings), *_seats("tailplane", design.tailplanes))


def _seats(what: str, surfaces: Sequence[Wing | Tailplane]) -> Iterator[Seat]:
    for surface in surfaces:
        root = min(surface.stations, key=lambda s: abs(s.y), default=None)
        if root is None or not root.chord > 0.0 or max(abs(root.le_x), abs(root.z), root.chord) > LIMIT:
            continue
        angle = math.radians(surface.incidence_deg)
        trailing = root.le_x + root.chord * math.cos(angle), root.z - root.chord * math.sin(angle)
        name = what if len(surfaces) == 1 else surface.name
        yield Seat(name, (root.le_x, root.z), trailing, surface.incidence_deg)
