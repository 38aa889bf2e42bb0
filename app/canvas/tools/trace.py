"""The tracing hand: click for a corner, press and drag for a curve, follow the ink with a key held."""

from __future__ import annotations

import math

from app.canvas.snapping import Snap, held_straight
from app.canvas.tools import trace_view
from app.canvas.tools.draft import NO_DRAFT, Draft, put_in
from app.canvas.tools.halves import draft_of, half_of
from app.canvas.tools.hand import Bench, Cursor, Hand, Overlay, Pointer
from app.canvas.tools.inking import Trail, Way
from app.canvas.tools.once_round import OnceRound
from app.canvas.tools.tracing_ink import NO_TRAIL, TracingInk
from app.work.half_trace import HalfTrace
from core.design import Node
from core.kinds import Kind
from core.stability.side_area import is_thin

CLOSE_PX = 9.0
_PULL_PX = 4.0


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
    _kept_as: Kind | None = None
    """The kind of a line round that is kept while another hand is in use."""
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
    def undoable(self) -> bool:
        return self.busy or self._round.dropped or bool(self._abandoned.places)

    @property
    def redoable(self) -> bool:
        return bool(self._undone)

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
            return trace_view.empty_hint(kind)
        return trace_view.hint_of(self._trail_now() if self.following else None)

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
                self.bench.say(trace_view.TOO_FEW)
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
        self.keep_draft_as(self.bench.tracing_kind)

    def keep_draft_as(self, kind: Kind) -> None:
        """As ``keep_draft``, an outline of that kind: whichever hand is in use."""
        self._kept_as = kind
        self._round.accept_now()
        self._kept_as = None
        if not self._draft.closable:
            return
        if not self._draft.closed:
            self._open = self._draft
            self._draft = self._draft.closed_by(None)
        self._finishing = self._finishing or kind
        self._inked.finish_now(self._draft)
        self._put_in()

    def hand_over(self) -> None:
        if self._finishing is not None or self._round.acceptable:
            self.keep_draft()

    def leave(self) -> None:
        # What is half drawn stays: a slip on to another hand must not cost it.
        if self._draft.closed:
            self._reopen()
        self._round.put_by()
        self._inked.put_by()
        self._abandoned = NO_DRAFT
        self._at, self._pulling, self._closing, self._key_down = None, None, False, False

    def go_on(self) -> None:
        self._round.go_on()
        missing, ink = self._inked.missing(self._draft), self.bench.ink
        # Where the scan is still on its way there is nothing to fit it to.
        if missing and ink is not None and ink.lies_under(*missing[0].ways[0].points[0]):
            self._see_to()

    # Kept, and taken up again

    @property
    def pulling(self) -> bool:
        """True while the button is down on a handle, which goes with every move."""
        return self._pulling is not None

    @property
    def drawn(self) -> bool:
        """Whether anything is half drawn that is to be kept."""
        return bool(self._draft.places) or self._round.afoot

    def parts(self) -> tuple[object, ...]:
        """What ``half`` is made of: the same objects while nothing has changed."""
        return (self._clicks, *self._round.parts())

    @property
    def _clicks(self) -> Draft:
        """The clicks as they are while the draft is open."""
        return self._open if self._draft.closed else self._draft

    def half(self, kind: Kind) -> HalfTrace | None:
        """What is to be kept of what is half drawn; None where nothing is."""
        drawn_round = self._round.half()
        if drawn_round is not None:
            return HalfTrace(kind, round=drawn_round)
        return half_of(self._clicks, kind) if self._clicks.places else None

    def take_up(self, half: HalfTrace | None) -> None:
        """Have that on view in place of what there is; ``go_on`` has it fitted."""
        self._drop()
        if half is not None and half.round is not None:
            self._round.take_up(half.round)
        elif half is not None:
            self._draft = draft_of(half)

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
        last = self._draft.last if self._draft.places else None
        return trace_view.placed(self.bench, at, last, to_ink=to_ink, following=self.following)

    def _close(self) -> None:
        """The closed draft becomes an outline: now, or when it is fitted."""
        self._closing, self._finishing = False, self.bench.tracing_kind
        self._see_to()

    def _put_in(self) -> None:
        kind = self._finishing
        nodes = self._draft.nodes(self._inked.fits, self._inked.gone)
        fault = trace_view.fault_of(nodes)
        if fault:
            self._reopen()
            self.bench.say(fault)
            return
        clicks, before = self._clicks, self.bench.design
        self._drop()
        try:
            put_in(self.bench, nodes, f"trace {kind}", kind)
        except Exception:
            if self.bench.design is before:
                self._draft = clicks
            raise

    def _rounded(self, nodes: tuple[Node, ...]) -> bool:
        """A line drawn round a shape becomes an outline; false, and said, where it has no area."""
        if len(nodes) < 2 or is_thin(nodes):
            self.bench.say(trace_view.NO_WIDTH_ROUND)
            return False
        kind = self._kept_as or self.bench.tracing_kind
        put_in(self.bench, nodes, f"trace {kind}", kind)
        return True

    def overlay(self) -> Overlay:
        if self._round.busy:
            return self._round.overlay()
        at = self._at
        if not self._draft.places:
            return trace_view.overlay_of(at, None)
        first = self._draft.places[0].node
        closing = bool(at and self._draft.closable and (at.x, at.z) == (first.x, first.z))
        return trace_view.overlay_of(at, trace_view.View(
            self._draft, self._inked, self._trail_now(), closing=closing, pulling=self.pulling,
            finishing=self._finishing is not None, scale=self.bench.view.scale,
            units=self.bench.design.display_units,
        ))

    def cursor(self) -> Cursor:
        return "node" if self._round.over is not None else "cross"
