"""Few cubic edges through many points: known curves come back, corners and straight runs as such."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn_ink import curve_points
from hypothesis import given, settings
from hypothesis import strategies as st

from core.ink.fitting import closed_joints, nodes_along


def off(points: np.ndarray, joints: tuple[object, ...], *, closed: bool) -> float:
    curve = curve_points(joints, closed=closed)
    line = shapely.LinearRing(curve) if closed else shapely.LineString(curve)
    return float(shapely.distance(shapely.points(points), line).max())


def test_straight_line_is_one_straight_edge() -> None:
    joints = nodes_along(np.linspace([3.0, 4.0], [60.0, 9.0], 200))
    assert [(j.x, j.z, j.handle_in, j.handle_out) for j in joints] == [
        (3.0, 4.0, None, None), (60.0, 9.0, None, None)
    ]


def test_quarter_circle_is_one_cubic() -> None:
    """A cubic holds a quarter circle of radius r to 0.00027 r (closed form): 0.014 mm of 50 mm."""
    a = np.linspace(0.0, np.pi / 2, 300)
    circle = 50.0 * np.stack((np.cos(a), np.sin(a)), axis=1)
    joints = nodes_along(circle, 0.05)
    assert len(joints) == 2
    assert joints[0].handle_in is None
    assert joints[1].handle_out is None
    assert off(circle, joints, closed=False) < 0.05


def test_corners_stay_and_straight_sides_stay_straight() -> None:
    corners = np.array([[0.0, 0.0], [20.0, 60.0], [55.0, 62.0], [60.0, 0.0]])
    sides = [
        np.linspace(a, b, 150, endpoint=False)
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    points = np.vstack(sides) + np.random.default_rng(4).normal(0.0, 0.01, (600, 2))
    joints = closed_joints(points)
    assert len(joints) == 4
    assert all(j.corner and j.handle_in is None and j.handle_out is None for j in joints)
    found = np.array([(j.x, j.z) for j in joints])
    for corner in corners:
        assert np.hypot(*(found - corner).T).min() < 0.1


def test_straight_run_into_an_arc_keeps_both() -> None:
    """A nose: 60 mm straight, a half circle of radius 15, 60 mm straight back."""
    a = np.linspace(-np.pi / 2, np.pi / 2, 200)
    arc = np.stack((60 + 15 * np.cos(a), 15 * np.sin(a)), axis=1)
    out, back = np.linspace([0.0, -15.0], [59.9, -15.0], 240), np.linspace([59.9, 15.0], [0.0, 15.0], 240)
    points = np.vstack((out, arc, back))
    joints = nodes_along(points)
    assert len(joints) <= 6
    assert not any(j.corner for j in joints)
    assert joints[0].handle_out is None
    assert joints[-1].handle_in is None
    assert off(points, joints, closed=False) < 0.15


@settings(max_examples=3)
@given(st.integers(0, 10**6))
def test_smooth_closed_curves_are_held_within_the_tolerance(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a = np.linspace(0.0, 2 * np.pi, 700, endpoint=False)
    radius = 40 + sum(rng.normal(0, 4 / n) * np.cos(n * a + rng.uniform(0, 6)) for n in (1, 2, 3))
    points = np.stack((radius * np.cos(a) * 1.5, radius * np.sin(a)), axis=1)
    joints = closed_joints(points, 0.1)
    assert off(points, joints, closed=True) < 0.13
    assert len(joints) <= 14


def test_nothing_to_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="two different points"):
        nodes_along(np.array([[1.0, 1.0], [1.0, 1.0]]))
    with pytest.raises(ValueError, match="three points"):
        closed_joints(np.array([[1.0, 1.0], [2.0, 1.0]]))
