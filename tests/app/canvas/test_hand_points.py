"""The hands that take points: scale, level, datum, CG."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from plain_bench import Person, PlainBench, Point, small_aeroplane

from app.canvas.tools.points import CgHand, DatumHand, LevelHand, ScaleHand
from app.canvas.view import View
from core.design import EMPTY, Design, Mark, ScaleFrom, Weight
from core.redesign.outline_edits import EditError

SIZES = {"plan": (2000.0, 800.0)}


def at_bench(hand: type, design: Design | None = None) -> tuple[PlainBench, Person]:
    bench = PlainBench(design or small_aeroplane())
    bench.scan_sizes = SIZES
    return bench, Person(hand(bench))


def scale_hand(person: Person) -> ScaleHand:
    assert isinstance(person.hand, ScaleHand)
    return person.hand


# Scale


def test_two_clicks_and_a_distance_set_the_scale_in_one_entry_of_undo() -> None:
    bench, person = at_bench(ScaleHand)
    person.clicks([(0, 0), (400, 0)])
    assert bench.changes == [] and "true distance" in person.hand.hint()
    assert person.hand.overlay().points == ((0, 0), (400, 0))
    scale_hand(person).finish(500)
    assert bench.document.undo_name == "set scale"
    assert [(n.x, n.z) for n in bench.design.outline("fin").nodes] == [
        (812.5, 75), (900, 75), (900, 200), (812.5, 200)
    ]
    assert bench.design.scan("plan").to_mm[0] == (0.625, 0, -62.5)
    assert bench.design.cg_mark == Mark(375, 12.5)
    assert not person.hand.busy and person.hand.overlay().points == ()
    bench.document.undo()
    assert bench.design == small_aeroplane()


def test_a_drag_between_the_points_does_as_well_and_shift_holds_it_straight() -> None:
    _, person = at_bench(ScaleHand)
    person.drag((0, 0), (400, 9), shift=True)
    assert scale_hand(person).points == ((0, 0), (400, 0))


def test_a_refused_distance_leaves_the_points_to_type_again() -> None:
    bench, person = at_bench(ScaleHand)
    with pytest.raises(EditError, match="click both ends"):
        scale_hand(person).finish(100)
    person.clicks([(0, 0), (400, 0)])
    with pytest.raises(EditError, match="more than nothing"):
        scale_hand(person).finish(0)
    assert bench.changes == [] and len(scale_hand(person).points) == 2
    scale_hand(person).finish(400)
    assert len(scale_hand(person).points) == 0


def test_a_third_click_begins_anew_and_keys_take_points_back() -> None:
    bench, person = at_bench(ScaleHand)
    person.clicks([(0, 0), (400, 0), (10, 10)])
    assert scale_hand(person).points == ((10, 10),)
    assert person.hand.key("Backspace") and scale_hand(person).points == ()
    person.clicks([(0, 0), (400, 0)])
    assert person.hand.undo() and scale_hand(person).points == ((0, 0),)
    assert person.hand.key("Escape") and scale_hand(person).points == () and bench.taken == []
    assert not person.hand.undo()  # now it is the document's turn
    assert not person.hand.key("Backspace")
    assert person.hand.key("Escape") and bench.taken == ["edit"]


def test_the_points_are_of_the_paper_and_outlast_pan_and_zoom() -> None:
    bench, person = at_bench(ScaleHand)
    person.click((0, 0))
    bench.view = View(6.0, 350, 30)
    person.hover((390, 0))
    assert person.hand.overlay().guides == (((0, 0), (390, 0)),)
    person.click((400, 0))
    assert scale_hand(person).points == ((0, 0), (400, 0))


@pytest.mark.parametrize("hand", [ScaleHand, LevelHand])
def test_without_a_scan_the_hand_says_why_it_cannot_be_used(hand: type) -> None:
    _, person = at_bench(hand, EMPTY)
    assert person.hand.unusable() == "open a scan of the plan first"
    assert at_bench(hand)[1].hand.unusable() == ""
    person.clicks([(0, 0), (100, 10)])  # and even so nothing breaks
    assert person.hand.bench.design == EMPTY


# Level


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize("how", ["clicks", "drag"])
def test_two_points_level_the_scan_with_what_is_on_it(order: int, how: str) -> None:
    bench, person = at_bench(LevelHand)
    ends: list[Point] = [(100, 20), (500, 60)][::order]
    if how == "clicks":
        person.clicks(ends)
    else:
        person.drag(*ends)
    assert bench.document.undo_name == "level scan" and not person.hand.busy
    assert bench.said == ["turned 5.7° clockwise"]  # atan(40/400)
    (a, _, _), (d, _, _), _ = bench.design.scan("plan").to_mm
    assert math.degrees(math.atan2(d, a)) == pytest.approx(-math.degrees(math.atan2(40, 400)))
    fin = bench.design.outline("fin").nodes
    assert math.atan2(fin[1].z - fin[0].z, fin[1].x - fin[0].x) == pytest.approx(-math.atan2(40, 400))
    bench.document.undo()
    assert bench.design == small_aeroplane()


@pytest.mark.parametrize(
    ("was_from", "apart", "told"),
    [
        ("dpi", 98.0, "the plan was printed at 98.0 %"),
        ("dpi", 100.0, "the plan was printed at 100.0 %"),
        ("points", 80.0, "the scale changed by +25.0 %"),
        ("points", 100.01, "the scale is as it was"),
        ("none", 3.0, "the scan has its scale now: lengths and areas are told"),
    ],
)
def test_setting_the_scale_tells_what_it_did(was_from: ScaleFrom, apart: float, told: str) -> None:
    bench, person = at_bench(ScaleHand)
    bench.apply("as it was", lambda d: replace(d, scans=(replace(d.scans[0], scale_from=was_from),)))
    person.clicks([(100, 0), (100 + apart, 0)])
    assert isinstance(person.hand, ScaleHand)
    assert person.hand.finish(100.0) == told


def test_one_point_clicked_twice_is_refused_in_words() -> None:
    bench, person = at_bench(LevelHand)
    person.clicks([(100, 20), (100, 20)])
    assert not bench.document.dirty and "fall together" in bench.said[0] and not person.hand.busy


# Datum


def test_the_datum_snaps_to_a_corner_and_everything_moves_but_the_figure() -> None:
    bench, person = at_bench(DatumHand)
    person.hover((653, 57))
    shown = person.hand.overlay()
    assert shown.snap is not None and shown.figure == "650.0 mm, 60.0 mm"
    person.click((653, 57))
    assert bench.document.undo_name == "set datum"
    assert [(n.x, n.z) for n in bench.design.outline("fin").nodes] == [(0, 0), (70, 0), (70, 100), (0, 100)]
    assert bench.design.cg_mark == Mark(-350, -50)
    assert bench.design.scan("plan").to_mm[0] == (0.5, 0, -700.0)
    person.hand.key("Escape")
    assert bench.taken == ["edit"]


def test_ctrl_holds_the_snapping_of_the_datum_off() -> None:
    bench, person = at_bench(DatumHand)
    person.click((653, 57), ctrl=True)
    assert bench.design.outline("fin").nodes[0].x == -3


# CG


def test_a_click_marks_the_cg_and_a_drag_moves_it_in_one_entry_each() -> None:
    bench, person = at_bench(CgHand, replace(small_aeroplane(), cg_mark=None))
    person.click((310, 5))
    assert bench.design.cg_mark == Mark(310, 5) and bench.document.undo_name == "mark CG"
    person.press((310, 5))
    person.pull((330, 6))
    assert person.hand.overlay().figure == "CG 330.0 mm, 6.0 mm" and person.hand.busy
    person.release((330, 6))
    bench.document.undo()
    assert bench.design.cg_mark == Mark(310, 5)
    bench.document.undo()
    assert bench.design.cg_mark is None and bench.document.undo_name is None


def test_marking_by_hand_makes_the_mark_count_again() -> None:
    weighed = replace(small_aeroplane(), cg_from="weights", weights=(Weight("battery", 100, 50),))
    bench, person = at_bench(CgHand, weighed)
    person.click((310, 5))
    assert bench.design.cg_from == "mark"


@pytest.mark.parametrize("how", ["Escape", "undo", "another hand"])
def test_a_drag_of_the_mark_can_be_called_off(how: str) -> None:
    bench, person = at_bench(CgHand)
    person.press((310, 5))
    person.pull((350, 5))
    assert person.hand.redo() and person.hand.key("Right")  # swallowed while dragging
    if how == "another hand":
        person.hand.leave()
    else:
        assert person.hand.key("Escape") if how == "Escape" else person.hand.undo()
    person.pull((360, 5))
    person.release((360, 5))
    assert bench.design == small_aeroplane() and bench.document.undo_name is None
    assert not person.hand.busy and not bench.document.busy
    assert not person.hand.undo() and not person.hand.redo()


@pytest.mark.parametrize(("units", "step"), [("mm", 1.0), ("in", 25.4 / 16)])
def test_arrow_keys_move_the_mark_as_the_hint_promises(units: str, step: float) -> None:
    bench, person = at_bench(CgHand, replace(small_aeroplane(), display_units=units))
    assert "Arrow keys" in person.hand.hint()
    assert person.hand.key("Right") and person.hand.key("Down", shift=True)
    mark = bench.design.cg_mark
    assert mark is not None and (mark.x, mark.z) == pytest.approx((300 + step, 10 - 10 * step))
    assert bench.document.undo_name == "nudge CG"
    bench.apply("unmark", lambda d: replace(d, cg_mark=None))
    assert not person.hand.key("Right")


# Along and across


def test_one_distance_along_and_one_across_take_the_stretch_out_in_one_entry() -> None:
    bench, person = at_bench(ScaleHand)
    hand = scale_hand(person)
    with pytest.raises(EditError, match="click both ends"):
        hand.keep(100)
    person.clicks([(0, 0), (400, 0)])
    with pytest.raises(EditError, match="more than nothing"):
        hand.keep(0)
    hand.keep(402)
    assert hand.busy and hand.points == () and "across" in hand.hint() and bench.changes == []
    assert hand.overlay().guides == (((0, 0), (400, 0)),) and hand.overlay().labels[0].text == "402.0 mm"
    person.clicks([(10, 0), (10, 200)])
    told = hand.finish(203)
    # 1.005 along and 1.015 across: each pixel stands for more across, so that way the paper is shorter.
    assert told == f"the paper is {100 * (1 - 1.005 / 1.015):.2g} % shorter across than along"
    (a, _, _), (_, e, _), _ = bench.design.scan("plan").to_mm
    assert (a, e) == pytest.approx((0.5 * 1.005, -0.5 * 1.015))
    assert bench.document.undo_name == "set scale both ways" and not hand.busy
    assert bench.design.outline("fin").nodes[2].z == pytest.approx(160 * 1.015)
    bench.document.undo()
    assert bench.design == small_aeroplane()


def test_the_first_distance_can_be_taken_back_and_a_refusal_keeps_both() -> None:
    bench, person = at_bench(ScaleHand)
    hand = scale_hand(person)
    person.clicks([(0, 0), (400, 0)])
    hand.keep(402)
    person.clicks([(0, 10), (300, 20)])
    with pytest.raises(EditError, match="too much alike"):
        hand.finish(300)
    assert bench.changes == [] and len(hand.points) == 2 and hand.first is not None
    assert hand.undo() and hand.undo() and hand.points == () and hand.first is not None
    assert hand.undo() and hand.first is None and hand.points == ((0, 0), (400, 0))
    hand.keep(402)
    assert hand.key("Escape") and not hand.busy and bench.taken == []
