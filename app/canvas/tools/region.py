"""The region hand: a click takes one closed drawn shape, a loop drawn round a side view its outer outline."""

from __future__ import annotations

import math

from app.canvas.tools.draft import put_in
from app.canvas.tools.hand import NO_OVERLAY, Cursor, Hand, Label, Overlay, Point, Pointer
from app.canvas.tools.inking import Whole
from core.design import Node
from core.stability.side_area import is_thin
from core.units import format_length

GAP_MM = 1.0
MOST_GAP_MM = 20.0
LOOP_PX = 14.0
"""A hand that clicks strays by less."""
_STEP_PX = 4.0
_LINE = "that is a line without area. Click inside a drawn shape"


class RegionHand(Hand):
    """Takes the outline of what is drawn: with one click, or with a loop."""

    name = "region"
    label = "Region"
    letter = "R"
    icon = "hand-region"
    tip = "Click inside a closed drawn shape to take its outline, or draw a loop round a whole side view"

    gap = GAP_MM
    """Gaps in the line up to this many mm are bridged."""

    _pressed: Pointer | None = None
    _loop: tuple[Point, ...] = ()
    """As drawn so far, or as it is looked into."""
    _last: Pointer | None = None
    _looking = False
    _at: Point | None = None
    """Where was clicked, or what the last answer spoke of."""
    _asked = 0

    @property
    def busy(self) -> bool:
        return self._looking or self._pressed is not None

    def unusable(self) -> str:
        if self.bench.scan_sizes:
            return ""
        return "no scan is open" if self.bench.design.scans else "open a scan first"

    def hint(self) -> str:
        if self._looking:
            what = "drawing" if self._loop else "shape"
            return f"Looking for the edge of the {what}. Escape: stop looking."
        if self._drawing:
            return "Draw loosely round the whole side view and let go: its outer outline. Escape: no loop."
        gap = format_length(self.gap, self.bench.design.display_units)
        return (
            f"Click inside a drawn shape, or press and draw round a whole side view: its outline is the "
            f"{self.bench.tracing_kind}. Gaps up to {gap} are bridged. Escape: done."
        )

    @property
    def _drawing(self) -> bool:
        return len(self._loop) > 1 and not self._looking

    def press(self, at: Pointer) -> None:
        if self.bench.ink is None:
            self.bench.say("There is no scan to take an outline from: open one first.")
            return
        self._stop()
        self._pressed = at

    def move(self, at: Pointer, held: bool) -> None:
        start = self._pressed
        if start is None or not held:
            return
        if not self._loop and math.dist((at.px, at.py), (start.px, start.py)) < LOOP_PX:
            return
        last = self._last or start
        if not self._loop:
            self._loop = ((start.x, start.z),)
        if math.dist((at.px, at.py), (last.px, last.py)) >= _STEP_PX:
            self._loop, self._last = (*self._loop, (at.x, at.z)), at

    def release(self, at: Pointer) -> None:
        start, ink = self._pressed, self.bench.ink
        self._pressed = self._last = None
        if start is None or ink is None:
            self._loop = ()
            return
        asked, self._looking = self._asked, True
        if len(self._loop) < 3:
            self._loop, self._at = (), (start.x, start.z)

            def shape_found(shape: tuple[Node, ...] | str) -> None:
                if asked == self._asked:
                    self._take(Whole((), shape) if isinstance(shape, str) else Whole(shape))

            ink.region(start.x, start.z, self.gap, shape_found)
        else:

            def whole_found(whole: Whole) -> None:
                if asked == self._asked:
                    self._take(whole)

            ink.whole(self._loop, self.gap, whole_found)

    def _take(self, whole: Whole) -> None:
        kind = self.bench.tracing_kind
        self._looking, self._loop, self._at = False, (), whole.at
        if not whole.nodes:
            self.bench.say(f"No outline was taken: {whole.words}.")
        elif is_thin(whole.nodes):
            self.bench.say(f"No outline was taken: {_LINE}.")
        else:
            put_in(self.bench, whole.nodes, f"trace {kind}", kind)
            if whole.words:
                self.bench.say(whole.words)

    def _stop(self) -> None:
        # What is on its way belongs to an earlier question.
        self._asked += 1
        if self._looking and self.bench.ink is not None:
            self.bench.ink.cancel()
        self._looking, self._loop, self._at = False, (), None
        self._pressed = self._last = None

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key != "Escape":
            return False
        if self._looking:
            self._stop()
            self.bench.say("The search for the shape was stopped.")
        elif self.busy:
            self._stop()
        else:
            self.bench.take_hand("edit")
        return True

    def undo(self) -> bool:
        if not self.busy:
            return False
        self._stop()
        return True

    def leave(self) -> None:
        self._stop()

    def overlay(self) -> Overlay:
        if self._loop:
            home = ((self._loop[-1], self._loop[0]),)
            return Overlay(
                draft=self._loop, guides=home, figure="looking for the outline" if self._looking else ""
            )
        if self._at is None:
            return NO_OVERLAY
        if self._looking:
            return Overlay(points=(self._at,), figure="looking for the edge")
        return Overlay(points=(self._at,), labels=(Label(*self._at, "open here", marked=True),))

    def cursor(self) -> Cursor:
        return "cross"
