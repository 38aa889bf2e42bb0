"""The propeller and how far pairs stand apart: typed, cleared, carried along, never at odds unsaid."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import FEW, box, curved_outline, design_of, traced, trainer
from msgspec.structs import replace

from core.bench.pairs import pair_settings
from core.design import LIMIT, Design, Flight, Mark, Node, Propeller, Scan
from core.design_check import problems
from core.redesign.alternatives import keep, take_back
from core.redesign.completing import confirm_all, leave_out
from core.redesign.design_edits import (
    change_kinds,
    change_outlines,
    paste_outlines,
    set_apart,
    set_count,
)
from core.redesign.outline_edits import EditError, scale_about
from core.redesign.plug import plug
from core.redesign.propeller_edits import set_propeller_diameter, set_propeller_station
from core.redesign.scan_edits import mirror_scan, set_datum, set_scale
from core.redesign.surface_lists import add_wing
from core.stability.body import shaft_z
from core.stability.guesses import PROPELLER_STATION
from core.stability.touching import apart_of, has_apart, pairs


def twin() -> Design:
    """Twin fins with rudders on their trailing edges, a ventral pair under them, wheels."""
    return design_of(
        curved_outline("pod", "fuselage", 200, 0, 400),
        box("fin", "fin", 700, 0, 760, 120, count=2),
        box("rudder", "rudder", 760, 0, 800, 120, count=2),
        box("keel", "ventral fin", 720, -60, 780, -10, count=2),
        box("wheel", "wheel", 150, -200, 190, -160, count=2),
        wings=trainer().wings, cg_mark=Mark(220, 0),
    )


def aparts(design: Design) -> dict[str, float | None]:
    return {o.id: o.apart for o in design.outlines}


# Pairs


def test_what_belongs_to_one_pair_is_set_in_one_go_and_nothing_else() -> None:
    design = set_apart(twin(), ["rudder"], 330.0)
    assert aparts(design) == {"pod": None, "fin": 330.0, "rudder": 330.0, "keel": None, "wheel": None}
    assert set(aparts(set_apart(design, ["fin"], None)).values()) == {None}
    both = set_apart(design, ["fin", "keel"], 300.0)
    assert (both.outline("keel").apart, both.outline("rudder").apart) == (300.0, 300.0)


def test_only_upright_pairs_have_a_distance() -> None:
    assert aparts(set_apart(twin(), ["wheel", "pod"], 330.0)) == aparts(twin())
    assert not has_apart(replace(twin().outline("fin"), count=1))
    assert not has_apart(replace(twin().outline("fin"), count=3))
    assert has_apart(box("plate", "tip plate", 0, 0, 9, 9, count=2))
    assert [[o.id for o in pair] for pair in pairs(twin())] == [["fin", "rudder"], ["keel"]]


@pytest.mark.parametrize("apart", [0.0, -5.0, math.inf, math.nan, LIMIT * 1.1])
def test_a_distance_that_cannot_be_is_refused(apart: float) -> None:
    with pytest.raises(EditError, match="stand apart"):
        set_apart(twin(), ["fin"], apart)


def test_one_that_becomes_a_pair_stands_as_far_apart_as_what_it_touches() -> None:
    design = set_apart(set_count(twin(), ["rudder"], 1), ["fin"], 330.0)
    assert design.outline("rudder").apart is None
    paired = set_count(design, ["rudder", "keel"], 2)
    assert (paired.outline("rudder").apart, paired.outline("keel").apart) == (330.0, None)
    strut = change_outlines(twin(), ["rudder"], kind="strut")
    named = change_kinds(set_apart(strut, ["fin"], 280.0), ["rudder"], "rudder")
    assert named.outline("rudder").apart == 280.0


def test_with_another_count_it_is_kept_for_when_it_comes_back() -> None:
    design = set_apart(twin(), ["fin"], 330.0)
    single = set_count(design, ["fin", "rudder"], 1)
    assert single.outline("fin").apart == 330.0 and pair_settings(single) == [] and not problems(single)
    assert set_count(single, ["fin"], 2).outline("fin").apart == 330.0


def test_those_that_differ_agree_on_nothing() -> None:
    fin, rudder = (replace(twin().outline(i), apart=a) for i, a in (("fin", 300.0), ("rudder", 310.0)))
    assert apart_of([fin, rudder]) is None
    assert apart_of([fin, replace(rudder, apart=None)]) == 300.0
    assert apart_of([]) is None


def test_scaled_mirrored_copied_or_laid_on_a_scan_it_stays_what_was_typed() -> None:
    design = set_apart(twin(), ["fin"], 330.0)
    assert scale_about(design.outline("fin"), (0, 0), 2.0, 2.0).apart == 330.0
    pasted, ids = paste_outlines(design, [design.outline("fin")], 10, 10)
    assert pasted.outline(ids[0]).apart == 330.0
    scanned = replace(design, scans=(Scan("plan", "plan.png"),))
    scaled = set_scale(scanned, "plan", (0, 0), (100, 0), 200.0, {"plan": (5000.0, 2000.0)})
    assert scaled.outline("fin").apart == 330.0
    other = set_apart(keep(design, "as built"), ["fin"], 9.0)
    assert take_back(other, "as-built").outline("rudder").apart == 330.0


def test_the_distance_is_measured_at_the_chord_half_way_up_the_fin() -> None:
    design = set_apart(twin(), ["fin"], 330.0)
    (found,) = pair_settings(design)
    assert (found.name, found.apart) == ("fin", 330.0)
    assert (found.leading_x, found.trailing_x, found.chord_z) == pytest.approx((700.0, 760.0, 60.0))
    # Both toed in by half a degree about their middles: the leading edges come nearer by what the
    # trailing edges go apart.
    turn = math.radians(0.5)
    ahead, aft = (330.0 + way * 2 * 30.0 * math.sin(turn) for way in (-1, 1))
    assert found.within == pytest.approx(aft - ahead)
    assert [p.name for p in pair_settings(set_apart(design, ["keel"], 290.0))] == ["fin", "keel"]


# The propeller


def test_a_diameter_alone_stands_at_the_nose_as_a_guess() -> None:
    design = set_propeller_diameter(leave_out(twin(), "propeller"), 254.0)
    assert design.flight.propeller == Propeller(254.0, pytest.approx(0.0, abs=1e-9))
    assert design.guessed == (PROPELLER_STATION,) and design.left_out == ()
    assert confirm_all(design).guessed == ()
    typed = set_propeller_station(design, -12.0)
    assert typed.flight.propeller == Propeller(254.0, -12.0) and typed.guessed == ()
    wider = set_propeller_diameter(typed, 279.4)
    assert wider.flight.propeller == Propeller(279.4, -12.0) and wider.guessed == ()
    back = set_propeller_station(wider, None)
    assert back.guessed == (PROPELLER_STATION,)
    assert back.flight.propeller == Propeller(279.4, pytest.approx(0.0))
    assert set_propeller_diameter(design_of(), 254.0).flight.propeller == Propeller(254.0, 0.0)


def test_cleared_or_left_out_nothing_of_it_remains() -> None:
    entered = set_propeller_diameter(twin(), 254.0)
    assert set_propeller_diameter(entered, None) == twin()
    assert set_propeller_diameter(twin(), None) == twin()
    without = leave_out(entered, "propeller")
    assert without == replace(twin(), left_out=("propeller",))
    assert leave_out(without, "propeller", False) == twin()


@pytest.mark.parametrize("diameter", [0.0, -1.0, math.inf, math.nan])
def test_a_diameter_that_cannot_be_is_refused(diameter: float) -> None:
    with pytest.raises(EditError, match="more than nothing"):
        set_propeller_diameter(twin(), diameter)


def test_a_station_needs_a_propeller_and_to_be_in_reach() -> None:
    with pytest.raises(EditError, match="no propeller yet"):
        set_propeller_station(twin(), 3.0)
    for x in (math.nan, LIMIT * 1.1):
        with pytest.raises(EditError, match="out of reach"):
            set_propeller_station(set_propeller_diameter(twin(), 254.0), x)


def test_the_propeller_is_no_reason_to_take_the_speed_for_typed() -> None:
    bare = set_propeller_diameter(design_of(box("b", "fuselage", 0, 0, 100, 20)), 254.0)
    assert "flight.speed_m_s" in add_wing(bare)[0].guessed
    assert add_wing(replace(bare, flight=Flight(speed_m_s=9.0)))[0].guessed == bare.guessed + tuple(
        p for p in add_wing(bare)[0].guessed if p.startswith("wings")
    )


def test_it_goes_with_the_part_it_turns_at() -> None:
    design = design_of(
        box("body", "fuselage", 0, -30, 900, 30), wings=trainer().wings, cg_mark=Mark(300, 0),
        flight=Flight(propeller=Propeller(254.0, -15.0)),
    )
    longer = plug(design, 150.0, 35.0)
    assert longer.flight.propeller == Propeller(254.0, -50.0)
    assert plug(longer, 150.0, -35.0).flight == design.flight
    assert plug(design, 600.0, 35.0).flight is design.flight
    pusher = replace(design, flight=Flight(propeller=Propeller(254.0, 910.0)))
    assert plug(pusher, 600.0, 35.0).flight.propeller == Propeller(254.0, 945.0)
    with pytest.raises(EditError, match="past what a file can hold"):
        plug(replace(design, flight=Flight(propeller=Propeller(254.0, 10.0 - LIMIT))), 150.0, 35.0)


@FEW
@given(st.floats(-500, 500), st.floats(-200, 200), st.floats(-900, 900))
def test_the_datum_moves_it_like_all_else_and_kept_states_with_it(x: float, z: float, at: float) -> None:
    design = keep(replace(twin(), flight=Flight(propeller=Propeller(254.0, at))), "kept")
    moved = set_datum(design, x, z)
    for state in (moved, moved.alternatives[0]):
        assert state.flight.propeller == Propeller(254.0, pytest.approx(at - x, abs=1e-9))


def test_on_a_scan_only_its_place_moves() -> None:
    sizes = {"plan": (5000.0, 2000.0)}
    design = replace(
        twin(), scans=(Scan("plan", "plan.png"),), flight=Flight(propeller=Propeller(254.0, -20.0)),
    )
    scaled = set_scale(design, "plan", (0, 0), (100, 0), 200.0, sizes)
    assert scaled.flight.propeller == Propeller(254.0, pytest.approx(-40.0))
    mirrored = mirror_scan(design, "plan", sizes)
    assert mirrored.flight.propeller is not None
    assert mirrored.flight.propeller.x == pytest.approx(5000.0 * 0.254 + 20.0)
    assert mirror_scan(mirrored, "plan", sizes).flight.propeller == Propeller(254.0, pytest.approx(-20.0))


def test_its_height_is_that_of_the_nearest_end_of_a_body() -> None:
    nacelle = box("motor", "nacelle", 300, 120, 460, 160)
    design = design_of(
        traced("pod", "fuselage", ((0, 10), (0, 30), (600, 60), (600, -60))), nacelle,
        box("spats", "nacelle", -50, -300, 90, -250, count=2),
    )
    assert shaft_z(design, -20.0) == pytest.approx(20 + 0.02 * (-20), abs=0.5)
    assert shaft_z(design, 470.0) == pytest.approx(140.0)
    assert shaft_z(design_of(cg_mark=Mark(3, 7)), 0.0) == 7.0
    assert shaft_z(design_of(), 0.0) == 0.0


def test_a_nose_that_ends_in_a_point_has_a_height() -> None:
    dart = design_of(traced("dart", "fuselage", ((0, 5), (400, 45), (400, -35))))
    assert shaft_z(dart, -10.0) == pytest.approx(5.0, abs=0.5)
    assert math.isfinite(shaft_z(design_of(
        replace(dart.outlines[0], nodes=(Node(0, 0), Node(1, 0), Node(2, 0)))
    ), 0.0))
