"""Where the centre of gravity lies, from the mark or from the weights."""

from __future__ import annotations

from core.design import Design, Mark
from core.stability.side_area import form_of


def masses(design: Design) -> list[tuple[float, float, float]]:
    """(grams, x mm, z mm) of every weight, and of every outline that weighs by its area.

    An outline with ``grams_per_dm2`` weighs its whole area times its count, at its centroid.
    """
    found = [(w.grams, w.x, w.z) for w in design.weights]
    for outline in design.outlines:
        if outline.grams_per_dm2 is None:
            continue
        moments = form_of(outline).patch.moments
        centre = moments.centroid()
        if centre is not None:
            found.append((outline.grams_per_dm2 * moments.area / 1e4 * outline.count, *centre))
    return found


def cg_of(design: Design) -> tuple[Mark | None, str]:
    """(the CG in force, why it is missing). Σ m r / Σ m where the design takes it from the weights."""
    if design.cg_from == "mark":
        return design.cg_mark, "" if design.cg_mark else "mark the CG"
    found = masses(design)
    total = sum(m for m, _, _ in found)
    if total <= 0.0:
        return None, "enter what the aeroplane carries, or mark the CG by hand"
    return Mark(
        x=sum(m * x for m, x, _ in found) / total, z=sum(m * z for m, _, z in found) / total
    ), ""
