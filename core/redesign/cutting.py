"""Cutting an outline at a station: letting a straight length in, taking a strip out.

Curves are split by de Casteljau, so that every piece keeps its true form; what is let in runs
exactly along x.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from core.design import Node, Outline, Vector
from core.geometry.memo import IdentityMemo
from core.geometry.ring import Array, Ring, ring_of, split_edge
from core.redesign.outline_edits import EditError

SAME = 1e-9
"""mm: nearer to a station than this counts as lying on it."""
CLOSED = 1e-6
"""mm: two ends nearer than this are one node."""
_SAMPLES = (0.1, 0.3, 0.5, 0.7, 0.9)
Cubic = tuple[float, float, float, float]
"""Coefficients from t³ down."""


@dataclass(frozen=True)
class Shortened:
    """An outline with a strip taken out, and the highest step that the joint is left with, in mm."""

    outline: Outline
    step: float


def crosses(outline: Outline, station: float) -> bool:
    """Whether the outline runs from one side of ``station`` to the other."""
    if not outline.nodes:
        return False
    sides = _cut(outline.nodes, station).sides
    return min(sides) < 0 < max(sides)


def lengthen(outline: Outline, station: float, front_dx: float, aft_dx: float) -> Outline:
    """The outline cut at ``station``, the two parts moved along x and joined by edges along x.

    What lies on the station goes with the front. ``aft_dx`` must not be less than ``front_dx``.
    """
    nodes, sides, _ = _cut(outline.nodes, station)
    made: list[Node] = []
    for i, node in enumerate(nodes):
        before, after = _dx(sides[i - 1], front_dx, aft_dx), _dx(sides[i], front_dx, aft_dx)
        if sides[i - 1] == sides[i]:
            made.append(replace(node, x=node.x + before))
            continue
        made.append(replace(node, x=node.x + before, handle_out=None))
        made.append(replace(node, x=node.x + after, handle_in=None))
    return replace(outline, nodes=tuple(made))


def shorten(outline: Outline, low: float, high: float, front_dx: float, aft_dx: float) -> Shortened:
    """The outline without the strip from ``low`` to ``high``, the two parts moved until they meet.

    ``front_dx − aft_dx`` is ``high − low``. Ends that meet become one node, and none where the curve
    runs through it unbent; ends that do not meet are joined by an upright edge. EditError where the
    outline ends inside the strip, or would be folded.
    """
    # The station of the part that stays comes first: that cut is kept while the length is changed.
    first_cut, second_cut = (low, high) if front_dx == 0.0 else (high, low)
    one = _cut(outline.nodes, first_cut)
    other = _cut(one.nodes, second_cut)
    nodes = other.nodes
    inherited = tuple(one.sides[p] for p in other.parents)
    past_low, past_high = (inherited, other.sides) if first_cut == low else (other.sides, inherited)
    where = [-1 if a < 0 else 1 if b > 0 else 0 for a, b in zip(past_low, past_high, strict=True)]
    if all(w == where[0] for w in where):
        if where[0] == 0:
            raise EditError(
                f'"{outline.name}" lies wholly within the piece to be taken out: take out less, '
                "or choose another station"
            )
        dx = _dx(where[0], front_dx, aft_dx)
        moved = tuple(replace(n, x=n.x + dx) for n in outline.nodes)
        return Shortened(replace(outline, nodes=moved), 0.0)
    # Begin with a node that a part to be kept runs up to.
    first = next(i for i in range(len(nodes)) if where[i - 1] != 0)
    count = len(nodes)
    made: list[Node] = []
    joints: list[int] = []
    highest = 0.0
    k = 0
    while k < count:
        i = (first + k) % count
        before = where[i - 1]
        node = replace(nodes[i], x=nodes[i].x + _dx(before, front_dx, aft_dx))
        if where[i] == before:
            made.append(node)
            k += 1
            continue
        run = 0
        while where[(i + run) % count] == 0:
            run += 1
        after = where[(i + run) % count]
        end = nodes[(i + run) % count]
        end = replace(end, x=end.x + _dx(after, front_dx, aft_dx))
        if after == before:
            raise EditError(
                f'"{outline.name}" ends within the piece to be taken out: take out less, '
                "or choose another station"
            )
        step = abs(end.z - node.z)
        highest = max(highest, step)
        joints.append(len(made))
        if step <= CLOSED and abs(end.x - node.x) <= CLOSED:
            made.append(replace(node, handle_out=end.handle_out))
        else:
            made.append(replace(node, handle_out=None))
            made.append(replace(end, handle_in=None))
        k += run + 1
    for at in sorted(joints, reverse=True):
        made = _healed(made, at)
    return Shortened(replace(outline, nodes=tuple(made)), highest)


def _dx(side: int, front_dx: float, aft_dx: float) -> float:
    return front_dx if side < 0 else aft_dx


def _edge_sides(a: Node, b: Node, station: float) -> list[tuple[float, int]]:
    """[(t where the piece ends, its side −1, 0 or 1)] of the edge's pieces; neighbours differ."""
    curved = bool(_reach(a.handle_out) or _reach(b.handle_in))
    x0, x3 = a.x - station, b.x - station
    x1 = x0 + (a.handle_out[0] if a.handle_out else 0.0)
    x2 = x3 + (b.handle_in[0] if b.handle_in else 0.0)
    low, high = min(x0, x1, x2, x3), max(x0, x1, x2, x3)
    if high <= SAME:
        return [(1.0, 0 if low >= -SAME else -1)]
    if low >= -SAME:
        return [(1.0, 1)]
    if curved:
        cubic = (x3 - 3 * x2 + 3 * x1 - x0, 3 * (x2 - 2 * x1 + x0), 3 * (x1 - x0), x0)
        monotone = x0 <= x1 <= x2 <= x3 or x0 >= x1 >= x2 >= x3
        turned = _turned(a, b)
        y0, y1, y2, y3 = (x3, x2, x1, x0) if turned else (x0, x1, x2, x3)
        one_way = (y3 - 3 * y2 + 3 * y1 - y0, 3 * (y2 - 2 * y1 + y0), 3 * (y1 - y0), y0)
        roots = [_only_root(one_way)] if monotone and x0 * x3 < 0.0 else _roots(one_way)
        # In steps that 1 − t keeps exactly.
        roots = [round(t * 2.0**50) / 2.0**50 for t in roots]
        ts = sorted(1.0 - t for t in roots) if turned else roots
    else:
        cubic = (0.0, 0.0, x3 - x0, x0)
        ts = [-x0 / (x3 - x0)]
    pieces: list[tuple[float, int]] = []
    start = 0.0
    for end in (*(t for t in ts if 1e-9 < t < 1 - 1e-9), 1.0):
        if end - start > 0.0:
            furthest = max((_value(cubic, start + s * (end - start)) for s in _SAMPLES), key=abs)
            side = 0 if abs(furthest) <= SAME else 1 if furthest > 0 else -1
            if pieces and (side == 0 or pieces[-1][1] in (0, side)):
                pieces[-1] = (end, side or pieces[-1][1])
            else:
                pieces.append((end, side))
        start = end
    return pieces


def _turned(a: Node, b: Node) -> bool:
    """True if the edge is computed from ``b``: two outlines share it to the last bit, each its own way."""
    return (b.x, b.z) < (a.x, a.z)


def _reach(offset: Vector | None) -> float:
    return abs(offset[0]) + abs(offset[1]) if offset else 0.0


def _value(cubic: Cubic, t: float) -> float:
    return ((cubic[0] * t + cubic[1]) * t + cubic[2]) * t + cubic[3]


def _only_root(cubic: Cubic) -> float:
    """The root between 0 and 1 of a cubic that runs one way there: Newton, kept inside by halving."""
    low, high = 0.0, 1.0
    rising = cubic[3] < 0.0
    t = 0.5
    for _ in range(100):
        y = _value(cubic, t)
        if (y < 0.0) == rising:
            low = t
        else:
            high = t
        slope = (3 * cubic[0] * t + 2 * cubic[1]) * t + cubic[2]
        after = t - y / slope if slope != 0.0 else 0.5 * (low + high)
        if not low < after < high:
            after = 0.5 * (low + high)
        if abs(after - t) <= 1e-16 or y == 0.0:
            return t
        t = after
    return t


def _roots(cubic: Cubic) -> list[float]:
    """All real roots, in rising order."""
    whole = np.array(cubic)
    small = np.abs(whole) <= 1e-13 * np.abs(whole).max()
    roots = np.roots(np.trim_zeros(np.where(small, 0.0, whole), "f"))
    real = roots.real[np.abs(roots.imag) < 1e-6]
    for _ in range(3):
        slope = np.polyval(np.polyder(whole), real)
        steep = np.abs(slope) > 1e-12
        real = real - np.where(steep, np.polyval(whole, real) / np.where(steep, slope, 1.0), 0.0)
    return sorted(float(t) for t in real)


def _settled(sides: list[int]) -> list[int]:
    """Sides of a whole ring with every 0 given to a neighbour: to the front where those differ."""
    if not any(sides):
        return [-1] * len(sides)
    count = len(sides)
    found = list(sides)
    for i in range(count):
        if sides[i] == 0:
            before = next(s for k in range(1, count + 1) if (s := sides[i - k]) != 0)
            after = next(s for k in range(1, count + 1) if (s := sides[(i + k) % count]) != 0)
            found[i] = before if before == after else -1
    return found


class _Cut(NamedTuple):
    """A ring's nodes with one wherever it crosses a station, and of every edge the side and the parent."""

    nodes: tuple[Node, ...]
    sides: tuple[int, ...]
    parents: tuple[int, ...]


_cuts: IdentityMemo[_Cut] = IdentityMemo(64)


def _cut(nodes: tuple[Node, ...], station: float) -> _Cut:
    """The ring cut at ``station``, kept while its nodes are the same object."""
    return _cuts.get((nodes,), lambda: _made_cut(nodes, station), station)


def _made_cut(nodes: tuple[Node, ...], station: float) -> _Cut:
    made = list(nodes)
    sides: list[int] = []
    parents: list[int] = []
    at = 0
    for edge, node in enumerate(nodes):
        pieces = _edge_sides(node, nodes[(edge + 1) % len(nodes)], station)
        sides.extend(side for _, side in pieces)
        parents.extend(edge for _ in pieces)
        done = 0.0
        for t, _ in pieces[:-1]:
            made = _let_in(made, at, (t - done) / (1.0 - done), station)
            at += 1
            done = t
        at += 1
    return _Cut(tuple(made), tuple(_settled(sides)), tuple(parents))


def _let_in(nodes: list[Node], edge: int, t: float, station: float) -> list[Node]:
    """A node let into an edge at ``t``, its x exactly the station; the curve stays as it was."""
    after = (edge + 1) % len(nodes)
    a, b = nodes[edge], nodes[after]
    made = list(nodes)
    turned = _turned(a, b)
    if turned:
        a = replace(nodes[after], handle_in=nodes[after].handle_out, handle_out=nodes[after].handle_in)
        b = replace(nodes[edge], handle_in=nodes[edge].handle_out, handle_out=nodes[edge].handle_in)
    ring = ring_of((a, b))
    if not ring.curved[0]:
        z = a.z + (station - a.x) / (b.x - a.x) * (b.z - a.z)
        made.insert(edge + 1, Node(station, z))
        return made
    first, second = split_edge(ring, 0, 1.0 - t if turned else t)
    z = float(first[3, 1])
    if turned:
        first, second = second[::-1], first[::-1]
    made[edge] = replace(made[edge], handle_out=_offset(first[1] - first[0]))
    made[after] = replace(made[after], handle_in=_offset(second[2] - second[3]))
    made.insert(
        edge + 1, Node(station, z, _offset(first[2] - first[3]), _offset(second[1] - second[0]))
    )
    return made


def _offset(vector: Array) -> Vector | None:
    x, z = float(vector[0]), float(vector[1])
    return None if x == 0.0 and z == 0.0 else (x, z)


def _healed(nodes: list[Node], at: int) -> list[Node]:
    """Without the node at ``at`` where its two edges are pieces of one; else as they are."""
    if len(nodes) < 4:
        return nodes
    count = len(nodes)
    a, n, b = nodes[at - 1], nodes[at], nodes[(at + 1) % count]
    two = ring_of((a, n, b))
    one, other = bool(two.curved[0]), bool(two.curved[1])
    if one != other:
        return nodes
    p, m, q = two.p0[0], two.p0[1], two.p0[2]
    left = nodes[:at] + nodes[at + 1 :]
    if not one:
        along = q - p
        length = float(np.hypot(*along))
        if length <= CLOSED:
            return nodes
        off = abs(float(along[0] * (m - p)[1] - along[1] * (m - p)[0])) / length
        part = float((m - p) @ along) / length**2
        return left if off <= 1e-7 and 0.0 < part < 1.0 else nodes
    into, out = two.p2[0] - m, two.p1[1] - m
    reach_in, reach_out = float(np.hypot(*into)), float(np.hypot(*out))
    if reach_in <= CLOSED or reach_out <= CLOSED:
        return nodes
    t = reach_in / (reach_in + reach_out)
    control_a = p + (two.p1[0] - p) / t
    control_b = q + (two.p2[1] - q) / (1.0 - t)
    whole = Ring(p[None], control_a[None], control_b[None], q[None])
    first, second = split_edge(whole, 0, t)
    drawn = np.array([getattr(two, name)[edge] for edge in (0, 1) for name in ("p0", "p1", "p2", "p3")])
    if float(np.abs(np.concatenate((first, second)) - drawn).max()) > 1e-7:
        return nodes
    ahead, behind = (at - 1) % count, (at + 1) % count
    whole_nodes = list(nodes)
    whole_nodes[ahead] = replace(a, handle_out=_offset(control_a - p))
    whole_nodes[behind] = replace(b, handle_in=_offset(control_b - q))
    del whole_nodes[at]
    return whole_nodes
