"""Any fin, any sizes: whatever parts come out are sound, inside their section, and do not overlap."""

from __future__ import annotations

import math

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.design_build import Build, Ribs, Skin, Spar, Strip, Thickness
from core.parts.part import Part
from core.parts.plan import Plan
from core.parts.ribbed import ribbed
from tests.core.making import SOME
from tests.core.parts.drawn import AT, STATE, build_of, plan_by_hand

_strips = st.none() | st.builds(
    Strip, st.floats(0.5, 20.0), st.none() | st.floats(1.0, 12.0), st.just("balsa-hard")
)
_spars = st.lists(
    st.builds(
        Spar, st.floats(0.05, 0.95), st.tuples(st.floats(0.5, 10.0), st.floats(0.5, 6.0)),
        st.none() | st.floats(0.5, 3.0),
    ), max_size=3,
).map(tuple)
_ribs = st.builds(
    Ribs, st.floats(8.0, 90.0),
    st.none() | st.lists(st.floats(-30.0, 200.0), min_size=1, max_size=4).map(tuple),
    st.floats(1.0, 5.0), st.just("balsa-medium"), st.booleans(), st.booleans(),
)


@st.composite
def fins(draw: st.DrawFn) -> Plan:
    """Fin and rudder on a hinge that may slant, sharp or blunt at the tip, the rudder hanging or not."""
    high = draw(st.floats(40.0, 300.0))
    root, part = draw(st.floats(40.0, 250.0)), draw(st.floats(0.35, 0.8))
    sweep, lean = draw(st.floats(-40.0, 120.0)), draw(st.floats(-0.2, 0.4)) * high
    tip = draw(st.floats(0.0, 1.0)) * root
    foot, top = (part * root, 0.0), (part * root + lean, high)
    nose = min(sweep, top[0] - 1.0)
    tail = max(nose + tip, top[0] + 1.0)
    hang = draw(st.sampled_from((0.0, 0.0, 0.3))) * high
    build: Build = build_of(
        thickness=Thickness(
            draw(st.floats(1.0, 30.0)), draw(st.floats(0.5, 25.0)),
            draw(st.sampled_from(("flat", "symmetric"))),
        ),
        ribs=draw(_ribs), leading_edge=draw(_strips), trailing_edge=draw(_strips), spars=draw(_spars),
        skin=draw(st.none() | st.builds(Skin, st.floats(0.0, 3.0))), hinge_gap=draw(st.floats(0.0, 2.0)),
        hinge=draw(st.sampled_from(("bevel", "round"))),
    )
    slope = lean / high
    below = (foot[0] - slope * hang, -hang)
    fin = ((0.0, 0.0), foot, top, (nose, high))
    rudder = (below, (root, -hang), (root, 0.0), (tail, high), top)
    throw = draw(st.floats(0.0, 45.0))
    return plan_by_hand(build, (fin, False), (rudder, True), hinges=((foot, top),), throw=throw)


def _own(plan: Plan, parts: list[Part], index: int) -> list[Part]:
    return [part for part in parts if part.id.startswith(f"tail-panel{index}-")]


@given(fins())
@SOME
def test_any_fins_parts_are_sound(plan: Plan) -> None:
    parts, faults = ribbed(STATE, plan)
    assert all(fault.endswith(".") for fault in faults)
    assert len({part.id for part in parts}) == len(parts)
    for part in parts:
        assert part.outline.geom_type == "Polygon", part.name
        assert part.outline.is_valid, part.name
        assert part.outline.area > 0.0
        assert 0.0 < part.volume <= part.area * part.thick * (1.0 + 1e-6), part.name
        assert min(part.length, part.width) > 0.99 or part.role == "skin", part.name
        assert part.thick > 0.99 or part.role == "skin", part.name
        assert math.isfinite(part.grams + part.x + part.z)
        assert part.grams > 0.0


@given(fins())
@SOME
def test_any_fins_parts_lie_in_their_panel_and_not_on_each_other(plan: Plan) -> None:
    ribs = plan.build.ribs
    assert ribs is not None
    parts, _ = ribbed(STATE, plan)
    for index, panel in enumerate(plan.panels):
        corners = shapely.get_coordinates(panel.region) + AT
        region = shapely.Polygon(corners)
        edges = np.diff(corners, axis=0)
        slopes = np.abs(edges[:, 0]) / np.maximum(np.abs(edges[:, 1]), 1e-9)
        steep = float(slopes[np.abs(edges[:, 1]) > 1e-6].max())
        own = _own(plan, parts, index)
        drawn = [(_what(part), shapely.Polygon(part.places[0])) for part in own if part.role != "skin"]
        # A rib is drawn square over its thickness; its ends follow a slanting edge by sanding.
        slack = 0.5 * ribs.thick * steep + 0.01
        for what, place in drawn:
            around = shapely.buffer(region, slack if what in ("rib", "web") else 0.01, join_style="mitre")
            assert shapely.difference(place, around).area < 0.01, what
        for k, (what, one) in enumerate(drawn):
            for other_what, other in drawn[:k]:
                both = {what, other_what}
                # Caps lie in the ribs' notches, and the webs between the caps.
                if both in ({"cap", "rib"}, {"cap", "web"}):
                    continue
                corner = ribs.thick**2 * steep if both & {"rib", "web"} else 0.0
                shared = shapely.intersection(one, other).area
                assert shared <= 1e-6 * (one.area + other.area) + corner, (what, other_what)


def _what(part: Part) -> str:
    return "cap" if part.id.endswith("-cap") else part.role


@given(fins())
@SOME
def test_any_fins_wood_fits_in_its_solid(plan: Plan) -> None:
    """Without skin and beside the notches, what is cut is less than the solid that it is cut from."""
    if plan.build.skin is not None:
        return
    parts, _ = ribbed(STATE, plan)
    volume = sum(part.volume * part.count for part in parts)
    rng = np.random.default_rng(3)
    box = shapely.bounds(shapely.union_all([panel.region for panel in plan.panels]))
    points = box[:2] + rng.random((4000, 2)) * (box[2:] - box[:2])
    inside = np.zeros(len(points), dtype=bool)
    for panel in plan.panels:
        inside |= shapely.contains_xy(panel.region, points[:, 0], points[:, 1])
    deepest = np.where(inside, plan.thickness(points[:, 1]), 0.0).mean() * float(np.prod(box[2:] - box[:2]))
    assert volume <= deepest * 1.1
