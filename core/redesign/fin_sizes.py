"""A fin by four numbers: height, chord at root and tip, sweep of the leading edge; measured, typed, new."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from msgspec.structs import replace

from core.design import Design, Node, Outline, Vector
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import union
from core.kinds import CARRIERS, FIN, FINS, VERTICAL_TAIL
from core.redesign.belonging import whole_group, with_partners
from core.redesign.design_edits import add_outline, fresh_id, with_outlines
from core.redesign.outline_edits import EditError, own_label
from core.redesign.tail import Tail, noded, rise_at, span_at, tails
from core.redesign.tail_hinge import chord_lines
from core.stability.side_area import form_of

_LOW, _HIGH = 0.10, 0.75
"""Parts of the height at which the edges are read off; rounded tips and fillets lie beyond."""
_SUNK = 3.0
"""mm by which a new fin's foot goes into the body."""
_NEAR = 1e-4
MOST_SWEEP = 75.0
"""Degrees."""


@dataclass(frozen=True)
class FinSizes:
    """Lengths in mm. Root and tip chord are those of straight edges: lines through what is read off at a
    tenth and three quarters of the height, run on to root and top, past fillets and rounded tips.
    """

    height: float
    """From the root, where it leaves the body, to the top."""
    root: float
    tip: float
    sweep: float
    """Of the leading edge, in degrees aft of upright."""


_measured: IdentityMemo[tuple[Tail, _Frame] | str] = IdentityMemo(16)


@dataclass(frozen=True)
class _Frame:
    """The trapezium that stands for a fin: leading edge and chord at the root and at the top, mm."""

    root_z: float
    height: float
    front: float
    root: float
    tip_front: float
    tip: float

    @property
    def sizes(self) -> FinSizes:
        sweep = math.degrees(math.atan2(self.tip_front - self.front, self.height))
        return FinSizes(self.height, self.root, self.tip, sweep)


def fin_ids(design: Design, ids: Collection[str]) -> tuple[str, ...]:
    """The fin and rudder that ``ids`` belong to; none where something else is among them."""
    picked = [o for o in design.outlines if o.id in ids]
    if not picked or any(o.kind not in VERTICAL_TAIL for o in picked) or len({o.count for o in picked}) > 1:
        return ()
    return whole_group(design, ids)


def sizes_of(design: Design, ids: Collection[str]) -> FinSizes | str:
    """The sizes of the fin, with its rudder, that ``ids`` are; or why it has none. Kept by identity."""
    found = _frame(design, ids)
    return found if isinstance(found, str) else found[1].sizes


def _frame(design: Design, ids: Collection[str]) -> tuple[Tail, _Frame] | str:
    mine = tuple(o for o in design.outlines if o.id in ids)
    bodies = tuple(o for o in design.outlines if o.kind in CARRIERS)
    return _measured.get((*mine, *bodies), lambda: _read_off(design, mine, bodies))


def _read_off(
    design: Design, mine: tuple[Outline, ...], bodies: tuple[Outline, ...]
) -> tuple[Tail, _Frame] | str:
    try:
        tail = tails(replace(design, outlines=(*bodies, *mine)))[0]
    except EditError as error:
        return str(error)
    edges = []
    for part in (_LOW, _HIGH):
        span = span_at(tail.exposed, tail.root_z + part * tail.height)
        if span is None:
            return "the fin has no chord to measure"
        edges.append(span)
    (front, rear), (high_front, high_rear) = edges
    by = (high_front - front) / (_HIGH - _LOW), (high_rear - rear) / (_HIGH - _LOW)
    x0, x1 = front - _LOW * by[0], rear - _LOW * by[1]
    top0, top1 = x0 + by[0], x1 + by[1]
    if not (x1 - x0 > 1e-3 and top1 - top0 > 1e-3 and tail.height > 1e-3):
        return "the fin runs to a point: it has no tip chord to type"
    return tail, _Frame(tail.root_z, tail.height, x0, x1 - x0, top0, top1 - top0)


def shape_fin(design: Design, ids: Collection[str], sizes: FinSizes) -> Design:
    """The fin and rudder of ``ids`` reshaped until they measure ``sizes``. EditError where they cannot.

    The hinge line's foot stays, without a hinge the foot of the leading edge. Between root and top every
    place keeps its part of the chord, so that curves stay fair; what lies in the body stays as high.
    """
    _check(sizes)
    found = _frame(design, ids)
    if isinstance(found, str):
        raise EditError(found)
    tail, frame = found
    ready = with_outlines(design, {o.id: noded(o, tail) for o in design.outlines if o.id in ids})
    lines = chord_lines(design, tail)
    line = next((lines[o.id] for o in design.outlines if o.id in lines and o.kind in FINS), None)
    stays = line[0] + line[1] * frame.root_z if line else frame.front
    part = (stays - frame.front) / frame.root
    wanted, made = sizes, design
    for _ in range(12):
        goal = _goal(frame, wanted, stays - part * wanted.root)
        made = _reshaped(ready, ids, frame, goal)
        now = sizes_of(made, ids)
        if isinstance(now, str):
            raise EditError(f"the fin cannot be so: {now}")
        off = FinSizes(
            sizes.height - now.height, sizes.root - now.root, sizes.tip - now.tip, sizes.sweep - now.sweep
        )
        if max(abs(off.height), abs(off.root), abs(off.tip), abs(off.sweep)) < _NEAR:
            return made
        wanted = FinSizes(
            max(wanted.height + off.height, 0.1), max(wanted.root + off.root, 0.1),
            max(wanted.tip + off.tip, 0.01), wanted.sweep + off.sweep,
        )
    if max(abs(off.height), abs(off.root), abs(off.tip), abs(off.sweep)) > 0.05:
        raise EditError("the fin cannot be brought to these sizes: change them by less, or trace it anew")
    return made


def _check(sizes: FinSizes) -> None:
    for name, value in (("height", sizes.height), ("root chord", sizes.root), ("tip chord", sizes.tip)):
        if not (math.isfinite(value) and 1.0 <= value <= 10_000.0):
            raise EditError(f"the fin's {name} has to be between 1 mm and 10 m")
    if not (math.isfinite(sizes.sweep) and abs(sizes.sweep) <= MOST_SWEEP):
        raise EditError(f"the fin's sweep has to lie within {MOST_SWEEP:.0f}° of upright")


def _goal(frame: _Frame, sizes: FinSizes, front: float) -> _Frame:
    tip_front = front + sizes.height * math.tan(math.radians(sizes.sweep))
    return _Frame(frame.root_z, sizes.height, front, sizes.root, tip_front, sizes.tip)


def _reshaped(design: Design, ids: Collection[str], old: _Frame, new: _Frame) -> Design:
    made = {o.id: _mapped(o, old, new) for o in design.outlines if o.id in ids}
    for outline in design.outlines:
        if outline.id in ids and outline.kind not in FINS:
            # The rudder first: what the fin shares with its longer hinge lies on it afterwards too.
            led = with_partners(design, {outline.id: made[outline.id]})
            for other in led.outlines:
                before = design.outline(other.id)
                if other.id in ids and other.id != outline.id and len(other.nodes) == len(before.nodes):
                    nodes = tuple(
                        replace(mine, x=its.x, z=its.z) if (its.x, its.z) != (was.x, was.z) else mine
                        for mine, its, was in zip(
                            made[other.id].nodes, other.nodes, before.nodes, strict=True
                        )
                    )
                    made[other.id] = replace(other, nodes=nodes)
    return with_outlines(design, made)


def _mapped(outline: Outline, old: _Frame, new: _Frame) -> Outline:
    rise, up = old.height, new.height / old.height

    def place(node: Node) -> Node:
        above = max((node.z - old.root_z) / rise, 0.0)
        front = old.front + above * (old.tip_front - old.front)
        chord = old.root + above * (old.tip - old.root)
        chord = max(chord, 0.02 * old.root)
        part = (node.x - front) / chord
        new_front = new.front + above * (new.tip_front - new.front)
        new_chord = new.root + above * (new.tip - new.root)
        along = new_chord / chord
        lean, risen = 0.0, 1.0
        if node.z > old.root_z:
            moved = (new.tip_front - new.front) + part * (new.tip - new.root)
            lean = (moved - along * ((old.tip_front - old.front) + part * (old.tip - old.root))) / rise
            risen = up

        def carried(handle: Vector | None) -> Vector | None:
            return None if handle is None else (along * handle[0] + lean * handle[1], risen * handle[1])

        z = old.root_z + up * (node.z - old.root_z) if node.z > old.root_z else node.z
        return Node(
            new_front + part * new_chord, z, carried(node.handle_in), carried(node.handle_out)
        )

    return replace(outline, nodes=tuple(place(node) for node in outline.nodes))


def new_fin(design: Design, sizes: FinSizes) -> tuple[Design, str]:
    """(the design with a fin of these sizes that stands on the body's end, the fin's id).

    EditError without a body to stand on.
    """
    _check(sizes)
    bodies = [o for o in design.outlines if o.kind in CARRIERS]
    body = union(form_of(o).patch.region for o in bodies)
    if not bodies or body.is_empty:
        raise EditError("a new fin needs a fuselage to stand on: trace that first")
    rear = max(form_of(o).patch.box[2] for o in bodies) - 1.0
    front = rear - sizes.root
    feet = [rise_at(body, x) for x in (front, rear)]
    if feet[0] is None or feet[1] is None:
        raise EditError("the fin's root is longer than what it stands on")
    low_front, low_rear = feet[0][1], feet[1][1]
    root_z = max(low_front, low_rear)
    top = root_z + sizes.height
    slope = math.tan(math.radians(sizes.sweep))
    tip_front = front + sizes.height * slope
    # Straight edges, run on into the body.
    foot_front = front - slope * (root_z - low_front + _SUNK)
    fin_id = fresh_id(design, FIN)
    outline = Outline(fin_id, FIN, (
        Node(foot_front, low_front - _SUNK), Node(rear, low_rear - _SUNK),
        Node(tip_front + sizes.tip, top), Node(tip_front, top),
    ), label=own_label(FIN, {o.name for o in design.outlines}))
    made = add_outline(design, outline)
    return shape_fin(made, (fin_id,), sizes), fin_id
