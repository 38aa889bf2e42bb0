"""The region hand, by plain events and a plain service."""

from __future__ import annotations

from plain_bench import Person, PlainBench, PlainInk

from app.canvas.tools.hand import NO_OVERLAY
from app.canvas.tools.inking import Whole
from app.canvas.tools.region import GAP_MM, RegionHand
from app.work.selection import Selection
from core.design import EMPTY, Node

SHAPE = (Node(0, 0), Node(90, 0), Node(90, 60, (0, -10), (-10, 0)), Node(0, 60))


def looking() -> tuple[PlainBench, Person, PlainInk]:
    bench = PlainBench(EMPTY)
    bench.ink = ink = PlainInk()
    bench.scan_sizes = {"plan": (100.0, 100.0)}
    return bench, Person(RegionHand(bench)), ink


def test_a_click_makes_an_outline_of_the_chosen_kind_in_one_edit() -> None:
    bench, person, ink = looking()
    bench.tracing_kind = "rudder"
    person.click((40, 30))
    assert ink.asked == [("region", (40, 30), (GAP_MM, GAP_MM))]
    assert person.hand.busy and "Looking" in person.hand.hint()
    assert person.hand.overlay().points == ((40, 30),)
    ink.waiting[0](SHAPE)
    made = bench.design.outline("rudder")
    assert made.nodes == SHAPE and made.kind == "rudder" and not person.hand.busy
    assert bench.selection == Selection(("rudder",)) and bench.closed == ["rudder"]
    assert bench.document.undo_name == "trace rudder"
    bench.document.undo()
    assert bench.design.outlines == ()


def test_a_refusal_is_said_and_changes_nothing() -> None:
    bench, person, ink = looking()
    person.click((40, 30))
    ink.waiting[0]("the click is on a line: click inside the shape")
    assert bench.said == ["No outline was taken: the click is on a line: click inside the shape."]
    assert bench.changes == [] and not person.hand.busy


def test_escape_stops_the_search_and_what_comes_late_is_not_wanted() -> None:
    bench, person, ink = looking()
    person.click((40, 30))
    assert person.hand.key("Escape") and ink.cancelled == 1 and bench.taken == []
    ink.waiting[0](SHAPE)
    assert bench.design.outlines == () and "stopped" in bench.said[-1]
    assert person.hand.key("Escape") and bench.taken == ["edit"]


def test_a_second_click_another_hand_and_undo_drop_the_search_before() -> None:
    bench, person, ink = looking()
    person.click((40, 30))
    person.click((45, 30))
    ink.waiting[0](SHAPE)
    assert bench.design.outlines == () and person.hand.busy
    assert person.hand.undo() and not person.hand.undo()
    person.click((50, 30))
    person.hand.leave()
    for found in ink.waiting:
        found(SHAPE)
    assert bench.design.outlines == () and ink.cancelled == 3


def test_without_a_scan_the_hand_says_what_is_missing() -> None:
    bench, person, _ = looking()
    assert person.hand.unusable() == ""
    bench.ink, bench.scan_sizes = None, {}
    assert "scan" in person.hand.unusable()
    person.click((40, 30))
    assert "no scan" in bench.said[0]


def test_the_gap_that_is_bridged_stands_in_the_hint() -> None:
    _, person, ink = looking()
    assert isinstance(person.hand, RegionHand)
    person.hand.gap = 2.5
    assert "2.5 mm" in person.hand.hint()
    person.click((1, 1))
    assert ink.asked[0][2] == (2.5, 2.5)


def test_a_line_is_no_outline() -> None:
    bench, person, ink = looking()
    person.click((40, 30))
    ink.waiting[0]((Node(0, 0), Node(90, 0), Node(90, 0.05), Node(0, 0.05)))
    assert bench.said == ["No outline was taken: that is a line without area. Click inside a drawn shape."]
    assert bench.changes == [] and not person.hand.busy


ROUND = ((0, 0), (50, 0), (120, 0), (120, 80), (60, 90), (0, 80))


def go_round(person: Person, points: tuple[tuple[float, float], ...] = ROUND) -> None:
    person.hover(points[0])
    person.press(points[0])
    for point in points[1:]:
        person.pull(point)
    person.release(points[-1])


def test_a_loop_takes_the_whole_in_one_edit() -> None:
    bench, person, ink = looking()
    bench.tracing_kind = "fuselage"
    assert "draw round a whole side view" in person.hand.hint()
    go_round(person)
    assert ink.loops == [ROUND] and ink.asked == []
    assert person.hand.busy and "the drawing" in person.hand.hint()
    assert person.hand.overlay().draft == ROUND and person.hand.overlay().guides == ((ROUND[-1], ROUND[0]),)
    ink.answers[0](Whole(SHAPE))
    made = bench.design.outline("fuselage")
    assert made.nodes == SHAPE and bench.document.undo_name == "trace fuselage"
    assert not person.hand.busy and person.hand.overlay() == NO_OVERLAY and bench.said == []


def test_what_is_left_out_is_said_and_its_place_marked_until_the_next_press() -> None:
    bench, person, ink = looking()
    go_round(person)
    ink.answers[0](Whole(SHAPE, "Look at the marked place.", (30.0, 2.0)))
    assert len(bench.design.outlines) == 1 and bench.said == ["Look at the marked place."]
    (label,) = person.hand.overlay().labels
    assert (label.x, label.z) == (30.0, 2.0) and label.marked
    assert person.hand.overlay().points == ((30.0, 2.0),)
    person.press((5, 5))
    assert person.hand.overlay() == NO_OVERLAY


def test_nothing_found_is_said_with_its_place() -> None:
    bench, person, ink = looking()
    go_round(person)
    ink.answers[0](Whole((), "the line is open at the marked place", (7.0, 8.0)))
    assert bench.said == ["No outline was taken: the line is open at the marked place."]
    assert bench.changes == [] and person.hand.overlay().points == ((7.0, 8.0),)


def test_an_unsteady_click_is_no_loop() -> None:
    _, person, ink = looking()
    go_round(person, ((40, 30), (44, 31), (41, 34), (38, 30)))
    assert ink.loops == [] and [asked[:2] for asked in ink.asked] == [("region", (40, 30))]


def test_escape_drops_the_loop_that_is_drawn_then_the_search_then_the_hand() -> None:
    bench, person, ink = looking()
    person.press((0, 0))
    person.pull((50, 0))
    person.pull((50, 50))
    assert person.hand.busy and "let go" in person.hand.hint()
    assert person.hand.key("Escape") and not person.hand.busy and person.hand.overlay() == NO_OVERLAY
    person.release((50, 50))
    assert ink.loops == [] and ink.asked == [] and bench.taken == []
    go_round(person)
    assert person.hand.key("Escape") and ink.cancelled == 1 and "stopped" in bench.said[-1]
    ink.answers[0](Whole(SHAPE))
    assert bench.design.outlines == ()
    assert person.hand.key("Escape") and bench.taken == ["edit"]
