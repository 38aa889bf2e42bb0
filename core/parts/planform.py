"""The plan of a surface with a build: what its parts are drawn on, or why there is none."""

from __future__ import annotations

from core.design import Build, State
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import OverlayError
from core.kinds import BUILDABLE, CARRIERS
from core.parts.horizontal import tailplane_plan
from core.parts.plan import Plan
from core.parts.upright import upright_plan

_plans: IdentityMemo[Plan | str] = IdentityMemo(128)


def plan_of(state: State, build: Build) -> Plan | str:
    """The surface of ``build`` as it is in ``state``, or a sentence: why nothing can be drawn.

    Kept as long as the build and all that the plan is made from are the same objects.
    """
    if not build.of:
        return "No surface is named: choose the surface that these parts are for."
    known = {o.id for o in state.outlines} | {t.id for t in state.tailplanes}
    missing = [i for i in build.of if i not in known]
    if missing:
        return f"There is no {missing[0]} in the design: choose the surface again or delete its parts."
    tailplanes = tuple(t for t in state.tailplanes if t.id in build.of)
    outlines = tuple(o for o in state.outlines if o.id in build.of)
    if tailplanes and (outlines or len(tailplanes) > 1):
        return "A tailplane is built by itself: give each surface parts of its own."
    odd = [o for o in outlines if o.kind not in BUILDABLE]
    if odd:
        return (
            f"No parts can be drawn for {odd[0].name}, a {odd[0].kind}: choose a fin, rudder, ventral fin,"
            " tip plate or tailplane."
        )
    if len({o.count for o in outlines}) > 1:
        names = " and ".join(o.name for o in outlines)
        return f"{names} have different counts: surfaces that are built together come equally often."

    def compute() -> Plan | str:
        try:
            return tailplane_plan(build, tailplanes[0]) if tailplanes else upright_plan(state, build)
        except OverlayError as error:
            return f"Nothing can be drawn: {error}."

    if tailplanes:
        return _plans.get((build, tailplanes[0]), compute)
    near = (o for o in state.outlines if o.kind in CARRIERS or o.kind in BUILDABLE)
    crossing = {t.id for t in state.tailplanes}
    theirs = (b for b in state.builds if crossing & set(b.of))
    return _plans.get((build, *near, *state.tailplanes, *theirs), compute, state.flight.rudder_throw_deg)
