"""What the editing hand does with whatever has to do with balance: the CG mark and the weights."""

from __future__ import annotations

import math

from app.canvas.snapping import held_straight
from app.canvas.tools.hand import Bench, Pointer
from app.work.selection import NOTHING, Selection
from core.design import Design
from core.redesign.design_edits import set_cg
from core.redesign.weight_edits import called, delete_weights, move_weight, weight_of
from core.stability.ballast import weighed
from core.units import format_length, nudge_step

MARK_PX = 11.0
LEAST_PX = 8.0
SMALLEST_PX, LARGEST_PX = 5.0, 11.0
Moved = tuple[Design, str]
"""The design that a drag shows, and the figure beside the cursor."""


def weight_size(grams: float) -> float:
    """Half the height in pixels of the mark of a weight: as the cube root of its mass, within limits."""
    return min(max(1.7 * math.cbrt(grams), SMALLEST_PX), LARGEST_PX)


def mark_under(bench: Bench, at: Pointer) -> bool:
    """Whether the CG mark lies under the pointer and can be moved."""
    mark = bench.design.cg_mark
    if mark is None or bench.design.cg_from != "mark":
        return False
    px, py = bench.view.to_px(mark.x, mark.z)
    return math.hypot(px - at.px, py - at.py) <= MARK_PX


def drag_mark(start: Design, pressed: Pointer, at: Pointer) -> Moved:
    """The CG mark moved as far as the pointer has."""
    assert start.cg_mark is not None
    x, z = start.cg_mark.x + at.x - pressed.x, start.cg_mark.z + at.z - pressed.z
    if at.shift:
        x, z = held_straight(x, z, start.cg_mark.x, start.cg_mark.z)
    units = start.display_units
    moved = format_length(x - start.cg_mark.x, units, signed=True)
    return set_cg(start, x, z), f"CG {format_length(x, units)} ({moved})"


def weight_under(bench: Bench, at: Pointer) -> str | None:
    """The weight under the pointer by id: the selected one first, then the nearest."""
    best: tuple[bool, float, str] | None = None
    for weight in bench.design.weights:
        px, py = bench.view.to_px(weight.x, weight.z)
        gap = math.hypot(px - at.px, py - at.py)
        if gap <= max(weight_size(weight.grams), LEAST_PX):
            here = (weight.id != bench.selection.weight, gap, weight.id)
            best = min(best, here) if best else here
    return best[2] if best else None


def drag_weight(start: Design, pressed: Pointer, at: Pointer, weight_id: str) -> Moved:
    """One weight moved as far as the pointer has; the figure tells its station and what the CG does."""
    held = weight_of(start, weight_id)
    x, z = held.x + at.x - pressed.x, held.z + at.z - pressed.z
    if at.shift:
        x, z = held_straight(x, z, held.x, held.z)
    moved = move_weight(start, weight_id, x - held.x, z - held.z)
    units = start.display_units
    figure = f"{called(held)} {format_length(weight_of(moved, weight_id).x, units)}"
    before, after = weighed(start), weighed(moved)
    if not isinstance(before, str) and not isinstance(after, str):
        name = "CG" if start.cg_from == "weights" else "weighed CG"
        figure += f",  {name} {format_length(after.x - before.x, units, signed=True)}"
    return moved, figure


def move_name(design: Design, weight_id: str) -> str:
    """What the Edit menu calls the move of that weight."""
    return f"move {called(weight_of(design, weight_id))}"


def nudged_weight(bench: Bench, right: int, up: int, times: int) -> tuple[str, Design] | None:
    """(name for undo, the design with the selected weight moved by so many steps); None where none is."""
    chosen = bench.selection.weight
    if chosen is None:
        return None
    step = nudge_step(bench.design.display_units) * times
    name = f"nudge {called(weight_of(bench.design, chosen))}"
    return name, move_weight(bench.design, chosen, right * step, up * step)


def delete_weight(bench: Bench) -> bool:
    """Take the selected weight out; whether one is selected."""
    chosen = bench.selection.weight
    if chosen is None:
        return False
    name = f"delete {called(weight_of(bench.design, chosen))}"
    bench.select(NOTHING)
    bench.apply(name, lambda d: delete_weights(d, (chosen,)))
    return True


def edit_hint(selection: Selection, design: Design, *, dragging: bool) -> str:
    """What the editing hand can do now."""
    if dragging:
        return "Shift: hold straight. Ctrl: no snapping. Alt: without what belongs to it. Escape: as it was."
    if selection.weight:
        return "Drag the weight; arrow keys nudge (Shift: ten times). Delete takes it out."
    if selection.nodes:
        return (
            "Drag the nodes (Alt: fin and rudder apart); arrow keys nudge (Shift: ten times). Delete takes "
            "them out, double click turns corner into curve and back."
        )
    if selection.outlines:
        return (
            "Drag an edge (with its whole curve; Alt: alone, a straight one bent), a node, or "
            "the inside for the whole; the grip scales from the root. Double click an edge: new node."
        )
    if not design.outlines:
        return "Nothing is drawn yet: take the Trace hand (T) and click round the fuselage."
    return (
        "Drag an edge to make a chord longer; click an outline to select it; "
        "double click an edge: new node."
    )
