"""A half-drawn outline between the tracing hand and what is kept of it, and carried along with its scan."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from app.canvas.tools.draft import NO_DRAFT, Draft
from app.canvas.tools.hand import Point
from app.canvas.tools.inking import Way
from app.work.half_trace import HalfChoice, HalfPlace, HalfRound, HalfTrace, HalfWay
from core.design import Design, Node
from core.ink.pulling import Choice, Pull, flipped
from core.kinds import Kind
from core.redesign.scan_edits import Size, scan_under
from core.scan_map import mm_of, pixels_of

_FINE = 4
"""Decimals in mm of what is fitted anew in any case: a tenth of a micrometre."""
Place = Callable[[float, float], Point]
Array = NDArray[np.float64]


def half_of(draft: Draft, kind: Kind) -> HalfTrace:
    """The clicks of an open draft."""
    return HalfTrace(
        kind,
        tuple(HalfPlace(place.node, place.pinned) for place in draft.places),
        tuple(None if way is None else HalfWay(_fine(way.points), way.found) for way in draft.ways),
    )


def draft_of(half: HalfTrace) -> Draft:
    """The draft as it was, with every step to go back by."""
    draft = NO_DRAFT
    for i, place in enumerate(half.places):
        way = half.ways[i - 1] if i else None
        led = None if way is None else Way(way.points, way.found)
        node = place.node
        draft = draft.with_place(node.x, node.z, led, pinned=place.pinned).with_last(node)
    return draft


def half_round(
    line: tuple[Point, ...], pull: Pull | None, nodes: tuple[Node, ...] | None, *, as_drawn: bool
) -> HalfRound:
    """A line round a shape; ``pull`` None where it is still on its way to the ink."""
    if pull is None or as_drawn:
        return HalfRound(_fine(line), nodes=nodes, as_drawn=as_drawn)
    first = pull.unflipped or pull
    return HalfRound(
        _fine(line), _rows(first.points),
        tuple(HalfChoice(c.first, c.last, _rows(c.other)) for c in first.choices),
        first.bare, tuple(sorted(pull.taken)), nodes,
    )


def pull_of(half: HalfRound) -> Pull | None:
    """What it was pulled on to, every choice as it was taken; None where it was not yet."""
    if half.as_drawn:
        return Pull(np.array(half.line), (), ())
    if not half.points:
        return None
    pull = Pull(
        np.array(half.points), tuple(Choice(c.first, c.last, np.array(c.other)) for c in half.choices),
        half.bare,
    )
    for k in half.taken:
        pull = flipped(pull, k)
    return pull


def _fine(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((round(x, _FINE), round(z, _FINE)) for x, z in points)


def _rows(points: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(z)) for x, z in np.round(points, _FINE))


# Carried along


def carrier(before: Design, after: Design, at: Point, sizes: dict[str, Size]) -> Place | None:
    """How what is half drawn at ``at`` goes along from one state of the design to another; None: it stays.

    It stays on the pixels of the scan that it lies on, as what is traced does. Without a scan it goes
    with the outlines, where all of them were shifted alike: the datum was set.
    """
    if before.scans == after.scans:
        return None if before.scans else _shift(before, after)
    under = scan_under(before, *at, sizes)
    old, new = (next((s for s in d.scans if s.id == under), None) for d in (before, after))
    if old is None or new is None or (old.to_mm, old.lens) == (new.to_mm, new.lens):
        return None

    def place(x: float, z: float) -> Point:
        found = mm_of(new, pixels_of(old, np.array((x, z))))[0]
        # What the photograph's horizon takes stays where it was, to be seen.
        return (float(found[0]), float(found[1])) if np.isfinite(found).all() else (x, z)

    return place


def _shift(before: Design, after: Design) -> Place | None:
    pairs = list(zip(before.outlines, after.outlines, strict=False))
    if not pairs or len(before.outlines) != len(after.outlines):
        return None
    dx = pairs[0][1].nodes[0].x - pairs[0][0].nodes[0].x
    dz = pairs[0][1].nodes[0].z - pairs[0][0].nodes[0].z
    for one, other in pairs:
        if one.id != other.id or len(one.nodes) != len(other.nodes):
            return None
        gaps = ((b.x - a.x - dx, b.z - a.z - dz) for a, b in zip(one.nodes, other.nodes, strict=True))
        if any(abs(gap) > 1e-6 for pair in gaps for gap in pair):
            return None
    return (lambda x, z: (x + dx, z + dz)) if dx or dz else None


def carried(half: HalfTrace, place: Place) -> HalfTrace:
    """The half-drawn outline with every point of it where ``place`` says; a handle goes with its end."""

    def points(line: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple(place(x, z) for x, z in line)

    def node(old: Node) -> Node:
        x, z = place(old.x, old.z)
        ends = [place(old.x + h[0], old.z + h[1]) if h else None for h in (old.handle_in, old.handle_out)]
        one, other = ((end[0] - x, end[1] - z) if end else None for end in ends)
        return Node(x=x, z=z, handle_in=one, handle_out=other)

    old = half.round
    return HalfTrace(
        half.kind, tuple(HalfPlace(node(p.node), p.pinned) for p in half.places),
        tuple(None if way is None else HalfWay(points(way.points), way.found) for way in half.ways),
        None if old is None else HalfRound(
            points(old.line), points(old.points),
            tuple(HalfChoice(c.first, c.last, points(c.other)) for c in old.choices), old.bare, old.taken,
            None if old.nodes is None else tuple(node(n) for n in old.nodes), old.as_drawn,
        ),
    )
