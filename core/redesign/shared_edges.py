"""What one outline has taken is offered to its neighbour first: the same nodes, bit for bit.

A fin and its rudder share the hinge, a fin and the fuselage its foot. Two fits of the one drawn line
would differ by hundredths of a millimetre, and leave slivers and slits between them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from msgspec.structs import replace

from core.design import Node, Outline
from core.geometry.prepared import prepared
from core.geometry.ring import Array, flatten, nearest_on, ring_of
from core.ink.corners import spaced
from core.ink.fitting import Joint, closed_joints, nodes_along
from core.ink.pulling import Pull, flipped
from core.redesign.outline_edits import insert_node
from core.stability.side_area import form_of

NEAR = 1.0
"""mm: a line that runs no further than this beside an edge is that edge (our own choice)."""
_USUAL = 0.6
"""mm: further off in the mean it is another line, such as the other side of a hinge's gap."""
_STEP, _OFF = 0.5, 0.15
_LEAST = 6.0
"""mm: a shorter stretch beside an outline is a crossing, not a shared side."""
_BLIND = 0.4
_SLACK = 2 * NEAR
"""mm: two sides that meet at a corner overlap along the line by no more."""


@dataclass(frozen=True)
class _Side:
    """A stretch of another outline that a line runs along: from ``begin`` to ``end`` mm along the line."""

    begin: float
    end: float
    nodes: tuple[Node, ...]


def nodes_round(points: Array, others: Sequence[Outline], tolerance_mm: float = 0.12) -> tuple[Node, ...]:
    """The nodes of a closed line through ``points`` (N, 2) mm, which does not repeat its first.

    Where it runs along edges of ``others``, to within ``NEAR``, it takes their very nodes, and exactly the
    part of an edge that it leaves midway; the rest is fitted within ``tolerance_mm`` between them.
    ValueError for fewer than three points.
    """
    if len(points) < 3:
        raise ValueError("a closed line needs at least three points")
    line = spaced(points, 0.2, closed=True)
    sides = _shared(line, others)
    if not sides:
        return tuple(_node(joint) for joint in closed_joints(points, tolerance_mm))
    away = _along(line)
    made: list[Node] = []
    for i, side in enumerate(sides):
        after = sides[(i + 1) % len(sides)]
        bridge = _between(line, away, side, after, tolerance_mm)
        last = replace(side.nodes[-1], handle_out=bridge[0].handle_out)
        entry = made.pop() if made else None
        first = side.nodes[0] if entry is None else replace(side.nodes[0], handle_in=entry.handle_in)
        made += [first, *side.nodes[1:-1], last, *bridge[1:]]
    # The last bridge leads to the first node again.
    made[0] = replace(made[0], handle_in=made.pop().handle_in)
    return tuple(made)


def taken_first(pull: Pull, others: Sequence[Outline]) -> Pull:
    """The pull with the other line wherever that is another outline's edge and its own is not.

    ``pull`` in mm.
    """
    rings = [shapely.LinearRing(form_of(o).corners) for o in others if len(form_of(o).corners) >= 3]
    if not rings:
        return pull
    edges = shapely.MultiLineString(rings)
    return with_better(
        pull, lambda own, other: _part_near(other, edges) > 0.8 and _part_near(own, edges) < 0.5
    )


def with_better(pull: Pull, better: Callable[[Array, Array], bool]) -> Pull:
    """The pull with the other line wherever ``better`` (its own points, those of the other) is true."""
    for k in range(len(pull.choices)):
        choice = pull.choices[k]
        if better(pull.points[choice.first : choice.last + 1], choice.other):
            pull = flipped(pull, k)
    return pull


def _part_near(points: Array, edges: shapely.MultiLineString) -> float:
    return float((shapely.distance(shapely.points(points), edges) <= NEAR).mean()) if len(points) else 0.0


def _node(joint: Joint) -> Node:
    return Node(joint.x, joint.z, joint.handle_in, joint.handle_out)


def _along(line: Array) -> Array:
    """How far along a closed line each of its points lies, and at the end its whole length; (N + 1,)."""
    steps = np.hypot(*(np.roll(line, -1, axis=0) - line).T)
    return np.concatenate(([0.0], np.cumsum(steps)))


def _shared(line: Array, others: Sequence[Outline]) -> list[_Side]:
    """Stretches of ``others`` that the line runs along, in its order, none over another."""
    closed = prepared(shapely.LineString(np.vstack((line, line[:1]))))
    low, high = line.min(axis=0) - NEAR, line.max(axis=0) + NEAR
    found: list[_Side] = []
    for outline in others:
        box = form_of(outline).box
        if box[0] <= high[0] and box[1] <= high[1] and box[2] >= low[0] and box[3] >= low[1]:
            found += _sides_of(outline, closed)
    whole = float(closed.length)
    kept: list[_Side] = []
    for side in sorted(found, key=lambda side: side.begin - side.end):
        if side.end - side.begin < whole - _LEAST and not any(_overlap(side, one, whole) for one in kept):
            kept.append(side)
    return sorted(kept, key=lambda side: side.begin % whole)


def _overlap(one: _Side, other: _Side, whole: float) -> bool:
    return any(
        one.begin + turn < other.end - _SLACK and other.begin < one.end + turn - _SLACK
        for turn in (-whole, 0.0, whole)
    )


def _sides_of(outline: Outline, line: shapely.LineString) -> list[_Side]:
    """Runs of edges of one outline that the line goes along; parts of edges among them."""
    outline = _cut(outline, line)
    nodes, count, whole = outline.nodes, len(outline.nodes), float(line.length)
    places = shapely.points([(n.x, n.z) for n in nodes])
    # Most edges are told by their ends alone, which is quick.
    near = shapely.distance(places, line) <= NEAR
    at = shapely.line_locate_point(line, places)
    steps = [
        _edge_along(nodes[i], nodes[(i + 1) % count], line, at[i], at[(i + 1) % count])
        if near[i] and near[(i + 1) % count] else None
        for i in range(count)
    ]
    sides: list[_Side] = []
    for way in (1.0, -1.0):
        good = [step is not None and step * way > 0 for step in steps]
        if all(good):
            # It is this outline all round: the same shape once more, and nobody's neighbour.
            return []
        for i in range(count):
            if good[i] and not good[i - 1]:
                run = [i]
                while good[(run[-1] + 1) % count]:
                    run.append((run[-1] + 1) % count)
                length = sum(abs(steps[k] or 0.0) for k in run)
                if length >= _LEAST:
                    picked = [nodes[k] for k in run] + [nodes[(run[-1] + 1) % count]]
                    sides.append(_side(picked, float(at[run[0]]), length, way, whole))
    return sides


def _cut(outline: Outline, line: shapely.LineString) -> Outline:
    """The outline with a node let in wherever the line comes to one of its edges, or leaves it, midway."""
    for edge in reversed(range(len(outline.nodes))):
        a, b = outline.nodes[edge], outline.nodes[(edge + 1) % len(outline.nodes)]
        run = _points_of(a, b)
        near = np.asarray(shapely.dwithin(line, shapely.points(run), NEAR))
        if near.all() or not near.any():
            continue
        marks = np.flatnonzero(np.diff(np.concatenate(([False], near, [False])).astype(int)))
        first, last = max(zip(marks[::2], marks[1::2] - 1, strict=True), key=lambda pair: pair[1] - pair[0])
        if (last - first) * _STEP < _LEAST:
            continue
        away = np.asarray(shapely.distance(shapely.points(run[first : last + 1]), line))
        # Beyond the corner at which the line turns off it is further away than along the edge.
        on = first + np.flatnonzero(away <= float(np.median(away)) + _OFF)
        ends = [int(i) for i in (on[-1], on[0]) if 3 <= i < len(run) - 3]
        ring = ring_of(outline.nodes)
        cuts = [nearest_on(ring, *run[i].tolist()) for i in ends]
        upper = 1.0
        for at, t, _ in cuts:
            if at == edge and 0.0 < t < upper:
                outline = insert_node(outline, edge, t / upper)
                upper = t
    return outline


def _side(picked: list[Node], at: float, length: float, way: float, whole: float) -> _Side:
    if way > 0:
        return _Side(at, at + length, tuple(picked))
    begin = (at - length) % whole
    back = tuple(replace(n, handle_in=n.handle_out, handle_out=n.handle_in) for n in reversed(picked))
    return _Side(begin, begin + length, back)


def _edge_along(a: Node, b: Node, line: shapely.LineString, begin: float, end: float) -> float | None:
    """How far the line goes along this edge, less than nothing the other way; None where it does not."""
    run = _points_of(a, b)
    length = float(np.hypot(*np.diff(run, axis=0).T).sum())
    if length < 1e-6:
        return None
    away = np.asarray(shapely.distance(shapely.points(run), line))
    if float(away.max()) > NEAR or float(away.mean()) > _USUAL:
        return None
    whole = float(line.length)
    gone = (end - begin + whole / 2) % whole - whole / 2
    if abs(abs(gone) - length) > 0.1 * length + 2 * NEAR or abs(gone) < 1e-6:
        gone = gone - whole if gone > 0 else gone + whole
        if abs(abs(gone) - length) > 0.1 * length + 2 * NEAR:
            return None
    return gone


def _points_of(a: Node, b: Node) -> Array:
    """Points along one edge, about ``_STEP`` apart."""
    # Made a ring with a straight way back, of which only the way out is wanted.
    ends = (Node(a.x, a.z, handle_out=a.handle_out), Node(b.x, b.z, handle_in=b.handle_in))
    corners = flatten(ring_of(ends))
    last = int(np.flatnonzero((corners == (b.x, b.z)).all(axis=1))[-1]) if len(corners) > 1 else 0
    run = corners[: last + 1]
    return spaced(run, _STEP) if len(run) > 1 and float(np.ptp(run, axis=0).max()) > 1e-9 else run


def _between(line: Array, away: Array, side: _Side, after: _Side, tolerance_mm: float) -> list[Node]:
    """Nodes from the last of one side to the first of the next, fitted to the line between them."""
    whole = float(away[-1])
    start, goal = side.nodes[-1], after.nodes[0]
    room = (after.begin - side.end + _SLACK) % whole - _SLACK
    if (start.x, start.z) == (goal.x, goal.z):
        return [Node(start.x, start.z)] * 2
    from_start = (away[:-1] - side.end) % whole
    picked = np.flatnonzero((from_start > 0) & (from_start < room))
    picked = picked[np.argsort(from_start[picked])]
    points = line[picked]
    if len(points):
        # Beside its ends the line still bends towards its own corner, not that of the neighbour.
        ends = np.array(((start.x, start.z), (goal.x, goal.z)))
        off = [float(np.hypot(*(points[i] - ends[j]))) for i, j in ((0, 0), (-1, 1))]
        inner = (from_start[picked] > off[0] + _BLIND) & (room - from_start[picked] > off[1] + _BLIND)
        points = points[inner]
    run = np.vstack(((start.x, start.z), points, (goal.x, goal.z)))
    fitted = [_node(joint) for joint in nodes_along(run, tolerance_mm)]
    fitted[0] = replace(fitted[0], x=start.x, z=start.z)
    fitted[-1] = replace(fitted[-1], x=goal.x, z=goal.z)
    return fitted
