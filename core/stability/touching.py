"""Which outlines go together: what touches, and the pairs that stand on the same booms."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from core.design import Outline, State
from core.geometry.memo import IdentityMemo
from core.kinds import APART
from core.stability.side_area import form_of

TOUCH = 0.5
"""mm between outlines that count as touching."""


def together(outlines: Sequence[Outline]) -> list[list[Outline]]:
    """The outlines in groups of what touches, to within half a millimetre. Kept by identity."""
    return _groups.get(tuple(outlines), lambda: _grouped(outlines))


_groups: IdentityMemo[list[list[Outline]]] = IdentityMemo(16)


def _grouped(outlines: Sequence[Outline]) -> list[list[Outline]]:
    groups: list[list[Outline]] = []
    for outline in outlines:
        region = form_of(outline).patch.region
        met = [
            g for g in groups
            if any(shapely.dwithin(region, form_of(o).patch.region, TOUCH) for o in g)
        ]
        merged = [o for g in met for o in g] + [outline]
        groups = [g for g in groups if g not in met] + [merged]
    return groups


def has_apart(outline: Outline) -> bool:
    """True if how far its two stand from each other means something: an upright surface that comes twice.

    Of any other outline ``apart`` is kept in the file and used nowhere.
    """
    return outline.count == 2 and outline.kind in APART


def pairs(state: State) -> list[list[Outline]]:
    """The upright surfaces that come twice, in groups of what touches, such as a fin and its rudder."""
    return together([outline for outline in state.outlines if has_apart(outline)])


def apart_of(pair: Sequence[Outline]) -> float | None:
    """How far apart the two of such a group stand, mm; None where none of it says so, or they differ.

    Nothing at all is no distance: two that stand on one line are one.
    """
    named = {outline.apart for outline in pair if outline.apart}
    return named.pop() if len(named) == 1 else None
