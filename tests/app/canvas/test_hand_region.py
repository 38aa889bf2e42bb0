"""The region hand, by plain events and a plain service."""

from __future__ import annotations

from plain_bench import Person, PlainBench, PlainInk

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
