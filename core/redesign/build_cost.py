"""What a surface's parts do to the balance, against what the surface weighed without them."""

from __future__ import annotations

from dataclasses import dataclass

from msgspec.structs import replace

from core.design import Design
from core.redesign.weight_edits import lead_needed, nose_x
from core.stability.balance import surface_masses
from core.stability.ballast import Balance, weighed


@dataclass(frozen=True)
class BuildCost:
    """Grams of the surface by its area ``before``; the CG's station in mm and the lead in the nose in grams.

    (without the build, with it) each; None where the weights give no CG, or no mark says where it is wanted.
    """

    before: float
    cg: tuple[float, float] | None
    lead: tuple[float, float] | None


def build_cost(design: Design, build_id: str) -> BuildCost:
    """What one build changes. KeyError where the design has none of that id."""
    builds = tuple(b for b in design.builds if b.id != build_id)
    if len(builds) == len(design.builds):
        raise KeyError(build_id)
    without = replace(design, builds=builds)
    of = next(b.of for b in design.builds if b.id == build_id)
    before = sum(m.grams for m in surface_masses(without) if m.build is None and m.ids[0] in of)
    one, other = weighed(without), weighed(design)
    cg = None if isinstance(one, str) or isinstance(other, str) else (one.x, other.x)
    leads = (_lead(without, one), _lead(design, other))
    lead = None if leads[0] is None or leads[1] is None else (leads[0], leads[1])
    return BuildCost(before, cg, lead)


def _lead(design: Design, now: Balance | str) -> float | None:
    """Grams in the nose that bring the CG by the weights on to the mark; 0 where it lies ahead of it."""
    front = nose_x(design)
    if design.cg_mark is None or front is None or isinstance(now, str):
        return None
    found = lead_needed(design, design.cg_mark.x, front)
    if isinstance(found, str):
        return 0.0 if now.x <= design.cg_mark.x else None
    return found.grams
