"""What a panel of a surface is measured by at the bench: height, chords, sweep, hinge places.

In the panel's own (c, s), mm: c aft along the chord, s along the span from the root.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.overlay import lines_in
from core.geometry.ring import Array
from core.parts.hinge_places import Point, hinge_places
from core.parts.plan import Panel, Plan

_SHORT = 0.5
"""An end whose chord is shorter than this part of the chord a little inside is rounded or raked."""
_INSIDE = 0.1
_STEP = 1e-3
_LOW, _HIGH = 0.2, 0.8


@dataclass(frozen=True)
class Chord:
    """A chord at ``s`` from ``front`` to ``aft``; ``inside``: not at the end itself, which is rounded off."""

    s: float
    front: float
    aft: float
    inside: bool

    @property
    def length(self) -> float:
        """In mm."""
        return self.aft - self.front


@dataclass(frozen=True)
class HingeMeasures:
    """A hinge line from its lower end, and how far along it each hinge sits, mm."""

    start: Point
    end: Point
    places: tuple[Point, ...]
    along: tuple[float, ...]


@dataclass(frozen=True)
class Measures:
    """A panel's measures; ``sweep_deg`` of the leading edge between a fifth and four fifths of the height.

    ``low`` and ``high``: s of its ends; the root chord is at s = 0 where the panel goes on below it.
    """

    low: float
    high: float
    root: Chord
    tip: Chord
    leading: tuple[Point, Point]
    area: float
    hinge: HingeMeasures | None

    @property
    def height(self) -> float:
        """From end to end, mm."""
        return self.high - self.low

    @property
    def sweep_deg(self) -> float:
        """Aft from the upright is more than 0."""
        (c0, s0), (c1, s1) = self.leading
        return math.degrees(math.atan2(c1 - c0, s1 - s0))


def measures_of(plan: Plan, panel: Panel) -> Measures:
    """The measures of a panel of ``plan``, which has an area."""
    region = panel.region
    _, low, _, high = (float(side) for side in region.bounds)
    height = high - low
    root = _end(region, 0.0, height, 1.0) if low < -_STEP * height and high > 0.0 else (
        _end(region, low, height, 1.0)
    )
    tip = _end(region, high, height, -1.0)
    leading = tuple(
        (_chord(region, low + share * height, inside=True).front, low + share * height)
        for share in (_LOW, _HIGH)
    )
    return Measures(
        low, high, root, tip, (leading[0], leading[1]), float(region.area), _hinge(plan.hinges, region)
    )


def _end(region: BaseGeometry, s: float, height: float, inwards: float) -> Chord:
    """The chord at an end; a tenth of the height inside where the end itself is rounded or raked off."""
    # On the very end a level line may miss by rounding; so near to it no chord differs by what is cut.
    at_end = _chord(region, s + inwards * min(_STEP, _STEP * height), inside=False)
    further = _chord(region, s + inwards * _INSIDE * height, inside=True)
    return at_end if at_end.length >= _SHORT * further.length else further


def _chord(region: BaseGeometry, s: float, *, inside: bool) -> Chord:
    low, _, high, _ = region.bounds
    met = shapely.get_coordinates(lines_in(shapely.LineString(((low - 1.0, s), (high + 1.0, s))), region))
    if not len(met):
        return Chord(s, low, low, inside)
    return Chord(s, float(met[:, 0].min()), float(met[:, 0].max()), inside)


def _hinge(lines: Sequence[Array], region: BaseGeometry) -> HingeMeasures | None:
    """The hinge line that lies nearest along the panel, with the hinges on it."""
    known = [line for line in lines if len(line) >= 2]
    if not known:
        return None
    line = min(known, key=lambda line: shapely.distance(region, shapely.LineString(line)))
    if shapely.distance(region, shapely.LineString(line)) > 5.0:
        return None
    first, last = (line[0], line[-1]) if line[0][1] <= line[-1][1] else (line[-1], line[0])
    start, end = (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))
    places = hinge_places(start, end)
    return HingeMeasures(start, end, places, tuple(math.dist(start, place) for place in places))
