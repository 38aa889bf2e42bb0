"""The tracing hand: click for a corner, press and drag for a curve, follow the ink with a key held."""

from __future__ import annotations

import math
from dataclasses import replace

from app.canvas.snapping import Snap, held_straight, snap
from app.canvas.tools.draft import NO_DRAFT, Draft, put_in
from app.canvas.tools.hand import Bench, Cursor, Hand, Overlay, Pointer
from app.canvas.tools.inking import Trail, Way
from app.canvas.tools.once_round import OnceRound
from app.canvas.tools.tracing_ink import NO_TRAIL, TracingInk, dashes
from core.design import Node
from core.kinds import Kind
from core.stability.side_area import is_thin
from core.units import format_angle, format_length

CLOSE_PX = 9.0
_PULL_PX = 4.0
_CAREFUL_PX = 3.0
_TOO_FEW = "An outline needs at least three nodes, or two with curves."
_NO_WIDTH = (
    "It runs back on itself and has no area: go round the other side, or take clicks back with Backspace."
)
_NO_WIDTH_ROUND = "On the ink it runs back on itself and has no area: undo brings the line back."


class TraceHand(Hand):
    """Traces a new outline."""

    name = "trace"
    label = "Trace"
    letter = "T"
    icon = "hand-trace"
    tip = "Trace an outline over the plan"

    latched = False
    """Whether the trace follows the ink without a key held."""
    ink_snap = False
    """Whether a single click near ink goes to the middle of the stroke; one that follows it always does.

    Not unasked: where lines run into one another at a small angle their meeting is told to 3 px of the
    screen, and a careful hand does better.
    """

    _draft = NO_DRAFT
    _undone: tuple[Draft, ...] = ()
    _at: Snap | None = None
    _pulling: tuple[float, float] | None = None
    _closing = False
    """Whether the button that closes the draft is still down."""
    _finishing: Kind | None = None
    """What the closed draft becomes as soon as it is fitted to the ink."""
    _open = NO_DRAFT
    """The draft as it was before it was closed."""
    _abandoned = NO_DRAFT
    """What Escape dropped, as long as nothing else was drawn: undo brings it back."""
    _key_down = False
    _straight = False
    """Whether Shift is down, which holds the line straight even where it follows."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._inked = TracingInk(bench, self._see_to)
        self._round = OnceRound(bench, self._rounded)

    @property
    def busy(self) -> bool:
        return bool(self._draft.places) or self._round.busy

    @property
    def following(self) -> bool:
        """Whether the trace follows the ink now, by the key or by the strip's button."""
        return (self._key_down or self.latched) and self.bench.ink is not None

    def hint(self) -> str:
        kind = self.bench.tracing_kind
        if self._round.busy:
            return self._round.hint()
        if self._finishing is not None:
            return f"Fitting the {self._finishing} to the ink… Backspace: open it again. Escape: drop it."
        if not self._draft.places:
            return (
                f"Tracing a {kind}: draw once round it with the button down; or click for corners, press and "
                "drag for curves, with F held along the ink. Shift: level, upright, 45°. Ctrl: no snapping."
            )
        if self.following:
            trail = self._trail_now()
            if isinstance(trail, str):
                return f"Straight from here: {trail}. Backspace: last step. Escape: abandon."
            if trail.doubt:
                return f"Unsure: {trail.doubt}. Click nearer, or let go of F. Backspace: last run."
            return (
                "Following the ink: click where it strays. First node, Return: close. Backspace: last run. "
                "Shift: straight."
            )
        return (
            "Click the first node or press Return to close. F held: follow the ink. Backspace: last step. "
            "Escape: abandon. Shift: level, upright, 45°. Ctrl: no snapping."
        )

    def press(self, at: Pointer) -> None:
        if self._round.pressed(at):
            return
        if self._finishing is not None or self._round.busy:
            self.bench.say("The outline before is still being fitted to the ink: a moment.")
            return
        self._straight = at.shift
        place = self._place(at, to_ink=self.following or self.ink_snap)
        if self._near_first(at) and self._draft.closable:
            self._closing = True
            self._shut()
            first = self._draft.places[0].node
            self._pulling = None if self._draft.ways[-1] is not None else (first.x, first.z)
            self._see_to()
            return
        if self._draft.places:
            last = self._draft.last
            if math.hypot(place.x - last.x, place.z - last.z) < 1e-9:
                return
        way = self._way_to(place.x, place.z)
        if not self._draft.places and not at.shift:
            self._round.begin(at)
        # Where ink is followed the fit finds out where on it an end lies.
        pinned = not (self.following and place.to == "ink")
        self._draft = self._draft.with_place(place.x, place.z, way, pinned=pinned)
        self._undone, self._abandoned = (), NO_DRAFT
        self._pulling = None if way is not None else (place.x, place.z)
        self._see_to()

    def move(self, at: Pointer, held: bool) -> None:
        self._straight = at.shift
        self._round.moved(at, held)
        # The trail shows where the ink is: to look for its middle as well, at every move, is too slow.
        trailing = self.following and self.busy
        self._at = self._place(at, to_ink=not trailing and (self.following or self.ink_snap))
        if not held or self._pulling is None:
            return
        x, z = (at.x, at.z) if not at.shift else held_straight(at.x, at.z, *self._pulling)
        dx, dz = x - self._pulling[0], z - self._pulling[1]
        if math.hypot(dx, dz) * self.bench.view.scale < _PULL_PX:
            return
        self._draft = self._draft.with_pull_home(dx, dz) if self._closing else self._draft.with_pull(dx, dz)

    def release(self, at: Pointer) -> None:
        self._pulling = None
        if self._round.end():
            self._clear()
        if self._closing:
            self._close()

    def double(self, at: Pointer) -> None:
        # The first click of the pair has set a node here already: a double click ends on it.
        if self._draft.closable and self._finishing is None:
            self._shut()
            self._close()

    def hold(self, down: bool) -> bool:
        self._key_down = down
        return True

    def key(self, key: str, *, shift: bool = False) -> bool:
        if self._round.afoot:
            return self._round.key(key)
        if not self._draft.places:
            if key == "Escape":
                self.bench.take_hand("edit")
                return True
            return False
        if key == "Return":
            if self._finishing is not None:
                return True
            if self._draft.closable:
                self._shut()
                self._close()
            else:
                self.bench.say(_TOO_FEW)
        elif key in ("Backspace", "Delete"):
            self._step_back()
        elif key == "Escape":
            abandoned = self._open if self._draft.closed else self._draft
            self._drop()
            self._abandoned = abandoned
            self.bench.say("The trace is dropped: undo brings it back.")
        else:
            return False
        return True

    def _step_back(self) -> None:
        self._pulling = None
        if self._draft.closed:
            self._reopen()
        else:
            self._undone = (*self._undone, self._draft)
            self._draft = self._draft.before or NO_DRAFT
        self._see_to()

    def undo(self) -> bool:
        if self._round.afoot:
            return self._round.key("Escape")
        if not self._draft.places and self._round.restore():
            return True
        if not self._draft.places and self._abandoned.places:
            self._draft, self._abandoned = self._abandoned, NO_DRAFT
            self._see_to()
            return True
        if not self._draft.places:
            # From here on the design's own undo is walked back, and its redo comes first.
            self._undone = ()
            return False
        self._step_back()
        return True

    def redo(self) -> bool:
        if self._round.afoot or self._pulling is not None or self._draft.closed:
            return True
        if not self._undone:
            return False
        self._draft = self._undone[-1]
        self._undone = self._undone[:-1]
        self._see_to()
        return True

    def keep_draft(self) -> None:
        self._round.accept_now()
        if not self._draft.closable:
            return
        if not self._draft.closed:
            self._open = self._draft
            self._draft = self._draft.closed_by(None)
        self._finishing = self._finishing or self.bench.tracing_kind
        self._inked.finish_now(self._draft)
        self._put_in()

    def hand_over(self) -> None:
        if self._finishing is not None or self._round.acceptable:
            self.keep_draft()

    def leave(self) -> None:
        self._drop()
        self._key_down = False

    def _drop(self) -> None:
        self._clear()
        self._round.forget()

    def _clear(self) -> None:
        """Nothing is left of the clicks."""
        self._draft, self._undone, self._open = NO_DRAFT, (), NO_DRAFT
        self._abandoned = NO_DRAFT
        self._at, self._pulling, self._closing, self._finishing = None, None, False, None
        self._inked.forget()

    # Along the ink

    def _way_to(self, x: float, z: float) -> Way | None:
        """The ink from the last node to (x, z); None where it is to be a straight edge."""
        ink = self.bench.ink
        if ink is None or not self.following or self._straight or not self._draft.places:
            return None
        last = self._draft.last
        way = self._inked.way(ink, (last.x, last.z), (x, z), 2.0 * CLOSE_PX / self.bench.view.scale)
        if isinstance(way, str):
            self.bench.say(f"The edge is straight: {way}.")
            return None
        return way

    def _shut(self) -> None:
        """Close the draft, along the ink if that is followed; closed already, it stays as it is."""
        if not self._draft.closed:
            self._open = self._draft
            first = self._draft.places[0].node
            self._draft = self._draft.closed_by(self._way_to(first.x, first.z))

    def _reopen(self) -> None:
        self._draft, self._closing, self._finishing = self._open, False, None

    def _see_to(self) -> None:
        """Have what was followed fitted; a closed draft goes into the design as soon as it is."""
        if self._inked.see_to(self._draft) and self._finishing is not None:
            self._put_in()

    def _trail_now(self) -> Trail | str:
        """The ink from the last node to the cursor, or why there is none; empty where none is followed."""
        ink, at = self.bench.ink, self._at
        if (
            ink is None or at is None or not self.following or self._straight or not self._draft.places
            or self._pulling is not None or self._draft.closed
        ):
            self._inked.forget_trail()
            return NO_TRAIL
        last = self._draft.last
        return self._inked.trail(ink, (last.x, last.z), (at.x, at.z))

    def _near_first(self, at: Pointer) -> bool:
        if not self._draft.places:
            return False
        first = self._draft.places[0].node
        px, py = self.bench.view.to_px(first.x, first.z)
        return math.hypot(px - at.px, py - at.py) <= CLOSE_PX

    def _place(self, at: Pointer, *, to_ink: bool) -> Snap:
        if self._near_first(at) and self._draft.closable:
            first = self._draft.places[0].node
            return Snap(first.x, first.z, "node")
        x, z = at.x, at.z
        if at.shift and self._draft.places:
            last = self._draft.last
            return Snap(*held_straight(x, z, last.x, last.z))
        if at.ctrl:
            return Snap(x, z)
        ink = self.bench.ink if to_ink else None
        place = snap(self.bench.design, self.bench.view, x, z, ink=ink.nearest if ink else None)
        off = math.hypot(place.x - x, place.z - z) * self.bench.view.scale
        if self.following and place.to == "ink" and off <= _CAREFUL_PX:
            # Where lines meet is told no better than that: a careful click is as good.
            return Snap(x, z, "ink")
        return place

    def _close(self) -> None:
        """The closed draft becomes an outline: now, or when it is fitted."""
        self._closing, self._finishing = False, self.bench.tracing_kind
        self._see_to()

    def _put_in(self) -> None:
        kind = self._finishing
        nodes = self._draft.nodes(self._inked.fits, self._inked.gone)
        if len(nodes) < (2 if any(n.handle_in or n.handle_out for n in nodes) else 3):
            self._reopen()
            self.bench.say(_TOO_FEW)
            return
        if is_thin(nodes):
            self._reopen()
            self.bench.say(_NO_WIDTH)
            return
        self._drop()
        put_in(self.bench, nodes, f"trace {kind}", kind)

    def _rounded(self, nodes: tuple[Node, ...]) -> bool:
        """A line drawn round a shape becomes an outline; false, and said, where it has no area."""
        if len(nodes) < 2 or is_thin(nodes):
            self.bench.say(_NO_WIDTH_ROUND)
            return False
        put_in(self.bench, nodes, f"trace {self.bench.tracing_kind}")
        return True

    def overlay(self) -> Overlay:
        if self._round.busy:
            return self._round.overlay()
        shown = Overlay(snap=self._at if self._at and self._at.to != "free" else None)
        if not self._draft.places:
            return shown
        drawn = self._inked.shown(self._draft)
        nodes, line = drawn.nodes, drawn.line
        if self._finishing is not None:
            places = tuple((n.x, n.z) for n in nodes)
            return Overlay(draft=line, draft_nodes=places, figure="fitting…")
        first, last = self._draft.places[0].node, self._draft.last
        at = self._at
        closing = bool(at and self._draft.closable and (at.x, at.z) == (first.x, first.z))
        trail = self._trail_now()
        figure, guides = "", shown.guides
        if not isinstance(trail, str) and trail.points:
            figure = "close along the ink" if closing else "along the ink"
            if trail.doubt:
                figure, guides = "unsure", dashes(trail.points, self.bench.view.scale)
            else:
                line = (*line, *trail.points)
        elif self._draft.closed or closing:
            line, figure = self._inked.line_home(self._draft), "close"
        elif at is not None and self._pulling is None:
            line = (*line, (at.x, at.z))
            dx, dz = at.x - last.x, at.z - last.z
            units = self.bench.design.display_units
            length, turn = math.hypot(dx, dz), math.degrees(math.atan2(dz, dx))
            figure = f"{format_length(length, units)}  {format_angle(turn)}"
        return replace(
            shown,
            draft=line, guides=guides,
            draft_nodes=tuple((n.x, n.z) for n in nodes),
            draft_handles=tuple(
                ((n.x, n.z), (n.x + h[0], n.z + h[1]))
                for n in nodes[-1:] for h in (n.handle_in, n.handle_out) if h
            ),
            closing=closing, figure=figure,
        )

    def cursor(self) -> Cursor:
        return "node" if self._round.over is not None else "cross"
