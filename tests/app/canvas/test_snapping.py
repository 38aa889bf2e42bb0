"""Snapping to nodes and edges, and holding a direction."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from plain_bench import box, curved_outline

from app.canvas.snapping import SNAP_PX, Snap, held_straight, snap
from app.canvas.view import View
from core.design import Design, Outline

SOME = settings(max_examples=60)
VIEWS = [View(0.2, -500, 900), View(1.0, -60, 300), View(12.0, -20, 80)]


def design_of(*outlines: Outline) -> Design:
    return Design(format=1, title="A test", outlines=outlines)


@pytest.mark.parametrize("view", VIEWS)
def test_a_point_is_drawn_to_a_node_or_else_an_edge_within_reach_on_the_screen(view: View) -> None:
    px = 1 / view.scale
    design = design_of(box("fin", "fin", 0, 0, 300 * px, 300 * px))
    assert snap(design, view, -(SNAP_PX - 0.1) * px, 0) == Snap(0, 0, "node")
    far = (-(SNAP_PX + 0.1) * px, 0.0)
    assert snap(design, view, *far) == Snap(*far, "free")
    found = snap(design, view, 100 * px, 5 * px)
    assert (found.x, found.z) == pytest.approx((100 * px, 0)) and found.to == "edge"
    # A node within reach wins over an edge that is nearer.
    assert snap(design, view, 8 * px, 1 * px) == Snap(0, 0, "node")


def test_the_nearest_node_and_the_nearest_edge_win() -> None:
    view = View(1.0, 0, 300)
    design = design_of(box("a", "fin", 0, 0, 100, 100), box("b", "rudder", 106, 0, 200, 100))
    assert snap(design, view, 102, 0) == Snap(100, 0, "node")
    assert snap(design, view, 104, 0) == Snap(106, 0, "node")
    assert snap(design, view, 104, 50) == Snap(106, 50, "edge")


def test_a_point_drawn_to_a_curve_lies_on_it() -> None:
    wheel = curved_outline("w", "wheel", 0, 0, 200)
    found = snap(design_of(wheel), View(1.0, -200, 200), 75, 37)
    assert found.to == "edge"
    # By symmetry of the handles the curve is near the ellipse of half axes 100 and 50 (0.55 against 0.5523).
    assert (found.x / 100) ** 2 + (found.z / 50) ** 2 == pytest.approx(1, abs=0.01)


def test_hidden_outlines_and_what_is_left_out_do_not_draw_and_locked_ones_do() -> None:
    view, fin = View(1.0, 0, 300), box("fin", "fin", 0, 0, 100, 100)
    assert snap(design_of(replace(fin, hidden=True)), view, 1, 1).to == "free"
    assert snap(design_of(replace(fin, locked=True)), view, 1, 1).to == "node"
    assert snap(design_of(fin), view, 1, 1, leave_out=("fin",)).to == "free"


def test_a_dragged_node_is_drawn_to_other_nodes_of_its_outline_but_not_to_its_own_edges() -> None:
    view, design = View(1.0, 0, 300), design_of(box("fin", "fin", 0, 0, 100, 100))
    assert snap(design, view, 1, 1, leave_out_nodes={("fin", 0)}).to == "free"
    assert snap(design, view, 99, 1, leave_out_nodes={("fin", 0)}) == Snap(100, 0, "node")
    assert snap(design, view, 50, 1, leave_out_nodes={("fin", 0)}).to == "free"


@pytest.mark.parametrize(
    ("to", "held"),
    [((50, 3), (50, 0)), ((-50, 3), (-50, 0)), ((4, 70), (0, 70)), ((4, -70), (0, -70)), ((0, 0), (0, 0))],
)
def test_level_and_upright_are_exact(to: tuple[float, float], held: tuple[float, float]) -> None:
    assert held_straight(10 + to[0], 20 + to[1], 10, 20) == (10 + held[0], 20 + held[1])


@SOME
@given(st.floats(-900, 900), st.floats(-900, 900))
def test_a_held_direction_is_a_multiple_of_45_degrees_and_the_nearest_point_on_it(x: float, z: float) -> None:
    hx, hz = held_straight(x, z, 0, 0)
    assert min(abs(hx), abs(hz), abs(abs(hx) - abs(hz))) == pytest.approx(0, abs=1e-9)
    gap = math.hypot(x - hx, z - hz)
    # Half of 45° away at most, and square to the line.
    assert gap <= math.hypot(x, z) * math.sin(math.radians(22.5)) + 1e-9
    assert (x - hx) * hx + (z - hz) * hz == pytest.approx(0, abs=1e-6)
