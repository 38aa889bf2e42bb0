"""The CG from what scales read under the aeroplane's supports."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.design import LIMIT
from core.stability.ballast import CLOSE, OUT_OF_REACH


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

    Σ m r / Σ m, moments of the readings (exact for an aeroplane at rest, rigging line level; out of
    level see :func:`out_of_level`). An error of one gram at a scale moves x by (x_scale − x)/Σ m.
    Scales of one kind that read through friction at the wheels do worse: let the aeroplane settle.
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


def out_of_level(height: float, nose_up_deg: float) -> float | str:
    """How far aft of the true CG the scales put it, mm, when the aeroplane stands nose up: h tan φ (exact).

    ``height`` in mm: of the CG above the supports, which stand at one height when the rigging line
    is level. Under 45° of slope.
    """
    if not (abs(height) <= LIMIT and math.isfinite(nose_up_deg)):
        return OUT_OF_REACH
    if abs(nose_up_deg) > 45.0:
        return "level the aeroplane before weighing it"
    return height * math.tan(math.radians(nose_up_deg))


def _in_line(supports: Sequence[Support]) -> bool:
    """Whether all supports stand in one line, seen from above."""
    a = min(supports, key=lambda s: s.x)
    b = max(supports, key=lambda s: s.x)
    length = math.hypot(b.x - a.x, b.y - a.y)
    return all(
        abs((b.x - a.x) * (s.y - a.y) - (b.y - a.y) * (s.x - a.x)) <= 1e-6 * length for s in supports
    )
