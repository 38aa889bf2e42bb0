"""Fin and rudder share their hinge: the same numbers in both, whatever is moved of one."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

from core.design import Design, Node, Outline
from core.design_file import read
from core.geometry.ring import nearest_on, ring_of
from core.redesign.belonging import is_shared, joined, nodes_with, whole_group, with_partners
from core.redesign.outline_edits import move_edge, move_handle, move_nodes

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
FIN = Outline("fin", "fin", (Node(0.0, 0.0), Node(60.0, 0.0), Node(66.0, 100.0), Node(30.0, 100.0)))
# Its hinge runs on below the fin's foot, and begins at its own first node, the other way round.
RUDDER = Outline("rudder", "rudder", (
    Node(66.0, 100.0), Node(58.8, -20.0), Node(90.0, -20.0), Node(95.0, 95.0),
))
PAIR = Design(1, "A test", outlines=(FIN, RUDDER))


def place(design: Design, outline_id: str, index: int) -> tuple[float, float]:
    node = design.outline(outline_id).nodes[index]
    return node.x, node.z


def off_the_rudder(design: Design, index: int) -> float:
    x, z = place(design, "fin", index)
    return nearest_on(ring_of(design.outline("rudder").nodes), x, z)[2]


def test_the_hinge_top_moved_takes_the_other_along_from_either_side() -> None:
    for one, index, other, mate in (("fin", 2, "rudder", 0), ("rudder", 0, "fin", 2)):
        made = with_partners(PAIR, {one: move_nodes(PAIR.outline(one), [index], 3.3, 7.7)})
        assert place(made, one, index) == place(made, other, mate) == (66.0 + 3.3, 107.7)
        assert off_the_rudder(made, 1) < 1e-9, "the fin's foot stays on the rudder's line"


def test_the_fins_foot_leads_the_rudders_longer_line_which_stays_straight() -> None:
    made = with_partners(PAIR, {"fin": move_nodes(FIN, [1], -4.0, 0.0)})
    rudder = made.outline("rudder")
    assert len(rudder.nodes) == 4 and place(made, "rudder", 0) == (66.0, 100.0)
    assert off_the_rudder(made, 1) < 1e-9
    # Along the line itself nothing else has to move.
    along = (0.06, 1.0)
    made = with_partners(PAIR, {"fin": move_nodes(FIN, [1], 5 * along[0], 5 * along[1])})
    assert place(made, "rudder", 1) == pytest.approx((58.8, -20.0), abs=1e-9)


def test_the_hinge_edge_moved_takes_all_of_the_line_along() -> None:
    made = with_partners(PAIR, {"fin": move_edge(FIN, 1, -6.0)})
    assert place(made, "rudder", 0) == place(made, "fin", 2)
    assert off_the_rudder(made, 1) < 1e-9
    assert math.dist(place(made, "rudder", 1), (58.8, -20.0)) == pytest.approx(6.0)
    back = with_partners(PAIR, {"rudder": move_edge(RUDDER, 0, 6.0)})
    assert place(back, "rudder", 0) == place(back, "fin", 2) and off_the_rudder(back, 1) < 1e-9


def test_the_rudders_foot_moved_along_leaves_the_fins_where_it_is() -> None:
    made = with_partners(PAIR, {"rudder": move_nodes(RUDDER, [1, 2], -0.6, -10.0)})
    assert place(made, "fin", 1) == pytest.approx((60.0, 0.0), abs=1e-9)


def test_a_node_let_into_the_hinge_of_one_is_let_into_the_other_when_it_moves() -> None:
    kinked = replace(FIN, nodes=(*FIN.nodes[:2], Node(63.0, 50.0), *FIN.nodes[2:]))
    design = replace(PAIR, outlines=(kinked, RUDDER))
    made = with_partners(design, {"fin": move_nodes(kinked, [2], 5.0, 0.0)})
    assert Node(68.0, 50.0) in made.outline("rudder").nodes and len(made.outline("rudder").nodes) == 5


def test_what_was_moved_by_hand_in_both_takes_the_numbers_of_the_first() -> None:
    near = replace(RUDDER, nodes=(Node(66.3, 100.1), *RUDDER.nodes[1:]))
    design = replace(PAIR, outlines=(FIN, near))
    made = with_partners(design, {
        "rudder": move_nodes(near, [0], 1.0, 1.0), "fin": move_nodes(FIN, [2], 1.0, 1.0),
    })
    assert place(made, "rudder", 0) == place(made, "fin", 2) == (67.3, 101.1)


def test_a_hinge_that_bends_bends_alike_in_both() -> None:
    bent = Node(60.0, 0.0, None, (5.0, 30.0)), Node(66.0, 100.0, (5.0, -30.0))
    fin = replace(FIN, nodes=(FIN.nodes[0], *bent, FIN.nodes[3]))
    rudder = Outline("rudder", "rudder", (
        Node(66.0, 100.0, None, (5.0, -30.0)), Node(60.0, 0.0, (5.0, 30.0), None),
        Node(90.0, 0.0), Node(95.0, 95.0),
    ))
    design = Design(1, "A test", outlines=(fin, rudder))
    made = with_partners(design, {"fin": move_handle(fin, 1, "out", (9.0, 40.0))})
    assert made.outline("rudder").nodes[1].handle_in == (9.0, 40.0)
    made = with_partners(design, {"rudder": move_handle(rudder, 0, "out", (-3.0, -25.0))})
    assert made.outline("fin").nodes[2].handle_in == (-3.0, -25.0)


def test_what_does_not_belong_together_stays_apart() -> None:
    for other in (
        replace(RUDDER, kind="fin"), replace(RUDDER, count=2), replace(RUDDER, locked=True),
        replace(RUDDER, hidden=True), move_nodes(RUDDER, range(4), 2.0, 0.0),
    ):
        design = replace(PAIR, outlines=(FIN, other))
        assert joined(design, FIN) == []
        made = with_partners(design, {"fin": move_nodes(FIN, [1, 2], 5.0, 5.0)})
        assert made.outline("rudder") is other
    assert whole_group(PAIR, ["fin"]) == ("fin", "rudder")
    assert nodes_with(PAIR, {("fin", 2)}) == {("fin", 2), ("rudder", 0), ("rudder", -1)}
    assert is_shared(PAIR, FIN, 1) and is_shared(PAIR, RUDDER, 0) and not is_shared(PAIR, RUDDER, 1)


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "long-meadow-2000", "tallow-twin"])
def test_of_every_sample_the_hinge_can_be_moved_from_either_side(slug: str) -> None:
    design = read(SAMPLES / f"{slug}.sternpost").design
    fin = next(o for o in design.outlines if o.kind == "fin")
    rudder = next(o for o in design.outlines if o.kind == "rudder")
    for one, edge in ((fin, 3), (rudder, len(rudder.nodes) - 1)):
        assert is_shared(design, one, edge)
        made = with_partners(design, {one.id: move_edge(one, edge, 5.0)})
        f, r = made.outline(fin.id), made.outline(rudder.id)
        assert (f.nodes[3].x, f.nodes[3].z) == (r.nodes[0].x, r.nodes[0].z)
        foot = f.nodes[4]
        assert nearest_on(ring_of(r.nodes), foot.x, foot.z)[2] < 0.1
