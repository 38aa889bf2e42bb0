"""The hand that lays one sheet against another by two points that both show, and nudges it there."""

from __future__ import annotations

import math

import numpy as np

from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Label, Overlay, Pointer
from core.design import Design, Scan, Vector
from core.geometry.plane import best_similarity, mapped
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import covers, move_scan
from core.redesign.scan_plane import join
from core.scan_map import edge_of, mm_of, pixels_of
from core.units import format_length

NUDGE_MM = 0.1
DRAG_PX = 12.0


class JoinHand(Hand):
    """Four clicks: a point on the sheet that moves and the same on the one in place, and so once more."""

    name = "join"
    label = "Join"
    letter = "J"
    icon = "hand-join"
    tip = "Join a sheet to one that lies in its place, by two points that both show"
    overlay_moves = True

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._clear()

    def _clear(self) -> None:
        self.taken: tuple[tuple[str, Vector], ...] = ()
        """Scan id and pixel of each point clicked: moving, placed, moving, placed."""
        self.joined: str | None = None
        self.told = ""
        self._at: Pointer | None = None
        self._pressed: Pointer | None = None
        self._run: Design | None = None

    @property
    def busy(self) -> bool:
        return bool(self.taken)

    @property
    def nudging(self) -> bool:
        """Whether a run of nudges is under way that ``settle`` would close."""
        return self._run is not None and self.bench.design is self._run

    def unusable(self) -> str:
        return "" if len(self.bench.design.scans) > 1 else "open a second sheet of the plan first"

    def hint(self) -> str:
        if self.joined is not None and not self.taken:
            return "Arrow keys nudge the joined sheet by 0.1 mm, with Shift by 1 mm. Click to join another."
        return (
            "1 of 4: click a point on the sheet that moves, one that the other sheet shows too.",
            "2 of 4: click the same point on the sheet that lies in its place.",
            "3 of 4: click another shared point on the sheet that moves, far from the first.",
            "4 of 4: click that point on the sheet in its place. Backspace: one back; Escape: leave it.",
        )[len(self.taken)]

    # Sheets under the mouse

    def _scan(self, scan_id: str) -> Scan | None:
        return next((s for s in self.bench.design.scans if s.id == scan_id), None)

    def _sheets(self, at: Vector) -> list[Scan]:
        """Sheets under a point in mm, the topmost first."""
        sizes = self.bench.scan_sizes
        return [
            s for s in reversed(self.bench.design.scans)
            if s.id in sizes and not s.hidden and covers(s, sizes[s.id], *at)
        ]

    def _sheet_for(self, at: Vector) -> Scan | str:
        """The sheet that the next click means at a point, or a sentence about what to do instead."""
        here = self._sheets(at)
        if not self.taken:
            loose = [s for s in here if not s.locked]
            if loose:
                return loose[0]
            if here:
                return (
                    "This sheet is locked in its place: click first on the sheet that moves, or unlock this "
                    "one in the list of scans"
                )
            return "Click on the sheet that is to move"
        moving = self.taken[0][0]
        if len(self.taken) == 1:
            others = [s for s in here if s.id != moving]
            return others[0] if others else "Click the same point on a sheet that lies in its place"
        wanted = moving if len(self.taken) == 2 else self.taken[1][0]
        found = next((s for s in here if s.id == wanted), None)
        return found or "Click on the same two sheets as before"

    def _present(self) -> bool:
        """Whether the sheets of what was clicked are still there; else it is forgotten."""
        if any(self._scan(scan_id) is None for scan_id, _ in self.taken):
            self.taken = ()
        return bool(self.taken)

    def _places(self) -> list[Vector]:
        found = []
        for scan_id, pixel in self.taken if self._present() else ():
            scan = self._scan(scan_id)
            assert scan is not None
            x, z = mm_of(scan, np.array(pixel))[0]
            found.append((float(x), float(z)))
        return found

    # Mouse and keys

    def press(self, at: Pointer) -> None:
        self.settle()
        self._present()
        self._pressed = at if self._take(at) else None

    def _take(self, at: Pointer) -> bool:
        found = self._sheet_for((at.x, at.z))
        if isinstance(found, str):
            self.bench.say(found)
            return False
        u, v = pixels_of(found, np.array((at.x, at.z)))[0]
        self.bench.say("")
        self.joined, self.told = None, ""
        self.taken = (*self.taken, (found.id, (float(u), float(v))))
        if len(self.taken) == 4:
            self._complete()
        return True

    def move(self, at: Pointer, held: bool) -> None:
        self._at = at

    def release(self, at: Pointer) -> None:
        """A drag from the one sheet to the other does as well as two clicks."""
        pressed, self._pressed = self._pressed, None
        if pressed is not None and len(self.taken) in (1, 3):
            far = math.dist((at.px, at.py), (pressed.px, pressed.py)) > DRAG_PX
            if far and not isinstance(self._sheet_for((at.x, at.z)), str):
                self._take(at)

    def _complete(self) -> None:
        a, b, c, d = self._places()
        moving, onto = self.taken[0][0], self.taken[1][0]
        sizes = self.bench.scan_sizes
        try:
            done = join(self.bench.design, moving, onto, ((a, b), (c, d)), sizes)
        except EditError as error:
            self.taken = self.taken[:2]
            self.bench.say(str(error))
            return
        own = self.bench.design.scan(moving).scale_from != "none"
        self.taken = ()
        self.bench.apply("join sheets", lambda _: done.design)
        self.joined = moving
        if own:
            off = format_length(abs(done.misfit), self.bench.design.display_units)
            way = "further apart" if done.misfit > 0 else "closer together"
            self.told = f"Joined and locked. The points lie {off} {way} on the sheet in place."
        else:
            self.told = "Joined and locked, with the scale of the sheet in place."

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key in ARROWS and self.joined is not None and not self.taken:
            self._nudge(*ARROWS[key], NUDGE_MM * (10 if shift else 1))
            return True
        if key == "Return" and self.nudging:
            self.settle()
            return True
        if key == "Backspace" and self.taken:
            self.taken = self.taken[:-1]
            return True
        if key == "Escape":
            if self.taken:
                self.taken = ()
            elif self.nudging:
                self._drop_run()
            else:
                self.bench.take_hand("edit")
            return True
        return False

    def _nudge(self, right: int, up: int, step: float) -> None:
        scan_id = self.joined
        if scan_id is None or self._scan(scan_id) is None:
            self.joined = None
            return
        if not self.nudging:
            self.bench.begin("nudge sheet", lasting=True)
        moved = move_scan(self.bench.design, scan_id, right * step, up * step)
        try:
            self.bench.preview(moved)
        except RuntimeError:
            # Saved in the middle of the run: it is in the design, and another run begins.
            self.bench.begin("nudge sheet", lasting=True)
            self.bench.preview(moved)
        self._run = moved

    def settle(self) -> None:
        """A run of nudges ends and becomes one entry of undo."""
        if self.nudging:
            self.bench.commit()
        self._run = None

    def _drop_run(self) -> None:
        if self.nudging:
            self.bench.abort()
        self._run = None

    def undo(self) -> bool:
        if self.taken:
            return self.key("Backspace")
        if self.nudging:
            self._drop_run()
            return True
        return False

    def redo(self) -> bool:
        return self.busy

    def keep_draft(self) -> None:
        self.settle()

    def leave(self) -> None:
        self.settle()
        self._clear()

    # Seeing

    def overlay(self) -> Overlay:
        places = self._places()
        pairs = list(zip(places[::2], places[1::2], strict=False))
        at = (self._at.x, self._at.z) if self._at is not None else None
        if len(places) in (1, 3) and at is not None:
            pairs.append((places[-1], at))
        labels = tuple(Label(*place, f"{i // 2 + 1}") for i, place in enumerate(places))
        return Overlay(
            points=tuple(places), guides=tuple(pairs), labels=labels, edge=self._edge(at),
            ghost_edge=self._ghost(pairs) if len(places) in (1, 3) else (),
        )

    def _edge(self, at: Vector | None) -> tuple[Vector, ...]:
        """The edge of the sheet that moves, or would if the mouse were pressed."""
        scan: Scan | str | None = None
        if self.taken:
            scan = self._scan(self.taken[0][0])
        elif self.joined is not None:
            scan = self._scan(self.joined)
        elif at is not None:
            scan = self._sheet_for(at)
        size = self.bench.scan_sizes.get(scan.id) if isinstance(scan, Scan) else None
        if not isinstance(scan, Scan) or size is None:
            return ()
        return tuple((float(x), float(z)) for x, z in edge_of(scan, size))

    def _ghost(self, pairs: list[tuple[Vector, Vector]]) -> tuple[Vector, ...]:
        """Where the sheet would come to lie with the point under the mouse as the next."""
        edge = self._edge(None)
        scan = self._scan(self.taken[0][0])
        if not pairs or not edge or scan is None:
            return ()
        source, target = (np.array([pair[k] for pair in pairs]) for k in (0, 1))
        if len(pairs) == 1:
            moved = np.array(edge) + target[0] - source[0]
        else:
            try:
                by = best_similarity(source, target, keep_scale=scan.scale_from != "none")
            except ValueError:
                return ()
            moved = mapped(by, np.array(edge))
        return tuple((float(x), float(z)) for x, z in moved)

    def cursor(self) -> Cursor:
        return "cross"
