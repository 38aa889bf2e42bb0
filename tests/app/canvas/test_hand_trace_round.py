"""A free line round a shape, by plain events: what counts as one, what is asked, flipped and kept."""

from __future__ import annotations

import math

import numpy as np
import pytest
from plain_bench import Person, PlainBench, PlainInk, Point, rounded

from app.canvas.tools.trace import TraceHand
from core.design import EMPTY
from core.ink.pulling import Choice, Pull

CENTRE = (150.0, 100.0)


def at_work() -> tuple[PlainBench, Person, PlainInk]:
    bench = PlainBench(EMPTY)
    bench.ink = ink = PlainInk()
    return bench, Person(TraceHand(bench)), ink


def circle(turns: float = 1.0, radius: float = 60.0, steps: int = 60) -> list[Point]:
    return [
        (CENTRE[0] + radius * math.cos(a), CENTRE[1] + radius * math.sin(a))
        for a in np.linspace(0.0, 2 * math.pi * turns, steps)
    ]


def draw(person: Person, line: list[Point], let_go: bool = True) -> None:
    person.hover(line[0])
    person.press(line[0])
    for at in line[1:]:
        person.pull(at)
    if let_go:
        person.release(line[-1])


def on_ink(choices: int = 0) -> Pull:
    """A square ring of 160 points, 80 mm wide, with so many stretches beside which a line runs 5 mm off."""
    side = np.arange(0.0, 80.0, 2.0)
    zero, full = np.zeros(40), np.full(40, 80.0)
    points = np.vstack([
        np.column_stack(pair)
        for pair in ((side, zero), (full, side), (80.0 - side, full), (zero, 80.0 - side))
    ])
    told = [
        Choice(40 * k + 5, 40 * k + 25, points[40 * k + 5 : 40 * k + 26] + np.full(2, 5.0))
        for k in range(choices)
    ]
    return Pull(points, tuple(told), ())


def shown(choices: int = 1) -> tuple[PlainBench, Person, PlainInk]:
    bench, person, ink = at_work()
    draw(person, circle())
    ink.rounds[-1][1](rounded(on_ink(choices)))
    return bench, person, ink


# What is a round


def test_a_line_round_a_shape_is_asked_for_and_becomes_one_outline_of_the_kind_that_is_offered() -> None:
    bench, person, ink = at_work()
    draw(person, circle(), let_go=False)
    assert person.hand.overlay().figure == "let go: once round" and "Once round the fin" in person.hand.hint()
    assert len(person.hand.overlay().draft) > 50
    person.release(circle()[-1])
    ((line, answer),) = ink.rounds
    assert len(line) > 50 and person.hand.busy and bench.design.outlines == ()
    assert "on to the ink" in person.hand.hint()
    answer(rounded(on_ink()))
    (made,) = bench.design.outlines
    assert (made.kind, made.label, len(made.nodes)) == ("fin", "Fin", 160)
    assert not person.hand.busy and bench.closed == ["fin"] and bench.selection.outlines == ("fin",)
    assert [c.name for c in bench.changes] == ["trace fin"]
    bench.document.undo()
    assert bench.design.outlines == () and bench.document.undo_name is None


@pytest.mark.parametrize("turns", [1.0, 0.85, 0.75, -1.0])
def test_it_need_not_be_closed_and_goes_either_way_round(turns: float) -> None:
    _, person, ink = at_work()
    draw(person, circle(turns))
    assert len(ink.rounds) == 1


@pytest.mark.parametrize("line", [
    [(100.0, 100.0), (120.0, 110.0)],
    [(100.0 + 2.0 * k, 100.0) for k in range(100)],
    [(100.0 + 4.0 * k, 100.0 + 0.1 * k) for k in (*range(50), *range(50, 15, -1))],
    # Out, and then swung a quarter round: the handle's end is as far as it ever was.
    [*((150.0 + 5.0 * k, 100.0) for k in range(20)), *circle(0.25, 100.0)],
    circle(1.0, 10.0),
], ids=["short", "straight", "out and back", "swung round", "tiny"])
def test_a_pull_at_a_handle_stays_one(line: list[Point]) -> None:
    bench, person, ink = at_work()
    draw(person, line)
    assert ink.rounds == [] and bench.said == []
    shown_now = person.hand.overlay()
    assert len(shown_now.draft_nodes) == 1 and len(shown_now.draft_handles) == 2
    person.click((300.0, 0.0))
    person.hand.key("Return")
    assert bench.design.outline("fin").nodes[0].handle_out is not None


def test_later_nodes_and_shift_are_never_rounds_and_a_second_node_may_follow_a_curve() -> None:
    _, person, ink = at_work()
    person.click((0.0, 0.0))
    draw(person, circle())
    assert ink.rounds == [] and len(person.hand.overlay().draft_nodes) == 2
    _, person, ink = at_work()
    line = circle()
    person.press(line[0], shift=True)
    for at in line[1:]:
        person.pull(at, shift=True)
    person.release(line[-1])
    assert ink.rounds == []


def test_escape_in_the_middle_of_the_line_drops_it_and_what_the_pen_goes_on_to_draw() -> None:
    bench, person, ink = at_work()
    draw(person, circle()[:40], let_go=False)
    assert person.hand.key("Escape")
    for at in circle()[40:]:
        person.pull(at)
    person.release(circle()[-1])
    assert ink.rounds == [] and not person.hand.busy and bench.design.outlines == ()


def test_without_a_scan_under_the_pen_it_is_a_curve_and_that_is_said() -> None:
    bench, person, ink = at_work()
    ink.here = False
    draw(person, circle(), let_go=False)
    assert len(person.hand.overlay().draft_handles) == 2
    person.release(circle()[-1])
    assert ink.rounds == [] and "needs a scan under the pen" in bench.said[-1]
    assert len(person.hand.overlay().draft_nodes) == 1


# On its way


def test_a_reason_keeps_the_line_as_it_was_drawn_until_return_or_escape() -> None:
    bench, person, ink = at_work()
    draw(person, circle())
    ink.rounds[-1][1]("no drawn line runs along it")
    assert "no drawn line runs along it" in bench.said[-1] and bench.design.outlines == ()
    assert len(person.hand.overlay().draft) > 50 and person.hand.overlay().figure == "as drawn"
    person.click((10.0, 10.0))
    assert "Return keeps the line" in bench.said[-1] and bench.design.outlines == ()
    assert person.hand.key("Return")
    pull, answer = ink.rounds[-1]
    assert isinstance(pull, Pull)
    answer(rounded(pull))
    (made,) = bench.design.outlines
    assert len(made.nodes) == len(pull.points) and not person.hand.busy


@pytest.mark.parametrize("how", ["Escape", "Backspace", "undo"])
def test_while_it_is_on_its_way_it_can_be_dropped_and_undo_asks_again(how: str) -> None:
    bench, person, ink = at_work()
    draw(person, circle())
    late = ink.rounds[-1][1]
    assert person.hand.undo() if how == "undo" else person.hand.key(how)
    assert not person.hand.busy and ink.cancelled == 1
    late(rounded(on_ink()))
    assert bench.design.outlines == (), "what comes late is not wanted"
    assert person.hand.undo() and len(ink.rounds) == 2
    ink.rounds[-1][1](rounded(on_ink()))
    assert len(bench.design.outlines) == 1


def test_no_gesture_begins_while_it_is_on_its_way_and_redo_waits() -> None:
    bench, person, _ = at_work()
    draw(person, circle())
    person.click((10.0, 10.0))
    assert "a moment" in bench.said[-1] and person.hand.busy and person.hand.redo()


def test_what_has_no_area_on_the_ink_is_said_and_undo_brings_the_line_back() -> None:
    bench, person, ink = at_work()
    draw(person, circle())
    flat = np.column_stack((np.arange(50.0), np.zeros(50)))
    ink.rounds[-1][1](rounded(Pull(flat, (), ())))
    assert bench.design.outlines == () and "no area" in bench.said[-1]
    assert person.hand.undo() and person.hand.busy


# Doubtful stretches


def test_a_doubtful_stretch_is_shown_with_its_other_line_and_waits() -> None:
    bench, person, _ = shown(2)
    assert bench.design.outlines == () and person.hand.busy
    overlay = person.hand.overlay()
    assert len(overlay.besides) == 2 and [b.marked for b in overlay.besides] == [True, False]
    assert "Tab takes the other" in person.hand.hint() and "Left, Right" in person.hand.hint()
    assert "Left, Right" not in shown(1)[1].hand.hint()


def test_a_click_on_either_line_flips_it_and_a_click_elsewhere_accepts_and_begins_anew() -> None:
    bench, person, ink = shown()
    person.hover((40.0, 0.0))
    assert person.hand.cursor() == "node"
    person.click((40.0, 0.0))
    pull, answer = ink.rounds[-1]
    assert isinstance(pull, Pull) and pull.points[15].tolist() == [35.0, 5.0]
    assert bench.design.outlines == ()
    answer(rounded(pull))
    person.click((40.0, 0.0))
    pull, answer = ink.rounds[-1]
    assert isinstance(pull, Pull) and pull.points[15].tolist() == [30.0, 0.0], "and back"
    answer(rounded(pull))
    person.click((200.0, 200.0))
    assert len(bench.design.outlines) == 1 and person.hand.overlay().draft_nodes == ((200.0, 200.0),)


def test_keys_flip_the_marked_one_return_accepts_when_its_fit_is_there() -> None:
    bench, person, ink = shown(2)
    assert person.hand.key("Right") and person.hand.key("Tab")
    pull, answer = ink.rounds[-1]
    assert isinstance(pull, Pull)
    assert pull.points[55].tolist() == [85.0, 35.0] and pull.points[15].tolist() == [30.0, 0.0]
    assert person.hand.key("Return") and bench.design.outlines == () and "Fitting" in person.hand.hint()
    person.click((300.0, 300.0))
    assert "a moment" in bench.said[-1]
    answer(rounded(pull))
    assert len(bench.design.outlines) == 1 and not person.hand.busy
    assert person.hand.key("Tab") is False and not person.hand.key("Left")


def test_escape_drops_all_undo_brings_the_choice_back_as_it_was() -> None:
    bench, person, ink = shown()
    person.hand.key("Tab")
    assert person.hand.key("Escape") and not person.hand.busy and bench.design.outlines == ()
    assert person.hand.undo() and len(person.hand.overlay().besides) == 1
    pull, answer = ink.rounds[-1]
    assert isinstance(pull, Pull) and pull.points[15].tolist() == [35.0, 5.0]
    answer(rounded(pull))
    assert bench.design.outlines == () and person.hand.key("Return") and len(bench.design.outlines) == 1


def test_a_window_that_closes_and_another_hand_lose_nothing_of_it() -> None:
    for end in ("keep_draft", "hand_over"):
        bench, person, _ = shown()
        getattr(person.hand, end)()
        assert len(bench.design.outlines) == 1 and not person.hand.busy, end
        bench, person, ink = at_work()
        draw(person, circle())
        getattr(person.hand, end)()
        assert len(bench.design.outlines) == 1 and ("round now", (0, 0), (0, 0)) in ink.asked
        ink.rounds[0][1](rounded(on_ink()))
        assert len(bench.design.outlines) == 1, "what comes late is not wanted"
    # The pen's own line, which no ink was found for, is kept for good by the closing window alone.
    for end, kept in (("keep_draft", 1), ("hand_over", 0)):
        bench, person, ink = at_work()
        draw(person, circle())
        ink.rounds[-1][1]("no drawn line runs along it")
        getattr(person.hand, end)()
        assert len(bench.design.outlines) == kept
    # And a document that goes takes it along.
    bench, person, ink = shown()
    assert isinstance(person.hand, TraceHand)
    person.hand.take_up(None)
    assert not person.hand.busy and bench.design.outlines == ()
