"""The editing hand: double clicks, keys, and what comes between a press and its release."""

from __future__ import annotations

import pytest
from plain_bench import editing, places, small_aeroplane

from app.canvas.view import View
from app.work.selection import NOTHING, Selection
from core.design import Design, Node, Outline

# Double clicks


def test_a_double_click_on_an_edge_lets_a_node_in_there_and_picks_it() -> None:
    bench, person = editing()
    person.double_click((720, 90))
    assert places(bench) == [(650, 60), (720, 60), (720, 90), (720, 160), (650, 160)]
    assert bench.selection == Selection(("fin",), frozenset({("fin", 2)}))
    assert bench.document.undo_name == "insert node" and not person.hand.busy
    person.double_click((650, 100))  # the last edge, which joins the last node to the first
    assert places(bench)[-1] == (650, 100)


def test_a_double_click_on_a_node_turns_corner_into_curve_and_back() -> None:
    bench, person = editing()
    person.double_click((720, 160))
    node = bench.design.outline("fin").nodes[2]
    assert node.handle_in is not None and node.handle_out is not None
    assert bench.document.undo_name == "make smooth"
    person.double_click((720, 160))
    assert bench.design == small_aeroplane() and bench.document.undo_name == "make corner"


def test_the_last_curve_of_two_nodes_is_kept_and_the_person_is_told_why() -> None:
    lens = Outline("lens", "other", (Node(0, 0, None, (20, 60)), Node(100, 0)))
    bench, person = editing(Design(format=1, title="A test", outlines=(lens,)))
    person.double_click((0, 0))
    assert bench.design.outline("lens") == lens and "third node" in bench.said[0]


def test_a_double_click_inside_or_beside_changes_nothing() -> None:
    bench, person = editing()
    person.double_click((685, 110))
    person.double_click((685, 380))
    assert not bench.document.dirty


# Keys


def test_delete_takes_out_nodes_and_then_outlines() -> None:
    bench, person = editing()
    person.click((720, 160))
    assert person.hand.key("Delete")
    assert places(bench) == [(650, 60), (720, 60), (650, 160)]
    assert bench.selection == Selection(("fin",)) and bench.document.undo_name == "delete nodes"
    person.click((650, 60))
    person.hand.key("Backspace")
    assert len(places(bench)) == 3 and "delete the whole outline" in bench.said[0]
    bench.select(Selection(("fin", "rudder")))
    person.hand.key("Delete")
    assert [o.id for o in bench.design.outlines] == ["fuselage"]
    assert bench.selection == NOTHING and bench.document.undo_name == "delete outlines"
    assert not person.hand.key("Delete")


@pytest.mark.parametrize(("units", "step"), [("mm", 1.0), ("in", 25.4 / 16), ("in64", 25.4 / 16)])
def test_arrow_keys_nudge_and_shift_ten_times_as_far(units: str, step: float) -> None:
    bench, person = editing(display_units=units)
    assert not person.hand.key("Left")
    person.click((720, 160))
    for key in ("Right", "Up", "Up"):
        assert person.hand.key(key)
    assert places(bench)[2] == pytest.approx((720 + step, 160 + 2 * step))
    assert places(bench)[1] == (720, 60)
    assert bench.document.busy and bench.document.undo_name is None
    person.hand.settle()
    assert bench.document.undo_name == "nudge nodes"
    bench.select(Selection(("rudder",)))
    person.hand.key("Left", shift=True)
    person.hand.key("Down", shift=True)
    assert places(bench, "rudder")[0] == pytest.approx((730 - 10 * step, 60 - 10 * step))
    person.hand.settle()
    assert bench.document.undo_name == "nudge outline"


def test_escape_at_rest_selects_nothing_and_is_then_passed_on() -> None:
    bench, person = editing()
    bench.select(Selection(("fin",)))
    assert person.hand.key("Escape") and bench.selection == NOTHING
    assert not person.hand.key("Escape") and not person.hand.key("F")


@pytest.mark.parametrize("interrupt", ["undo", "redo", "Right", "Delete"])
def test_undo_and_keys_in_the_middle_of_a_drag_do_no_harm(interrupt: str) -> None:
    bench, person = editing()
    person.drag((720, 110), (730, 110), ctrl=True)
    before = bench.design
    bench.select(Selection(("fin",)))
    person.press((730, 110), ctrl=True)
    person.pull((745, 110), ctrl=True)
    if interrupt in ("undo", "redo"):
        assert person.hand.undo() if interrupt == "undo" else person.hand.redo()
    else:
        assert person.hand.key(interrupt)
    person.pull((750, 110), ctrl=True)
    person.release((750, 110), ctrl=True)
    if interrupt == "undo":
        assert bench.design == before
    else:
        assert places(bench)[1] == (750, 60)
        bench.document.undo()
        assert bench.design == before
    assert not bench.document.busy


def test_a_release_that_never_came_does_not_leave_the_hand_holding_on() -> None:
    bench, person = editing()
    person.press((720, 110), ctrl=True)
    person.pull((740, 110), ctrl=True)
    person.press((750, 380))
    assert bench.document.undo_name == "drag fin edge" and places(bench)[1] == (740, 60)
    person.pull((790, 390))
    person.release((790, 390))
    assert places(bench)[1] == (740, 60) and not bench.document.busy


def test_taking_another_hand_in_the_middle_of_a_drag_puts_everything_back() -> None:
    bench, person = editing()
    person.press((720, 110))
    person.pull((750, 110))
    person.hand.leave()
    assert bench.design == small_aeroplane() and not person.hand.busy and not bench.document.busy


def test_zooming_and_panning_in_the_middle_of_a_drag_keeps_the_edge_under_the_hand() -> None:
    bench, person = editing()
    person.press((720, 110), ctrl=True)
    person.pull((730, 110), ctrl=True)
    bench.view = View(5.0, 600, 200)
    person.pull((742, 110), ctrl=True)
    bench.view = bench.view.panned(80, -40)
    person.release((742, 110), ctrl=True)
    assert places(bench)[1] == (742, 60)
