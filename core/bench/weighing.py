"""The CG from what scales read under the aeroplane's supports."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.design import LIMIT, Design
from core.design_bench import Weighing
from core.kinds import NOSE_TO_TAIL
from core.stability.balance import cg_of
from core.stability.ballast import CLOSE, OUT_OF_REACH, Balance, Ballast, ballast_for, weighed
from core.stability.side_area import form_of

STILL_TO_COME = "parts are still to come: weigh again when all is in"


@dataclass(frozen=True)
class Support:
    """A place where the aeroplane stands on a scale: station and offset in mm, reading in grams.

    The reading is that of the aeroplane alone, what the scale carries besides taken off.
    """

    grams: float
    x: float
    y: float = 0.0


@dataclass(frozen=True)
class WeighedCG:
    """Mass in grams and CG in mm from the scales.

    ``y`` is None where the supports stand in one line, which tells nothing across it.
    ``per_gram``: how far x moves, mm, when the scale that matters most reads one gram wrong.
    """

    grams: float
    x: float
    y: float | None
    per_gram: float


def cg_from_scales(supports: Sequence[Support]) -> WeighedCG | str:
    """Mass and CG of an aeroplane that stands level on two, three or more scales.

    Σ m r / Σ m, moments of the readings (exact for an aeroplane at rest, rigging line level; nose up
    by φ, x comes out h tan φ further aft, h the height of the CG over the supports). An error of one
    gram at a scale moves x by (x_scale − x)/Σ m. Scales of one kind that read through friction at the
    wheels do worse: let the aeroplane settle.
    A str is the reason why there is no answer.
    """
    if len(supports) < 2:
        return "weigh at two or three supports"
    if not all(abs(v) <= LIMIT for s in supports for v in (s.grams, s.x, s.y)):
        return OUT_OF_REACH
    if any(s.grams < 0.0 for s in supports):
        return "a scale reads less than nothing: set it to zero before the aeroplane stands on it"
    total = sum(s.grams for s in supports)
    if total <= 0.0:
        return "the scales read nothing: enter what each support carries"
    if max(s.x for s in supports) - min(s.x for s in supports) <= CLOSE:
        return "the supports stand at one station: move one of them fore or aft"
    x = sum(s.grams / total * s.x for s in supports)
    y = sum(s.grams / total * s.y for s in supports)
    per_gram = max(abs(s.x - x) for s in supports) / total
    if not math.isfinite(per_gram):
        return OUT_OF_REACH
    return WeighedCG(total, x, None if _in_line(supports) else y, per_gram)


@dataclass(frozen=True)
class Compared:
    """A weighing beside what the design foresees; mm and grams.

    ``off_grams``, ``off_x``: measured less predicted (``off_x`` positive aft); ``rest``: mass and
    station (grams, mm) of what is still to come for the prediction to come true; ``lead``: what would
    bring the measured CG to ``wanted_x``, the CG that the readings go by, once all is in. Each
    may be the reason why there is none.
    """

    measured: WeighedCG
    off_grams: float | str
    off_x: float | str
    rest: tuple[float, float] | str
    wanted_x: float | str
    lead: Ballast | str


def weighed_stage(weighing: Weighing) -> WeighedCG | str:
    """Mass and CG of one weighing of the design (:func:`cg_from_scales`)."""
    return cg_from_scales([Support(s.grams, s.x) for s in weighing.supports])


def predicted(design: Design) -> Balance | str:
    """Mass and CG that the design foresees: by its weights (:func:`core.stability.ballast.weighed`)."""
    return weighed(design)


def compared(design: Design, weighing: Weighing) -> Compared | str:
    """One weighing against the design's weights and the CG in force (moments, exact).

    The weights are those of the whole aeroplane as the design has it now: while parts are still
    missing, ``rest`` says where they have to balance. Lead goes to the end of the aeroplane on the side
    where it works (:func:`ends`).
    """
    measured = weighed_stage(weighing)
    if isinstance(measured, str):
        return measured
    foreseen = predicted(design)
    off_grams: float | str
    off_x: float | str
    rest: tuple[float, float] | str
    if isinstance(foreseen, str):
        off_grams = off_x = rest = foreseen
    else:
        off_grams, off_x = measured.grams - foreseen.grams, measured.x - foreseen.x
        rest = _rest(measured, foreseen)
    wanted, missing = cg_of(design)
    if wanted is None:
        return Compared(measured, off_grams, off_x, rest, missing, missing)
    lead = _lead(design, measured, wanted.x) if isinstance(rest, str) else STILL_TO_COME
    return Compared(measured, off_grams, off_x, rest, wanted.x, lead)


def ends(design: Design) -> tuple[float, float] | None:
    """(nose, tail) in mm: the smallest and greatest x of the fuselages, or of all outlines; or None."""
    traced = [o for o in design.outlines if o.kind in NOSE_TO_TAIL and o.nodes]
    traced = traced or [o for o in design.outlines if o.nodes]
    boxes = [form_of(outline).box for outline in traced]
    return (min(box[0] for box in boxes), max(box[2] for box in boxes)) if boxes else None


def _lead(design: Design, measured: WeighedCG, wanted_x: float) -> Ballast | str:
    place = ends(design)
    if place is None:
        return "trace the fuselage: its ends are where lead would go"
    return ballast_for(measured.grams, measured.x, wanted_x, place[0] if measured.x > wanted_x else place[1])


def _rest(measured: WeighedCG, foreseen: Balance) -> tuple[float, float] | str:
    grams = foreseen.grams - measured.grams
    # Less than a gram, or than a part in two hundred, is what scales are wrong by.
    if grams <= max(1.0, 0.005 * foreseen.grams):
        return "nothing is left to come by the weights"
    x = (foreseen.grams * foreseen.x - measured.grams * measured.x) / grams
    return (grams, x) if abs(x) <= LIMIT else OUT_OF_REACH


def _in_line(supports: Sequence[Support]) -> bool:
    """Whether all supports stand in one line, seen from above."""
    a = min(supports, key=lambda s: s.x)
    b = max(supports, key=lambda s: s.x)
    length = math.hypot(b.x - a.x, b.y - a.y)
    return all(
        abs((b.x - a.x) * (s.y - a.y) - (b.y - a.y) * (s.x - a.x)) <= 1e-6 * length for s in supports
    )
