"""Where the centre of gravity lies, from the mark or from the weights; and what the surfaces weigh."""

from __future__ import annotations

from typing import NamedTuple

from core.design import Build, Design, Mark, State
from core.parts.built import counted
from core.stability.side_area import form_of


class SurfaceMass(NamedTuple):
    """What a surface weighs, at its centroid; mm. ``build`` None: by its area, in g/dm²."""

    ids: tuple[str, ...]
    grams: float
    x: float
    z: float
    build: Build | None


def surface_masses(state: State) -> list[SurfaceMass]:
    """What weighs by how it is made or by its area, in the order of outlines and then of builds.

    A build weighs what its parts weigh, and then none of its outlines weighs by its area. An outline
    with ``grams_per_dm2`` weighs its whole area times its count, at its centroid.
    """
    made = counted(state)
    built = {i for b in made for i in b.build.of}
    found = []
    for outline in state.outlines:
        if outline.grams_per_dm2 is None or outline.id in built:
            continue
        moments = form_of(outline).patch.moments
        centre = moments.centroid()
        if centre is not None:
            grams = outline.grams_per_dm2 * moments.area / 1e4 * outline.count
            found.append(SurfaceMass((outline.id,), grams, *centre, None))
    found += [SurfaceMass(b.build.of, b.grams, b.x, b.z, b.build) for b in made]
    return found


def masses(design: Design) -> list[tuple[float, float, float]]:
    """(grams, x mm, z mm) of every weight and of every surface that weighs (``surface_masses``).

    Empty while no weight is entered: a tail and some outlines alone are no aeroplane, and a mass of
    theirs would pass for its own.
    """
    if not design.weights:
        return []
    return [(w.grams, w.x, w.z) for w in design.weights] + [
        (m.grams, m.x, m.z) for m in surface_masses(design)
    ]


def surfaces_weigh(state: State) -> bool:
    """True if outlines go into what the aeroplane weighs."""
    return bool(state.builds) or any(outline.grams_per_dm2 is not None for outline in state.outlines)


def unweighed(state: State) -> str | None:
    """Why what the surfaces weigh cannot be told, a clause; None where it can."""
    for outline in state.outlines:
        if outline.grams_per_dm2 is not None and (why := form_of(outline).untold) is not None:
            return f'"{outline.name}" {why}'
    return None


def cg_of(design: Design) -> tuple[Mark | None, str]:
    """(the CG in force, why it is missing). Σ m r / Σ m where the design takes it from the weights."""
    if design.cg_from == "mark":
        return design.cg_mark, "" if design.cg_mark else "mark the CG"
    if design.weights and (why := unweighed(design)) is not None:
        return None, why
    found = masses(design)
    total = sum(m for m, _, _ in found)
    if total <= 0.0:
        return None, "enter what the aeroplane carries, or mark the CG by hand"
    return Mark(
        x=sum(m * x for m, x, _ in found) / total, z=sum(m * z for m, _, z in found) / total
    ), ""
