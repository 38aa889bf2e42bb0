"""Following drawn lines and centring on them, against the curves that were drawn."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn_ink import Picture, Shape, curve_points, drawn, fin, fuselage, picture_of, spoilt

from core.ink.centring import centred, nearest_ink
from core.ink.fitting import Joint, closed_joints
from core.ink.following import Follower, follow


def traced(picture: Picture, clicks: np.ndarray, reach: float = 10.0) -> tuple[Joint, ...]:
    """As the hand does it: clicks snapped, followed from one to the next, all centred and fitted as one."""
    at = [nearest_ink(picture.grey, (float(u), float(v)), reach) or (float(u), float(v)) for u, v in clicks]
    runs = [follow(picture.grey, a, b) for a, b in zip(at, [*at[1:], at[0]], strict=True)]
    assert all(run is not None for run in runs)
    path = np.vstack([run[:-1] for run in runs if run is not None])
    return closed_joints(picture.mm(centred(picture.grey, path, closed=True)))


def off(shape: Shape, joints: tuple[Joint, ...]) -> np.ndarray:
    """Distances in mm both ways between the drawn curve and the traced one."""
    true, fitted = shape.points(60), curve_points(joints, closed=True)
    return np.concatenate([
        shapely.distance(shapely.points(true), shapely.LinearRing(fitted)),
        shapely.distance(shapely.points(fitted), shapely.LinearRing(true)),
    ])


@pytest.mark.parametrize(
    ("seed", "how", "clutter"),
    [(2, "jpeg 30", False), (7, "noisy", True)],
)
def test_fin_from_its_corners(seed: int, how: str, clutter: bool) -> None:
    """Clicks 2.5 px off at the corners only: within 0.25 mm everywhere, few nodes, corners as corners."""
    shape = fin(seed)
    picture = picture_of(shape, 120.0, how, seed, clutter=clutter)  # type: ignore[arg-type]
    rng = np.random.default_rng(seed)
    clicks = picture.px(shape.clicks) + rng.normal(0.0, 2.5, shape.clicks.shape)
    assert len(clicks) <= 6
    joints = traced(picture, clicks)
    assert off(shape, joints).max() < 0.25
    assert len(joints) <= 2 * len(clicks)
    sharp = np.array([(joint.x, joint.z) for joint in joints if joint.corner])
    # Every drawn corner that turns by more than 30° is found again within 0.25 mm.
    for index, corner in enumerate(shape.corners):
        into = shape.control[index - 1][3] - shape.control[index - 1][2]
        out = shape.control[index][1] - shape.control[index][0]
        turn = abs(np.degrees(np.arctan2(into[0] * out[1] - into[1] * out[0], into @ out)))
        if turn > 30:
            assert np.hypot(*(sharp - corner).T).min() < 0.25


def test_fuselage_from_nine_clicks() -> None:
    shape = fuselage(1)
    picture = picture_of(shape, 120.0, "noisy", 1, clutter=True)
    joints = traced(picture, picture.px(shape.clicks) + np.random.default_rng(1).normal(0.0, 2.0, (9, 2)))
    error = off(shape, joints)
    assert np.median(error) < 0.06
    assert error.max() < 0.25
    assert len(joints) <= 14


def cross(dpi: float = 150.0) -> Picture:
    """A heavy arc of 60 mm radius, thin lines across it, and a gap of 1.5 mm."""
    angle = np.radians(np.linspace(20.0, 160.0, 400))
    arc = 60.0 * np.stack((np.cos(angle), np.sin(angle)), axis=1) + np.array([60.0, 0.0])
    gap = (angle > np.radians(100)) & (angle < np.radians(101.4))
    first = int(np.flatnonzero(gap)[0])
    lines = [(arc[:first], 0.6), (arc[first:][~gap[first:]], 0.6)]
    lines += [(np.array([[x, 0.0], [x + lean, 70.0]]), 0.2) for x, lean in ((30, 8), (75, -14), (85, 40))]
    ink, matrix = drawn(lines, dpi, (120.0, 70.0))
    return Picture(spoilt(ink, "noisy", 3), matrix)


def on_arc(picture: Picture, degrees: float) -> tuple[float, float]:
    a = np.radians(degrees)
    u, v = picture.px(np.array([[60 + 60 * np.cos(a), 60 * np.sin(a)]]))[0]
    return float(u), float(v)


def test_goes_over_gaps_and_straight_across_other_lines() -> None:
    picture = cross()
    path = follow(picture.grey, on_arc(picture, 25), on_arc(picture, 155))
    assert path is not None
    middle = picture.mm(centred(picture.grey, path))
    radius = np.hypot(middle[:, 0] - 60.0, middle[:, 1])
    assert np.abs(radius - 60.0).max() < 0.25
    assert np.median(np.abs(radius - 60.0)) < 0.04


def test_follower_goes_the_way_that_follow_goes_and_remembers() -> None:
    picture = cross()
    follower = Follower(picture.grey)
    with pytest.raises(ValueError, match="no start"):
        follower.to((1.0, 1.0))
    follower.begin(on_arc(picture, 60))
    for degrees in (70, 90, 120, 75):
        path = follower.to(on_arc(picture, degrees))
        assert path is not None
        assert tuple(path[0]) == on_arc(picture, 60)
        assert tuple(path[-1]) == on_arc(picture, degrees)
        radius = np.hypot(*(picture.mm(path) - np.array([60.0, 0.0])).T)
        assert np.abs(radius - 60.0).max() < 0.8


def test_no_line_no_way() -> None:
    blank = spoilt(np.zeros((200, 200)), "noisy", 1)
    assert follow(blank, (20.0, 20.0), (150.0, 160.0)) is None
    assert nearest_ink(spoilt(np.zeros((90, 90)), "clean", 1), (40.0, 40.0), 12.0) is None
    assert nearest_ink(blank, (100.0, 100.0), 12.0) is None


def test_search_ends_when_it_is_no_longer_wanted() -> None:
    picture = cross()
    asked = []

    def gone() -> bool:
        asked.append(1)
        return True

    follower = Follower(picture.grey)
    follower.begin(on_arc(picture, 25))
    assert follower.to(on_arc(picture, 155), gone=gone) is None
    assert len(asked) == 1


def test_clicks_snap_to_the_middle_and_to_corners() -> None:
    run = np.array([[5.0, 5.0], [5.0, 35.0], [45.0, 30.0]])
    for dpi, pen in ((100.0, 0.5), (200.0, 0.6), (300.0, 1.5)):
        ink, matrix = drawn([(run, pen)], dpi, (50.0, 40.0))
        picture = Picture(spoilt(ink, "noisy", 2), matrix)
        reach = 2.0 * dpi / 25.4
        corner = nearest_ink(picture.grey, tuple(picture.px(run[1:2] + np.array([[0.5, -0.6]]))[0]), reach)
        assert corner is not None
        assert np.hypot(*(picture.mm(np.array([corner]))[0] - run[1])) < 0.12
        side = nearest_ink(picture.grey, tuple(picture.px(np.array([[5.6, 20.0]]))[0]), reach)
        assert side is not None
        assert picture.mm(np.array([side]))[0] == pytest.approx([5.0, 20.0], abs=0.12)


def test_a_way_tells_how_much_of_it_is_ink_and_how_far_it_runs_over_paper() -> None:
    grey = np.full((80, 400), 255, np.uint8)
    grey[38:42, :150] = grey[38:42, 230:] = 20
    follower = Follower(grey)
    follower.begin((10.0, 40.0))
    assert follower.to((140.0, 40.0)) is not None
    assert follower.held > 0.95 and follower.bare_px == 0.0
    assert follower.to((390.0, 40.0)) is not None
    # 80 of 380 pixels are paper, told to a cell or two at either end.
    assert follower.bare_px == pytest.approx(80.0, abs=8.0)
    assert follower.held == pytest.approx(300 / 380, abs=0.03)
