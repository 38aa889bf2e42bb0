"""The tracing hand: click for a corner, press and drag for a curve, close on the first node."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from app.canvas.snapping import Snap, held_straight, snap
from app.canvas.tools.hand import Cursor, Hand, Overlay, Pointer
from app.selection import Selection
from core.design import Design, Node, Outline
from core.geometry.ring import flatten, ring_of
from core.redesign.design_edits import add_outline, fresh_id
from core.units import format_angle, format_length

CLOSE_PX = 9.0
_PULL_PX = 4.0


@dataclass(frozen=True)
class Draft:
    """A half-drawn outline; every step returns a new one."""

    nodes: tuple[Node, ...] = ()

    def with_corner(self, x: float, z: float) -> Draft:
        """One more node without handles."""
        return Draft((*self.nodes, Node(x=x, z=z)))

    def with_pull(self, dx: float, dz: float) -> Draft:
        """The last node given handles, ``out`` at (dx, dz) mm and ``in`` opposite."""
        last = self.nodes[-1]
        node = Node(x=last.x, z=last.z, handle_in=(-dx, -dz), handle_out=(dx, dz))
        return Draft((*self.nodes[:-1], node))

    def without_last(self) -> Draft:
        """One node fewer."""
        return Draft(self.nodes[:-1])

    @property
    def closable(self) -> bool:
        """Whether it has enough nodes for an outline."""
        curved = any(n.handle_in or n.handle_out for n in self.nodes)
        return len(self.nodes) >= (2 if curved else 3)


class TraceHand(Hand):
    """Traces a new outline."""

    name = "trace"
    label = "Trace"
    letter = "T"
    icon = "hand-trace"
    tip = "Trace an outline over the plan"

    _draft = Draft()
    _undone: tuple[Node, ...] = ()
    _at: Snap | None = None
    _pulling: tuple[float, float] | None = None
    _closing = False
    _open = Draft()
    _abandoned = Draft()
    """What Escape dropped, as long as nothing else was drawn: undo brings it back."""
    """The draft as it was before the press that is closing it."""

    @property
    def busy(self) -> bool:
        return bool(self._draft.nodes)

    def hint(self) -> str:
        kind = self.bench.tracing_kind
        if not self._draft.nodes:
            return (
                f"Tracing a {kind}: click along the line for corners, press and drag for curves. "
                "Shift: level, upright, 45°. Ctrl: no snapping."
            )
        return (
            "Click the first node or press Return to close. Backspace: last node. Escape: abandon. "
            "Shift: level, upright, 45°. Ctrl: no snapping."
        )

    def press(self, at: Pointer) -> None:
        place = self._place(at)
        if self._near_first(at) and self._draft.closable:
            self._closing, self._open = True, self._draft
            self._pulling = (self._draft.nodes[0].x, self._draft.nodes[0].z)
            return
        last = self._draft.nodes[-1] if self._draft.nodes else None
        if last is not None and math.hypot(place.x - last.x, place.z - last.z) < 1e-9:
            return
        self._draft = self._draft.with_corner(place.x, place.z)
        self._undone, self._abandoned = (), Draft()
        self._pulling = (place.x, place.z)

    def move(self, at: Pointer, held: bool) -> None:
        self._at = self._place(at)
        if not held or self._pulling is None:
            return
        x, z = (at.x, at.z) if not at.shift else held_straight(at.x, at.z, *self._pulling)
        dx, dz = x - self._pulling[0], z - self._pulling[1]
        if math.hypot(dx, dz) * self.bench.view.scale < _PULL_PX:
            return
        if self._closing:
            first = self._draft.nodes[0]
            bent = Node(x=first.x, z=first.z, handle_in=(-dx, -dz), handle_out=first.handle_out)
            self._draft = Draft((bent, *self._draft.nodes[1:]))
        else:
            self._draft = self._draft.with_pull(dx, dz)

    def release(self, at: Pointer) -> None:
        self._pulling = None
        if self._closing:
            self._close()

    def double(self, at: Pointer) -> None:
        # The first click of the pair has set a node here already: a double click ends on it.
        if self._draft.closable:
            self._close()

    def key(self, key: str, *, shift: bool = False) -> bool:
        if not self._draft.nodes:
            if key == "Escape":
                self.bench.take_hand("edit")
                return True
            return False
        if key == "Return":
            if self._draft.closable:
                self._close()
            else:
                self.bench.say("An outline needs at least three nodes, or two with curves.")
        elif key in ("Backspace", "Delete"):
            self._step_back()
        elif key == "Escape":
            abandoned = self._open if self._closing else self._draft
            self.leave()
            self._abandoned = abandoned
            self.bench.say("The trace is dropped: undo brings it back.")
        else:
            return False
        return True

    def _step_back(self) -> None:
        self._pulling = None
        if self._closing:
            self._closing, self._draft = False, self._open
            return
        self._undone = (*self._undone, self._draft.nodes[-1])
        self._draft = self._draft.without_last()

    def undo(self) -> bool:
        if not self._draft.nodes and self._abandoned.nodes:
            self._draft, self._abandoned = self._abandoned, Draft()
            return True
        if not self._draft.nodes:
            # From here on the design's own undo is walked back, and its redo comes first.
            self._undone = ()
            return False
        self._step_back()
        return True

    def redo(self) -> bool:
        if self._pulling is not None:
            return True
        if not self._undone:
            return False
        self._draft = Draft((*self._draft.nodes, self._undone[-1]))
        self._undone = self._undone[:-1]
        return True

    def keep_draft(self) -> None:
        if self._draft.closable:
            self._close()

    def leave(self) -> None:
        self._draft, self._undone, self._open = Draft(), (), Draft()
        self._abandoned = Draft()
        self._at, self._pulling, self._closing = None, None, False

    def _near_first(self, at: Pointer) -> bool:
        if not self._draft.nodes:
            return False
        first = self._draft.nodes[0]
        px, py = self.bench.view.to_px(first.x, first.z)
        return math.hypot(px - at.px, py - at.py) <= CLOSE_PX

    def _place(self, at: Pointer) -> Snap:
        if self._near_first(at) and self._draft.closable:
            first = self._draft.nodes[0]
            return Snap(first.x, first.z, "node")
        x, z = at.x, at.z
        if at.shift and self._draft.nodes:
            last = self._draft.nodes[-1]
            return Snap(*held_straight(x, z, last.x, last.z))
        return Snap(x, z) if at.ctrl else snap(self.bench.design, self.bench.view, x, z)

    def _close(self) -> None:
        kind = self.bench.tracing_kind
        nodes = self._draft.nodes
        self.leave()
        made: list[str] = []

        def edit(design: Design) -> Design:
            new_id = fresh_id(design, kind)
            made.append(new_id)
            number = new_id.rsplit("-", 1)[-1]
            label = kind.capitalize() + (f" {number}" if number.isdigit() else "")
            return add_outline(design, Outline(id=new_id, kind=kind, nodes=nodes, label=label))

        self.bench.apply(f"trace {kind}", edit)
        self.bench.select(Selection(outlines=(made[0],)))
        self.bench.traced(made[0])

    def overlay(self) -> Overlay:
        shown = Overlay(snap=self._at if self._at and self._at.to != "free" else None)
        nodes = self._draft.nodes
        if not nodes:
            return shown
        first, last = nodes[0], nodes[-1]
        closing = bool(
            self._at and self._draft.closable and (self._at.x, self._at.z) == (first.x, first.z)
        )
        line = nodes
        figure = ""
        if self._at is not None and self._pulling is None and not closing:
            line = (*nodes, Node(x=self._at.x, z=self._at.z))
            dx, dz = self._at.x - last.x, self._at.z - last.z
            units = self.bench.design.display_units
            length, turn = math.hypot(dx, dz), math.degrees(math.atan2(dz, dx))
            figure = f"{format_length(length, units)}  {format_angle(turn)}"
        elif closing:
            figure = "close"
        return replace(
            shown,
            draft=_open_line(line, closed=closing),
            draft_nodes=tuple((n.x, n.z) for n in nodes),
            draft_handles=tuple(
                ((n.x, n.z), (n.x + h[0], n.z + h[1]))
                for n in nodes[-1:] for h in (n.handle_in, n.handle_out) if h
            ),
            closing=closing, figure=figure,
        )

    def cursor(self) -> Cursor:
        return "cross"


def _open_line(nodes: tuple[Node, ...], *, closed: bool) -> tuple[tuple[float, float], ...]:
    if len(nodes) < 2:
        return tuple((n.x, n.z) for n in nodes)
    if closed:
        corners = flatten(ring_of(nodes))
        return (*((float(x), float(z)) for x, z in corners), (nodes[0].x, nodes[0].z))
    # The edge that would close the ring must not be drawn: made straight, it flattens to no points.
    ends = (replace_in(nodes[0]), *nodes[1:-1], replace_out(nodes[-1]))
    return tuple((float(x), float(z)) for x, z in flatten(ring_of(ends)))


def replace_in(node: Node) -> Node:
    """The node without its ``in`` handle."""
    return Node(x=node.x, z=node.z, handle_out=node.handle_out)


def replace_out(node: Node) -> Node:
    """The node without its ``out`` handle."""
    return Node(x=node.x, z=node.z, handle_in=node.handle_in)
