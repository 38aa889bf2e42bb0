"""What a design's parts are cut from: everybody's table, and the builder's own before it."""

from __future__ import annotations

from core.design import State
from core.materials import WOODS, Wood

OWN = "the builder's own"
"""Where the density of a material of the builder's own comes from."""


def materials(state: State) -> tuple[Wood, ...]:
    """All that a design can be built from: the table, the builder's own in its rows' place or after them."""
    own = {m.id: Wood(m.id, m.name, m.kg_m3, OWN) for m in state.materials}
    return (*(own.pop(wood.id, wood) for wood in WOODS.values()), *own.values())


def material_of(state: State, material_id: str) -> Wood:
    """The material of that id, the builder's own first; KeyError where neither has one."""
    for own in state.materials:
        if own.id == material_id:
            return Wood(own.id, own.name, own.kg_m3, OWN)
    return WOODS[material_id]


def density_of_sheet(grams: float, length: float, width: float, thick: float) -> float:
    """kg/m³ of a sheet of that size in mm that weighs so many grams. ValueError where it has no size."""
    volume = length * width * thick
    if not volume > 0.0:
        raise ValueError("a sheet without length, width or thickness has no density")
    return grams / volume * 1e6
