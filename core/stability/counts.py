"""What usually comes twice and stands in the side view once: whose count the builder has not looked at."""

from __future__ import annotations

from core.design import Design, Outline
from core.kinds import TWICE, Kind


def comes_twice(kind: Kind) -> bool:
    """True if such an outline is asked about while its count is 1."""
    return kind in TWICE


def unlooked(design: Design) -> tuple[Outline, ...]:
    """The outlines of such kinds with count 1 that nobody has confirmed to come once."""
    return tuple(
        outline for outline in design.outlines
        if comes_twice(outline.kind) and outline.count == 1 and outline.id not in design.counts_seen
    )
