"""The hand that lays a photograph flat by a rectangle of known size.

Points are kept as pixels of the picture, so that they stay on it whatever plane it is shown in.
"""

from __future__ import annotations

import math

import numpy as np

from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Overlay, Pointer
from app.canvas.tools.known_points import Extra, fit_words
from app.canvas.tools.rectangle_draft import RectangleDraft
from app.canvas.tools.rectangle_marks import in_mm, marks_of
from app.canvas.tools.straight_edges import Edges, straight_words
from app.kit.sentences import as_sentence
from app.scans.lying_sheet import FoundSheet
from core.design import Design, Scan, Vector
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import scan_under
from core.redesign.scan_plane import KnownRectangle, LaidFlat, order_of, plane_of, straighten
from core.scan_map import pixels_of
from core.stability.photographs import HOW_TO_STRAIGHTEN, unstraightened

GRASP_PX = 12.0
_DRAG_PX = 4.0


class StraightenHand(Hand):
    """Takes four corners, two lengths, and what else is known: points, distances, straight edges."""

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
        self._draft = RectangleDraft()
        self.along = False
        """Whether clicks go along something straight; else they are further points."""
        self.width: float | None = None
        self.height: float | None = None
        self.fit: LaidFlat | None = None
        self.fault = ""
        self.trouble = ""
        """What was clicked or typed last and could not be taken, in a sentence."""
        self.selected: int | None = None
        self._scan_id: str | None = None
        self._dragged: int | None = None
        self._pulled: tuple[Pointer, FoundSheet] | None = None
        self._over = False
        self._base: Design | None = None
        self._shown: Design | None = None

    # What is there

    @property
    def corners(self) -> tuple[Vector, ...]:
        """Of the rectangle, in pixels."""
        return self._draft.corners

    @property
    def extras(self) -> tuple[Extra, ...]:
        """Further points and what is known of them."""
        return self._draft.extras

    @property
    def edges(self) -> Edges:
        """What was clicked along straight edges."""
        return self._draft.edges

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
        return self._draft.points

    def places(self) -> list[Vector]:
        """All points where they lie now, in mm."""
        scan = self.scan()
        return [] if scan is None else in_mm(scan, self.points())

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

    @property
    def offered(self) -> FoundSheet | None:
        """The sheet that was found in that photograph, to be taken or not."""
        scan = self.asks_whether_flat
        return None if scan is None else self.bench.sheet_of(scan.id)

    def take_sheet(self) -> bool:
        """Begin with the corners and sides that are offered; whether any are."""
        sheet, scan = self.offered, self.asks_whether_flat
        if sheet is None or scan is None:
            return False
        self.tell("")
        self._draft, self._scan_id = RectangleDraft.of_sheet(sheet), scan.id
        self._update()
        return True

    def hint(self) -> str:
        count = len(self.corners)
        if self.trouble:
            return self.state()
        if self.offered is not None:
            return "Return takes the corners found. Drag one to its place, or click four of your own."
        if count < 4:
            which = ("first", "second", "third", "fourth")[count]
            return f"Click the {which} corner of something rectangular, going round it; a large one is best."
        if self.width is None or self.height is None:
            return "Type the two lengths above. Drag the corners, or nudge the selected one by arrow keys."
        if self.fault:
            return self.state()
        if self.along and not self.edges:
            return "Click along something straight on the paper, three points or more; its sides do as well."
        return f"{self.state()}. Return: done. Escape: as it was. Drag or nudge points."

    def state(self) -> str:
        """How far the work is, and how well all that is known fits together."""
        if self.trouble:
            return self.trouble
        if self.offered is not None:
            return (
                "This looks like a photograph, and these like the sheet’s corners: take them, drag them, "
                "or click four of your own."
            )
        if not self.corners and self.asks_whether_flat:
            return f"This looks like a photograph: {HOW_TO_STRAIGHTEN}."
        if len(self.corners) < 4:
            return f"{len(self.corners)} of 4 corners"
        if self.fault:
            return as_sentence(self.fault)
        if self.fit is None:
            return "Type the two lengths: “width” and “height” stand at their sides"
        units = self.bench.design.display_units
        return straight_words(self.fit, units) or fit_words(self.fit, units)

    # Mouse and keys

    def _pixel(self, at: Pointer) -> Vector | None:
        scan = self.scan()
        if scan is None:
            return None
        u, v = (float(value) for value in pixels_of(scan, np.array((at.x, at.z)))[0])
        return None if math.isnan(u) else (u, v)

    def _under(self, at: Pointer) -> int | None:
        near = [
            (math.dist((at.px, at.py), self.bench.view.to_px(*place)), i)
            for i, place in enumerate(self.places())
        ]
        gap, found = min(near, default=(math.inf, -1))
        return found if gap <= GRASP_PX else None

    def _offered_places(self) -> list[Vector]:
        sheet, scan = self.offered, self.asks_whether_flat
        if sheet is None or scan is None:
            return []
        return in_mm(scan, sheet.corners)

    def _over_offered(self, at: Pointer) -> bool:
        places = (self.bench.view.to_px(*place) for place in self._offered_places())
        return any(math.dist((at.px, at.py), place) <= GRASP_PX for place in places)

    def tell(self, sentence: str) -> None:
        """What cannot be taken, in a sentence; empty when all is well again."""
        if sentence or self.trouble:
            self.trouble = as_sentence(sentence)
            self.bench.say(sentence)

    def press(self, at: Pointer) -> None:
        self.tell("")
        sheet = self.offered
        self._pulled = (at, sheet) if sheet is not None and self._over_offered(at) else None
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
            self._draft, found = self._draft.taking(pixel, along=self.along)
        self.selected = self._dragged = found

    def _last(self) -> int:
        return len(self.points()) - 1

    def move(self, at: Pointer, held: bool) -> None:
        if held and self._dragged is not None:
            self._pull_offered(at)
            pixel = self._pixel(at)
            if pixel is not None and self._dragged is not None:
                self._put(self._dragged, pixel)
                # The picture stands still under a drag; what the point would do shows when it is let go.
                self._measure()
        else:
            self._over = self._under(at) is not None or self._over_offered(at)

    def _pull_offered(self, at: Pointer) -> None:
        """A corner that was offered is dragged: all of them are taken, and that one goes along."""
        if self._pulled is None:
            return
        pressed, sheet = self._pulled
        if math.dist((at.px, at.py), (pressed.px, pressed.py)) > _DRAG_PX:
            self._pulled = None
            self._draft = RectangleDraft.of_sheet(sheet)
            self.selected = self._dragged = self._under(pressed)

    def _put(self, index: int, pixel: Vector) -> None:
        self._draft = self._draft.moved(index, pixel)

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
        if key == "Return" and self.take_sheet():
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
        self._draft = self._draft.without_last()
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
        self._draft = self._draft.knowing(index, place, apart)
        self._update()

    def set_along(self, along: bool) -> None:
        """Whether clicks go along something straight from now on."""
        self.tell("")
        self.along = along

    def known(self) -> KnownRectangle:
        """All that is settled by now. EditError for what still lacks."""
        return self._draft.known(self.width, self.height)

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
        scan = self.scan()
        if scan is None or not self.corners:
            offered = tuple(self._offered_places())
            return Overlay(points=offered, ghost_edge=offered)
        lengths, units = (self.width, self.height), self.bench.design.display_units
        return marks_of(self._draft, scan, self.fit, lengths, units, self.selected)

    def cursor(self) -> Cursor:
        return "node" if self._over or self._dragged is not None else "cross"
