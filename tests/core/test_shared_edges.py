"""A line along another outline's edges takes their very nodes; settling says what moves."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import Node, Outline
from core.geometry.ring import Array, flatten, ring_of, signed_area
from core.ink.corners import spaced
from core.ink.pulling import Choice, Pull
from core.redesign.outline_edits import EditError
from core.redesign.settling import edge_path, on_ink, path_of, settled, with_edge
from core.redesign.shared_edges import nodes_round, taken_first, with_better

FIN = Outline("fin", "fin", (
    Node(0.0, 0.0), Node(30.0, 95.0, (-8.0, -20.0), (6.0, 9.0)),
    Node(70.0, 104.0, (-9.0, 0.0)), Node(82.0, 0.0),
))
HINGE = (FIN.nodes[2], FIN.nodes[3])


def line(*corners: tuple[float, float]) -> Array:
    return spaced(np.array(corners), 0.3, closed=True)


def rudder_line(off: float = 0.15) -> Array:
    """A loose rudder behind the fin, its hinge side ``off`` mm from the fin's."""
    (ax, az), (bx, bz) = ((n.x, n.z) for n in HINGE)
    return line((ax + off, az - off), (bx + off, bz + off), (120.0, 4.0), (104.0, 101.0))


def has(nodes: tuple[Node, ...], place: Node) -> bool:
    return any((n.x, n.z) == (place.x, place.z) for n in nodes)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("begin", [0, 100, 400])
def test_the_neighbours_hinge_is_taken_bit_for_bit_whichever_way_and_wherever_one_begins(
    turned: bool, begin: int
) -> None:
    points = np.roll(rudder_line()[:: -1 if turned else 1], begin, axis=0)
    nodes = nodes_round(points, [FIN])
    assert all(has(nodes, node) for node in HINGE)
    ring = shapely.Polygon(flatten(ring_of(nodes)))
    true = shapely.Polygon(points)
    assert abs(ring.area / true.area - 1) < 0.006 and ring.is_valid
    shared = ring.boundary.intersection(shapely.LineString([(n.x, n.z) for n in HINGE]))
    assert shared.length == pytest.approx(math.dist((70, 104), (82, 0)), abs=1e-6)
    assert len(nodes) == 4, "the rest is three straight edges"


def test_a_curved_side_is_taken_with_its_handles_and_turned_round_where_one_goes_the_other_way() -> None:
    along = flatten(ring_of(FIN.nodes))
    lead = along[: int(np.flatnonzero((along == (70.0, 104.0)).all(axis=1))[0]) + 1]
    points = spaced(np.vstack((lead + 0.1, ((60.0, 130.0), (-20.0, 130.0), (-30.0, 0.0)))), 0.3, closed=True)
    for run, flip in ((points, False), (points[::-1], True)):
        nodes = nodes_round(run, [FIN])
        (tip,) = (n for n in nodes if (n.x, n.z) == (30.0, 95.0))
        assert (tip.handle_out, tip.handle_in) == (
            ((-8.0, -20.0), (6.0, 9.0)) if flip else ((6.0, 9.0), (-8.0, -20.0))
        )


def test_what_runs_further_off_crosses_or_is_short_is_not_taken() -> None:
    assert not any(has(nodes_round(rudder_line(1.8), [FIN]), node) for node in HINGE)
    gap = nodes_round(rudder_line(0.8), [FIN])
    assert not any(has(gap, node) for node in HINGE), "the other side of a hinge's gap"
    assert all(has(nodes_round(rudder_line(0.45), [FIN]), node) for node in HINGE)
    across = line((-50.0, 40.0), (200.0, 40.0), (200.0, 60.0), (-50.0, 60.0))
    assert not any(has(nodes_round(across, [FIN]), node) for node in FIN.nodes)
    short = Outline("o", "other", (Node(100.0, 101.0), Node(104.0, 101.2), Node(104.0, 120.0)))
    assert not has(nodes_round(rudder_line(), [short]), short.nodes[0])


def test_the_same_shape_once_more_is_fitted_for_itself() -> None:
    again = nodes_round(path_of(FIN) + 0.05, [FIN])
    assert not any(has(again, node) for node in FIN.nodes)
    with pytest.raises(ValueError, match="three points"):
        nodes_round(np.zeros((2, 2)), [])


def test_two_neighbours_give_each_their_side() -> None:
    body = Outline("b", "fuselage", (Node(-100.0, -20.0), Node(82.0, -20.0), Node(82.0, 0.0), Node(0.0, 0.0)))
    loose = line((0.2, 0.1), (30.0, 95.0), (70.1, 104.2), (82.2, 0.1))
    aft = Outline("r", "rudder", (Node(70.0, 104.0), Node(104.0, 101.0), Node(120.0, 4.0), HINGE[1]))
    nodes = nodes_round(loose, [body, aft])
    assert has(nodes, body.nodes[3]) and has(nodes, HINGE[0]) and has(nodes, HINGE[1])


def test_of_two_lines_the_one_that_a_neighbour_has_is_offered_first() -> None:
    own = rudder_line(4.0)
    first = int(np.argmin(np.hypot(*(own - (74.0, 100.0)).T)))
    last = int(np.argmin(np.hypot(*(own - (86.0, 4.0)).T)))
    hinge = spaced(np.array([(n.x, n.z) for n in HINGE]), 0.3)
    pull = Pull(own, (Choice(first, last, hinge),), ())
    taken = taken_first(pull, [FIN])
    assert all(has(nodes_round(taken.points, [FIN]), node) for node in HINGE)
    assert taken_first(taken, [FIN]) is taken, "it stays with it"
    assert taken_first(pull, []) is pull


@pytest.mark.parametrize("turned", [False, True])
def test_a_side_that_ends_midway_on_a_neighbours_edge_lies_on_it_exactly(turned: bool) -> None:
    tall = Outline("r", "rudder", (
        Node(82.0, 104.0), Node(110.0, 90.0), Node(115.0, -30.0), Node(82.0, -30.0),
    ))
    loose = line((0.0, 0.0), (40.0, 104.2), (82.1, 104.1), (82.25, 0.0))
    nodes = nodes_round(loose[:: -1 if turned else 1], [tall])
    assert has(nodes, tall.nodes[0])
    (foot,) = (n for n in nodes if n.x == 82.0 and n.z != 104.0)
    assert abs(foot.z) < 0.8 and len(nodes) == 4
    body = Outline("b", "fuselage", (
        Node(-200.0, 0.0, (0.0, -20.0), (60.0, 30.0)), Node(200.0, 0.0, (-90.0, 30.0), (0.0, -20.0)),
        Node(0.0, -60.0, (50.0, 0.0), (-50.0, 0.0)),
    ))
    top = shapely.LinearRing(flatten(ring_of(body.nodes)))
    height = float(flatten(ring_of(body.nodes))[:, 1].max())
    root = np.array([p for p in top.coords if -20.0 <= p[0] <= 62.0 and p[1] > 0.5 * height])
    root = root[np.argsort(root[:, 0])]
    whole = np.vstack((root + np.array((0.05, 0.15)), ((60.0, 90.0), (20.0, 90.0))))
    nodes = nodes_round(spaced(whole, 0.3, closed=True)[:: -1 if turned else 1], [body])
    on_body = [n for n in nodes if shapely.distance(shapely.Point(n.x, n.z), top) < 1e-3]
    assert len(on_body) == 2
    ring = shapely.Polygon(flatten(ring_of(nodes)))
    assert ring.intersection(shapely.Polygon(top)).area < 0.5 and ring.is_valid


# Settling


def test_what_moves_is_told_by_how_far_where_and_how_much_area() -> None:
    square = Outline("f", "fin", (Node(0, 0), Node(100, 0), Node(100, 100), Node(0, 100)))
    higher = replace(square, nodes=(Node(0, 0), Node(100, 0), Node(100, 101.8), Node(0, 101.8)))
    told = settled(square, higher.nodes)
    assert told.moved == pytest.approx(1.8) and told.where == "top" and told.area == pytest.approx(0.018)
    assert told.words("mm") == "at most 1.8 mm, at the tip; area + 1.8 %"
    assert settled(replace(square, kind="fuselage"), higher.nodes).words("mm").endswith("top; area + 1.8 %")
    less = settled(higher, square.nodes)
    assert "area − 1.8 %" in less.words("mm")
    assert settled(square, square.nodes).still and not told.still
    with pytest.raises(EditError, match="is locked"):
        settled(replace(square, locked=True), higher.nodes)
    with pytest.raises(EditError, match="no area"):
        settled(square, (Node(0, 0), Node(50, 0), Node(100, 0)))


@pytest.mark.parametrize("edge", range(4))
def test_one_edge_on_the_ink_leaves_the_other_nodes_and_their_order(edge: int) -> None:
    path = edge_path(FIN, edge)
    a, b = FIN.nodes[edge], FIN.nodes[(edge + 1) % 4]
    assert tuple(path[0]) == (a.x, a.z) and tuple(path[-1]) == (b.x, b.z)
    nodes = with_edge(FIN, edge, path + np.array((0.4, -0.3)))
    moved = replace(FIN, nodes=nodes)
    assert all(has(nodes, n) for i, n in enumerate(FIN.nodes) if i not in (edge, (edge + 1) % 4))
    first = nodes[0]
    assert math.dist((first.x, first.z), (FIN.nodes[0].x, FIN.nodes[0].z)) <= 0.5 + 1e-9
    assert signed_area(ring_of(nodes)) == pytest.approx(signed_area(ring_of(FIN.nodes)), rel=0.01)
    assert settled(FIN, moved.nodes).moved == pytest.approx(0.5, abs=0.15)


def test_settling_takes_the_nearer_of_two_lines_and_leaves_what_has_no_ink() -> None:
    path = path_of(FIN)
    out = path + np.array((0.0, 1.0))
    bare = (100, 200)
    pull = Pull(out.copy(), (Choice(300, 320, path[300:321]),), (bare,))
    points = on_ink(pull, path, closed=True)

    def off(part: Array, line: Array) -> float:
        return float(shapely.distance(shapely.points(part), shapely.LineString(line)).max())

    assert off(points[300:321], path[300:321]) < 1e-6, "the other line is the nearer one"
    assert off(points[120:180], path) < 0.05, "no ink there"
    assert np.array_equal(points[:100], out[:100])
    steps = np.hypot(*np.diff(points[95:206], axis=0).T)
    assert float(steps.max()) < 1.0, "it goes there step by step"
    level = spaced(np.array(((0.0, 0.0), (50.0, 0.0))), 0.5)
    raised = Pull(level + np.array((0.0, 2.0)), (Choice(10, 20, level[10:21]),), ())
    assert off(on_ink(raised, level, closed=False)[10:21], level) < 1e-6


def test_the_better_of_two_lines_is_taken_choice_by_choice() -> None:
    level = spaced(np.array(((0.0, 0.0), (50.0, 0.0))), 0.5)
    low = level - np.array((0.0, 3.0))
    both = (Choice(10, 30, low[10:31]), Choice(60, 70, low[60:71]))
    asked: list[int] = []

    def better(own: Array, other: Array) -> bool:
        asked.append(len(other))
        return len(other) == 21

    taken = with_better(Pull(level, both, ()), better)
    assert asked == [21, 11]
    assert float(taken.points[15:25, 1].max()) == -3.0 and float(taken.points[62:68, 1].min()) == 0.0
