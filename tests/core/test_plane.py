"""Maps between planes against closed forms and against cameras that are known.

Heckbert 1989, Fundamentals of Texture Mapping and Image Warping, section 2.2.3 (the unit square to a
quadrilateral in closed form; from memory); the cross-ratio of four points of a line, which every
projective map keeps (any textbook of projective geometry).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from cameras import CAMERAS, Array, Camera
from hypothesis import given
from hypothesis import strategies as st
from making import SOME

from core.geometry.plane import (
    best_similarity,
    depths,
    fit_plane,
    homography,
    is_affine,
    magnification,
    mapped,
)

SQUARE = np.array(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)))
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))
NO_SPANS = (np.zeros((0, 2, 2)), np.zeros(0))


def heckbert(quad: Array) -> Array:
    """The unit square to ``quad``, by the closed form."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = quad
    dx1, dx2, sx = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, sy = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    under = dx1 * dy2 - dx2 * dy1
    g, h = (sx * dy2 - dx2 * sy) / under, (dx1 * sy - sx * dy1) / under
    return np.array((
        (x1 - x0 + g * x1, x3 - x0 + h * x3, x0), (y1 - y0 + g * y1, y3 - y0 + h * y3, y0), (g, h, 1.0)
    ))


@pytest.mark.parametrize("camera", CAMERAS)
def test_four_corners_give_the_closed_form_of_the_unit_square(camera: Camera) -> None:
    quad = camera.pixels(SHEET)
    ours, closed = homography(SQUARE, quad), heckbert(quad)
    closed /= depths(closed, SQUARE.mean(axis=0)[None])[0]
    assert ours == pytest.approx(closed, rel=1e-9, abs=1e-9)
    assert not is_affine(ours)


@pytest.mark.parametrize("camera", CAMERAS)
def test_the_plane_of_a_known_camera_is_found_to_rounding(camera: Camera) -> None:
    rng = np.random.default_rng(5)
    plan = rng.uniform((-100, -100), (900, 650), (40, 2))
    matrix = homography(camera.pixels(SHEET), SHEET)
    assert mapped(matrix, camera.pixels(plan)) == pytest.approx(plan, abs=1e-9)
    assert (depths(matrix, camera.pixels(plan)) > 0).all()
    fit = fit_plane(camera.pixels(SHEET), SHEET, *NO_SPANS)
    assert fit.matrix == pytest.approx(matrix, rel=1e-12) and fit.rms < 1e-9


def test_a_curve_mapped_by_its_control_points_stays_near_the_true_picture_of_it() -> None:
    """A cubic photographed is no cubic: how far the one through the mapped points strays, measured."""
    matrix = homography(CAMERAS[2].pixels(SHEET), SHEET)
    t = np.linspace(0.0, 1.0, 400)[:, None]
    worst = 0.0
    for at in ((900.0, 700.0), (2000.0, 1500.0), (3000.0, 2200.0)):
        quarter = np.array(at) + 300.0 * np.array(((1, 0), (1, 0.5523), (0.5523, 1), (0, 1)))
        weights = np.hstack(((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3))
        true, ours = mapped(matrix, weights @ quarter), weights @ mapped(matrix, quarter)
        gaps = np.hypot(*(true[:, None] - ours[None]).transpose(2, 0, 1))
        worst = max(worst, float(gaps.min(axis=1).max()))
    # Quarter circles of some 110 mm radius under the steepest of the cameras; 0.46 mm was measured.
    assert 0.1 < worst < 0.5, worst


def test_a_projective_map_keeps_the_cross_ratio_and_not_the_ratio() -> None:
    matrix = homography(CAMERAS[0].pixels(SHEET), SHEET)
    line = np.array((300.0, 500.0)) + np.outer((0.0, 200.0, 700.0, 1500.0), (0.8, 0.6))
    a, b, c, d = mapped(matrix, line)

    def cross(p: Array, q: Array, r: Array, s: Array) -> float:
        return math.dist(p, r) * math.dist(q, s) / (math.dist(q, r) * math.dist(p, s))

    assert cross(a, b, c, d) == pytest.approx(700 * 1300 / (500 * 1500), rel=1e-10)
    assert math.dist(a, b) / math.dist(a, c) != pytest.approx(2 / 7, rel=1e-3)


def test_magnification_is_what_a_small_square_grows_by() -> None:
    matrix = homography(CAMERAS[1].pixels(SHEET), SHEET)
    for at in ((700.0, 900.0), (2500.0, 1800.0)):
        corners = mapped(matrix, np.array(at) + 1e-2 * (SQUARE - 0.5))
        x, y = corners.T
        area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
        assert magnification(matrix, np.array((at,)))[0] == pytest.approx(math.sqrt(area) / 1e-2, rel=1e-5)


# More than is needed


def svd_reference(source: Array, target: Array) -> Array:
    """Plain algebraic least squares without normalising: good enough beside the true fit."""
    rows = []
    for (u, v), (x, z) in zip(source / 1000, target / 1000, strict=True):
        rows += [(u, v, 1, 0, 0, 0, -x * u, -x * v, -x), (0, 0, 0, u, v, 1, -z * u, -z * v, -z)]
    scale = np.diag((1e-3, 1e-3, 1.0))
    return np.linalg.inv(scale) @ np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3) @ scale


def noisy(seed: int = 2) -> tuple[Array, Array]:
    rng = np.random.default_rng(seed)
    plan = np.vstack((SHEET, rng.uniform((50, 50), (800, 550), (5, 2))))
    return CAMERAS[0].pixels(plan) + rng.normal(0, 1.0, (9, 2)), plan


def test_more_points_are_fitted_where_the_clicks_were_made() -> None:
    source, plan = noisy()
    fit = fit_plane(source, plan, *NO_SPANS)
    miss = np.hypot(*(mapped(fit.matrix, source) - plan).T)
    assert fit.at_points == pytest.approx(miss)
    assert fit.rms == pytest.approx(math.sqrt((miss**2).mean()))
    assert fit.worst == ("point", int(miss.argmax()))

    def cost(matrix: Array) -> float:
        miss = (mapped(matrix, source) - plan) / magnification(start, source)[:, None]
        return float((miss**2).sum())

    # The least of its own sum: no small change of any entry makes it less, and the plain way is no better.
    start = homography(source, plan)
    least = cost(fit.matrix)
    assert least <= cost(start) and least <= cost(svd_reference(source, plan))
    for i in range(8):
        for sign in (-1, 1):
            changed = fit.matrix.copy()
            changed.flat[i] *= 1 + sign * 1e-6
            assert cost(changed) >= least
    # About one pixel, 0.36 mm, of noise each way, of which eight parameters take up some.
    assert 0.1 < fit.rms < 0.6


def test_a_known_distance_pulls_the_plane_its_way() -> None:
    camera = CAMERAS[2]
    source = camera.pixels(SHEET)
    ends = np.array(((100.0, 80.0), (780.0, 500.0)))
    true = math.dist(*ends)
    exact = fit_plane(source, SHEET, camera.pixels(ends)[None], np.array((true,)))
    assert exact.at_spans == pytest.approx([0.0], abs=1e-8) and exact.rms < 1e-8
    wrong = source + np.array(((6.0, -4.0), (0, 0), (0, 0), (0, 0)))
    alone = fit_plane(wrong, SHEET, *NO_SPANS)
    both = fit_plane(wrong, SHEET, camera.pixels(ends)[None], np.array((true,)))
    off = math.dist(*mapped(alone.matrix, camera.pixels(ends))) - true
    assert abs(both.at_spans[0]) < abs(off) and both.worst[0] in ("point", "span")
    assert both.at_spans[0] == pytest.approx(
        math.dist(*mapped(both.matrix, camera.pixels(ends))) - true
    )


def test_the_worst_point_is_the_one_that_was_put_wrong() -> None:
    rng = np.random.default_rng(1)
    plan = np.vstack((SHEET, rng.uniform((100, 100), (700, 500), (6, 2))))
    source = CAMERAS[0].pixels(plan)
    source[7] += (25.0, -15.0)
    fit = fit_plane(source, plan, *NO_SPANS)
    assert fit.worst == ("point", 7) and fit.at_points[7] > 3 * np.delete(fit.at_points, 7).mean()


@pytest.mark.parametrize(
    "source",
    [
        SHEET[:3], np.array(((0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (0.0, 1.0))), np.zeros((4, 2)),
        np.array(((0.0, 0.0), (5.0, 5.0), (5.0, 5.0), (0.0, 5.0))),
    ],
)
def test_what_settles_no_plane_is_refused(source: Array) -> None:
    with pytest.raises(ValueError, match=r"four pairs|in a line|fall together"):
        homography(source, SHEET[: len(source)])


# Similarities


numbers = st.floats(-500, 500)


@SOME
@given(st.floats(-3.1, 3.1), st.floats(0.05, 20), numbers, numbers)
def test_a_similarity_is_found_again(turn: float, scale: float, x: float, z: float) -> None:
    c, s = scale * math.cos(turn), scale * math.sin(turn)
    true = np.array(((c, -s, x), (s, c, z), (0.0, 0.0, 1.0)))
    points = np.array(((10.0, -20.0), (400.0, 35.0), (90.0, 210.0)))
    assert best_similarity(points, mapped(true, points)) == pytest.approx(true, abs=1e-8)
    assert best_similarity(points[:2], mapped(true, points[:2])) == pytest.approx(true, abs=1e-8)


def test_with_its_scale_kept_the_misfit_is_shared_by_both_ends() -> None:
    """Two points: turned into the line, middle on middle, so that each end misses by half the difference."""
    source, target = np.array(((0.0, 0.0), (100.0, 0.0))), np.array(((10.0, 10.0), (10.0, 111.0)))
    by = best_similarity(source, target, keep_scale=True)
    assert mapped(by, source) == pytest.approx(np.array(((10.0, 10.5), (10.0, 110.5))))
    assert np.linalg.det(by) == pytest.approx(1.0)
    # Against Kabsch's way by singular values, on more points with noise.
    rng = np.random.default_rng(3)
    p, q = rng.uniform(0, 300, (6, 2)), rng.uniform(0, 300, (6, 2))
    left, _, right = np.linalg.svd((p - p.mean(0)).T @ (q - q.mean(0)))
    flip = np.diag((1.0, np.sign(np.linalg.det(right.T @ left.T))))
    assert best_similarity(p, q, keep_scale=True)[:2, :2] == pytest.approx(right.T @ flip @ left.T)


def test_points_that_fall_together_settle_no_similarity() -> None:
    with pytest.raises(ValueError, match="fall together"):
        best_similarity(np.ones((2, 2)), np.array(((0.0, 0.0), (1.0, 1.0))))
