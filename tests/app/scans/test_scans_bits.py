"""Big 1-bit scans that stay bits: what is seen of them is what a grey picture would show."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageOps
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter, QTransform
from PySide6.QtWidgets import QApplication

from app.scans import bits, decoding
from app.scans.drawing import draw_scan
from app.scans.levels import blank, colour_pixels, grey_pixels, pyramid
from app.scans.opening import open_picture
from app.scans.picture import Picture, without_finest
from core.design import Tone

INK = np.random.default_rng(5).random((75, 141)) < 0.3
ORIENTATION = 274


@pytest.fixture(autouse=True)
def every_scan_is_big(qapp: QApplication, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(decoding, "BIG_FROM_PIXELS", 0)


def g4(ink: np.ndarray, *, photometric: int = 0, **tags: int) -> bytes:
    with io.BytesIO() as stream:
        tiffinfo = {262: photometric, **{int(tag[1:]): value for tag, value in tags.items()}}
        Image.fromarray(~ink).save(stream, "TIFF", compression="group4", tiffinfo=tiffinfo)
        return stream.getvalue()


def greys(picture: Picture) -> np.ndarray:
    assert picture.bits is not None
    window = bits.window_of(picture.bits, 0, 0, picture.width, picture.height)
    return grey_pixels(window)[:, : picture.width].copy()


def means(values: np.ndarray, by: int) -> np.ndarray:
    """Means over blocks, the last row and column repeated where they are short of one."""
    rows, columns = -values.shape[0] % by, -values.shape[1] % by
    padded = np.pad(values, ((0, rows), (0, columns)), mode="edge").astype(float)
    return padded.reshape(padded.shape[0] // by, by, padded.shape[1] // by, by).mean(axis=(1, 3))


@pytest.mark.parametrize("photometric", [0, 1])
def test_ink_is_dark_at_every_level(photometric: int) -> None:
    shown: list[Picture] = []
    picture = open_picture(g4(INK, photometric=photometric), "plan.tif", preview=shown.append)
    expected = np.where(INK, 0, 255)
    np.testing.assert_array_equal(greys(picture), expected)
    assert picture.bits is not None and picture.bits.format() == QImage.Format.Format_Mono
    assert (picture.width, picture.height, picture.shrunk, picture.finest) == (141, 75, 2, 1)
    np.testing.assert_allclose(grey_pixels(picture.levels[0]), means(expected, 2), atol=0.51)
    [coarse] = shown
    assert (coarse.width, coarse.height, coarse.shrunk) == (141, 75, 8)
    np.testing.assert_allclose(grey_pixels(coarse.levels[0]), means(expected, 8), atol=0.51)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_bits_are_turned_as_the_tag_asks(orientation: int) -> None:
    data = g4(INK, t274=orientation)
    with Image.open(io.BytesIO(data)) as image:
        image.load()
        expected = np.asarray(ImageOps.exif_transpose(image).convert("L"))
    picture = open_picture(data, "plan.tif")
    np.testing.assert_array_equal(greys(picture), expected)
    assert ("Turned" in picture.note) == (orientation != 1)


def test_bits_take_an_eighth_of_the_room() -> None:
    wide = np.zeros((1000, 1600), bool)
    picture = open_picture(g4(wide), "plan.tif")
    # A bit a pixel, and a third of a byte for the half-size pyramid below it.
    assert picture.memory_bytes == pytest.approx(1000 * 1600 * (1 / 8 + 1 / 3), rel=0.02)
    poorer = without_finest(picture)
    assert poorer.bits is None and poorer.finest == 2
    assert without_finest(poorer).finest == 4


@pytest.mark.parametrize("tone", [Tone(invert=True), Tone(thicken=2), Tone(invert=True, thicken=3)])
@pytest.mark.parametrize("photometric", [0, 1])
def test_the_tone_of_bits_is_that_of_greys(
    monkeypatch: pytest.MonkeyPatch, tone: Tone, photometric: int
) -> None:
    sparse = np.zeros((700, 301), bool)
    random = np.random.default_rng(1)
    sparse[random.integers(0, 700, 90), random.integers(0, 301, 90)] = True
    data = g4(sparse ^ tone.invert, photometric=photometric)
    as_bits = greys(open_picture(data, "plan.tif", tone=tone))
    monkeypatch.setattr(decoding, "BIG_FROM_PIXELS", 1 << 40)
    plain = open_picture(data, "plan.tif", tone=tone)
    assert plain.bits is None
    np.testing.assert_array_equal(as_bits, grey_pixels(plain.levels[0]))


@pytest.mark.parametrize("zoom", [0.4, 0.8, 1.0, 3.0])
def test_what_is_drawn_of_bits_is_what_is_drawn_of_greys(zoom: float) -> None:
    # Smooth blobs, so that a half-size mean and what lies under it look alike.
    ink = np.zeros((400, 700), bool)
    ink[100:180, 203:401] = ink[300:310] = ink[:, 555:566] = True
    picture = open_picture(g4(ink), "plan.tif")
    level = blank(700, 400, colour=False)
    grey_pixels(level)[:] = np.where(ink, 0, 255)
    plain = Picture(pyramid(level), 700, 400)
    drawn = []
    for one in (picture, plain):
        paper = QImage(500, 300, QImage.Format.Format_RGB32)
        paper.fill(0xFF80A0FF)
        painter = QPainter(paper)
        view = QTransform(zoom, 0, 0, zoom, 250 - 350 * zoom, 150 - 200 * zoom)
        identity = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
        per_device = draw_scan(painter, one, identity, view, 1.0, QRectF(0, 0, 500, 300), 1.0)
        painter.end()
        assert per_device == pytest.approx(1 / zoom)
        drawn.append((colour_pixels(paper) & 255).astype(int))
    np.testing.assert_allclose(drawn[0], drawn[1], atol=1)


def test_a_lying_strip_table_is_left_to_pillow() -> None:
    data = bytearray(g4(INK))
    entry = data.find(struct.pack("<HHI", 279, 4, 1))
    assert entry > 0
    data[entry + 8 : entry + 12] = struct.pack("<I", 1 << 30)
    with pytest.raises(Exception, match="damaged, cut short"):
        open_picture(bytes(data), "plan.tif")
