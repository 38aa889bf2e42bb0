"""How parts are spoken of on paper and at the command line: sizes, materials, counts. Knows no screen."""

from __future__ import annotations

import re
from collections.abc import Sequence

from core.design import DisplayUnits, State
from core.parts.materials import material_of
from core.parts.part import Part
from core.units import GRAMS_PER_OZ, format_fine, format_mass, format_number


def length_words(mm: float, units: DisplayUnits) -> str:
    """A size without its unit: "2.4", "12.52", "3/32"; of a mm to the hundredth, no idle noughts."""
    if units == "mm":
        return f"{round(mm, 2) + 0.0:g}"
    return format_fine(mm, units, with_unit=False)


def size_words(sizes: Sequence[float], units: DisplayUnits) -> str:
    """ "120.4 × 12 × 2.4 mm"."""
    return " × ".join(length_words(size, units) for size in sizes) + (" mm" if units == "mm" else " in")


def material_words(state: State, material_id: str) -> str:
    """What a material is called: the builder's own first."""
    return material_of(state, material_id).label


def mass_words(grams: float, units: DisplayUnits) -> str:
    """What a part weighs, small ones to the hundredth of a gram: "0.24 g", "0.008 oz"."""
    if units == "mm":
        return format_number(grams, 2, unit="g") if abs(grams) < 9.995 else format_mass(grams, units)
    ounces = grams / GRAMS_PER_OZ
    return format_number(ounces, 3, unit="oz") if abs(ounces) < 0.9995 else format_mass(grams, units)


def numbered(name: str) -> tuple[str, int | None, str]:
    """What stands before the last number in a name, the number, what stands after it."""
    found = re.fullmatch(r"(.*?)(\d{1,6})(\D*)", name)
    return (found.group(1), int(found.group(2)), found.group(3)) if found is not None else (name, None, "")


def joint_name(names: Sequence[str]) -> str:
    """One name for parts that are alike: "Rib 2–5", "Rib 2, 4, half", or all of them."""
    found = list(dict.fromkeys(names))
    if len(found) == 1:
        return found[0]
    parts = [numbered(name) for name in found]
    numbers = sorted(number for _, number, _ in parts if number is not None)
    if len(numbers) < len(found) or len({(before, after) for before, _, after in parts}) > 1:
        return ", ".join(found)
    runs = numbers[-1] - numbers[0] == len(numbers) - 1 and len(numbers) > 2
    said = f"{numbers[0]}–{numbers[-1]}" if runs else ", ".join(map(str, numbers))
    return f"{parts[0][0]}{said}{parts[0][2]}"


def stock_words(part: Part, state: State, units: DisplayUnits) -> str:
    """What a part is cut from: "Balsa, medium 2.4 mm"; of a stick its section."""
    section = (part.width, part.thick) if part.role == "stick" else (part.thick,)
    return f"{material_words(state, part.material)} {size_words(section, units)}"
