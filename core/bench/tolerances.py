"""How much a measured distance may be off: what half a degree comes to, wherever it is measured.

Each is the exact figure at ``TOLERANCE_DEG``, to whichever side, in mm. What cannot be computed comes
back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math

from core.bench.setting_up import FinMarks, fin_tip_distances, root_rise, string_lengths
from core.bench.taut import Body
from core.design import Mark, Tailplane, Wing

TOLERANCE_DEG = 0.5
"""Degrees that incidences, tailplane and fin may be off (common practice, no source)."""


DIFFERENCE_DEG = 0.25
"""Degrees that the difference of two incidences may be off (common practice, no source).

Half of what each may be off by itself: it is the difference that trims, and two surfaces each within
half a degree may differ by a whole one. What a difference off by δ does, in linear theory: the tail's
moment V_h a_t δ is taken up by the margin, ΔC_L = V_h a_t δ / margin. With a tail volume of 0.5, a lift
slope of 3.5 per radian and a margin of 0.10, a quarter of a degree moves the trimmed C_L by 0.08, at
C_L 0.5 the trimmed speed by 8 %; a whole degree moves C_L by 0.31.
"""


def rise_tolerance(surface: Wing | Tailplane) -> float | str:
    """How much the leading edge may stand higher or lower at the root chord, mm."""
    now = root_rise(surface)
    if isinstance(now, str):
        return now
    angles = [math.radians(now.incidence_deg + way * TOLERANCE_DEG) for way in (-1.0, 1.0)]
    return max(abs(now.chord * math.sin(angle) - now.rise) for angle in angles)


def level_tolerance(apart: float) -> float:
    """How much the heights of two points ``apart`` mm may be off, mm: apart × sin of half a degree."""
    return abs(apart) * math.sin(math.radians(TOLERANCE_DEG))


def string_tolerance(surface: Tailplane | Wing, pin: Mark, body: Body | None = None) -> float | str:
    """How much the strings from ``pin`` to the tips may differ, mm; taut over ``body``."""
    turned = string_lengths(surface, pin, TOLERANCE_DEG, body=body)
    return turned if isinstance(turned, str) else abs(turned.difference)


def fin_square_tolerance(marks: FinMarks, tailplane: Tailplane) -> float | str:
    """How much the lengths from the fin's tip to the tailplane tips may differ, mm."""
    leaning = fin_tip_distances(marks.tip, marks.foot_z, tailplane, TOLERANCE_DEG)
    return leaning if isinstance(leaning, str) else abs(leaning.difference)


def fin_parallel_tolerance(marks: FinMarks) -> float:
    """How far each edge of the fin may stand off the centre line, mm: half the chord × sin."""
    return 0.5 * (marks.trailing_x - marks.leading_x) * math.sin(math.radians(TOLERANCE_DEG))
