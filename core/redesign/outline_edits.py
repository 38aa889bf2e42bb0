"""Edits of one outline. Each returns a new outline; the old one is untouched."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Sequence
from typing import Literal

import numpy as np
from msgspec.structs import replace

from core.design import Node, Outline, Vector
from core.geometry.ring import ring_of, signed_area, split_edge
from core.kinds import Kind

Side = Literal["in", "out"]
_STRAIGHT = math.radians(4.0)


class EditError(ValueError):
    """An edit that cannot be done; its text is one sentence for the person."""


def _with(outline: Outline, changed: dict[int, Node]) -> Outline:
    return replace(
        outline, nodes=tuple(changed.get(i, node) for i, node in enumerate(outline.nodes))
    )


def own_label(kind: Kind, taken: Collection[str]) -> str:
    """The label that the program gives: "Rudder", or "Rudder 2" and so on where others are called that."""
    names = {name.casefold() for name in taken}
    label, number = kind.capitalize(), 2
    while label.casefold() in names:
        label, number = f"{kind.capitalize()} {number}", number + 1
    return label


def change_kind(outline: Outline, kind: Kind, taken: Collection[str] = ()) -> Outline:
    """The outline as one of another kind; a label that the program gave goes with it.

    ``taken``: the names of the other outlines. A typed label stays, unless it reads just as the
    program's own would; so does no label at all.
    """
    own = re.fullmatch(rf"{outline.kind.capitalize()}( \d+)?", outline.label)
    if kind == outline.kind or not own:
        return replace(outline, kind=kind)
    return replace(outline, kind=kind, label=own_label(kind, taken))


def move_nodes(outline: Outline, indices: Collection[int], dx: float, dz: float) -> Outline:
    """The nodes at ``indices`` moved by (dx, dz) mm, their handles with them."""
    return _with(
        outline,
        {
            i: replace(outline.nodes[i], x=outline.nodes[i].x + dx, z=outline.nodes[i].z + dz)
            for i in indices
        },
    )


def place_node(outline: Outline, index: int, x: float, z: float) -> Outline:
    """One node put at (x, z) mm."""
    return _with(outline, {index: replace(outline.nodes[index], x=x, z=z)})


def is_smooth(node: Node) -> bool:
    """Whether the two handles lie in one line, so that the outline runs through without a corner."""
    if node.handle_in is None or node.handle_out is None:
        return False
    (ux, uz), (vx, vz) = node.handle_in, node.handle_out
    if (ux == 0 and uz == 0) or (vx == 0 and vz == 0):
        return False
    turn = math.atan2(ux * vz - uz * vx, -(ux * vx + uz * vz))
    return abs(turn) < _STRAIGHT


def move_handle(outline: Outline, index: int, side: Side, offset: Vector, *, alone: bool = False) -> Outline:
    """One handle put at ``offset`` mm from its node; at a smooth node the other turns with it.

    ``alone`` leaves the other handle where it is, which makes the node a corner.
    """
    node = outline.nodes[index]
    length = math.hypot(*offset)
    moved: Vector | None = offset if length > 1e-9 else None
    other = node.handle_out if side == "in" else node.handle_in
    if is_smooth(node) and not alone and moved is not None and other is not None:
        reach = math.hypot(*other)
        other = (-offset[0] / length * reach, -offset[1] / length * reach)
    if side == "in":
        return _with(outline, {index: replace(node, handle_in=moved, handle_out=other)})
    return _with(outline, {index: replace(node, handle_in=other, handle_out=moved)})


def edge_normal(outline: Outline, edge: int) -> Vector:
    """Unit normal of the chord of an edge, pointing out of the outline; (0, 0) for no length."""
    a = outline.nodes[edge]
    b = outline.nodes[(edge + 1) % len(outline.nodes)]
    dx, dz = b.x - a.x, b.z - a.z
    length = math.hypot(dx, dz)
    if length < 1e-12:
        return 0.0, 0.0
    way = 1.0 if signed_area(ring_of(outline.nodes)) >= 0 else -1.0
    return way * dz / length, -way * dx / length


def move_edge(outline: Outline, edge: int, distance: float) -> Outline:
    """Both nodes of an edge moved by ``distance`` mm along its normal, outwards positive."""
    nx, nz = edge_normal(outline, edge)
    ends = {edge, (edge + 1) % len(outline.nodes)}
    return move_nodes(outline, ends, nx * distance, nz * distance)


def bend_edge(outline: Outline, edge: int, t: float, dx: float, dz: float) -> Outline:
    """An edge bent so that its point at ``t`` moves by (dx, dz) mm while its nodes stay."""
    t = min(max(t, 0.15), 0.85)
    s = 1.0 - t
    # Both control points move alike: their weights at t sum to 3 s t.
    px, pz = dx / (3 * s * t), dz / (3 * s * t)
    end = (edge + 1) % len(outline.nodes)
    a, b = outline.nodes[edge], outline.nodes[end]
    chord = (b.x - a.x, b.z - a.z)
    curved = a.handle_out is not None or b.handle_in is not None
    out = a.handle_out or ((0.0, 0.0) if curved else (chord[0] / 3, chord[1] / 3))
    into = b.handle_in or ((0.0, 0.0) if curved else (-chord[0] / 3, -chord[1] / 3))
    bent = _with(outline, {edge: replace(a, handle_out=(out[0] + px, out[1] + pz))})
    return _with(bent, {end: replace(bent.nodes[end], handle_in=(into[0] + px, into[1] + pz))})


def insert_node(outline: Outline, edge: int, t: float) -> Outline:
    """A node let into an edge at parameter ``t`` (0..1); the curve stays exactly as it was."""
    ring = ring_of(outline.nodes)
    nodes = list(outline.nodes)
    after = (edge + 1) % len(nodes)
    if not bool(ring.curved[edge]):
        a, b = nodes[edge], nodes[after]
        nodes.insert(edge + 1, Node(x=a.x + t * (b.x - a.x), z=a.z + t * (b.z - a.z)))
        return replace(outline, nodes=tuple(nodes))
    first, second = split_edge(ring, edge, t)
    nodes[edge] = replace(nodes[edge], handle_out=_offset(first[1] - first[0]))
    nodes[after] = replace(nodes[after], handle_in=_offset(second[2] - second[3]))
    middle = Node(
        x=float(second[0][0]), z=float(second[0][1]),
        handle_in=_offset(first[2] - first[3]), handle_out=_offset(second[1] - second[0]),
    )
    nodes.insert(edge + 1, middle)
    return replace(outline, nodes=tuple(nodes))


def _offset(vector: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector | None:
    x, z = float(vector[0]), float(vector[1])
    return None if x == 0.0 and z == 0.0 else (x, z)


def delete_nodes(outline: Outline, indices: Collection[int]) -> Outline:
    """The outline without those nodes. EditError when too few would be left."""
    left = tuple(node for i, node in enumerate(outline.nodes) if i not in set(indices))
    handles = any(node.handle_in or node.handle_out for node in left)
    if len(left) < (2 if handles else 3):
        raise EditError(
            f'"{outline.name}" would have {len(left)} nodes left; an outline needs three: '
            "delete the whole outline instead"
        )
    return replace(outline, nodes=left)


def make_corner(outline: Outline, indices: Iterable[int]) -> Outline:
    """The nodes at ``indices`` without handles. EditError where two nodes would have none left."""
    made = _with(
        outline, {i: replace(outline.nodes[i], handle_in=None, handle_out=None) for i in indices}
    )
    if len(made.nodes) < 3 and not any(node.handle_in or node.handle_out for node in made.nodes):
        raise EditError(
            f'"{outline.name}" has two nodes and would be left without a curve: insert a third node first'
        )
    return made


def make_smooth(outline: Outline, indices: Iterable[int]) -> Outline:
    """Handles at ``indices`` along the line between the two neighbours, a third of each edge long."""
    count = len(outline.nodes)
    changed: dict[int, Node] = {}
    for i in indices:
        node, before, after = outline.nodes[i], outline.nodes[i - 1], outline.nodes[(i + 1) % count]
        dx, dz = after.x - before.x, after.z - before.z
        length = math.hypot(dx, dz)
        if length < 1e-9:
            continue
        back = math.hypot(node.x - before.x, node.z - before.z) / 3
        on = math.hypot(after.x - node.x, after.z - node.z) / 3
        changed[i] = replace(
            node,
            handle_in=(-dx / length * back, -dz / length * back),
            handle_out=(dx / length * on, dz / length * on),
        )
    return _with(outline, changed)


Linear = tuple[float, float, float, float]
"""Rows (a, b, c, d) of x' = a x + b z, z' = c x + d z."""


def transform(outline: Outline, linear: Linear, shift: Vector, about: Vector = (0.0, 0.0)) -> Outline:
    """Every node mapped by p' = L (p − about) + about + shift, handles by L alone."""
    a, b, c, d = linear

    def turned(vector: Vector) -> Vector:
        return a * vector[0] + b * vector[1], c * vector[0] + d * vector[1]

    nodes = []
    for node in outline.nodes:
        x, z = turned((node.x - about[0], node.z - about[1]))
        nodes.append(
            Node(
                x=x + about[0] + shift[0], z=z + about[1] + shift[1],
                handle_in=turned(node.handle_in) if node.handle_in else None,
                handle_out=turned(node.handle_out) if node.handle_out else None,
            )
        )
    return replace(outline, nodes=tuple(nodes))


def translate(outline: Outline, dx: float, dz: float) -> Outline:
    """The whole outline moved by (dx, dz) mm."""
    return move_nodes(outline, range(len(outline.nodes)), dx, dz)


def scale_about(outline: Outline, about: Vector, sx: float, sz: float) -> Outline:
    """The outline scaled by (sx, sz) about a point."""
    return transform(outline, (sx, 0.0, 0.0, sz), (0.0, 0.0), about)


def mirror(outline: Outline, axis: Literal["x", "z"], at: float) -> Outline:
    """Mirrored along ``axis`` about the line where that coordinate is ``at`` mm; order of nodes kept."""
    if axis == "x":
        return transform(outline, (-1.0, 0.0, 0.0, 1.0), (0.0, 0.0), (at, 0.0))
    return transform(outline, (1.0, 0.0, 0.0, -1.0), (0.0, 0.0), (0.0, at))


def root_of(outlines: Sequence[Outline]) -> Vector:
    """The point about which a tail is scaled: the middle of the lowest edge of those outlines.

    Of every outline the edge whose ends lie lowest; the middle of all those that lie within a
    tenth of the whole height of the lowest one, so that a fin and its rudder share a root.
    """
    edges: list[tuple[float, float, float]] = []
    low, high = math.inf, -math.inf
    for outline in outlines:
        pairs = zip(outline.nodes, (*outline.nodes[1:], outline.nodes[0]), strict=True)
        a, b = min(pairs, key=lambda ends: ends[0].z + ends[1].z)
        edges.append(((a.z + b.z) / 2, min(a.x, b.x), max(a.x, b.x)))
        low = min(low, *(n.z for n in outline.nodes))
        high = max(high, *(n.z for n in outline.nodes))
    lowest = min(z for z, _, _ in edges)
    near = [e for e in edges if e[0] <= lowest + 0.1 * (high - low)]
    return (min(e[1] for e in near) + max(e[2] for e in near)) / 2, lowest
