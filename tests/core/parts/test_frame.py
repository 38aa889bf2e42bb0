"""Flat frames: sticks measured by hand, by counting places, and by laws that any fin keeps."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import Build, Design, Node, Outline, Section, Station, Tailplane
from core.design_build import Ribs, Spar, Strip, Thickness
from core.parts.frame import frame
from core.parts.hinge_edge import hinge_faces, relief
from core.parts.part import Part
from core.parts.plan import Plan
from core.parts.planform import plan_of
from tests.core.making import box, design_of, traced

BUILD = Build(
    "tail", ("fin", "rudder"), way="frame", thickness=Thickness(6.0, 6.0, "flat"), hinge_gap=0.5,
    ribs=Ribs(40.0, None, 3.0, "balsa-medium", False, False), leading_edge=Strip(6.0, None, "balsa-hard"),
    trailing_edge=Strip(8.0, None, "balsa-medium"), spars=(Spar(0.3, (4.0, 4.0), None, "spruce"),),
)
PLATE = box("fin", "fin", 0, 0, 100, 160)
SWEPT = design_of(
    traced("fin", "fin", ((0, 0), (90, 0), (120, 150), (70, 150))),
    traced("rudder", "rudder", ((90, 0), (140, 0), (160, 150), (120, 150))),
)
ROUND = design_of(Outline("fin", "fin", (
    Node(0, 0), Node(120, 0, None, (0.0, 110.0)), Node(60, 200, (33.0, 0.0), (-33.0, 0.0)),
    Node(0, 0, (0.0, 110.0), None),
)))


def made(design: Design, build: Build = BUILD) -> tuple[list[Part], list[str]]:
    plan = plan_of(design, build)
    assert isinstance(plan, Plan), plan
    return frame(design, plan)


def seen(parts: list[Part]) -> list[shapely.Polygon]:
    return [shapely.Polygon(part.places[0]) for part in parts if part.role != "tab"]


def one(parts: list[Part], name: str) -> Part:
    (found,) = (part for part in parts if part.name == name)
    return found


def no_two_overlap(parts: list[Part]) -> None:
    for (p, one), (q, other) in combinations(zip(parts, seen(parts), strict=True), 2):
        assert shapely.intersection(one, other).area < 1e-6, (p.name, q.name)


def covers_the_edge(design: Design, build: Build, parts: list[Part], within: float) -> None:
    """Every place on the true edge of every panel lies on a stick's edge, and no stick reaches past it."""
    plan = plan_of(design, build)
    assert isinstance(plan, Plan)
    wood = shapely.unary_union(seen(parts))
    for panel in plan.panels:
        region = shapely.transform(panel.region, plan.place)
        edge = shapely.segmentize(region.exterior, 1.0)  # type: ignore[attr-defined]
        places = shapely.points(shapely.get_coordinates(edge))
        assert shapely.distance(places, wood).max() <= within
        own = shapely.unary_union([s for s in seen(parts) if shapely.contains_xy(region, *_inside(s))])
        assert shapely.difference(own, shapely.buffer(region, within)).area < 1e-6


def _inside(polygon: shapely.Polygon) -> tuple[float, float]:
    point = polygon.representative_point()
    return point.x, point.y


def test_a_rectangles_sticks_are_mitred() -> None:
    build = replace(BUILD, of=("fin",), spars=(), ribs=None, diagonals=False)
    parts, faults = made(design_of(PLATE), build)
    assert faults == []
    edge = {part.name.removeprefix("fin: "): part for part in parts}
    # Outer and inner length of each, by its width: a mitred stick is a trapezium.
    assert edge["leading edge"].volume == pytest.approx((160 + 148) / 2 * 6 * 6, rel=1e-6)
    assert edge["trailing edge"].volume == pytest.approx((160 + 148) / 2 * 8 * 6, rel=1e-6)
    assert edge["root"].volume == edge["tip"].volume == pytest.approx((100 + 86) / 2 * 6 * 6, rel=1e-6)
    assert (edge["leading edge"].length, edge["leading edge"].width) == pytest.approx((160.0, 6.0))
    assert edge["leading edge"].grams == pytest.approx(154 * 36 * 220e-6, rel=1e-6)
    assert edge["leading edge"].x == pytest.approx(_trapezium_middle(160, 148, 6), rel=1e-6)
    # Without ribs there is one bay, with two gussets at its root.
    assert sorted(part.role for part in parts) == ["gusset"] * 2 + ["stick"] * 4


def _trapezium_middle(a: float, b: float, high: float) -> float:
    return high / 3 * (a + 2 * b) / (a + b)


def test_a_frame_has_spar_ribs_and_diagonals_cut_to_length() -> None:
    parts, faults = made(design_of(PLATE), replace(BUILD, of=("fin",)))
    assert faults == []
    spar = one(parts, "fin: spar")
    # 30 % of 100 mm, from the root stick to the tip stick.
    assert (spar.length, spar.width, spar.thick) == pytest.approx((148.0, 4.0, 6.0))
    assert spar.x == pytest.approx(30.0)
    rib = one(parts, "fin: rib 1, behind")
    # From the spar's rear at 32 to the trailing edge's front at 92; the first rib above the root at 40.
    assert (rib.length, rib.width) == pytest.approx((60.0, 3.0))
    assert (rib.x, rib.z) == pytest.approx((62.0, 40.0))
    diagonal = one(parts, "fin: diagonal 2, behind")
    # It falls from the spar at 78.5 to the trailing edge at 41.5, and fills its bay's corners.
    assert diagonal.volume == pytest.approx(_across_a_bay(60.0, 37.0, 3.0) * 6, rel=1e-6)
    assert diagonal.length <= math.hypot(60, 37) + 1e-6


def _across_a_bay(long: float, high: float, wide: float) -> float:
    """A strip along a rectangle's diagonal, within the rectangle: all of it but two triangles."""
    run = math.hypot(long, high)
    short = 1 - (wide / 2) * run / (long * high)
    return long * high * (1 - short**2)


@pytest.mark.parametrize("design", [SWEPT, ROUND], ids=["swept", "round"])
def test_no_two_sticks_overlap_and_the_edge_is_true(design: Design) -> None:
    build = BUILD if len(design.outlines) > 1 else replace(BUILD, of=("fin",))
    parts, faults = made(design, build)
    assert faults == []
    assert len({part.id for part in parts}) == len(parts)
    no_two_overlap(parts)
    covers_the_edge(design, build, parts, 1e-3)


def test_a_bent_edge_is_laminated_to_its_own_length() -> None:
    parts, _ = made(ROUND, replace(BUILD, of=("fin",)))
    bent = [part for part in parts if "laminated" in part.name]
    assert {part.name.split(": ")[1].split(",")[0].rstrip(" 12") for part in bent} >= {
        "leading edge", "trailing edge", "tip",
    }
    for part in bent:
        assert part.width == (8.0 if "trailing" in part.name else 6.0)
    # All round the curve, by its chords between ten thousand places on it.
    t = np.linspace(0.0, 1.0, 10_001)[:, None]
    half = np.hypot(*np.diff(
        (1 - t) ** 3 * np.array((120, 0)) + 3 * (1 - t) ** 2 * t * np.array((120, 110))
        + 3 * (1 - t) * t**2 * np.array((93, 200)) + t**3 * np.array((60, 200)), axis=0,
    ).T).sum()
    assert sum(part.length for part in bent) == pytest.approx(2 * half, rel=1e-4)


def test_what_a_frame_weighs_by_counting_places() -> None:
    """Half a millimetre apart: each place in one stick at most, and as many as the wood's area."""
    parts, _ = made(ROUND, replace(BUILD, of=("fin",)))
    xs, zs = np.meshgrid(np.arange(-40.25, 140, 0.5), np.arange(-0.25, 205, 0.5))
    hits = np.zeros(xs.size, dtype=int)
    grams = 0.0
    density = {"balsa-hard": 220.0, "balsa-medium": 150.0, "spruce": 400.0}
    for part, polygon in zip(parts, seen(parts), strict=True):
        inside = shapely.contains_xy(polygon, xs.ravel(), zs.ravel())
        hits += inside
        grams += inside.sum() * 0.25 * 6 * density[part.material] * 1e-6
    assert hits.max() == 1
    assert sum(part.grams for part in parts) == pytest.approx(grams, rel=4e-3)
    x = sum(part.grams * part.x for part in parts) / sum(part.grams for part in parts)
    assert 45 < x < 70


def test_the_hinge_edge_comes_off_the_sticks_behind_it() -> None:
    parts, _ = made(SWEPT)
    plan = plan_of(SWEPT, BUILD)
    assert isinstance(plan, Plan)
    rudder = plan.panels[1]
    (face,) = hinge_faces(plan, rudder, 6.0)
    whole = relief(face, rudder.region)
    assert whole is not None
    off = sum(part.area * part.thick - part.volume for part in parts if part.name.startswith("rudder"))
    assert off == pytest.approx(whole.volume, rel=1e-6)
    post = one(parts, "rudder: hinge post, bevelled 25° both sides")
    assert post.area * 6 - post.volume > 0.9 * whole.volume


def scaled(design: Design, by: float, mirror: bool = False) -> Design:
    way = -1.0 if mirror else 1.0

    def node(n: Node) -> Node:
        reach = [h and (way * by * h[0], by * h[1]) for h in (n.handle_in, n.handle_out)]
        return Node(way * by * n.x + 500, by * n.z + 40, *reach)

    return replace(design, outlines=tuple(
        replace(o, nodes=tuple(node(n) for n in o.nodes)) for o in design.outlines
    ))


@pytest.mark.parametrize("design", [SWEPT, ROUND], ids=["swept", "round"])
def test_twice_as_large_is_eight_times_the_wood(design: Design) -> None:
    build = BUILD if len(design.outlines) > 1 else replace(BUILD, of=("fin",))
    double = replace(
        build, hinge_gap=1.0, thickness=Thickness(12.0, 12.0, "flat"),
        ribs=Ribs(80.0, None, 6.0, "balsa-medium", False, False),
        leading_edge=Strip(12.0, None, "balsa-hard"), trailing_edge=Strip(16.0, None, "balsa-medium"),
        spars=(Spar(0.3, (8.0, 8.0), None, "spruce"),),
    )
    small, large = made(design, build)[0], made(scaled(design, 2.0), double)[0]
    # A curve is flattened to a hundredth of a millimetre at either size.
    assert sum(p.grams for p in large) == pytest.approx(8 * sum(p.grams for p in small), rel=2e-4)
    assert len(large) == len(small)


def test_a_sticks_place_moves_with_the_fin() -> None:
    here, away = made(SWEPT)[0], made(scaled(SWEPT, 1.0))[0]
    for p, q in zip(here, away, strict=True):
        assert q.grams == pytest.approx(p.grams, rel=1e-6)
        assert (q.x - p.x, q.z - p.z) == pytest.approx((500.0, 40.0), abs=1e-4)


def test_a_closed_slot_is_kept_clear_between_two_ribs() -> None:
    plane = Tailplane(
        "tailplane", (Station(0, 25, 45, 80), Station(200, 25, 45, 80)), section=Section(0.2)
    )
    design = design_of(PLATE, tailplanes=(plane,))
    build = replace(BUILD, of=("fin",))
    parts, _ = made(design, build)
    slot = shapely.box(25, 75.5, 70, 84.5)
    assert all(shapely.intersection(slot, s).area < 1e-6 for s in seen(parts))
    no_two_overlap(parts)
    covers_the_edge(design, build, parts, 1e-3)
    tops = {round(float(s.bounds[1]), 3) for s in seen(parts)}
    bottoms = {round(float(s.bounds[3]), 3) for s in seen(parts)}
    assert 84.5 in tops
    assert 75.5 in bottoms
    spars = [part.name for part in parts if "spar" in part.name]
    assert spars == ["fin: spar, piece 1", "fin: spar, piece 2"]


def test_an_open_slot_has_sticks_round_it() -> None:
    plane = Tailplane("tailplane", (Station(0, 60, 80, 80), Station(200, 60, 80, 80)))
    design = design_of(PLATE, tailplanes=(plane,))
    build = replace(BUILD, of=("fin",))
    parts, _ = made(design, build)
    no_two_overlap(parts)
    covers_the_edge(design, build, parts, 1e-3)


def test_what_a_frame_cannot_be() -> None:
    bare = replace(BUILD, leading_edge=None, trailing_edge=None)
    assert len([f for f in made(SWEPT, bare)[1] if "No width is entered" in f]) == 2
    assert made(SWEPT, replace(BUILD, leading_edge=Strip(0.5)))[0] == []
    assert made(SWEPT, replace(BUILD, thickness=Thickness(0.5, 0.5, "flat")))[0] == []
    assert "for another thickness" in made(SWEPT, replace(BUILD, thickness=Thickness(6.0, 3.0, "flat")))[1][0]
    lost = made(SWEPT, replace(BUILD, spars=(Spar(0.99, (4.0, 4.0)),)))[1]
    assert "99% of the chord lies inside no panel" in lost[0]
    parts, faults = made(design_of(box("fin", "fin", 0, 0, 11, 46)), replace(BUILD, of=("fin",), spars=()))
    assert "too narrow for a frame" in faults[0]
    assert [part.area for part in parts] == pytest.approx([11 * 46])


def test_a_small_fin_and_a_cranked_tailplane_with_an_elevator() -> None:
    small = made(design_of(box("fin", "fin", 0, 0, 40, 46)), replace(BUILD, of=("fin",)))[0]
    no_two_overlap(small)
    straight = Tailplane(
        "tailplane", (Station(0, 0, 120, 40), Station(100, 8, 100, 70), Station(220, 30, 60, 106)),
        elevator_chord_fraction=0.4,
    )
    parts, _ = made(design_of(tailplanes=(straight,)), replace(BUILD, of=("tailplane",)))
    no_two_overlap(parts)
    assert {part.count for part in parts} == {2}
    assert one(parts, "tailplane: root").z == pytest.approx(40 + 0.3 * 3.0, abs=0.2)
    cranked = replace(straight, stations=(*straight.stations[:2], Station(220, 30, 60, 160)))
    parts, _ = made(design_of(tailplanes=(cranked,)), replace(BUILD, of=("tailplane",)))
    assert all(40 <= part.z <= 160 for part in parts)


def test_what_did_not_change_is_kept() -> None:
    design = design_of(PLATE, box("rudder", "rudder", 100, 0, 150, 160))
    taller = design_of(
        traced("fin", "fin", ((-20, 0), (100, 0), (100, 160), (0, 160))), design.outlines[1]
    )
    # Its root begins further forward, so that its places differ; the same root keeps them.
    held = design_of(traced("fin", "fin", ((0, 0), (100, 0), (100, 160), (10, 160))), design.outlines[1])
    before = {part.id: part for part in made(design, replace(BUILD, spars=()))[0]}
    build = replace(BUILD, spars=())
    first = {part.id: part for part in made(design, build)[0]}
    again = {part.id: part for part in made(held, build)[0]}
    other = {part.id: part for part in made(taller, build)[0]}
    rudder = [key for key in first if "-rudder-" in key]
    assert rudder
    assert all(first[key] is again[key] for key in rudder)
    assert all(first[key].grams == pytest.approx(other[key].grams) for key in rudder)
    assert before.keys() == first.keys()
