"""A fin typed: what is typed is measured afterwards, by a ruler laid across the flattened outlines."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.design import Design, Node, Outline
from core.design_file import read
from core.geometry.ring import flatten, nearest_on, ring_of
from core.redesign.fin_sizes import FinSizes, fin_ids, new_fin, shape_fin, sizes_of
from core.redesign.outline_edits import EditError, is_smooth

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
BODY = Outline("body", "fuselage", (Node(0.0, 0.0), Node(900.0, 0.0), Node(900.0, 30.0), Node(0.0, 30.0)))
FIN = Outline("fin", "fin", (Node(780.0, 20.0), Node(850.0, 20.0), Node(850.0, 130.0), Node(813.0, 130.0)))
RUDDER = Outline("rudder", "rudder", (
    Node(850.0, 130.0), Node(850.0, 10.0), Node(900.0, 10.0), Node(880.0, 130.0),
))
PLAIN = Design(1, "A test", outlines=(BODY, FIN, RUDDER))
BOTH = ("fin", "rudder")


def across(design: Design, z: float) -> tuple[float, float]:
    """Where a level ruler meets fin and rudder first and last."""
    hits = []
    for name in BOTH:
        corners = flatten(ring_of(design.outline(name).nodes))
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            if (a[1] <= z) != (b[1] <= z):
                hits.append(a[0] + (z - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
    return min(hits), max(hits)


def test_a_trapezium_is_measured_as_anybody_would() -> None:
    # The root is the body's top, at 30, found to 0.01 mm; edges are straight up to 130.
    low, high = across(PLAIN, 30.0 + 1e-9), across(PLAIN, 130.0 - 1e-9)
    sizes = sizes_of(PLAIN, BOTH)
    assert isinstance(sizes, FinSizes)
    assert sizes.height == pytest.approx(100.0, abs=0.011)
    assert sizes.root == pytest.approx(low[1] - low[0], abs=0.02)
    assert sizes.tip == pytest.approx(high[1] - high[0], abs=0.02)
    assert sizes.sweep == pytest.approx(math.degrees(math.atan((high[0] - low[0]) / 100.0)), abs=0.02)
    assert fin_ids(PLAIN, ("rudder",)) == BOTH and fin_ids(PLAIN, ("body", "fin")) == ()


@settings(max_examples=20, deadline=None)
@given(st.floats(60, 220), st.floats(60, 200), st.floats(30, 150), st.floats(-10, 50))
def test_what_is_typed_is_what_it_measures(height: float, root: float, tip: float, sweep: float) -> None:
    made = shape_fin(PLAIN, BOTH, FinSizes(height, root, tip, sweep))
    low, high = across(made, 30.0 + 1e-9), across(made, 30.0 + height - 1e-3)
    assert max(n.z for n in made.outline("fin").nodes) == pytest.approx(30.0 + height, abs=0.011)
    assert low[1] - low[0] == pytest.approx(root, abs=0.02)
    assert high[1] - high[0] == pytest.approx(tip, abs=0.02)
    assert math.degrees(math.atan2(high[0] - low[0], height)) == pytest.approx(sweep, abs=0.03)
    fin, rudder = made.outline("fin"), made.outline("rudder")
    assert (fin.nodes[2].x, fin.nodes[2].z) in [(n.x, n.z) for n in rudder.nodes]
    x = [n.x for n in rudder.nodes if n.z < 31.0]
    assert min(x) == pytest.approx(850.0, abs=0.02), "the hinge's foot stays"


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "long-meadow-2000", "tallow-twin"])
def test_the_samples_curved_fins_come_to_what_is_typed_and_stay_fair(slug: str) -> None:
    design = read(SAMPLES / f"{slug}.sternpost").design
    ids = fin_ids(design, [next(o.id for o in design.outlines if o.kind == "fin")])
    assert len(ids) == 2
    sizes = sizes_of(design, ids)
    assert isinstance(sizes, FinSizes)
    wanted = FinSizes(1.25 * sizes.height, 1.1 * sizes.root, 0.9 * sizes.tip, sizes.sweep + 4.0)
    made = shape_fin(design, ids, wanted)
    now = sizes_of(made, ids)
    assert isinstance(now, FinSizes)
    assert (now.height, now.root, now.tip, now.sweep) == pytest.approx(
        (wanted.height, wanted.root, wanted.tip, wanted.sweep), abs=0.05
    )
    for name in ids:
        old, new = design.outline(name).nodes, made.outline(name).nodes
        assert sum(map(is_smooth, old)) == sum(map(is_smooth, new))
    fin = next(made.outline(i) for i in ids if made.outline(i).kind == "fin")
    rudder = next(made.outline(i) for i in ids if made.outline(i).kind == "rudder")
    for node in fin.nodes[3:5]:
        assert nearest_on(ring_of(rudder.nodes), node.x, node.z)[2] < 0.15


def test_a_new_fin_stands_on_the_body_and_measures_what_was_typed() -> None:
    bare = Design(1, "A test", outlines=(BODY,))
    wanted = FinSizes(120.0, 110.0, 60.0, 25.0)
    made, fin_id = new_fin(bare, wanted)
    now = sizes_of(made, (fin_id,))
    assert isinstance(now, FinSizes)
    assert (now.height, now.root, now.tip, now.sweep) == pytest.approx((120.0, 110.0, 60.0, 25.0), abs=0.01)
    low = min(n.z for n in made.outline(fin_id).nodes)
    assert low < 30.0 and max(n.x for n in made.outline(fin_id).nodes if n.z < 40.0) <= 900.0
    with pytest.raises(EditError, match="fuselage"):
        new_fin(Design(1, "A test"), wanted)
    with pytest.raises(EditError, match="longer than"):
        new_fin(bare, FinSizes(120.0, 2000.0, 60.0, 25.0))
    nan = math.nan
    for bad in ((0.0, 9.0, 9.0, 0.0), (9.0, nan, 9.0, 0.0), (9.0, 9.0, -4.0, 0.0), (9.0, 9.0, 9.0, 89.0)):
        with pytest.raises(EditError, match="has to"):
            new_fin(bare, FinSizes(*bad))
