"""Solid sheet: what plates weigh, worked out by hand, by counting places, and by laws that any way keeps."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import Build, Design, Node, Station, Tailplane
from core.design_build import Skin, Thickness
from core.parts.built import built
from core.parts.flat import longest_straight
from core.parts.hinge_edge import hinge_faces, relief
from core.parts.part import Part
from core.parts.plan import Plan
from core.parts.planform import plan_of
from core.parts.sheet import sheet
from tests.core.making import box, design_of, traced

SIX = Build(
    "tail", ("fin", "rudder"), thickness=Thickness(6.0, 6.0, "flat"), skin=Skin(6.0, "balsa-medium"),
    hinge_gap=0.0,
)
FIN = traced("fin", "fin", ((0, 0), (90, 0), (120, 150), (70, 150)))
RUDDER = traced("rudder", "rudder", ((90, 0), (140, 0), (160, 150), (120, 150)))
TAIL = design_of(FIN, RUDDER)


def plates(design: Design, build: Build = SIX) -> tuple[list[Part], list[str]]:
    plan = plan_of(design, build)
    assert isinstance(plan, Plan), plan
    return sheet(design, plan)


def grams(parts: list[Part]) -> float:
    return sum(part.grams for part in parts)


def test_a_flat_sheet_fin_weighs_area_by_thickness_by_density() -> None:
    build = replace(SIX, of=("fin",), covering_g_m2=50.0, glue=0.0)
    parts, faults = plates(design_of(FIN), build)
    # A trapezium: (90 + 50) / 2 × 150 mm², 6 mm thick, 150 kg/m³; mm³ × kg/m³ are millionths of a gram.
    area = (90 + 50) / 2 * 150
    assert faults == []
    assert [part.grams for part in parts] == [pytest.approx(area * 6 * 150 * 1e-6, rel=1e-12)]
    found = built(design_of(FIN), build)
    assert found.covering_grams == pytest.approx(2 * area * 50 * 1e-6, rel=1e-12)
    # The centroid of a trapezium above its base a, top b: h/3 × (a + 2b)/(a + b).
    assert parts[0].z == pytest.approx(150 / 3 * (90 + 2 * 50) / (90 + 50), rel=1e-12)


def test_a_bevel_takes_its_wedge_off() -> None:
    upright = design_of(box("fin", "fin", 0, 0, 80, 150), box("rudder", "rudder", 80, 0, 130, 150))
    rudder = plates(upright)[0][1]
    # On each side half of 3 × 3 tan 25°, all along 150 mm.
    wedge = 2 * 0.5 * 3 * 3 * math.tan(math.radians(25.0)) * 150
    assert rudder.volume == pytest.approx(50 * 150 * 6 - wedge, rel=1e-12)
    # Its centroid: a wedge's lies a third of its depth behind the edge.
    deep = 3 * math.tan(math.radians(25.0))
    x = (50 * 150 * 6 * 105 - wedge * (80 + deep / 3)) / rudder.volume
    assert rudder.x == pytest.approx(x, rel=1e-12)
    assert len(rudder.engraved) == 1
    assert np.ptp(rudder.engraved[0], axis=0).max() == pytest.approx(150.0)


def test_a_round_edge_takes_what_a_half_circle_leaves() -> None:
    upright = design_of(box("fin", "fin", 0, 0, 80, 150), box("rudder", "rudder", 80, 0, 130, 150))
    rudder = plates(upright, replace(SIX, hinge="round"))[0][1]
    assert rudder.volume == pytest.approx((50 * 6 - (3 * 6 - math.pi * 9 / 2)) * 150, rel=1e-12)


@pytest.mark.parametrize("hinge", ["bevel", "round"])
def test_a_hinge_edge_by_counting_places(hinge: str) -> None:
    """A slanting hinge, its ends cut level: a million places in the wood near to it, each kept or not."""
    build = replace(SIX, hinge=hinge, hinge_gap=1.0)
    plan = plan_of(TAIL, build)
    assert isinstance(plan, Plan)
    panel = plan.panels[1]
    (face,) = hinge_faces(plan, panel, 6.0)
    off = relief(face, panel.region)
    assert off is not None
    rng = np.random.default_rng(7)
    low, high = np.array((85.0, 0.0, -3.0)), np.array((130.0, 150.0, 3.0))
    at = low + rng.random((1_000_000, 3)) * (high - low)
    inside = shapely.contains_xy(panel.region, at[:, 0], at[:, 1])
    # Behind the line from (90, 0) to (120, 150), square to it, less half the gap.
    behind = (at[:, 0] - 90 - at[:, 1] * 30 / 150) * 150 / math.hypot(30, 150) - 0.5
    if hinge == "bevel":
        gone = behind < np.abs(at[:, 2]) * math.tan(math.radians(25.0))
    else:
        gone = (behind < 3.0) & ((3.0 - behind) ** 2 + at[:, 2] ** 2 > 9.0)
    counted = (inside & gone).mean() * float(np.prod(high - low))
    assert off.volume == pytest.approx(counted, rel=0.01)
    middle = at[inside & gone][:, :2].mean(axis=0)
    assert np.allclose(off.moments / off.volume, middle, atol=1.0)


def moved(design: Design, by: tuple[float, float], scale: float = 1.0, mirror: bool = False) -> Design:
    def node(n: Node) -> Node:
        x, z = scale * n.x + by[0], scale * n.z + by[1]
        return Node(-x if mirror else x, z)

    return replace(design, outlines=tuple(
        replace(o, nodes=tuple(node(n) for n in o.nodes)) for o in design.outlines
    ))


def test_moving_and_mirroring_weigh_the_same() -> None:
    build = replace(SIX, hinge_gap=0.8, holes=True)
    parts, _ = plates(TAIL, build)
    for design in (moved(TAIL, (812.4, -33.1)), moved(TAIL, (0.0, 0.0), mirror=True)):
        again, _ = plates(design, build)
        assert grams(again) == pytest.approx(grams(parts), rel=1e-7)
    away, _ = plates(moved(TAIL, (812.4, -33.1)), build)
    assert [p.x - q.x for p, q in zip(away, parts, strict=True)] == pytest.approx([812.4] * 2, abs=1e-5)


@pytest.mark.parametrize("holes", [False, True])
def test_twice_as_large_is_eight_times_the_wood(holes: bool) -> None:
    build = replace(SIX, hinge_gap=0.8, holes=holes)
    double = replace(build, hinge_gap=1.6, thickness=Thickness(12.0, 12.0, "flat"))
    small, large = plates(TAIL, build)[0], plates(moved(TAIL, (0, 0), 2.0), double)[0]
    assert grams(large) == pytest.approx(8 * grams(small), rel=1e-6)
    assert all(bool(part.outline.interiors) is holes for part in large)  # type: ignore[attr-defined]


def test_holes_leave_a_rim_and_cross_pieces() -> None:
    parts, faults = plates(TAIL, replace(SIX, holes=True))
    assert faults == []
    for part in parts:
        outline = part.outline
        assert isinstance(outline, shapely.Polygon)
        holes = [shapely.Polygon(hole) for hole in outline.interiors]
        # The rim is 15 % of the mean chord: 10.5 mm of the fin, 6.75 mm of the rudder.
        rim = 0.15 * (70.0 if part.name == "fin" else 45.0)
        assert min(shapely.distance(hole, outline.exterior) for hole in holes) >= rim - 1e-3
        for k, one in enumerate(holes):
            assert all(shapely.distance(one, other) >= rim - 1e-3 for other in holes[:k])
        # Rounded: no corner of a hole turns by more than its drawing of an arc.
        for hole in holes:
            step = np.diff(shapely.get_coordinates(hole), axis=0)
            heading = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
            assert np.abs(np.diff(heading)).max() < np.radians(10.0)


def test_a_small_plate_stays_whole_and_says_so() -> None:
    parts, faults = plates(design_of(box("fin", "fin", 0, 0, 6, 46)), replace(SIX, of=("fin",), holes=True))
    assert parts[0].volume == pytest.approx(6 * 46 * 6)
    assert "too small for holes" in faults[0]


def test_the_grain_runs_along_the_longest_straight_edge() -> None:
    fin = plates(TAIL)[0][0]
    # The fin's leading edge, √(70² + 150²) long, lies along u; the hinge is shorter.
    lead = math.hypot(70, 150)
    corners = shapely.get_coordinates(fin.outline)
    lows = corners[np.abs(corners[:, 1]) < 1e-6]
    assert np.ptp(lows[:, 0]) == pytest.approx(lead, abs=1e-6)
    assert fin.grain == 0.0
    assert fin.outline.bounds[:2] == pytest.approx((0.0, 0.0), abs=1e-9)
    circle = shapely.Point(0, 0).buffer(50.0, quad_segs=64)
    assert longest_straight(circle).tolist() == [0.0, 1.0]


def test_a_wide_plate_is_joined_from_strips() -> None:
    (part,), _ = plates(design_of(box("fin", "fin", 0, 0, 210, 400)), replace(SIX, of=("fin",)))
    assert (part.length, part.width) == pytest.approx((400.0, 210.0))
    assert len(part.engraved) == 2
    assert sorted(line[0, 1] for line in part.engraved) == pytest.approx([70.0, 140.0])
    assert all(np.ptp(line[:, 0]) == pytest.approx(400.0) for line in part.engraved)


def test_the_tab_is_part_of_the_plate() -> None:
    body = box("fuselage", "fuselage", -500, -40, 500, 20)
    fin = box("fin", "fin", 0, 20, 90, 150)
    parts, _ = plates(design_of(body, fin), replace(SIX, of=("fin",)))
    assert [part.role for part in parts] == ["sheet"]
    assert parts[0].area == pytest.approx(90 * (130 + 30), abs=1e-3)
    apart, _ = plates(design_of(body, fin), replace(SIX, of=("fin",), tab=False))
    assert apart[0].area == pytest.approx(90 * 130, abs=1e-3)


def test_a_fin_cut_through_by_a_slot_is_two_plates() -> None:
    plane = Tailplane("tailplane", (Station(0, -20, 150, 90), Station(200, -20, 150, 90)))
    design = design_of(box("fin", "fin", 0, 0, 100, 200), tailplanes=(plane,))
    parts, _ = plates(design, replace(SIX, of=("fin",)))
    assert [part.name for part in parts] == ["fin, piece 1", "fin, piece 2"]
    assert [part.area for part in parts] == pytest.approx([100 * 81, 100 * 101], abs=1e-3)


def test_a_pair_weighs_twice_and_both_halves_of_a_tailplane_count() -> None:
    twin = design_of(replace(FIN, count=2))
    parts, _ = plates(twin, replace(SIX, of=("fin",)))
    assert parts[0].count == 2
    assert parts[0].grams == pytest.approx(2 * 70 * 150 * 6 * 150e-6, rel=1e-12)


def test_a_cranked_halfs_height_is_that_of_its_wood() -> None:
    """100 mm flat at z = 40, then 150 along a slope up to 130: by a thousand thin strips of the planform."""
    plane = Tailplane(
        "tailplane", (Station(0, 0, 120, 40), Station(100, 0, 100, 40), Station(220, 0, 60, 130)),
        elevator_chord_fraction=0.0,
    )
    (part,), _ = plates(design_of(tailplanes=(plane,)), replace(SIX, of=("tailplane",)))
    s = (np.arange(1000) + 0.5) * 0.25
    chord = np.interp(s, (0, 100, 250), (120, 100, 60))
    z = np.interp(s, (0, 100, 250), (40, 40, 130))
    assert part.z == pytest.approx(float((z * chord).sum() / chord.sum()), abs=1e-3)
    assert part.x == pytest.approx(float((chord**2 / 2).sum() / chord.sum()), abs=1e-3)
    assert part.count == 2


def test_what_sheet_cannot_be() -> None:
    tapered = replace(SIX, thickness=Thickness(6.0, 3.0, "flat"))
    parts, faults = plates(TAIL, tapered)
    assert "flat and 6\u00a0mm thick all over" in faults[0]
    assert {part.thick for part in parts} == {6.0}
    assert plates(TAIL, replace(SIX, thickness=Thickness(0.4, 0.4, "flat")))[0] == []
    narrow = design_of(FIN, traced("rudder", "rudder", ((90, 0), (92.5, 0), (122.5, 150), (120, 150))))
    assert "too narrow behind its hinge" in plates(narrow)[1][0]
    assert "light balsa is taken" in plates(TAIL, replace(SIX, skin=None))[1][0]


def test_a_throw_of_nothing_leaves_the_edge_square() -> None:
    still = replace(TAIL, flight=replace(TAIL.flight, rudder_throw_deg=0.0))
    rudder = plates(still)[0][1]
    assert rudder.volume == pytest.approx((50 + 40) / 2 * 150 * 6, rel=1e-12)
    assert rudder.engraved == ()
