"""Circles of four cubics, held against the circle by dense points, its area, and school geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.geometry.ring import point_on, ring_of, signed_area
from core.redesign.circles import circle, through
from core.redesign.outline_edits import EditError


def test_the_rim_is_within_three_parts_in_ten_thousand_everywhere() -> None:
    ring = ring_of(circle(30.0, -12.0, 57.0))
    away = np.array([
        math.dist(point_on(ring, e, t).tolist(), (30.0, -12.0))
        for e in range(4) for t in np.linspace(0, 1, 501)
    ])
    assert np.abs(away / 57.0 - 1.0).max() < 3e-4
    assert signed_area(ring) == pytest.approx(math.pi * 57.0**2, rel=3e-4)


def test_three_points_of_a_circle_give_it_back_and_three_in_a_line_do_not() -> None:
    points = [(200.0 + 41.0 * math.cos(a), 7.0 + 41.0 * math.sin(a)) for a in (0.3, 1.9, 4.4)]
    assert through(*points) == pytest.approx((200.0, 7.0, 41.0))
    # Thales: the right angle stands on the diameter.
    assert through((0.0, 0.0), (6.0, 0.0), (0.0, 8.0)) == pytest.approx((3.0, 4.0, 5.0))
    a, b, c = (0.0, 0.0), (1.0, 1.0), (2.0, 2.0)
    for line in ((a, b, c), (a, a, a), (a, a, b)):
        with pytest.raises(EditError, match="one line"):
            through(*line)
    for radius in (0.0, -3.0, math.nan, math.inf):
        with pytest.raises(EditError, match="radius"):
            circle(0.0, 0.0, radius)
