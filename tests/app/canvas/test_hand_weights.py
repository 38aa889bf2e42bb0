"""The editing hand on weights, by plain events."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from plain_bench import Person, PlainBench, editing, places, small_aeroplane

from app.canvas.tools.edit import EditHand
from app.canvas.tools.weights import LARGEST_PX, SMALLEST_PX, weight_size
from app.canvas.view import View
from app.work.selection import NOTHING, Selection
from core.design import LIMIT, Design, Weight

BATTERY = Weight("battery", 300, 200, 0, 0, "Battery")
MOTOR = Weight("motor", 100, 30, 0, 0, "Motor")
TAIL_WHEEL = Weight("tail-wheel", 10, 720, 0, 110, "Tail wheel")
"""Lies on the trailing edge of the fin, which runs from x 650 to 720."""
ON_A_CORNER = Weight("light", 2, 720, 0, 160, "Light")


def carrying(*weights: Weight, first: bool = False, **more: object) -> tuple[PlainBench, Person]:
    """A bench with those weights; ``first`` as when they are what is worked on."""
    bench, person = editing(weights=weights, **more)
    assert isinstance(person.hand, EditHand)
    person.hand.weights_first = first
    return bench, person


def weight(bench: PlainBench, weight_id: str = "battery") -> Weight:
    return next(w for w in bench.design.weights if w.id == weight_id)


@pytest.mark.parametrize("first", [False, True])
def test_a_dragged_weight_tells_its_station_and_what_the_cg_does_and_is_one_step_of_undo(first: bool) -> None:
    bench, person = carrying(BATTERY, MOTOR, first=first)
    person.press((200, 0))
    person.pull((220, 4))
    # 300 of 400 g moved by 20 mm: 300/400 × 20 = 15 mm.
    assert person.hand.overlay().figure == "battery 220.0 mm,  weighed CG +15.0 mm"
    person.pull((180, -6))
    assert person.hand.overlay().figure == "battery 180.0 mm,  weighed CG −15.0 mm"
    person.release((180, -6))
    assert weight(bench) == replace(BATTERY, x=180, z=-6) and weight(bench, "motor") == MOTOR
    assert bench.document.undo_name == "move battery" and bench.selection == Selection(weight="battery")
    bench.document.undo()
    assert weight(bench) == BATTERY and bench.document.undo_name is None


def test_where_the_cg_comes_from_the_weights_it_is_the_cg_that_moves() -> None:
    _, person = carrying(BATTERY, MOTOR, cg_from="weights", display_units="in")
    person.press((200, 0))
    person.pull((200 + 25.4, 0))
    assert person.hand.overlay().figure == "battery 8.87 in,  CG +0.75 in"


def test_what_weighs_nothing_moves_no_cg_and_tells_none() -> None:
    _, person = carrying(replace(BATTERY, grams=0.0))
    person.press((200, 0))
    person.pull((210, 0))
    assert person.hand.overlay().figure == "battery 210.0 mm"


def test_shift_holds_the_drag_level_and_escape_puts_everything_back() -> None:
    bench, person = carrying(BATTERY)
    person.press((200, 0))
    person.pull((240, 3), shift=True)
    assert (weight(bench).x, weight(bench).z) == (pytest.approx(240), 0)
    assert person.hand.key("Escape")
    assert weight(bench) == BATTERY and not bench.document.dirty and not person.hand.busy


def test_a_click_selects_a_weight_and_changes_nothing_and_a_click_elsewhere_lets_go() -> None:
    bench, person = carrying(BATTERY)
    bench.select(Selection(("fin",)))
    person.click((201, 1))
    assert bench.selection == Selection(weight="battery") and not bench.document.dirty
    assert "Delete takes it out" in person.hand.hint()
    person.click((690, 110))
    assert bench.selection == Selection(("fin",))
    person.click((201, 1))
    assert person.hand.key("Escape") and bench.selection == NOTHING
    assert not person.hand.key("Escape")


def test_edges_and_nodes_come_before_weights_unless_these_are_worked_on() -> None:
    bench, person = carrying(TAIL_WHEEL, ON_A_CORNER)
    person.drag((720, 110), (725, 110), ctrl=True)
    person.drag((725, 160), (722, 170), ctrl=True)
    assert bench.design.weights == (TAIL_WHEEL, ON_A_CORNER)
    assert places(bench) == [(650, 60), (725, 60), (722, 170), (650, 160)]
    bench, person = carrying(TAIL_WHEEL, ON_A_CORNER, first=True)
    person.drag((720, 110), (730, 110))
    person.drag((720, 160), (725, 160))
    assert [w.x for w in bench.design.weights] == [730, 725]
    assert bench.design.outlines == small_aeroplane().outlines


def test_the_selected_weight_is_on_top_whatever_it_hides() -> None:
    bench, person = carrying(TAIL_WHEEL, replace(BATTERY, x=720, z=110))
    bench.select(Selection(weight="tail-wheel"))
    person.drag((720, 110), (700, 110))
    assert weight(bench, "tail-wheel").x == 700 and weight(bench).x == 720


def test_the_cg_mark_comes_before_a_weight_at_the_same_place() -> None:
    bench, person = carrying(replace(BATTERY, x=300, z=10), first=True)
    person.drag((300, 10), (310, 10))
    assert bench.design.cg_mark is not None and bench.design.cg_mark.x == 310
    assert weight(bench).x == 300


def test_a_double_click_on_a_weight_lets_no_node_in_under_it() -> None:
    bench, person = carrying(TAIL_WHEEL, first=True)
    person.double_click((720, 110))
    assert bench.design.outlines == small_aeroplane().outlines and not bench.document.dirty


def test_hovering_shows_which_weight_would_be_taken() -> None:
    _, person = carrying(BATTERY)
    hand = person.hand
    assert isinstance(hand, EditHand)
    person.hover((203, 2))
    assert hand.hover_weight == "battery" and hand.hover is None and hand.cursor() == "move"
    person.hover((685, 110))
    assert hand.hover_weight is None and hand.hover is not None
    person.hover((203, 2))
    hand.leave()
    assert hand.hover_weight is None


@pytest.mark.parametrize(("units", "step"), [("mm", 1.0), ("in", 25.4 / 16), ("in64", 25.4 / 16)])
def test_arrow_keys_nudge_the_selected_weight_and_shift_ten_times_as_far(units: str, step: float) -> None:
    bench, person = carrying(BATTERY, display_units=units)
    bench.select(Selection(weight="battery"))
    assert person.hand.key("Right") and person.hand.key("Up", shift=True)
    assert (weight(bench).x, weight(bench).z) == (pytest.approx(200 + step), pytest.approx(10 * step))
    person.hand.settle()
    assert bench.document.undo_name == "nudge battery"
    bench.document.undo()
    assert weight(bench) == BATTERY


def test_delete_takes_the_selected_weight_out_and_undo_brings_it_back() -> None:
    bench, person = carrying(BATTERY, MOTOR)
    bench.select(Selection(weight="battery"))
    assert person.hand.key("Delete")
    assert bench.design.weights == (MOTOR,) and bench.selection == NOTHING
    assert bench.document.undo_name == "delete battery"
    assert not person.hand.key("Delete")
    bench.document.undo()
    assert bench.design.weights == (BATTERY, MOTOR)


def test_a_weight_that_is_gone_is_selected_no_longer() -> None:
    bench, person = carrying(BATTERY)
    bench.select(Selection(weight="battery"))
    bench.apply("clear", lambda d: replace(d, weights=()))
    assert bench.selection == NOTHING
    assert not person.hand.key("Left")


def test_the_size_follows_the_mass_within_limits() -> None:
    sizes = [weight_size(g) for g in (0.0, 1.0, 60.0, 120.0, 5000.0, LIMIT)]
    assert sizes == sorted(sizes) and sizes[0] == SMALLEST_PX and sizes[-1] == LARGEST_PX
    assert weight_size(240.0) / weight_size(120.0) == pytest.approx(math.cbrt(2.0))


def test_the_smallest_can_be_taken_hold_of_at_any_zoom() -> None:
    for scale in (0.3, 1.0, 40.0):
        design: Design = replace(small_aeroplane(), weights=(replace(BATTERY, grams=1, x=200, z=0),))
        bench = PlainBench(design, View(scale, 200 - 300 / scale, 200 / scale))
        person = Person(EditHand(bench))
        at = person.at((200 + 7 / scale, 0))
        person.hand.move(at, False)
        assert isinstance(person.hand, EditHand)
        assert person.hand.hover_weight == "battery"
