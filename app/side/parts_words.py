"""What the window of tail parts says of parts and their weight."""

from __future__ import annotations

from app.paper.parts_words import mass_words, material_words
from core.design import Design, DisplayUnits
from core.design_build import Build
from core.loading import format_loading
from core.parts.part import Built, Part
from core.redesign.build_cost import BuildCost
from core.units import format_fine, format_length, format_mass

CAUTIONS = (
    "Blades: cut away from your fingers. Saw dust: wear a mask. Laser fumes: draw them off, and cut nothing "
    "that holds chlorine. Cyanoacrylate glues skin and eyes: ventilate, keep it off both.",
    "A structure drawn by rule of thumb has not been calculated for strength.",
)
_THIN = "\u2009"
_SAME_MM, _SAME_G = 0.05, 0.05


def size_words(part: Part, units: DisplayUnits) -> str:
    """The stock that a part is cut from: length × width × thickness, without the unit."""
    sizes = (part.length, part.width, part.thick)
    return f"{_THIN}×{_THIN}".join(format_fine(size, units, with_unit=False) for size in sizes)


def part_words(design: Design, part: Part) -> str:
    """What stands over the drawing of a part."""
    units = design.display_units
    times = "one" if part.count == 1 else f"{part.count} of them"
    unit = "mm" if units == "mm" else "in"
    each = "" if part.count == 1 else f", {mass_words(part.grams / part.count, units)} each"
    wood = material_words(design, part.material)
    return f"{part.name}: {times}, {wood}, {size_words(part, units)} {unit}{each}"


def total_words(built: Built, units: DisplayUnits) -> str:
    """Wood, covering, glue, all, and where its centroid lies."""
    parts = (("wood", built.wood_grams), ("covering", built.covering_grams), ("glue", built.glue_grams))
    sums = ", ".join(f"{name} {mass_words(grams, units)}" for name, grams in parts)
    return (
        f"{mass_words(built.grams, units)} in all ({sums}), centroid at station "
        f"{format_length(built.x, units)}, height {format_length(built.z, units)}"
    )


def before_words(design: Design, build: Build, built: Built, cost: BuildCost) -> str:
    """What the surface weighed before, and what its parts do to CG and lead."""
    units = design.display_units
    rates = [o.grams_per_dm2 for o in design.outlines if o.id in build.of and o.grams_per_dm2 is not None]
    if rates and cost.before > 0.0:
        by = ", ".join(format_loading(rate, units, least_places=True) for rate in dict.fromkeys(rates))
        was = f"By area ({by}) it weighed {format_mass(cost.before, units)}"
    else:
        was = "Without parts it weighed nothing in the balance"
    if not built.grams > 0.0:
        return f"{was}; there are no parts to weigh yet."
    words = [f"{was}, now it weighs {format_mass(built.grams, units)}."]
    if cost.before == 0.0 and design.weights:
        words.append("If one of the weights in the list holds it already, take it off there.")
    if cost.cg is not None:
        moved = cost.cg[1] - cost.cg[0]
        if abs(moved) < _SAME_MM:
            words.append("The CG by the weights stays.")
        else:
            way = "aft" if moved > 0.0 else "forward"
            words.append(f"The CG by the weights moves {format_fine(abs(moved), units)} {way}.")
    if cost.lead is not None:
        was_lead, lead = (format_mass(grams, units) for grams in cost.lead)
        if abs(cost.lead[1] - cost.lead[0]) < _SAME_G:
            words.append(f"Lead in the nose for the marked CG: {lead}, as before.")
        else:
            words.append(f"Lead in the nose for the marked CG: {lead}, before {was_lead}.")
    return " ".join(words)
