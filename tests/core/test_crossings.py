"""Where polygons meet themselves, told many pairs at once: held against one pair after another."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from pixel_count import Pixels

from core.design import Node, Outline
from core.geometry import crossings
from core.geometry.crossings import MOST_CROSSINGS, crossings_of, distinct_edges, tangle_of
from core.geometry.overlay import faces, faces_joined, union
from core.geometry.regions import _turns, region_of
from core.geometry.ring import ring_of, split_edge
from core.outline_form import form_of

SQUARE = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)])
EIGHT = np.array([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)])


def drawn_edges(seed: int, whole: bool) -> tuple[np.ndarray, np.ndarray]:
    """Ninety edges; on whole millimetres many touch, lie in line or on one another."""
    draw = np.random.default_rng(seed)
    ends = draw.integers(0, 9, (2, 90, 2)).astype(float) if whole else draw.uniform(0, 9, (2, 90, 2))
    a, b = ends
    b[np.all(a == b, axis=1)] += 1.0
    return a, b


@pytest.mark.parametrize("whole", (True, False))
@pytest.mark.parametrize("how", ("crosses", "intersects"))
@pytest.mark.parametrize("seed", range(3))
def test_pairs_are_told_as_one_by_one(seed: int, how: crossings.Predicate, whole: bool) -> None:
    a, b = drawn_edges(seed, whole)
    lines = [shapely.LineString(ends) for ends in zip(a, b, strict=True)]
    expected = {(i, j) for i, j in combinations(range(len(lines)), 2) if getattr(lines[i], how)(lines[j])}
    found: set[tuple[int, int]] = set()
    for first, second in crossings._near(a, b):
        found |= set(zip(*(n.tolist() for n in crossings._which(a, b, first, second, how)), strict=True))
    assert found == expected and len(expected) > 50


def test_a_side_is_told_only_where_it_is_sure() -> None:
    """Places on a line but for their last bits, against exact fractions."""
    a, b = (0.0, 0.0), (0.3, 0.1)
    above = np.array((0.0, 1e-15))
    along = np.linspace(0.001, 0.999, 300)[:, None] * b
    places = np.concatenate((along, np.nextafter(along, 1.0), np.nextafter(along, -1.0), along + above))
    found = crossings._side(np.broadcast_to(a, places.shape), np.broadcast_to(b, places.shape), places)
    (ax, az), (bx, bz) = (map(Fraction, end) for end in (a, b))
    exactly = [tuple(map(Fraction, place)) for place in places.tolist()]
    turns = [(ax - x) * (bz - z) - (az - z) * (bx - x) for x, z in exactly]
    exact = np.array([(turn > 0) - (turn < 0) for turn in turns])
    assert np.all((found == exact) | (found == 0))
    assert np.count_nonzero(found) > 300 and np.count_nonzero(found == 0) > 300


def test_near_pairs_are_all_whose_boxes_meet_in_portions(monkeypatch: pytest.MonkeyPatch) -> None:
    a, b = drawn_edges(7, whole=False)
    monkeypatch.setattr(crossings, "_PAIRS_AT_ONCE", 300)
    portions = [
        set(zip(first.tolist(), second.tolist(), strict=True)) for first, second in crossings._near(a, b)
    ]
    assert len(portions) > 5 and max(map(len, portions)) <= 300 + len(a)
    low, high = np.minimum(a, b), np.maximum(a, b)
    expected = {
        (i, j) for i, j in combinations(range(len(a)), 2)
        if np.all(low[i] <= high[j]) and np.all(low[j] <= high[i])
    }
    assert set.union(*portions) == expected


@pytest.mark.parametrize("seed", range(3))
def test_places_are_where_the_library_says_that_each_pair_meets(seed: int) -> None:
    """On whole millimetres, so that many share corners and stretches."""
    a, b = drawn_edges(seed, whole=True)
    edges = shapely.linestrings(np.stack((a, b), axis=1))
    shared = 0
    for i, j in combinations(range(len(a)), 2):
        if not edges[i].intersects(edges[j]):
            continue
        shared += bool({tuple(a[i]), tuple(b[i])} & {tuple(a[j]), tuple(b[j])})
        expected = shapely.get_coordinates(shapely.intersection(edges[i], edges[j]))
        found = crossings._places(edges, a, b, np.array([i]), np.array([j]))
        assert np.sort(found, axis=0) == pytest.approx(np.sort(expected, axis=0), abs=1e-12)
    assert shared > 20


def test_edges_gone_over_again_are_one() -> None:
    distinct, again = distinct_edges(np.concatenate((SQUARE, SQUARE, SQUARE)))
    assert distinct.tolist() == [0, 1, 2, 3] and again.tolist() == [4, 5, 6, 7, 8, 9, 10, 11]
    spur = np.array([(0.0, 0.0), (4.0, 0.0), (9.0, 0.0), (4.0, 0.0), (4.0, 4.0)])
    # There and back at once is a neighbour, as it is where two edges meet at a corner.
    assert distinct_edges(spur)[1].tolist() == []
    assert len(distinct_edges(spur)[0]) == 4


@pytest.mark.parametrize("times", (3, 80, 81, 2001))
def test_a_crossing_gone_over_again_and_again_is_one_crossing(times: int) -> None:
    ring = np.concatenate([EIGHT] * times)
    assert tangle_of(ring) is None
    filled = Pixels.over(-0.003, -0.0071, 10.003, 10.0071, 0.02).fill(EIGHT).sum() * 0.02**2 * (times % 2)
    assert region_of(ring).area == pytest.approx(filled, abs=0.5)
    assert region_of(ring).area == pytest.approx(50.0 * (times % 2))
    found = np.array(crossings_of(ring))
    assert len(found) == 5
    assert {tuple(p) for p in np.round(found, 6).tolist()} == {(5.0, 5.0), *map(tuple, EIGHT.tolist())}


def wave(number: int, split: bool) -> Outline:
    """A wavy curve of so many nodes, and back along it; ``split``: with twice as many nodes, elsewhere."""
    draw = np.random.default_rng(3)
    places = np.stack((np.linspace(0.0, 40.0 * number, number), draw.uniform(-20, 20, number)), axis=1)
    slopes = np.stack((draw.uniform(5, 18, number), draw.uniform(-30, 30, number)), axis=1)
    there = [
        Node(float(x), float(z), (-float(u), -float(w)), (float(u), float(w)))
        for (x, z), (u, w) in zip(places, slopes, strict=True)
    ]
    ring = ring_of(there)
    cubics = [
        half for edge in range(number - 1)
        for half in (
            split_edge(ring, edge, 0.37) if split
            else (np.stack((ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge])),)
        )
    ]
    back = [cubic[::-1] for cubic in reversed(cubics)]

    def handle(cubic: np.ndarray, to: int, of: int) -> tuple[float, float]:
        return float(cubic[to, 0] - cubic[of, 0]), float(cubic[to, 1] - cubic[of, 1])

    first = Node(there[0].x, there[0].z, handle(back[-1], 2, 3), there[0].handle_out)
    last = Node(there[-1].x, there[-1].z, there[-1].handle_in, handle(back[0], 1, 0))
    between = [
        Node(float(to[0, 0]), float(to[0, 1]), handle(by, 2, 3), handle(to, 1, 0))
        for by, to in pairwise(back)
    ]
    return Outline("wave", "fuselage", (first, *there[1:-1], last, *between))


def test_a_curve_there_and_back_has_no_area_and_is_not_called_a_tangle() -> None:
    """Some thousand edges cross their counterparts by the last bits of their places."""
    form = form_of(wave(200, split=False))
    lines = shapely.linestrings(np.stack((form.corners, np.roll(form.corners, -1, axis=0)), axis=1))
    counterparts = shapely.crosses(lines[: len(lines) // 2], lines[: len(lines) // 2 - 1 : -1])
    assert np.count_nonzero(counterparts) > MOST_CROSSINGS
    assert not form.tangled and form.fault is not None
    assert form.patch.moments.area < 1e-3
    assert "counts nothing" in form.fault or "thinner" in form.fault


def test_a_curve_there_and_back_over_other_nodes_is_refused_by_what_is_the_matter() -> None:
    form = form_of(wave(60, split=True))
    assert form.tangled and form.fault is not None
    assert form.fault.startswith("runs along itself there and back, so closely that it crosses itself ")
    assert form.fault.endswith("trace it again or delete it")


def flower(petals: int) -> np.ndarray:
    """So many petals, each from the same spot out and back to it."""
    turn = np.linspace(0.0, np.pi, petals, endpoint=False)
    rings = np.zeros((petals, 3, 2))
    for k, on in ((1, turn), (2, turn + 0.3 * np.pi / petals)):
        rings[:, k] = np.stack((100 * np.cos(on), 100 * np.sin(on)), axis=1)
    return np.asarray(rings.reshape(-1, 2) + np.array((30.0, 7.0)))


def test_petals_on_one_spot_are_counted_as_long_as_they_can_be(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = flower(120)
    one = 0.5 * 100**2 * np.sin(0.3 * np.pi / 120)
    assert region_of(ring).area == pytest.approx(120 * one, rel=1e-6)
    monkeypatch.setattr(crossings, "MOST_MEETINGS", 10_000)
    tangle = tangle_of(ring)
    assert tangle is not None and (tangle.x, tangle.z) == pytest.approx((30.0, 7.0))
    assert tangle.fault.startswith("comes back to the same places, one of them near x 30.0 mm, z 7.0 mm, ")


@pytest.mark.parametrize("seed", range(4))
def test_turns_are_the_sum_of_the_angles_seen(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    draw = np.random.default_rng(seed)
    closed = draw.uniform(-5, 5, (40, 2))
    closed[-1] = closed[0]
    places = draw.uniform(-6, 6, (200, 2))
    towards = closed - places[:, None]
    angles = np.arctan2(towards[..., 1], towards[..., 0])
    expected = np.rint((np.mod(np.diff(angles, axis=1) + np.pi, 2 * np.pi) - np.pi).sum(axis=1) / (2 * np.pi))
    assert np.array_equal(_turns(closed, places), expected) and len(set(expected)) > 3
    monkeypatch.setattr("core.geometry.regions._SPANS_AT_ONCE", 50)
    assert np.array_equal(_turns(closed, places), expected)


def test_faces_joined_are_their_union() -> None:
    draw = np.random.default_rng(1)
    line = shapely.LineString(draw.uniform(0, 100, (40, 2)))
    found = faces([line])
    some = found[draw.uniform(size=len(found)) < 0.5]
    joined, united = faces_joined(some), union(some)
    assert joined.is_valid and joined.symmetric_difference(united).area < 1e-6
    assert joined.area == pytest.approx(united.area, rel=1e-12)


def test_faces_that_overlap_after_all_are_united() -> None:
    assert faces_joined(shapely.box([0, 2], 0, [4, 6], 1)).area == pytest.approx(6.0)
    assert faces_joined(np.array([], dtype=object)).is_empty
