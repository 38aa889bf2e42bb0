"""Rings of cubic edges: flattening, exact moments, the nearest point, splitting."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely
from green import exact_moments
from hypothesis import example, given
from hypothesis import strategies as st
from making import MANY, SOME, curved_outline, handles, nodes

from core.design import Node
from core.geometry.ring import (
    TOLERANCE,
    Array,
    Ring,
    bounds,
    flatten,
    nearest_on,
    point_on,
    ring_of,
    split_edge,
)

RINGS = st.lists(nodes(), min_size=2, max_size=6)
LARGE = st.lists(nodes(-4000, 4000, 3000), min_size=2, max_size=3)


def sampled(ring: Ring, steps: int) -> Array:
    """``steps`` points evenly in t on every edge, by the Bernstein form, shape (N · steps, 2)."""
    t = (np.arange(steps) / steps)[None, :, None]
    p0, p1, p2, p3 = (p[:, None, :] for p in (ring.p0, ring.p1, ring.p2, ring.p3))
    points = (1 - t) ** 3 * p0 + 3 * t * (1 - t) ** 2 * p1 + 3 * t * t * (1 - t) * p2 + t**3 * p3
    return np.asarray(points.reshape(-1, 2))


def farthest(points: Array, line: Array) -> float:
    """The greatest distance in mm from any of ``points`` to the closed polyline ``line``."""
    # In short pieces behind a tree: one long line would be walked along for every point.
    ends = np.stack((line, np.roll(line, -1, axis=0)), axis=1)
    tree = shapely.STRtree(list(np.asarray(shapely.linestrings(ends))))
    _, distances = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    return float(distances.max())


def middles(corners: Array) -> Array:
    """Corners and the points at a quarter, a half and three quarters of every chord."""
    after = np.roll(corners, -1, axis=0)
    return np.concatenate([corners + (after - corners) * f for f in (0, 0.25, 0.5, 0.75)])


def stays_close(ring: Ring, steps: int) -> None:
    corners = flatten(ring)
    # The reference is itself a polyline: its own chords sag by |P''| h²/8.
    bend = 6 * float(
        np.abs(np.concatenate((ring.p0 - 2 * ring.p1 + ring.p2, ring.p1 - 2 * ring.p2 + ring.p3))).max()
    )
    own = 2**0.5 * bend / steps**2 / 8
    truth = sampled(ring, steps)
    assert own < 0.3 * TOLERANCE
    assert farthest(truth, corners) <= TOLERANCE
    assert farthest(middles(corners), truth) <= TOLERANCE + own


@SOME
@given(RINGS)
@example([Node(0, 0, None, (300, 0)), Node(0, 1, (300, 0), None)])
@example([Node(0, 0, (-80, -80), (80, 80)), Node(0.5, 0, (-80, 80), (80, -80))])
def test_no_flattened_point_is_off_by_more_than_a_hundredth(corners: list[Node]) -> None:
    stays_close(ring_of(corners), 600)


@pytest.mark.parametrize("reach", (900.0, 3000.0, 20_000.0))
def test_the_tolerance_holds_on_large_curves_too(reach: float) -> None:
    ring = ring_of(
        [Node(0, 0, None, (reach, 0.3 * reach)), Node(reach, 0, (reach, -0.2 * reach), None), Node(0, -5)]
    )
    stays_close(ring, int(100 * reach**0.5))


def test_a_file_full_of_absurd_curves_does_not_fill_the_memory() -> None:
    far = 1_000_000.0
    ring = ring_of([Node(0, k, (far, -far), (-far, far)) for k in range(2000)])
    assert len(flatten(ring)) <= 1_000_000


@MANY
@given(RINGS)
def test_nodes_are_kept_exactly_and_in_order(corners: list[Node]) -> None:
    kept = {tuple(p): i for i, p in enumerate(flatten(ring_of(corners)).tolist())}
    places = [kept[(n.x, n.z)] for n in corners]
    if len({(n.x, n.z) for n in corners}) == len(corners):
        assert places == sorted(places)


def test_a_straight_ring_is_its_nodes() -> None:
    corners = [Node(0, 0), Node(10, 0), Node(10, 5)]
    assert flatten(ring_of(corners)).tolist() == [[0, 0], [10, 0], [10, 5]]
    assert not ring_of(corners).curved.any()


def test_no_nodes_no_ring() -> None:
    assert len(ring_of([])) == 0
    assert flatten(ring_of([])).shape == (0, 2)
    assert exact_moments(ring_of([])) == (0, 0, 0)
    with pytest.raises(ValueError, match="no nearest point"):
        nearest_on(ring_of([]), 0, 0)


@pytest.mark.parametrize("across", (20.0, 90.0, 400.0, 1500.0))
def test_area_and_moments_of_smooth_outlines_survive_flattening(across: float) -> None:
    ring = ring_of(curved_outline("e", "fuselage", 300, 40, across).nodes)
    area, mx, mz = exact_moments(ring)
    flat = shapely.Polygon(flatten(ring))
    assert flat.area == pytest.approx(area, rel=1e-5)
    assert (flat.centroid.x, flat.centroid.y) == pytest.approx((mx / area, mz / area), abs=1e-5 * across)


def polynomial_moments(corners: list[Node]) -> tuple[Fraction, Fraction, Fraction]:
    """∮x dz, ½∮x² dz, −½∮z² dx in exact fractions, from the edges' power-basis coefficients."""

    def times(a: list[Fraction], b: list[Fraction]) -> list[Fraction]:
        out = [Fraction()] * (len(a) + len(b) - 1)
        for i, p in enumerate(a):
            for j, q in enumerate(b):
                out[i + j] += p * q
        return out

    def slope(a: list[Fraction]) -> list[Fraction]:
        return [k * c for k, c in enumerate(a)][1:]

    def integral(a: list[Fraction]) -> Fraction:
        return sum((c / (k + 1) for k, c in enumerate(a)), Fraction())

    area = about_x = about_z = Fraction()
    for i, here in enumerate(corners):
        there = corners[(i + 1) % len(corners)]
        power = []
        for k, axis in enumerate(("x", "z")):
            p0, p3 = Fraction(getattr(here, axis)), Fraction(getattr(there, axis))
            p1 = p0 + Fraction((here.handle_out or (0, 0))[k])
            p2 = p3 + Fraction((there.handle_in or (0, 0))[k])
            power.append([p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - 3 * p2 + 3 * p1 - p0])
        x, z = power
        area += integral(times(x, slope(z)))
        about_x += integral(times(times(x, x), slope(z))) / 2
        about_z -= integral(times(times(z, z), slope(x))) / 2
    return area, about_x, about_z


@SOME
@given(RINGS)
def test_exact_moments_against_fractions(corners: list[Node]) -> None:
    expected = polynomial_moments(corners)
    # 380 mm is the farthest a point can lie: rounding is 1e-16 of what cancels, some 1e5 mm² and 1e8 mm³.
    area, mx, mz = exact_moments(ring_of(corners))
    assert area == pytest.approx(float(expected[0]), rel=1e-11, abs=1e-8)
    assert (mx, mz) == pytest.approx((float(expected[1]), float(expected[2])), rel=1e-11, abs=1e-5)


@SOME
@given(RINGS, st.floats(-400, 400), st.floats(-400, 400))
def test_nearest_point_against_brute_force(corners: list[Node], x: float, z: float) -> None:
    ring = ring_of(corners)
    edge, t, distance = nearest_on(ring, x, z)
    brute = float(np.hypot(*(sampled(ring, 2000) - (x, z)).T).min())
    assert 0 <= edge < len(ring) and 0.0 <= t <= 1.0
    assert distance == pytest.approx(float(np.hypot(*(point_on(ring, edge, t) - (x, z)))), abs=1e-9)
    # Half a screen pixel at the closest zoom is 0.05 mm; the search is far finer than that.
    assert distance <= brute + 0.05


def test_the_nearest_point_of_a_long_curve_is_found_beside_a_crowd_of_short_edges() -> None:
    """The long edge passes at 1 mm, between its samples; eight short ones end 20 mm away."""
    long = [Node(-1000, 0, None, (700, 1)), Node(1000, 0, (-700, 1), None)]
    crowd = [Node(20 + 3 * k, -20 - 5 * (k % 2), (1, 1), (-1, 1)) for k in range(9, -1, -1)]
    ring = ring_of([*long, *crowd])
    for x in np.linspace(-900, 900, 37):
        edge, _, distance = nearest_on(ring, float(x), 2.0)
        assert edge == 0
        assert distance < 2.1


@SOME
@given(RINGS, st.floats(0, 1), st.floats(0, 1))
def test_a_split_edge_traces_the_same_curve(corners: list[Node], t: float, u: float) -> None:
    ring = ring_of(corners)
    for edge in range(len(ring)):
        first, second = split_edge(ring, edge, t)
        assert first[0].tolist() == ring.p0[edge].tolist()
        assert second[3].tolist() == ring.p3[edge].tolist()
        assert first[3].tolist() == second[0].tolist()
        for piece, whole in ((first, u * t), (second, t + u * (1 - t))):
            one = Ring(*(piece[k][None, :] for k in range(4)))
            assert point_on(one, 0, u) == pytest.approx(point_on(ring, edge, whole), abs=1e-9)


@MANY
@given(RINGS)
def test_bounds_hold_every_point(corners: list[Node]) -> None:
    ring = ring_of(corners)
    low_x, low_z, high_x, high_z = bounds(ring)
    points = sampled(ring, 20)
    slack = 1e-9
    assert (points >= (low_x - slack, low_z - slack)).all() and (
        points <= (high_x + slack, high_z + slack)
    ).all()


@MANY
@given(handles(50), handles(50))
def test_a_missing_handle_lies_on_its_node(
    out: tuple[float, float] | None, into: tuple[float, float] | None
) -> None:
    ring = ring_of([Node(0, 0, None, out), Node(100, 0, into, None), Node(50, 80)])
    assert ring.p1[0].tolist() == list(out or (0, 0))
    assert ring.p2[0].tolist() == [100 + (into or (0, 0))[0], (into or (0, 0))[1]]
    assert ring.curved.tolist() == [(out or (0, 0)) != (0, 0) or (into or (0, 0)) != (0, 0), False, False]
