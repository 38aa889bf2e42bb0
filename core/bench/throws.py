"""Control throws as distances at the trailing edge, for the angles that the readings are for.

A throw is measured square to the surface's neutral line: chord × sin (exact). What cannot be computed
comes back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely

from core.bench.linkage import edge_distance
from core.design import LIMIT, Design, Outline, Tailplane
from core.geometry.overlay import lines_in
from core.kinds import RUDDERS
from core.parts.plan import ELEVATOR_DEG as ELEVATOR_DEG
from core.stability.ballast import CLOSE, OUT_OF_REACH
from core.stability.side_area import form_of


@dataclass(frozen=True)
class EdgeThrow:
    """``chord``: from the hinge line, square to it, to the trailing edge at ``where``, mm.

    ``distance``: what the trailing edge moves to each side for ``degrees``, mm.
    """

    name: str
    where: str
    chord: float
    degrees: float
    distance: float


def rudder_chord(rudder: Outline) -> float | str:
    """From the rudder's front edge to its trailing edge half way up, mm, square to the hinge.

    The hinge is taken as the straight line through the front edge at a quarter and half of the height:
    a balance ahead of the hinge mostly sits on top.
    """
    region = form_of(rudder).patch.region
    if region.is_empty:
        return "the rudder has no area: trace it again"
    low_x, low_z, high_x, high_z = (float(v) for v in shapely.bounds(region))
    height = high_z - low_z
    cuts: list[tuple[float, float, float]] = []
    for part in (0.25, 0.5):
        z = low_z + part * height
        cut = lines_in(shapely.LineString(((low_x - 1.0, z), (high_x + 1.0, z))), region)
        if cut.is_empty:
            return "the rudder is too thin to measure: trace it again"
        front, _, back, _ = (float(v) for v in shapely.bounds(cut))
        cuts.append((front, back, z))
    (low_front, _, low), (front, back, middle) = cuts
    rise, run = middle - low, front - low_front
    length = math.hypot(rise, run)
    if not length > CLOSE or not back - front > CLOSE:
        return "the rudder is too thin to measure: trace it again"
    return (back - front) * rise / length


def rudder_throws(design: Design) -> list[EdgeThrow | str]:
    """One for each rudder outline, at the design's rudder throw; the reason where there is none."""
    rudders = [outline for outline in design.outlines if outline.kind in RUDDERS]
    if not rudders:
        return ["trace the rudder"]
    degrees = design.flight.rudder_throw_deg
    found: list[EdgeThrow | str] = []
    for rudder in rudders:
        chord = rudder_chord(rudder)
        found.append(chord if isinstance(chord, str) else EdgeThrow(
            rudder.name, "half way up", chord, degrees, edge_distance(chord, degrees)
        ))
    return found


def elevator_throws(tailplane: Tailplane, degrees: float = ELEVATOR_DEG) -> list[EdgeThrow] | str:
    """At the root, and at the tip where its chord is another, by the elevator's part of the chord."""
    if not tailplane.stations:
        return "enter the tailplane"
    part = tailplane.elevator_chord_fraction
    if not part > 0.0:
        return "the tailplane has no elevator: enter its part of the chord"
    if not all(abs(station.chord) <= LIMIT and abs(station.y) <= LIMIT for station in tailplane.stations):
        return OUT_OF_REACH
    ordered = sorted(tailplane.stations, key=lambda s: abs(s.y))
    ends = [("at the root", ordered[0].chord * part), ("at the tip", ordered[-1].chord * part)]
    if abs(ends[0][1] - ends[1][1]) < 0.05:
        ends = [("along the edge", ends[0][1])]
    return [
        EdgeThrow(f"{tailplane.name}: elevator", where, chord, degrees, edge_distance(chord, degrees))
        for where, chord in ends
    ]
