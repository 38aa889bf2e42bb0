"""The plan of a surface: what stands out of the body, hinges, tab and slots, worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import Build, Design, Flight, Node, Outline, Section, Station, Tailplane
from core.design_build import Thickness
from core.outline_form import form_of
from core.parts.plan import Plan
from core.parts.planform import plan_of
from tests.core.making import box, design_of, traced

FIN = Build("tail", ("fin", "rudder"), hinge_gap=0.0)
BODY = box("fuselage", "fuselage", 0, -40, 1000, 20)


def drawn(design: Design, build: Build) -> Plan:
    found = plan_of(design, build)
    assert isinstance(found, Plan), found
    return found


def panel(plan: Plan, name: str) -> shapely.Polygon:
    region = next(p.region for p in plan.panels if p.id == name)
    assert isinstance(region, shapely.Polygon)
    return region


def upright(**more: object) -> Design:
    """A fin let 10 mm into a level body, a rudder behind it on an upright hinge at x = 820."""
    return design_of(
        BODY, traced("fin", "fin", ((700, 10), (760, 180), (820, 180), (820, 10))),
        box("rudder", "rudder", 820, 10, 870, 180), **more,
    )


def test_what_stands_out_is_laid_from_the_root() -> None:
    plan = drawn(upright(), FIN)
    # The leading edge leaves the body at z = 20, a seventeenth of the way up.
    front = 700 + 60 / 17
    assert np.allclose(panel(plan, "fin").bounds, (front, 0.0, 820, 160.0), atol=1e-6)
    assert panel(plan, "rudder").area == pytest.approx(50 * 160, abs=1e-3)
    assert plan.tip == pytest.approx(160.0, abs=1e-6)
    assert plan.count == 1
    assert plan.throw == 25.0
    assert np.allclose(plan.place(np.array(((front, 0.0), (900.0, 30.0)))), ((front, 20), (900, 50)))
    assert plan.faults == ()


def test_the_tab_goes_down_to_the_bodys_centre_line() -> None:
    plan = drawn(upright(), FIN)
    # From 20 down to −10, under the fin and not under the rudder.
    assert plan.tab.area == pytest.approx((120 - 60 / 17) * 30, abs=1e-3)
    assert plan.tab.bounds[1] == pytest.approx(-30.0, abs=1e-6)
    assert drawn(upright(), replace(FIN, tab=False)).tab.is_empty


def test_a_tab_between_formers_gives_way_to_the_one_between() -> None:
    plan = drawn(upright(), replace(FIN, formers=(730.0, 770.0, 810.0)))
    # 3 mm wide, half of the tab's depth of 30.
    assert plan.tab.area == pytest.approx(80 * 30 - 3 * 15, abs=1e-3)
    assert not shapely.contains_xy(plan.tab, 770.0, -25.0)
    assert shapely.contains_xy(plan.tab, 770.0, -10.0)
    assert drawn(upright(), replace(FIN, formers=(100.0, 200.0))).tab.is_empty


def test_half_of_the_gap_comes_off_each_side_of_a_slanting_hinge() -> None:
    design = design_of(
        traced("fin", "fin", ((0, 0), (100, 0), (140, 100), (60, 100))),
        traced("rudder", "rudder", ((100, 0), (160, 0), (180, 100), (140, 100))),
    )
    whole, cut = drawn(design, FIN), drawn(design, replace(FIN, hinge_gap=2.0))
    # The hinge is √(40² + 100²) long; both ends are cut level, so a strip loses exactly its length.
    strip = math.hypot(40, 100) * 1.0
    for name in ("fin", "rudder"):
        assert panel(whole, name).area - panel(cut, name).area == pytest.approx(strip, abs=1e-6)
    assert np.allclose(cut.hinges, (((100, 0), (140, 100)),))
    assert shapely.distance(panel(cut, "fin"), panel(cut, "rudder")) == pytest.approx(2.0, abs=1e-6)


def test_a_slit_and_an_overlap_in_the_tracing_become_the_gap() -> None:
    for off in (0.4, -0.4):
        design = design_of(box("fin", "fin", 0, 0, 100, 100), box("rudder", "rudder", 100 + off, 0, 150, 100))
        plan = drawn(design, replace(FIN, hinge_gap=1.0))
        between = shapely.distance(panel(plan, "fin"), panel(plan, "rudder"))
        assert between == pytest.approx(1.0, abs=1e-6), off


def test_a_fin_traced_round_its_rudder_ends_at_the_hinge() -> None:
    design = design_of(box("fin", "fin", 0, 0, 150, 100), box("rudder", "rudder", 100, 0, 150, 100))
    plan = drawn(design, FIN)
    assert panel(plan, "fin").area == pytest.approx(100 * 100, abs=1e-3)


def test_a_hinge_that_bends_is_said() -> None:
    bent = ((100.0, 0.0), (108.0, 50.0), (100.0, 100.0))
    design = design_of(
        traced("fin", "fin", ((0, 0), *bent, (0, 100))),
        traced("rudder", "rudder", ((150, 0), (150, 100), *reversed(bent))),
    )
    plan = drawn(design, replace(FIN, hinge_gap=1.0))
    assert len(plan.faults) == 1
    # The straight line nearest to the worst place runs 4 mm beside all three corners.
    assert "bends 4\u00a0mm" in plan.faults[0]
    assert shapely.distance(*(p.region for p in plan.panels)) == pytest.approx(1.0, abs=1e-3)
    assert drawn(design, replace(FIN, hinge_gap=9.0)).faults == ()


def test_a_balance_past_the_hinge_leaves_it_straight() -> None:
    design = design_of(
        traced("fin", "fin", ((0, 0), (100, 0), (100, 80), (20, 80))),
        traced("rudder", "rudder", ((100, 0), (150, 0), (150, 110), (70, 110), (70, 80), (100, 80))),
    )
    plan = drawn(design, replace(FIN, hinge_gap=1.0))
    assert plan.faults == ()
    assert np.allclose(plan.hinges, (((100, 0), (100, 80)),), atol=0.1)
    # Nowhere nearer than the gap, past the balance's front corner neither.
    assert shapely.distance(*(p.region for p in plan.panels)) == pytest.approx(1.0, abs=1e-3)


def test_a_ventral_fin_hangs() -> None:
    keel = traced("keel", "ventral fin", ((700, -30), (800, -30), (790, -100), (740, -100)))
    plan = drawn(design_of(BODY, keel), Build("keel", ("keel",)))
    assert plan.tip == pytest.approx(60.0, abs=1e-6)
    assert np.allclose(plan.place(np.array(((0.0, 60.0),)))[:, 1], -100.0)
    # The body's middle is at z = −10: the tab goes 30 mm up into it.
    assert plan.tab.bounds[1] == pytest.approx(-30.0, abs=1e-6)
    assert plan.throw == 0.0


def test_twin_fins_stand_whole_beside_the_body_and_on_their_booms() -> None:
    twin = traced("fin", "fin", ((700, 0), (760, 100), (820, 100), (820, 0)), count=2)
    plan = drawn(design_of(BODY, twin), Build("tail", ("fin",)))
    assert plan.count == 2
    assert plan.panels[0].region.area == pytest.approx(100 * 90, abs=1e-6)
    assert plan.tab.is_empty
    booms = box("boom", "other", 300, -10, 800, 15, count=2)
    held = drawn(design_of(BODY, booms, twin), Build("tail", ("fin",)))
    assert held.panels[0].region.area < 100 * 90 - 14 * 80
    assert held.tab.area > 0.0


def test_a_boom_through_the_middle_keeps_the_plate_in_one_piece() -> None:
    boom = box("boom", "fuselage", 0, -6, 900, 6)
    plate = box("fin", "fin", 800, -60, 880, 100)
    plan = drawn(design_of(boom, plate), Build("tail", ("fin",)))
    assert plan.panels[0].region.area == pytest.approx(80 * (160 - 12), abs=1e-3)
    assert plan.tab.area == pytest.approx(80 * 12, abs=1e-3)


def tailplane(le_x: float, chord: float, z: float, thick: float = 0.1, span: float = 200.0) -> Tailplane:
    stations = (Station(0, le_x, chord, z), Station(span, le_x, chord, z))
    return Tailplane("tailplane", stations, section=Section(thick))


def test_a_tailplane_that_crosses_is_let_into_a_slot() -> None:
    build = Build("tail", ("fin",), hinge_gap=0.0)
    plate = box("fin", "fin", 800, 20, 900, 200)
    closed = drawn(design_of(plate, tailplanes=(tailplane(820, 60, 120),)), build)
    assert closed.panels[0].region.area == pytest.approx(100 * 180 - 60 * 6, abs=1e-3)
    assert len(closed.panels[0].region.interiors) == 1  # type: ignore[attr-defined]
    assert [s.area for s in closed.slots] == [pytest.approx(60 * 6, abs=1e-3)]
    assert "push it through" in closed.faults[0]
    behind = drawn(design_of(plate, tailplanes=(tailplane(820, 120, 120, 0.05),)), build)
    assert behind.panels[0].region.area == pytest.approx(100 * 180 - 80 * 6, abs=1e-3)
    assert behind.faults == ()
    through = drawn(design_of(plate, tailplanes=(tailplane(780, 150, 120, 0.04),)), build)
    assert shapely.get_num_geometries(through.panels[0].region) == 2
    assert "cut in two" in through.faults[0]
    top = drawn(design_of(plate, tailplanes=(tailplane(780, 150, 199, 0.04),)), build)
    assert top.tip == pytest.approx(199 - 3 - 20, abs=1e-3)
    assert "on top of" in top.faults[0]


def test_a_built_tailplane_is_as_thick_as_it_is_built() -> None:
    build = Build("tail", ("fin",))
    flat = Build("flat", ("tailplane",), thickness=Thickness(3.0, 3.0, "flat"))
    plate = box("fin", "fin", 800, 20, 900, 200)
    plan = drawn(design_of(plate, tailplanes=(tailplane(820, 60, 120),), builds=(build, flat)), build)
    assert plan.slots[0].area == pytest.approx(60 * 3, abs=1e-3)


def test_a_tailplane_beside_twin_fins_makes_no_slot() -> None:
    plate = box("fin", "fin", 800, 20, 900, 200, count=2, apart=400.0)
    at_its_tips = design_of(plate, tailplanes=(tailplane(820, 60, 120),))
    assert drawn(at_its_tips, Build("tail", ("fin",))).slots == ()
    wider = design_of(plate, tailplanes=(tailplane(820, 60, 120, span=260.0),))
    assert len(drawn(wider, Build("tail", ("fin",))).slots) == 1


def test_across_the_root_the_fin_stands_on_the_tailplane() -> None:
    plan = drawn(upright(tailplanes=(tailplane(690, 132, 21, 0.05),)), FIN)
    assert "stands on it" in plan.faults[0]
    assert plan.tab.is_empty


def test_a_rudder_in_a_build_of_its_own_keeps_its_hinge() -> None:
    plan = drawn(upright(), Build("rudder", ("rudder",), hinge_gap=2.0))
    assert len(plan.hinges) == 1
    assert panel(plan, "rudder").area == pytest.approx(49 * 160, abs=1e-3)
    assert plan.tab.is_empty


CRANKED = Tailplane(
    "tailplane",
    (Station(0, 900, 120, 40), Station(100, 910, 100, 40), Station(220, 930, 60, 130)),
    elevator_chord_fraction=0.4,
)


def test_a_cranked_tailplane_runs_along_its_slope() -> None:
    plan = drawn(design_of(tailplanes=(CRANKED,)), Build("h", ("tailplane",), hinge_gap=0.0))
    assert plan.count == 2
    # 100 flat, then 120 out and 90 up: 150 along the slope.
    assert plan.tip == pytest.approx(250.0, abs=1e-9)
    whole = 100 * 110 + 150 * 80
    assert sum(p.region.area for p in plan.panels) == pytest.approx(whole, abs=1e-3)
    assert np.allclose(plan.place(np.array(((10.0, 175.0),))), ((910.0, 160.0),))
    assert np.allclose(plan.at(np.array(((10.0, 175.0),))), ((910.0, 85.0),))
    assert plan.throw == 20.0
    assert [p.moves for p in plan.panels] == [False, True]


def test_an_elevators_hinge_is_straight_and_says_what_that_costs() -> None:
    plan = drawn(design_of(tailplanes=(CRANKED,)), Build("h", ("tailplane",), hinge_gap=0.0))
    # Straight on along the outer, longer panel, 70 mm at s = 100 and 66 at 250: 72.67 at the root, not 72.
    assert np.allclose(plan.hinges[0][[0, -1], 0], (970 - 900 + 4 * 100 / 150, 66))
    assert "up to 0.7\u00a0mm off" in plan.faults[0]
    tapered = Tailplane("tailplane", (Station(0, 900, 120), Station(200, 920, 80)))
    assert drawn(design_of(tailplanes=(tapered,)), Build("h", ("tailplane",))).faults == ()


def test_no_elevator_and_all_of_it() -> None:
    for part, moves in ((0.0, False), (1.0, True)):
        plane = replace(CRANKED, elevator_chord_fraction=part)
        plan = drawn(design_of(tailplanes=(plane,)), Build("h", ("tailplane",)))
        assert [p.moves for p in plan.panels] == [moves]
        assert plan.hinges == ()


@pytest.mark.parametrize(("of", "words"), [
    ((), "No surface is named"),
    (("gone",), "There is no gone"),
    (("fuselage",), "a fuselage"),
    (("fin", "tailplane"), "by itself"),
    (("fin", "pair"), "different counts"),
    (("flat",), "has no area"),
    (("hidden",), "inside the body"),
    (("bare",), "fewer than two stations"),
    (("line",), "has no area"),
])
def test_why_there_is_none(of: tuple[str, ...], words: str) -> None:
    design = design_of(
        BODY, *upright().outlines[1:], box("pair", "fin", 700, 20, 800, 90, count=2),
        traced("flat", "fin", ((0, 50), (100, 50))), box("hidden", "fin", 500, -20, 550, 0),
        tailplanes=(
            CRANKED, Tailplane("bare", (Station(0, 0, 100),)),
            Tailplane("line", (Station(0, 0, 0), Station(100, 0, 0))),
        ),
    )
    found = plan_of(design, Build("b", of))
    assert isinstance(found, str)
    assert words in found
    assert found.endswith(".")


def test_a_plan_is_kept_while_other_things_change() -> None:
    design = upright(tailplanes=(CRANKED,))
    plan = drawn(design, FIN)
    assert plan_of(replace(design, title="Another", wings=()), FIN) is plan
    assert plan_of(replace(design, flight=Flight(rudder_throw_deg=30.0)), FIN) is not plan
    moved = replace(design, outlines=(*design.outlines[:2], box("rudder", "rudder", 820, 10, 880, 180)))
    assert panel(drawn(moved, FIN), "rudder").area == pytest.approx(60 * 160, abs=1e-3)


def test_a_curved_fin_on_a_curved_body() -> None:
    """The exposed area by counting places: 0.25 mm apart, it is sure to a few parts in ten thousand."""
    body = Outline("fuselage", "fuselage", (
        Node(0, 0, (0, -60.0), (0, 60.0)), Node(900, 10, (-300.0, 60.0), (-300.0, -60.0)),
    ))
    k = 0.55
    fin = Outline("fin", "fin", (
        Node(700, 20), Node(760, 160, (-40 * k, -10.0), (20.0, 0.0)), Node(820, 110, (0.0, 30.0), None),
        Node(820, 10),
    ))
    plan = drawn(design_of(body, fin), Build("tail", ("fin",)))
    xs, zs = np.meshgrid(np.arange(690.125, 830, 0.25), np.arange(0.125, 170, 0.25))
    own = shapely.contains_xy(form_of(fin).patch.region, xs.ravel(), zs.ravel())
    own &= ~shapely.contains_xy(form_of(body).patch.region, xs.ravel(), zs.ravel())
    assert plan.panels[0].region.area == pytest.approx(own.sum() * 0.0625, rel=1e-3)


def test_a_tab_at_the_very_end_of_a_tapering_body() -> None:
    """It loses nothing there: half of the body's side from x = 902 to its end at 998, by its own formula."""
    body = traced("fuselage", "fuselage", ((0, -50), (998, -10), (998, 10), (0, 50)))
    design = design_of(body, box("fin", "fin", 902, 0, 998, 120))
    plan = drawn(design, Build("tail", ("fin",)))
    half = (50 - 40 * 902 / 998 + 10) / 2
    assert plan.tab.area == pytest.approx(half * 96, abs=1e-3)
    one = drawn(design, Build("tail", ("fin",), formers=(950.0,)))
    assert plan.tab.area - one.tab.area == pytest.approx(3 * (50 - 40 * 950 / 998) / 2, abs=1e-2)
