"""Turning a few points and directions into outlines, and outlines into points.

Lengths in mm (x aft, z up), directions in degrees of travel: 0 aft, 90 up, 180 forward.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from core.design import Node, Outline, Stance, Vector
from core.kinds import Kind

Points = NDArray[np.float64]
FLOW = math.inf


class Place(NamedTuple):
    """A node before its handles are known; a direction of None leaves that side straight."""

    x: float
    z: float
    into: float | None = None
    out: float | None = None
    ink: bool = True


@dataclass(frozen=True)
class Tracing:
    """A true outline, which of its edges are inked, and how wide the stroke is (mm)."""

    outline: Outline
    inked: tuple[bool, ...]
    stroke: float = 0.7
    hidden_dashed: bool = True


def corner(x: float, z: float, into: float | None = None, out: float | None = None) -> Place:
    return Place(x, z, into, out)


def curve(x: float, z: float, degrees: float = FLOW) -> Place:
    """A smooth node; with no direction it takes that of the circle through its neighbours."""
    return Place(x, z, degrees, degrees)


def bare(place: Place) -> Place:
    """The same node, the edge that leaves it not inked (hidden in the fuselage)."""
    return place._replace(ink=False)


def _flow(before: Place, here: Place, after: Place) -> float:
    first = np.array([here.x - before.x, here.z - before.z])
    second = np.array([after.x - here.x, after.z - here.z])
    near, far = float(np.hypot(*first)), float(np.hypot(*second))
    along = first / near * far + second / far * near
    return math.degrees(math.atan2(along[1], along[0]))


def _unit(degrees: float) -> Points:
    return np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])


def _reach(start: Place, end: Place) -> tuple[float, float]:
    """Lengths of the two handles of an edge.

    A part of the way to where the end tangents cross: (4/3) tan(θ/4)/tan(θ/2) of it for a turn of θ, the
    usual fit of a circular arc and, squashed, of an ellipse. Where they do not cross, a third of the chord.
    """
    chord = math.hypot(end.x - start.x, end.z - start.z)
    third = (chord / 3.0, chord / 3.0)
    if start.out is None or end.into is None:
        return third
    turn = abs(math.radians((end.into - start.out + 180.0) % 360.0 - 180.0))
    if turn < 0.05 or turn > 2.6:
        return third
    first, last = _unit(start.out), -_unit(end.into)
    gap = np.array([end.x - start.x, end.z - start.z])
    near, far = np.linalg.solve(np.column_stack([first, -last]), gap)
    if near < 0.1 * chord or far < 0.1 * chord or max(near, far) > 2.0 * chord:
        return third
    part = (4.0 / 3.0) * math.tan(turn / 4.0) / math.tan(turn / 2.0)
    return (part * float(near), part * float(far))


def _offset(degrees: float, length: float) -> Vector:
    x, z = _unit(degrees) * length
    return (round(float(x), 2), round(float(z), 2))


def outline(
    outline_id: str,
    kind: Kind,
    places: Sequence[Place],
    *,
    label: str,
    count: int = 1,
    apart: float | None = None,
    stance: Stance | None = None,
    grams: float | None = None,
    stroke: float = 0.7,
    hidden_dashed: bool = True,
) -> Tracing:
    """A tracing of these places, handles laid for rounded curves; ``grams`` a square decimetre."""
    settled = list(places)
    for i, place in enumerate(settled):
        if place.into == FLOW:
            angle = _flow(places[i - 1], place, places[(i + 1) % len(places)])
            settled[i] = place._replace(into=angle, out=angle)
    nodes = []
    for i, place in enumerate(settled):
        before, after = settled[i - 1], settled[(i + 1) % len(settled)]
        handle_in = None if place.into is None else _offset(place.into, -_reach(before, place)[1])
        handle_out = None if place.out is None else _offset(place.out, _reach(place, after)[0])
        nodes.append(Node(round(place.x, 2), round(place.z, 2), handle_in, handle_out))
    made = Outline(
        outline_id, kind, tuple(nodes), label=label, count=count, stance=stance, grams_per_dm2=grams,
        apart=apart,
    )
    return Tracing(made, tuple(place.ink for place in places), stroke, hidden_dashed)


def disc(
    outline_id: str,
    x: float,
    z: float,
    radius: float,
    *,
    label: str,
    count: int = 1,
    stance: Stance | None = None,
    grams: float | None = None,
) -> Tracing:
    """A wheel of four nodes."""
    places = [
        curve(x - radius, z, 90),
        curve(x, z + radius, 0),
        curve(x + radius, z, -90),
        curve(x, z - radius, 180),
    ]
    return outline(
        outline_id, "wheel", places, label=label, count=count, stance=stance, grams=grams
    )


def edge_points(nodes: Sequence[Node], index: int, t: Points) -> Points:
    """Points of one edge at parameters t, shape (len(t), 2)."""
    start, end = nodes[index], nodes[(index + 1) % len(nodes)]
    first, last = np.array([start.x, start.z]), np.array([end.x, end.z])
    t = t[:, None]
    if start.handle_out is None and end.handle_in is None:
        return np.asarray(first + (last - first) * t)
    second, third = first + np.array(start.handle_out or (0, 0)), last + np.array(end.handle_in or (0, 0))
    s = 1.0 - t
    return np.asarray(s**3 * first + 3 * s * s * t * second + 3 * s * t * t * third + t**3 * last)


def runs(tracing: Tracing, inked: bool = True, per_edge: int = 32) -> list[Points]:
    """The polylines of the edges that are inked (or that are not), joined where they follow on."""
    nodes, flags = tracing.outline.nodes, tracing.inked
    total = len(nodes)
    t = np.linspace(0.0, 1.0, per_edge + 1)
    if all(flag == inked for flag in flags):
        return [
            np.vstack([edge_points(nodes, i, t)[:-1] for i in range(total)] + [edge_points(nodes, 0, t)[:1]])
        ]
    found: list[Points] = []
    begin = next((i for i in range(total) if flags[i] == inked and flags[i - 1] != inked), None)
    if begin is None:
        return found
    open_run: list[Points] = []
    for step in range(total + 1):
        i = (begin + step) % total
        if step < total and flags[i] == inked:
            open_run.append(edge_points(nodes, i, t))
        elif open_run:
            found.append(np.vstack(open_run))
            open_run = []
    return found


def area_of(made: Outline | Tracing, per_edge: int = 32) -> Polygon:
    """The flattened outline as a shapely polygon."""
    drawn = made.outline if isinstance(made, Tracing) else made
    t = np.linspace(0.0, 1.0, per_edge + 1)[:-1]
    return Polygon(np.vstack([edge_points(drawn.nodes, i, t) for i in range(len(drawn.nodes))]))


def section_points(
    le: Vector, chord: float, incidence_deg: float, thickness: float, camber: float, camber_at: float
) -> Points:
    """A closed NACA four-digit section (Jacobs, Ward and Pinkerton, NACA Report 460, 1933; from memory)."""
    x = (1.0 - np.cos(np.linspace(0.0, math.pi, 50))) / 2.0
    half = 5 * thickness * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    p = camber_at
    line = np.where(
        x < p, camber / p**2 * (2 * p * x - x**2), camber / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x**2)
    )
    upper, lower = np.column_stack([x, line + half]), np.column_stack([x, line - half])
    loop = np.vstack([upper[::-1], lower[1:]]) * chord
    a = -math.radians(incidence_deg)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    return np.asarray(loop @ turn + np.array(le))
