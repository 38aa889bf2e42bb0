"""Ribbed surfaces: what they are cut into, against volumes and areas worked out another way."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from core.design_build import Ribs, Skin, Spar, Strip, Thickness
from core.materials import WOODS
from core.parts.part import Array, Part
from core.parts.plan import Plan
from core.parts.ribbed import ribbed, ribbed_covering
from core.parts.said import parted
from tests.core.parts.drawn import (
    AT,
    STATE,
    build_of,
    elliptical,
    full_build,
    plan_by_hand,
    slanted_hinge,
    swept_fin,
    tiny,
)
from tests.core.parts.solid import grid, half_thickness, integral, swept_edges, swept_half


def _of(plan: Plan, role: str) -> list[Part]:
    return [part for part in ribbed(STATE, plan)[0] if part.role == role]


def _plain_ribs(**more: object) -> Ribs:
    return Ribs(**{"every": 40.0, "thick": 2.0, "holes": False, "halves": False, **more})  # type: ignore[arg-type]


def _level(chord: float, thick: float, high: float = 200.0, **more: object) -> Plan:
    build = build_of(thickness=Thickness(thick, thick, "symmetric"), **{"ribs": _plain_ribs(), **more})
    return plan_by_hand(build, (((0, 0), (chord, 0), (chord, high), (0, high)), False))


@pytest.mark.parametrize(("chord", "thick"), [(150.0, 18.0), (90.0, 8.0), (320.0, 40.0)])
def test_a_ribs_area_is_the_exact_integral_of_the_form(chord: float, thick: float) -> None:
    parts = _of(_level(chord, thick), "rib")
    assert len(parts) == 6
    # Thinner than a saw cut at nose and tail it is not cut: that much goes.
    first = next(x for x in np.linspace(0.0, 0.1, 10_001) if 2.0 * thick * half_thickness(x) >= 1.0)
    last = next(x for x in np.linspace(1.0, 0.5, 10_001) if 2.0 * thick * half_thickness(x) >= 1.0)
    gone = sum(
        integral(lambda x: 2.0 * thick * chord * half_thickness(x), *ends)
        for ends in ((0.0, first), (last, 1.0))
    )
    for part in parts:
        assert part.area == pytest.approx(0.685083 * thick * chord - gone, rel=2e-3)
        assert part.volume == pytest.approx(2.0 * part.area)
        assert part.grams == pytest.approx(2.0 * part.area * 150e-6)
        assert part.count == 1


def test_ribs_stand_every_so_many_mm_and_at_both_ends() -> None:
    heights = [part.z - AT[1] for part in _of(_level(150.0, 12.0), "rib")]
    assert heights == pytest.approx((1.0, 40.0, 80.0, 120.0, 160.0, 199.0))
    heights = [part.z - AT[1] for part in _of(_level(150.0, 12.0, 205.0), "rib")]
    # A rib at 200 mm would stand beside that of the tip.
    assert heights == pytest.approx((1.0, 40.0, 80.0, 120.0, 160.0, 204.0))
    named = _plain_ribs(every=None, at=(0.0, 33.0, 150.0, 900.0))
    heights = [part.z - AT[1] for part in _of(_level(150.0, 12.0, ribs=named), "rib")]
    assert heights == pytest.approx((1.0, 33.0, 150.0))


def test_halves_are_half_and_twice_as_many() -> None:
    edges = {"leading_edge": Strip(6.0), "trailing_edge": Strip(30.0)}
    whole = _of(_level(150.0, 20.0, **edges), "rib")
    halves = _of(_level(150.0, 20.0, ribs=_plain_ribs(halves=True), **edges), "rib")
    for one, other in zip(whole, halves, strict=True):
        assert (other.count, other.area) == (2, pytest.approx(0.5 * one.area))
        assert other.grams == pytest.approx(one.grams)
        assert other.width == pytest.approx(0.5 * one.width)


def test_notches_skin_and_edges_are_taken_off() -> None:
    edges = {"leading_edge": Strip(6.0), "trailing_edge": Strip(30.0)}
    bare = _of(_level(200.0, 24.0, **edges), "rib")[2]
    level = [24.0 * half_thickness(x / 200.0) for x in (67.0, 73.0)]
    spar = Spar(0.35, (6.0, 3.0), None)
    notched = _of(_level(200.0, 24.0, spars=(spar,), **edges), "rib")[2]
    # Two notches from the surface to 3 mm under its lower shoulder.
    cut = 2.0 * (integral(lambda c: 24.0 * half_thickness(c / 200.0), 67.0, 73.0) - 6.0 * (min(level) - 3.0))
    column = shapely.box(66.5 - 6.0, -99.0, 73.5 - 6.0, 99.0)
    left = [shapely.intersection(rib.outline, column).area for rib in (bare, notched)]
    assert left[0] - left[1] == pytest.approx(cut, abs=0.04)
    assert bare.area == pytest.approx(
        integral(lambda c: 48.0 * half_thickness(c / 200.0), 6.0, 170.0), rel=2e-4
    )
    skinned = _of(_level(200.0, 24.0, skin=Skin(1.5), **edges), "rib")[2]
    upper = np.array([(c, 24.0 * half_thickness(c / 200.0)) for c in np.linspace(0.0, 200.0, 4001)])
    solid = shapely.Polygon(np.vstack((upper * (1.0, -1.0), upper[::-1])))
    # The library's own offset, square to the surface.
    inside = shapely.intersection(shapely.buffer(solid, -1.5), shapely.box(6.0, -99.0, 170.0, 99.0))
    assert skinned.area == pytest.approx(inside.area, rel=1e-3)


def test_holes_leave_a_fifth_of_the_depth_and_keep_off_the_spars() -> None:
    spar = Spar(0.3, (8.0, 3.0), None)
    for halves in (False, True):
        plan = swept_fin(build_of(
            thickness=Thickness(24.0, 20.0), ribs=_plain_ribs(holes=True, halves=halves), spars=(spar,),
            leading_edge=Strip(6.0), trailing_edge=Strip(20.0),
        ))
        ribs = _of(plan, "rib")
        assert sum(len(rib.outline.interiors) for rib in ribs) > 10
        for rib in ribs:
            outline = rib.outline
            shell = shapely.Polygon(outline.exterior)
            assert outline.is_valid
            for hole in outline.interiors:
                assert shell.exterior.distance(hole) > 0.99
                for u, v in hole.coords:
                    column = shapely.intersection(shell, shapely.LineString(((u, -99), (u, 99))))
                    low, high = column.bounds[1], column.bounds[3]
                    assert min(v - low, high - v) >= 0.195 * (high - low)


def test_edge_sticks_fill_the_section() -> None:
    plan = swept_fin(build_of(leading_edge=Strip(9.0), trailing_edge=Strip(25.0, 1.5)))
    lead, trail = _of(plan, "stick")
    s, share = grid(0.0, 190.0, 400), grid(0.0, 1.0, 400)
    front, rear = swept_edges(s)
    c = front[:, None] + 9.0 * share
    volume = 2.0 * swept_half(c, s[:, None]).mean() * 9.0 * 190.0
    assert lead.volume == pytest.approx(volume, rel=1e-3)
    c = rear[:, None] - 25.0 * share
    half = np.minimum(swept_half(c, s[:, None]), 0.75)
    assert trail.volume == pytest.approx(2.0 * half.mean() * 25.0 * 190.0, rel=1e-3)
    assert trail.thick == 1.5
    middle = AT + np.array(((half * c).sum() / half.sum(), (half * s[:, None]).sum() / half.sum()))
    assert (trail.x, trail.z) == pytest.approx(tuple(middle), abs=0.02)


def test_sticks_have_their_true_length_and_bevelled_ends() -> None:
    lead, trail = _of(swept_fin(build_of(leading_edge=Strip(9.0), trailing_edge=Strip(25.0))), "stick")
    slant = math.atan2(100.0, 190.0)
    assert lead.length == pytest.approx(math.hypot(100.0, 190.0) + 9.0 * math.sin(slant))
    assert lead.width == pytest.approx(9.0 * math.cos(slant))
    assert lead.area == pytest.approx(9.0 * 190.0)
    assert len(lead.outline.exterior.coords) - 1 >= 4
    assert trail.length == pytest.approx(math.hypot(15.0, 190.0) + 25.0 * 15.0 / math.hypot(15.0, 190.0))


def test_skin_is_as_long_as_the_section_is_round() -> None:
    plan = swept_fin(build_of(skin=Skin(1.5), leading_edge=Strip(6.0), trailing_edge=Strip(8.0)))
    skin = _of(plan, "skin")[0]
    s = grid(0.0, 190.0, 300)
    lead, trail = swept_edges(s)
    c = (lead + 6.0)[:, None] + (trail - lead - 14.0)[:, None] * np.linspace(0.0, 1.0, 801)
    steps = np.hypot(np.diff(c, axis=1), np.diff(swept_half(c, s[:, None]), axis=1))
    area = steps.sum() * 190.0 / 300.0
    assert skin.area == pytest.approx(area, rel=1e-4)
    assert (skin.count, skin.volume) == (2, pytest.approx(1.5 * skin.area))
    assert skin.grain == 0.0
    assert skin.length == pytest.approx(190.0)


def _summed(plan: Plan) -> tuple[float, Array]:
    where, areas = ribbed_covering(plan)
    return float(areas.sum()), np.asarray(areas @ where / areas.sum())


def test_covering_goes_round_the_whole_section() -> None:
    plan = swept_fin(build_of(), count=2)
    area, middle = _summed(plan)
    s = grid(0.0, 190.0, 200)
    lead, trail = swept_edges(s)
    c = lead[:, None] + (trail - lead)[:, None] * np.linspace(0.0, 1.0, 3001) ** 2
    steps = np.hypot(np.diff(c, axis=1), np.diff(swept_half(c, s[:, None]), axis=1))
    assert area == pytest.approx(4.0 * steps.sum() * 190.0 / 200.0, rel=2e-4)
    at = 0.5 * (c[:, 1:] + c[:, :-1])
    assert middle == pytest.approx(
        ((steps * at).sum() / steps.sum(), (steps * s[:, None]).sum() / steps.sum()), abs=0.02
    )
    flat = swept_fin(build_of(thickness=Thickness(8.0, 4.0, "flat")))
    area, middle = _summed(flat)
    region = flat.panels[0].region
    assert area == pytest.approx(2.0 * region.area)
    assert middle == pytest.approx((region.centroid.x, region.centroid.y))


def test_caps_run_straight_and_taper_where_the_section_runs_out() -> None:
    spar = Spar(0.35, (6.0, 3.0), 2.0, "spruce")
    plan = swept_fin(build_of(thickness=Thickness(14.0, 5.0), spars=(spar,), ribs=_plain_ribs()))
    cap = next(part for part in ribbed(STATE, plan)[0] if "cap" in part.name)
    assert cap.count == 2
    root, tip = 0.35 * 150.0, 100.0 + 0.35 * 65.0
    fall = 0.5 * (14.0 - 5.0)
    # From rib to rib, a little less than from root to tip; the upper face falls by half the taper.
    assert cap.length == pytest.approx(
        math.hypot(190.0, tip - root, fall) + 6.0 * math.sin(math.atan2(tip - root, 190.0)), rel=2e-3
    )
    assert cap.width == pytest.approx(6.0 * math.cos(math.atan2(tip - root, 190.0)), rel=1e-3)
    assert "cap, tapers to 65 % of its depth" in cap.name
    s = grid(0.0, 190.0, 4000)
    sides = (root + (tip - root) * s / 190.0)[:, None] + np.array((-3.0, 3.0))
    lead, trail = swept_edges(s)
    x = (sides - lead[:, None]) / (trail - lead)[:, None]
    form = np.array([[half_thickness(float(v)) for v in row] for row in x])
    top = ((14.0 - 9.0 * s / 190.0)[:, None] * form).min(axis=1)
    assert cap.volume == pytest.approx(6.0 * 190.0 * np.minimum(3.0, 0.8 * top).mean(), rel=2e-3)


def test_webs_stand_between_ribs_and_caps_with_their_grain_upright() -> None:
    plan = _level(200.0, 24.0, spars=(Spar(0.3, (6.0, 3.0), 2.0, "balsa-hard"),))
    webs = _of(plan, "web")
    assert [web.length for web in webs] == pytest.approx((37.0, 38.0, 38.0, 38.0, 37.0))
    top = 24.0 * min(half_thickness(x / 200.0) for x in (57.0, 63.0))
    for web in webs:
        assert web.width == pytest.approx(2.0 * (top - 3.0))
        assert (web.grain, web.thick, web.count) == (90.0, 2.0, 1)
        assert web.grams == pytest.approx(web.length * web.width * 2.0 * WOODS["balsa-hard"].kg_m3 * 1e-6)


def test_a_moving_panels_post_is_bevelled() -> None:
    build = build_of(
        thickness=Thickness(12.0, 12.0, "flat"), leading_edge=Strip(10.0), trailing_edge=Strip(8.0)
    )
    posts = [p for p in _of(slanted_hinge(build, throw=30.0), "stick") if "hinge post" in p.name]
    fin, rudder = posts
    assert fin.volume == pytest.approx(8.0 * 12.0 * 200.0)
    away = 6.0 * math.tan(math.radians(30.0)) * math.hypot(30.0, 200.0) / 200.0
    assert rudder.volume == pytest.approx((10.0 * 12.0 - away * 6.0) * 200.0, rel=1e-3)


def test_hinges_are_marked_across_both_posts_at_one_height() -> None:
    plan = slanted_hinge(full_build())
    fin, rudder = (part for part in _of(plan, "stick") if "hinge post" in part.name)
    # 202 mm of hinge: three of them, the outer ones a seventh from the ends.
    long = math.hypot(30.0, 200.0)
    for post in (fin, rudder):
        places = [float(line[0, 0]) for line in post.engraved]
        assert np.diff(places) == pytest.approx((5.0 / 14.0 * long, 5.0 / 14.0 * long), rel=1e-6)
        for line in post.engraved:
            assert shapely.covers(shapely.buffer(post.outline, 1e-6), shapely.LineString(line))
    assert _of(swept_fin(full_build()), "stick")[0].engraved == ()


@pytest.mark.parametrize(("build", "said"), [
    (full_build(spars=(Spar(0.35, (6.0, 8.0), None),)), "deeper than the section"),
    (full_build(spars=(Spar(0.0, (6.0, 3.0), None),)), "lies in no panel"),
    (full_build(spars=(Spar(0.3, (200.0, 3.0), None),)), "shorter than its notch"),
    (full_build(spars=(Spar(0.3, (0.5, 3.0), None),)), "thinner than a saw cut"),
    (full_build(skin=Skin(7.0)), "are thinner than a saw cut"),
    (full_build(leading_edge=Strip(90.0), trailing_edge=Strip(90.0)), "too short between the edges"),
    (full_build(ribs=Ribs(thick=0.5)), "ribs are thinner than a saw cut"),
    (full_build(ribs=None), "ribs are thinner than a saw cut"),
    (full_build(trailing_edge=Strip(1.5)), "0.7\u00a0mm thin, less than a saw cut"),
    (full_build(leading_edge=Strip(0.4)), "0.4\u00a0mm wide, less than a saw cut"),
])
def test_what_cannot_be_made_is_said(build: object, said: str) -> None:
    parts, faults = ribbed(STATE, swept_fin(build))  # type: ignore[arg-type]
    assert any(said in fault for fault in faults), faults
    assert all(fault.endswith(".") for fault in faults)
    assert all(part.outline.is_valid and part.volume > 0.0 for part in parts)


def test_an_end_too_thin_for_a_rib_is_closed_by_a_block_and_no_fault() -> None:
    pointed = Thickness(14.0, 3.0)
    build = full_build(thickness=pointed, ribs=Ribs(halves=True), spars=())
    parts, said = ribbed(STATE, swept_fin(build))
    wrong, notes = parted(said)
    assert wrong == ()
    (note,) = [note for note in notes if "left out" in note]
    ribs = [part for part in parts if part.role == "rib"]
    # 190 mm at 40 mm: the last would be the sixth.
    assert note.startswith(f"Rib {len(ribs) + 1} of Fin is left out") and "block" in note
    asked = full_build(thickness=pointed, ribs=Ribs(at=(40.0, 80.0, 185.0)), spars=())
    wrong, _ = parted(ribbed(STATE, swept_fin(asked))[1])
    assert len(wrong) == 1
    assert wrong[0].startswith("Rib 3 of Fin is thinner than a saw cut")


def test_a_spar_that_would_not_fit_is_not_notched_for() -> None:
    build = full_build(spars=(Spar(0.35, (6.0, 8.0), None),))
    without = full_build(spars=())
    one, other = _of(swept_fin(build), "rib"), _of(swept_fin(without), "rib")
    assert [part.area for part in one] == [part.area for part in other]


@pytest.mark.parametrize("drawn", [swept_fin, slanted_hinge, elliptical, tiny])
@pytest.mark.parametrize("halves", [True, False])
def test_every_part_is_whole_and_true(drawn: object, halves: bool) -> None:
    plan = drawn(full_build(ribs=Ribs(halves=halves)))  # type: ignore[operator]
    parts, _ = ribbed(STATE, plan)
    assert len({part.id for part in parts}) == len(parts)
    for part in parts:
        assert part.outline.geom_type == "Polygon"
        assert part.outline.is_valid
        box = part.outline.bounds
        assert (box[0], box[1]) == pytest.approx((0.0, 0.0), abs=1e-6)
        assert (box[2], box[3]) == pytest.approx((part.length, part.width), rel=1e-9)
        assert min(part.length, part.width, part.thick) >= 1.0 - 1e-6, part.name
        assert part.volume <= part.area * part.thick * (1.0 + 1e-6)
        if part.role in ("rib", "web", "skin"):
            assert part.volume == pytest.approx(part.area * part.thick)


def test_a_pair_takes_twice_the_parts() -> None:
    one, _ = ribbed(STATE, swept_fin(full_build()))
    two, _ = ribbed(STATE, swept_fin(full_build(), count=2))
    assert [part.count for part in two] == [2 * part.count for part in one]
    assert [part.grams for part in two] == pytest.approx([2.0 * part.grams for part in one])


def test_half_as_wide_edges_of_two_solids_fill_the_whole() -> None:
    # Sticks so wide that they meet: together they are the solid.
    plan = swept_fin(build_of(leading_edge=Strip(400.0), trailing_edge=Strip(400.0), ribs=None))
    found = sum(part.volume for part in ribbed(STATE, plan)[0])
    rng = np.random.default_rng(11)
    points = rng.random((400_000, 3)) * np.array((165.0, 190.0, 14.0))
    inside = np.abs(points[:, 2] - 7.0) < swept_half(points[:, 0], points[:, 1])
    share = inside.mean()
    off = 4.0 * math.sqrt(share * (1.0 - share) / len(points))
    assert found / (165.0 * 190.0 * 14.0) == pytest.approx(share, abs=off)
