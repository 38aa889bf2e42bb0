"""A plug lets in, or takes out, a straight length of fuselage, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from green import exact_moments
from hypothesis import given
from hypothesis import strategies as st
from making import MANY, SOME, box, curved_outline, design_of, traced, trainer
from msgspec.structs import replace

from core.design import LIMIT, Alternative, Design, Mark, Node, Outline, Scan, Station, Weight, Wing
from core.design_check import problems
from core.design_file import read
from core.geometry.ring import nearest_on, ring_of
from core.redesign.cutting import crosses, lengthen, shorten
from core.redesign.outline_edits import EditError
from core.redesign.plug import Keep, fuselage_span, part_kept, plug, plug_preview
from core.stability.side_area import form_of

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_designs").glob("*.sternpost"))


def area(outline: Outline) -> float:
    return abs(exact_moments(ring_of(outline.nodes))[0])


def same_outline(a: Outline, b: Outline, within: float = 1e-6) -> bool:
    """Whether every node and handle of the one is that of the other, wherever the ring begins."""
    if len(a.nodes) != len(b.nodes):
        return False

    def table(outline: Outline) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        return np.array(
            [(n.x, n.z, *(n.handle_in or (0, 0)), *(n.handle_out or (0, 0))) for n in outline.nodes]
        )

    one, other = table(a), table(b)
    return any(np.abs(np.roll(other, k, axis=0) - one).max() <= within for k in range(len(one)))


def strays(a: Outline, b: Outline) -> float:
    """How far any node and mid-edge point of either lies from the other, mm."""
    worst = 0.0
    for one, other in ((ring_of(a.nodes), ring_of(b.nodes)), (ring_of(b.nodes), ring_of(a.nodes))):
        for p in (one.p0, (one.p0 + 3 * one.p1 + 3 * one.p2 + one.p3) / 8):
            worst = max(worst, *(nearest_on(other, float(x), float(z))[2] for x, z in p))
    return worst


@pytest.mark.parametrize("keep", ["front", "aft"])
@pytest.mark.parametrize(("at", "length"), [(100.0, 35.0), (250.5, 0.125), (399.0, 700.0)])
def test_straight_sided_body_grows_by_depth_times_length(keep: Keep, at: float, length: float) -> None:
    design = design_of(box("body", "fuselage", 0, -30, 400, 45))
    plugged = plug(design, at, length, keep=keep)
    # A rectangle cut across: depth × length, exactly.
    assert area(plugged.outlines[0]) - area(design.outlines[0]) == pytest.approx(75.0 * length, rel=1e-12)
    xs = sorted({n.x for n in plugged.outlines[0].nodes})
    assert xs[-1] - xs[0] == pytest.approx(400.0 + length, abs=1e-9)


def test_a_curved_body_grows_by_its_depth_at_the_cut_and_runs_straight_there() -> None:
    oval = curved_outline("body", "fuselage", 200, 10, 400)
    design = design_of(oval)
    at, length = 137.0, 40.0
    plugged = plug(design, at, length, keep="front").outlines[0]
    on = [n for n in plugged.nodes if n.x == at]
    moved = [n for n in plugged.nodes if n.x == at + length]
    assert len(on) == len(moved) == 2
    assert {n.z for n in on} == {n.z for n in moved}
    depth = abs(on[0].z - on[1].z)
    assert area(plugged) - area(oval) == pytest.approx(depth * length, rel=1e-9)
    for node in on:
        k = plugged.nodes.index(node)
        beside = {plugged.nodes[k - 1].x, plugged.nodes[(k + 1) % len(plugged.nodes)].x}
        assert at + length in beside
        # The edge let in has no handle at either end.
        assert node.handle_out is None or node.handle_in is None


def test_halves_of_a_split_curve_lie_on_the_old_curve() -> None:
    oval = curved_outline("body", "fuselage", 200, 10, 400)
    plugged = lengthen(oval, 137.0, 0.0, 40.0)
    back = replace(
        plugged, nodes=tuple(replace(n, x=n.x - 40.0) if n.x > 137.0 + 20.0 else n for n in plugged.nodes)
    )
    # nearest_on finds a curve's parameter to 1/60 000: 0.005 mm on an edge of some 250 mm.
    assert strays(oval, back) < 5e-3
    assert area(back) == pytest.approx(area(oval), rel=1e-12)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
@pytest.mark.parametrize(("at", "length"), [(60.0, 30.0), (180.0, 35.0), (600.0, 120.0), (700.0, 0.5)])
def test_there_and_back_again_on_samples(path: Path, at: float, length: float) -> None:
    design = read(path).design
    there = plug(design, at, length)
    back = plug(there, at, -length)
    assert not problems(there)
    for one, other in zip(design.outlines, back.outlines, strict=True):
        assert same_outline(one, other), one.id
    for a, b in zip(design.weights, back.weights, strict=True):
        assert a.x == pytest.approx(b.x, abs=1e-9)
    assert back.cg_mark == design.cg_mark
    assert back.scans == there.scans == design.scans


@st.composite
def rings(draw: st.DrawFn) -> Outline:
    count = draw(st.integers(3, 9))
    whole = st.integers(-300, 300).map(lambda n: n / 2)
    offset = st.none() | st.tuples(whole.map(lambda v: v / 3), whole.map(lambda v: v / 3))
    nodes = tuple(Node(draw(whole), draw(whole), draw(offset), draw(offset)) for _ in range(count))
    return Outline("body", "fuselage", nodes)


@MANY
@given(rings(), st.integers(-150, 150), st.integers(1, 400), st.sampled_from(("front", "aft")))
def test_there_and_back_again_on_any_ring(ring: Outline, at: int, length: int, keep: Keep) -> None:
    station = at + 0.3
    if not crosses(ring, station):
        return
    front, aft = (-length, 0.0) if keep == "aft" else (0.0, length)
    there = lengthen(ring, station, front, aft)
    strip = (station - length, station) if keep == "aft" else (station, station + length)
    back = shorten(there, *strip, -front, -aft)
    assert back.step <= 1e-6
    # Where the cut ran almost through a node, a node let in may be left: the curve is the same.
    assert same_outline(ring, back.outline) or strays(ring, back.outline) < 5e-3
    assert len(back.outline.nodes) - len(ring.nodes) in (0, 1)
    # Signed, so that what crosses itself is compared too.
    old, new = exact_moments(ring_of(ring.nodes)), exact_moments(ring_of(back.outline.nodes))
    assert np.allclose(old, new, rtol=1e-9, atol=1e-4)


@SOME
@given(rings(), st.integers(-150, 150), st.integers(1, 400))
def test_what_a_ring_gains_is_its_signed_depth_times_the_length(ring: Outline, at: int, length: int) -> None:
    station = at + 0.3
    plugged = lengthen(ring, station, 0.0, float(length))
    let_in = [
        (a, b) for a, b in zip(plugged.nodes, (*plugged.nodes[1:], plugged.nodes[0]), strict=True)
        if {a.x, b.x} == {station, station + length}
    ]
    assert all(a.z == b.z for a, b in let_in)
    # Green's theorem, area = −∮ z dx: each edge along x adds −z times its run.
    gain = sum(-a.z * (b.x - a.x) for a, b in let_in)
    before, after = exact_moments(ring_of(ring.nodes))[0], exact_moments(ring_of(plugged.nodes))[0]
    assert after - before == pytest.approx(gain, rel=1e-9, abs=1e-5)


def test_nodes_elsewhere_keep_their_numbers() -> None:
    design = trainer()
    plugged = plug(design, 600.0, 50.0, keep="front")
    old, new = design.outline("fuselage"), plugged.outline("fuselage")
    assert {n for n in old.nodes if n.x < 400} <= set(new.nodes)
    far = {(n.x + 50.0, n.z) for n in old.nodes if n.x > 800}
    assert far <= {(n.x, n.z) for n in new.nodes}
    for same in ("leg", "wheel", "nacelle"):
        assert plugged.outline(same) is design.outline(same)


def aeroplane() -> Design:
    return replace(
        trainer(),
        weights=(Weight("motor", 150, 30), Weight("battery", 200, 150), Weight("tail", 60, 840)),
        scans=(Scan("plan", "plan.png"),),
        alternatives=(Alternative(id="old", label="as drawn", outlines=trainer().outlines),),
    )


def test_a_plug_in_the_nose_moves_the_nose_and_leaves_wing_and_mark() -> None:
    design = aeroplane()
    assert part_kept(design, 180.0) == "aft"
    plugged = plug(design, 180.0, 40.0)
    assert [w.x for w in plugged.weights] == [-10.0, 110.0, 840.0]
    assert plugged.wings == design.wings and plugged.tailplanes == design.tailplanes
    assert plugged.cg_mark == design.cg_mark
    assert plugged.scans is design.scans and plugged.alternatives is design.alternatives
    assert form_of(plugged.outline("fuselage")).patch.box[0] == pytest.approx(-40.0)


def test_a_plug_behind_the_wing_moves_the_whole_tail() -> None:
    design = aeroplane()
    plugged = plug(design, 600.0, 40.0)
    assert plugged.tailplanes[0].stations[0].le_x == 820.0
    for part in ("fin", "rudder"):
        assert plugged.outline(part).nodes[0].x == design.outline(part).nodes[0].x + 40.0
    assert [w.x for w in plugged.weights] == [30.0, 150.0, 880.0]
    assert plugged.wings == design.wings and plugged.cg_mark == design.cg_mark


def test_wing_and_mark_go_together_when_the_tail_is_to_stay() -> None:
    design = aeroplane()
    plugged = plug(design, 600.0, 40.0, keep="aft")
    assert plugged.wings[0].stations[0].le_x == 210.0
    assert plugged.cg_mark == Mark(280.0, 10.0)
    assert plugged.tailplanes == design.tailplanes


def test_the_mark_stays_with_the_wing_although_it_lies_across_the_cut() -> None:
    design = replace(aeroplane(), cg_mark=Mark(320.0, 10.0))
    # The root's quarter chord lies at 305: the cut runs between it and the mark.
    plugged = plug(design, 310.0, 40.0, keep="front")
    assert plugged.wings == design.wings and plugged.cg_mark == design.cg_mark


def test_twin_nacelles_go_with_the_wing_and_wheels_with_their_legs() -> None:
    plugged = plug(aeroplane(), 315.0, 40.0, keep="aft")
    # Its middle lies at 310, ahead of the cut; the wing's root quarter chord too.
    assert plugged.outline("nacelle").nodes[0].x == 160.0
    # Ahead of the middle, behind the wing's root quarter chord: the wing stays, and they with it.
    assert plug(aeroplane(), 306.0, 40.0).outline("nacelle") == aeroplane().outline("nacelle")
    leg, wheel = (plugged.outline(i).nodes[0].x - aeroplane().outline(i).nodes[0].x for i in ("leg", "wheel"))
    assert leg == wheel == -40.0


def test_no_wheel_is_stretched() -> None:
    design = design_of(
        box("body", "fuselage", 0, -30, 400, 40), curved_outline("wheel", "wheel", 100, -60, 80, count=2)
    )
    plugged = plug(design, 105.0, 30.0, keep="aft")
    assert area(plugged.outline("wheel")) == pytest.approx(area(design.outline("wheel")), rel=1e-12)
    named = plug(design, 105.0, 30.0, keep="aft", cut=("body", "wheel"))
    assert area(named.outline("wheel")) > area(design.outline("wheel")) + 1.0


def test_taking_out_removes_the_strip_and_closes_the_gap() -> None:
    wedge = traced("body", "fuselage", ((0, 0), (400, -20), (400, 20)))
    taken = shorten(wedge, 200.0, 220.0, 0.0, -20.0)
    # The wedge is 20 mm deep at 200 and 22 at 220: 420 mm² gone, a step of 1 mm on either edge.
    assert area(wedge) - area(taken.outline) == pytest.approx(420.0, abs=1e-9)
    assert taken.step == pytest.approx(1.0, abs=1e-12)
    assert form_of(taken.outline).patch.box[2] == 380.0


def refused(design: Design, at: float, length: float, **more: object) -> str:
    with pytest.raises(EditError) as caught:
        plug(design, at, length, **more)  # type: ignore[arg-type]
    assert plug_preview(design, at, length, **more) == str(caught.value)  # type: ignore[arg-type]
    return str(caught.value)


def test_refusals_say_what_to_do() -> None:
    body = design_of(box("body", "fuselage", 0, -30, 400, 40))
    assert "between 0.0 mm and 400.0 mm" in refused(body, 500.0, 10.0)
    assert "ends within" in refused(body, 100.0, -150.0, keep="aft")
    assert "of no length" in refused(body, 100.0, 0.0)
    assert "as numbers" in refused(body, float("nan"), 5.0)
    assert "trace it first" in refused(design_of(), 100.0, 5.0)
    assert "past what a file can hold" in refused(body, 100.0, 2 * LIMIT)
    cone = design_of(traced("body", "fuselage", ((0, 0), (400, -100), (400, 100))))
    assert "a step of" in refused(cone, 100.0, -150.0, keep="front")
    wing = Wing("wing", (Station(0, 150, 100), Station(500, 150, 100)))
    assert "root" in refused(replace(body, wings=(wing,)), 200.0, -60.0, keep="aft")
    assert fuselage_span(body) == (0.0, 400.0)


def test_a_weight_in_the_piece_taken_out_comes_to_the_joint() -> None:
    body = design_of(box("body", "fuselage", 0, -30, 400, 40), weights=(Weight("battery", 200, 190),))
    assert plug(body, 200.0, -50.0, keep="aft").weights[0].x == 200.0
    assert plug(body, 180.0, -50.0, keep="front").weights[0].x == 180.0


def test_an_upright_face_on_the_station_goes_with_the_front() -> None:
    stepped = traced("body", "fuselage", ((0, -30), (400, -30), (400, 20), (200, 20), (200, 40), (0, 40)))
    design = design_of(stepped)
    plugged = plug(design, 200.0, 25.0, keep="front")
    # The step belongs to the front, so that the shallow side is lengthened: 50 mm deep.
    assert area(plugged.outlines[0]) - area(stepped) == pytest.approx(50.0 * 25.0)
    assert same_outline(plug(plugged, 200.0, -25.0, keep="front").outlines[0], stepped)


def test_preview_says_what_is_cut_and_what_moves() -> None:
    found = plug_preview(aeroplane(), 600.0, 40.0)
    assert not isinstance(found, str)
    assert found.cut == ("fuselage",)
    assert set(found.moved) == {"fin", "rudder"}
    assert found.moved_surfaces == ("tailplane",) and found.moved_weights == ("tail",)
    assert found.keep == "front" and found.strip == (600.0, 640.0) and not found.cg_mark_moves
    assert found.words[0] == "40.0 mm let in at 600.0 mm. Cut across: fuselage."
    assert found.design == plug(aeroplane(), 600.0, 40.0)


@pytest.mark.parametrize("make", [aeroplane, trainer])
def test_a_plug_leaves_its_design_alone(make: Callable[[], Design]) -> None:
    design = make()
    plug(design, 600.0, 40.0)
    assert design == make()
