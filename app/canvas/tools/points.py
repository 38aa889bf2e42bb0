"""Hands that take points of the plan: scale, level, datum, and the CG mark."""

from __future__ import annotations

import math
from dataclasses import replace

from app.canvas.snapping import Snap, held_straight, snap
from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Label, Overlay, Pointer
from core.design import Design
from core.redesign.design_edits import set_cg
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import level, scan_under, set_datum, set_scale, slope_deg
from core.redesign.scan_plane import Distance, plane_words, set_stretch
from core.units import format_angle, format_fraction, format_length, format_typed, nudge_step

Point = tuple[float, float]


class _TwoPoints(Hand):
    """Takes two points; a drag from one to the other does as well as two clicks."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.points: tuple[Point, ...] = ()
        self._at: Point | None = None

    @property
    def busy(self) -> bool:
        return bool(self.points)

    def unusable(self) -> str:
        return "" if self.bench.design.scans else "open a scan of the plan first"

    def press(self, at: Pointer) -> None:
        if len(self.points) == 2:
            self.points = ()
        self.points = (*self.points, self._place(at))
        if len(self.points) == 2:
            self.complete()

    def move(self, at: Pointer, held: bool) -> None:
        self._at = self._place(at)

    def release(self, at: Pointer) -> None:
        if len(self.points) == 1:
            px, py = self.bench.view.to_px(*self.points[0])
            if math.hypot(at.px - px, at.py - py) > 12.0:
                self.points = (*self.points, self._place(at))
                self.complete()

    def _place(self, at: Pointer) -> Point:
        if at.shift and len(self.points) == 1:
            return held_straight(at.x, at.z, *self.points[0])
        return at.x, at.z

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key in ("Escape", "Backspace") and self.points:
            self.points = self.points[:-1] if key == "Backspace" else ()
            return True
        if key == "Escape":
            self.bench.take_hand("edit")
            return True
        return False

    def undo(self) -> bool:
        return self.key("Backspace") if self.points else False

    def leave(self) -> None:
        self.points, self._at = (), None

    def complete(self) -> None:
        """Both points are there."""

    def scan_id(self) -> str | None:
        """The scan that the first point lies on."""
        if not self.points:
            return None
        return scan_under(self.bench.design, *self.points[0], self.bench.scan_sizes)

    def overlay(self) -> Overlay:
        ends = self.points if len(self.points) == 2 or self._at is None else (*self.points, self._at)
        guides = ((ends[0], ends[1]),) if len(ends) == 2 else ()
        return Overlay(points=self.points, guides=guides)

    def cursor(self) -> Cursor:
        return "cross"


def scale_words(was_from: str, apart: float, true_mm: float) -> str:
    """What setting the scale did: ``apart`` mm were ``true_mm`` in truth, by the scale that stood there."""
    part = format_fraction(apart / true_mm)
    if was_from == "dpi":
        return f"the plan was printed at {part}"
    if was_from == "points":
        change = format_fraction(true_mm / apart - 1.0, signed=True)
        same = change == format_fraction(0.0)
        return "the scale is as it was" if same else f"the scale changed by {change}"
    return "the scan has its scale now: lengths and areas are told"


def level_words(slope: float) -> str:
    """What levelling did: a line that rose by ``slope`` degrees was turned down."""
    angle = format_angle(abs(slope))
    if angle == format_angle(0.0):
        return "the scan lay level already"
    return f"turned {angle} {'clockwise' if slope > 0.0 else 'anticlockwise'}"


class ScaleHand(_TwoPoints):
    """Two points and the true distance between them set a scan's scale; two more set it across as well."""

    name = "scale"
    label = "Scale"
    letter = "S"
    icon = "hand-scale"
    tip = "Set the scale of the scan by two points and the true distance between them"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.first: tuple[str, Distance] | None = None
        """The scan and the distance along it that is kept while one across it is taken."""

    @property
    def busy(self) -> bool:
        return bool(self.points) or self.first is not None

    def hint(self) -> str:
        if len(self.points) < 2:
            end = "first" if not self.points else "second"
            if self.first is not None:
                return f"Click the {end} end of a distance across the first. Backspace: back to the first."
            return f"Click the {end} end of a distance you know; the longer, the better. Shift: straight."
        return 'Type the true distance above ("52 in", "3 3/32", "1.32 m") and press Return.'

    def scan_id(self) -> str | None:
        return self.first[0] if self.first is not None else super().scan_id()

    def keep(self, true_mm: float) -> None:
        """Keep the distance just taken as the first of two. EditError says why that cannot be."""
        scan_id = self.scan_id()
        if scan_id is None or len(self.points) != 2:
            raise EditError("click both ends of the known distance on the scan first")
        one, other = self.points
        set_scale(self.bench.design, scan_id, one, other, true_mm, self.bench.scan_sizes)
        self.first = (scan_id, Distance(one, other, true_mm))
        self.points = ()

    def finish(self, true_mm: float) -> str:
        """Set the scale: the two points lie ``true_mm`` apart. EditError says why that cannot be.

        What it did comes back as a sentence. Where a first distance was kept, the scale is set along and
        across, and the sentence tells of the paper's stretch.
        """
        scan_id = self.scan_id()
        if scan_id is None or len(self.points) != 2:
            raise EditError("click both ends of the known distance on the scan first")
        one, other = self.points
        sizes = self.bench.scan_sizes
        first = self.first[1] if self.first is not None else None

        def edit(design: Design) -> Design:
            if first is None:
                return set_scale(design, scan_id, one, other, true_mm, sizes)
            return set_stretch(design, scan_id, first, Distance(one, other, true_mm), sizes)

        # Tried before it is applied, so that a refusal leaves the points where they are.
        edit(self.bench.design)
        before = self.bench.design.scan(scan_id)
        apart = math.dist(one, other)
        self.leave()
        self.bench.apply("set scale" if first is None else "set scale both ways", edit)
        if first is None:
            return scale_words(before.scale_from, apart, true_mm)
        return plane_words(self.bench.design.scan(scan_id)) or "the paper is true: as long across as along"

    def key(self, key: str, *, shift: bool = False) -> bool:
        if self.first is not None and key == "Escape":
            self.leave()
            return True
        if self.first is not None and key == "Backspace" and not self.points:
            self.points, self.first = (self.first[1].one, self.first[1].other), None
            return True
        return super().key(key, shift=shift)

    def undo(self) -> bool:
        return self.key("Backspace") if self.busy else False

    def leave(self) -> None:
        super().leave()
        self.first = None

    def overlay(self) -> Overlay:
        now = super().overlay()
        if self.first is None:
            return now
        given = self.first[1]
        label = Label(
            (given.one[0] + given.other[0]) / 2, (given.one[1] + given.other[1]) / 2,
            format_typed(given.true_mm, self.bench.design.display_units),
        )
        return replace(
            now, points=(given.one, given.other, *now.points),
            guides=((given.one, given.other), *now.guides), labels=(label,),
        )


class LevelHand(_TwoPoints):
    """Two points on the plan's datum line level the scan."""

    name = "level"
    label = "Level"
    letter = "L"
    icon = "hand-level"
    tip = "Level the scan by two points on the plan's datum line"

    def hint(self) -> str:
        end = "one point" if not self.points else "a second point, far from the first,"
        return f"Click {end} on a line of the plan that should be level."

    def complete(self) -> None:
        scan_id = self.scan_id()
        one, other = self.points
        sizes = self.bench.scan_sizes
        self.leave()
        if scan_id is None:
            return
        turned = slope_deg(one, other)
        try:
            self.bench.apply("level scan", lambda d: level(d, scan_id, one, other, sizes))
        except EditError as error:
            self.bench.say(str(error))
            return
        self.bench.tell(level_words(turned))


class DatumHand(Hand):
    """One point becomes the datum, from which stations and heights are measured."""

    name = "datum"
    label = "Datum"
    letter = "D"
    icon = "hand-datum"
    tip = "Set the datum: the point that stations and heights are measured from"
    _at: Snap | None = None

    def hint(self) -> str:
        return "Click the point to measure from, for example the nose on the datum line. Ctrl: no snapping."

    def _place(self, at: Pointer) -> Snap:
        return Snap(at.x, at.z) if at.ctrl else snap(self.bench.design, self.bench.view, at.x, at.z)

    def move(self, at: Pointer, held: bool) -> None:
        self._at = self._place(at)

    def press(self, at: Pointer) -> None:
        place = self._place(at)
        self._at = None
        self.bench.apply("set datum", lambda d: set_datum(d, place.x, place.z))
        self.bench.shift_view(place.x, place.z)

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key == "Escape":
            self.bench.take_hand("edit")
            return True
        return False

    def leave(self) -> None:
        self._at = None

    def overlay(self) -> Overlay:
        if self._at is None:
            return Overlay()
        units = self.bench.design.display_units
        figure = f"{format_length(self._at.x, units)}, {format_length(self._at.z, units)}"
        return Overlay(snap=self._at if self._at.to != "free" else None, figure=figure)

    def cursor(self) -> Cursor:
        return "cross"


class CgHand(Hand):
    """Marks the CG, and drags the mark."""

    name = "cg"
    label = "Mark CG"
    letter = "G"
    icon = "hand-cg"
    tip = "Mark where the aeroplane balances"
    _dragging = False

    def hint(self) -> str:
        return "Click where the CG is marked on the plan, or drag the mark. Arrow keys move it."

    @property
    def busy(self) -> bool:
        return self._dragging

    def press(self, at: Pointer) -> None:
        self._dragging = True
        self.bench.begin("mark CG")
        self.bench.preview(set_cg(self.bench.design, at.x, at.z))

    def move(self, at: Pointer, held: bool) -> None:
        if self._dragging and held:
            self.bench.preview(set_cg(self.bench.design, at.x, at.z))

    def release(self, at: Pointer) -> None:
        if self._dragging:
            self._dragging = False
            self.bench.commit()
            # Marked once, it is dragged with the editing hand: a stray click must not move it.
            self.bench.take_hand("edit")

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key in ARROWS:
            return self._nudge(*ARROWS[key], 10 if shift else 1)
        if key != "Escape":
            return False
        if self._dragging:
            self.leave()
        else:
            self.bench.take_hand("edit")
        return True

    def _nudge(self, right: int, up: int, times: int) -> bool:
        mark = self.bench.design.cg_mark
        if mark is None or self._dragging:
            return self._dragging
        step = nudge_step(self.bench.design.display_units) * times
        self.bench.apply("nudge CG", lambda d: set_cg(d, mark.x + right * step, mark.z + up * step))
        return True

    def undo(self) -> bool:
        dragging = self._dragging
        self.leave()
        return dragging

    def redo(self) -> bool:
        return self._dragging

    def leave(self) -> None:
        if self._dragging:
            self._dragging = False
            self.bench.abort()

    def overlay(self) -> Overlay:
        mark = self.bench.design.cg_mark
        if not self._dragging or mark is None:
            return Overlay()
        units = self.bench.design.display_units
        return Overlay(figure=f"CG {format_length(mark.x, units)}, {format_length(mark.z, units)}")

    def cursor(self) -> Cursor:
        return "cross"
