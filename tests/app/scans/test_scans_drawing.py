"""Drawing scans: a pixel known in the picture shows at its place in mm, whatever the matrix."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter, QTransform

from app.scans.drawing import draw_scan, scan_corners_mm
from app.scans.levels import blank, colour_pixels, grey_pixels, pyramid
from app.scans.picture import Picture
from core.design import Matrix

WIDTH, HEIGHT = 401, 303
INK = (slice(50, 60), slice(300, 312))
INK_CENTRE = (306.0, 55.0)


@pytest.fixture
def plan() -> Picture:
    level = blank(WIDTH, HEIGHT, colour=False)
    pixels = grey_pixels(level)
    pixels[:] = 255
    pixels[INK] = 0
    return Picture(pyramid(level), WIDTH, HEIGHT)


def matrix(rows: object) -> Matrix:
    a, b, c = (tuple(float(value) for value in row) for row in np.asarray(rows))
    return (a, b, c)  # type: ignore[return-value]


def turned(degrees: float, mm_per_pixel: float = 0.5, *, mirrored: bool = False) -> Matrix:
    angle = math.radians(degrees)
    cosine, sine = math.cos(angle), math.sin(angle)
    turn = np.array(((cosine, -sine, 0), (sine, cosine, 0), (0, 0, 1)))
    scale = np.diag((-mm_per_pixel if mirrored else mm_per_pixel, -mm_per_pixel, 1.0))
    centre = np.array(((1, 0, -WIDTH / 2), (0, 1, -HEIGHT / 2), (0, 0, 1)))
    return matrix(turn @ scale @ centre)


PERSPECTIVE = matrix(
    np.array(((0.5, 0.08, -100), (0.03, -0.5, 80), (0.0006, 0.0009, 1)))
)
MATRICES = {
    "upright": turned(0),
    "turned": turned(33),
    "quarter turn": turned(90),
    "mirrored": turned(0, mirrored=True),
    "mirrored and turned": turned(-20, mirrored=True),
    "stretched": matrix(((0.7, 0, -140), (0, -0.3, 45), (0, 0, 1))),
    "perspective": PERSPECTIVE,
}


def view(zoom: float, size: tuple[int, int] = (600, 500)) -> QTransform:
    """mm to view: the origin of mm at the middle, z up."""
    return QTransform(zoom, 0, 0, -zoom, size[0] / 2, size[1] / 2)


def draw(
    picture: Picture,
    to_mm: Matrix,
    mm_to_view: QTransform,
    *,
    opacity: float = 1.0,
    ratio: float = 1.0,
    background: str = "#80a0ff",
    rect: QRectF | None = None,
) -> np.ndarray:
    """RGB as drawn, shape (500 ratio, 600 ratio, 3)."""
    paper = QImage(int(600 * ratio), int(500 * ratio), QImage.Format.Format_RGB32)
    paper.setDevicePixelRatio(ratio)
    paper.fill(QColor(background))
    painter = QPainter(paper)
    try:
        draw_scan(painter, picture, to_mm, mm_to_view, opacity, rect or QRectF(0, 0, 600, 500), ratio)
        assert painter.transform().isIdentity()
        assert painter.opacity() == 1.0
    finally:
        painter.end()
    words = colour_pixels(paper).copy()
    return np.stack([(words >> shift) & 255 for shift in (16, 8, 0)], axis=-1).astype(int)


def seen_at(to_mm: Matrix, mm_to_view: QTransform, u: float, v: float) -> tuple[float, float]:
    x, z, w = np.array(to_mm) @ (u, v, 1.0)
    point = mm_to_view.map(QPointF(x / w, z / w))
    return point.x(), point.y()


@pytest.mark.parametrize("zoom", [0.3, 1.0, 2.0, 3.7])
@pytest.mark.parametrize("name", MATRICES)
def test_the_ink_is_drawn_where_its_millimetres_are(plan: Picture, name: str, zoom: float) -> None:
    to_mm, to_view = MATRICES[name], view(zoom)
    x, z = seen_at(to_mm, to_view, *INK_CENTRE)
    mm_to_view = to_view * QTransform.fromTranslate(300 - x, 250 - z)
    drawn = draw(plan, to_mm, mm_to_view)
    assert drawn[250, 300].max() < (60 if zoom >= 1 else 200)
    dark = 255 - drawn[..., 0]
    dark[(drawn[..., 0] == 0x80) | (drawn[..., 0] > 245)] = 0  # neither background nor paper
    dark[np.hypot(*(np.indices(dark.shape).T - (250, 300)).T) > 20 * zoom + 8] = 0
    rows, columns = np.indices(dark.shape)
    found = ((columns + 0.5) * dark).sum() / dark.sum(), ((rows + 0.5) * dark).sum() / dark.sum()
    assert found == pytest.approx((300, 250), abs=0.6)


@pytest.mark.parametrize("name", MATRICES)
def test_the_paper_ends_where_its_corners_are(plan: Picture, name: str) -> None:
    to_mm, mm_to_view = MATRICES[name], view(1.0)
    drawn = draw(plan, to_mm, mm_to_view)
    right, bottom = WIDTH, HEIGHT
    spots = ((3, 3, True), (right - 3, bottom - 3, True), (-6, -6, False), (right + 6, bottom + 6, False))
    for u, v, inside in spots:
        x, y = seen_at(to_mm, mm_to_view, u, v)
        colour = drawn[int(y), int(x)]
        assert (colour == (255, 255, 255)).all() == inside, (u, v)
        assert (colour == (0x80, 0xA0, 0xFF)).all() != inside, (u, v)


def test_only_what_is_exposed_is_the_same_as_all_of_it(plan: Picture) -> None:
    to_mm, mm_to_view = MATRICES["mirrored and turned"], view(4.0)
    whole = draw(plan, to_mm, mm_to_view, rect=QRectF(-5000, -5000, 10000, 10000))
    part = draw(plan, to_mm, mm_to_view)
    assert np.abs(whole - part).max() <= 2


@pytest.mark.parametrize("degrees", [0, 7, 180])
@pytest.mark.parametrize("zoom", [0.5, 1.0, 30.0])
def test_the_far_end_of_a_long_plan_is_where_it_should_be(degrees: float, zoom: float) -> None:
    # Raster painting counts in 16.16 fixed point, which ends at 32,767 pixels.
    level = blank(60_000, 40, colour=False)
    grey_pixels(level)[:] = 255
    grey_pixels(level)[:, 58_000:58_010] = 0
    plan = Picture(pyramid(level), 60_000, 40)
    to_mm = turned(degrees, 1.0)
    x, y = seen_at(to_mm, view(zoom), 58_005, 20)
    drawn = draw(plan, to_mm, view(zoom) * QTransform.fromTranslate(300 - x, 250 - y))
    for off, grey in ((0, 0), (2, 0), (-2, 0), (9, 255), (-9, 255)):
        dx, dy = off * zoom * math.cos(math.radians(degrees)), off * zoom * math.sin(math.radians(degrees))
        assert (drawn[int(250 - dy), int(300 + dx)] == grey).all(), off


@pytest.mark.parametrize("ratio", [1.5, 2.0])
def test_a_fine_screen_gets_the_finer_level(plan: Picture, ratio: float) -> None:
    to_mm, mm_to_view = turned(0), view(1.0)  # two source pixels to one of the view
    x, y = seen_at(to_mm, mm_to_view, *INK_CENTRE)
    drawn = draw(plan, to_mm, mm_to_view, ratio=ratio)
    assert drawn[int(y * ratio), int(x * ratio)].max() == 0
    assert (drawn[int(y * ratio), int((x + 4) * ratio)] == 255).all()


def test_opacity_mixes_with_what_lies_below(plan: Picture) -> None:
    to_mm, mm_to_view = turned(0), view(2.0)
    x, y = seen_at(to_mm, mm_to_view, *INK_CENTRE)
    drawn = draw(plan, to_mm, mm_to_view, opacity=0.25, background="#ffffff")
    assert drawn[int(y), int(x)] == pytest.approx((191, 191, 191), abs=2)  # 0.75 x 255
    assert (draw(plan, to_mm, mm_to_view, opacity=0.0, background="#ffffff") == 255).all()


def test_a_coarse_first_picture_lies_where_the_real_one_will(plan: Picture) -> None:
    coarse = Picture(plan.levels[1:], WIDTH, HEIGHT, shrunk=2)
    to_mm, mm_to_view = turned(12), view(0.5)
    assert np.abs(draw(plan, to_mm, mm_to_view) - draw(coarse, to_mm, mm_to_view)).mean() < 0.5


@pytest.mark.parametrize(
    "to_mm",
    [
        matrix(((0, 0, 0), (0, 0, 0), (0, 0, 1))),
        matrix(((1, 1, 0), (1, 1, 0), (0, 0, 1))),
        matrix(((float("nan"), 0, 0), (0, -1, 0), (0, 0, 1))),
        matrix(((0, 0, 0), (0, 0, 0), (0, 0, 0))),
        matrix(((0.5, 0, 1e6), (0, -0.5, 0), (0, 0, 1))),
        matrix(((0.5, 0, 0), (0, -0.5, 0), (0, 0, -1))),
    ],
)
def test_what_cannot_be_seen_draws_nothing(plan: Picture, to_mm: Matrix) -> None:
    assert (draw(plan, to_mm, view(1.0)) == (0x80, 0xA0, 0xFF)).all()


def test_a_horizon_through_the_picture_is_cut_off(plan: Picture) -> None:
    to_mm = matrix(((0.5, 0, -100), (0, -0.5, 60), (-1 / 350, 0, 1)))  # w = 0 at u = 350
    drawn = draw(plan, to_mm, view(1.0))
    x, y = seen_at(to_mm, view(1.0), 100, 100)
    assert (drawn[int(y), int(x)] == 255).all()


def test_corners_in_mm_go_round_from_the_top_left() -> None:
    corners = scan_corners_mm(100, 50, ((0.1, 0, -2), (0, -0.2, 10), (0, 0, 1)))
    np.testing.assert_allclose(corners, [(-2, 10), (8, 10), (8, 0), (-2, 0)])


def test_corners_under_perspective_are_divided_through() -> None:
    corners = scan_corners_mm(100, 50, ((1, 0, 0), (0, -1, 0), (0.01, 0, 1)))
    np.testing.assert_allclose(corners, [(0, 0), (50, 0), (50, -25), (0, -50)])


def test_a_corner_at_infinity_is_said() -> None:
    with pytest.raises(ValueError, match="infinity"):
        scan_corners_mm(100, 50, ((1, 0, 0), (0, -1, 0), (-0.01, 0, 1)))
