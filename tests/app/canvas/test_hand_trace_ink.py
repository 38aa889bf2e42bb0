"""The tracing hand along drawn lines, by plain events and a plain service."""

from __future__ import annotations

import numpy as np
import pytest
from plain_bench import Person, PlainBench, PlainInk, Point, box

from app.canvas.snapping import SNAP_PX, Snap, snap
from app.canvas.tools.trace import TraceHand
from app.canvas.view import View
from core.design import Design, Node
from core.geometry.ring import flatten, ring_of


def inked(*outlines: object) -> tuple[PlainBench, Person, PlainInk]:
    bench = PlainBench(Design(format=1, title="A test", outlines=tuple(outlines)))  # type: ignore[arg-type]
    bench.ink = ink = PlainInk()
    return bench, Person(TraceHand(bench)), ink


def nodes(person: Person) -> tuple[Point, ...]:
    return person.hand.overlay().draft_nodes


def test_with_the_key_held_a_click_takes_the_line_from_the_last_node_and_without_it_a_straight_edge() -> None:
    bench, person, ink = inked()
    person.click(ink.on(-100))
    person.hand.hold(True)
    person.click(ink.on(0))
    person.hand.hold(False)
    person.click((0, -60))
    person.hand.key("Return")
    fin = bench.design.outline("fin").nodes
    assert fin == (
        Node(-100, 0, None, (100 / 3, 200 / 3)), Node(0, 100, (-100 / 3, 0), None), Node(0, -60)
    )
    run = flatten(ring_of((*fin[:2], Node(0, 0))))
    left = run[run[:, 0] < -1e-6]
    # Points of a flattened curve stand outwards of it by a part of 0.01 mm.
    assert np.abs(left[:, 1] - 100 * (1 - (left[:, 0] / 100) ** 2)).max() < 0.02
    assert bench.document.undo_name == "trace fin"


def test_the_line_under_the_cursor_is_shown_while_the_key_is_down_and_asked_for_once_a_place() -> None:
    _, person, ink = inked()
    person.click(ink.on(-100))
    person.hand.hold(True)
    person.hover(ink.on(50))
    overlay = person.hand.overlay()
    assert overlay.draft[0] == (-100, 0) and overlay.draft[-1] == ink.on(50)
    assert ink.on(-25) in overlay.draft and overlay.figure == "along the ink"
    person.hand.hint()
    person.hand.overlay()
    assert [asked for asked, *_ in ink.asked] == ["trail"]
    person.hand.hold(False)
    assert person.hand.overlay().draft == ((-100, 0), ink.on(50))
    assert "Following" not in person.hand.hint()


def test_a_line_that_is_still_looked_for_shows_the_one_before_and_is_asked_for_again() -> None:
    _, person, ink = inked()
    person.click(ink.on(-100))
    person.hand.hold(True)
    person.hover(ink.on(40))
    before = person.hand.overlay().draft
    ink.slow = 1
    person.hover(ink.on(60))
    assert person.hand.overlay().draft == before
    assert person.hand.overlay().draft[-1] == ink.on(60)


def test_undo_takes_back_a_whole_run_and_redo_gives_it_again_handles_and_all() -> None:
    bench, person, ink = inked()
    person.click(ink.on(-100))
    person.hand.hold(True)
    person.click(ink.on(0))
    person.click(ink.on(80))
    full = person.hand.overlay()
    assert person.hand.key("Backspace")
    assert nodes(person) == ((-100, 0), ink.on(0))
    assert person.hand.undo() and nodes(person) == ((-100, 0),)
    assert person.hand.overlay().draft_handles == (), "the way out of the first node went with its run"
    assert person.hand.redo() and person.hand.redo() and not person.hand.redo()
    assert nodes(person) == full.draft_nodes
    person.hand.hold(False)
    person.hand.key("Return")
    kept = bench.design.outline("fin").nodes
    assert kept[0].handle_out and kept[1].handle_in and kept[1].handle_out and kept[2].handle_in
    assert bench.changes[-1].name == "trace fin" and len(bench.changes) == 1


@pytest.mark.parametrize("how", ["first node", "Return", "double click"])
def test_closing_with_the_key_held_follows_the_ink_back_to_the_first_node(how: str) -> None:
    bench, person, ink = inked()
    person.click(ink.on(-50))
    person.click((0, -40), ctrl=True)
    if how != "double click":
        person.click(ink.on(70))
    person.hand.hold(True)
    if how == "first node":
        person.hover(ink.on(-50))
        assert person.hand.overlay().figure == "close along the ink"
        person.click(ink.on(-50))
    elif how == "Return":
        person.hand.key("Return")
    else:
        person.hand.hold(False)
        person.click((70, -60))
        person.hand.hold(True)
        person.double_click(ink.on(90))
    made = bench.design.outline("fin").nodes
    assert made[0].handle_in is not None and made[-1].handle_out is not None
    assert (made[0].x, made[0].z) == ink.on(-50)
    assert len(made) == (4 if how == "double click" else 3), "the first node is there but once"


def test_the_strips_button_follows_without_a_key_and_shift_holds_straight_all_the_same() -> None:
    bench, person, ink = inked()
    assert isinstance(person.hand, TraceHand)
    person.hand.latched = True
    person.click(ink.on(-100))
    person.hover((0, 3), shift=True)
    assert person.hand.overlay().draft == ((-100, 0), (0, 0))
    person.click((0, 3), shift=True)
    person.click(ink.on(60))
    person.hand.latched = False
    person.hand.key("Return")
    fin = bench.design.outline("fin").nodes
    assert fin[1] == Node(0, 0, None, fin[1].handle_out) and fin[1].handle_out is not None


def test_where_there_is_no_line_the_edge_is_straight_and_the_reason_is_said() -> None:
    bench, person, ink = inked()
    person.click((-40, 0))
    ink.refusal = "no scan that is shown lies here"
    person.hand.hold(True)
    person.hover((30, -50))
    assert person.hand.overlay().draft == ((-40, 0), (30, -50))
    assert person.hand.hint().startswith("Straight from here: no scan that is shown lies here.")
    person.click((30, -50))
    assert nodes(person) == ((-40, 0), (30, -50))
    assert bench.said == ["The edge is straight: no scan that is shown lies here."]


def test_a_bench_without_ink_traces_as_ever() -> None:
    bench, person, _ = inked()
    bench.ink = None
    person.hand.hold(True)
    person.clicks([(0, 0), (50, 0), (50, 40)])
    person.hand.key("Return")
    assert bench.design.outline("fin").nodes == (Node(0, 0), Node(50, 0), Node(50, 40))


def test_the_key_is_up_when_the_hand_comes_back() -> None:
    _, person, ink = inked()
    person.hand.hold(True)
    person.hand.leave()
    person.click(ink.on(-100))
    person.hover(ink.on(0))
    assert ink.asked == []


# Single clicks


def test_a_click_near_ink_goes_to_its_middle_where_the_strip_says_so_unless_ctrl_is_held() -> None:
    _, person, ink = inked()
    assert isinstance(person.hand, TraceHand)
    person.hover((0, 104))
    assert person.hand.overlay().snap is None, "single clicks snap to ink only where that is asked for"
    person.hand.ink_snap = True
    person.hover((0, 104))
    assert person.hand.overlay().snap == Snap(0, 100, "ink")
    person.click((0, 104))
    person.click((-60, ink.on(-60)[1] - 4), ctrl=True)
    person.hand.ink_snap = False
    person.click((-90, ink.on(-90)[1] - 4))
    assert nodes(person) == ((0, 100), pytest.approx((-60, 60)), pytest.approx((-90, 15)))


def test_nodes_and_edges_of_other_outlines_come_before_ink() -> None:
    design = Design(format=1, title="A test", outlines=(box("a", "fin", 0, 0, 100, 100),))
    ink, view = PlainInk(), View(1.0, -100, 400)
    assert snap(design, view, 2, 97, ink=ink.nearest) == Snap(0, 100, "node")
    assert snap(design, view, 20, 97, ink=ink.nearest) == Snap(20, 100, "edge")
    assert snap(design, view, -20, 97, ink=ink.nearest) == Snap(-20, 96, "ink")
    assert snap(design, view, -20, 96 + SNAP_PX + 0.1, ink=ink.nearest).to == "free"
