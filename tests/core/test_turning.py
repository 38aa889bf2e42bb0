"""Turns that save sheets, against closed forms of bars and rectangles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import FEW

from core.bench.tiling import Tiling, tile_over
from core.bench.turning import fewest, turn_matrix
from core.geometry.ring import Array

PORTRAIT, LANDSCAPE = (194.0, 249.0), (281.0, 167.0)


def bar(length: float, wide: float) -> Array:
    return np.array(((0.0, 0.0), (length, 0.0), (length, wide), (0.0, wide), (0.0, 0.0)))


def turned_least(line: Array, *windows: tuple[float, float]) -> tuple[float, int, int]:
    def lay(degrees: float, which: int) -> Tiling:
        return tile_over([line @ turn_matrix(degrees)], *windows[which], 10.0, reach=0.4)

    degrees, which, tiling = fewest([line], windows, 0.4, lay)
    return degrees, which, len(tiling.tiles)


def test_turned_anticlockwise_and_quarters_exactly() -> None:
    assert (np.array((3.0, 0.0)) @ turn_matrix(30.0)) == pytest.approx((3 * math.sqrt(0.75), 1.5))
    assert (np.array(((1.0, 2.0),)) @ turn_matrix(90.0)).tolist() == [[-2.0, 1.0]]
    assert (np.array(((1.0, 2.0),)) @ turn_matrix(-90.0)).tolist() == [[2.0, -1.0]]
    assert (np.array(((1.0, 2.0),)) @ turn_matrix(180.0)).tolist() == [[-1.0, -2.0]]


def test_what_fits_as_drawn_is_left_so() -> None:
    assert turned_least(bar(190, 240), PORTRAIT, LANDSCAPE) == (0.0, 0, 1)
    assert turned_least(bar(270, 100), PORTRAIT, LANDSCAPE) == (0.0, 1, 1)


def test_a_quarter_before_any_other_angle() -> None:
    assert turned_least(bar(150, 275), PORTRAIT, LANDSCAPE) == (90.0, 1, 1)


@pytest.mark.parametrize("length", [290.0, 300.0, 310.0])
def test_a_slim_bar_longer_than_the_window_lies_along_its_diagonal(length: float) -> None:
    wide = 4.0
    degrees, _, sheets = turned_least(bar(length, wide), PORTRAIT)
    a = math.radians(abs(degrees))
    # Its extents by hand.
    assert sheets == 1
    assert length * math.cos(a) + wide * math.sin(a) + 0.8 <= 194.0 + 1e-9
    assert length * math.sin(a) + wide * math.cos(a) + 0.8 <= 249.0 + 1e-9
    less = math.radians(abs(degrees) - 1.0)
    # And no smaller turn would do.
    assert length * math.cos(less) + wide * math.sin(less) + 0.8 > 194.0


def test_longer_than_the_diagonal_takes_two() -> None:
    assert math.hypot(*PORTRAIT) < 330
    assert turned_least(bar(330, 4), PORTRAIT)[2] == 2


@FEW
@given(st.floats(20, 900), st.floats(10, 500))
def test_never_more_than_as_drawn(length: float, wide: float) -> None:
    as_drawn = min(
        len(tile_over([bar(length, wide)], *window, 10.0, reach=0.4).tiles)
        for window in (PORTRAIT, LANDSCAPE)
    )
    degrees, _, sheets = turned_least(bar(length, wide), PORTRAIT, LANDSCAPE)
    assert sheets < as_drawn if degrees else sheets == as_drawn
