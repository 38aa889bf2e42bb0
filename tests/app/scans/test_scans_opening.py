"""Opening pictures of every kind, against what Pillow (a reference library) wrote into them."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageOps
from PySide6.QtGui import QImage, QImageReader
from PySide6.QtWidgets import QApplication

from app.scans import decoding, opening
from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.levels import colour_pixels, grey_pixels
from app.scans.opening import open_picture, open_preview, picture_dpi
from app.scans.picture import Picture

RANDOM = np.random.default_rng(20)
GREY = RANDOM.integers(0, 256, (37, 53), dtype=np.uint8)
RGB = RANDOM.integers(0, 256, (37, 53, 3), dtype=np.uint8)
INK = RANDOM.integers(0, 2, (37, 53), dtype=np.uint8).astype(bool)


def saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    with io.BytesIO() as stream:
        image.save(stream, kind, **options)
        return stream.getvalue()


def shown(picture: Picture) -> np.ndarray:
    level = picture.levels[0]
    assert (picture.width, picture.height) == (level.width(), level.height())
    if level.format() == QImage.Format.Format_Grayscale8:
        return grey_pixels(level).copy()
    assert level.format() == QImage.Format.Format_RGB32
    words = colour_pixels(level).copy()
    return np.stack([(words >> shift) & 255 for shift in (16, 8, 0)], axis=-1).astype(np.uint8)


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_claiming(width: int, height: int, rows: bytes = b"", *, bits: int = 8) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, bits, 0, 0, 0, 0)
    body = chunk(b"IDAT", zlib.compress(rows, 1)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + body


# --- kinds ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "BMP", "GIF"])
def test_grey_comes_through_unchanged(kind: str) -> None:
    picture = open_picture(saved(Image.fromarray(GREY), kind), "plan")
    np.testing.assert_array_equal(shown(picture), GREY)
    assert picture.note == ""


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "BMP"])
def test_colour_comes_through_unchanged(kind: str) -> None:
    np.testing.assert_array_equal(shown(open_picture(saved(Image.fromarray(RGB), kind), "plan")), RGB)


def test_lossless_webp_opens() -> None:
    data = saved(Image.fromarray(RGB), "WEBP", lossless=True)
    np.testing.assert_array_equal(shown(open_picture(data, "plan.webp")), RGB)


@pytest.mark.parametrize("values", [GREY, RGB], ids=["grey", "colour"])
@pytest.mark.parametrize("progressive", [False, True])
def test_jpeg_is_what_pillow_decodes(values: np.ndarray, progressive: bool) -> None:
    data = saved(Image.fromarray(values), "JPEG", quality=90, progressive=progressive)
    with Image.open(io.BytesIO(data)) as image:
        np.testing.assert_array_equal(shown(open_picture(data, "plan.jpg")), np.asarray(image))


@pytest.mark.parametrize("photometric", [0, 1], ids=["white is zero", "black is zero"])
@pytest.mark.parametrize("compression", ["group4", "raw", "packbits", "tiff_deflate"])
@pytest.mark.parametrize("through_qt", [True, False])
def test_one_bit_tiff_keeps_its_ink_dark(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, photometric: int, compression: str, through_qt: bool
) -> None:
    if not through_qt:
        monkeypatch.setattr(decoding, "read_bilevel_tiff", lambda *_: None)
    data = saved(Image.fromarray(~INK), "TIFF", compression=compression, tiffinfo={262: photometric})
    picture = open_picture(data, "plan.tif")
    np.testing.assert_array_equal(shown(picture), np.where(INK, 0, 255))
    assert picture.levels[0].format() == QImage.Format.Format_Grayscale8


@pytest.mark.parametrize("black_first", [True, False])
def test_one_bit_png_keeps_its_ink_dark(black_first: bool) -> None:
    palette = [0, 0, 0, 255, 255, 255] if black_first else [255, 255, 255, 0, 0, 0]
    image = Image.fromarray((black_first != INK).astype(np.uint8))
    image.putpalette(palette)
    picture = open_picture(saved(image, "PNG", bits=1), "plan.png")
    np.testing.assert_array_equal(shown(picture), np.where(INK, 0, 255))
    plain = open_picture(saved(Image.fromarray(~INK), "PNG"), "plan.png")
    np.testing.assert_array_equal(shown(plain), np.where(INK, 0, 255))


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_16_bit_greys_keep_their_upper_byte(kind: str) -> None:
    deep = GREY.astype(np.uint16) * 257  # 0..255 onto 0..65535
    picture = open_picture(saved(Image.fromarray(deep), kind), "plan")
    np.testing.assert_array_equal(shown(picture), GREY)
    assert picture.note == "16-bit greys are shown as 8-bit."


def test_16_bit_tiff_with_white_as_zero() -> None:
    deep = (255 - GREY.astype(np.uint16)) * 257
    data = bytearray(saved(Image.fromarray(deep), "TIFF"))
    entry = data.find(struct.pack("<HHII", 262, 3, 1, 1))
    data[entry + 8] = 0
    np.testing.assert_array_equal(shown(open_picture(bytes(data), "plan.tif")), GREY)


def test_cmyk_jpeg_shows_its_inks() -> None:
    # No cyan, full magenta and yellow is red; no ink at all is white.
    patches = np.zeros((16, 48, 4), np.uint8)
    patches[:, :16] = (0, 255, 255, 0)
    patches[:, 32:] = (0, 0, 0, 255)
    data = saved(Image.frombytes("CMYK", (48, 16), patches.tobytes()), "JPEG", quality=100, subsampling=0)
    picture = open_picture(data, "plan.jpg")
    found = shown(picture)
    for column, colour in ((4, (255, 0, 0)), (24, (255, 255, 255)), (44, (0, 0, 0))):
        np.testing.assert_allclose(found[8, column], colour, atol=6)
    assert "CMYK" in picture.note


def test_palette_shows_its_colours_and_grey_palettes_stay_small() -> None:
    image = Image.fromarray(GREY % 4)
    image.putpalette([255, 0, 0, 0, 255, 0, 0, 0, 255, 9, 9, 9])
    colours = np.array([(255, 0, 0), (0, 255, 0), (0, 0, 255), (9, 9, 9)])
    for kind in ("PNG", "GIF", "TIFF"):
        np.testing.assert_array_equal(shown(open_picture(saved(image, kind), "plan")), colours[GREY % 4])
    image.putpalette([0, 0, 0, 80, 80, 80, 160, 160, 160, 255, 255, 255])
    picture = open_picture(saved(image, "PNG"), "plan")
    assert picture.levels[0].format() == QImage.Format.Format_Grayscale8
    np.testing.assert_array_equal(shown(picture), np.array([0, 80, 160, 255])[GREY % 4])


def test_what_is_transparent_shows_white() -> None:
    alpha = RANDOM.integers(0, 256, GREY.shape, dtype=np.uint8)
    over = (RGB * (alpha[..., None] / 255.0)) + (255.0 - alpha[..., None])
    rgba = np.dstack((RGB, alpha))
    for kind in ("PNG", "TIFF"):
        picture = open_picture(saved(Image.fromarray(rgba), kind), "p")
        np.testing.assert_allclose(shown(picture), over, atol=0.51)
    grey_alpha = Image.merge("LA", (Image.fromarray(GREY), Image.fromarray(alpha)))
    over_grey = GREY * (alpha / 255.0) + (255.0 - alpha)
    np.testing.assert_allclose(shown(open_picture(saved(grey_alpha, "PNG"), "p")), over_grey, atol=0.51)


def test_a_grey_named_as_transparent_shows_white() -> None:
    data = saved(Image.fromarray(GREY), "PNG", transparency=int(GREY[0, 0]))
    np.testing.assert_array_equal(shown(open_picture(data, "p")), np.where(GREY[0, 0] == GREY, 255, GREY))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "G4"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_turn_of_the_camera_is_done(qapp: QApplication, kind: str, orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    source = Image.fromarray(~INK) if kind == "G4" else Image.fromarray(GREY)
    if kind == "TIFF":
        data = saved(source, "TIFF", tiffinfo={274: orientation})
    elif kind == "G4":
        data = saved(source, "TIFF", compression="group4", tiffinfo={274: orientation})
    else:
        data = saved(source, kind, exif=exif)
    with Image.open(io.BytesIO(data)) as image:
        image.load()
        expected = np.asarray(ImageOps.exif_transpose(image).convert("L"))
    picture = open_picture(data, "plan")
    np.testing.assert_array_equal(shown(picture), expected)
    assert ("Turned" in picture.note) == (orientation != 1)


def test_pages_of_a_tiff_and_the_first_picture_of_an_animation(qapp: QApplication) -> None:
    pages = [Image.fromarray(np.full((20, 30), grey, np.uint8)) for grey in (10, 120, 230)]
    data = saved(pages[0], "TIFF", save_all=True, append_images=pages[1:])
    third = open_picture(data, "plan.tif", page=2)
    assert (shown(third) == 230).all()
    assert third.note == "Page 3 of 3."
    bits = [page.point(lambda grey: 255 * (grey > 100)).convert("1") for page in pages]
    data = saved(bits[0], "TIFF", save_all=True, append_images=bits[1:], compression="group4")
    assert [int(shown(open_picture(data, "p.tif", page=page))[0, 0]) for page in range(3)] == [0, 255, 255]
    film = open_picture(saved(pages[0], "GIF", save_all=True, append_images=pages[1:]), "plan.gif")
    assert (shown(film) == 10).all()
    assert film.note == "The first of 3 pictures in the file."


def test_big_colour_turns_grey_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_COLOUR_PIXELS", 1000)
    red = Image.new("RGB", (50, 40), (255, 0, 0))
    for kind in ("PNG", "JPEG"):
        picture = open_picture(saved(red, kind), "plan")
        # Luma of red by ITU-R BT.601: 0.299.
        np.testing.assert_allclose(shown(picture), 0.299 * 255, atol=1.5)
        assert "grey" in picture.note


def test_a_scan_of_9933_by_14043_pixels_opens() -> None:
    picture = open_picture(png_claiming(9933, 14043, bytes(1243 * 14043), bits=1), "plan.png")
    assert (picture.width, picture.height) == (9933, 14043)
    assert grey_pixels(picture.levels[-1]).max() == 0
    assert max(picture.levels[-1].width(), picture.levels[-1].height()) <= 256


def test_the_limits_of_the_libraries_are_put_back(qapp: QApplication) -> None:
    before = QImageReader.allocationLimit(), Image.MAX_IMAGE_PIXELS
    open_picture(saved(Image.fromarray(INK), "TIFF", compression="group4"), "plan.tif")
    with pytest.raises(ScanError):
        open_picture(png_claiming(100, 100), "plan.png")
    assert (QImageReader.allocationLimit(), Image.MAX_IMAGE_PIXELS) == before


# --- refusals ------------------------------------------------------------------------------------

BMP_HEAD = saved(Image.fromarray(GREY), "BMP")[:60]
REFUSED = {
    "empty": (b"", "the file is empty"),
    "text": ("Length over all: 1320 mm, spän 1500\n".encode() * 50, "found text;"),
    "zip": (b"PK\x03\x04....", "found a ZIP archive"),
    "film": (b"\0\0\0\x18ftypisom\0\0\0\0", "found a film"),
    "heic head": (b"\0\0\0\x18ftypheic\0\0\0\0", "the HEIC picture is damaged, cut short"),
    "bytes": (bytes(range(128, 256)) * 4, "found nothing that looks like a picture"),
    "no width": (png_claiming(0, 40), "has no pixels (0 x 40)"),
    "bomb": (png_claiming(60_000, 60_000), "60000 x 60000 pixels, and at most 400 megapixels"),
    "too long": (png_claiming(70_000, 10), "65500 pixels on a side"),
    "lying header": (png_claiming(3000, 3000, bytes(200)), "the PNG picture is damaged, cut short"),
    "magic alone": (b"\x89PNG\r\n\x1a\n", "the PNG picture is damaged, cut short"),
    "jpeg magic alone": (b"\xff\xd8\xff\xe0", "the JPEG picture is damaged, cut short"),
    "tiff magic alone": (b"II*\0\x08\0\0\0\0\0", "the TIFF picture is damaged, cut short"),
    "bmp head": (BMP_HEAD, "the BMP picture is damaged, cut short"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_picture_is_refused_in_one_sentence(case: str) -> None:
    data, words = REFUSED[case]
    with pytest.raises(ScanError) as refusal:
        open_picture(data, "folder/plan.png")
    sentence = str(refusal.value)
    assert sentence.startswith("plan.png: ")
    assert words in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
def test_half_a_picture_is_refused_whole(kind: str, part: float) -> None:
    options = {"compression": "raw"} if kind == "TIFF" else {}
    values = RANDOM.integers(0, 256, (300, 300), dtype=np.uint8)
    data = saved(Image.fromarray(values), kind, **options)
    with pytest.raises(ScanError, match=f"the {kind} picture is damaged, cut short"):
        open_picture(data[: int(len(data) * part)], "plan")


def test_half_a_g4_tiff_is_refused_whole(qapp: QApplication) -> None:
    bits = RANDOM.integers(0, 2, (300, 300), dtype=np.uint8).astype(bool)
    data = saved(Image.fromarray(bits), "TIFF", compression="group4")
    with pytest.raises(ScanError, match="damaged, cut short"):
        open_picture(data[: len(data) // 2], "plan.tif")


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_a_flipped_byte_in_compressed_pixels_is_noticed(kind: str) -> None:
    options = {"compression": "tiff_deflate"} if kind == "TIFF" else {}
    data = bytearray(saved(Image.fromarray(GREY), kind, **options))
    data[len(data) // 2] ^= 0xFF
    with pytest.raises(ScanError, match="damaged"):
        open_picture(bytes(data), "plan")


def test_measured_values_are_no_picture() -> None:
    data = saved(Image.fromarray(GREY.astype(np.float32)), "TIFF")
    with pytest.raises(ScanError, match=r"32-bit or fractional.*save it as 8-bit grey"):
        open_picture(data, "heights.tif")


def test_too_much_memory_is_refused_before_it_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_DECODED_BYTES", 5000)
    with pytest.raises(ScanError, match=r"53 x 37 pixels in colour need .* GB of memory"):
        open_picture(saved(Image.fromarray(RGB), "PNG"), "plan.png")
    monkeypatch.setattr(decoding, "blank", lambda *_, **__: (_ for _ in ()).throw(MemoryError))
    with pytest.raises(ScanError, match="not enough memory"):
        open_picture(saved(Image.fromarray(GREY), "PNG"), "plan.png")


@pytest.mark.parametrize("page", [-1, 1, 7])
def test_a_page_that_is_not_there_is_named(page: int) -> None:
    with pytest.raises(ScanError, match=rf"page {page + 1} is wanted, but the file has one page"):
        open_picture(saved(Image.fromarray(GREY), "TIFF"), "plan.tif", page=page)


# --- progress, stopping, preview -----------------------------------------------------------------


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
def test_progress_rises_to_one(kind: str) -> None:
    told: list[float] = []
    values = RANDOM.integers(0, 256, (900, 1100), dtype=np.uint8)
    open_picture(saved(Image.fromarray(values), kind), "plan", progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 3


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
@pytest.mark.parametrize("asked", [0, 3, 6])
def test_it_stops_when_told_to(kind: str, asked: int) -> None:
    count = 0

    def cancelled() -> bool:
        nonlocal count
        count += 1
        return count > asked

    with pytest.raises(OpeningCancelledError):
        open_picture(saved(Image.fromarray(GREY), kind), "plan", cancelled=cancelled)


def test_a_big_jpeg_has_a_coarse_first_picture() -> None:
    values = np.full((3001, 3003), 240, np.uint8)
    values[:, 1600:1616] = 0
    data = saved(Image.fromarray(values), "JPEG", quality=90)
    coarse = open_preview(data, "plan.jpg")
    assert coarse is not None
    assert (coarse.width, coarse.height, coarse.shrunk) == (3003, 3001, 8)
    grey = grey_pixels(coarse.levels[0])
    assert grey.shape == (376, 376)
    assert grey[100, 200] < 20
    assert grey[100, 190] > 230
    assert open_preview(saved(Image.fromarray(GREY), "JPEG"), "plan.jpg") is None
    assert open_preview(saved(Image.fromarray(values), "PNG"), "plan.png") is None


# --- resolution ----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "BMP"])
def test_a_resolution_that_is_given_is_found(kind: str) -> None:
    data = saved(Image.fromarray(GREY), kind, dpi=(300, 300))
    assert picture_dpi(data) == (300.0, 300.0)
    assert open_picture(data, "plan").dpi == 300.0


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
@pytest.mark.parametrize("dpi", [72, 96, 10, 9600])
def test_a_resolution_by_habit_or_beyond_belief_is_not_given(kind: str, dpi: int) -> None:
    data = saved(Image.fromarray(GREY), kind, dpi=(dpi, dpi))
    assert picture_dpi(data) is None
    assert open_picture(data, "plan").dpi is None


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "GIF"])
def test_no_resolution_is_invented(kind: str) -> None:
    assert picture_dpi(saved(Image.fromarray(GREY), kind)) is None


def test_unequal_resolutions_are_told_and_not_averaged() -> None:
    data = saved(Image.fromarray(GREY), "TIFF", dpi=(204, 98))
    assert picture_dpi(data) == (204.0, 98.0)
    picture = open_picture(data, "fax.tif")
    assert picture.dpi is None
    assert "204 dpi across but 98 down" in picture.note


def test_a_turned_picture_turns_its_resolutions() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    assert picture_dpi(saved(Image.fromarray(GREY), "JPEG", dpi=(300, 150), exif=exif)) == (150.0, 300.0)


def test_dots_per_centimetre_are_converted() -> None:
    data = saved(Image.fromarray(GREY), "TIFF", resolution=100, resolution_unit=3)
    assert picture_dpi(data) == (254.0, 254.0)


@pytest.mark.parametrize("data", [b"", b"text", b"\x89PNG\r\n\x1a\n", png_claiming(0, 0)])
def test_no_picture_has_no_resolution(data: bytes) -> None:
    assert picture_dpi(data) is None
