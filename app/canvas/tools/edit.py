"""The editing hand: drags nodes, handles, edges, outlines, the root scale, weights and the CG mark."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from app.canvas.hits import Hit, hit
from app.canvas.snapping import Snap, held_straight, snap
from app.canvas.tools import weights as balance
from app.canvas.tools.edge_drag import EdgeDrag
from app.canvas.tools.grip import factors_from_root, free, nodes_in, whole_selected
from app.canvas.tools.grip import grip_offset as grip_offset
from app.canvas.tools.grip import scale_grip as scale_grip
from app.canvas.tools.hand import ARROWS, Bench, Cursor, Hand, Overlay, Pointer
from app.canvas.tools.keys import NudgeRun, delete_selected
from app.work.selection import NOTHING, Selection
from core.design import Design, Outline
from core.redesign import outline_edits as edits
from core.redesign.belonging import nodes_with, whole_group, with_partners
from core.redesign.design_edits import with_outlines
from core.redesign.scan_edits import move_scan, scan_under
from core.units import format_angle, format_length

START_PX = 3.0
GRIP_PX = 10.0

Drag = Callable[[Pointer], None]


class EditHand(Hand):
    """Selects and drags what is there."""

    name = "edit"
    label = "Edit"
    letter = "E"
    icon = "hand-edit"
    tip = "Select and drag nodes, edges and outlines"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.hover: Hit | None = None
        self.hover_weight: str | None = None
        self.weights_first = False
        """Whether a weight is taken hold of before the node or edge that it hides."""
        self._pressed: Pointer | None = None
        self._drag: Drag | None = None
        self._start: Design | None = None
        self._waiting: tuple[str, Drag] | None = None
        self._on_click: Callable[[], None] | None = None
        self._figure = ""
        self._snap: Snap | None = None
        self._band: tuple[tuple[float, float], tuple[float, float]] | None = None
        self._selected_before = NOTHING
        self._on_mark = self._on_grip = False
        self._nudges = NudgeRun(bench)

    @property
    def busy(self) -> bool:
        return self._pressed is not None

    def hint(self) -> str:
        return balance.edit_hint(self.bench.selection, self.bench.design, dragging=self._drag is not None)

    # Mouse

    def press(self, at: Pointer) -> None:
        self.settle()
        if self.busy:
            # The release of the last drag went elsewhere, to a panning button for example.
            self.release(at)
        self._pressed, self._start = at, self.bench.design
        self._waiting = self._on_click = None
        self._selected_before = self.bench.selection
        if balance.mark_under(self.bench, at):
            self._waiting = ("move CG mark", lambda now: self._drag_balance(now, balance.drag_mark))
        elif self._grip_under(at):
            self._waiting = ("scale from the root", self._root_drag(at))
        else:
            found = self._under(at)
            if found is None:
                self._press_nothing(at)
            elif isinstance(found, str):
                self._press_weight(found)
            else:
                {
                    "node": self._press_node, "handle": self._press_handle,
                    "edge": self._press_edge, "body": self._press_body,
                }[found.kind](found, at)

    def _under(self, at: Pointer) -> Hit | str | None:
        """What of an outline, or which weight by its id, the hand would take hold of."""
        weight = balance.weight_under(self.bench, at)
        if weight and (self.weights_first or weight == self.bench.selection.weight):
            return weight
        found = hit(self.bench.design, self.bench.view, self.bench.selection, at.px, at.py)
        return weight if weight and (found is None or found.kind == "body") else found

    def _press_weight(self, weight_id: str) -> None:
        self.bench.select(Selection(weight=weight_id))
        self._waiting = (
            balance.move_name(self.bench.design, weight_id),
            lambda now: self._drag_balance(now, partial(balance.drag_weight, weight_id=weight_id)),
        )

    def _press_nothing(self, at: Pointer) -> None:
        before = self.bench.selection
        loose = self._loose_scan(at)
        if loose is not None:
            self._waiting = ("move scan", lambda now: self._drag_scan(now, loose))
            self._on_click = lambda: self.bench.select(NOTHING)
            return
        if not at.shift:
            self._on_click = lambda: self.bench.select(NOTHING)
        self._waiting = ("", lambda now: self._drag_band(now, before if at.shift else NOTHING))

    def _loose_scan(self, at: Pointer) -> str | None:
        scan_id = scan_under(self.bench.design, at.x, at.z, self.bench.scan_sizes, nearest=False)
        if scan_id is None:
            return None
        scan = self.bench.design.scan(scan_id)
        return None if scan.locked or scan.hidden else scan_id

    def _drag_scan(self, at: Pointer, scan_id: str) -> None:
        start, pressed = self._from()
        dx, dz = at.x - pressed.x, at.z - pressed.z
        self._figure = f"{self._length(dx)}, {self._length(dz)}"
        self.bench.preview(move_scan(start, scan_id, dx, dz))

    # With Shift, a click adds to the selection or takes away from it; a drag is a drag held straight.

    def _press_node(self, found: Hit, at: Pointer) -> None:
        key, selection = (found.outline, found.index), self.bench.selection
        only = Selection((found.outline,), frozenset({key}))
        if at.shift:
            owners = selection.owners_with(found.outline)
            if key in selection.nodes:
                self._on_click = lambda: self.bench.select(Selection(owners, selection.nodes - {key}))
            else:
                self.bench.select(Selection(owners, selection.nodes | {key}))
        elif key in selection.nodes:
            self._on_click = lambda: self.bench.select(only)
        else:
            self.bench.select(only)
        several = len(self.bench.selection.nodes) > 1
        self._waiting = ("move nodes" if several else "move node", self._node_drag(found))

    def _press_handle(self, found: Hit, at: Pointer) -> None:
        self._waiting = ("move handle", lambda now: self._drag_handle(now, found))

    def _press_edge(self, found: Hit, at: Pointer) -> None:
        drag = EdgeDrag(self.bench.design, found, at)
        self._waiting = (drag.name, lambda now: self._drag_edge(now, drag))
        self._on_click = lambda: self._select_outline(found.outline, at)

    def _press_body(self, found: Hit, at: Pointer) -> None:
        before = self.bench.selection
        if found.outline in before.outlines:
            # Only what is selected moves: a slip of the hand must not shift a traced fuselage.
            self._waiting = ("move outline", self._drag_outlines)
        else:
            self._waiting = ("", lambda now: self._drag_band(now, before if at.shift else NOTHING))
        self._on_click = lambda: self._select_outline(found.outline, at)

    def _select_outline(self, outline_id: str, at: Pointer) -> None:
        if at.shift:
            owners = self.bench.selection.owners_with(outline_id, toggle=True)
            self.bench.select(Selection(owners))
        else:
            self.bench.select(Selection((outline_id,)))

    def move(self, at: Pointer, held: bool) -> None:
        if not held or self._pressed is None:
            self._on_mark, self._on_grip = balance.mark_under(self.bench, at), self._grip_under(at)
            over = None if self._on_mark or self._on_grip else self._under(at)
            self.hover_weight = over if isinstance(over, str) else None
            self.hover = over if isinstance(over, Hit) else None
            return
        if self._drag is None:
            moved = math.hypot(at.px - self._pressed.px, at.py - self._pressed.py)
            if self._waiting is None or moved < START_PX:
                return
            name, self._drag = self._waiting
            if name:
                self.bench.begin(name)
        self._drag(at)

    def release(self, at: Pointer) -> None:
        if self._drag is not None:
            self.bench.commit()
        elif self._on_click is not None and self._pressed is not None:
            self._on_click()
        self._rest()

    def _rest(self) -> None:
        self._pressed = self._drag = self._waiting = self._on_click = None
        self._figure, self._snap, self._band = "", None, None

    def settle(self) -> None:
        """A run of nudges ends."""
        self._nudges.settle()

    def keep_draft(self) -> None:
        self.settle()

    def leave(self) -> None:
        self.settle()
        if self._band is not None:
            self.bench.select(self._selected_before)
        if self._drag is not None:
            self.bench.abort()
        self._rest()
        self.hover = self.hover_weight = None

    def double(self, at: Pointer) -> None:
        found = self._under(at)
        if found is None or isinstance(found, str):
            return
        if found.kind == "edge":
            self.bench.apply(
                "insert node",
                lambda d: self._changed(d, found.outline, edits.insert_node, found.index, found.t),
            )
            node = (found.outline, found.index + 1)
            self.bench.select(Selection((found.outline,), frozenset({node})))
        elif found.kind == "node":
            node_now = self.bench.design.outline(found.outline).nodes[found.index]
            curved = node_now.handle_in or node_now.handle_out
            change = edits.make_corner if curved else edits.make_smooth
            name = "make corner" if curved else "make smooth"
            try:
                self.bench.apply(name, lambda d: self._changed(d, found.outline, change, [found.index]))
            except edits.EditError as error:
                self.bench.say(str(error))

    @staticmethod
    def _changed(design: Design, outline_id: str, change: Callable[..., Outline], *args: object) -> Design:
        return with_outlines(design, {outline_id: change(design.outline(outline_id), *args)})

    # Drags; each starts from the design as it was when the button went down

    def _from(self) -> tuple[Design, Pointer]:
        assert self._start is not None and self._pressed is not None
        return self._start, self._pressed

    def _grip_under(self, at: Pointer) -> bool:
        grip = scale_grip(self.bench.design, self.bench.selection)
        if grip is None:
            return False
        px, py = grip_offset(*self.bench.view.to_px(*grip))
        return math.hypot(px - at.px, py - at.py) <= GRIP_PX

    def _length(self, mm: float, signed: bool = True) -> str:
        return format_length(mm, self.bench.design.display_units, signed=signed)

    def _drag_balance(self, at: Pointer, moved: Callable[[Design, Pointer, Pointer], balance.Moved]) -> None:
        design, self._figure = moved(*self._from(), at)
        self.bench.preview(design)

    def _node_drag(self, found: Hit) -> Drag:
        loose = {o.id for o in self.bench.design.outlines if free(o)}
        nodes = frozenset(key for key in self.bench.selection.nodes if key[0] in loose)
        taken = nodes_with(self.bench.design, nodes)

        def drag(at: Pointer) -> None:
            start, pressed = self._from()
            held = start.outline(found.outline).nodes[found.index]
            x, z = held.x + at.x - pressed.x, held.z + at.z - pressed.z
            self._snap = None
            if at.shift:
                x, z = held_straight(x, z, held.x, held.z)
            elif not at.ctrl:
                self._snap = snap(start, self.bench.view, x, z, leave_out_nodes=nodes if at.alt else taken)
                x, z = self._snap.x, self._snap.z
            dx, dz = x - held.x, z - held.z
            self._figure = f"{self._length(dx)}, {self._length(dz)}"
            # The one that is held first: where two share a place, its numbers hold.
            owners = sorted({owner for owner, _ in nodes}, key=lambda owner: (owner != found.outline, owner))
            changed = {
                owner: edits.move_nodes(start.outline(owner), [i for o, i in nodes if o == owner], dx, dz)
                for owner in owners
            }
            self.bench.preview((with_outlines if at.alt else with_partners)(start, changed))

        return drag

    def _drag_handle(self, at: Pointer, found: Hit) -> None:
        start, pressed = self._from()
        outline = start.outline(found.outline)
        node = outline.nodes[found.index]
        offset = (node.handle_in if found.side == "in" else node.handle_out) or (0.0, 0.0)
        x, z = offset[0] + at.x - pressed.x, offset[1] + at.z - pressed.z
        if at.shift:
            x, z = held_straight(x, z, 0.0, 0.0)
        moved = edits.move_handle(outline, found.index, found.side, (x, z), alone=at.alt)
        turn = math.degrees(math.atan2(z, x))
        self._figure = f"{self._length(math.hypot(x, z), False)}  {format_angle(turn)}"
        self.bench.preview((with_outlines if at.alt else with_partners)(start, {outline.id: moved}))

    def _drag_edge(self, at: Pointer, drag: EdgeDrag) -> None:
        dragged = drag.to(at, self.bench.view)
        self._figure, self._snap = dragged.figure, dragged.caught
        self.bench.preview(dragged.design)

    def _drag_outlines(self, at: Pointer) -> None:
        start, pressed = self._from()
        x, z = at.x, at.z
        if at.shift:
            x, z = held_straight(x, z, pressed.x, pressed.z)
        dx, dz = x - pressed.x, z - pressed.z
        self._figure = f"{self._length(dx)}, {self._length(dz)}"
        loose = [o.id for o in start.outlines if o.id in self.bench.selection.outlines and free(o)]
        ids = loose if pressed.alt else whole_group(start, loose)
        moved = {i: edits.translate(start.outline(i), dx, dz) for i in ids}
        self.bench.preview(with_outlines(start, moved))

    def _root_drag(self, at: Pointer) -> Drag:
        outlines = whole_selected(self.bench.design, self.bench.selection)
        root = edits.root_of(outlines)
        if not at.alt:
            ids = whole_group(self.bench.design, [o.id for o in outlines])
            outlines = [self.bench.design.outline(i) for i in ids]

        def drag(at: Pointer) -> None:
            start, pressed = self._from()
            grip = scale_grip(start, self.bench.selection) or (pressed.x, pressed.z)
            moved = (grip[0] + at.x - pressed.x, grip[1] + at.z - pressed.z)
            across, up = factors_from_root(root, grip, moved, height_only=at.shift)
            self._figure = f"height {100 * up:.1f} %" if at.shift else f"{100 * up:.1f} % from the root"
            scaled = {o.id: edits.scale_about(o, root, across, up) for o in outlines}
            self.bench.preview(with_outlines(start, scaled))

        return drag

    def _drag_band(self, at: Pointer, before: Selection) -> None:
        start, pressed = self._from()
        self._band = ((pressed.x, pressed.z), (at.x, at.z))
        nodes = before.nodes | nodes_in(start, *self._band)
        self.bench.select(Selection(tuple(dict.fromkeys(owner for owner, _ in sorted(nodes))), nodes))

    # Keys

    def key(self, key: str, *, shift: bool = False) -> bool:
        if key == "Escape":
            self.settle()
            if self.busy:
                self.leave()
            elif self.bench.selection == NOTHING:
                return False
            else:
                self.bench.select(NOTHING)
            return True
        if self.busy:
            # Under the drag's feet: it would go on from a design that is no longer there.
            return key in ARROWS or key in ("Delete", "Backspace")
        if key in ARROWS:
            return self._nudges.step(*ARROWS[key], 10 if shift else 1)
        self.settle()
        if key in ("Delete", "Backspace"):
            return balance.delete_weight(self.bench) or delete_selected(self.bench)
        return False

    def undo(self) -> bool:
        self.settle()
        if not self.busy:
            return False
        self.leave()
        return True

    def redo(self) -> bool:
        return self.busy

    def overlay(self) -> Overlay:
        snapped = self._snap if self._snap and self._snap.to != "free" else None
        return Overlay(figure=self._figure, snap=snapped, band=self._band)

    def cursor(self) -> Cursor:
        if self._on_mark or self._on_grip or self.hover_weight:
            return "move"
        if self.hover is None:
            return "arrow"
        if self.hover.kind == "body":
            return "move" if self.hover.outline in self.bench.selection.outlines else "arrow"
        return "edge" if self.hover.kind == "edge" else "node"
