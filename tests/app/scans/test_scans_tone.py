"""The tone of a scan: shading levelled, blueprints inverted, lines thickened; the file stays as it is."""

from __future__ import annotations

import io

import numpy as np
import pytest
import shapely
from PIL import Image
from PySide6.QtGui import QImage
from shapely.geometry import LineString, Point

from app.scans import tone as tone_module
from app.scans.faults import OpeningCancelledError
from app.scans.levels import blank, colour_pixels, grey_pixels
from app.scans.opening import open_picture
from app.scans.tone import applied, channels_of, shading_of, thicken
from core.design import Tone


def grey(values: np.ndarray) -> QImage:
    image = blank(values.shape[1], values.shape[0], colour=False)
    grey_pixels(image)[:] = values
    return image


def toned(values: np.ndarray, tone: Tone) -> np.ndarray:
    image = grey(values)
    applied(image, tone)
    return grey_pixels(image).copy()


def png(values: np.ndarray) -> bytes:
    with io.BytesIO() as stream:
        Image.fromarray(values).save(stream, "PNG")
        return stream.getvalue()


# Levelling

HEIGHT, WIDTH = 700, 1100
DOWN, ACROSS = np.mgrid[0:HEIGHT, 0:WIDTH]
SHADES = {
    "a slope": 110 + 120 * ACROSS / WIDTH - 25 * DOWN / HEIGHT,
    "a fold": 215 - 90 * np.exp(-(((ACROSS - 500) / 160.0) ** 2)),
    "a lamp": 240 - 130 * np.hypot((ACROSS - 800) / WIDTH, (DOWN - 100) / HEIGHT),
}
FLAT_WITHIN = {"a slope": 8, "a fold": 16, "a lamp": 8}
"""Greys that levelled paper may stay below white, for 99 % of its pixels; a fold is narrower than the grid
can follow, and here has something drawn black in it.
"""


def shaded_plan(shade: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(a plan in that light, where its ink is): paper and ink both get as much light as there is."""
    ink = np.zeros((HEIGHT, WIDTH), bool)
    ink[60::120, 40:-40] = ink[61::120, 40:-40] = True
    ink[40:-40, 90::150] = True
    ink[300:380, 400:520] = True  # drawn black: wider than any line
    return np.where(ink, 0.2 * shade, shade).round().astype(np.uint8), ink


@pytest.mark.parametrize("name", SHADES)
def test_levelled_paper_is_flat_and_its_ink_dark(name: str) -> None:
    plan, ink = shaded_plan(SHADES[name])
    paper_before = plan[~ink]
    assert int(paper_before.max()) - int(paper_before.min()) > 80
    levelled = toned(plan, Tone(level=True))
    assert np.percentile(levelled[~ink], 1) >= 255 - FLAT_WITHIN[name]
    # Ink has a fifth of the light that its paper has.
    assert np.abs(levelled[ink].astype(int) - 51).max() <= FLAT_WITHIN[name]


def test_what_is_black_all_over_is_not_taken_for_paper() -> None:
    assert toned(np.full((200, 300), 30, np.uint8), Tone(level=True)).max() <= 30 * tone_module.MOST_GAIN + 1


def test_white_paper_stays_as_it_is() -> None:
    plan = np.full((300, 200), 255, np.uint8)
    plan[::50] = 17
    np.testing.assert_array_equal(toned(plan, Tone(level=True)), plan)


def test_yellowed_paper_turns_white_and_a_red_line_stays_red() -> None:
    image = blank(400, 300, colour=True)
    words = colour_pixels(image)
    words[:] = 0xFFE6D8A0
    words[100:104] = 0xFFC01808
    applied(image, Tone(level=True))
    assert int(words[10, 10]) == 0xFFFFFFFF
    red, green, blue = (int(words[101, 50]) >> shift & 255 for shift in (16, 8, 0))
    assert red > 200 and green < 40 and blue < 40


@pytest.mark.parametrize("size", [(1, 1), (1, 40), (40, 1), (3, 5), (9, 2000)])
def test_small_and_narrow_pictures_have_a_tone(size: tuple[int, int]) -> None:
    plan = np.full(size, 200, np.uint8)
    levelled = toned(plan, Tone(level=True, invert=False, thicken=4))
    assert levelled.min() >= 254


# Inverting


def test_inverted_twice_is_the_first() -> None:
    plan = np.random.default_rng(3).integers(0, 256, (37, 53), dtype=np.uint8)
    once = toned(plan, Tone(invert=True))
    np.testing.assert_array_equal(once, 255 - plan)
    np.testing.assert_array_equal(toned(once, Tone(invert=True)), plan)
    image = blank(53, 37, colour=True)
    colour_pixels(image)[:] = 0xFF000000 | np.random.default_rng(4).integers(0, 1 << 24, (37, 53))
    before = colour_pixels(image).copy()
    applied(image, Tone(invert=True))
    np.testing.assert_array_equal(colour_pixels(image), before ^ 0x00FFFFFF)
    applied(image, Tone(invert=True))
    np.testing.assert_array_equal(colour_pixels(image), before)


def test_a_blueprint_becomes_dark_lines_on_white() -> None:
    blueprint = np.full((300, 500, 3), (28, 60, 145), np.uint8)
    blueprint[100:103] = (225, 232, 245)
    picture = open_picture(png(blueprint), "plan.png", tone=Tone(invert=True, level=True))
    assert picture.levels[0].format() == QImage.Format.Format_Grayscale8
    found = grey_pixels(picture.levels[0])
    assert found[:98].min() >= 250 and found[100:103].max() <= 45


# Thickening


def darkest_nearby(plan: np.ndarray, radius: int) -> np.ndarray:
    """Plain loops: the darkest of all pixels no further away than ``radius``."""
    out = np.empty_like(plan)
    for i in range(plan.shape[0]):
        for j in range(plan.shape[1]):
            out[i, j] = min(
                plan[k, m]
                for k in range(max(0, i - radius), min(plan.shape[0], i + radius + 1))
                for m in range(max(0, j - radius), min(plan.shape[1], j + radius + 1))
                if (k - i) ** 2 + (m - j) ** 2 <= radius**2
            )
    return out


@pytest.mark.parametrize("radius", [1, 2, 3, 4])
@pytest.mark.parametrize("size", [(23, 31), (2, 19), (19, 3), (1, 1)])
def test_thickened_is_the_darkest_within_the_radius(radius: int, size: tuple[int, int]) -> None:
    plan = np.random.default_rng(radius).integers(0, 256, size, dtype=np.uint8)
    np.testing.assert_array_equal(toned(plan, Tone(thicken=radius)), darkest_nearby(plan, radius))


def test_thickening_in_strips_is_the_same_as_at_once() -> None:
    # 50,000 pixels wide is more than a strip holds, so that strips are as low as they get.
    plan = np.full((70, 50_000), 255, np.uint8)
    plan[np.random.default_rng(1).integers(0, 70, 300), np.random.default_rng(2).integers(0, 50_000, 300)] = 9
    found = plan.copy()
    thicken(found[:, :, None], 3, lambda _: None)
    for dy, half in ((0, 3), (1, 2), (2, 2), (3, 0)):
        rows, columns = np.nonzero(plan == 9)
        for sign in (-1, 1):
            for dx in range(-half, half + 1):
                inside = (rows + sign * dy >= 0) & (rows + sign * dy < 70)
                inside &= (columns + dx >= 0) & (columns + dx < 50_000)
                assert (found[(rows + sign * dy)[inside], (columns + dx)[inside]] == 9).all()
    assert 20 * 300 < (found == 9).sum() <= 29 * 300


@pytest.mark.parametrize("radius", [2, 4])
def test_a_thickened_line_is_the_line_with_a_seam_around_it(radius: int) -> None:
    line = LineString([(30.5, 20.5), (95.5, 61.5)])
    middles = shapely.points(*np.meshgrid(np.arange(130) + 0.5, np.arange(90) + 0.5))
    plan = np.where(shapely.distance(middles, line) <= 1.0, 0, 255).astype(np.uint8)
    found = toned(plan, Tone(thicken=radius)) == 0
    seam = line.buffer(1.0 + radius)
    # Pixels whose middle lies clear of the seam's edge; a disc of whole pixels is a little ragged.
    clear = shapely.distance(middles, seam.exterior) > 0.75
    np.testing.assert_array_equal(found[clear], shapely.contains(seam, middles)[clear])
    assert seam.contains(Point(60, 40))


# On opening


def test_the_tone_comes_with_the_picture_and_the_bytes_stay_the_same() -> None:
    plan, ink = shaded_plan(SHADES["a slope"])
    data = png(plan)
    kept = bytes(bytearray(data))
    picture = open_picture(data, "plan.png", tone=Tone(level=True, thicken=1))
    assert data == kept
    found = grey_pixels(picture.levels[0])
    np.testing.assert_array_equal(found, toned(plan, Tone(level=True, thicken=1)))
    # The coarser levels are made of the changed one.
    coarse = grey_pixels(picture.levels[1])
    assert coarse[5, 5] == pytest.approx(found[10:12, 10:12].mean(), abs=1)
    as_it_is = open_picture(data, "plan.png")
    np.testing.assert_array_equal(grey_pixels(as_it_is.levels[0]), plan)
    assert ink.any()


def test_a_tone_can_be_stopped_half_way() -> None:
    def stop(part: float) -> None:
        if part > 0:
            raise OpeningCancelledError

    with pytest.raises(OpeningCancelledError):
        applied(grey(np.full((900, 900), 200, np.uint8)), Tone(level=True, thicken=4), stop)


def test_progress_of_a_tone_rises_to_one() -> None:
    told: list[float] = []
    applied(grey(np.full((900, 900), 200, np.uint8)), Tone(level=True, invert=True, thicken=2), told.append)
    assert told == sorted(told) and told[-1] == 1.0


def test_shading_is_estimated_on_the_sheet_as_it_lies() -> None:
    sheet = grey(SHADES["a slope"].astype(np.uint8))
    shade = shading_of(channels_of(sheet))
    gains = shade.gain_rows(np.array([0.5], np.float32), WIDTH)[0, :, 0]
    np.testing.assert_allclose(255 / gains, SHADES["a slope"][HEIGHT // 2], atol=3)
