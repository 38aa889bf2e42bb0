"""Edits of the weights, and the lead that moves the CG; expectations are moments about the datum."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import MANY, box, design_of
from msgspec.structs import replace

from core.design import LIMIT, MOST_PARTS, Design, Mark, Outline, Weight
from core.design_check import problems
from core.redesign import weight_edits as edits
from core.redesign.outline_edits import EditError
from core.stability.balance import masses
from core.stability.ballast import weighed

BATTERY = Weight("battery", 185, 95, 0, 5, "Battery")
MOTOR = Weight("motor", 120, 20, 0, 0, "Motor")


def weights() -> st.SearchStrategy[tuple[Weight, ...]]:
    """One to six weights of a model aeroplane, in grams and mm."""
    one = st.tuples(st.floats(1, 2000), st.floats(-200, 1500), st.floats(-200, 300))
    return st.lists(one, min_size=1, max_size=6).map(
        lambda found: tuple(Weight(f"w-{i}", g, x, 0.0, z) for i, (g, x, z) in enumerate(found))
    )


def carrying(*found: Weight, **more: object) -> Design:
    return design_of(*more.pop("outlines", ()), weights=found, **more)  # type: ignore[misc]


def by_hand(design: Design) -> tuple[float, float]:
    """(Σ m, Σ m x / Σ m), summed exactly rounded."""
    total = math.fsum(w.grams for w in design.weights)
    return total, math.fsum(w.grams * w.x for w in design.weights) / total


# Adding, changing, moving


def test_what_is_added_stands_last_with_an_id_of_its_own() -> None:
    design, made = edits.add_weight(carrying(BATTERY), "Battery", 90, 10, -3, 40)
    assert made == "battery-2"
    assert design.weights == (BATTERY, Weight("battery-2", 90, 10, 40, -3, "Battery"))
    assert edits.add_weight(design, "", 0, 0, 0)[1] == "weight"


def test_only_the_named_field_of_the_named_weight_changes() -> None:
    design = edits.change_weight(carrying(BATTERY, MOTOR), "battery", grams=210.5)
    assert design.weights == (Weight("battery", 210.5, 95, 0, 5, "Battery"), MOTOR)
    design = edits.change_weight(design, "motor", x=-4, y=2, z=1, label="Engine")
    assert design.weights[1] == Weight("motor", 120, -4, 2, 1, "Engine")
    with pytest.raises(KeyError):
        edits.change_weight(design, "wheel", x=0)


@pytest.mark.parametrize("fields", [
    {"grams": -0.1}, {"grams": math.nan}, {"grams": math.inf}, {"x": 2 * LIMIT}, {"y": -math.inf},
    {"z": math.nan},
])
def test_a_number_that_cannot_be_is_refused_with_a_remedy(fields: dict[str, float]) -> None:
    with pytest.raises(EditError, match=r"; (give|keep) "):
        edits.change_weight(carrying(BATTERY), "battery", **fields)  # type: ignore[arg-type]


@MANY
@given(weights(), st.floats(-1e9, 1e9), st.floats(-1e9, 1e9))
def test_moving_goes_as_far_as_told_and_never_out_of_what_a_file_holds(
    found: tuple[Weight, ...], dx: float, dz: float
) -> None:
    moved = edits.move_weight(carrying(*found), "w-0", dx, dz)
    assert not problems(moved) and moved.weights[1:] == found[1:]
    now, was = moved.weights[0], found[0]
    assert now.x == max(-LIMIT, min(LIMIT, was.x + dx)) and now.z == max(-LIMIT, min(LIMIT, was.z + dz))


@MANY
@given(weights(), st.floats(-300, 300))
def test_moving_one_weight_moves_the_cg_by_its_share_of_the_mass(
    found: tuple[Weight, ...], dx: float
) -> None:
    # Moments: Δx_CG = m Δx / Σ m.
    start = carrying(*found)
    before, after = weighed(start), weighed(edits.move_weight(start, "w-0", dx, 0))
    assert not isinstance(before, str) and not isinstance(after, str)
    share = found[0].grams / math.fsum(w.grams for w in found)
    assert after.x - before.x == pytest.approx(share * dx, abs=1e-9)


def test_a_copy_stands_behind_its_original_and_one_off_the_centreline_on_the_other_side() -> None:
    servo = Weight("servo", 9, 300, 210, 60, "Servo")
    design, made = edits.duplicate_weight(carrying(servo, BATTERY), "servo")
    assert made == "servo-2"
    assert design.weights == (servo, Weight("servo-2", 9, 300, -210, 60, "Servo"), BATTERY)
    again, made = edits.duplicate_weight(design, "servo-2")
    assert made == "servo-3" and again.weights[2].y == 210
    assert math.copysign(1, edits.duplicate_weight(carrying(BATTERY), "battery")[0].weights[1].y) == 1


def test_a_full_design_takes_no_more() -> None:
    full = carrying(*(Weight(f"w-{i}", 1, 0) for i in range(MOST_PARTS)))
    for edit in (lambda: edits.add_weight(full, "", 1, 0, 0), lambda: edits.duplicate_weight(full, "w-0")):
        with pytest.raises(EditError, match="put some together"):
            edit()
    assert not edits.delete_weights(full, {w.id for w in full.weights}).weights


def test_the_source_of_the_cg_changes_and_the_mark_stays() -> None:
    design = carrying(BATTERY, cg_mark=Mark(300, 10))
    weighing = edits.set_cg_from(design, "weights")
    assert weighing.cg_from == "weights" and weighing.cg_mark == Mark(300, 10)
    assert edits.set_cg_from(weighing, "mark") == design


@pytest.mark.parametrize(("label", "words"), [
    ("Battery", "battery"), ("LiPo", "LiPo"), ("ESC and fan", "ESC and fan"),
    ("Nuts & bolts", "nuts and bolts"),
    ("", "battery"), ("   ", "battery"), ("A" + "b" * 90, "a" + "b" * 26 + "…"),
])
def test_it_is_called_by_its_label_in_the_middle_of_a_sentence(label: str, words: str) -> None:
    assert edits.called(Weight("battery", 1, 0, label=label)) == words


# By area


def test_an_outline_of_two_square_decimetres_weighs_so_much_a_square_decimetre() -> None:
    fin = box("fin", "fin", 100, 0, 200, 200, count=2)
    design = edits.set_area_weight(design_of(fin, box("rudder", "rudder", 200, 0, 300, 100)), ("fin",), 12.5)
    assert masses(design) == []
    design = replace(design, weights=(Weight("rest", 0.0, 0.0),))
    assert masses(design) == [(0.0, 0.0, 0.0), pytest.approx((2 * 2.0 * 12.5, 150, 100))]
    assert edits.set_area_weight(design, ("fin",), None).outlines == (
        edits.set_area_weight(design, ("fin",), 0.0).outlines
    )
    assert edits.set_area_weight(design, ("fin",), None).outlines[0] == fin
    for wrong in (-1.0, math.nan, 2 * LIMIT):
        with pytest.raises(EditError):
            edits.set_area_weight(design, ("fin",), wrong)


# Where lead goes


def test_the_nose_is_the_foremost_point_of_the_fuselage_where_there_is_one() -> None:
    spinner = box("spinner", "other", -40, -10, 0, 10)
    assert edits.nose_x(design_of(spinner, box("fuselage", "fuselage", 3, -20, 800, 20))) == 3
    assert edits.nose_x(design_of(spinner)) == -40
    assert edits.nose_x(design_of()) is None
    assert edits.nose_x(design_of(Outline("fuselage", "fuselage", ()))) is None


def test_lead_lies_in_the_middle_of_the_fuselage_or_at_the_height_of_the_cg() -> None:
    fuselage = box("fuselage", "fuselage", 0, -20, 800, 60)
    assert edits.inside_z(design_of(fuselage), 100) == pytest.approx(20)
    assert edits.inside_z(carrying(BATTERY, outlines=(fuselage,)), -50) == pytest.approx(5)
    assert edits.inside_z(design_of(cg_mark=Mark(300, 12)), 0) == 12
    assert edits.inside_z(design_of(), 0) == 0


@MANY
@given(weights(), st.floats(0.5, 200), st.floats(20, 600), st.sampled_from((1, -1)))
def test_the_lead_put_in_brings_the_cg_to_where_it_was_wanted(
    found: tuple[Weight, ...], move: float, lever: float, way: int
) -> None:
    design = carrying(*found)
    total, now = by_hand(design)
    wanted = now - way * move
    at = wanted - way * lever
    changed, made = edits.put_lead(design, wanted, at)
    heavier, there = by_hand(changed)
    assert there == pytest.approx(wanted, abs=1e-6)
    # m_b (x_t − x_b) = m (x_CG − x_t)
    assert (heavier - total) * lever == pytest.approx(total * move, rel=1e-6)
    lead = edits.weight_of(changed, made)
    assert lead.label == "Lead" and lead.x == at and changed.weights[:-1] == found


@MANY
@given(weights(), st.floats(0.5, 100), st.floats(0.5, 100), st.floats(20, 600))
def test_lead_that_lies_there_already_is_made_to_weigh_what_is_needed_now(
    found: tuple[Weight, ...], first: float, second: float, lever: float
) -> None:
    design = carrying(*found)
    _, now = by_hand(design)
    at = now - first - second - lever
    once, made = edits.put_lead(design, now - first, at)
    twice, again = edits.put_lead(once, now - second, at)
    assert again == made and len(twice.weights) == len(found) + 1
    assert by_hand(twice)[1] == pytest.approx(now - second, abs=1e-6)


def test_what_lead_cannot_do_is_refused_with_the_reason() -> None:
    design = carrying(BATTERY)
    with pytest.raises(EditError, match="ahead of the wanted CG"):
        edits.put_lead(design, 80, 90)
    with pytest.raises(EditError, match="behind the wanted CG"):
        edits.put_lead(design, 120, 0)
    with pytest.raises(EditError, match="none is needed"):
        edits.put_lead(design, 95, 0)
    with pytest.raises(EditError, match="enter what the aeroplane carries"):
        edits.put_lead(carrying(), 95, 0)
    # Only the lead itself weighs: without it there is nothing to balance.
    with pytest.raises(EditError, match="enter what the aeroplane carries"):
        edits.put_lead(carrying(Weight("lead", 30, 0, label="Lead")), 95, 0)
