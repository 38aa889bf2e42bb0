"""Photographs bent by a lens, drawn: by pixels, against a grid whose every line is known to be straight."""

from __future__ import annotations

from typing import Any, cast

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QImage, QPainter, QTransform

from app.scans.drawing import draw_scan
from app.scans.ink_window import ink_window
from app.scans.lens_drawing import cells_of, draw_bent
from app.scans.levels import blank, colour_pixels, grey_pixels, pyramid
from app.scans.pdf_detail import Part, Patch
from app.scans.picture import Picture
from core.design import Lens, Matrix, Scan
from core.scan_map import pixels_of

WIDE, HIGH = 1600, 1200
LENS = Lens(0.03, WIDE / 2, HIGH / 2, 1000.0)
TILTED: Matrix = ((0.5, 0.02, -3.0), (0.024, -0.5, 600.0), (2e-5, 4e-5, 1.0))
SCAN = Scan("photo", "photo.jpg", to_mm=TILTED, opacity=1.0, lens=LENS)
APART = 50.0
"""mm from one line of the grid to the next."""


def in_mm(u: Any, v: Any) -> tuple[Any, Any]:
    """Where a pixel lies, in mm: the file's own words, without any function of the program."""
    du, dv = u - 800.0, v - 600.0
    share = 1.0 + 0.03 * (du * du + dv * dv) / 1e6
    u, v = 800.0 + du * share, 600.0 + dv * share
    w = 2e-5 * u + 4e-5 * v + 1.0
    return (0.5 * u + 0.02 * v - 3.0) / w, (0.024 * u - 0.5 * v + 600.0) / w


@pytest.fixture(scope="module")
def grid() -> Picture:
    """A grid of lines 1.2 mm thick, bent as the lens bends it."""
    level = blank(WIDE, HIGH, colour=False)
    u, v = np.meshgrid(np.arange(WIDE) + 0.5, np.arange(HIGH) + 0.5)
    off = np.min([np.abs((mm + APART / 2) % APART - APART / 2) for mm in in_mm(u, v)], axis=0)
    grey_pixels(level)[:] = (np.clip((off - 0.35) / 0.5, 0, 1) * 255).astype(np.uint8)
    return Picture(pyramid(level), WIDE, HIGH)


def drawn(
    scan: Scan, picture: Picture, zoom: float, x: float, z: float, ratio: float = 1.0,
    size: tuple[int, int] = (700, 500),
) -> np.ndarray:
    """The greys, (rows, columns), with (x, z) mm at the left top corner and ``zoom`` pixels a mm."""
    image = QImage(round(size[0] * ratio), round(size[1] * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    to_view = QTransform(zoom, 0, 0, -zoom, -x * zoom, z * zoom)
    if scan.lens is None:
        draw_scan(painter, picture, scan.to_mm, to_view, scan.opacity, QRectF(0, 0, *size), ratio)
    else:
        draw_bent(painter, scan, picture, to_view, QRectF(0, 0, *size), ratio)
    painter.end()
    return np.asarray(colour_pixels(image) & 0xFF, np.float64)


def middles(greys: np.ndarray, about: float, reach: float) -> np.ndarray:
    """Where in each row the ink near a column has its middle; not a number where there is none."""
    low, high = round(about - reach), round(about + reach)
    dark = np.clip(200.0 - greys[:, low:high], 0, None)
    with np.errstate(invalid="ignore"):
        return (dark * (np.arange(low, high) + 0.5)).sum(axis=1) / dark.sum(axis=1)


@pytest.mark.parametrize("zoom", [1.0, 2.5, 7.0])
@pytest.mark.parametrize("ratio", [1.0, 1.25, 2.0])
def test_a_grid_seen_through_a_barrel_is_drawn_straight(grid: Picture, zoom: float, ratio: float) -> None:
    x, z = (50.0, 560.0) if zoom < 2 else (30.0, 575.0)
    greys = drawn(SCAN, grid, zoom, x, z, ratio)
    per_mm = zoom * ratio
    tried = 0
    for lines, turned in ((np.arange(0, 800, APART), False), (np.arange(0, 600, APART), True)):
        for line in lines:
            at = ((z - line) if turned else (line - x)) * per_mm
            seen = greys.T if turned else greys
            reach = min(9.0 * zoom * ratio, 40.0 * ratio)
            if not reach < at < seen.shape[1] - reach:
                continue
            found = middles(seen, at, reach)
            # Where a line crosses there is ink to both sides: its middle says nothing.
            rest = z - (np.arange(len(found)) + 0.5) / per_mm if not turned else (
                x + (np.arange(len(found)) + 0.5) / per_mm
            )
            clear = np.abs((rest + APART / 2) % APART - APART / 2) > 3.0
            off = (found[clear & np.isfinite(found)] - at) / per_mm
            if len(off) > 40:
                assert np.abs(off).max() < 0.3, (line, turned)
                assert abs(off.mean()) < 0.08, (line, turned)
                tried += 1
    assert tried >= (3 if zoom > 5 else 8)
    # Without its lens the same picture is bent by millimetres.
    plain = drawn(replace(SCAN, lens=None), grid, zoom, x, z, ratio)
    assert np.abs(plain - greys).mean() > 5


@pytest.mark.parametrize("ratio", [1.0, 1.25, 1.5])
def test_no_seam_shows_between_cells_whatever_the_opacity(ratio: float) -> None:
    level = blank(WIDE, HIGH, colour=False)
    grey_pixels(level)[:] = 0
    picture = Picture(pyramid(level), WIDE, HIGH)
    greys = drawn(replace(SCAN, opacity=0.5), picture, 1.0, 100.0, 500.0, ratio)
    assert np.ptp(greys[:250, :450]) <= 1 and 126 <= greys[100, 100] <= 128


def test_a_lens_that_bends_nothing_draws_what_no_lens_draws(grid: Picture) -> None:
    none = replace(SCAN, lens=replace(LENS, k=0.0))
    for zoom in (1.0, 3.0):
        bent, plain = (drawn(s, grid, zoom, 50.0, 560.0) for s in (none, replace(SCAN, lens=None)))
        assert np.abs(bent - plain).mean() < 1.5 and np.percentile(np.abs(bent - plain), 99) < 40


def test_beside_the_picture_nothing_is_drawn(grid: Picture) -> None:
    assert (drawn(SCAN, grid, 1.0, 5000.0, 560.0) == 255).all()
    black = blank(WIDE, HIGH, colour=False)
    grey_pixels(black)[:] = 0
    greys = drawn(SCAN, Picture(pyramid(black), WIDE, HIGH), 1.0, -40.0, 640.0)
    # Its own corner, by the file's words, and a millimetre and a half beside it.
    corner_x, corner_z = in_mm(0.0, 0.0)
    row, column = round(640 - corner_z), round(corner_x + 40)
    assert greys[row + 2, column + 2] == 0 and greys[row - 2, column - 2] == 255


def test_ink_is_found_where_it_is_drawn(grid: Picture) -> None:
    """A window of pixels around a crossing of the grid: the way through it and back, and the ink in it."""
    for x, z in ((100.0, 100.0), (600.0, 500.0), (650.0, 100.0), (100.0, 550.0), (400.0, 300.0)):
        window = ink_window(SCAN, grid, (x - 20, z - 20, x + 20, z + 20), 0.4)
        assert window is not None
        (at,) = window.px([(x, z)])
        assert window.mm([at])[0] == pytest.approx((x, z), abs=1e-6)
        assert window.grey[int(at[1]), int(at[0])] < 60 and window.holds([(x + 15, z + 15)])
        dark = np.argwhere(window.grey < 60)[:, ::-1] + 0.5
        mm = window.mm(dark)
        off = np.min(np.abs((mm + APART / 2) % APART - APART / 2), axis=1)
        assert len(dark) > 100 and off.max() < 1.0
        finer = window.mm(at + np.array(((0.0, 0.0), (1.0, 0.0))))
        assert float(np.hypot(*(finer[1] - finer[0]))) == pytest.approx(window.mm_per_px, rel=0.06)


@pytest.mark.parametrize("k", [-0.05, -0.02, 0.015, 0.05])
@pytest.mark.parametrize("zoom", [0.3, 1.0, 5.0, 40.0])
def test_a_cells_own_map_lies_within_a_tenth_of_a_pixel_of_the_screen(k: float, zoom: float) -> None:
    scan = replace(SCAN, lens=replace(LENS, k=k))
    to_mm = np.array(((1 / zoom, 0.0, 60.0), (0.0, -1 / zoom, 560.0), (0.0, 0.0, 1.0)))
    cells = cells_of(scan, (WIDE, HIGH), to_mm, QRect(0, 0, 1600, 1000))
    assert len(cells.corners) > 0
    rng = np.random.default_rng(1)
    at = cells.corners[:, None] + rng.uniform(0, cells.side, (len(cells.corners), 30, 2))
    true = pixels_of(scan, at.reshape(-1, 2) @ to_mm[:2, :2].T + to_mm[:2, 2]).reshape(at.shape)
    mine = np.einsum("nij,npj->npi", cells.to_source[:, :, :2], at) + cells.to_source[:, None, :, 2]
    inside = ((true >= 0) & (true <= (WIDE, HIGH))).all(axis=2)
    off = np.hypot(*np.moveaxis(true - mine, -1, 0))[inside] / cells.source_per_device
    assert off.max() < 0.1


class SharpPart:
    """Stands for a PDF page's detail: one part of it, drawn finer, and what was asked for."""

    trouble = ""
    version = 1

    def __init__(self, patch: Patch) -> None:
        self.patch = patch
        self.asked: list[tuple[float, ...]] = []

    def patch_for(self, seen: Part, step: tuple[float, float], anchor: object, coarsest: float) -> Patch:
        self.asked.append((*seen, *step))
        return self.patch


def test_a_pages_sharp_part_is_drawn_through_the_lens_too_and_the_coarse_one_around_it() -> None:
    level = blank(WIDE, HIGH, colour=False)
    grey_pixels(level)[:] = 200
    fine = blank(800, 800, colour=False)
    grey_pixels(fine)[:] = 40
    detail = SharpPart(Patch(fine, (600.0, 400.0), (0.5, 0.25)))
    picture = Picture(pyramid(level), WIDE, HIGH, detail=cast(Any, detail))
    greys = drawn(SCAN, picture, 1.0, 0.0, 600.0, 1.0, (800, 600))
    for (u, v), grey in (
        ((800.5, 500.5), 40), ((660.5, 440.5), 40), ((500.5, 500.5), 200), ((800.5, 700.5), 200),
    ):
        x, z = in_mm(u, v)
        assert greys[int(600.0 - z), int(x)] == grey, (u, v)
    assert len(detail.asked) == 1 and detail.asked[0][4] == pytest.approx(2.0, rel=0.25)
