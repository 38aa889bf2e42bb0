"""The circle hand: a wheel by its centre and radius, or by three points of its rim."""

from __future__ import annotations

import math

from app.canvas.snapping import snap
from app.canvas.tools.draft import put_in
from app.canvas.tools.hand import NO_OVERLAY, Cursor, Hand, Overlay, Point, Pointer
from core.geometry.ring import flatten, ring_of
from core.kinds import WHEEL
from core.redesign.circles import circle, through
from core.redesign.outline_edits import EditError
from core.units import format_length

_DRAG_PX = 4.0


class CircleHand(Hand):
    """A drag from the centre to the rim, three clicks on the rim, or one on the centre and a typed radius."""

    name = "circle"
    label = "Circle"
    letter = "C"
    icon = "hand-circle"
    tip = "A wheel: drag from its centre to its rim, or click three points of the rim"
    overlay_moves = True

    _points: tuple[Point, ...] = ()
    _pressed: Pointer | None = None
    _at: Point | None = None
    _dragged = False

    @property
    def busy(self) -> bool:
        return self._pressed is not None or bool(self._points)

    @property
    def centre(self) -> Point | None:
        """The one point that was clicked, about which a radius can be typed."""
        return self._points[0] if len(self._points) == 1 else None

    def hint(self) -> str:
        left = 3 - len(self._points)
        if self._dragged:
            return f"Let go on the rim: the circle is a {WHEEL}. Escape: no circle."
        if self._points:
            typed = " Or that was the centre: type the radius." if left == 2 else ""
            more = "two more points" if left == 2 else "one more point"
            return f"Click {more} of the rim.{typed} Backspace: last one back."
        return (
            f"Press at the centre of a {WHEEL} and drag to its rim, or click three points of the rim. "
            "Ctrl: no snapping. Escape: done."
        )

    def _place(self, at: Pointer) -> Point:
        if at.ctrl:
            return at.x, at.z
        caught = snap(self.bench.design, self.bench.view, at.x, at.z)
        return (caught.x, caught.z) if caught.to == "node" else (at.x, at.z)

    def press(self, at: Pointer) -> None:
        self._pressed, self._dragged = at, False
        self._at = self._place(at)

    def move(self, at: Pointer, held: bool) -> None:
        self._at = self._place(at)
        start = self._pressed
        # With points on the rim already, a hand that strays only clicks.
        if start is not None and held and not self._points:
            self._dragged = self._dragged or math.dist((at.px, at.py), (start.px, start.py)) >= _DRAG_PX

    def release(self, at: Pointer) -> None:
        start, self._pressed = self._pressed, None
        if start is None:
            return
        if self._dragged:
            self._dragged = False
            centre = self._place(start)
            self._make(*centre, math.dist(centre, self._place(at)))
            return
        self._points = (*self._points, self._place(at))
        if len(self._points) == 3:
            three, self._points = self._points, ()
            try:
                self._make(*through(*three))
            except EditError as error:
                self._points = three[:2]
                self.bench.say(str(error))

    def typed(self, radius: float) -> None:
        """A radius in mm about the clicked centre. EditError where there is no centre, or no radius."""
        if self.centre is None:
            raise EditError("click the centre first, then type the radius")
        self._make(*self.centre, radius)

    def _make(self, x: float, z: float, radius: float) -> None:
        nodes = circle(x, z, radius)
        self._points, self._at = (), None
        put_in(self.bench, nodes, f"draw {WHEEL}", WHEEL)

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key == "Escape":
            if self.busy:
                self.leave()
            else:
                self.bench.take_hand("edit")
            return True
        return key == "Backspace" and self.undo()

    def undo(self) -> bool:
        if self._pressed is not None:
            self._pressed, self._dragged = None, False
            return True
        had = bool(self._points)
        self._points = self._points[:-1]
        return had

    def leave(self) -> None:
        self._points, self._pressed, self._at, self._dragged = (), None, None, False

    def _shown(self) -> tuple[float, float, float] | None:
        if self._at is None:
            return None
        if self._dragged and self._pressed is not None:
            centre = self._place(self._pressed)
            return *centre, math.dist(centre, self._at)
        if len(self._points) == 2:
            try:
                return through(*self._points, self._at)
            except EditError:
                return None
        return None

    def overlay(self) -> Overlay:
        shown = self._shown()
        if shown is None or shown[2] <= 0.0:
            return Overlay(points=self._points) if self._points else NO_OVERLAY
        x, z, radius = shown
        rim = flatten(ring_of(circle(x, z, radius))).tolist()
        return Overlay(
            draft=tuple((px, pz) for px, pz in (*rim, rim[0])),
            points=(*self._points, (x, z)) if self._dragged else self._points,
            figure=f"radius {format_length(radius, self.bench.design.display_units)}",
        )

    def cursor(self) -> Cursor:
        return "cross"
