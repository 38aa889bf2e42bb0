"""Sheets that hold others together: grids with known holes, counted by hand, and any rings."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import FEW

from core.bench.bridges import WIDEST_GAP, Blank, with_bridges
from core.bench.tiling import Tile, Tiling, tile_over
from core.geometry.ring import Array


def ring_of(*corners: tuple[float, float]) -> Array:
    return np.array((*corners, corners[0]), dtype=float)


def laid(*rings: Array, blank: Blank, lines: tuple[Array, ...] = ()) -> Tiling:
    tiling = tile_over(rings, 110, 110, 10)
    return with_bridges(tiling, [shapely.Polygon(ring) for ring in rings], lines, blank)


def holds_together(tiling: Tiling, tiles: set[Tile]) -> bool:
    """True if one gets from any of ``tiles`` to all others over edges of printed sheets."""
    reached, todo = set(), [min(tiles)]
    while todo:
        tile = todo.pop()
        if tile not in reached:
            reached.add(tile)
            todo += [join.neighbour for join in tiling.joins(tile)]
    return tiles <= reached


def test_long_rows_are_held_together_every_few_sheets() -> None:
    # 15 × 3 sheets: the middle row has ink at its ends alone, 13 blank ones between.
    side = ring_of((0, 0), (1500, 0), (1500, 300), (0, 300))
    none, needed, every = (laid(side, blank=blank) for blank in ("none", "needed", "all"))
    assert (none.columns, none.rows, len(none.tiles), none.bridges) == (15, 3, 32, ())
    # 13 = 3 + 1 + 3 + 1 + 2 + 1 + 2: three sheets, no gap of more than three.
    columns = [tile.column for tile in needed.bridges]
    assert {tile.row for tile in needed.bridges} == {1} and len(columns) == 3
    assert all(b - a - 1 <= WIDEST_GAP for a, b in pairwise([0, *columns, 14]))
    assert len(every.tiles) == 45 and len(every.bridges) == 13
    assert set(none.tiles) | set(needed.bridges) == set(needed.tiles)


def test_a_short_hole_is_left_and_a_deep_one_is_bridged_over_its_whole_depth() -> None:
    small = laid(ring_of((0, 0), (500, 0), (500, 300), (0, 300)), blank="needed")
    assert (small.columns, small.rows, small.bridges) == (5, 3, ())
    deep = laid(ring_of((0, 0), (700, 0), (700, 400), (0, 400)), blank="needed")
    # 5 × 2 blank: one line of two.
    assert (deep.columns, deep.rows) == (7, 4) and sorted(t.row for t in deep.bridges) == [1, 2]
    assert len({t.column for t in deep.bridges}) == 1


def test_sheets_that_a_line_alone_runs_over_are_among_all_and_only_there() -> None:
    wheel, hook = ring_of((0, 0), (40, 0), (40, 40), (0, 40)), ring_of((560, 0), (590, 0), (590, 40))
    datum = np.array(((-4.0, 20.0), (594.0, 20.0)))
    assert not laid(wheel, hook, blank="needed", lines=(datum,)).bridges
    every = laid(wheel, hook, blank="all", lines=(datum,))
    assert len(every.tiles) == every.columns * every.rows and len(every.bridges) == every.columns - 2


def test_sheets_that_meet_at_a_corner_alone_are_joined() -> None:
    tiling = Tiling(0, 220, 110, 110, 0, 2, 2, (Tile(0, 0), Tile(1, 1)))
    over = shapely.Polygon(((10, 200), (109, 112), (200, 10), (111, 108)))
    joined = with_bridges(tiling, [over], (), "needed")
    assert len(joined.tiles) == 3 and len(joined.bridges) == 1


@FEW
@given(st.lists(st.tuples(*(st.floats(-900, 900),) * 2, st.floats(20, 700), st.floats(20, 300)),
                min_size=1, max_size=3), st.sampled_from(("needed", "all")))
def test_every_piece_hangs_together_and_nothing_is_lost(
    boxes: list[tuple[float, float, float, float]], blank: Blank
) -> None:
    turn = np.array(((0.96, 0.28), (-0.28, 0.96)))
    rings = [
        np.array(((u, v), (u + a, v), (u + a, v + b), (u, v + b), (u, v))) @ turn for u, v, a, b in boxes
    ]
    bare, tiling = laid(*rings, blank="none"), laid(*rings, blank=blank)
    assert set(bare.tiles) == set(tiling.tiles) - set(tiling.bridges)
    for ring in rings:
        line = shapely.LineString(ring)
        own = {t for t in tiling.tiles if line.intersects(shapely.box(*tiling.core(t)))}
        assert holds_together(tiling, own)


@pytest.mark.parametrize("blank", ["none", "needed", "all"])
def test_one_sheet_is_left_as_it_is(blank: Blank) -> None:
    tiling = laid(ring_of((0, 0), (50, 0), (50, 50)), blank=blank)
    assert tiling.tiles == (Tile(0, 0),) and tiling.bridges == ()
