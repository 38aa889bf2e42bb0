"""The geometry of one outline, kept as long as the outline is the same object."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from core.design import Node, Outline
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, OverlayError
from core.geometry.patch import Patch
from core.geometry.regions import TangledError, crossings_of, region_of
from core.geometry.ring import Array, Ring, bounds, flatten, ring_of

THINNEST = 0.1
"""mm: an outline narrower than this all along was traced there and back (our own choice)."""


@dataclass(eq=False)
class OutlineForm:
    """The geometry of one outline: its ring, flattened corners (M, 2) and filled patch."""

    ring: Ring
    corners: Array
    patch: Patch
    untold: str | None = None
    """Why the outline's area cannot be told, though it may have some; its patch is empty then."""
    tangled: bool = False
    """True if that is a fault of this outline: it crosses itself too often."""

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
        return bool(shapely.buffer(self.patch.region, -0.5 * THINNEST).is_empty)

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
    try:
        patch = Patch(region_of(flatten(ring_of(nodes))))
    except OverlayError:
        return False
    return OutlineForm(ring_of(nodes), np.zeros((0, 2)), patch).thin


_forms: IdentityMemo[OutlineForm] = IdentityMemo(64)


def form_of(outline: Outline) -> OutlineForm:
    """The outline's geometry, computed once as long as the outline is the same object."""

    def compute() -> OutlineForm:
        ring = ring_of(outline.nodes)
        corners = flatten(ring)
        try:
            return OutlineForm(ring, corners, Patch(region_of(corners)))
        except OverlayError as error:
            return OutlineForm(ring, corners, Patch(NOTHING), str(error), isinstance(error, TangledError))

    return _forms.get((outline,), compute)


def room_for(outlines: int) -> None:
    """Have room for the forms of so many outlines, and of those that they become while one is dragged."""
    _forms.at_least(3 * outlines)
