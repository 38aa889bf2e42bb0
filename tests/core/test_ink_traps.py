"""Trails where there is another way to go, and fits where the ink is hard to tell."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn_ink import Array, Picture, Spoiling, curve_points, drawn, spoilt
from drawn_traps import TRAPS, Trap, shadowed

from core.ink.bridging import bridged
from core.ink.centring import centred
from core.ink.fitting import nodes_along
from core.ink.following import Follower

STROKE_MM = 0.5
SLACK_MM = 0.25
ANOTHER_MM, SO_LONG_MM = 4.5, 12.0
"""As near and as far as the window asks for."""


def trail(trap: Trap, clicks: Array) -> tuple[Follower, Array]:
    """The follower and the way in pixels."""
    (u, v), goal = trap.picture.px(clicks)
    follower = Follower(trap.picture.grey)
    follower.begin((float(u), float(v)))
    way = follower.to((float(goal[0]), float(goal[1])))
    assert way is not None
    return follower, way


@pytest.mark.parametrize("how", ["noisy", "pencil"])
@pytest.mark.parametrize("seed", [1, 3])
def test_round_a_tip_no_rib_and_no_hinge_is_taken_though_they_are_shorter(seed: int, how: Spoiling) -> None:
    trap = TRAPS["ribs"](seed, how)
    _, way = trail(trap, trap.clicks)
    assert trap.off(trap.picture.mm(way)).max() < 1.0


@pytest.mark.parametrize(("seed", "how"), [(1, "noisy"), (3, "jpeg 30"), (3, "pencil"), (5, "clean")])
def test_a_bar_across_a_bend_is_no_short_cut(seed: int, how: Spoiling) -> None:
    trap = TRAPS["bars"](seed, how)
    _, way = trail(trap, trap.clicks)
    assert trap.off(trap.picture.mm(way)).max() < 1.0


@pytest.mark.parametrize("name", ["double", "hinge pair"])
@pytest.mark.parametrize(("seed", "how"), [(0, "clean"), (1, "pencil"), (2, "pencil")])
def test_a_line_close_beside_is_told_whether_the_trail_strayed_on_to_it_or_not(
    name: str, seed: int, how: Spoiling
) -> None:
    trap = TRAPS[name](seed, how)
    follower, _ = trail(trap, trap.clicks)
    mm = 25.4 / 150.0
    assert follower.beside_px(ANOTHER_MM / mm) * mm > SO_LONG_MM


def test_lines_across_and_the_lines_own_other_side_are_no_line_beside() -> None:
    lines = [(np.array([[0.0, 20.0], [80.0, 24.0]]), 1.2)]
    lines += [(np.array([[x, 0.0], [x + lean, 40.0]]), 0.4) for x, lean in ((20, 5), (45, -20), (60, 0))]
    ink, matrix = drawn(lines, 150.0, (80.0, 40.0))
    picture = Picture(spoilt(ink, "noisy", 1), matrix)
    a, b = ((float(u), float(v)) for u, v in picture.px(np.array([[1.0, 20.05], [79.0, 23.95]])))
    follower = Follower(picture.grey)
    assert follower.beside_px(30.0) == 0.0
    follower.begin(a)
    assert follower.to(b) is not None
    mm = 25.4 / 150.0
    assert follower.beside_px(ANOTHER_MM / mm) * mm < 0.5 * SO_LONG_MM


@pytest.mark.parametrize(
    ("seed", "how"),
    [(0, "clean"), (0, "noisy"), (4, "jpeg 30"), (4, "pencil"), (9, "noisy"), (9, "pencil"), (11, "pencil")],
)
def test_the_fit_never_leaves_a_trail_that_lies_on_the_ink(seed: int, how: Spoiling) -> None:
    """In shadow, where it is faint, over gaps: within a stroke and 0.25 mm of it wherever it is right.

    Where the trail itself was further off than a stroke, the fit may put it right, and never wrong.
    """
    trap = shadowed(seed, how)
    _, way = trail(trap, trap.true[[0, -1]])
    shown = trap.picture.mm(way)
    fitted = curve_points(nodes_along(trap.picture.mm(centred(trap.picture.grey, way))), closed=False)
    astray = trap.off(shown)
    assert np.median(astray) < STROKE_MM, "the trail is that of the line that is meant"
    apart = shapely.distance(shapely.points(shown[astray < STROKE_MM]), shapely.LineString(fitted))
    assert apart.max() < STROKE_MM + SLACK_MM
    assert trap.off(fitted).max() < max(float(astray.max()), STROKE_MM) + SLACK_MM


def arc(total: int = 300, radius: float = 150.0) -> Array:
    a = np.linspace(0.0, total / radius, total)
    return radius * np.stack((np.sin(a), 1.0 - np.cos(a)), axis=1)


@pytest.mark.parametrize(("begin", "end", "kept"), [(100, 130, False), (100, 190, True)])
def test_a_long_doubtful_run_stays_where_it_was_followed(begin: int, end: int, kept: bool) -> None:
    line = arc()
    line[begin:end] += np.random.default_rng(1).normal(0.0, 0.3, (end - begin, 2))
    sure = np.ones(len(line), dtype=bool)
    sure[begin:end] = False
    made = bridged(line, sure, 20, longest=60.0)
    assert (len(made) == len(line) and np.array_equal(made, line)) is kept


def test_a_bridge_is_not_built_where_it_would_part_from_the_line() -> None:
    # A doubtful hump 10 px high: the bridge would go straight under it.
    line = np.stack((np.arange(200.0), np.zeros(200)), axis=1)
    line[80:120, 1] = 10.0 * np.sin(np.linspace(0.0, np.pi, 40))
    sure = np.ones(200, dtype=bool)
    sure[80:120] = False
    assert np.abs(bridged(line, sure, 20)[:, 1]).max() < 0.1
    assert np.abs(bridged(line, sure, 20, most_off=6.0)[:, 1]).max() == pytest.approx(10.0, abs=0.02)
