"""What each of many patches covers that no other does, in far less than a union of the others for each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.overlay import COARSER, NOTHING, common, halves, heaps, union, without
from core.geometry.patch import Patch

Numbers = NDArray[np.int64]
_FEW = 4
"""So many are set against each other one by one."""


def alone(patches: Sequence[Patch]) -> list[BaseGeometry]:
    """Of each patch the region that it covers alone. OverlayError where that cannot be told.

    By halves: what one half covers is taken from each patch of the other at once, and so on down, which
    takes some three overlays a patch where each against all others would take their number's square.
    """
    found: list[BaseGeometry] = [NOTHING] * len(patches)
    same: dict[bytes, list[int]] = {}
    for i, form in enumerate(shapely.to_wkb([p.region for p in patches])):
        same.setdefault(form, []).append(i)
    # Of equal ones none covers anything alone; one of them stands for all.
    some = np.array([numbers[0] for numbers in same.values() if not patches[numbers[0]].region.is_empty])
    boxes = np.array([p.box for p in patches]).reshape(-1, 4)
    for heap in heaps(boxes[some]) if len(some) else ():
        _down(_Heap(patches, boxes, some[heap]), NOTHING, found)
    for numbers in same.values():
        if len(numbers) > 1:
            found[numbers[0]] = NOTHING
    return found


class _Heap:
    """Patches that lie together, their union, and the two halves of them where there are many."""

    def __init__(self, patches: Sequence[Patch], boxes: NDArray[np.float64], numbers: Numbers) -> None:
        here = boxes[numbers]
        self.box = shapely.box(*(here[:, :2].min(axis=0) - COARSER), *(here[:, 2:].max(axis=0) + COARSER))
        self.halves: tuple[_Heap, ...] = ()
        self.own = {int(i): patches[i].region for i in numbers} if len(numbers) <= _FEW else {}
        if not self.own:
            self.halves = tuple(_Heap(patches, boxes, numbers[half]) for half in halves(here))
        self.region: BaseGeometry = union(
            [h.region for h in self.halves] if self.halves else self.own.values()
        )


def _down(heap: _Heap, others: BaseGeometry, found: list[BaseGeometry]) -> None:
    for i, region in heap.own.items():
        near = [r for j, r in heap.own.items() if j != i and r.intersects(region)]
        found[i] = without(region, union((others, *near)))
    if heap.halves:
        one, other = heap.halves
        for half, twin in ((one, other), (other, one)):
            _down(half, union((common(others, half.box), common(twin.region, half.box))), found)
