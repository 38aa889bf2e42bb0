"""The weighing table in words: what the design foresees, what was weighed, and blanks to write in."""

from __future__ import annotations

from dataclasses import dataclass

from core.bench.from_wing import from_wing_words
from core.bench.weighing import Compared, compared, predicted
from core.design import Design, DisplayUnits
from core.design_bench import Weighing
from core.stability.balance import cg_of
from core.units import GRAMS_PER_OZ, format_fine, format_mass

SCALES = 3
BLANKS = 3
Cell = tuple[str, str]
"""Two lines that stand above one another."""


@dataclass(frozen=True)
class WeighingRow:
    """``cells``: stage, one for each scale (station, reading), mass, CG, difference, lead; words below."""

    cells: tuple[Cell, ...]
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class WeighingTable:
    """``predicted``: mass and CG by the weights; ``heads``: one for each cell of a row."""

    predicted: str
    note: str
    heads: tuple[str, ...]
    rows: tuple[WeighingRow, ...]


def predicted_words(design: Design) -> str:
    """What the design foresees: "Predicted 1461 g, CG at x 339.3 mm", or why it cannot be told."""
    units, found = design.display_units, predicted(design)
    wanted, _ = cg_of(design)
    if isinstance(found, str):
        by = f"no prediction yet: {found}"
    else:
        by = f"predicted {format_mass(found.grams, units)}, CG at x {format_fine(found.x, units)}"
        where = from_wing_words(design, found.x)
        by += f", {where}" if where else ""
    if wanted is not None and design.cg_from == "mark":
        by += f"; marked at x {format_fine(wanted.x, units)}"
    return by[0].upper() + by[1:]


def off_words(mm: float, units: DisplayUnits) -> str:
    """How far the measured CG lies from the predicted one: "1.2 mm aft"."""
    text = format_fine(abs(mm), units)
    if text == format_fine(0.0, units):
        return "as predicted"
    return f"{text} {'aft' if mm > 0.0 else 'forward'}"


def lead_words(found: Compared, units: DisplayUnits) -> Cell:
    """The lead that would mend it and its station, or dashes."""
    if isinstance(found.lead, str):
        return "–", ""
    if not found.lead.grams > 0.05:
        return "none", ""
    return f"at x {format_fine(found.lead.x, units)}", format_mass(found.lead.grams, units)


def stage_words(found: Compared, units: DisplayUnits) -> tuple[str, ...]:
    """Beside the figures, one sentence each: what is still to come, why there is no lead, how sure it is."""
    amount, wrong = (1.0, "One gram") if units == "mm" else (0.1 * GRAMS_PER_OZ, "A tenth of an ounce")
    moves = amount * found.measured.per_gram
    words = [
        f"{wrong} wrong at a scale moves the CG by up to {format_fine(moves, units)}."
        if moves >= 0.05 else ""
    ]
    if not isinstance(found.rest, str):
        grams, x = found.rest
        words.append(
            f"Still to come by the weights: {format_mass(grams, units)}, which has to balance at x "
            f"{format_fine(x, units)} for the prediction to come true."
        )
    elif isinstance(found.lead, str):
        words.append(f"No lead told: {found.lead}.")
    return tuple(word for word in words if word)


def _scales(weighing: Weighing, units: DisplayUnits) -> list[Cell]:
    told = [
        (f"x {format_fine(s.x, units)}", format_mass(s.grams, units)) for s in weighing.supports[:SCALES]
    ]
    return told + [("", "")] * (SCALES - len(told))


def weighing_row(design: Design, weighing: Weighing) -> WeighingRow:
    """One stage as entered, with its results."""
    units, found = design.display_units, compared(design, weighing)
    stage = (weighing.label or "Weighing", "")
    scales = _scales(weighing, units)
    more = len(weighing.supports) - SCALES
    extra = (f"{more} more scales count as well.",) if more > 0 else ()
    if isinstance(found, str):
        return WeighingRow((stage, *scales, *[("", "")] * 4), (*extra, f"Not yet: {found}."))
    measured = found.measured
    off: Cell = ("–", "") if isinstance(found.off_x, str) or isinstance(found.off_grams, str) else (
        format_mass(found.off_grams, units, signed=True), off_words(found.off_x, units)
    )
    return WeighingRow(
        (
            stage, *scales, ("", format_mass(measured.grams, units)),
            ("", f"x {format_fine(measured.x, units)}"), off, lead_words(found, units),
        ),
        (*extra, " ".join((*_on_wing(design, measured.x), *stage_words(found, units)))),
    )


def _on_wing(design: Design, x: float) -> tuple[str, ...]:
    where = from_wing_words(design, x)
    return (f"CG {where}.",) if where else ()


def weighing_table(design: Design) -> WeighingTable:
    """The whole table: the stages entered, then blank lines."""
    note = (
        "Stand the aeroplane level on two or three scales, what they carry besides taken off. Upper line: "
        "the station x of each support; lower line: what its scale reads. Mass = sum of the readings; "
        "CG = sum of reading × x, divided by the mass. Lead = mass × (CG − wanted CG) / (wanted CG − its x). "
        "The prediction is for all weights of the design."
    )
    blank = WeighingRow((("", ""), *[("x", "")] * SCALES, *[("", "")] * 4))
    return WeighingTable(
        predicted_words(design), note,
        ("stage", "scale 1", "scale 2", "scale 3", "mass", "CG", "off predicted", "lead that mends it"),
        (*(weighing_row(design, w) for w in design.bench.weighings), *[blank] * BLANKS),
    )
