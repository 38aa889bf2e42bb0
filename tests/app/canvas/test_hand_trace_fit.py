"""Followed ink is fitted beside the window, as a whole: clicks, closing and undo while a fit is coming."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from plain_bench import Person, PlainBench, PlainInk, Point

from app.canvas.tools.draft import Draft
from app.canvas.tools.inking import Stretch, Way
from app.canvas.tools.trace import TraceHand
from core.design import EMPTY, Node


def following(late: bool = True) -> tuple[PlainBench, Person, PlainInk]:
    """The first node at the left end of the ink, the key held, a fit that waits to be answered."""
    bench = PlainBench(EMPTY)
    bench.ink = ink = PlainInk()
    ink.late = late
    person = Person(TraceHand(bench))
    person.click(ink.on(-100))
    person.hand.hold(True)
    return bench, person, ink


def nodes(person: Person) -> tuple[Point, ...]:
    return person.hand.overlay().draft_nodes


def closed_and_waiting() -> tuple[PlainBench, Person, PlainInk]:
    bench, person, ink = following()
    person.click(ink.on(0))
    person.hand.hold(False)
    person.click((0, -60))
    person.hand.key("Return")
    assert bench.design.outlines == () and person.hand.busy
    return bench, person, ink


def test_a_click_shows_the_line_that_was_followed_until_its_fit_comes() -> None:
    _, person, ink = following()
    person.click(ink.on(0))
    person.hover((10, -50))
    person.hand.hold(False)
    shown = person.hand.overlay()
    assert ink.on(-25) in shown.draft and nodes(person) == (ink.on(-100), ink.on(0))
    assert shown.draft_handles == ()
    ink.answer()
    assert person.hand.overlay().draft_handles, "the fitted node has handles"
    assert len(person.hand.overlay().draft) > len(shown.draft)


def test_runs_that_follow_one_another_are_fitted_together_and_only_as_far_as_ink_was_followed() -> None:
    _, person, ink = following(late=False)
    person.click(ink.on(-20))
    person.click(ink.on(60))
    assert [fit[1:] for fit in ink.asked if fit[0] == "fit"] == [
        (ink.on(-100), ink.on(-20)), (ink.on(-100), ink.on(60))
    ]
    person.hand.hold(False)
    person.click((70, -40))
    person.hand.hold(True)
    person.click(ink.on(90))
    assert [fit[1:] for fit in ink.asked if fit[0] == "fit"][2:] == [((70, -40), ink.on(90))]


def test_where_the_key_was_up_a_node_is_pinned_and_where_it_was_down_the_fit_may_move_it() -> None:
    _, person, ink = following()
    person.click(ink.on(0))
    (stretch,) = ink.fitting[-1][0]
    assert stretch.pinned == (True, False)
    person.hand.hold(False)
    person.click((40, -40))
    ink.fitting[-1][1]([(Node(-100, 0, None, (30, 60)), Node(0, 99.5, (-30, 0), None))])
    assert nodes(person) == ((-100, 0), (0, 99.5), (40, -40))
    # The edge on from there begins where the fit ends.
    assert (0, 99.5) in person.hand.overlay().draft and (0, 100) not in person.hand.overlay().draft


def test_taking_back_a_click_shows_the_fit_of_before_without_asking_again() -> None:
    _, person, ink = following()
    person.click(ink.on(0))
    ink.answer()
    before = person.hand.overlay().draft
    person.click(ink.on(60))
    asked = len(ink.fitting)
    assert person.hand.key("Backspace")
    person.hover(ink.on(0))
    assert len(ink.fitting) == asked and ink.cancelled == 1
    ink.answer()
    assert person.hand.overlay().draft[: len(before)] == before, "what comes late is not wanted"
    assert person.hand.redo() and len(ink.fitting) == asked + 1


def test_an_outline_that_ink_goes_all_round_is_fitted_as_a_closed_whole() -> None:
    bench, person, ink = following()
    person.clicks([ink.on(-20), ink.on(80)])
    person.hand.key("Return")
    (stretch,) = ink.fitting[-1][0]
    assert stretch.closed and len(stretch.ways) == 3
    # Back along the same line there would be no area: the last edge is told to bulge downwards.
    ink.fitting[-1][1]([(
        Node(*ink.on(-100), (20, -60), (20, 60)), Node(*ink.on(-20), (-20, 0), (20, 0)),
        Node(*ink.on(80), (-10, 10), (-10, -80)),
    )])
    made = bench.design.outline("fin").nodes
    assert len(made) == 3 and (made[0].x, made[0].z) == ink.on(-100)
    assert all(n.handle_in and n.handle_out for n in made)


def test_closing_waits_for_the_fit_and_makes_one_edit_of_the_kind_that_was_traced() -> None:
    bench, person, ink = closed_and_waiting()
    assert person.hand.hint().startswith("Fitting the fin to the ink…")
    assert person.hand.overlay().figure == "fitting…"
    person.click((20, 20))
    assert "being fitted" in bench.said[-1] and len(nodes(person)) == 3
    assert person.hand.key("Return") and bench.design.outlines == ()
    bench.tracing_kind = "rudder"
    ink.answer()
    assert not person.hand.busy and [c.name for c in bench.changes] == ["trace fin"]
    made = bench.design.outline("fin").nodes
    assert made[0].handle_out and made[1].handle_in and made[2] == Node(0, -60)


def test_escape_drops_it_a_late_answer_is_not_wanted_and_undo_brings_it_back_open() -> None:
    bench, person, ink = closed_and_waiting()
    assert person.hand.key("Escape") and not person.hand.busy
    ink.answer()
    assert bench.design.outlines == ()
    assert person.hand.undo() and len(nodes(person)) == 3
    person.hand.key("Return")
    ink.answer()
    assert len(bench.design.outlines) == 1


@pytest.mark.parametrize("how", [lambda hand: hand.key("Backspace"), lambda hand: hand.undo()])
def test_a_step_back_opens_it_again(how: Callable[[TraceHand], bool]) -> None:
    bench, person, ink = closed_and_waiting()
    assert isinstance(person.hand, TraceHand)
    assert how(person.hand)
    ink.answer()
    assert bench.design.outlines == () and len(nodes(person)) == 3 and "Fitting" not in person.hand.hint()
    person.hand.key("Return")
    assert len(bench.design.outlines) == 1, "it is fitted by now"


def test_another_hand_does_not_lose_what_is_closed_and_a_document_that_goes_takes_it_along() -> None:
    bench, person, ink = closed_and_waiting()
    person.hand.hand_over()
    assert ink.asked[-1][0] == "fit now" and bench.design.outline("fin").nodes[0].handle_out
    ink.answer()
    assert len(bench.design.outlines) == 1
    bench, person, ink = closed_and_waiting()
    assert isinstance(person.hand, TraceHand)
    person.hand.take_up(None)
    ink.answer()
    assert bench.design.outlines == () and not person.hand.busy
    # What is still open waits as it is.
    _, person, ink = following()
    person.click(ink.on(0))
    person.hand.hand_over()
    assert person.hand.busy


def test_when_the_window_closes_what_is_half_traced_is_fitted_at_once() -> None:
    bench, person, ink = following()
    person.click(ink.on(0))
    person.click(ink.on(60))
    person.hand.keep_draft()
    made = bench.design.outline("fin").nodes
    assert len(made) == 3 and made[1].handle_in and made[1].handle_out and not person.hand.busy


def test_a_click_before_the_line_was_found_has_it_looked_for_with_the_fit() -> None:
    bench, person, ink = following()
    ink.slow = 9
    person.click(ink.on(0))
    (stretch,) = ink.fitting[-1][0]
    assert not stretch.ways[0].found and stretch.ways[0].points == (ink.on(-100), ink.on(0))
    ink.refusal = "no drawn line was found that leads there"
    ink.answer()
    assert bench.said == ["The edge is straight: no drawn line was found that leads there."]
    ink.slow, ink.refusal = 0, ""
    person.click(ink.on(60))
    (stretch,) = ink.fitting[-1][0]
    assert stretch.ways[0].points[0] == ink.on(0), "the straight edge is not part of it"


def test_a_fit_that_fails_leaves_the_line_as_it_was_followed() -> None:
    bench, _, ink = closed_and_waiting()
    ink.fitting[-1][1]("it could not be worked out")
    made = bench.design.outline("fin").nodes
    assert made[0].handle_out and (0, 100) in [(n.x, n.z) for n in made]


def test_a_click_beside_the_ink_takes_the_trail_that_was_shown_to_where_it_snaps() -> None:
    _, person, ink = following()
    beside = (0, ink.on(0)[1] - 6)
    person.hover(beside)
    person.hand.overlay()
    person.click(beside)
    (stretch,) = ink.fitting[-1][0]
    assert stretch.ways[0].found and stretch.ways[0].points[-1] == ink.on(0)
    assert beside not in stretch.ways[0].points
    assert [what for what, *_ in ink.asked].count("trail") == 1


def test_a_line_that_hardly_is_one_is_said_and_drawn_in_dashes() -> None:
    _, person, ink = following()
    ink.doubt = "there is hardly a line here"
    person.hover(ink.on(50))
    shown = person.hand.overlay()
    assert "Unsure: there is hardly a line here." in person.hand.hint() and shown.figure == "unsure"
    assert shown.draft == (ink.on(-100),) and len(shown.guides) > 10


def test_a_closed_draft_keeps_its_first_place_first_wherever_its_ink_begins() -> None:
    ways = Way(((0, 0), (10, 0))), Way(((10, 0), (10, 10)))
    draft = Draft().with_place(0, 0).with_place(10, 0, ways[0], pinned=False)
    draft = draft.with_place(10, 10).with_place(0, 10).closed_by(Way(((0, 10), (0, 0))))
    (stretch,) = draft.stretches()
    assert stretch.ways == (draft.ways[3], ways[0]) and not stretch.closed
    fit = (Node(0, 10), Node(0.1, 0.1), Node(10.5, 0))
    assert draft.nodes({stretch: fit}) == (Node(0.1, 0.1), Node(10.5, 0), Node(10, 10), Node(0, 10))
    assert draft.nodes({}) == (Node(0, 0), Node(10, 0), Node(10, 10), Node(0, 10))
    assert draft.stretches({ways[0], draft.ways[3]}) == ()
    assert Stretch(ways) != Stretch((Way(ways[0].points), ways[1])), "each way is itself alone"
