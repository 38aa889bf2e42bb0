"""Edits of one outline, against what plane geometry says they must do."""

from __future__ import annotations

import math

import pytest
from green import exact_moments
from hypothesis import given
from hypothesis import strategies as st
from making import SOME, box, curved_outline, nodes, traced

from core.design import Node, Outline
from core.geometry.ring import point_on, ring_of
from core.redesign import outline_edits as edits

FIN = ((100, 20), (220, 20), (190, 120), (140, 120))
outlines = st.lists(nodes(), min_size=3, max_size=6).map(lambda n: Outline("o", "fin", tuple(n)))
distances = st.integers(-2560, 2560).map(lambda n: n / 64)


def moments(outline: Outline) -> tuple[float, float, float]:
    return exact_moments(ring_of(outline.nodes))


def area(outline: Outline) -> float:
    return abs(moments(outline)[0])


def turned_round(outline: Outline) -> Outline:
    """The same outline gone round the other way."""
    return Outline(
        outline.id, outline.kind,
        tuple(Node(n.x, n.z, n.handle_out, n.handle_in) for n in reversed(outline.nodes)),
    )


def same_place(one: Outline, other: Outline, within: float = 1e-9) -> bool:
    def flat(o: Outline) -> list[float]:
        return [v for n in o.nodes for v in (n.x, n.z, *(n.handle_in or ()), *(n.handle_out or ()))]

    return flat(one) == pytest.approx(flat(other), abs=within)


# Moving an edge


RECTANGLE = box("f", "fin", 10, 5, 70, 45)


@pytest.mark.parametrize("shape", [RECTANGLE, turned_round(RECTANGLE)])
@pytest.mark.parametrize("edge", range(4))
@pytest.mark.parametrize("distance", [7.5, -3.25, 0.0])
def test_a_rectangle_grows_by_length_times_distance_whichever_way_it_was_traced(
    shape: Outline, edge: int, distance: float
) -> None:
    a, b = shape.nodes[edge], shape.nodes[(edge + 1) % 4]
    length = math.dist((a.x, a.z), (b.x, b.z))
    moved = edits.move_edge(shape, edge, distance)
    assert area(moved) - area(shape) == pytest.approx(length * distance, abs=1e-9)


@pytest.mark.parametrize("shape", [traced("f", "fin", FIN), turned_round(traced("f", "fin", FIN))])
def test_the_normal_has_length_one_is_square_to_the_edge_and_points_out(shape: Outline) -> None:
    _, about_x, about_z = (v / moments(shape)[0] for v in moments(shape))
    for edge in range(4):
        a, b = shape.nodes[edge], shape.nodes[(edge + 1) % 4]
        nx, nz = edits.edge_normal(shape, edge)
        assert math.hypot(nx, nz) == pytest.approx(1)
        assert nx * (b.x - a.x) + nz * (b.z - a.z) == pytest.approx(0, abs=1e-9)
        # The fin is convex: outwards is away from its centroid.
        assert nx * ((a.x + b.x) / 2 - about_x) + nz * ((a.z + b.z) / 2 - about_z) > 0


def test_the_trailing_edge_of_a_fin_moved_aft_makes_the_chord_longer_by_as_much() -> None:
    moved = edits.move_edge(box("f", "fin", 0, 0, 70, 100), 1, 12)
    assert [(n.x, n.z) for n in moved.nodes] == [(0, 0), (82, 0), (82, 100), (0, 100)]


@SOME
@given(outlines, st.integers(0, 5), distances)
def test_moving_an_edge_by_nothing_is_nothing_and_back_again_comes_back(
    outline: Outline, edge: int, distance: float
) -> None:
    edge %= len(outline.nodes)
    assert edits.move_edge(outline, edge, 0.0) == outline
    nx, nz = edits.edge_normal(outline, edge)
    there = edits.move_edge(outline, edge, distance)
    ends = {edge, (edge + 1) % len(outline.nodes)}
    assert same_place(edits.move_nodes(there, ends, -nx * distance, -nz * distance), outline)
    # The very edit taken back too, as long as the outline was not turned inside out on the way.
    if edits.edge_normal(there, edge) == pytest.approx((nx, nz)):
        assert same_place(edits.move_edge(there, edge, -distance), outline)


def test_an_edge_without_length_has_no_normal_and_stays() -> None:
    outline = traced("f", "fin", ((0, 0), (0, 0), (50, 0), (50, 50)))
    assert edits.edge_normal(outline, 0) == (0, 0)
    assert edits.move_edge(outline, 0, 10) == outline


# Bending


@SOME
@given(outlines, st.integers(0, 5), st.floats(0.15, 0.85), distances, distances)
def test_a_bent_edge_passes_through_the_point_that_was_moved(
    outline: Outline, edge: int, t: float, dx: float, dz: float
) -> None:
    edge %= len(outline.nodes)
    before = point_on(ring_of(outline.nodes), edge, t)
    bent = edits.bend_edge(outline, edge, t, dx, dz)
    after = point_on(ring_of(bent.nodes), edge, t)
    assert tuple(after) == pytest.approx((before[0] + dx, before[1] + dz), abs=1e-9)
    assert [(n.x, n.z) for n in bent.nodes] == [(n.x, n.z) for n in outline.nodes]


@pytest.mark.parametrize("t", [0.0, 0.02, 0.98, 1.0])
def test_bending_close_to_a_node_does_not_throw_the_handles_far_away(t: float) -> None:
    bent = edits.bend_edge(box("f", "fin", 0, 0, 60, 40), 0, t, 0, -5)
    held = min(max(t, 0.15), 0.85)
    assert tuple(point_on(ring_of(bent.nodes), 0, held)) == pytest.approx((60 * held, -5))
    assert max(math.hypot(*h) for n in bent.nodes for h in (n.handle_in, n.handle_out) if h) < 30


# Inserting and deleting


@SOME
@given(outlines, st.integers(0, 5), st.floats(0.0, 1.0))
def test_a_node_let_in_changes_nothing_that_can_be_measured(outline: Outline, edge: int, t: float) -> None:
    edge %= len(outline.nodes)
    ring = ring_of(outline.nodes)
    more = edits.insert_node(outline, edge, t)
    assert len(more.nodes) == len(outline.nodes) + 1
    # Gross sizes: areas up to 400 mm square, moments a further 400 mm out.
    assert moments(more)[0] == pytest.approx(moments(outline)[0], abs=1e-9 * 400**2)
    assert moments(more)[1:] == pytest.approx(moments(outline)[1:], abs=1e-9 * 400**3)
    new = more.nodes[edge + 1]
    assert (new.x, new.z) == pytest.approx(tuple(point_on(ring, edge, t)), abs=1e-9)
    # The halves run along the old curve: parameter s of the first is t s of the whole.
    halves = ring_of(more.nodes)
    for s in (0.25, 0.5, 0.75):
        assert tuple(point_on(halves, edge, s)) == pytest.approx(tuple(point_on(ring, edge, t * s)), abs=1e-9)
        assert tuple(point_on(halves, edge + 1, s)) == pytest.approx(
            tuple(point_on(ring, edge, t + (1 - t) * s)), abs=1e-9
        )


def test_a_node_let_into_a_straight_edge_has_no_handles_and_one_in_a_curve_is_smooth() -> None:
    straight = edits.insert_node(box("f", "fin", 0, 0, 60, 40), 3, 0.25)
    assert straight.nodes[4] == Node(0.0, 30.0)
    curved = edits.insert_node(curved_outline("w", "wheel", 0, 0, 80), 1, 0.4)
    assert edits.is_smooth(curved.nodes[2])


def test_an_inserted_node_deleted_from_a_straight_edge_leaves_the_outline_as_it_was() -> None:
    outline = traced("f", "fin", FIN)
    assert edits.delete_nodes(edits.insert_node(outline, 2, 0.3), [3]) == outline


def test_too_few_nodes_are_refused_in_one_sentence_that_names_the_outline() -> None:
    fin = box("f", "fin", 0, 0, 60, 40, label="Fin")
    assert len(edits.delete_nodes(fin, [2]).nodes) == 3
    with pytest.raises(edits.EditError) as refused:
        edits.delete_nodes(fin, [0, 2])
    assert str(refused.value) == (
        '"Fin" would have 2 nodes left; an outline needs three: delete the whole outline instead'
    )


def test_two_nodes_may_stay_where_one_has_a_handle() -> None:
    wheel = curved_outline("w", "wheel", 0, 0, 80)
    assert len(edits.delete_nodes(wheel, [1, 3]).nodes) == 2
    with pytest.raises(edits.EditError, match="1 nodes left"):
        edits.delete_nodes(wheel, [1, 2, 3])


# Corners, curves, handles


def test_smooth_handles_lie_along_the_neighbours_a_third_of_each_edge_long() -> None:
    made = edits.make_smooth(traced("f", "fin", ((0, 0), (90, 0), (90, 60), (0, 60))), [1])
    node = made.nodes[1]
    assert edits.is_smooth(node)
    along = (90 / math.hypot(90, 60), 60 / math.hypot(90, 60))
    assert node.handle_out == pytest.approx((20 * along[0], 20 * along[1]))
    assert node.handle_in == pytest.approx((-30 * along[0], -30 * along[1]))
    assert edits.make_corner(made, [1]) == box("f", "fin", 0, 0, 90, 60)


def test_all_corners_at_once_and_the_outline_is_straight() -> None:
    straight = edits.make_corner(curved_outline("w", "wheel", 0, 0, 80), range(4))
    assert area(straight) == pytest.approx(2 * 40 * 20)  # a rhombus of half axes 40 and 20


def test_two_nodes_keep_their_last_curve() -> None:
    lens = edits.delete_nodes(curved_outline("w", "wheel", 0, 0, 80, label="Wheel"), [1, 3])
    once = edits.make_corner(lens, [0])
    with pytest.raises(edits.EditError, match="insert a third node first"):
        edits.make_corner(once, [1])


@SOME
@given(st.floats(-60, 60), st.floats(-60, 60), st.sampled_from(("in", "out")))
def test_the_other_handle_of_a_smooth_node_turns_with_the_moved_one(
    x: float, z: float, side: edits.Side
) -> None:
    wheel = curved_outline("w", "wheel", 0, 0, 80)
    before = wheel.nodes[0]
    after = edits.move_handle(wheel, 0, side, (x, z)).nodes[0]
    moved, other = after.handle_in, after.handle_out
    if side == "out":
        moved, other = other, moved
    old = before.handle_out if side == "in" else before.handle_in
    assert old is not None and other is not None
    if math.hypot(x, z) <= 1e-9:
        assert moved is None and other == old
        return
    assert moved == (x, z)
    assert math.hypot(*other) == pytest.approx(math.hypot(*old))
    assert other[0] * z - other[1] * x == pytest.approx(0, abs=1e-6)
    assert other[0] * x + other[1] * z < 0


def test_a_handle_moved_alone_or_at_a_corner_leaves_the_other_where_it_is() -> None:
    wheel = curved_outline("w", "wheel", 0, 0, 80)
    alone = edits.move_handle(wheel, 0, "out", (10, 10), alone=True)
    assert alone.nodes[0].handle_in == wheel.nodes[0].handle_in
    assert not edits.is_smooth(alone.nodes[0])
    again = edits.move_handle(alone, 0, "in", (-3, 8))
    assert again.nodes[0].handle_out == (10, 10)


# Wholes


def test_a_fin_scaled_from_its_root_keeps_the_root_edge_on_its_line() -> None:
    fin = traced("f", "fin", FIN)
    root = edits.root_of([fin])
    assert root == (160, 20)
    big = edits.scale_about(fin, root, 1.5, 1.25)
    assert [n.z for n in big.nodes[:2]] == [20, 20]
    assert big.nodes[0].x + big.nodes[1].x == pytest.approx(2 * 160)
    assert area(big) == pytest.approx(1.5 * 1.25 * area(fin))


def test_a_fin_and_its_rudder_share_one_root() -> None:
    fin, rudder = box("f", "fin", 700, 40, 760, 160), box("r", "rudder", 760, 36, 800, 160)
    assert edits.root_of([fin, rudder]) == ((700 + 800) / 2, 36)
    # What sits high up, a tip plate say, does not pull the root aside.
    assert edits.root_of([fin, rudder, box("t", "tip plate", 700, 155, 900, 160)]) == (750, 36)


@SOME
@given(outlines, distances, st.sampled_from(("x", "z")))
def test_mirrored_twice_is_where_it_was_and_once_has_the_same_area_the_other_way(
    outline: Outline, at: float, axis: str
) -> None:
    once = edits.mirror(outline, axis, at)  # type: ignore[arg-type]
    assert moments(once)[0] == pytest.approx(-moments(outline)[0], abs=1e-6)
    assert same_place(edits.mirror(once, axis, at), outline)  # type: ignore[arg-type]


@SOME
@given(outlines, distances, distances)
def test_a_moved_outline_keeps_its_area_and_its_handles(outline: Outline, dx: float, dz: float) -> None:
    moved = edits.translate(outline, dx, dz)
    a, mx, mz = moments(outline)
    assert moments(moved) == pytest.approx((a, mx + a * dx, mz + a * dz), rel=1e-9, abs=1e-3)
    assert [(n.handle_in, n.handle_out) for n in moved.nodes] == [
        (n.handle_in, n.handle_out) for n in outline.nodes
    ]


def test_an_edit_leaves_the_outline_that_it_started_from_untouched() -> None:
    fin = box("f", "fin", 0, 0, 60, 40)
    kept = box("f", "fin", 0, 0, 60, 40)
    edits.move_edge(fin, 1, 5), edits.insert_node(fin, 0, 0.5), edits.place_node(fin, 2, 1, 1)
    assert fin == kept
    assert edits.place_node(fin, 2, 1, 1).nodes[2] == Node(1, 1)


# Kind and label


@pytest.mark.parametrize(("label", "wanted"), [
    ("Rudder", "Pylon"), ("Rudder 2", "Pylon"), ("Rudder 12", "Pylon"),
    ("rudder", "rudder"), ("Rudder, upper", "Rudder, upper"), ("Rudder two", "Rudder two"),
    ("Fin", "Fin"), ("", ""),
])  # fmt: skip
def test_a_label_follows_the_kind_unless_it_was_typed(label: str, wanted: str) -> None:
    changed = edits.change_kind(box("r", "rudder", 0, 0, 10, 10, label=label), "pylon")
    assert (changed.kind, changed.label) == ("pylon", wanted)


def test_a_label_that_follows_is_one_that_no_other_outline_has() -> None:
    rudder = box("r", "rudder", 0, 0, 10, 10, label="Rudder 2")
    assert edits.change_kind(rudder, "pylon", {"Pylon"}).label == "Pylon 2"
    assert edits.change_kind(rudder, "pylon", {"Pylon", "pylon 2"}).label == "Pylon 3"
    assert edits.change_kind(rudder, "gear leg", {"Pylon"}).label == "Gear leg"
    # Of its own kind it keeps what it is called.
    assert edits.change_kind(rudder, "rudder", set()) == rudder


def test_there_and_back_an_outline_is_called_as_before() -> None:
    rudder = box("r", "rudder", 0, 0, 10, 10, label="Rudder")
    back = edits.change_kind(edits.change_kind(rudder, "ventral fin"), "rudder")
    assert back == rudder
