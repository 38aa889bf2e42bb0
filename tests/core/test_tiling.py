"""Sheets over a drawing, and the lines on a template, against closed forms of plain shapes."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import FEW, box, curved_outline, design_of, traced
from numpy.typing import NDArray

from core.bench.template_lines import (
    grain_of,
    hinges_of,
    reference,
    root_lines,
)
from core.bench.tiling import MOST_SHEETS, Tile, Tiling, TilingError, tile_over
from core.geometry.ring import Array
from core.parts.hinge_places import hinge_count, hinge_places


def frame(u0: float, v0: float, u1: float, v1: float) -> Array:
    return np.array(((u0, v0), (u1, v0), (u1, v1), (u0, v1), (u0, v0)))


def circle(u: float, v: float, r: float) -> Array:
    t = np.linspace(0, 2 * np.pi, 181)
    return np.column_stack((u + r * np.cos(t), v + r * np.sin(t)))


def every_tile(tiling: Tiling) -> list[Tile]:
    return [Tile(r, c) for r in range(tiling.rows) for c in range(tiling.columns)]


def test_letters_run_down_and_numbers_across() -> None:
    names = [Tile(r, c).name for r, c in ((0, 0), (0, 1), (1, 0), (25, 9), (26, 0), (27, 2), (52, 0))]
    assert names == ["A1", "A2", "B1", "Z10", "AA1", "AB3", "BA1"]


@pytest.mark.parametrize(("wide", "sheets"), [(200.0, 1), (200.1, 2), (390.0, 2), (390.1, 3), (1150.0, 6)])
def test_as_few_sheets_as_the_length_needs(wide: float, sheets: int) -> None:
    # n sheets of 200 mm overlapping by 10 reach 190 n + 10.
    tiling = tile_over([frame(0, 0, wide, 50)], 200, 100, 10)
    assert (tiling.columns, tiling.rows, len(tiling.tiles)) == (sheets, 1, sheets)


@pytest.mark.parametrize("overlap", [0.0, 10.0, 35.0])
def test_cores_fill_the_grid_without_overlap_and_windows_share_the_overlap(overlap: float) -> None:
    tiling = tile_over([frame(-300, 20, 420, 600)], 194, 250, overlap)
    u0, v0, u1, v1 = tiling.box
    area = sum((c[2] - c[0]) * (c[3] - c[1]) for c in map(tiling.core, every_tile(tiling)))
    assert area == pytest.approx((u1 - u0) * (v1 - v0), rel=1e-12)
    one, beside, below = (tiling.window(Tile(*at)) for at in ((0, 0), (0, 1), (1, 0)))
    assert one[2] - beside[0] == pytest.approx(overlap) and below[3] - one[1] == pytest.approx(overlap)
    assert (one[2] - one[0], one[3] - one[1]) == pytest.approx((194, 250))
    assert u0 <= -300 and v0 <= 20 and u1 >= 420 and v1 >= 600


def test_what_would_be_blank_is_left_out() -> None:
    tiling = tile_over([frame(0, 0, 900, 700)], 194, 194, 10)
    assert (tiling.columns, tiling.rows) == (5, 4)
    # A frame has nothing inside: only the border of the grid.
    assert len(tiling.tiles) == 2 * 5 + 2 * 2
    assert all(t.row in (0, 3) or t.column in (0, 4) for t in tiling.tiles)


def test_small_things_far_apart_lie_whole_on_a_sheet_each() -> None:
    rings = [circle(0, 0, 40), circle(1040, 7, 40), circle(501, 300, 40)]
    tiling = tile_over(rings, 194, 250, 10)
    assert len(tiling.tiles) == 3
    for ring in rings:
        inside = [
            tile for tile in tiling.tiles
            if (ring >= tiling.core(tile)[:2]).all() and (ring <= tiling.core(tile)[2:]).all()
        ]
        assert len(inside) == 1


def test_a_line_does_not_run_along_a_join_where_it_need_not() -> None:
    # 300 mm on two sheets that reach 378: the upright at 150 would lie on the join of a centred grid.
    tiling = tile_over([frame(0, 0, 150, 100), frame(150, 0, 300, 100)], 194, 250, 10)
    join = tiling.core(Tile(0, 0))[2]
    assert len(tiling.tiles) == 2 and abs(join - 150) > 5.0


@FEW
@given(st.lists(st.tuples(*(st.floats(-500, 500),) * 2, st.floats(1, 220)), min_size=1, max_size=3),
       st.floats(0, 40))
def test_every_bit_of_a_stroke_lies_in_the_core_of_a_printed_sheet(
    rings: list[tuple[float, float, float]], overlap: float
) -> None:
    strokes = [circle(*ring) for ring in rings]
    tiling = tile_over(strokes, 194, 250, overlap, reach=0.4)
    cores = np.array([tiling.core(tile) for tile in tiling.tiles])
    share = np.linspace(0, 1, 12)[:, None, None]
    fine = np.concatenate([((1 - share) * s[:-1] + share * s[1:]).reshape(-1, 2) for s in strokes])

    def within(grown: float) -> NDArray[np.bool_]:
        low, high = cores[None, :, :2] - grown, cores[None, :, 2:] + grown
        return np.asarray(((fine[:, None] >= low) & (fine[:, None] <= high)).all(axis=2))

    assert within(1e-9).any(axis=1).all()
    # And no sheet without any, but for the half millimetre that is played safe by.
    assert within(1.5).any(axis=0).all()


def test_neighbours_have_the_marks_of_their_join_in_common() -> None:
    tiling = tile_over([frame(0, 0, 500, 400)], 194, 250, 10)
    printed = set(tiling.tiles)
    joined = 0
    for tile in tiling.tiles:
        marks = set(tiling.marks(tile))
        window = tiling.window(tile)
        assert all(window[0] <= u <= window[2] and window[1] <= v <= window[3] for u, v in marks)
        for join in tiling.joins(tile):
            assert join.neighbour in printed
            joined += 1
            axis = 0 if join.side in ("left", "right") else 1
            on = sorted(m for m in marks if abs(m[axis] - join.start[axis]) < 1e-5)
            assert len(on) >= 3 and set(on) <= set(tiling.marks(join.neighbour))
            assert max(math.dist(a, b) for a, b in pairwise(on)) <= 90.0 + 1e-6
    assert joined and joined % 2 == 0


def test_what_cannot_be_laid_is_refused_with_a_sentence() -> None:
    for strokes, overlap, words in (
        ([], 10.0, "nothing to lay"), ([frame(0, 0, 10, 10)], 180.0, "so much overlap"),
        ([frame(0, 0, 10, 10)], -1.0, "so much overlap"),
        ([frame(0, 0, 1e6, 1e6)], 10.0, f"more than {MOST_SHEETS}"),
        ([np.array(((0.0, 0.0), (90_000.0, 0.0)))], 10.0, f"more than {MOST_SHEETS}"),
    ):
        with pytest.raises(TilingError, match=words):
            tile_over(strokes, 194, 250, overlap)


BODY = box("body", "fuselage", 0, -40, 860, 40)
FIN = traced("fin", "fin", ((700, 20), (780, 160), (850, 160), (850, 20)))
RUDDER = traced("rudder", "rudder", ((851, -20), (851, 160), (900, 150), (900, -20)))


def test_the_hinge_line_is_the_edge_that_rudder_and_fin_share() -> None:
    (hinge,) = hinges_of(design_of(BODY, FIN, RUDDER))
    assert (hinge.rudder, hinge.fin) == ("rudder", "fin")
    # Along the rudder's leading edge at 851, as far as the fin goes: from 20 to 160, corners to 3 mm.
    assert hinge.start == pytest.approx((851, 20), abs=3.1)
    assert hinge.end == pytest.approx((851, 160), abs=0.2)
    assert len(hinge.hinges) == hinge_count(hinge.length) == 3
    for x, z in hinge.hinges:
        assert x == pytest.approx(851, abs=0.2) and hinge.start[1] < z < hinge.end[1]


def test_a_balance_horn_over_the_fin_does_not_bend_the_hinge_line() -> None:
    horned = traced("rudder", "rudder", (
        (851, -20), (851, 161), (800, 161), (800, 190), (900, 180), (900, -20)))
    (hinge,) = hinges_of(design_of(FIN, horned))
    assert hinge.start[0] == pytest.approx(851, abs=0.3) and hinge.end[0] == pytest.approx(851, abs=0.3)
    assert hinge.end[1] == pytest.approx(160, abs=3.1)


def test_without_a_shared_edge_there_is_no_hinge() -> None:
    assert hinges_of(design_of(FIN, box("rudder", "rudder", 860, 20, 900, 160))) == ()
    assert hinges_of(design_of(RUDDER)) == ()
    assert hinges_of(design_of(FIN, traced("rudder", "rudder", ((851, 0), (851, 5), (900, 0))))) == ()


def test_hinges_by_length() -> None:
    assert [hinge_count(length) for length in (30, 100, 101, 250, 251, 370, 371)] == [2, 2, 3, 3, 4, 4, 5]
    places = hinge_places((0.0, 0.0), (0.0, 140.0))
    assert [z for _, z in places] == pytest.approx([20.0, 70.0, 120.0])


def test_the_root_line_runs_where_the_body_ends_under_the_fin() -> None:
    (root,) = root_lines(design_of(BODY, FIN, RUDDER), FIN)
    # The fin's leading edge rises 140 on 80: it meets the body's top, z 40, at x = 700 + 80 · 20/140.
    low, high = root[:, 0].min(), root[:, 0].max()
    assert root[:, 1] == pytest.approx(40.0) and high == pytest.approx(850.0, abs=0.4)
    assert low == pytest.approx(700 + 80 * 20 / 140, abs=0.5)
    standing = traced("fin", "fin", ((700, 40), (780, 160), (850, 160), (850, 40)))
    (root,) = root_lines(design_of(BODY, standing), standing)
    assert (root[:, 0].min(), root[:, 0].max()) == pytest.approx((700, 850), abs=0.5)
    assert root_lines(design_of(BODY, RUDDER), RUDDER) == ()
    clear = box("fins", "fin", 700, 20, 850, 160, count=2)
    assert root_lines(design_of(BODY, clear), clear) == ()


def test_the_grain_follows_the_leading_edge_the_hinge_or_the_longest_way() -> None:
    (hinge,) = hinges_of(design_of(FIN, RUDDER))
    rise = math.hypot(80, 140)
    assert grain_of(FIN) == pytest.approx((80 / rise, 140 / rise), abs=1e-3)
    assert grain_of(RUDDER, hinge) == pytest.approx((0.0, 1.0), abs=2e-3)
    assert grain_of(BODY) == pytest.approx((1.0, 0.0))
    assert grain_of(curved_outline("w", "other", 0, 0, 90)) == pytest.approx((1.0, 0.0), abs=0.01)
    slanting = traced("leg", "gear leg", ((0, 0), (10, 0), (50, -100), (40, -100)))
    assert abs(grain_of(slanting)[1]) > 0.85
    assert grain_of(traced("speck", "other", ((1, 1), (1, 1), (1, 1)))) == (1.0, 0.0)


def test_the_line_to_measure_from_is_the_datum_or_a_round_one() -> None:
    assert reference(-5, 900, "mm") == 0.0
    assert reference(826, 995, "mm") == 900.0
    assert reference(103, 119, "mm") == 110.0
    assert reference(826, 995, "in") == pytest.approx(36 * 25.4)
    assert reference(100.2, 100.4, "mm") == pytest.approx(100.3)
