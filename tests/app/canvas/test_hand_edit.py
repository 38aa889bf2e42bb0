"""The editing hand, by plain events."""

from __future__ import annotations

import pytest
from green import exact_moments
from msgspec.structs import replace
from plain_bench import box, changed, curved_outline, editing, grip, places, small_aeroplane

from app.canvas.tools.edit import scale_grip
from app.work.selection import NOTHING, Selection
from core.design import Design, Mark, Node, Outline, Weight
from core.geometry.ring import ring_of

ALL_FIN_NODES = frozenset({("fin", i) for i in range(4)})


# Edges


def test_the_trailing_edge_dragged_aft_makes_the_chord_longer_and_says_what_grows() -> None:
    # The fin runs from x 650 to 720: its edge 1 is the trailing edge.
    bench, person = editing()
    person.press((720, 110))
    person.pull((725, 118))
    assert person.hand.overlay().figure == "fin +5.0 mm"
    assert bench.document.busy and bench.document.undo_name is None
    person.pull((745, 130))
    assert person.hand.overlay().figure == "fin +25.0 mm"
    person.release((745, 130))
    assert places(bench) == [(650, 60), (745, 60), (745, 160), (650, 160)]
    assert bench.document.undo_name == "drag fin edge" and person.hand.overlay().figure == ""
    bench.document.undo()
    assert bench.design == small_aeroplane() and bench.document.undo_name is None


def test_an_edge_dragged_inwards_says_what_shrinks_and_an_inch_builder_reads_inches() -> None:
    bench, person = editing(display_units="in64")
    person.press((720, 110), ctrl=True)
    person.pull((720 - 12.7, 110), ctrl=True)
    assert person.hand.overlay().figure == "fin −1/2 in"
    assert bench.document.busy


def test_escape_in_the_middle_of_a_drag_puts_everything_back() -> None:
    bench, person = editing()
    person.press((720, 110))
    person.pull((750, 110))
    assert bench.design != small_aeroplane()
    assert person.hand.key("Escape")
    assert bench.design == small_aeroplane() and bench.document.undo_name is None
    # The button is still down; going on moving and letting go does nothing more.
    person.pull((760, 110))
    person.release((760, 110))
    assert bench.design == small_aeroplane() and not person.hand.busy and not bench.document.dirty


def test_less_than_three_pixels_is_a_click_that_selects() -> None:
    bench, person = editing()
    person.drag((720, 110), (721.5, 111))
    assert bench.selection == Selection(("fin",)) and not bench.document.dirty


def test_alt_bends_the_edge_through_the_cursor_and_its_ends_stay() -> None:
    bench, person = editing()
    person.drag((720, 110), (740, 115), alt=True)
    fin = bench.design.outline("fin")
    assert places(bench) == [(650, 60), (720, 60), (720, 160), (650, 160)]
    a, b = fin.nodes[1], fin.nodes[2]
    assert a.handle_out is not None and b.handle_in is not None
    # Middle of a cubic: (P0 + 3 P1 + 3 P2 + P3)/8.
    x = (a.x + 3 * (a.x + a.handle_out[0]) + 3 * (b.x + b.handle_in[0]) + b.x) / 8
    z = (a.z + 3 * (a.z + a.handle_out[1]) + 3 * (b.z + b.handle_in[1]) + b.z) / 8
    assert (x, z) == pytest.approx((740, 115))
    assert bench.document.undo_name == "bend fin edge"


def test_a_dragged_edge_stops_at_another_outlines_node_and_ctrl_holds_that_off() -> None:
    beside = Design(format=1, title="A test", outlines=(
        box("fin", "fin", 0, 0, 70, 100),
        Outline("mark", "other", (Node(105, 50), Node(160, 20), Node(160, 80))),
    ))
    bench, person = editing(beside)
    person.press((70, 50))
    person.pull((101, 50))
    shown = person.hand.overlay().snap
    assert shown is not None and (shown.x, shown.z) == (105, 50)
    assert places(bench)[1] == (105, 0)
    person.pull((101, 50), ctrl=True)
    assert person.hand.overlay().snap is None and places(bench)[1] == (101, 0)


# Nodes


def test_a_node_is_dragged_and_selected() -> None:
    bench, person = editing()
    person.drag((720, 160), (700, 190))
    assert places(bench)[2] == (700, 190)
    assert bench.selection == Selection(("fin",), frozenset({("fin", 2)}))
    assert bench.document.undo_name == "move node"


def test_a_node_snaps_to_another_outlines_node_unless_ctrl_or_shift_holds_it() -> None:
    for keys, place in (({}, (730, 160)), ({"ctrl": True}, (728, 163)), ({"shift": True}, (728, 160))):
        bench, person = editing()
        person.drag((720, 160), (728, 163), **keys)
        assert places(bench)[2] == place


def test_several_nodes_move_together_even_of_two_outlines() -> None:
    bench, person = editing()
    person.click((720, 160))
    person.click((730, 160), shift=True)
    person.drag((720, 160), (720, 180), ctrl=True)
    assert places(bench)[2] == (720, 180) and places(bench, "rudder")[3] == (730, 180)
    assert bench.document.undo_name == "move nodes"
    person.click((730, 180), shift=True)
    assert bench.selection.nodes == {("fin", 2)}
    # A click on one of several picks that one.
    bench.select(Selection(("fin", "rudder"), frozenset({("fin", 2), ("rudder", 3)})))
    person.click((730, 180))
    assert bench.selection == Selection(("rudder",), frozenset({("rudder", 3)}))


def test_a_handle_is_dragged_where_it_shows_and_its_partner_turns_with_it() -> None:
    design = Design(format=1, title="A test", outlines=(curved_outline("wheel", "wheel", 0, 0, 200),))
    bench, person = editing(design)
    assert design.outlines[0].nodes[1].handle_out == pytest.approx((-55, 0))
    bench.select(Selection(("wheel",)))
    person.drag((-55, 50), (-40, 90))
    node = bench.design.outline("wheel").nodes[1]
    assert node.handle_out == pytest.approx((-40, 40))
    assert node.handle_in == pytest.approx((55 * 0.5**0.5, -55 * 0.5**0.5))
    assert bench.document.undo_name == "move handle"
    person.drag((-40, 90), (-60, 50), alt=True)
    node = bench.design.outline("wheel").nodes[1]
    assert node.handle_out == pytest.approx((-60, 0))
    assert node.handle_in == pytest.approx((55 * 0.5**0.5, -55 * 0.5**0.5))


# Wholes


def test_the_inside_moves_only_what_is_selected() -> None:
    bench, person = editing()
    person.drag((685, 110), (705, 130))
    assert not bench.document.dirty and not bench.selection.outlines
    person.click((685, 110))
    assert bench.selection == Selection(("fin",))
    person.drag((685, 110), (705, 130))
    assert places(bench) == [(670, 80), (740, 80), (740, 180), (670, 180)]
    assert bench.document.undo_name == "move outline"
    person.drag((700, 100), (750, 107), shift=True)
    assert places(bench)[0] == (720, 80)


def test_shift_click_adds_and_takes_away_outlines_and_a_click_on_nothing_selects_nothing() -> None:
    bench, person = editing()
    person.click((685, 110))
    person.click((750, 110), shift=True)
    assert bench.selection == Selection(("fin", "rudder"))
    person.drag((750, 110), (750, 120))
    assert places(bench)[0] == (650, 70) and places(bench, "rudder")[0] == (730, 70)
    person.click((685, 115), shift=True)
    assert bench.selection == Selection(("rudder",))
    person.click((685, 380), shift=True)
    assert bench.selection == Selection(("rudder",))
    person.click((685, 380))
    assert bench.selection == NOTHING


def test_with_shift_a_drag_is_held_straight_and_only_a_click_changes_the_selection() -> None:
    bench, person = editing()
    bench.select(Selection(("fin",)))
    person.drag((720, 110), (735, 125), shift=True)
    assert places(bench)[1] == (735, 60) and bench.selection == Selection(("fin",))
    bench.select(Selection(("fin",), frozenset({("fin", 2), ("fin", 3)})))
    person.drag((735, 160), (738, 190), shift=True)
    assert places(bench)[2:] == [(735, 190), (650, 190)]
    assert bench.selection.nodes == {("fin", 2), ("fin", 3)}
    person.click((735, 120), shift=True)
    assert bench.selection == NOTHING


def test_a_rubber_band_takes_the_nodes_in_it_and_escape_gives_back_what_was_selected() -> None:
    bench, person = editing()
    person.press((640, 200))
    person.pull((740, 150))
    assert person.hand.overlay().band == ((640, 200), (740, 150))
    person.pull((780, 150))
    person.release((780, 150))
    assert bench.selection == Selection(
        ("fin", "rudder"), frozenset({("fin", 2), ("fin", 3), ("rudder", 2), ("rudder", 3)})
    )
    assert person.hand.overlay().band is None and not bench.document.dirty and bench.changes == []
    # Shift adds to it.
    person.drag((640, 70), (660, 50), shift=True)
    assert len(bench.selection.nodes) == 5
    before = bench.selection
    person.press((200, 300))
    person.pull((210, 290))
    assert bench.selection == NOTHING
    person.hand.key("Escape")
    assert bench.selection == before and not person.hand.busy


@pytest.mark.parametrize("fields", [{"locked": True}, {"hidden": True}])
def test_what_is_locked_or_hidden_is_not_touched_by_mouse_or_key(fields: dict[str, bool]) -> None:
    bench, person = editing()
    changed(bench, "fin", **fields)
    kept = bench.design.outline("fin")
    for start, end in (((720, 160), (700, 190)), ((650, 110), (640, 110)), ((685, 110), (600, 130))):
        person.drag(start, end)
    person.double_click((650, 110))
    person.drag((640, 170), (655, 50))
    assert ("fin", 0) not in bench.selection.nodes
    # Selected in the list, together with what is free.
    both = ("fin", "rudder")
    for selection in (Selection(both), Selection(both, ALL_FIN_NODES | {("rudder", 2), ("rudder", 1)})):
        bench.select(selection)
        person.hand.key("Right")
        person.drag((750 + 1, 110), (760, 120), ctrl=True)
        bench.select(selection)
        person.hand.key("Delete")
        assert bench.design.outline("fin") == kept
        while bench.document.undo_name not in (None, "set"):
            bench.document.undo()
    for selection in (Selection(("fin",)), Selection(("fin",), ALL_FIN_NODES)):
        bench.select(selection)
        assert not person.hand.key("Right")
        assert person.hand.key("Delete")
        assert "locked or hidden" in bench.said[-1]
        assert bench.design.outline("fin") == kept


def test_nodes_dragged_with_nodes_of_a_locked_outline_go_alone() -> None:
    bench, person = editing()
    bench.select(Selection(("fin", "rudder"), frozenset({("fin", 2), ("rudder", 3)})))
    changed(bench, "fin", locked=True)
    person.drag((730, 160), (740, 190), ctrl=True)
    assert places(bench)[2] == (720, 160) and places(bench, "rudder")[3] == (740, 190)


# The grip


def test_the_grip_scales_from_the_root_which_stays_on_its_line() -> None:
    bench, person = editing()
    bench.select(Selection(("fin",)))
    start = grip(bench)
    # From the middle of the root (685, 60) the grip's corner (720, 160) lies (35, 100) away: twice that.
    person.press(start, ctrl=True)
    person.pull((start[0] + 35, start[1] + 100))
    assert person.hand.overlay().figure == "200.0 % from the root"
    person.release((start[0] + 35, start[1] + 100))
    assert places(bench) == [(615, 60), (755, 60), (755, 260), (615, 260)]
    assert bench.document.undo_name == "scale from the root"


def test_shift_on_the_grip_changes_the_height_alone_and_it_never_turns_the_fin_inside_out() -> None:
    bench, person = editing()
    bench.select(Selection(("fin",)))
    start = grip(bench)
    person.press(start, shift=True)
    person.pull((start[0] + 80, start[1] + 50), shift=True)
    assert person.hand.overlay().figure == "height 150.0 %"
    assert places(bench) == [(650, 60), (720, 60), (720, 210), (650, 210)]
    for keys in ({"shift": True}, {}):
        person.pull((start[0] - 900, start[1] - 900), **keys)
        area = exact_moments(ring_of(bench.design.outline("fin").nodes))[0]
        assert 0 < area < 7000
    person.release((start[0] - 900, start[1] - 900))


def test_fin_and_rudder_selected_together_scale_about_one_root() -> None:
    bench, person = editing()
    bench.select(Selection(("fin", "rudder")))
    start = grip(bench)
    person.drag(start, (start[0] + 60, start[1] + 100))
    # Root: the middle of x 650 to 770 at z 60.
    assert places(bench) == [(590, 60), (730, 60), (730, 260), (590, 260)]
    assert places(bench, "rudder") == [(750, 60), (830, 60), (830, 260), (750, 260)]


def test_there_is_no_grip_while_nodes_are_picked_or_all_is_locked() -> None:
    bench, _ = editing()
    assert scale_grip(bench.design, NOTHING) is None
    assert scale_grip(bench.design, Selection(("fin",), frozenset({("fin", 0)}))) is None
    changed(bench, "fin", locked=True)
    assert scale_grip(bench.design, Selection(("fin",))) is None


# The CG mark


def test_the_cg_mark_is_dragged_by_as_much_as_the_hand_moves() -> None:
    bench, person = editing()
    person.press((304, 7))
    person.pull((324, 27))
    assert person.hand.overlay().figure == "CG 320.0 mm (+20.0 mm)"
    person.release((324, 27))
    assert bench.design.cg_mark == Mark(320, 30) and bench.document.undo_name == "move CG mark"
    person.drag((320, 30), (350, 36), shift=True)
    assert bench.design.cg_mark == Mark(350, 30)


def test_a_cg_from_the_weights_has_no_mark_to_drag() -> None:
    bench, person = editing(cg_from="weights", weights=(Weight("battery", 100, 500),))
    person.drag((300, 10), (330, 10))
    assert bench.design.cg_mark == Mark(300, 10) and bench.design.cg_from == "weights"


# What is under the cursor


def test_the_cursor_tells_what_a_press_would_take() -> None:
    bench, person = editing()
    for point, shape in (
        ((720, 160), "node"), ((720, 110), "edge"), ((685, 110), "arrow"), ((685, 380), "arrow"),
        ((300, 10), "move"),
    ):
        person.hover(point)
        assert person.hand.cursor() == shape
    bench.select(Selection(("fin",)))
    for point in ((685, 110), grip(bench)):
        person.hover(point)
        assert person.hand.cursor() == "move"


def test_the_hint_follows_what_is_selected_and_done() -> None:
    bench, person = editing()
    hints = [person.hand.hint()]
    bench.select(Selection(("fin",)))
    hints.append(person.hand.hint())
    bench.select(Selection(("fin",), frozenset({("fin", 0)})))
    hints.append(person.hand.hint())
    person.press((720, 110))
    person.pull((740, 110))
    hints.append(person.hand.hint())
    assert len(set(hints)) == 4 and "Escape" in hints[-1] and "grip" in hints[1]


# Scans


@pytest.mark.parametrize("locked", [True, False])
def test_an_unlocked_scan_is_moved_alone_where_nothing_lies_on_it(locked: bool) -> None:
    plan = replace(small_aeroplane().scans[0], locked=locked)
    bench, person = editing(scans=(plan,))
    bench.scan_sizes = {"plan": (2000.0, 1200.0)}
    person.drag((500, 320), (520, 310))
    if locked:
        assert not bench.document.dirty
        return
    assert bench.design.scan("plan").to_mm == ((0.5, 0, -30.0), (0, -0.5, 340.0), (0, 0, 1))
    assert bench.design.outlines == small_aeroplane().outlines and bench.document.undo_name == "move scan"
    person.drag((500, -600), (520, -610))  # beside the paper
    assert bench.document.undo_name == "move scan"
    bench.document.undo()
    assert bench.document.undo_name is None
