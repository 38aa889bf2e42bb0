"""How much a measured distance may be off: what half a degree comes to, wherever it is measured.

Each is the exact figure at ``TOLERANCE_DEG``, to whichever side, in mm. What cannot be computed comes
back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math

import numpy as np

from core.bench.setting_up import FinMarks, fin_tip_distances, root_rise, string_lengths
from core.design import Design, Mark, Tailplane, Wing
from core.kinds import NOSE_TO_TAIL
from core.stability.side_area import form_of

TOLERANCE_DEG = 0.5
"""Degrees that incidences, tailplane and fin may be off (common practice, no source)."""


def nose_pin(design: Design) -> Mark:
    """A pin far forward on the centre line: at the foremost point of the fuselages, or at the datum."""
    forms = [form_of(outline) for outline in design.outlines if outline.kind in NOSE_TO_TAIL]
    # Asked after every edit: sorted by x, then z, since tuples of Python's own take ten times as long.
    corners = np.concatenate([form.corners for form in forms]) if forms else np.zeros((1, 2))
    foremost = np.lexsort((corners[:, 1], corners[:, 0]))[0]
    return Mark(float(corners[foremost, 0]), float(corners[foremost, 1]))


def rise_tolerance(surface: Wing | Tailplane) -> float | str:
    """How much the leading edge may stand higher or lower at the root chord, mm."""
    now = root_rise(surface)
    if isinstance(now, str):
        return now
    angles = [math.radians(now.incidence_deg + way * TOLERANCE_DEG) for way in (-1.0, 1.0)]
    return max(abs(now.chord * math.sin(angle) - now.rise) for angle in angles)


def string_tolerance(tailplane: Tailplane, pin: Mark) -> float | str:
    """How much the strings from ``pin`` to the tips may differ, mm."""
    turned = string_lengths(tailplane, pin, TOLERANCE_DEG)
    return turned if isinstance(turned, str) else abs(turned.difference)


def fin_square_tolerance(marks: FinMarks, tailplane: Tailplane) -> float | str:
    """How much the lengths from the fin's tip to the tailplane tips may differ, mm."""
    leaning = fin_tip_distances(marks.tip, marks.foot_z, tailplane, TOLERANCE_DEG)
    return leaning if isinstance(leaning, str) else abs(leaning.difference)


def fin_parallel_tolerance(marks: FinMarks) -> float:
    """How far each edge of the fin may stand off the centre line, mm: half the chord × sin."""
    return 0.5 * (marks.trailing_x - marks.leading_x) * math.sin(math.radians(TOLERANCE_DEG))
