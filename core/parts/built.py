"""A surface's parts and what they weigh: by whichever way it is built.

Kept by the identity of the plan, which is the same one as long as nothing that it was drawn from has
changed, and of the builder's own materials that the build names; and by what the plan comes to: a node
of the fuselage far from the fin makes a new plan of it that is the old one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely

from core.design import Build, State
from core.geometry.memo import IdentityMemo
from core.geometry.regions import moments_of
from core.parts.flat import hangs_on
from core.parts.frame import frame
from core.parts.part import Array, Built, Part
from core.parts.plan import Plan
from core.parts.planform import plan_of
from core.parts.ribbed import ribbed, ribbed_covering
from core.parts.said import parted
from core.parts.sheet import sheet

Made = tuple[list[Part], list[str]]
Masses = tuple[tuple[float, float, float], ...]

_kept: IdentityMemo[Built] = IdentityMemo(64)
_alike: IdentityMemo[Built] = IdentityMemo(64)
_PROBE = np.array(((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)))


def built(state: State, build: Build) -> Built:
    """The parts of a build of ``state``; kept by the identity of all that they are made from."""
    for memo in (_kept, _alike):
        memo.at_least(4 * len(state.builds))
    plan = plan_of(state, build)
    if isinstance(plan, str):
        return Built(build, (), (plan,), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, None)
    named = {material for _, material in build.materials}
    own = tuple(material for material in state.materials if material.id in named)

    def compute() -> Built:
        return weighed(plan, *_WAYS[build.way](state, plan))

    # A tailplane's slope may bend where no probe looks; its plans are kept by all that they come from.
    return _kept.get(
        (plan, *own), lambda: _alike.get((build, *own), compute, _told(plan)) if plan.upright else compute()
    )


def _told(plan: Plan) -> tuple[object, ...]:
    """All that the parts of an upright plan come from, but for its build: equal where they are the same."""
    regions = [*(panel.region for panel in plan.panels), plan.tab, *plan.slots]
    return (
        tuple((panel.id, panel.name, panel.moves) for panel in plan.panels), tuple(shapely.to_wkb(regions)),
        tuple(line.tobytes() for line in plan.hinges), plan.place(_PROBE).tobytes(),
        plan.count, plan.throw, plan.faults,
    )


def all_built(state: State) -> tuple[Built, ...]:
    """The parts of every build, in the design's order."""
    return tuple(built(state, build) for build in state.builds)


def build_masses(state: State) -> Masses:
    """(grams, x mm, z mm) of every build that counts: the first of those that name a surface."""
    return tuple((found.grams, found.x, found.z) for found in counted(state))


def built_ids(state: State) -> frozenset[str]:
    """Ids of the outlines and tailplanes whose weight is that of their parts.

    A build of which nothing can be made weighs nothing, and covers nothing.
    """
    return frozenset(name for found in counted(state) for name in found.build.of)


def counted(state: State) -> list[Built]:
    """The builds that weigh: of those that name the same surface the first, and none without parts."""
    covered: set[str] = set()
    found = []
    for build in state.builds:
        if covered.isdisjoint(build.of):
            one = built(state, build)
            if one.grams > 0.0:
                found.append(one)
                covered.update(build.of)
    return found


def weighed(plan: Plan, parts: list[Part], faults: list[str]) -> Built:
    """``parts`` of a plan summed up, with covering and glue. Nothing weighs anything without parts."""
    build, (wrong, notes) = plan.build, parted((*plan.faults, *faults))
    wood = sum(part.grams for part in parts)
    if not wood > 0.0:
        return Built(build, (), wrong, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, plan, notes)
    x, z = (sum(part.grams * getattr(part, axis) for part in parts) / wood for axis in "xz")
    glue = build.glue * wood
    where, areas = _covering(plan)
    area = float(areas.sum())
    covering = (build.covering_g_m2 or 0.0) * area * 1e-6
    at = areas @ plan.at(where) / area if covering > 0.0 else np.array((x, z))
    grams = wood + glue + covering
    return Built(
        build, tuple(parts), wrong, wood, covering, glue, grams,
        ((wood + glue) * x + covering * float(at[0])) / grams,
        ((wood + glue) * z + covering * float(at[1])) / grams, area, plan, notes,
    )


def _covering(plan: Plan) -> tuple[Array, Array]:
    """(places (K, 2) in (c, s), area there (K,) in mm²): both sides of all surfaces, edges left out."""
    if plan.build.way == "ribbed":
        return ribbed_covering(plan)
    flat = [
        (hangs_on(plan, panel.region, moments_of(panel.region)), float(shapely.area(panel.region)))
        for panel in plan.panels
    ]
    return (
        np.concatenate([places for (places, _), _ in flat]),
        np.concatenate([2.0 * plan.count * area * shares for (_, shares), area in flat]),
    )


_WAYS: dict[str, Callable[[State, Plan], Made]] = {"sheet": sheet, "frame": frame, "ribbed": ribbed}
