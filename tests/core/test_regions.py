"""Filled regions, where outlines cross themselves, depths of regions with holes, sums of patches."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import SOME
from pixel_count import Pixels

from core.design import Node
from core.geometry.crossings import crossings_of
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import common, union, without
from core.geometry.patch import Patch, Uniter, moments_in
from core.geometry.regions import Moments, deep_inside, moments_of, region_of
from core.geometry.slices import depths
from core.outline_form import is_thin

WHOLE = st.tuples(st.integers(0, 12), st.integers(0, 12))


def star() -> np.ndarray:
    """A five-pointed star drawn in one stroke, radius 10."""
    turn = np.pi / 2 + np.arange(5) * 4 * np.pi / 5
    return np.column_stack((10 * np.cos(turn), 10 * np.sin(turn)))


def test_a_figure_of_eight_counts_both_loops() -> None:
    # Two triangles of base 10 and height 5.
    assert region_of(np.array([(0, 0), (10, 10), (10, 0), (0, 10)], float)).area == pytest.approx(2 * 25)


def test_a_star_in_one_stroke_leaves_its_heart_open() -> None:
    """Even-odd: five tips count, the pentagon that is gone round twice does not."""
    pentagon_radius = 10 * np.sin(np.pi / 10) / np.sin(np.pi * 3 / 10)
    tip = 10 * np.sin(np.pi / 5) * pentagon_radius
    kite_fan = 5 * tip
    pentagon = 2.5 * pentagon_radius**2 * np.sin(2 * np.pi / 5)
    # All ten triangles from the middle make star with heart; the heart is taken away.
    assert region_of(star()).area == pytest.approx(kite_fan - pentagon)


def test_an_edge_gone_over_twice_counts_as_drawn_twice() -> None:
    square = [(0, 0), (4, 0), (4, 4), (0, 4)]
    assert region_of(np.array([*square, *square], float)).is_empty
    assert region_of(np.array([*square, *square, *square], float)).area == pytest.approx(16)
    out_and_back = [(0, 0), (4, 0), (9, 0), (4, 0), (4, 4), (0, 4)]
    assert region_of(np.array(out_and_back, float)).area == pytest.approx(16)


def test_a_ring_round_a_hole_joined_by_a_seam() -> None:
    """The old way to draw a hole with one line: in along a seam, round, out along the same seam."""
    corners = [(0, 0), (8, 0), (8, 8), (0, 8), (0, 0), (2, 2), (2, 4), (4, 4), (4, 2), (2, 2)]
    region = region_of(np.array(corners, float))
    assert region.area == pytest.approx(64 - 4)
    assert region.is_valid


@SOME
@given(st.lists(WHOLE, min_size=3, max_size=9))
def test_any_polygon_is_filled_as_a_drawing_would(corners: list[tuple[int, int]]) -> None:
    region = region_of(np.array(corners, float))
    assert region.is_valid
    pixels = Pixels.over(0.003, 0.0071, 12.003, 12.0071, 0.02)
    run = float(np.hypot(*(np.roll(corners, -1, axis=0) - np.array(corners)).T).sum())
    filled = pixels.fill(np.array(corners, float)).sum() * pixels.edge**2
    # The worst that one edge can do is to lie half a pixel off all along.
    assert region.area == pytest.approx(filled, abs=0.5 * pixels.edge * run + 1e-9)


@pytest.mark.parametrize(
    "corners",
    ([(0, 0)] * 3, [(0, 0), (5, 5), (0, 0)], [(0, 0), (5, 5), (10, 10)], [(1, 1), (2, 2)], []),
    ids=("one point", "there and back", "in line", "two points", "none"),
)
def test_what_has_no_area_is_an_empty_region(corners: list[tuple[float, float]]) -> None:
    region = region_of(np.array(corners, float).reshape(-1, 2))
    assert region.is_empty
    assert moments_of(region) == Moments(0, 0, 0)
    assert moments_of(region).centroid() is None


def test_crossings_are_found_where_they_are() -> None:
    bow = np.array([(0, 0), (10, 10), (10, 0), (0, 10)], float)
    assert np.array(crossings_of(bow)) == pytest.approx(np.array([(5, 5)]))
    assert len(crossings_of(star())) == 5
    radius = 10 * np.sin(np.pi / 10) / np.sin(np.pi * 3 / 10)
    assert [np.hypot(*p) for p in crossings_of(star())] == pytest.approx([radius] * 5)


def test_a_sound_outline_has_no_crossings() -> None:
    assert crossings_of(np.array([(0, 0), (10, 0), (10, 10), (0, 10)], float)) == []
    assert crossings_of(np.zeros((0, 2))) == []


def test_many_crossings_are_cut_short() -> None:
    comb = np.array([(k, 9 * (-1) ** k) for k in range(60)] + [(59.5, 0), (-1, 0.5)], float)
    assert len(crossings_of(comb, most=7)) == 7


def test_moments_far_from_the_origin_do_not_cancel() -> None:
    near = np.array([(0, 0), (3, 0), (0, 3)], float)
    area, mx, mz = moments_of(region_of(near + 1e6 - 3))
    assert area == pytest.approx(4.5, rel=1e-9)
    assert (mx / area - 1e6 + 3, mz / area - 1e6 + 3) == pytest.approx((1, 1), abs=1e-6)


def test_depths_leave_holes_out() -> None:
    region = without(shapely.box(0, 0, 10, 10), shapely.box(4, 3, 6, 8))
    assert depths(region, np.array([1.0, 3.0, 5.0, 7.0, 9.0, 11.0])) == pytest.approx([10, 10, 5, 10, 10, 0])


def test_depths_of_a_triangle_rise_in_proportion() -> None:
    stations = np.linspace(0.5, 9.5, 10)
    assert depths(shapely.Polygon([(0, 0), (10, 0), (10, 7)]), stations) == pytest.approx(0.7 * stations)


def test_depths_against_cutting_with_lines() -> None:
    """shapely's own intersection of the region with upright lines, as another way to the same lengths."""
    region = region_of(star() + np.array((0.3, 0.1)))
    stations = np.linspace(-10, 10, 83)
    cuts = [shapely.intersection(region, shapely.LineString([(x, -20), (x, 20)])).length for x in stations]
    assert depths(region, stations) == pytest.approx(cuts, abs=1e-9)


def test_depths_of_nothing_or_outside_are_nothing() -> None:
    stations = np.linspace(0, 5, 6)
    assert depths(shapely.Polygon(), stations).tolist() == [0] * 6
    assert depths(shapely.box(100, 0, 110, 5), stations).tolist() == [0] * 6


def test_union_of_touching_boxes_has_no_seam() -> None:
    together = union((shapely.box(0, 0, 5, 5), shapely.box(5, 0, 9, 5), shapely.Polygon()))
    assert together.area == pytest.approx(45)
    assert common(shapely.box(0, 0, 5, 5), shapely.box(5, 0, 9, 5)).is_empty


def test_a_uniter_measures_the_union_however_its_patches_change() -> None:
    boxes = [Patch(shapely.box(4 * k, k, 4 * k + 7, k + 5)) for k in range(5)]
    uniter = Uniter()
    for chosen in ((0, 1, 2), (0, 1, 3), (0, 1, 3), (3,), (), (4, 3, 0), (0, 1, 2, 3, 4), (0, 1, 2, 3)):
        patches = tuple(boxes[k] for k in chosen)
        expected = union(p.region for p in patches).area
        assert moments_in(uniter.unite(patches)).area == pytest.approx(expected)


def test_the_memo_goes_by_identity_and_forgets_the_oldest() -> None:
    memo: IdentityMemo[int] = IdentityMemo(2)
    made: list[object] = []

    def compute() -> int:
        made.append(None)
        return len(made)

    def ask(key: object) -> int:
        return memo.get((key,), compute)

    one, equal, third = [1], [1], [3]
    assert (ask(one), ask(one), ask(equal)) == (1, 1, 2)
    assert ask(one) == 1
    assert ask(third) == 3
    assert ask(one) == 1, "used last but one, so still kept"
    assert ask(equal) == 4, "the oldest was let go and is computed anew"


@pytest.mark.parametrize("seed", range(40))
def test_what_is_deep_inside_is_left_over_when_the_edge_is_set_inwards(seed: int) -> None:
    draw = np.random.default_rng(seed)
    flat = np.array((1.0, draw.choice((0.02, 0.2, 1.0))))
    region = region_of(draw.uniform(0, 20, (int(draw.integers(3, 9)), 2)) * flat)
    for mm in (0.02, 0.055, 0.3, 2.0):
        if deep_inside(region, mm):
            assert not shapely.buffer(region, -0.98 * mm).is_empty
    # Not found where it is there costs time alone; a whole millimetre of it is found.
    deepest = shapely.length(shapely.maximum_inscribed_circle(region, tolerance=1e-3)) if region.area else 0.0
    assert deep_inside(region, 0.055) or deepest < 1.0


@pytest.mark.parametrize("wide", (0.09, 0.099, 0.101, 0.12, 3.0))
def test_thin_is_what_setting_the_edge_inwards_leaves_nothing_of(wide: float) -> None:
    for corners in (
        [(0, 0), (80, 0), (80, wide), (0, wide)],
        [(0, 0), (50, 30), (50, 30 + wide * np.hypot(5, 3) / 5), (0, wide * np.hypot(5, 3) / 5)],
    ):
        assert is_thin([Node(float(x), float(z)) for x, z in corners]) == (wide < 0.1)


def test_ever_so_many_teeth_are_not_set_inwards_to_see_that_they_stand_on_something(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("core.outline_form.shapely.buffer", lambda *_: pytest.fail("set inwards"))
    teeth = [Node(k * 0.01, 200.0 * (k % 2)) for k in range(5000)]
    assert not is_thin([*teeth, Node(50.0, -200.0), Node(0.0, -200.0)])
