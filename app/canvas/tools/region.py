"""The region hand: a click inside a closed drawn shape, or on a filled one, takes its outline."""

from __future__ import annotations

from app.canvas.tools.draft import put_in
from app.canvas.tools.hand import NO_OVERLAY, Cursor, Hand, Overlay, Point, Pointer
from core.design import Node
from core.stability.side_area import is_thin
from core.units import format_length

GAP_MM = 1.0
MOST_GAP_MM = 20.0


class RegionHand(Hand):
    """Takes the outline of what is drawn, with one click."""

    name = "region"
    label = "Region"
    letter = "R"
    icon = "hand-region"
    tip = "Click inside a closed drawn shape to take its outline"

    gap = GAP_MM
    """Gaps in the line up to this many mm are bridged."""

    _at: Point | None = None
    _asked = 0

    @property
    def busy(self) -> bool:
        return self._at is not None

    def unusable(self) -> str:
        if self.bench.scan_sizes:
            return ""
        return "no scan is open" if self.bench.design.scans else "open a scan first"

    def hint(self) -> str:
        if self.busy:
            return "Looking for the edge of the shape. Escape: stop looking."
        gap = format_length(self.gap, self.bench.design.display_units)
        return (
            f"Click inside a drawn shape, or on a filled one: its outline is the {self.bench.tracing_kind}. "
            f"Gaps up to {gap} are bridged. Escape: done."
        )

    def press(self, at: Pointer) -> None:
        ink = self.bench.ink
        if ink is None:
            self.bench.say("There is no scan to take an outline from: open one first.")
            return
        self._stop()
        self._at = (at.x, at.z)
        asked = self._asked

        def found(shape: tuple[Node, ...] | str) -> None:
            if asked == self._asked:
                self._found(shape)

        ink.region(at.x, at.z, self.gap, found)

    def _found(self, shape: tuple[Node, ...] | str) -> None:
        kind = self.bench.tracing_kind
        self._at = None
        if isinstance(shape, str):
            self.bench.say(f"No outline was taken: {shape}.")
        elif is_thin(shape):
            self.bench.say("No outline was taken: that is a line without area. Click inside a drawn shape.")
        else:
            put_in(self.bench, shape, f"trace {kind}", kind)

    def _stop(self) -> None:
        # What is on its way belongs to an earlier question.
        self._asked += 1
        if self._at is not None and self.bench.ink is not None:
            self.bench.ink.cancel()
        self._at = None

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key != "Escape":
            return False
        if self.busy:
            self._stop()
            self.bench.say("The search for the shape was stopped.")
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
        if self._at is None:
            return NO_OVERLAY
        return Overlay(points=(self._at,), figure="looking for the edge")

    def cursor(self) -> Cursor:
        return "cross"
