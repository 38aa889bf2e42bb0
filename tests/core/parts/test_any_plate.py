"""Any upright surface, curved or not, on a body or clear of it: its plan, plates and frames are sound."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.design import Build, Design, Node, Outline, Section, Station, Tailplane
from core.design_build import Ribs, Skin, Spar, Strip, Thickness
from core.outline_form import form_of
from core.parts.frame import frame
from core.parts.part import Part
from core.parts.plan import Plan
from core.parts.planform import plan_of
from core.parts.sheet import sheet
from tests.core.making import SOME, box, design_of, nodes, traced

_builds = st.builds(
    Build, st.just("tail"), st.just(("fin", "rudder")), st.just("frame"),
    st.floats(1.0, 15.0).map(lambda t: Thickness(t, t, "flat")),
    st.builds(
        Ribs, st.none() | st.floats(4.0, 90.0),
        st.none() | st.lists(st.floats(-20.0, 200.0), max_size=4).map(tuple), st.floats(1.0, 6.0),
        st.just("balsa-medium"), st.just(False), st.just(False),
    ),
    st.builds(Strip, st.floats(1.0, 15.0)), st.builds(Strip, st.floats(1.0, 15.0)),
    st.lists(
        st.builds(Spar, st.floats(0.05, 0.95), st.tuples(st.floats(1.0, 8.0), st.just(3.0))), max_size=2
    ).map(tuple),
    st.just(Skin(3.0)), hinge_gap=st.floats(0.0, 3.0), hinge=st.sampled_from(("bevel", "round")),
    tab=st.booleans(), holes=st.booleans(), diagonals=st.booleans(),
    formers=st.sampled_from(((), (620.0, 700.0), (610.0, 650.0, 720.0))),
)


@st.composite
def tails(draw: st.DrawFn) -> Design:
    """Fin and rudder on a hinge that may slant or curve; on a body, or beside it in a pair."""
    high, root = draw(st.floats(30.0, 260.0)), draw(st.floats(30.0, 200.0))
    lean, sweep = draw(st.floats(-0.3, 0.4)) * high, draw(st.floats(-20.0, 120.0))
    foot, top = (600 + root, 10.0), (600 + root + lean, 10.0 + high)
    nose = min(600 + sweep, top[0] - 4.0)
    swell = draw(st.sampled_from((0.0, 0.0, 4.0)))
    round_top = draw(st.booleans())
    reach = 0.4 * (top[0] - nose)
    bend = (swell, 0.3 * high) if swell else None
    back = (swell, -0.3 * high) if swell else None
    fin = Outline("fin", "fin", (
        Node(600, 10), Node(*foot, None, bend), Node(*top, back, (-reach, 0.0) if round_top else None),
        Node(nose, 10 + 0.7 * high, (0.2 * reach, 0.3 * high) if round_top else None, None),
    ))
    deep = draw(st.sampled_from((0.0, 0.0, 40.0)))
    chord = draw(st.floats(8.0, 120.0))
    # It hangs behind the fin's foot where it is deep, straight on along the hinge.
    hang = (Node(foot[0] - lean / high * deep, 10 - deep),) if deep else ()
    rudder = Outline("rudder", "rudder", (
        *hang, Node(foot[0] + chord, 10 - deep), Node(top[0] + 0.5 * chord, 10 + high, (0.0, -0.2 * high)),
        Node(*top, None, back), Node(*foot, bend, None),
    ))
    count = draw(st.sampled_from((1, 1, 2)))
    body = draw(st.sampled_from((
        (), (box("fuselage", "fuselage", 0, -60, 640 + root, 20),),
        (traced("fuselage", "fuselage", ((0, -60), (2000, -10), (2000, 5), (0, 60))),),
    )))
    planes = draw(st.sampled_from(((), (Tailplane("t", (
        Station(0, 610, 60, 10 + 0.5 * high), Station(200, 610, 60, 10 + 0.5 * high),
    ), section=Section(0.08)),))))
    return design_of(
        *body, replace(fin, count=count), replace(rudder, count=count), tailplanes=planes,
    )


def _sound(plan: Plan, parts: list[Part]) -> None:
    assert len({part.id for part in parts}) == len(parts)
    for part in parts:
        assert part.outline.geom_type == "Polygon", part.name
        assert part.outline.is_valid, part.name
        assert part.outline.bounds[:2] == pytest.approx((0.0, 0.0), abs=1e-6)
        # What is too narrow for its hinge edge is said; it is never less than nothing.
        assert 0.0 < part.volume <= part.area * part.thick * (1.0 + 1e-9), part.name
        assert math.isfinite(part.grams + part.x + part.z)
        assert part.count == plan.count


@given(tails(), _builds)
@SOME
def test_any_plan_is_sound(design: Design, build: Build) -> None:
    plan = plan_of(design, build)
    if isinstance(plan, str):
        assert plan.endswith(".")
        return
    whole = shapely.unary_union([form_of(o).patch.region for o in design.outlines if o.id in build.of])
    for panel in plan.panels:
        assert panel.region.is_valid
        put = shapely.transform(panel.region, plan.place)
        assert shapely.difference(put, shapely.buffer(whole, 1e-3)).area < 1e-6
    fixed, moving = (p.region for p in plan.panels)
    assert shapely.intersection(fixed, moving).area < 1e-4
    if plan.hinges:
        assert shapely.distance(fixed, moving) >= build.hinge_gap - 0.02
    for piece in (*plan.slots, plan.tab):
        assert piece.is_valid
        for panel in plan.panels:
            if not panel.moves:
                assert shapely.intersection(panel.region, piece).area < 1e-3
    assert all(fault.endswith(".") for fault in plan.faults)


@given(tails(), _builds)
@SOME
def test_any_plates_are_sound(design: Design, build: Build) -> None:
    plan = plan_of(design, replace(build, way="sheet"))
    if isinstance(plan, str):
        return
    parts, faults = sheet(design, plan)
    _sound(plan, parts)
    assert all(fault.endswith(".") for fault in faults)
    if not build.holes:
        wood = sum(p.region.area for p in plan.panels) + plan.tab.area
        assert sum(part.area for part in parts) == pytest.approx(wood, abs=0.01)


@given(tails(), _builds)
@SOME
def test_any_frames_sticks_lie_in_their_panel_and_not_on_each_other(design: Design, build: Build) -> None:
    plan = plan_of(design, build)
    if isinstance(plan, str):
        return
    parts, faults = frame(design, plan)
    _sound(plan, parts)
    assert all(fault.endswith(".") for fault in faults)
    sticks = [(part.name, shapely.Polygon(part.places[0])) for part in parts if part.role != "tab"]
    for (a, one), (b, other) in combinations(sticks, 2):
        assert shapely.intersection(one, other).area < 1e-3, (a, b)
    wood = shapely.unary_union([stick for _, stick in sticks])
    panels = [shapely.transform(panel.region, plan.place) for panel in plan.panels]
    assert shapely.difference(wood, shapely.buffer(shapely.unary_union(panels), 1e-3)).area < 1e-5
    for region in panels:
        for part in shapely.get_parts(region):
            edge = shapely.points(shapely.get_coordinates(shapely.segmentize(part.exterior, 2.0)))
            assert shapely.distance(edge, wood).max() < 0.2


@given(st.lists(nodes(0, 200, 60), min_size=3, max_size=7).map(tuple), _builds)
@SOME
def test_any_outline_is_built_or_refused(scrawl: tuple[Node, ...], build: Build) -> None:
    """Outlines that cross themselves too: sound parts or a sentence, and never an error."""
    design = design_of(Outline("fin", "fin", scrawl))
    for way, make in (("sheet", sheet), ("frame", frame)):
        plan = plan_of(design, replace(build, of=("fin",), way=way))
        if isinstance(plan, str):
            assert plan.endswith(".")
            continue
        parts, _ = make(design, plan)
        _sound(plan, parts)
