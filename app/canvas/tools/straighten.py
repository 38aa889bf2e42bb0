"""The hand that lays a photograph flat by a rectangle of known size.

Points are kept as pixels of the picture, so that they stay on it whatever plane it is shown in.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Overlay, Pointer
from app.canvas.tools.known_points import Extra, fit_words, point_labels, side_labels
from app.kit.sentences import as_sentence
from core.design import Design, Scan, Vector
from core.geometry.plane import PlaneFit, mapped
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import scan_under
from core.redesign.scan_plane import KnownRectangle, order_of, plane_of, straighten
from core.stability.photographs import HOW_TO_STRAIGHTEN, unstraightened

GRASP_PX = 12.0


class StraightenHand(Hand):
    """Takes four corners, two lengths, and more points and distances where they are known."""

    name = "straighten"
    label = "Straighten"
    letter = "P"
    icon = "hand-straighten"
    tip = "Lay a photograph flat by the four corners of something rectangular"
    overlay_moves = True

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._clear()

    def _clear(self) -> None:
        self.corners: tuple[Vector, ...] = ()
        self.extras: tuple[Extra, ...] = ()
        self.width: float | None = None
        self.height: float | None = None
        self.fit: PlaneFit | None = None
        self.fault = ""
        self.trouble = ""
        """What was clicked or typed last and could not be taken, in a sentence."""
        self.selected: int | None = None
        self._scan_id: str | None = None
        self._dragged: int | None = None
        self._over = False
        self._base: Design | None = None
        self._shown: Design | None = None

    # What is there

    @property
    def busy(self) -> bool:
        return bool(self.corners)

    @property
    def previewing(self) -> bool:
        """Whether the canvas shows the picture laid flat already."""
        return self._shown is not None and self.bench.design is self._shown

    def unusable(self) -> str:
        return "" if self.bench.design.scans else "open a photograph of the plan first"

    def scan(self) -> Scan | None:
        """The photograph as it lies now; None before the first corner, or where it was taken out."""
        scan = next((s for s in self.bench.design.scans if s.id == self._scan_id), None)
        if scan is None and self.corners:
            self._clear()
        return scan

    def points(self) -> list[Vector]:
        """All points in the order of their numbers, in pixels."""
        return [*self.corners, *(point for extra in self.extras for point in extra.points)]

    def places(self) -> list[Vector]:
        """All points where they lie now, in mm."""
        scan = self.scan()
        if scan is None:
            return []
        return [(float(x), float(z)) for x, z in mapped(np.array(scan.to_mm), np.array(self.points()))]

    @property
    def asked(self) -> int | None:
        """Index of the extra that the panel asks about: the selected point's, or else the last."""
        at = len(self.corners)
        for i, extra in enumerate(self.extras):
            if self.selected is not None and at <= self.selected < at + len(extra.points):
                return i
            at += len(extra.points)
        return len(self.extras) - 1 if self.extras else None

    @property
    def asks_whether_flat(self) -> Scan | None:
        """The newest scan that looks like a photograph, while no corner is clicked."""
        found = unstraightened(self.bench.design)
        return found[-1] if found and not self.corners else None

    def hint(self) -> str:
        count = len(self.corners)
        if self.trouble:
            return self.state()
        if count < 4:
            which = ("first", "second", "third", "fourth")[count]
            return f"Click the {which} corner of something rectangular, going round it; a large one is best."
        if self.width is None or self.height is None:
            return "Type the two lengths above. Drag the corners, or nudge the selected one by arrow keys."
        if self.fault:
            return self.state()
        return f"{self.state()}. Return: done. Escape: as it was. Drag or nudge points."

    def state(self) -> str:
        """How far the work is, and how well all that is known fits together."""
        if self.trouble:
            return self.trouble
        if not self.corners and self.asks_whether_flat:
            return f"This looks like a photograph: {HOW_TO_STRAIGHTEN}."
        if len(self.corners) < 4:
            return f"{len(self.corners)} of 4 corners"
        if self.fault:
            return as_sentence(self.fault)
        if self.fit is None:
            return "Type the two lengths: “width” and “height” stand at their sides"
        return fit_words(self.fit, self.bench.design.display_units)

    # Mouse and keys

    def _pixel(self, at: Pointer) -> Vector | None:
        scan = self.scan()
        if scan is None:
            return None
        u, v, w = np.linalg.solve(np.array(scan.to_mm), np.array((at.x, at.z, 1.0)))
        return (float(u / w), float(v / w)) if w > 0 else None

    def _under(self, at: Pointer) -> int | None:
        near = [
            (math.dist((at.px, at.py), self.bench.view.to_px(*place)), i)
            for i, place in enumerate(self.places())
        ]
        gap, found = min(near, default=(math.inf, -1))
        return found if gap <= GRASP_PX else None

    def tell(self, sentence: str) -> None:
        """What cannot be taken, in a sentence; empty when all is well again."""
        if sentence or self.trouble:
            self.trouble = as_sentence(sentence)
            self.bench.say(sentence)

    def press(self, at: Pointer) -> None:
        self.tell("")
        found = self._under(at)
        if found is None:
            if not self.corners:
                self._scan_id = scan_under(
                    self.bench.design, at.x, at.z, self.bench.scan_sizes, nearest=False
                )
            pixel = self._pixel(at)
            if pixel is None:
                self.tell("click on the photograph that is to be straightened")
                return
            self._add(pixel)
            found = self._last()
        self.selected = self._dragged = found

    def _add(self, pixel: Vector) -> None:
        if len(self.corners) < 4:
            self.corners = (*self.corners, pixel)
            return
        last = self.extras[-1] if self.extras else None
        if last is not None and len(last.points) == 1 and last.place is None:
            self.extras = (*self.extras[:-1], replace(last, points=(*last.points, pixel)))
        else:
            self.extras = (*self.extras, Extra((pixel,)))

    def _last(self) -> int:
        return len(self.points()) - 1

    def move(self, at: Pointer, held: bool) -> None:
        if held and self._dragged is not None:
            pixel = self._pixel(at)
            if pixel is not None:
                self._put(self._dragged, pixel)
                # The picture stands still under a drag; what the point would do shows when it is let go.
                self._measure()
        else:
            self._over = self._under(at) is not None

    def _put(self, index: int, pixel: Vector) -> None:
        if index < len(self.corners):
            self.corners = (*self.corners[:index], pixel, *self.corners[index + 1 :])
            return
        at = len(self.corners)
        changed = []
        for extra in self.extras:
            points = list(extra.points)
            if at <= index < at + len(points):
                points[index - at] = pixel
            at += len(points)
            changed.append(replace(extra, points=tuple(points)))
        self.extras = tuple(changed)

    def release(self, at: Pointer) -> None:
        if self._dragged is not None:
            self._dragged = None
            self._update()

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key in ARROWS and self.selected is not None and self.selected <= self._last():
            right, up = ARROWS[key]
            step = (10.0 if shift else 1.0) / self.bench.view.scale
            x, z = self.places()[self.selected]
            pixel = self._pixel(Pointer(x + right * step, z + up * step, 0, 0))
            if pixel is not None:
                self._put(self.selected, pixel)
                self._update()
            return True
        if key == "Return" and self.corners:
            try:
                self.finish()
                self.bench.take_hand("edit")
            except EditError as error:
                self.tell(str(error))
            return True
        if key == "Backspace" and self.corners:
            self._take_back()
            return True
        if key == "Escape":
            if self.corners:
                self.leave()
            else:
                self.bench.take_hand("edit")
            return True
        return False

    def _take_back(self) -> None:
        if not self.extras:
            self.corners = self.corners[:-1]
        elif len(self.extras[-1].points) == 2:
            last = self.extras[-1]
            self.extras = (*self.extras[:-1], Extra(last.points[:1]))
        else:
            self.extras = self.extras[:-1]
        self.selected = self._last() if self.corners else None
        self._update()

    def undo(self) -> bool:
        if not self.corners:
            return False
        self._take_back()
        return True

    def redo(self) -> bool:
        return self.busy

    def leave(self) -> None:
        self._drop()
        self._clear()

    # What is known, and what comes of it

    def set_lengths(self, width: float | None, height: float | None) -> None:
        """The rectangle's two lengths in mm; None while one is not typed."""
        self.tell("")
        self.width, self.height = width, height
        self._update()

    def set_extra(self, index: int, *, place: Vector | None = None, apart: float | None = None) -> None:
        """What is known of an extra: its place on the rectangle, or how far apart its two points lie."""
        self.tell("")
        self.extras = tuple(
            replace(extra, place=place, apart=apart) if i == index else extra
            for i, extra in enumerate(self.extras)
        )
        self._update()

    def known(self) -> KnownRectangle:
        """All that is settled by now. EditError for what still lacks."""
        if len(self.corners) < 4:
            raise EditError("click the four corners of something rectangular first")
        if self.width is None or self.height is None:
            raise EditError("type the width and the height of the rectangle first")
        return KnownRectangle(
            self.corners, self.width, self.height,
            tuple((e.points[0], e.place) for e in self.extras if e.place is not None),
            tuple(
                (e.points[0], e.points[1], e.apart)
                for e in self.extras if e.apart is not None and len(e.points) == 2
            ),
        )

    def finish(self) -> None:
        """Keep the picture as it is shown. EditError says what lacks or cannot be."""
        self.known()
        self._update()
        if self.fault:
            raise EditError(self.fault)
        self.bench.commit()
        self._clear()

    def _measure(self) -> None:
        self.fit, self.fault = None, ""
        scan = self.scan()
        if scan is None or len(self.corners) < 4:
            return
        try:
            order_of(scan, self.corners)
            if self.width is not None and self.height is not None:
                size = self.bench.scan_sizes.get(scan.id, (0.0, 0.0))
                self.fit = plane_of(scan, size, self.known())
        except EditError as error:
            self.fault = str(error)

    def _update(self) -> None:
        """Measure anew, and show the picture laid flat where it can be."""
        scan = self.scan()
        if scan is None or len(self.corners) < 4 or self.width is None or self.height is None:
            self._measure()
            self._drop()
            return
        base = self._base if self.previewing and self._base is not None else self.bench.design
        self.fit, self.fault = None, ""
        try:
            laid, self.fit = straighten(base, scan.id, self.known(), self.bench.scan_sizes)
        except EditError as error:
            self.fault = str(error)
            self._drop()
            return
        self._show(base, laid)

    def _show(self, base: Design, laid: Design) -> None:
        if not self.previewing:
            self._begin(base)
        try:
            self.bench.preview(laid)
        except RuntimeError:
            # Saved meanwhile: what was shown is in the design, and the gesture with it.
            self._begin(self.bench.design)
            self.bench.preview(laid)
        self._shown = laid

    def _begin(self, base: Design) -> None:
        self._base = base
        self.bench.begin("straighten scan")

    def _drop(self) -> None:
        if self.previewing:
            self.bench.abort()
        self._base = self._shown = None

    # Seeing

    def overlay(self) -> Overlay:
        places = self.places()
        if not places:
            return Overlay()
        count = len(self.corners)
        corners = places[:count]
        sides = list(zip(corners, [*corners[1:], corners[0]] if count == 4 else corners[1:], strict=False))
        units = self.bench.design.display_units
        labels = point_labels(self.fit, places, count, self.extras, units)
        scan = self.scan()
        if scan is not None and count == 4:
            labels += side_labels(scan, self.corners, corners, (self.width, self.height), units)
        at = count
        for extra in self.extras:
            if len(extra.points) == 2:
                sides.append((places[at], places[at + 1]))
            at += len(extra.points)
        held = self.selected is not None and self.selected < len(places)
        return Overlay(
            guides=tuple(sides), points=tuple(places), labels=tuple(labels),
            draft_nodes=(places[self.selected],) if held and self.selected is not None else (),
        )

    def cursor(self) -> Cursor:
        return "node" if self._over or self._dragged is not None else "cross"
