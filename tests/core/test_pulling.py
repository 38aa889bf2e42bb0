"""A path drawn loosely round a shape comes on to the drawn line, whatever crosses or runs beside it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from drawn_ink import curve_points, drawn, spoilt
from plan_maker import Plan, loose_pen, plan, straight

from core.ink.fitting import closed_joints
from core.ink.pulling import Pull, flipped, pull

MM = 25.4 / 150.0


@cache
def sheeted() -> Plan:
    return plan("sheeted", 61, dpi=150.0)


def pulled(whole: Plan, mm: np.ndarray, *, closed: bool = True) -> Pull:
    found = pull(whole.grey, whole.px(mm), closed=closed, mm_per_px=whole.mm_per_px)
    assert not isinstance(found, str), found
    return found


def nearest_flips(whole: Plan, name: str, found: Pull) -> Pull:
    """What a user makes of it who watches: each choice flipped that lies nearer so."""
    true = shapely.LinearRing(whole.outlines[name])

    def off(one: Pull) -> float:
        return float(shapely.distance(shapely.points(whole.mm(one.points)), true).mean())

    for k in range(len(found.choices)):
        trial = flipped(found, k)
        if off(trial) < off(found) - 0.02:
            found = trial
    return found


def off_line(points: np.ndarray, true: np.ndarray) -> np.ndarray:
    return shapely.distance(shapely.points(points), shapely.LinearRing(true))


@pytest.mark.parametrize(
    ("character", "seed", "name"),
    [("sheeted", 61, "fuselage"), ("pencil", 62, "rudder"), ("blueprint", 63, "fin")],
)
def test_once_round_and_the_outline_lies_on_the_drawn_line(character: str, seed: int, name: str) -> None:
    """Area within 0.5 % and points within half a pen's width of what was drawn, corners included.

    The pencil's corners may have fallen into a break of the line.
    """
    whole = plan(character, seed, dpi=150.0)  # type: ignore[arg-type]
    true = whole.outlines[name]
    found = nearest_flips(whole, name, pulled(whole, loose_pen(true, seed)))
    joints = closed_joints(whole.mm(found.points))
    curve = curve_points(joints, closed=True)
    assert abs(shapely.Polygon(curve).area / shapely.Polygon(true).area - 1) < 0.005
    assert np.quantile(off_line(whole.mm(found.points), true), 0.99) < 0.25
    assert len(joints) <= 20


def test_the_fitted_curve_does_not_part_from_the_points_where_there_is_ink() -> None:
    """0.25 mm both ways, the corners' own points included."""
    for character, seed, name in (("pencil", 64, "fin"), ("sheeted", 61, "rudder"), ("sheeted", 61, "fin")):
        whole = sheeted() if character == "sheeted" else plan("pencil", seed, dpi=150.0)
        found = pulled(whole, loose_pen(whole.outlines[name], seed))
        points = whole.mm(found.points)
        curve = curve_points(closed_joints(points), closed=True, per_edge=300)
        inked = np.ones(len(points), dtype=bool)
        for first, last in found.bare:
            inked[first : last + 1] = False
        assert inked.mean() > 0.8
        assert off_line(points[inked], curve).max() < 0.25


def test_light_lines_on_dark_need_no_telling() -> None:
    whole = sheeted()
    path = whole.px(loose_pen(whole.outlines["rudder"], 3))
    dark = pull(whole.grey, path, closed=True, mm_per_px=whole.mm_per_px)
    light = pull(255 - whole.grey, path, closed=True, mm_per_px=whole.mm_per_px)
    assert isinstance(dark, Pull)
    assert isinstance(light, Pull)
    np.testing.assert_allclose(light.points, dark.points, atol=0.05)


def ladder(*, gap: float = 0.0, second: float | None = None) -> tuple[np.ndarray, np.ndarray]:
    """A level line 100 mm long, rungs across it; (grey, mm_to_px). ``second``: another line so far above."""
    lines = [(straight((0.0, 20.0), (50.0 - gap / 2, 20.0)), 0.5)]
    lines.append((straight((50.0 + gap / 2, 20.0), (100.0, 20.0)), 0.5))
    lines += [(straight((x, 0.0), (x, 40.0)), 0.5) for x in np.arange(8.0, 100.0, 9.0)]
    if second is not None:
        lines.append((straight((20.0, 20.0 + second), (80.0, 20.0 + second)), 0.5))
    ink, to_px = drawn(lines, 150.0, (100.0, 40.0))
    return spoilt(ink, "noisy", 5), to_px


def along(grey: np.ndarray, to_px: np.ndarray, mm: np.ndarray) -> tuple[Pull, np.ndarray]:
    found = pull(grey, mm @ to_px[:2, :2].T + to_px[:2, 2], closed=False, mm_per_px=MM)
    assert isinstance(found, Pull), found
    back = np.linalg.inv(to_px)
    return found, found.points @ back[:2, :2].T + back[:2, 2]


def wavy() -> np.ndarray:
    x = np.linspace(2.0, 98.0, 200)
    return np.stack((x, 20.0 + 4.0 * np.sin(x / 14.0)), axis=1)


def test_lines_as_thick_that_cross_are_not_followed_and_a_gap_is_joined() -> None:
    grey, to_px = ladder(gap=9.0)
    found, points = along(grey, to_px, wavy())
    assert np.abs(points[:, 1] - 20.0).max() < 0.2
    assert len(found.bare) == 1
    first, last = found.bare[0]
    assert points[first, 0] == pytest.approx(45.5, abs=2.5)
    assert points[last, 0] == pytest.approx(54.5, abs=2.5)


def test_a_second_line_is_a_choice_and_flipping_takes_it_and_gives_it_back() -> None:
    grey, to_px = ladder(second=2.5)
    found, points = along(grey, to_px, wavy() - [0.0, 2.0])
    assert np.abs(points[:, 1] - 20.0).max() < 0.2
    assert len(found.choices) == 1
    choice = found.choices[0]
    assert points[choice.first, 0] == pytest.approx(20.0, abs=4.0)
    assert points[choice.last, 0] == pytest.approx(80.0, abs=4.0)
    other = flipped(found, 0)
    back = np.linalg.inv(to_px)
    moved = other.points @ back[:2, :2].T + back[:2, 2]
    inner = moved[(moved[:, 0] > 24.0) & (moved[:, 0] < 76.0)]
    assert np.abs(inner[:, 1] - 22.5).max() < 0.15
    np.testing.assert_array_equal(other.points[: choice.first], found.points[: choice.first])
    assert np.array_equal(flipped(other, 0).points, found.points)
    with pytest.raises(IndexError, match="choice 1"):
        flipped(found, 1)


def test_the_thicker_of_two_lines_wins_even_from_further_off() -> None:
    lines = [(straight((0.0, 18.0), (100.0, 18.0)), 0.6), (straight((0.0, 21.0), (100.0, 21.0)), 0.25)]
    ink, to_px = drawn(lines, 150.0, (100.0, 40.0))
    path = np.stack((np.linspace(2.0, 98.0, 100), np.full(100, 20.5)), axis=1)
    _, points = along(spoilt(ink, "noisy", 6), to_px, path)
    assert np.abs(points[:, 1] - 18.0).max() < 0.2


def test_slips_of_the_pen_change_little() -> None:
    whole = sheeted()
    pen = loose_pen(whole.outlines["rudder"], 8)
    plain = whole.mm(pulled(whole, pen).points)
    turn = np.linspace(0.0, 2 * np.pi, 30)
    k = len(pen) // 3
    loop = pen[k] + 2.0 * np.stack((np.cos(turn) - 1.0, np.sin(turn)), axis=1)
    twice = np.vstack((pen, pen + np.array([0.8, -0.8])))
    for slipped in (np.vstack((pen[:k], loop, pen[k:])), twice, pen[::-1]):
        again = whole.mm(pulled(whole, slipped).points)
        assert shapely.Polygon(again).area == pytest.approx(shapely.Polygon(plain).area, rel=0.002)


def test_what_cannot_be_pulled_is_told_in_a_clause() -> None:
    whole = sheeted()
    pen = loose_pen(whole.outlines["fin"], 2)
    turn = np.linspace(0.0, 2 * np.pi, 300, endpoint=False)
    eight = pen.mean(axis=0) + np.stack((30.0 * np.sin(turn), 20.0 * np.sin(2 * turn)), axis=1)

    def told(mm: np.ndarray, grey: np.ndarray = whole.grey, **more: object) -> object:
        return pull(grey, whole.px(mm), closed=True, mm_per_px=whole.mm_per_px, **more)  # type: ignore[arg-type]

    grain = np.random.default_rng(1).normal(215.0, 7.0, whole.grey.shape)
    for grey in (np.full_like(whole.grey, 255), np.clip(grain, 0, 255).astype(np.uint8)):
        assert str(told(pen, grey)).startswith("no drawn line runs along the path")
    assert str(told(pen + 3000.0)).startswith("the path lies beside the picture")
    assert str(told(eight)).startswith("the path crosses itself")
    for short in (pen[:0], pen[:1], pen[:2], np.repeat(pen[:1], 9, axis=0), pen * np.nan):
        assert str(told(short)).startswith("the path is too short")
    assert told(pen, gone=lambda: True) == "no longer wanted"


def test_only_the_pixels_of_the_band_are_looked_at() -> None:
    """Whatever is drawn elsewhere changes nothing: not a level, not a polarity."""
    whole = sheeted()
    pen = loose_pen(whole.outlines["rudder"], 4)
    box = whole.px(pen)
    low, high = (box.min(axis=0) - 100).astype(int), (box.max(axis=0) + 100).astype(int)
    other = 255 - whole.grey
    other[low[1] : high[1], low[0] : high[0]] = whole.grey[low[1] : high[1], low[0] : high[0]]
    ours = pull(other, box, closed=True, mm_per_px=whole.mm_per_px)
    assert isinstance(ours, Pull)
    np.testing.assert_allclose(ours.points, pulled(whole, pen).points, atol=1e-9)


def test_a_long_stretch_with_nothing_drawn_on_pure_white_is_bare_and_stays_with_the_pen() -> None:
    """Three sides of a box 240 mm long: along the fourth there is not a grain of darkness."""
    corners = ((240.0, 40.0), (240.0, 5.0), (5.0, 5.0), (5.0, 40.0))
    ink, to_px = drawn([(straight(*corners), 0.5)], 150.0, (245.0, 45.0))
    grey = np.asarray(np.round(255.0 * (1.0 - ink)), dtype=np.uint8)
    true = np.array(corners)
    path = loose_pen(straight(*corners, corners[0])[:-1], 3)
    found = pull(grey, path @ to_px[:2, :2].T + to_px[:2, 2], closed=True, mm_per_px=MM)
    assert isinstance(found, Pull), found
    back = np.linalg.inv(to_px)
    points = found.points @ back[:2, :2].T + back[:2, 2]
    bare = np.zeros(len(points), dtype=bool)
    for first, last in found.bare:
        bare[first : last + 1] = True
    assert np.isfinite(points).all()
    assert np.ptp(points[bare, 0]) > 220.0
    assert np.abs(points[bare, 1] - 40.0).max() < 8.0
    assert shapely.distance(shapely.points(points[~bare]), shapely.LineString(true)).max() < 3.0
    deep = ~bare & (points[:, 1] < 30.0)
    assert shapely.distance(shapely.points(points[deep]), shapely.LineString(true)).max() < 0.15


def test_any_pen_on_any_picture_gives_sound_points_or_a_clause() -> None:
    rng = np.random.default_rng(12)
    sound = 0
    for case in range(24):
        high, wide = rng.integers(40, 300, 2)
        grey = np.full((high, wide), rng.integers(0, 256), dtype=np.uint8)
        for _ in range(6):
            grey[rng.integers(high) :][: rng.integers(1, 6)] = rng.integers(256)
            grey[:, rng.integers(wide) :][:, : rng.integers(1, 6)] = rng.integers(256)
        turn = np.linspace(0.0, rng.uniform(1.0, 9.0), 60)
        pen = rng.uniform(8.0, 120.0) * np.stack((np.cos(turn), 0.6 * np.sin(turn)), axis=1)
        pen += np.array([wide, high]) / 2 + rng.normal(0.0, 1.5, pen.shape)
        found = pull(grey, pen, closed=bool(case % 2), mm_per_px=float(rng.choice([0.05, 0.127, 0.25])))
        if isinstance(found, str):
            continue
        sound += 1
        assert np.isfinite(found.points).all()
        for k in range(len(found.choices)):
            one = flipped(found, k)
            spans = [(c.first, c.last) for c in one.choices] + list(one.bare)
            assert all(0 <= first <= last < len(one.points) for first, last in spans)
            assert np.array_equal(flipped(one, k).points, found.points)
    assert sound >= 6
