"""What lies under the cursor. Pure; node before handle before edge before body, nearest wins."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from app.canvas.view import View
from app.work.selection import Selection
from core.design import Design, Outline
from core.geometry.ring import nearest_on
from core.redesign.outline_edits import Side
from core.stability.side_area import form_of

NODE_PX = 8.0
HANDLE_PX = 8.0
EDGE_PX = 6.0

HitKind = Literal["node", "handle", "edge", "body"]


@dataclass(frozen=True)
class Hit:
    """What was hit: kind, outline, and its node or edge index; ``t`` along an edge, ``side`` of a handle."""

    kind: HitKind
    outline: str
    index: int = -1
    t: float = 0.0
    side: Side = "out"


def hit(
    design: Design, view: View, selection: Selection, px: float, py: float, *, bodies: bool = True
) -> Hit | None:
    """The part of an outline under the pixel (px, py); hidden and locked outlines are passed over."""
    x, z = view.to_mm(px, py)
    reach = max(NODE_PX, EDGE_PX) / view.scale
    near = [o for o in reversed(design.outlines) if not o.hidden and not o.locked and _near(o, x, z, reach)]
    # What is selected is on top for the hand, whatever the order of the list.
    near.sort(key=lambda o: o.id not in selection.outlines)
    return (
        _node(near, view, px, py)
        or _handle(near, selection, view, px, py)
        or _edge(near, x, z, EDGE_PX / view.scale)
        or (_body(near, x, z) if bodies else None)
    )


def _near(outline: Outline, x: float, z: float, reach: float) -> bool:
    if not outline.nodes:
        return False
    low_x, low_z, high_x, high_z = form_of(outline).box
    return low_x - reach <= x <= high_x + reach and low_z - reach <= z <= high_z + reach


def _node(near: list[Outline], view: View, px: float, py: float) -> Hit | None:
    best: tuple[float, Hit] | None = None
    for outline in near:
        count = len(outline.nodes)
        for i, node in enumerate(outline.nodes):
            nx, ny = view.to_px(node.x, node.z)
            gap = math.hypot(nx - px, ny - py)
            if gap > NODE_PX:
                continue
            # Where nodes stand close, each gives way so that the edge between them stays within reach.
            beside = (outline.nodes[i - 1], outline.nodes[(i + 1) % count])
            shortest = min(math.hypot(n.x - node.x, n.z - node.z) for n in beside) * view.scale
            reach = min(NODE_PX, max(0.35 * shortest, 2.5))
            # Strictly nearer: where two corners coincide, the selected outline's, which comes first, wins.
            if gap <= reach and (best is None or gap < best[0] - 1e-9):
                best = (gap, Hit("node", outline.id, i))
    return best[1] if best else None


def _handle(near: list[Outline], selection: Selection, view: View, px: float, py: float) -> Hit | None:
    best: tuple[float, Hit] | None = None
    for outline in near:
        if outline.id not in selection.outlines:
            continue
        for i in shown_handles(outline, selection):
            node = outline.nodes[i]
            sides: tuple[Side, Side] = ("in", "out")
            for side in sides:
                offset = node.handle_in if side == "in" else node.handle_out
                if offset is None:
                    continue
                hx, hy = view.to_px(node.x + offset[0], node.z + offset[1])
                gap = math.hypot(hx - px, hy - py)
                if gap <= HANDLE_PX and (best is None or gap < best[0]):
                    best = (gap, Hit("handle", outline.id, i, side=side))
    return best[1] if best else None


def shown_handles(outline: Outline, selection: Selection) -> list[int]:
    """Nodes whose handles are drawn and can be taken hold of.

    Those of selected nodes and of the selected edge; all of them while none is selected and the
    outline has few nodes.
    """
    nodes = set(selection.nodes_of(outline.id))
    if selection.edge and selection.edge[0] == outline.id:
        nodes |= {selection.edge[1], (selection.edge[1] + 1) % len(outline.nodes)}
    if not nodes and len(outline.nodes) <= 16:
        return list(range(len(outline.nodes)))
    return sorted(nodes)


def _edge(near: list[Outline], x: float, z: float, reach: float) -> Hit | None:
    best: tuple[float, Hit] | None = None
    for outline in near:
        edge, t, gap = nearest_on(form_of(outline).ring, x, z)
        if gap <= reach and (best is None or gap < best[0] - 1e-9):
            best = (gap, Hit("edge", outline.id, edge, t))
    return best[1] if best else None


def _body(near: list[Outline], x: float, z: float) -> Hit | None:
    inside = [o for o in near if form_of(o).holds(x, z)]
    if not inside:
        return None
    # The smallest: a canopy must stay within reach on a selected fuselage; of equal ones the selected.
    smallest = min(inside, key=lambda o: form_of(o).enclosed)
    return Hit("body", smallest.id)
