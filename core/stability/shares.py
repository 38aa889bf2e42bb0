"""Why the outlines' shares of the side area do not make up the whole."""

from __future__ import annotations

from collections.abc import Mapping

from core.design import Design
from core.stability.side_area import surface_patch
from core.stability.wording import percent

WHY_SHARES = (
    "Each share is what the side area would lose without that outline. What two outlines cover alike is lost "
    "with neither; wings and tailplanes in view are counted too, and stand in no row here."
)
_SEEN = 0.0005
"""Half of the last place that shares are shown in."""


def shares_words(design: Design, areas: Mapping[str, float], total: float) -> str:
    """One short line where ``areas`` (mm², by outline id) do not add up to ``total``; empty where they do.

    Each outline's is what would be lost without it, so that what two cover alike is in neither.
    """
    if not areas or total <= 0.0:
        return ""
    listed = sum(areas.values()) / total
    if abs(1.0 - listed) < _SEEN:
        return ""
    others = sum(2.0 * surface_patch(s).moments.area for s in design.surfaces if s.in_side_area) / total
    why = []
    if others >= _SEEN:
        why.append(f"wings {percent(others)}")
    if abs(1.0 - listed - others) >= _SEEN:
        why.append("what overlaps is in none")
    return f"Together {percent(listed)}: {', '.join(why)}." if why else ""
