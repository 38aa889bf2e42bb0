"""Counting the side area as a card copy would weigh it: doubled surfaces twice, overlaps once.

The rule is the project's own contract (DEVELOPERS.md, "How the side area is counted"). Everything
is kept by identity, so that during a drag only what depends on the moved outline is computed anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.design import Design, Outline, Tailplane, Wing
from core.geometry.alone import alone
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, OverlayError, common, union, without
from core.geometry.patch import Patch, Tally, Uniter, depths_in, moments_in, united
from core.geometry.regions import Moments, moments_of
from core.geometry.ring import Array
from core.kinds import VERTICAL_TAIL
from core.outline_form import THINNEST as THINNEST
from core.outline_form import OutlineForm as OutlineForm
from core.outline_form import form_of as form_of
from core.outline_form import is_thin as is_thin
from core.outline_form import room_for
from core.stability.panels import side_projection

MANY = 16
"""Up to so many outlines that meet are told apart one by one, which suits a drag; more by halves."""
_surfaces: IdentityMemo[Patch] = IdentityMemo(32)


def surface_patch(surface: Wing | Tailplane) -> Patch:
    """The side projection of one half of a wing or tailplane, computed once."""
    return _surfaces.get((surface,), lambda: Patch(side_projection(surface)))


@dataclass(frozen=True, eq=False)
class SideArea:
    """The counted side area of a design."""

    single: Tally
    """What is counted once: the silhouette and single clear outlines."""
    doubled: Tally
    """What is counted more than once, with its counts."""
    tail: Tally
    """The exposed vertical tail, with its counts."""
    tail_pieces: tuple[tuple[int, tuple[Patch, ...]], ...]
    """The same as plain patches by count, for what needs its form; they may overlap in a count."""

    @cached_property
    def moments(self) -> Moments:
        """All that is counted: area in mm² and first moments in mm³."""
        return moments_in(self.single).plus(moments_in(self.doubled))

    @cached_property
    def tail_moments(self) -> Moments:
        """The exposed vertical tail, weighted by count."""
        return moments_in(self.tail)

    @property
    def cla(self) -> tuple[float, float] | None:
        """(x, z) of the centre of lateral area in mm; None where nothing is counted."""
        return self.moments.centroid()

    def depths(self, stations: Array) -> tuple[Array, Array]:
        """(single, doubled) side area per millimetre at each station, each (K,), in mm."""
        return depths_in(self.single, stations), depths_in(self.doubled, stations)


NO_SIDE_AREA = SideArea((), (), (), ())


class SideAreaCounter:
    """Counts designs one after another, keeping what they share."""

    def __init__(self) -> None:
        self._uniters: dict[tuple[str, int], Uniter] = {}
        self._clipped: IdentityMemo[Patch] = IdentityMemo(32)
        self._alones: IdentityMemo[list[Patch]] = IdentityMemo(8)
        self._boxes: IdentityMemo[Array] = IdentityMemo(64)
        self._last: tuple[Patch, ...] = ()
        self._fresh: frozenset[int] = frozenset()

    def count(self, design: Design) -> SideArea:
        """The counted side area of ``design``. OverlayError where it cannot be told."""
        room_for(len(design.outlines))
        self._clipped.at_least(3 * len(design.outlines))
        for outline in design.outlines:
            form = form_of(outline)
            if form.untold is not None:
                raise OverlayError(f'"{outline.name}" {form.untold}' if form.tangled else form.untold)
        outlines = [(outline, form_of(outline).patch) for outline in design.outlines]
        self._remember(tuple(p for _, p in outlines))
        body = tuple(p for o, p in outlines if o.count == 1 and o.standing == "joined")
        others = tuple(
            p for o, p in outlines
            if o.count == 1 and o.standing == "joined" and o.kind not in VERTICAL_TAIL
        )
        single = list(self._unite("silhouette", 1, body))
        doubled: list[tuple[Patch, float]] = []
        tail: list[tuple[Patch, float]] = []
        tail_pieces: list[tuple[int, tuple[Patch, ...]]] = []
        for count in sorted({o.count for o, _ in outlines}):
            here = [(o, p) for o, p in outlines if o.count == count]
            region = tuple(
                p if o.standing == "clear" else self._clip(p, body)
                for o, p in here if o.standing == "clear" or count > 1
            )
            into = single if count == 1 else doubled
            into.extend((p, w * count) for p, w in self._unite("region", count, region))
            fins = tuple(
                p if o.standing == "clear" else self._clip(p, others)
                for o, p in here if o.kind in VERTICAL_TAIL
            )
            if fins:
                tail.extend((p, w * count) for p, w in self._unite("tail", count, fins))
                tail_pieces.append((count, fins))
        for surface in design.surfaces:
            if surface.in_side_area:
                doubled.append((surface_patch(surface), 2.0))
        return SideArea(tuple(single), tuple(doubled), tuple(tail), tuple(tail_pieces))

    def counted_areas(self, design: Design) -> dict[str, float]:
        """By outline id, the area in mm² that would be lost from the side area without it."""
        forms = [(o, form_of(o).patch) for o in design.outlines]
        body = tuple(p for o, p in forms if o.count == 1 and o.standing == "joined")
        regions: dict[int, dict[str, Patch]] = {
            count: {
                o.id: p if o.standing == "clear" else self._clip(p, body)
                for o, p in forms
                if o.count == count and (o.standing == "clear" or count > 1)
            }
            for count in sorted({o.count for o, _ in forms})
        }
        areas: dict[str, float] = {}
        exposed = {id(patch): shown for patch, shown in zip(body, self._each_alone(body), strict=True)}
        for outline, patch in forms:
            if outline.standing == "joined" and outline.count == 1:
                areas[outline.id] = self._loss_from_silhouette(exposed[id(patch)], forms, regions)
        for count, region in regions.items():
            shown = self._each_alone(tuple(region.values()))
            areas.update((i, count * own.moments.area) for i, own in zip(region, shown, strict=True))
        return {outline.id: areas[outline.id] for outline, _ in forms}

    def _each_alone(self, patches: tuple[Patch, ...]) -> list[Patch]:
        """Of each patch what no other of them covers."""
        if len(patches) <= MANY:
            return [self._alone(p, self._near(p, patches)) for p in patches]
        return self._alones.get(patches, lambda: [Patch(region) for region in alone(patches)])

    def _loss_from_silhouette(
        self, own: Patch, forms: list[tuple[Outline, Patch]], regions: dict[int, dict[str, Patch]],
    ) -> float:
        """What the side area loses without a joined outline that alone of all joined ones covers ``own``."""
        lost = own.moments.area
        if lost == 0.0:
            return lost
        # Joined pairs come out from behind what is taken away: their gain makes the loss smaller.
        for count, region in regions.items():
            if count == 1:
                continue
            joined = tuple(p for o, p in forms if o.count == count and o.standing == "joined")
            if len(joined) > MANY:
                shown = Patch(common(united(joined).region, own.region))
            else:
                shown = Patch(union(common(p.region, own.region) for p in joined if p.meets(own)))
            near = self._near(shown, tuple(region.values()))
            if len(near) > MANY:
                near = tuple(region.values())
            lost -= count * moments_of(without(shown.region, united(near).region if near else NOTHING)).area
        return lost

    def _unite(self, what: str, count: int, patches: tuple[Patch, ...]) -> Tally:
        return self._uniters.setdefault((what, count), Uniter()).unite(patches)

    def _remember(self, patches: tuple[Patch, ...]) -> None:
        """Note which patches are new since the last design: those are being dragged."""
        before = set(map(id, self._last))
        self._fresh = frozenset(id(p) for p in patches if id(p) not in before)
        self._last = patches

    def _clip(self, patch: Patch, around: tuple[Patch, ...]) -> Patch:
        """``patch`` with the ``around`` taken away; the patch itself where none of them meets it."""
        near = self._near(patch, around)
        # Of many, all: that union is there once for every patch that is clipped.
        return self._alone(patch, near if len(near) <= MANY else around)

    def _near(self, patch: Patch, around: tuple[Patch, ...]) -> tuple[Patch, ...]:
        if not around:
            return ()
        boxes = self._boxes.get(around, lambda: np.array([p.box for p in around]))
        low_x, low_z, high_x, high_z = patch.box
        # NaN boxes, those of outlines without area, compare false and are left out.
        hit = (
            (boxes[:, 0] < high_x) & (boxes[:, 2] > low_x)
            & (boxes[:, 1] < high_z) & (boxes[:, 3] > low_z)
        )
        return tuple(around[i] for i in np.nonzero(hit)[0] if around[i] is not patch)

    def _alone(self, patch: Patch, near: tuple[Patch, ...]) -> Patch:
        """``patch`` without all of ``near``; what is being dragged is taken away last, and alone."""
        kept = tuple(p for p in near if id(p) not in self._fresh)
        moved = tuple(p for p in near if id(p) in self._fresh)
        return self._less(self._less(patch, kept), moved)

    def _less(self, patch: Patch, near: tuple[Patch, ...]) -> Patch:
        if not near:
            return patch
        return self._clipped.get(
            (patch, *near), lambda: Patch(without(patch.region, united(near).region))
        )


def silhouette(design: Design) -> BaseGeometry:
    """The union of all single joined outlines."""
    return union(
        form_of(o).patch.region for o in design.outlines if o.count == 1 and o.standing == "joined"
    )
