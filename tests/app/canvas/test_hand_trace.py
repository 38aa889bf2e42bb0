"""The tracing hand, by plain events."""

from __future__ import annotations

import math

import pytest
from green import exact_moments
from plain_bench import Person, PlainBench, Point, box

from app.canvas.tools.trace import CLOSE_PX, TraceHand
from app.canvas.view import View
from app.work.selection import Selection
from core.design import Design, Node
from core.geometry.ring import ring_of

FIN: list[Point] = [(0, 0), (120, 0), (90, 100), (30, 100)]


def tracing(*outlines: object) -> tuple[PlainBench, Person]:
    bench = PlainBench(Design(format=1, title="A test", outlines=tuple(outlines)))  # type: ignore[arg-type]
    return bench, Person(TraceHand(bench))


def places(bench: PlainBench, part_id: str = "fin") -> list[Point]:
    return [(n.x, n.z) for n in bench.design.outline(part_id).nodes]


# Closing


@pytest.mark.parametrize("how", ["first node", "Return", "double click"])
def test_corners_clicked_and_closed_make_an_outline_selected_and_told_of(how: str) -> None:
    bench, person = tracing()
    if how == "double click":
        person.clicks(FIN[:-1])
        person.double_click(FIN[-1])
    else:
        person.clicks(FIN)
        if how == "Return":
            assert person.hand.key("Return")
        else:
            person.click((CLOSE_PX - 1, 0))
    assert places(bench) == FIN
    fin = bench.design.outline("fin")
    assert (fin.kind, fin.label, fin.count) == ("fin", "Fin", 1)
    assert bench.selection == Selection(("fin",)) and bench.closed == ["fin"]
    assert bench.document.undo_name == "trace fin" and not person.hand.busy
    bench.document.undo()
    assert bench.design.outlines == () and bench.document.undo_name is None


def test_nothing_reaches_the_design_before_the_outline_is_closed() -> None:
    bench, person = tracing()
    person.clicks(FIN)
    assert person.hand.busy and bench.design.outlines == () and bench.changes == []


def test_a_second_fin_has_an_id_and_a_label_of_its_own_and_the_kind_is_the_one_at_the_end() -> None:
    bench, person = tracing(box("fin", "fin", 500, 0, 600, 100))
    person.clicks(FIN)
    person.hand.key("Return")
    assert bench.design.outline("fin-2").label == "Fin 2"
    person.clicks([(x + 200, z) for x, z in FIN])
    bench.tracing_kind = "ventral fin"
    person.hand.key("Return")
    assert bench.design.outlines[-1].kind == "ventral fin"
    assert bench.design.outlines[-1].label == "Ventral fin"


def test_too_few_nodes_do_not_close_and_say_why() -> None:
    bench, person = tracing()
    person.clicks(FIN[:2])
    assert person.hand.key("Return")
    assert bench.design.outlines == () and "at least three nodes" in bench.said[0]
    person.double_click((30, 100))
    assert places(bench) == [*FIN[:2], (30, 100)]


# Curves


def test_press_and_drag_makes_a_curve_with_opposite_handles() -> None:
    bench, person = tracing()
    person.click((0, 0))
    person.drag((100, 0), (120, 30))
    person.click((0, 80))
    person.hand.key("Return")
    assert bench.design.outline("fin").nodes == (
        Node(0, 0), Node(100, 0, (-20, -30), (20, 30)), Node(0, 80)
    )


def test_a_hand_that_trembles_makes_corners_all_the_same() -> None:
    bench, person = tracing()
    for x, z in FIN:
        person.drag((x, z), (x + 2, z - 2))
    person.hand.key("Return")
    assert bench.design.outline("fin").nodes == tuple(Node(*p) for p in FIN)


def test_two_nodes_with_a_curve_are_enough_and_pulling_on_closing_bends_the_last_edge() -> None:
    bench, person = tracing()
    person.drag((0, 0), (0, 40))
    person.click((100, 0))
    person.drag((0, 0), (-10, 40))
    fin = bench.design.outline("fin")
    assert fin.nodes == (Node(0, 0, (10, -40), (0, 40)), Node(100, 0))
    assert abs(exact_moments(ring_of(fin.nodes))[0]) > 1000


# Going back


@pytest.mark.parametrize("key", ["Backspace", "Delete"])
def test_backspace_takes_the_last_node_and_redo_gives_it_back(key: str) -> None:
    bench, person = tracing()
    person.clicks(FIN)
    assert person.hand.key(key)
    assert person.hand.overlay().draft_nodes == tuple(FIN[:3])
    assert person.hand.redo()
    assert person.hand.overlay().draft_nodes == tuple(FIN)
    assert not person.hand.redo()
    assert bench.changes == []


def test_undo_and_redo_of_points_and_a_new_point_forgets_what_was_undone() -> None:
    bench, person = tracing()
    person.clicks(FIN)
    assert person.hand.undo() and person.hand.undo()
    assert person.hand.redo()
    person.click((77, 77))
    assert not person.hand.redo()
    person.hand.key("Return")
    assert places(bench) == [*FIN[:3], (77, 77)]


def test_when_the_draft_is_empty_undo_is_the_designs_and_so_is_redo_after_it() -> None:
    _, person = tracing()
    person.click((0, 0))
    assert person.hand.undo()
    assert not person.hand.busy
    assert person.hand.redo() and person.hand.undo()
    assert not person.hand.undo()  # the document's turn
    assert not person.hand.redo()


def test_escape_abandons_the_draft_and_a_second_takes_the_editing_hand() -> None:
    bench, person = tracing()
    person.clicks(FIN)
    assert person.hand.key("Escape")
    assert not person.hand.busy and not person.hand.redo() and bench.taken == []
    assert person.hand.key("Escape") and bench.taken == ["edit"]
    assert bench.changes == []


def test_what_escape_dropped_comes_back_by_undo_until_something_else_is_drawn() -> None:
    bench, person = tracing()
    person.clicks(FIN)
    person.hand.key("Escape")
    assert "undo" in bench.said[-1]
    assert person.hand.undo() and person.hand.busy
    person.hand.key("Return")
    assert places(bench) == [*FIN]
    person.clicks(FIN[:3])
    person.hand.key("Escape")
    person.click((500, 5))
    person.hand.undo()
    assert not person.hand.busy and not person.hand.undo()


@pytest.mark.parametrize("back", ["Backspace", "Escape", "undo"])
def test_going_back_while_the_button_is_down_breaks_nothing(back: str) -> None:
    bench, person = tracing()

    def go_back() -> None:
        assert person.hand.undo() if back == "undo" else person.hand.key(back)

    person.press((0, 0))
    go_back()
    person.pull((30, 30))
    person.release((30, 30))
    assert not person.hand.busy
    # And while the outline is being closed: it stays open, the first node as it was.
    person.clicks(FIN)
    person.press(FIN[0])
    person.pull((-30, 30))
    go_back()
    person.pull((-60, 60))
    person.release((-60, 60))
    assert bench.design.outlines == ()
    if back == "Escape":
        assert not person.hand.busy
    else:
        assert person.hand.overlay().draft_nodes == tuple(FIN)
        person.hand.key("Return")
        assert bench.design.outline("fin").nodes == tuple(Node(*p) for p in FIN)


def test_another_hand_leaves_the_draft_as_it_is_with_all_its_steps() -> None:
    bench, person = tracing()
    person.clicks(FIN)
    person.hand.key("Backspace")
    person.hand.leave()
    person.hand.go_on()
    assert person.hand.overlay().draft_nodes == tuple(FIN[:3])
    assert person.hand.redo() and person.hand.undo() and person.hand.undo()
    person.click(FIN[2])
    person.hand.key("Return")
    assert places(bench) == FIN[:3]


def test_the_same_place_twice_is_one_node() -> None:
    _, person = tracing()
    person.clicks([(0, 0), (50, 0), (50, 0), (50, 0)])
    assert person.hand.overlay().draft_nodes == ((0, 0), (50, 0))


def test_keys_that_mean_nothing_to_the_draft_are_passed_on() -> None:
    _, person = tracing()
    assert not person.hand.key("Return") and not person.hand.key("Backspace") and not person.hand.key("Left")
    person.click((0, 0))
    assert not person.hand.key("Left")


# Straight and snapped


def test_shift_holds_level_upright_and_45_degrees_to_the_last_node() -> None:
    bench, person = tracing()
    person.click((0, 0), shift=True)
    person.click((100, 7), shift=True)
    person.click((95, 60), shift=True)
    person.click((60, 90), shift=True)
    person.hand.key("Return")
    nodes = places(bench)
    assert nodes[:3] == [(0, 0), (100, 0), (100, 60)]
    dx, dz = nodes[3][0] - 100, nodes[3][1] - 60
    assert dx == pytest.approx(-dz) and math.hypot(dx, dz) == pytest.approx(70 * math.sqrt(0.5))


def test_a_corner_snaps_to_what_is_there_and_ctrl_holds_that_off() -> None:
    bench, person = tracing(box("fuselage", "fuselage", -300, -100, 300, 0))
    person.hover((296, 5))
    shown = person.hand.overlay().snap
    assert shown is not None and (shown.x, shown.z, shown.to) == (300, 0, "node")
    person.click((296, 5))
    person.click((120, 4))
    person.click((60, 4), ctrl=True)
    person.click((90, 80))
    person.hand.key("Return")
    assert places(bench) == [(300, 0), (120, 0), (60, 4), (90, 80)]
    person.hover((296, 5), ctrl=True)
    assert person.hand.overlay().snap is None


# What is shown


def test_length_and_angle_stand_beside_the_cursor_and_close_where_it_would_close() -> None:
    bench, person = tracing()
    person.click((0, 0))
    person.hover((30, 40))
    assert person.hand.overlay().figure == "50.0 mm  53.1°"
    assert not person.hand.overlay().closing
    person.clicks([(120, 0), (60, 90)])
    person.hover((3, 3))
    overlay = person.hand.overlay()
    assert overlay.closing and overlay.figure == "close"
    assert overlay.draft[0] == overlay.draft[-1] == (0, 0)
    assert bench.changes == []


def test_the_line_that_would_close_the_outline_is_not_drawn_while_it_is_open() -> None:
    _, person = tracing()
    person.drag((0, 0), (0, 40))
    person.clicks([(100, 0), (100, 50)])
    person.hover((50, 120))
    draft = person.hand.overlay().draft
    assert draft[0] == (0, 0) and draft[-1] == (50, 120)
    assert person.hand.overlay().draft_nodes == ((0, 0), (100, 0), (100, 50))


# The view may change at any time


def test_panning_and_zooming_in_the_middle_of_a_trace_loses_nothing() -> None:
    bench, person = tracing()
    views = [View(1.0, -100, 400), View(1.0, -40, 350), View(8.0, -10, 40), View(0.25, -900, 900)]
    for view, point in zip(views, FIN, strict=True):
        bench.view = view
        person.click(point)
    bench.view = View(2.0, -50, 150)
    person.click((0.5, 0.5))  # one pixel from the first node
    assert places(bench) == FIN
    still = bench.view
    person.drag((0, 200), (20, 220))
    bench.view = still.panned(-500, 80).zoomed(3, 10, 10)
    assert person.hand.overlay().draft_nodes == ((0, 200),)
    assert person.hand.busy


def test_zooming_between_press_and_release_keeps_the_curve_under_the_hand() -> None:
    bench, person = tracing()
    person.click((0, 0))
    person.press((100, 0))
    person.pull((110, 10))
    bench.view = bench.view.zoomed(4, 50, 50)
    person.pull((120, 30))
    person.release((120, 30))
    person.click((0, 80))
    person.hand.key("Return")
    assert bench.design.outline("fin").nodes[1] == Node(100, 0, (-20, -30), (20, 30))


def test_a_line_traced_there_and_back_is_refused_and_the_draft_stays() -> None:
    bench, person = tracing()
    person.clicks([(0, 0), (20, 150), (60, 450)])
    assert person.hand.key("Return")
    assert bench.design.outlines == () and "runs back on itself" in bench.said[-1]
    assert person.hand.busy
    person.clicks([(160, 450), (120, 0)])
    person.hand.key("Return")
    assert places(bench) == [(0, 0), (20, 150), (60, 450), (160, 450), (120, 0)]
