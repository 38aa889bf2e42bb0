"""A region together with what has been measured of it, and sums of such regions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.geometry.memo import IdentityMemo
from core.geometry.overlay import common, union
from core.geometry.regions import NO_MOMENTS, Moments, box_of, moments_of
from core.geometry.ring import Array
from core.geometry.slices import depths


@dataclass(eq=False)
class Patch:
    """One region whose moments, box and depths are measured once, when first asked for."""

    region: BaseGeometry
    _depths: dict[tuple[float, float, int], Array] = field(default_factory=dict, repr=False)

    @cached_property
    def moments(self) -> Moments:
        """Area in mm² and first moments in mm³."""
        return moments_of(self.region)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """(x low, z low, x high, z high) in mm; NaN for nothing."""
        return box_of(self.region)

    def meets(self, other: Patch) -> bool:
        """Whether the two boxes overlap; NaN boxes never do."""
        a, b = self.box, other.box
        return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]

    def depths(self, stations: Array) -> Array:
        """Depth in mm at each of the evenly spaced ``stations`` (K,)."""
        key = (float(stations[0]), float(stations[-1]), len(stations))
        found = self._depths.get(key)
        if found is None:
            if len(self._depths) > 1:
                self._depths.clear()
            found = depths(self.region, stations)
            self._depths[key] = found
        return found


_unions: IdentityMemo[Patch] = IdentityMemo(128)


def united(patches: tuple[Patch, ...]) -> Patch:
    """The union of ``patches``, which are one or more. Kept by identity."""
    if len(patches) == 1:
        return patches[0]
    return _unions.get(patches, lambda: Patch(union(p.region for p in patches)))


Tally = tuple[tuple[Patch, float], ...]
"""Patches and how often each counts. Negative counts take away what two others share."""


def moments_in(tally: Iterable[tuple[Patch, float]]) -> Moments:
    """The tally's area and first moments."""
    total = NO_MOMENTS
    for patch, times in tally:
        total = total.plus(patch.moments, times)
    return total


def depths_in(tally: Iterable[tuple[Patch, float]], stations: Array) -> Array:
    """The tally's area per millimetre at each station, shape (K,), in mm."""
    total = np.zeros(len(stations))
    for patch, times in tally:
        total = total + times * patch.depths(stations)
    return np.maximum(total, 0.0)


class Uniter:
    """Measures the union of a changing set of patches.

    While one outline is dragged the union of the others is kept, and only the part that the moved
    one shares with it is computed: |A ∪ B| = |A| + |B| − |A ∩ B|, for areas, moments and depths.
    """

    def __init__(self) -> None:
        self._shared: IdentityMemo[Patch] = IdentityMemo(24)
        self._last: tuple[Patch, ...] = ()

    def unite(self, patches: tuple[Patch, ...]) -> Tally:
        """The tally of the union of ``patches``."""
        before = set(map(id, self._last))
        self._last = patches
        if not patches:
            return ()
        kept = tuple(p for p in patches if id(p) in before)
        fresh = tuple(p for p in patches if id(p) not in before)
        if not kept or not fresh:
            return ((united(patches), 1.0),)
        rest, moved = united(kept), united(fresh)
        if not rest.meets(moved):
            return (rest, 1.0), (moved, 1.0)
        shared = self._shared.get((rest, moved), lambda: Patch(common(rest.region, moved.region)))
        return (rest, 1.0), (moved, 1.0), (shared, -1.0)
