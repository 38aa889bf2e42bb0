"""The hand that takes a station for a window that asks for one."""

from __future__ import annotations

from collections.abc import Callable

from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Overlay, Point, Pointer
from core.units import format_length, nudge_step, parse_length

_ABOVE_PX, _BELOW_PX = 50.0, 5000.0
"""How far a guide reaches from the upper edge of the band: past the edges of any screen."""


class StationHand(Hand):
    """Each click gives one station, to whoever has set ``wanted``; ``mark`` is the one that holds."""

    name = "station"
    label = "Station"
    tip = "Take a station by a click"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.wanted: Callable[[float], None] | None = None
        self.mark: float | None = None
        """In mm; the line that stays while the hand looks for another."""
        self._at: float | None = None

    def hint(self) -> str:
        return "Click the station, anywhere above or below it. Arrow keys move it, Escape ends."

    def _take(self, x: float) -> None:
        # What is taken is what is shown: the place of a pixel has more digits than a hand has.
        units = self.bench.design.display_units
        self.mark = parse_length(format_length(x, units), units)
        if self.wanted is not None:
            self.wanted(self.mark)

    def press(self, at: Pointer) -> None:
        self._take(at.x)

    def move(self, at: Pointer, held: bool) -> None:
        self._at = at.x
        if held:
            self._take(at.x)

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key == "Escape":
            self.bench.take_hand("edit")
            return True
        if key not in ARROWS:
            return False
        if self.mark is not None:
            step = nudge_step(self.bench.design.display_units) * (10 if shift else 1)
            self._take(self.mark + ARROWS[key][0] * step)
        return True

    def leave(self) -> None:
        self._at = None

    def _guide(self, x: float) -> tuple[Point, Point]:
        view = self.bench.view
        return (x, view.z + _ABOVE_PX / view.scale), (x, view.z - _BELOW_PX / view.scale)

    def overlay(self) -> Overlay:
        places = [x for x in (self.mark, self._at) if x is not None]
        units = self.bench.design.display_units
        figure = f"station {format_length(self._at, units)}" if self._at is not None else ""
        return Overlay(guides=tuple(self._guide(x) for x in dict.fromkeys(places)), figure=figure)

    def cursor(self) -> Cursor:
        return "cross"
