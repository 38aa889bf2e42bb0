"""The geometry of one outline, kept as long as the outline is the same object."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely

from core.design import Node, Outline
from core.geometry.crossings import crossings_of
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, OverlayError
from core.geometry.patch import Patch
from core.geometry.regions import TangledError, deep_inside, region_of
from core.geometry.ring import Array, Ring, bounds, flatten, ring_of

THINNEST = 0.1
"""mm: an outline narrower than this all along was traced there and back (our own choice)."""
_MANY_CORNERS = 500


class _Filled(NamedTuple):
    patch: Patch
    untold: str | None = None
    tangled: bool = False


@dataclass(eq=False)
class OutlineForm:
    """The geometry of one outline: its ring, flattened corners (M, 2) and filled patch.

    What fills it is worked out when first asked for: drawing an outline asks for its ring alone, and of
    very many nodes that cross each other the patch takes seconds.
    """

    ring: Ring
    corners: Array
    _filled: _Filled | None = None

    @property
    def patch(self) -> Patch:
        """What a filled drawing of it would show."""
        return self._fill().patch

    @property
    def untold(self) -> str | None:
        """Why the outline's area cannot be told, though it may have some; its patch is empty then."""
        return self._fill().untold

    @property
    def tangled(self) -> bool:
        """True if that is a fault of this outline: it meets itself too often."""
        return self._fill().tangled

    def holds(self, x: float, z: float) -> bool:
        """True if a filled drawing of it covers that place, in mm; by its corners, without the patch."""
        low, high = self.corners, np.roll(self.corners, -1, axis=0)
        spans = (low[:, 1] <= z) != (high[:, 1] <= z)
        low, high = low[spans], high[spans]
        cross = low[:, 0] + (z - low[:, 1]) * (high[:, 0] - low[:, 0]) / (high[:, 1] - low[:, 1])
        return bool(np.count_nonzero(cross > x) % 2)

    @cached_property
    def enclosed(self) -> float:
        """mm² that its edge runs round, by its corners alone: its area, unless it crosses itself."""
        u = self.corners - self.corners[:1]
        v = np.roll(u, -1, axis=0)
        return abs(0.5 * float((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum()))

    def _fill(self) -> _Filled:
        # No cached_property: before Python 3.12 one lock of it holds for all outlines, and the drawing
        # thread would wait for what another works out.
        if self._filled is None:
            try:
                self._filled = _Filled(Patch(region_of(self.corners)))
            except OverlayError as error:
                self._filled = _Filled(Patch(NOTHING), str(error), isinstance(error, TangledError))
        return self._filled

    @cached_property
    def fault(self) -> str | None:
        """What is wrong with an outline that hardly has an area, and what to do; None where it has one."""
        if self.untold is not None:
            return self.untold
        if not self.patch.moments.area > 1e-9:
            return "has no area and counts nothing; trace it again or delete it"
        if self.thin:
            return f"is thinner than {THINNEST:g} mm all along; trace it again or delete it"
        return None

    @cached_property
    def thin(self) -> bool:
        """True if it is narrower than ``THINNEST`` everywhere: no part of an aeroplane."""
        # Setting thousands of teeth inwards takes seconds; a place that is deep inside says as much.
        region = self.patch.region
        if shapely.get_num_coordinates(region) > _MANY_CORNERS and deep_inside(region, 0.55 * THINNEST):
            return False
        return bool(shapely.buffer(region, -0.5 * THINNEST).is_empty)

    @cached_property
    def crossings(self) -> list[tuple[float, float]]:
        """Points in mm where the outline runs across itself."""
        return crossings_of(self.corners)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """(x low, z low, x high, z high) in mm, handles included."""
        return bounds(self.ring)


def is_thin(nodes: Sequence[Node]) -> bool:
    """True if an outline through ``nodes`` would have no area, or be thinner than ``THINNEST`` all along."""
    ring = ring_of(nodes)
    form = OutlineForm(ring, flatten(ring))
    return form.untold is None and form.thin


_forms: IdentityMemo[OutlineForm] = IdentityMemo(64)


def form_of(outline: Outline) -> OutlineForm:
    """The outline's geometry, computed once as long as the outline is the same object."""

    def compute() -> OutlineForm:
        ring = ring_of(outline.nodes)
        return OutlineForm(ring, flatten(ring))

    return _forms.get((outline,), compute)


def room_for(outlines: int) -> None:
    """Have room for the forms of so many outlines, and of those that they become while one is dragged."""
    _forms.at_least(3 * outlines)
