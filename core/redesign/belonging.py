"""Fin and rudder belong together: where their nodes coincide, or lie on the other's edge, they share a line.

An edit of one takes along what the other shares with it; the numbers are the same in both, bit for bit.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from msgspec.structs import replace

from core.design import Design, Node, Outline, Vector
from core.geometry.memo import IdentityMemo
from core.geometry.ring import nearest_on, point_on, ring_of
from core.kinds import RUDDERS, UPRIGHT
from core.redesign.design_edits import with_outlines
from core.redesign.outline_edits import insert_node
from core.stability.side_area import form_of
from core.stability.touching import TOUCH

NodeKey = tuple[str, int]
_ON = 1e-6
"""mm: a node this near to an edge lies on it."""
_LEAST_SHARE = 0.3
"""An edge of which less is shared is not led by what is shared of it."""


@dataclass(frozen=True)
class _Contact:
    """What another outline shares with one.

    ``i`` and ``e`` count nodes and edges of the one, ``j`` and ``f`` those of the other.
    """

    same: tuple[tuple[int, int], ...]
    """(i, j): nodes that coincide."""
    on: tuple[tuple[int, int, float], ...]
    """(j, e, t): nodes of the other on edges of the one."""
    tees: tuple[tuple[int, int, float], ...]
    """(i, f, t): nodes of the one on edges of the other."""


_contacts: IdentityMemo[_Contact] = IdentityMemo(64)


def belong(one: Outline, other: Outline) -> bool:
    """True if the two are a fin, of whichever kind, and a rudder of the same count."""
    return (
        one.kind in UPRIGHT and other.kind in UPRIGHT and one.count == other.count
        and (one.kind in RUDDERS) != (other.kind in RUDDERS)
    )


def _contact(one: Outline, other: Outline) -> _Contact:
    return _contacts.get((one, other), lambda: _found(one, other))


def _found(one: Outline, other: Outline) -> _Contact:
    same: list[tuple[int, int]] = []
    for i, a in enumerate(one.nodes):
        gaps = [(math.hypot(a.x - b.x, a.z - b.z), j) for j, b in enumerate(other.nodes)]
        gap, j = min(gaps, default=(math.inf, -1))
        if gap <= TOUCH and all(j != taken for _, taken in same):
            same.append((i, j))
    return _Contact(
        tuple(same),
        tuple(_resting(other, one, {j for _, j in same})),
        tuple(_resting(one, other, {i for i, _ in same})),
    )


def _resting(one: Outline, on: Outline, but: set[int]) -> Iterable[tuple[int, int, float]]:
    """(node, edge, t) of the nodes of ``one`` that lie on an edge of ``on``."""
    low_x, low_z, high_x, high_z = form_of(on).box
    for i, node in enumerate(one.nodes):
        inside = low_x - 1 <= node.x <= high_x + 1 and low_z - 1 <= node.z <= high_z + 1
        if i in but or not inside:
            continue
        edge, t, gap = nearest_on(form_of(on).ring, node.x, node.z)
        if gap <= TOUCH and 0.0 < t < 1.0:
            yield i, edge, t


def joined(design: Design, outline: Outline) -> list[Outline]:
    """The outlines that share nodes with ``outline`` and go along with it; none that is locked or hidden."""
    found = []
    for other in design.outlines:
        if other.id != outline.id and not other.locked and not other.hidden and belong(outline, other):
            contact = _contact(outline, other)
            if contact.same or len(contact.on) + len(contact.tees) > 1:
                found.append(other)
    return found


def whole_group(design: Design, ids: Collection[str]) -> tuple[str, ...]:
    """``ids`` with those that belong to them, in the design's order: moved whole, they go together."""
    wanted = set(ids)
    for outline in design.outlines:
        if outline.id in ids:
            wanted |= {other.id for other in joined(design, outline)}
    return tuple(o.id for o in design.outlines if o.id in wanted)


def nodes_with(design: Design, nodes: Collection[NodeKey]) -> frozenset[NodeKey]:
    """``nodes`` (outline id, index) with those that go along because they coincide.

    What shares an edge alone is there with the index −1.
    """
    found = set(nodes)
    for outline in design.outlines:
        picked = {i for owner, i in nodes if owner == outline.id}
        for other in joined(design, outline) if picked else ():
            contact = _contact(outline, other)
            found |= {(other.id, j) for i, j in contact.same if i in picked}
            found.add((other.id, -1))
    return frozenset(found)


def is_shared(design: Design, outline: Outline, edge: int) -> bool:
    """True if an outline that belongs to this one runs along that edge: it is the hinge, or part of it."""
    ends = {edge, (edge + 1) % len(outline.nodes)}
    for other in joined(design, outline):
        contact = _contact(outline, other)
        touching = {i for i, _ in contact.same} | {i for i, _, _ in contact.tees}
        if len(ends & touching) + sum(e == edge for _, e, _ in contact.on) >= 2:
            return True
    return False


def with_partners(design: Design, changed: Mapping[str, Outline]) -> Design:
    """``design`` with the ``changed`` outlines (by id, same nodes in the same order) and what goes along.

    Where two of them moved the same place the earlier in ``changed`` holds.
    """
    made = dict(changed)
    moved = {i: _moved(design.outline(i), outline) for i, outline in changed.items()}
    order = list(changed)
    for turn, outline_id in enumerate(order):
        before = design.outline(outline_id)
        for other in joined(design, before):
            now, held = made.get(other.id, other), moved.get(other.id, frozenset())
            # Of what both moved the earlier one has said already where it is.
            told = {i for i, j in _contact(before, other).same if j in held and other.id in order[:turn]}
            if len(now.nodes) == len(other.nodes):
                led = moved[outline_id] - told
                made[other.id] = _follow(before, made[outline_id], other, now, led, held)
    return with_outlines(design, made)


def _moved(before: Outline, after: Outline) -> frozenset[int]:
    return frozenset(i for i, (a, b) in enumerate(zip(before.nodes, after.nodes, strict=True)) if a != b)


def _follow(
    before: Outline, after: Outline, other: Outline, now: Outline, moved: frozenset[int], held: frozenset[int]
) -> Outline:
    """``now`` of the ``other`` outline, led by what ``after`` made of ``before``.

    ``moved`` nodes of the one and ``held`` ones of the other were moved by hand.
    """
    contact = _contact(before, other)
    nodes = list(now.nodes)
    # A handle alone moves no place, not even by what the two lay off each other.
    placed = {
        i for i in moved
        if (before.nodes[i].x, before.nodes[i].z) != (after.nodes[i].x, after.nodes[i].z)
    }
    count, size = len(before.nodes), len(nodes)
    for i, j in contact.same:
        if i in placed:
            nodes[j] = replace(nodes[j], x=after.nodes[i].x, z=after.nodes[i].z)
    _share_handles(before, after, other, nodes, contact, moved)
    for j, e, t in contact.on:
        a, b = after.nodes[e], after.nodes[(e + 1) % count]
        curved = a.handle_out is not None or b.handle_in is not None
        if j not in held and (moved if curved else placed) & {e, (e + 1) % count}:
            nodes[j] = _on_edge(nodes[j], after, e, t)
    let_in: list[tuple[int, float, Node]] = []
    for f in {f for _, f, _ in contact.tees}:
        anchors = sorted(
            [(t, i) for i, g, t in contact.tees if g == f]
            + [(0.0, i) for i, j in contact.same if j == f]
            + [(1.0, i) for i, j in contact.same if j == (f + 1) % size]
        )
        if not placed & {i for _, i in anchors} or len(anchors) < 2:
            continue
        _lay(nodes, f, anchors, after, contact, held)
        a, b = nodes[f], nodes[(f + 1) % size]
        for t, i in anchors:
            place = after.nodes[i]
            # Not under a hand that holds nodes of it by their numbers.
            if i in placed and 0.0 < t < 1.0 and not held and _off(a, b, place) > _ON:
                let_in.append((f, t, place))
    made = replace(now, nodes=tuple(nodes))
    # From the end, so that the numbers of the edges still hold.
    for f, t, place in sorted(let_in, key=lambda one: one[:2], reverse=True):
        made = insert_node(made, f, t)
        put = replace(made.nodes[f + 1], x=place.x, z=place.z)
        made = replace(made, nodes=(*made.nodes[: f + 1], put, *made.nodes[f + 2 :]))
    return made


def _on_edge(node: Node, after: Outline, edge: int, t: float) -> Node:
    """A node that lay at ``t`` of an edge, on the edge as it is now: where it is nearest to where it was."""
    a, b = after.nodes[edge], after.nodes[(edge + 1) % len(after.nodes)]
    if a.handle_out is not None or b.handle_in is not None:
        x, z = point_on(ring_of(after.nodes), edge, t).tolist()
        return replace(node, x=x, z=z)
    dx, dz = b.x - a.x, b.z - a.z
    length2 = dx * dx + dz * dz
    if length2 > 1e-12:
        foot = ((node.x - a.x) * dx + (node.z - a.z) * dz) / length2
        if 0.0 < foot < 1.0:
            t = foot
        elif _off(a, b, node) <= TOUCH:
            # The edge ends short of it now, on the same line.
            return node
    return replace(node, x=a.x + t * dx, z=a.z + t * dz)


def _lay(
    nodes: list[Node], f: int, anchors: list[tuple[float, int]], after: Outline, contact: _Contact,
    held: frozenset[int],
) -> None:
    """Lay a straight edge that reaches beyond what is shared of it along the line of the shared part."""
    size = len(nodes)
    ends = {0.0: f, 1.0: (f + 1) % size}
    (ta, ia), (tb, ib) = anchors[0], anchors[-1]
    straight = nodes[f].handle_out is None and nodes[ends[1.0]].handle_in is None
    if not straight or tb - ta < _LEAST_SHARE:
        return
    one, two = after.nodes[ia], after.nodes[ib]
    along = (two.x - one.x, two.z - one.z)
    length2 = along[0] ** 2 + along[1] ** 2
    fast = {j for _, j in contact.same} | {j for j, _, _ in contact.on} | set(held)
    for j in ends.values():
        if j not in fast and length2 > 1e-12:
            share = ((nodes[j].x - one.x) * along[0] + (nodes[j].z - one.z) * along[1]) / length2
            nodes[j] = replace(nodes[j], x=one.x + share * along[0], z=one.z + share * along[1])


def _off(a: Node, b: Node, place: Node) -> float:
    length = math.hypot(b.x - a.x, b.z - a.z)
    if length < 1e-12:
        return math.hypot(place.x - a.x, place.z - a.z)
    return abs((b.x - a.x) * (place.z - a.z) - (b.z - a.z) * (place.x - a.x)) / length


def _share_handles(
    before: Outline, after: Outline, other: Outline, nodes: list[Node], contact: _Contact,
    moved: frozenset[int],
) -> None:
    """Edges that the two have in common bend alike, whichever way round each is drawn."""
    where = dict(contact.same)
    count, size = len(before.nodes), len(nodes)
    for i, j in contact.same:
        nxt = (i + 1) % count
        if nxt not in where or not moved & {i, nxt}:
            continue
        k = where[nxt]
        a, b = before.nodes[i], before.nodes[nxt]
        c, d = other.nodes[j], other.nodes[k]
        out, back = after.nodes[i].handle_out, after.nodes[nxt].handle_in
        if (j + 1) % size == k and _near(a.handle_out, c.handle_out) and _near(b.handle_in, d.handle_in):
            nodes[j], nodes[k] = replace(nodes[j], handle_out=out), replace(nodes[k], handle_in=back)
        elif (k + 1) % size == j and _near(a.handle_out, c.handle_in) and _near(b.handle_in, d.handle_out):
            nodes[j], nodes[k] = replace(nodes[j], handle_in=out), replace(nodes[k], handle_out=back)


def _near(one: Vector | None, other: Vector | None) -> bool:
    return math.dist(one or (0.0, 0.0), other or (0.0, 0.0)) <= TOUCH
