"""Where a click of the tracing hand goes, how it shows them, and what it says of its keys."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from app.canvas.snapping import Snap, held_straight, snap
from app.canvas.tools.draft import Draft
from app.canvas.tools.hand import Bench, Overlay, Pointer
from app.canvas.tools.inking import Trail
from app.canvas.tools.tracing_ink import TracingInk, dashes
from core.design import DisplayUnits, Node
from core.kinds import Kind
from core.stability.side_area import is_thin
from core.units import format_angle, format_length

TOO_FEW = "An outline needs at least three nodes, or two with curves."
NO_WIDTH = (
    "It runs back on itself and has no area: go round the other side, or take clicks back with Backspace."
)
NO_WIDTH_ROUND = "On the ink it runs back on itself and has no area: undo brings the line back."

_CAREFUL_PX = 3.0


def fault_of(nodes: tuple[Node, ...]) -> str:
    """Why these are no outline; empty where they are one."""
    if len(nodes) < (2 if any(n.handle_in or n.handle_out for n in nodes) else 3):
        return TOO_FEW
    return NO_WIDTH if is_thin(nodes) else ""


def placed(bench: Bench, at: Pointer, last: Node | None, *, to_ink: bool, following: bool) -> Snap:
    """Where a click goes that closes nothing; ``last`` is the node before it."""
    x, z = at.x, at.z
    if at.shift and last is not None:
        return Snap(*held_straight(x, z, last.x, last.z))
    if at.ctrl:
        return Snap(x, z)
    ink = bench.ink if to_ink else None
    place = snap(bench.design, bench.view, x, z, ink=ink.nearest if ink else None)
    off = math.hypot(place.x - x, place.z - z) * bench.view.scale
    if following and place.to == "ink" and off <= _CAREFUL_PX:
        # Where lines meet is told no better than that: a careful click is as good.
        return Snap(x, z, "ink")
    return place


@dataclass(frozen=True)
class View:
    """A draft with at least one click, and what is done to it: ``closing`` it, ``pulling`` its last handle.

    ``finishing``: closed, and being fitted to the ink. ``scale`` is pixels to the mm.
    """

    draft: Draft
    inked: TracingInk
    trail: Trail | str
    closing: bool
    pulling: bool
    finishing: bool
    scale: float
    units: DisplayUnits


def overlay_of(at: Snap | None, view: View | None) -> Overlay:
    """What to draw: the mouse is at ``at``; no ``view`` where nothing is drawn yet."""
    shown = Overlay(snap=at if at and at.to != "free" else None)
    if view is None:
        return shown
    drawn = view.inked.shown(view.draft)
    nodes, line = drawn.nodes, drawn.line
    if view.finishing:
        places = tuple((n.x, n.z) for n in nodes)
        return Overlay(draft=line, draft_nodes=places, figure="fitting…")
    last, trail = view.draft.last, view.trail
    figure, guides = "", shown.guides
    if not isinstance(trail, str) and trail.points:
        figure = "close along the ink" if view.closing else "along the ink"
        if trail.doubt:
            figure, guides = "unsure", dashes(trail.points, view.scale)
        else:
            line = (*line, *trail.points)
    elif view.draft.closed or view.closing:
        line, figure = view.inked.line_home(view.draft), "close"
    elif at is not None and not view.pulling:
        line = (*line, (at.x, at.z))
        dx, dz = at.x - last.x, at.z - last.z
        length, turn = math.hypot(dx, dz), math.degrees(math.atan2(dz, dx))
        figure = f"{format_length(length, view.units)}  {format_angle(turn)}"
    return replace(
        shown,
        draft=line, guides=guides,
        draft_nodes=tuple((n.x, n.z) for n in nodes),
        draft_handles=tuple(
            ((n.x, n.z), (n.x + h[0], n.z + h[1]))
            for n in nodes[-1:] for h in (n.handle_in, n.handle_out) if h
        ),
        closing=view.closing, figure=figure,
    )


def empty_hint(kind: Kind) -> str:
    """What the hand does before the first click."""
    return (
        f"Tracing a {kind}: draw once round it with the button down; or click for corners, press and "
        "drag for curves, with F held along the ink. Shift: level, upright, 45°. Ctrl: no snapping."
    )


def hint_of(trail: Trail | str | None) -> str:
    """What the keys do after it; ``trail`` None where no ink is followed."""
    if isinstance(trail, str):
        return f"Straight from here: {trail}. Backspace: last step. Escape: abandon."
    if trail is None:
        return (
            "Click the first node or press Return to close. F held: follow the ink. Backspace: last step. "
            "Escape: abandon. Shift: level, upright, 45°. Ctrl: no snapping."
        )
    if trail.doubt:
        return f"Unsure: {trail.doubt}. Click nearer, or let go of F. Backspace: last run."
    return (
        "Following the ink: click where it strays. First node, Return: close. Backspace: last run. "
        "Shift: straight."
    )
