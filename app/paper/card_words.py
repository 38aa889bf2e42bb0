"""What is said about the card copy: on its sheet, and when the lines have crossed."""

from __future__ import annotations

from app.paper.card_arm import arm_words
from app.paper.card_layout import CardSheets, nose_of
from app.paper.frame import ratio_words
from core.bench.crossing import CrossingSays, Explanation, Place, fraction_as_hung, what_it_says
from core.bench.from_wing import cg_from_wing_words
from core.bench.hanging import Hanging
from core.design import DisplayUnits
from core.stability.readings import Readings
from core.stability.wording import percent
from core.units import format_fine, format_fraction, format_number

HOW_TO = (
    "Print at 100 % and measure the bar. Glue the whole sheet to one even card; cut along every black line.",
    "Glue each piece on the dotted place of its number, all its layers one upon another, thinly and evenly.",
    "What stands off: lay the silhouette into its hole again, the piece on its place; tape a strip across.",
    "Prick A and B. Hang the card from each in turn, a weighted thread from the same pin; mark its line.",
    "Measure where the lines cross, from the nose along the level line; enter it under Paper, Card copy.",
)
MARK_ERROR = 1.0
"""mm on the card: how far a marked line is taken to be off."""


def away(mm: float, units: DisplayUnits, more: str, less: str) -> str:
    """ "3.2 mm aft", "1.0 mm ahead"."""
    return f"{format_fine(abs(mm), units)} {more if mm >= 0 else less}"


def from_nose(sheets: CardSheets, place: Place) -> tuple[float, float]:
    """(aft, above) in mm of card of a place of the design, from the nose."""
    nose = nose_of(sheets.plan.card)
    return (place[0] - nose[0]) / sheets.ratio, (place[1] - nose[1]) / sheets.ratio


def points(mm: float, readings: Readings) -> str | None:
    """How many points of the CLA fraction a length along the aeroplane is: "0.7 points"."""
    arm = readings.value("tail_arm")
    if arm is None or arm <= 0.0:
        return None
    return format_number(100.0 * mm / arm, 1, unit="points")


def _error_words(sheets: CardSheets, on_card: float) -> str:
    units = sheets.design.display_units
    words = f"up to {format_fine(on_card, units)} on the card"
    if sheets.readings.scale_known:
        words += f", {format_fine(on_card * sheets.ratio, units)} full size"
        part = points(on_card * sheets.ratio, sheets.readings)
        if part:
            words += f", {part} of the CLA fraction"
    return words


def should_appear(sheets: CardSheets) -> list[str]:
    """The paragraphs beside the pieces: where the lines cross, and how sure that is."""
    hanging, readings = sheets.hanging, sheets.readings
    if isinstance(hanging, str):
        return [f"No pins: {hanging}."]
    units = sheets.design.display_units
    aft, above = from_nose(sheets, hanging.cla)
    said = f"The lines cross at the CLA: {away(aft, units, 'aft', 'ahead')} of the nose and " \
           f"{away(above, units, 'above', 'below')} it, on the card."
    fraction = readings.value("cla_fraction")
    if fraction is not None:
        said += f" CLA fraction {percent(fraction)}."
    one = f"One line {_mark_error(units)} off at the CLA moves the crossing " \
          f"{_error_words(sheets, MARK_ERROR * hanging.crossing_error)}."
    both = f"Both so far off: {_error_words(sheets, MARK_ERROR * hanging.crossing_error_both)}."
    arm = arm_words(sheets.design, readings, sheets.ratio)
    wing = cg_from_wing_words(sheets.design)
    full = [f"{wing}, full size."] if wing else []
    return [said, one, both, *arm, *full, *hanging.notes, *crumb_words(sheets)]


def _mark_error(units: DisplayUnits) -> str:
    return "1 mm" if units == "mm" else "1 mm (0.04 in)"


def crumb_words(sheets: CardSheets) -> list[str]:
    """What is too small to be cut at this scale, and what leaving it out does."""
    card, cla = sheets.plan.card, sheets.readings.cla
    if not card.crumbs or cla is None or card.balance is None:
        return []
    names = ", ".join(dict.fromkeys(p.name for p in card.crumbs))
    off = (card.balance[0] - cla[0]) / sheets.ratio
    where = away(off, sheets.design.display_units, "further aft", "further forward")
    return [f"Too small to cut at this scale: {names}. Without it the lines cross {where}."]


def crossing_error(sheets: CardSheets) -> float | None:
    """How far off, mm of the design, a crossing may be when both lines are marked to 1 mm."""
    if isinstance(sheets.hanging, str):
        return None
    return MARK_ERROR * sheets.hanging.crossing_error_both * sheets.ratio


def read_crossing(sheets: CardSheets, crossed: Place, origin: Place | None) -> CrossingSays | str:
    """The crossing compared with the card of these sheets; both places in mm of the design.

    ``origin``: what it was measured from; None where that moves along with the print, as the CLA does.
    """
    error = crossing_error(sheets)
    if error is None or not isinstance(sheets.hanging, Hanging):
        return str(sheets.hanging)
    return what_it_says(sheets.plan.card, crossed, error, origin=origin)


def crossing_words(sheets: CardSheets, says: CrossingSays) -> tuple[str, list[str]]:
    """(how it compares, what would fit): sentences for a person."""
    units, ratio, readings = sheets.design.display_units, sheets.ratio, sheets.readings
    off = f"{away(says.aft / ratio, units, 'aft', 'ahead')} of the computed CLA and " \
          f"{away(says.above / ratio, units, 'above', 'below')} it, on the card"
    lines = f"The crossing lies {off}."
    cg, arm, computed = readings.cg, readings.value("tail_arm"), readings.value("cla_fraction")
    if cg is not None and arm is not None and computed is not None:
        hung = fraction_as_hung(says.crossed[0], cg.x, arm)
        if hung is not None:
            lines += f" CLA fraction as hung {percent(hung)}; computed {percent(computed)}."
    if says.agrees:
        bound = format_fine(says.error / ratio, units)
        return lines, [f"It agrees: two lines marked to 1 mm cross within {bound} of the right place."]
    if not says.explanations:
        return lines, [
            "No single cause looked for fits: scale, a layer too few or too many, card. Hang it again from "
            "a third pin, free and still; then see that each piece lies on its dotted place.",
        ]
    return lines, [_explanation_words(sheets, e) for e in says.explanations]


def _explanation_words(sheets: CardSheets, found: Explanation) -> str:
    if found.cause == "scale":
        bar = "4 in" if sheets.design.display_units != "mm" else "100 mm"
        long = format_number(4 * found.amount, 2, unit="in") if bar == "4 in" else format_number(
            100 * found.amount, 1, unit="mm")
        return (
            f"Fits a print at {format_fraction(found.amount, places=1)} of its scale: the bar of {bar} would "
            f"measure {long}."
        )
    if found.cause == "card":
        way = "heavier" if found.amount > 1 else "lighter"
        much = format_fraction(abs(found.amount - 1.0), places=0)
        return (
            f"Fits glued pieces {much} {way} by area than the silhouette: other card, or glue laid unevenly."
        )
    assert found.piece is not None
    name, layers, amount = found.piece.name, found.piece.layers, round(found.amount)
    if found.cause == "more":
        return f"Fits {name} glued on once too often: {layers + 1} layers in place of {layers}."
    if amount == layers:
        return f"Fits {name} left out altogether."
    return f"Fits {name} with {layers - amount} of its {layers} layers."


def scale_note(sheets: CardSheets) -> str:
    """ "1:4 on A4, 1 sheet"."""
    count = "1 sheet" if sheets.count == 1 else f"{sheets.count} sheets"
    scale = ratio_words(sheets.ratio) if sheets.readings.scale_known else "to fit: the scan has no scale yet"
    return f"{scale}, {count} of {sheets.paper.name}"
