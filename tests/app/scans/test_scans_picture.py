"""The pyramid of a scan, against plain averages."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QImage

from app.scans.levels import blank, colour_pixels, grey_pixels, pyramid
from app.scans.picture import Picture, levels_for


def grey_image(values: np.ndarray) -> QImage:
    image = blank(values.shape[1], values.shape[0], colour=False)
    grey_pixels(image)[:] = values
    return image


def two_by_two_means(values: np.ndarray) -> np.ndarray:
    """Rounded half up; an odd last row or column counts twice."""
    rows, columns = values.shape[0] % 2, values.shape[1] % 2
    margins = ((0, rows), (0, columns), *((0, 0),) * (values.ndim - 2))
    padded = np.pad(values, margins, mode="edge").astype(float)
    total = padded[0::2, 0::2] + padded[1::2, 0::2] + padded[0::2, 1::2] + padded[1::2, 1::2]
    return np.floor(total / 4 + 0.5).astype(np.uint8)


@settings(max_examples=40)
@given(st.integers(1, 900), st.integers(1, 900), st.integers(0, 2**32 - 1))
def test_grey_levels_are_the_means_of_four(width: int, height: int, seed: int) -> None:
    values = np.random.default_rng(seed).integers(0, 256, (height, width), dtype=np.uint8)
    levels = pyramid(grey_image(values))
    for level in levels[1:]:
        values = two_by_two_means(values)
        np.testing.assert_array_equal(grey_pixels(level), values)
    assert max(levels[-1].width(), levels[-1].height()) <= 256


@settings(max_examples=25)
@given(st.integers(1, 600), st.integers(1, 600), st.integers(0, 2**32 - 1))
def test_colour_levels_are_the_means_of_four(width: int, height: int, seed: int) -> None:
    rgb = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    image = blank(width, height, colour=True)
    wide = rgb.astype(np.uint32)
    colour_pixels(image)[:] = 0xFF000000 | wide[..., 0] << 16 | wide[..., 1] << 8 | wide[..., 2]
    for level in pyramid(image)[1:]:
        rgb = two_by_two_means(rgb)
        words = colour_pixels(level)
        found = np.stack([(words >> shift) & 255 for shift in (16, 8, 0)], axis=-1)
        np.testing.assert_array_equal(found, rgb)
        assert (words >> 24 == 255).all()


def test_the_mean_grey_survives_all_levels() -> None:
    # Rounding a quarter half up adds 1/8 on average, and at most 1/2, at each level.
    values = np.random.default_rng(7).integers(0, 256, (2048, 1024), dtype=np.uint8)
    levels = pyramid(grey_image(values))
    assert len(levels) == 4
    assert grey_pixels(levels[-1]).mean() == pytest.approx(values.mean(), abs=0.5)


def test_a_thin_line_is_still_there_at_the_coarsest_level() -> None:
    values = np.full((2048, 2048), 255, np.uint8)
    values[:, 777] = 0
    coarsest = pyramid(grey_image(values))[-1]
    column = grey_pixels(coarsest)[:, 777 // 8]
    assert np.abs(column - 255 * 7 / 8).max() < 2


def test_progress_rises_and_what_it_raises_stops_the_work() -> None:
    told: list[float] = []
    pyramid(grey_image(np.zeros((3000, 2000), np.uint8)), told.append)
    assert told == sorted(told)
    assert 0 < told[0] < told[-1] <= 1

    def stop(done: float) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        pyramid(grey_image(np.zeros((3000, 2000), np.uint8)), stop)


@pytest.mark.parametrize(
    ("source_per_device", "level"),
    [(0.1, 0), (1, 0), (1.99, 0), (2, 1), (3.9, 1), (4, 2), (1e30, 3), (np.inf, 3), (np.nan, 0), (-1, 0)],
)
def test_the_level_keeps_a_pixel_for_each_device_pixel(source_per_device: float, level: int) -> None:
    picture = Picture(pyramid(grey_image(np.zeros((2048, 1024), np.uint8))), 1024, 2048)
    assert levels_for(picture, source_per_device) == level


def test_a_coarse_picture_starts_from_its_own_reduction() -> None:
    picture = Picture(pyramid(grey_image(np.zeros((512, 512), np.uint8))), 4096, 4096, shrunk=8)
    assert [levels_for(picture, scale) for scale in (1, 8, 15, 16, 64)] == [0, 0, 0, 1, 1]


def test_no_room_is_an_error_and_not_an_empty_picture() -> None:
    with pytest.raises(MemoryError):
        blank(10_000_000, 10_000_000, colour=False)
