"""Pairs of upright surfaces: the distance between the two to measure while they are glued on. Exact."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely

from core.bench.tolerances import TOLERANCE_DEG
from core.design import Design
from core.geometry.overlay import lines_in, union
from core.kinds import FINS
from core.stability.answer_notes import named
from core.stability.side_area import form_of
from core.stability.touching import apart_of, pairs


@dataclass(frozen=True)
class PairSetting:
    """One pair, such as two fins: mm. Rudders on them are left out, since they move.

    ``apart`` from middle to middle across the aeroplane; the chord half way up its height reaches from
    ``leading_x`` to ``trailing_x`` at the height ``chord_z``.
    """

    name: str
    apart: float
    leading_x: float
    trailing_x: float
    chord_z: float

    @property
    def within(self) -> float:
        """How much the distance may differ between leading and trailing edge, mm.

        Chord × sin of half a degree, for each of the two: as much as each may toe in.
        """
        return 2.0 * (self.trailing_x - self.leading_x) * math.sin(math.radians(TOLERANCE_DEG))


def pair_settings(design: Design) -> list[PairSetting]:
    """The pairs whose distance apart is entered and that have a chord to measure at."""
    found = []
    for whole in pairs(design):
        apart = apart_of(whole)
        pair = [outline for outline in whole if outline.kind in FINS] or whole
        region = union(form_of(outline).patch.region for outline in pair)
        if apart is None or region.is_empty:
            continue
        low_x, low_z, high_x, high_z = (float(v) for v in shapely.bounds(region))
        middle = 0.5 * (low_z + high_z)
        cut = lines_in(shapely.LineString(((low_x - 1.0, middle), (high_x + 1.0, middle))), region)
        if cut.is_empty:
            continue
        leading, _, trailing, _ = (float(v) for v in shapely.bounds(cut))
        found.append(PairSetting(named(pair), apart, leading, trailing, middle))
    return found
