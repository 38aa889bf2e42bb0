"""What lies under the cursor: node before handle before edge before body, nearest wins."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from plain_bench import box, curved_outline, small_aeroplane, traced

from app.canvas.hits import EDGE_PX, HANDLE_PX, NODE_PX, Hit, hit, shown_handles
from app.canvas.view import View
from app.work.selection import NOTHING, Selection
from core.design import Design, Node, Outline
from core.outline_form import form_of

VIEWS = [View(0.1, -500, 900), View(1.0, -60, 300), View(17.5, -20, 80)]


def design_of(*outlines: Outline) -> Design:
    return Design(format=1, title="A test", outlines=outlines)


def under(
    design: Design, view: View, x: float, z: float, right: float = 0, down: float = 0,
    selection: Selection = NOTHING, bodies: bool = True,
) -> Hit | None:
    """The hit so many pixels right of and below a point in mm."""
    px, py = view.to_px(x, z)
    return hit(design, view, selection, px + right, py + down, bodies=bodies)


@pytest.mark.parametrize("view", VIEWS)
def test_reach_is_in_pixels_of_the_screen_whatever_the_zoom(view: View) -> None:
    side = 200 / view.scale  # large enough that nothing else is near
    design = design_of(box("fin", "fin", 0, 0, side, side))
    assert under(design, view, 0, 0, right=-(NODE_PX - 0.1)) == Hit("node", "fin", 0)
    assert under(design, view, 0, 0, right=-(NODE_PX + 0.1)) is None
    edge = under(design, view, side / 2, 0, down=EDGE_PX - 0.1)
    assert edge is not None and (edge.kind, edge.index) == ("edge", 0) and edge.t == pytest.approx(0.5)
    assert under(design, view, side / 2, 0, down=EDGE_PX + 0.1) is None
    body = under(design, view, side / 2, 0, down=-(EDGE_PX + 0.1))
    assert body == Hit("body", "fin")


@pytest.mark.parametrize("view", VIEWS)
def test_the_reach_of_a_handle_too(view: View) -> None:
    s = 1 / view.scale
    nodes = (Node(0, 0, None, (50 * s, -80 * s)), Node(200 * s, 0), Node(200 * s, 200 * s))
    design = design_of(Outline("fin", "fin", nodes))
    chosen = Selection(("fin",))
    assert under(design, view, 50 * s, -80 * s, down=HANDLE_PX - 0.1, selection=chosen) == Hit(
        "handle", "fin", 0, side="out"
    )
    assert under(design, view, 50 * s, -80 * s, down=HANDLE_PX + 0.1, selection=chosen) is None
    assert under(design, view, 50 * s, -80 * s) is None  # handles are there only where selected


def test_node_before_handle_before_edge_before_body() -> None:
    view = View(1.0, 0, 400)
    # A handle 7 px from the next node, on an edge; each is nearest to its own spot.
    nodes = (Node(0, 0, None, (93, 0)), Node(100, 0), Node(100, 100), Node(0, 100))
    design = design_of(Outline("fin", "fin", nodes), box("back", "fuselage", -200, -200, 400, 300))
    chosen = Selection(("fin",))
    assert under(design, view, 94, 0, selection=chosen) == Hit("node", "fin", 1)
    assert under(design, view, 91, 0, selection=chosen) == Hit("handle", "fin", 0, side="out")
    at = under(design, view, 84, 1, selection=chosen)
    assert at is not None and at.kind == "edge" and at.outline == "fin"
    assert under(design, view, 50, 50, selection=chosen) == Hit("body", "fin")
    assert under(design, view, 50, 50, selection=chosen, bodies=False) is None


def test_the_nearest_of_several_wins_even_over_what_is_selected() -> None:
    view = View(1.0, 0, 400)
    design = design_of(box("a", "fin", 0, 0, 100, 100), box("b", "rudder", 106, 0, 200, 100))
    for selection in (NOTHING, Selection(("a",)), Selection(("b",))):
        assert under(design, view, 102, 0, selection=selection) == Hit("node", "a", 1)
        assert under(design, view, 104, 0, selection=selection) == Hit("node", "b", 0)
        for x, owner in ((102, "a"), (104, "b")):
            edge = under(design, view, x, 50, selection=selection)
            assert edge is not None and (edge.kind, edge.outline) == ("edge", owner)


def test_on_a_tie_the_selected_comes_first_and_else_the_topmost() -> None:
    view = View(1.0, 0, 400)
    design = design_of(box("a", "fin", 0, 0, 100, 100), box("b", "rudder", 100, 0, 200, 100))
    for selection, owner in ((NOTHING, "b"), (Selection(("a",)), "a"), (Selection(("b",)), "b")):
        node = under(design, view, 100, 0, selection=selection)
        edge = under(design, view, 100, 50, selection=selection)
        assert node is not None and edge is not None
        assert (node.outline, edge.outline) == (owner, owner)
    twins = design_of(box("a", "fin", 0, 0, 100, 100), box("b", "fin", 0, 0, 100, 100))
    for selection, owner in ((NOTHING, "b"), (Selection(("a",)), "a")):
        assert under(twins, view, 50, 50, selection=selection) == Hit("body", owner)


def test_a_canopy_is_within_reach_on_a_fuselage_whatever_is_selected() -> None:
    view = View(1.0, 0, 400)
    canopy, fuselage = box("canopy", "canopy", 100, 60, 200, 90), box("fuselage", "fuselage", 0, 0, 800, 100)
    for outlines in ((canopy, fuselage), (fuselage, canopy)):
        for selection in (NOTHING, Selection(("fuselage",))):
            assert under(design_of(*outlines), view, 150, 75, selection=selection) == Hit("body", "canopy")


@pytest.mark.parametrize("fields", [{"locked": True}, {"hidden": True}])
def test_locked_and_hidden_outlines_are_passed_over(fields: dict[str, bool]) -> None:
    view, fin = View(1.0, 0, 400), box("fin", "fin", 0, 0, 100, 100)
    design = design_of(box("back", "fuselage", -50, -50, 300, 300), replace(fin, **fields))
    for x, z in ((0, 0), (50, 0), (50, 50)):
        assert under(design, view, x, z, selection=Selection(("fin",))) == Hit("body", "back")


def test_the_inside_of_a_hole_is_outside() -> None:
    view = View(1.0, 0, 400)
    # Traced in one stroke round the rim and round the hole: by the even-odd rule the middle is empty.
    ring = traced("ring", "other", (
        (0, 0), (200, 0), (200, 200), (0, 200), (0, 0), (60, 60), (60, 140), (140, 140), (140, 60), (60, 60),
    ))
    assert under(design_of(ring), view, 100, 100) is None
    assert under(design_of(ring), view, 30, 100) == Hit("body", "ring")


def test_handles_show_where_selected_and_on_few_nodes() -> None:
    wheel = curved_outline("w", "wheel", 0, 0, 80)
    assert shown_handles(wheel, Selection(("w",))) == [0, 1, 2, 3]
    assert shown_handles(wheel, Selection(("w",), frozenset({("w", 2)}))) == [2]
    assert shown_handles(wheel, Selection(("w",), edge=("w", 3))) == [0, 3]
    many = replace(wheel, nodes=wheel.nodes * 5)
    assert shown_handles(many, Selection(("w",))) == []


def test_nothing_is_hit_where_nothing_is() -> None:
    view = View(1.0, 0, 400)
    assert under(small_aeroplane(), view, 400, 380) is None
    assert under(design_of(), view, 0, 0) is None


def test_a_place_lies_in_an_outline_as_a_filled_drawing_shows_it() -> None:
    """Against the library's filling, for bodies that cross themselves too; seeded places."""
    draw = np.random.default_rng(3)
    for count in (3, 5, 8):
        nodes = tuple(Node(float(x), float(z)) for x, z in draw.uniform(-50, 50, (count, 2)))
        form = form_of(Outline("o", "other", nodes))
        for x, z in draw.uniform(-60, 60, (200, 2)):
            assert form.holds(x, z) == bool(shapely.contains_xy(form.patch.region, x, z))
    square = form_of(Outline("s", "other", tuple(Node(x, z) for x, z in ((0, 0), (9, 0), (9, 4), (0, 4)))))
    assert square.enclosed == 36.0 and form_of(Outline("n", "other", ())).holds(0.0, 0.0) is False
