"""What is half drawn with the tracing hand, whichever hand is in use: kept, put by, taken up again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from app.canvas.kind_offer import KindOffer
from app.canvas.tools.halves import carried, carrier
from app.canvas.tools.hand import Hand, Overlay, Point
from app.canvas.tools.trace import TraceHand
from app.work.document import Document
from app.work.half_trace import HalfTrace
from core.design import Design
from core.redesign.scan_edits import Size

_KEPT = "The trace is kept: undo, or the tracing hand, goes on with it."


class Hands(Protocol):
    """The canvas, as far as it is needed: the hand in use, another one, a word."""

    @property
    def hand(self) -> Hand:
        """The one in use."""

    def take_hand(self, name: str) -> None:
        """Take another."""

    def say(self, sentence: str) -> None:
        """One sentence for the person."""


class HalfDrawn:
    """The document's holder of it. What is told of it is read off the hand each time."""

    def __init__(
        self, canvas: Hands, hand: Hand, document: Document, kinds: KindOffer,
        sizes: Callable[[Design], dict[str, Size]],
    ) -> None:
        assert isinstance(hand, TraceHand)
        self._canvas, self._hand, self._document = canvas, hand, document
        self._kinds, self._sizes = kinds, sizes
        self._kind = kinds.kind
        self._laid = document.committed
        """The state of the design that it lies in."""
        self._put_by: Design | None = None
        """The committed design when another hand was taken."""
        self._parts: tuple[object, ...] = ()
        self._half: HalfTrace | None = None
        self._told: HalfTrace | None = None
        document.holder = self

    # For the document

    def half(self) -> HalfTrace | None:
        """See ``Holder.half``."""
        self._follow()
        parts = (*self._hand.parts(), self._kind_now())
        same = len(parts) == len(self._parts) and all(
            one is other for one, other in zip(parts, self._parts, strict=True)
        )
        if not same:
            self._parts, self._half = parts, self._hand.half(self._kind)
        return self._half

    def take_up(self, half: HalfTrace | None) -> None:
        """See ``Holder.take_up``."""
        self._laid, self._put_by = self._document.committed, None
        if half is not None:
            self._kind = half.kind
            self._kinds.go_on_with(half.kind)
        self._hand.take_up(half)

    def _kind_now(self) -> str:
        if self._canvas.hand is self._hand:
            self._kind = self._kinds.kind
        return self._kind

    def _follow(self) -> None:
        """Have it lie where it belongs in the design of now."""
        before, now = self._laid, self._document.committed
        self._laid = now
        if before is now or not self._hand.drawn:
            return
        half = self._hand.half(self._kind)
        if half is None:
            return
        place = carrier(before, now, _first_of(half), self._sizes(before))
        if place is not None:
            self._hand.take_up(carried(half, place))

    # For the canvas

    def tell(self) -> None:
        """Have it kept, if it is another than before; not at every move of a handle."""
        if self._hand.pulling:
            return
        half = self.half()
        if half is not self._told:
            self._told = half
            self._document.trace_changed("canvas")

    def hand_taken(self, before: Hand) -> None:
        """Another hand than ``before`` is in use."""
        if not self._hand.drawn:
            return
        if before is self._hand:
            self._put_by = self._document.committed
            self._canvas.say(_KEPT)
        elif self._canvas.hand is self._hand:
            self._kinds.go_on_with(self._kind)
            self._hand.go_on()

    def go_on(self) -> None:
        """A scan has come, or the design is another: what is missing is asked for, if the hand is in use."""
        if self._canvas.hand is self._hand and self._hand.drawn:
            self._hand.go_on()

    @property
    def waits(self) -> bool:
        """True if it waits while another hand is in use."""
        return self._canvas.hand is not self._hand and self._hand.drawn

    @property
    def is_next(self) -> bool:
        """True if undo goes back to it, since nothing was done from the change of hand on."""
        document = self._document
        return self.waits and document.proposal is None and document.committed is self._put_by

    def go_back(self) -> bool:
        """Undo the change of hand; whether that was what came last."""
        if not self.is_next:
            return False
        self._canvas.take_hand(self._hand.name)
        self._canvas.say("You are tracing again, where you left off.")
        return True

    def keep_draft(self) -> None:
        """The window is about to close: it goes into the design, as far as that can be."""
        self._canvas.hand.keep_draft()
        if self.waits:
            self._kinds.go_on_with(self._kind)
            self._hand.keep_draft_as(self._kind)

    def overlay(self) -> Overlay | None:
        """How it looks while it waits; None where it does not."""
        return self._hand.overlay() if self.waits else None


def _first_of(half: HalfTrace) -> Point:
    return half.round.line[0] if half.round is not None else (half.places[0].node.x, half.places[0].node.z)
