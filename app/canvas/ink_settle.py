"""Outlines that are there settled on the ink along them, for a worker's thread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.canvas.ink_fit import Asker, Ground
from app.canvas.ink_pull import pulled_mm
from app.scans.shapes import TOLERANCE_MM
from core.design import Design, Outline
from core.redesign.design_edits import with_outlines
from core.redesign.outline_edits import EditError
from core.redesign.settling import Settled, edge_path, on_ink, path_of, settled, with_edge
from core.redesign.shared_edges import nodes_round


@dataclass(frozen=True, eq=False)
class Settling:
    """``design`` with what was asked for on the ink, and what became of each outline."""

    design: Design
    each: tuple[Settled, ...]


def settle_all(
    ground: Ground, design: Design, ids: Sequence[str], edge: int | None, asker: Asker
) -> Settling:
    """The outlines ``ids``, or the one ``edge`` of the only one, on the ink that runs along them.

    EditError, a sentence, where one of them is locked or no ink runs along it.
    """
    each: list[Settled] = []
    for outline_id in ids:
        outline = design.outline(outline_id)
        if outline.locked:
            raise EditError(f'"{outline.name}" is locked: unlock it in the list of outlines first')
        # Those that are still to be settled must not hold this one where they are.
        still = set(ids[len(each) :])
        others = [o for o in design.outlines if o.id not in still and not o.hidden]
        if edge is not None:
            found = _edge(ground, outline, edge, asker)
        else:
            found = _whole(ground, outline, others, asker)
        each.append(found)
        design = with_outlines(design, {outline_id: found.outline})
    return Settling(design, tuple(each))


def _whole(ground: Ground, outline: Outline, others: Sequence[Outline], asker: Asker) -> Settled:
    path = path_of(outline)
    found = pulled_mm(ground, path, asker, closed=True)
    if isinstance(found, str):
        raise EditError(f'"{outline.name}" cannot be settled: {found}')
    try:
        nodes = nodes_round(on_ink(found, path, closed=True), others, TOLERANCE_MM)
    except ValueError:
        raise EditError(f'"{outline.name}" is too small to settle') from None
    return settled(outline, nodes)


def _edge(ground: Ground, outline: Outline, edge: int, asker: Asker) -> Settled:
    path = edge_path(outline, edge)
    found = pulled_mm(ground, path, asker, closed=False)
    if isinstance(found, str):
        raise EditError(f'the edge of "{outline.name}" cannot be settled: {found}')
    try:
        nodes = with_edge(outline, edge, on_ink(found, path, closed=False), TOLERANCE_MM)
    except ValueError:
        raise EditError(f'the edge of "{outline.name}" is too short to settle') from None
    return settled(outline, nodes)
