"""Cutting along a line, against the library's overlay; area integrals, against textbook sections."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.geometry.half_plane import across, beyond, beyond_line
from core.geometry.regions import rings_of
from core.geometry.second_moments import second_moments
from tests.core.making import MANY

_corners = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=3, max_size=9, unique=True
)


@given(_corners, st.floats(0.0, 2 * math.pi), st.floats(-25.0, 25.0))
@MANY
def test_any_region_cut_along_any_line(
    corners: list[tuple[int, int]], angle: float, offset: float
) -> None:
    region = shapely.Polygon(corners)
    if not region.is_valid or region.area < 1e-6:
        return
    normal = np.array((math.cos(angle), math.sin(angle)))
    found = beyond_line(region, normal, offset)
    along = np.array((-normal[1], normal[0]))
    foot = offset * normal
    half = shapely.Polygon((
        foot + 100 * along, foot - 100 * along, foot - 100 * along + 100 * normal,
        foot + 100 * along + 100 * normal,
    ))
    wanted = shapely.intersection(region, half)
    assert found.area == pytest.approx(wanted.area, abs=1e-4)
    assert found.is_valid or found.area < 1e-3
    # The line's stretches inside are as long as those that the library finds, corners on it left aside.
    line = shapely.LineString((foot - 100 * along, foot + 100 * along))
    if min(abs(np.array(corners) @ normal - offset)) > 1e-6:
        inside = across([ring for ring, _ in rings_of(region)], normal, offset)
        long = sum(float(np.hypot(*(b - a))) for a, b in inside)
        assert long == pytest.approx(shapely.intersection(line, region).length, abs=1e-6)


def test_whole_nothing_and_more_than_one_piece() -> None:
    square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
    assert beyond(square, (1.0, 0.0), -1.0) is square
    assert beyond(square, (1.0, 0.0), 5.0) == []
    assert beyond(square, (1.0, 0.0), 4.0) == []
    fork = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (6.0, 9.0), (6.0, 3.0), (3.0, 3.0), (3.0, 9.0), (0.0, 9.0)]
    assert beyond(fork, (0.0, 1.0), 5.0) is None
    prongs = beyond_line(shapely.Polygon(fork), np.array((0.0, 1.0)), 5.0)
    assert prongs.area == pytest.approx(2 * 3 * 4)


def test_second_moments_of_textbook_sections() -> None:
    """Rectangle b h³/12 and triangle b h³/36 about their own middles; product of a right triangle b²h²/72.

    Any handbook of structural sections; from memory.
    """
    b, h = 30.0, 12.0
    m = second_moments(shapely.box(-b / 2, -h / 2, b / 2, h / 2))
    assert (m.area, m.x, m.y, m.xy) == pytest.approx((b * h, 0.0, 0.0, 0.0))
    assert (m.yy, m.xx) == pytest.approx((b * h**3 / 12, h * b**3 / 12))
    t = second_moments(shapely.Polygon(((-b / 3, -h / 3), (2 * b / 3, -h / 3), (-b / 3, 2 * h / 3))))
    assert (t.yy, t.xx, t.xy) == pytest.approx((b * h**3 / 36, h * b**3 / 36, -(b**2) * h**2 / 72))
    holed = shapely.Polygon(
        ((-9, -9), (9, -9), (9, 9), (-9, 9)), [((-3, -3), (3, -3), (3, 3), (-3, 3))]
    )
    assert second_moments(holed).xx == pytest.approx((18**4 - 6**4) / 12)
