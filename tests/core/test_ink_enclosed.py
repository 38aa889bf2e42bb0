"""The whole side view from a loop: areas against the shapes that were drawn, and misses told as such."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import shapely.affinity
from drawn_ink import Picture, curve_points
from drawn_side import Character, Paper, SideView, plan_of, side_view

from core.ink import enclosed as module
from core.ink.enclosed import Enclosed, Unclosed, enclosed
from core.ink.fitting import closed_joints
from core.ink.flood import boxes, parts, shrunk, within

DPI = 80.0
GAP_PX = DPI / 25.4


def taken(view: SideView, picture: Picture, seed: int, off: float = 11.0) -> Enclosed:
    found = enclosed(picture.grey, picture.px(view.lasso(seed, off)), gap=GAP_PX)
    assert isinstance(found, Enclosed), found
    return found


def area_off(found: Enclosed, view: SideView, picture: Picture) -> float:
    """By what part the fitted outline's area differs from the drawn one's, by shapely."""
    curve = curve_points(closed_joints(picture.mm(found.boundary)), closed=True)
    return float(shapely.Polygon(curve).area / view.outline.area - 1.0)


@pytest.mark.parametrize(
    ("character", "paper", "seed", "off"),
    [
        ("box", "clean", 2, 26.0), ("round", "noisy", 1, 11.0), ("boom", "one bit", 4, 26.0),
        ("round", "blueprint", 0, 26.0), ("box", "blueprint", 3, 11.0),
    ],
)
def test_area_of_inked_side_views(character: Character, paper: Paper, seed: int, off: float) -> None:
    """Within 0.5 %, formers, sheeting and lettering notwithstanding.

    The wide loop takes in a dimension line whose extension lines touch nose and tail.
    """
    view = side_view(character, seed, touching=off > 20.0)
    picture = plan_of(view, DPI, paper, seed)
    found = taken(view, picture, seed, off)
    assert abs(area_off(found, view, picture)) < 0.005
    assert not found.filled and found.sure > 0.95 and found.open_at is None


@pytest.mark.parametrize(("character", "seed"), [("boom", 0), ("round", 2)])
def test_area_of_broken_pencil(character: Character, seed: int) -> None:
    """Within 1.5 %; the pen's round ends leave 0.8 mm of paper in each of the gaps."""
    view = side_view(character, seed)
    picture = plan_of(view, 100.0, "pencil", seed, gaps=5, gap_mm=1.4)
    found = enclosed(picture.grey, picture.px(view.lasso(seed)), gap=100.0 / 25.4)
    assert isinstance(found, Enclosed)
    assert abs(area_off(found, view, picture)) < 0.015
    assert found.bridged > 0.0


@pytest.mark.parametrize(("off", "seed"), [(3.0, 1), (5.0, 3)])
def test_a_loop_across_the_fin_leaves_it_out(off: float, seed: int) -> None:
    """The body alone, whose line is drawn on beneath the fin; the loop runs below the fin's first rib."""
    view = side_view("box", seed)
    body = shapely.Polygon(view.own[0][0])
    picture = plan_of(view, DPI, "noisy", seed)
    loop = shapely.get_coordinates(shapely.buffer(body, off).exterior)
    found = enclosed(picture.grey, picture.px(loop), gap=GAP_PX)
    assert isinstance(found, Enclosed)
    assert abs(area_off(found, SideView(body, (), (), ()), picture)) < 0.005


def test_a_ground_line_under_two_wheels_closes_nothing_off() -> None:
    """As heavy as the outline, and straight: it runs on past both wheels."""
    view = bare_body(3)
    low = view.outline.bounds[1]
    parts_drawn = [view.outline]
    for x in (40.0, 150.0):
        parts_drawn.append(shapely.box(x - 4.0, low - 25.0, x + 4.0, 5.0))
        parts_drawn.append(shapely.Point(x, low - 30.0).buffer(12.0))
    whole = shapely.union_all(parts_drawn)
    assert isinstance(whole, shapely.Polygon)
    ground = np.array([[-20.0, low - 42.0], [230.0, low - 42.0]])
    lines = ((shapely.get_coordinates(whole.exterior), 0.6), (ground, 0.6))
    both = SideView(whole, lines, (), ())
    picture = plan_of(both, DPI, "noisy", 3)
    found = taken(both, picture, 3, 14.0)
    assert abs(area_off(found, both, picture)) < 0.01


def test_on_coarser_cells_it_is_as_exact(monkeypatch: pytest.MonkeyPatch) -> None:
    """As with a big scan, whose pixels are pooled four to one and more."""
    monkeypatch.setattr(module, "_MOST_CELLS", 500)
    view = side_view("round", 1)
    picture = plan_of(view, 150.0, "jpeg 30", 1)
    found = enclosed(picture.grey, picture.px(view.lasso(1)), gap=6.0)
    assert isinstance(found, Enclosed)
    assert abs(area_off(found, view, picture)) < 0.005


def bare_body(seed: int) -> SideView:
    """Nothing but the outer line."""
    view = side_view("round", seed)
    return SideView(view.outline, ((shapely.get_coordinates(view.outline.exterior), 0.6),), (), ())


def test_an_open_line_is_refused_and_the_place_told() -> None:
    view = bare_body(1)
    picture = plan_of(view, DPI, "clean", 1, gaps=1, gap_mm=4.0)
    found = enclosed(picture.grey, picture.px(view.lasso(1)), gap=GAP_PX)
    assert isinstance(found, Unclosed) and found.at is not None
    assert "open at the marked place" in found.reason
    # Where along the drawn line there is no ink; measured on the picture.
    line = picture.px(shapely.get_coordinates(shapely.segmentize(view.outline.exterior, 0.3)))
    grey = picture.grey[line[:, 1].astype(int), line[:, 0].astype(int)]
    gap = line[grey > 200].mean(axis=0)
    assert np.hypot(*(gap - found.at)) < 4.0 * GAP_PX


def test_a_part_behind_a_wide_gap_is_told() -> None:
    """The formers hold the rest: what lies between two of them is left out, and said to be."""
    view = side_view("boom", 0)
    picture = plan_of(view, DPI, "clean", 0, gaps=2, gap_mm=5.0)
    found = taken(view, picture, 0)
    assert area_off(found, view, picture) < -0.015 and found.open_at is not None


def test_the_largest_of_several_pieces_is_taken() -> None:
    view = bare_body(0)
    beside = shapely.affinity.translate(shapely.affinity.scale(view.outline, 0.6, 0.6), 0.0, 60.0)
    both = SideView(view.outline, (*view.own, (shapely.get_coordinates(beside.exterior), 0.6)), (), ())
    picture = plan_of(both, DPI, "clean", 0)
    hull = shapely.union(view.outline, beside).convex_hull
    loop = shapely.get_coordinates(shapely.buffer(hull, 6.0).exterior)
    found = enclosed(picture.grey, picture.px(loop), gap=GAP_PX)
    assert isinstance(found, Enclosed) and found.others == 1
    assert abs(area_off(found, view, picture)) < 0.005


def test_a_silhouette_is_taken_along_its_edge() -> None:
    view = bare_body(2)
    picture = plan_of(view, DPI, "clean", 2)
    filled = picture.grey.copy()
    filled[within(picture.px(shapely.get_coordinates(view.outline.exterior)), filled.shape)] = 30
    found = enclosed(filled, picture.px(view.lasso(2)), gap=GAP_PX)
    assert isinstance(found, Enclosed) and found.filled
    # The pen's half width of 0.3 mm is part of it, all round.
    whole = shapely.buffer(view.outline, 0.3).area / view.outline.area - 1.0
    assert area_off(found, view, picture) == pytest.approx(whole, abs=0.005)


def test_refusals() -> None:
    paper = np.full((90, 120), 230, dtype=np.uint8)
    loop = np.array([[10.0, 10.0], [110.0, 10.0], [110.0, 80.0], [10.0, 80.0]])
    refused = [
        enclosed(paper, loop), enclosed(paper, loop + 500.0), enclosed(paper, loop / 20.0),
        enclosed(plan_of(bare_body(1), DPI, "clean", 1).grey, loop * 4, gone=lambda: True),
    ]
    assert all(isinstance(one, Unclosed) for one in refused)
    reasons = [one.reason for one in refused if isinstance(one, Unclosed)]
    assert "no ink" in reasons[0] and "beside the picture" in reasons[1] and "too small" in reasons[2]
    assert reasons[3] == "no longer wanted"


def test_parts_and_boxes_are_what_a_plain_flood_finds() -> None:
    rng = np.random.default_rng(5)
    mask = rng.random((40, 30)) < 0.55
    label, size = parts(mask)
    assert ((label > 0) == mask).all() and (np.diff(size[1:]) <= 0).all()
    box = boxes(label, len(size))
    left = mask.copy()
    for row, column in np.argwhere(mask):
        if not left[row, column]:
            continue
        seen, waiting = {(int(row), int(column))}, [(int(row), int(column))]
        while waiting:
            r, c = waiting.pop()
            for at in ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)):
                if 0 <= at[0] < 40 and 0 <= at[1] < 30 and mask[at] and at not in seen:
                    seen.add(at)
                    waiting.append(at)
        cells = np.array(sorted(seen))
        left[cells[:, 0], cells[:, 1]] = False
        n = label[row, column]
        assert size[n] == len(cells) and (label[cells[:, 0], cells[:, 1]] == n).all()
        low, high = cells.min(axis=0), cells.max(axis=0) + 1
        assert tuple(box[n]) == (low[0], high[0], low[1], high[1])


def test_within_goes_round_all_that_a_line_winds_about() -> None:
    """By shapely; a loop whose end lies within its beginning leaves no hole."""
    loop = np.array([[3.2, 4.1], [30.7, 2.2], [36.4, 20.9], [5.5, 25.3]])
    held = within(loop, (30, 40))
    middles = np.stack(np.meshgrid(np.arange(40) + 0.5, np.arange(30) + 0.5), axis=2).reshape(-1, 2)
    true = shapely.contains_xy(shapely.Polygon(loop), middles[:, 0], middles[:, 1]).reshape(30, 40)
    assert (held == true).all()
    twice = within(np.vstack((loop, loop * 0.8 + 3.0)), (30, 40))
    assert twice[shrunk(held, 3)].all()
