"""A curved edge takes its smooth run along: signs of its bend, corners, hinge, by dense points."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.design import Design, Node, Outline
from core.geometry.ring import Array, point_on, ring_of
from core.redesign.belonging import with_partners
from core.redesign.outline_edits import is_smooth, move_edge
from core.redesign.stretching import far_side, smooth_run, stretch_of

# A hinge that leans aft by 20 in 160, with a root that falls aft and a tip that rises.
FOOT, TOP = (700.0, 40.0), (720.0, 200.0)
FIN = Outline("fin", "fin", (
    Node(600.0, 30.0), Node(*FOOT), Node(*TOP, handle_in=None, handle_out=(-20.0, 5.0)),
    Node(670.0, 170.0, (15.0, 30.0), (-20.0, -40.0)),
))
RUDDER = Outline("rudder", "rudder", (
    Node(*TOP), Node(*FOOT), Node(765.0, 25.0, None, (16.0, 26.0)),
    Node(790.0, 110.0, (-2.0, -35.0), (2.0, 35.0)), Node(775.0, 208.0, (13.0, -30.0), None),
))
BODY = Outline("body", "fuselage", (Node(0.0, 0.0), Node(800.0, 0.0), Node(800.0, 45.0), Node(0.0, 60.0)))
PAIR = Design(1, "A test", outlines=(BODY, FIN, RUDDER))


def bends(outline: Outline, edges: tuple[int, ...]) -> Array:
    """The signs of the turn along those edges, by 200 chords each."""
    ring = ring_of(outline.nodes)
    places = np.array([point_on(ring, e, t) for e in edges for t in np.linspace(0.0, 0.995, 200)])
    step = np.diff(places, axis=0)
    turn = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    return np.sign(turn[np.abs(turn) > 1e-9])


def off_line(a: Node, b: Node, place: Node) -> float:
    across = (b.x - a.x) * (place.z - a.z) - (b.z - a.z) * (place.x - a.x)
    return abs(across) / math.hypot(b.x - a.x, b.z - a.z)


@pytest.mark.parametrize("edge", [2, 3])
@pytest.mark.parametrize("distance", [-25.0, 4.0, 40.0])
def test_the_trailing_edge_keeps_the_sign_of_its_bend_and_its_corners_stay_on_their_lines(
    edge: int, distance: float
) -> None:
    stretch = stretch_of(PAIR, "rudder", edge, 0.5)
    assert stretch is not None and stretch.what == "rudder"
    after = with_partners(PAIR, stretch.made(distance))
    made = after.outline("rudder")
    assert after.outline("fin") == FIN
    assert made.nodes[:2] == RUDDER.nodes[:2]
    assert is_smooth(made.nodes[3]) and not is_smooth(made.nodes[2]) and not is_smooth(made.nodes[4])
    assert set(bends(made, (2, 3)).tolist()) == set(bends(RUDDER, (2, 3)).tolist()) == {1.0}
    # Root and tip lie on the lines that they lay on.
    assert off_line(RUDDER.nodes[1], RUDDER.nodes[2], made.nodes[2]) < 1e-9
    assert off_line(RUDDER.nodes[0], RUDDER.nodes[4], made.nodes[4]) < 1e-9
    # And the place that was pulled went as far as was said.
    was, now = (point_on(ring_of(o.nodes), edge, 0.5) for o in (RUDDER, made))
    gone = float(np.hypot(*(now - was)))
    assert gone == pytest.approx(abs(distance), rel=0.02)
    # As it was before, one edge alone: a bulge, with bends both ways.
    if distance == 40.0:
        assert set(bends(move_edge(RUDDER, edge, 40.0), (2, 3)).tolist()) == {1.0, -1.0}


@settings(max_examples=30, deadline=None)
@given(st.sampled_from((2, 3)), st.floats(0.05, 0.95), st.floats(-40.0, 60.0))
def test_wherever_the_edge_is_taken_it_stays_fair(edge: int, t: float, distance: float) -> None:
    stretch = stretch_of(PAIR, "rudder", edge, t)
    assert stretch is not None
    made = stretch.made(distance)["rudder"]
    assert set(bends(made, (2, 3)).tolist()) == {1.0}
    assert made.nodes[:2] == RUDDER.nodes[:2]


def test_a_fins_leading_edge_goes_forward_from_the_hinge_and_the_rudder_stays() -> None:
    stretch = stretch_of(PAIR, "fin", 3, 0.5)
    assert stretch is not None and stretch.what == "fin"
    after = with_partners(PAIR, stretch.made(15.0))
    fin = after.outline("fin")
    assert after.outline("rudder") == RUDDER
    assert fin.nodes[1] == FIN.nodes[1]
    assert (fin.nodes[2].x, fin.nodes[2].z) == TOP
    assert fin.nodes[0].x < 590.0 and fin.nodes[3].x < 665.0


def test_a_curved_tip_takes_fin_and_rudder_up_along_the_hinge() -> None:
    stretch = stretch_of(PAIR, "fin", 2, 0.2)
    assert stretch is not None and stretch.what == "fin and rudder, height"
    after = with_partners(PAIR, stretch.made(12.0))
    fin, rudder = after.outline("fin"), after.outline("rudder")
    assert (fin.nodes[2].x, fin.nodes[2].z) == (rudder.nodes[0].x, rudder.nodes[0].z)
    assert fin.nodes[2].z > TOP[1] + 10.0
    assert off_line(Node(*FOOT), Node(*TOP), fin.nodes[2]) < 0.05


def test_the_hinge_and_straight_edges_between_corners_stretch_nothing() -> None:
    assert stretch_of(PAIR, "rudder", 0, 0.5) is None
    assert stretch_of(PAIR, "fin", 1, 0.5) is None
    assert stretch_of(PAIR, "rudder", 1, 0.5) is None
    assert smooth_run(RUDDER, 2) == smooth_run(RUDDER, 3) == (2, 3)
    assert smooth_run(RUDDER, 4) == ()


def test_a_straight_edge_that_a_curve_runs_on_from_belongs_to_its_run() -> None:
    outline = Outline("fin", "fin", (
        Node(0.0, 0.0), Node(80.0, 0.0), Node(80.0, 70.0, None, (0.0, 15.0)), Node(60.0, 100.0, (15.0, 0.0)),
        Node(20.0, 100.0),
    ))
    assert smooth_run(outline, 1) == smooth_run(outline, 3) == (1, 2, 3)
    assert smooth_run(outline, 0) == ()
    stretch = stretch_of(Design(1, "A test", outlines=(outline,)), "fin", 1, 0.5)
    assert stretch is not None
    made = stretch.made(20.0)["fin"]
    # Without a rudder from its own far side, the leading edge: the root runs on, the tip stays level.
    assert (made.nodes[1].x, made.nodes[1].z) == (pytest.approx(80.0 + 20.0 * 80.0 / 73.0), 0.0)
    assert (made.nodes[2].x, made.nodes[2].z) == (pytest.approx(80.0 + 20.0 * 66.0 / 73.0), 70.0)
    assert made.nodes[0] == outline.nodes[0] and made.nodes[4] == outline.nodes[4]


def test_a_shape_that_is_smooth_all_round_is_stretched_from_the_other_side_and_never_turned_over() -> None:
    k = 55.2
    wheel = Outline("wheel", "wheel", (
        Node(100.0, 0.0, (0.0, -k), (0.0, k)), Node(0.0, 100.0, (k, 0.0), (-k, 0.0)),
        Node(-100.0, 0.0, (0.0, k), (0.0, -k)), Node(0.0, -100.0, (-k, 0.0), (k, 0.0)),
    ))
    design = Design(1, "A test", outlines=(wheel,))
    stretch = stretch_of(design, "wheel", 0, 0.01)
    assert stretch is not None
    made = stretch.made(50.0)["wheel"]
    assert all(is_smooth(n) for n in made.nodes) and set(bends(made, (0, 1, 2, 3)).tolist()) == {1.0}
    least = stretch.made(stretch.pulled(-1000.0, 0.0))["wheel"]
    assert set(bends(least, (0, 1, 2, 3)).tolist()) == {1.0}


def test_the_far_side_of_a_swept_shape_is_its_slanting_edge() -> None:
    swept = np.array(((0.0, 0.0), (100.0, 0.0), (110.0, 80.0), (40.0, 80.0)))
    line = far_side(swept, (1.0, 0.0))
    assert line.height(0.0, 0.0) == pytest.approx(0.0) == line.height(40.0, 80.0)
    assert line.height(100.0, 0.0) > 80.0
