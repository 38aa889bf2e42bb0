"""A half-drawn outline: every step returns a new one that knows the one before it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import msgspec

from app.canvas.tools.hand import Bench, Point
from app.canvas.tools.inking import Stretch, Way
from app.work.selection import Selection
from core.design import Design, Node, Outline
from core.geometry.ring import flatten, ring_of
from core.kinds import Kind
from core.redesign.design_edits import add_outline, fresh_id
from core.redesign.outline_edits import own_label

Fits = Mapping[Stretch, tuple[Node, ...]]
Piece = tuple[Node, ...] | Way
"""Nodes and the edges between them, or ink that is not fitted yet."""


@dataclass(frozen=True)
class Place:
    """A click: its node, and whether that is ``pinned``, which is where no ink was followed."""

    node: Node
    pinned: bool = True


@dataclass(frozen=True)
class Draft:
    """The clicks so far, and what leads from each to the next: ink (a way) or an edge of its own (None).

    A ``closed`` one has a last edge back to the first place. ``before`` is the draft as it was one step
    earlier, None where there is none.
    """

    places: tuple[Place, ...] = ()
    ways: tuple[Way | None, ...] = ()
    closed: bool = False
    before: Draft | None = None

    def with_place(self, x: float, z: float, way: Way | None = None, *, pinned: bool = True) -> Draft:
        """One more place, along ``way`` or by a straight edge."""
        ways = (*self.ways, way) if self.places else ()
        return Draft((*self.places, Place(Node(x=x, z=z), pinned)), ways, False, self)

    def with_pull(self, dx: float, dz: float) -> Draft:
        """The last place given handles, ``out`` at (dx, dz) mm and ``in`` opposite; the same step."""
        last = self.places[-1].node
        node = Node(x=last.x, z=last.z, handle_in=(-dx, -dz), handle_out=(dx, dz))
        return replace(self, places=(*self.places[:-1], Place(node)))

    def with_last(self, node: Node) -> Draft:
        """The last place at ``node``; the same step."""
        return replace(self, places=(*self.places[:-1], replace(self.places[-1], node=node)))

    def with_pull_home(self, dx: float, dz: float) -> Draft:
        """The first place given the way in that closing it pulled out; the same step."""
        first = self.places[0].node
        bent = Node(x=first.x, z=first.z, handle_in=(-dx, -dz), handle_out=first.handle_out)
        return replace(self, places=(replace(self.places[0], node=bent), *self.places[1:]))

    def closed_by(self, way: Way | None) -> Draft:
        """The draft with its last edge, back to the first place."""
        return Draft(self.places, (*self.ways, way), True, self)

    @property
    def closable(self) -> bool:
        """Whether it has enough places for an outline."""
        curved = any(way is not None for way in self.ways) or any(
            place.node.handle_in or place.node.handle_out for place in self.places
        )
        return len(self.places) >= (2 if curved else 3)

    # What was followed, as a whole

    def _turned(self, gone: Collection[Way]) -> tuple[tuple[Place, ...], tuple[Way | None, ...]]:
        """(places, ways) as an open run; a closed one begins at a place that no ink leads to.

        Its first place comes again at the end. Where ink leads to all of them it begins at 0.
        """
        ways = tuple(None if way in gone else way for way in self.ways)
        if not self.closed:
            return self.places, ways
        start = next((i for i in range(len(ways)) if ways[i - 1] is None), 0)
        places = (*self.places[start:], *self.places[:start], self.places[start])
        return places, (*ways[start:], *ways[:start])

    def stretches(self, gone: Collection[Way] = ()) -> tuple[Stretch, ...]:
        """What is to be fitted; ways that are ``gone`` are straight edges."""
        places, ways = self._turned(gone)
        out, i = [], 0
        while i < len(ways):
            j = _until(ways, i)
            if j > i:
                out.append(self._stretch(places, ways, i, j))
            i = max(j, i + 1)
        return tuple(out)

    def _stretch(self, places: Sequence[Place], ways: Sequence[Way | None], i: int, j: int) -> Stretch:
        picked = tuple(way for way in ways[i:j] if way is not None)
        if self.closed and len(picked) == len(self.places):
            return Stretch(picked, closed=True)
        return Stretch(picked, pinned=(places[i].pinned, places[j].pinned))

    def _pieces(self, fits: Fits, gone: Collection[Way]) -> list[Piece]:
        """The draft in order of travel: edges, fitted stretches, and ink that is not fitted yet."""
        places, ways = self._turned(gone)
        out: list[Piece | int] = []
        # A fit that is not pinned may have moved its end: the edge beside it goes there too.
        nodes = [place.node for place in places]
        i = 0
        while i < len(ways):
            j = _until(ways, i)
            if j == i:
                out.append(i)
                i += 1
                continue
            # As much of it as was fitted together, be it before the last click.
            for k in range(j, i, -1):
                run = fits.get(self._stretch(places, ways, i, k))
                if run is not None:
                    closed = self.closed and k - i == len(self.places)
                    out.append((*run, run[0]) if closed else run)
                    for at, end in ((i, run[0]), (k, run[-1])):
                        nodes[at] = msgspec.structs.replace(nodes[at], x=end.x, z=end.z)
                    i = k
                    break
            out += [way for way in ways[i:j] if way is not None]
            i = j
        if self.closed:
            # It begins where no ink leads to: only its beginning can have been moved.
            nodes[-1] = msgspec.structs.replace(nodes[-1], x=nodes[0].x, z=nodes[0].z)
        pieces: list[Piece] = [
            (nodes[piece], nodes[piece + 1]) if isinstance(piece, int) else piece for piece in out
        ]
        return pieces or [tuple(nodes)]

    def nodes(self, fits: Fits, gone: Collection[Way] = ()) -> tuple[Node, ...]:
        """The nodes as far as they are fitted; ink that is not counts as a straight edge.

        The nodes of a closed draft begin at its first place, or nearest to it.
        """
        made: list[Node] = []
        for piece in self._pieces(fits, gone):
            run = _ends(piece) if isinstance(piece, Way) else piece
            if made and run:
                made[-1] = _joined(made[-1], run[0])
                made += run[1:]
            else:
                made += run
        if not self.closed or len(made) < 2:
            return tuple(made)
        made[0] = _joined(made[-1], made[0])
        made.pop()
        first = self.places[0].node
        at = min(range(len(made)), key=lambda i: (made[i].x - first.x) ** 2 + (made[i].z - first.z) ** 2)
        return (*made[at:], *made[:at])

    def line(self, fits: Fits, gone: Collection[Way] = ()) -> tuple[Point, ...]:
        """Points along it, as far as it goes."""
        points: list[Point] = []
        for piece in self._pieces(fits, gone):
            run = piece.points if isinstance(piece, Way) else open_line(piece)
            points += run[1:] if points and run and points[-1] == run[0] else run
        return tuple(points)

    @property
    def last(self) -> Node:
        """The node of the last click."""
        return self.places[-1].node


NO_DRAFT = Draft()


def _until(ways: Sequence[Way | None], i: int) -> int:
    """Where the ink that begins at ``i`` ends; ``i`` itself where none does."""
    while i < len(ways) and ways[i] is not None:
        i += 1
    return i


def _ends(way: Way) -> tuple[Node, ...]:
    return tuple(Node(x=x, z=z) for x, z in (way.points[0], way.points[-1]))


def _joined(before: Node, after: Node) -> Node:
    """The node where two pieces meet."""
    return Node(x=after.x, z=after.z, handle_in=before.handle_in, handle_out=after.handle_out)


def open_line(nodes: tuple[Node, ...]) -> tuple[Point, ...]:
    """Points along the edges between the nodes, without the edge that would close them."""
    if len(nodes) < 2:
        return tuple((n.x, n.z) for n in nodes)
    # The edge that would close the ring must not be drawn: made straight, it flattens to no points.
    first = Node(x=nodes[0].x, z=nodes[0].z, handle_out=nodes[0].handle_out)
    last = Node(x=nodes[-1].x, z=nodes[-1].z, handle_in=nodes[-1].handle_in)
    return tuple((float(x), float(z)) for x, z in flatten(ring_of((first, *nodes[1:-1], last))))


def put_in(bench: Bench, nodes: tuple[Node, ...], name: str, kind: Kind | None = None) -> None:
    """A new outline of that kind, or of the one that is traced, selected and told of: one edit."""
    wanted = bench.tracing_kind if kind is None else kind
    made: list[str] = []

    def edit(design: Design) -> Design:
        new_id = fresh_id(design, wanted)
        made.append(new_id)
        label = own_label(wanted, {o.name for o in design.outlines})
        return add_outline(design, Outline(id=new_id, kind=wanted, nodes=nodes, label=label))

    bench.apply(name, edit)
    bench.select(Selection(outlines=(made[0],)))
    bench.traced(made[0])
