"""How far panels reach at each height, and how thick they are there."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.design_build import Strip, Thickness
from core.parts.section import Surface, chords_of
from tests.core.making import SOME
from tests.core.parts.drawn import (
    build_of,
    elliptical,
    plan_by_hand,
    slanted_hinge,
    swept_fin,
)


@given(st.lists(st.tuples(st.floats(0, 200), st.floats(-50, 200)), min_size=3, max_size=9), st.data())
@SOME
def test_chords_are_those_of_a_level_line(corners: list[tuple[float, float]], data: st.DataObject) -> None:
    region = shapely.convex_hull(shapely.multipoints(np.round(np.array(corners), 2)))
    if region.geom_type != "Polygon" or region.area < 10.0:
        return
    chords = chords_of(region)
    assert chords is not None
    assert chords.lost == 0.0
    long = chords.rear - chords.front
    assert (0.5 * long.sum(axis=1) * (chords.high - chords.low)).sum() == pytest.approx(region.area, rel=1e-9)
    low, high = chords.ends
    s = low + (high - low) * data.draw(st.floats(0.02, 0.98))
    # By the library's own overlay, which shares nothing with it.
    line = shapely.intersection(region, shapely.LineString(((-1e3, s), (1e3, s))))
    front, rear = chords.at(np.array((s,)))
    assert (front[0], rear[0]) == pytest.approx((line.bounds[0], line.bounds[2]), abs=1e-6)


def test_longest_cut_is_kept_and_the_rest_is_said() -> None:
    forked = shapely.Polygon(((0, 0), (100, 0), (100, 80), (70, 80), (70, 30), (20, 30), (20, 80), (0, 80)))
    chords = chords_of(forked)
    assert chords is not None
    assert chords.lost == pytest.approx(20.0 * 50.0)
    assert [float(v[0]) for v in chords.at(np.array((60.0,)))] == [70.0, 100.0]


def test_thickness_is_straight_from_root_to_tip() -> None:
    plan = swept_fin(build_of(thickness=Thickness(14.0, 9.0, "flat")))
    cuts = Surface(plan).cuts(0, np.array((0.0, 95.0, 190.0)))
    assert cuts.half(np.full((3, 1), 120.0))[:, 0] == pytest.approx((7.0, 5.75, 4.5))


def test_fin_and_rudder_are_one_section() -> None:
    plan = slanted_hinge(build_of())
    s = np.array((70.0,))
    surface = Surface(plan)
    fin, rudder = surface.cuts(0, s), surface.cuts(1, s)
    assert (fin.lead[0], fin.chord[0]) == (rudder.lead[0], rudder.chord[0])
    assert fin.lead[0] == pytest.approx(90.0 * 0.35)
    assert fin.lead[0] + fin.chord[0] == pytest.approx(190.0 + 5.0 * 0.35)
    # The gap lies square to a hinge that slants, so it is longer along the chord.
    gap = rudder.front[0] - fin.rear[0]
    assert gap == pytest.approx(0.5 / math.cos(math.atan2(30.0, 200.0)))


def test_gap_is_taken_where_the_regions_still_touch() -> None:
    fin, rudder = ((0, 0), (100, 0), (100, 150), (40, 150)), ((100, 0), (160, 0), (150, 150), (100, 150))
    hinge = ((100, 0), (100, 150))
    plan = plan_by_hand(build_of(hinge_gap=2.0), (fin, False), (rudder, True), hinges=(hinge,))
    surface = Surface(plan)
    s = np.array((20.0, 140.0))
    assert surface.cuts(0, s).rear == pytest.approx((99.0, 99.0))
    assert surface.cuts(1, s).front == pytest.approx((101.0, 101.0))


def test_bevel_makes_room_for_the_throw() -> None:
    plan = slanted_hinge(build_of(thickness=Thickness(12.0, 12.0, "flat")), throw=30.0)
    cuts = Surface(plan).cuts(1, np.array((100.0,)))
    back = np.linspace(0.0, 12.0, 25)
    found = cuts.half(cuts.front[:, None] + back)[0]
    # Turned by the throw about the hinge, the bevel comes to stand square to the surface.
    slant = math.cos(math.atan2(30.0, 200.0))
    assert found == pytest.approx(np.minimum(6.0, back * slant / math.tan(math.radians(30.0))))
    assert Surface(plan).cuts(0, np.array((100.0,))).half(np.array(((120.0,),)))[0, 0] == 6.0


def test_round_edge_is_half_a_circle() -> None:
    fin, rudder = ((0, 0), (99, 0), (99, 150), (40, 150)), ((101, 0), (160, 0), (150, 150), (101, 150))
    build = build_of(hinge_gap=2.0, hinge="round", thickness=Thickness(10.0, 10.0, "flat"))
    plan = plan_by_hand(build, (fin, False), (rudder, True), hinges=(((100, 0), (100, 150)),))
    cuts = Surface(plan).cuts(1, np.array((60.0,)))
    back = np.linspace(0.0, 5.0, 11)
    half = cuts.half(101.0 + back[None])[0]
    assert (5.0 - back) ** 2 + half**2 == pytest.approx(np.full(11, 25.0))


def test_rudder_below_the_fin_goes_on_with_its_section() -> None:
    plan = elliptical(build_of(thickness=Thickness(12.0, 12.0, "symmetric")))
    surface = Surface(plan)
    c = np.full((2, 1), 112.0)
    above, below = surface.cuts(1, np.array((0.01, -0.01))).half(c)[:, 0]
    assert above == pytest.approx(below, abs=0.01)


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0), st.floats(1.0, 189.0))
@SOME
def test_sticks_share_a_chord_that_is_too_short_for_both(front: float, rear: float, s: float) -> None:
    plan = swept_fin(build_of(leading_edge=Strip(front), trailing_edge=Strip(rear)))
    cuts = Surface(plan).cuts(0, np.array((s,)))
    assert cuts.front <= cuts.inner <= cuts.outer + 1e-9
    assert cuts.outer <= cuts.rear
    chord = (150.0 + 15.0 * s / 190.0) - 100.0 * s / 190.0
    assert cuts.rear - cuts.front == pytest.approx(chord)
    if front + rear <= chord:
        assert cuts.inner - cuts.front == pytest.approx(front)


def test_a_fin_of_nothing_has_no_chords() -> None:
    assert chords_of(shapely.Polygon()) is None


def test_a_horn_balance_has_the_section_of_its_own_chord() -> None:
    build = build_of(thickness=Thickness(12.0, 12.0), hinge_gap=0.0)
    fin = ((0.0, 0.0), (120.0, 0.0), (120.0, 140.0), (60.0, 140.0))
    rudder = ((120.0, -20.0), (180.0, -20.0), (180.0, 180.0), (80.0, 180.0), (80.0, 140.0), (120.0, 140.0))
    hinge = ((120.0, 0.0), (120.0, 140.0))
    surface = Surface(plan_by_hand(build, (fin, False), (rudder, True), hinges=(hinge,)))
    lead, trail = surface.edges(np.array((-10.0, 70.0, 160.0)))
    # Below its fin the rudder goes on behind the hinge, above it it begins in front with a nose of its own.
    assert lead == pytest.approx((0.0, 30.0, 80.0))
    assert trail == pytest.approx((180.0, 180.0, 180.0))
