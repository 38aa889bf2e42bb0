"""HEIC, AVIF, JPEG 2000, deep greys and tiles, against what other libraries wrote into them.

``camera.heic`` and ``grey.heic`` were drawn for these tests and written by pillow-heif 1.8.1 (libheif
1.23.6, x265): four plain quarters stored 32 x 24, turned by ``irot`` as Exif orientation 6 asks, 300 dpi,
with the exposure of a camera; and a grey of 230 with a line of 30 and one of 90, lossless, 300 dpi.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from heic_tiles import tiled
from PIL import Image, features
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.scans import beside, costs, opening, watch
from app.scans.coming import place_of
from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.kinds import foreign_kind, picture_kind
from app.scans.levels import colour_pixels, grey_pixels
from app.scans.opening import open_picture, picture_dpi, picture_sheets, picture_size
from app.scans.pdf_detail import stop_pdf
from app.scans.picture import Picture

HERE = Path(__file__).parent
CAMERA, GREY_HEIC = (HERE / "camera.heic").read_bytes(), (HERE / "grey.heic").read_bytes()
RANDOM = np.random.default_rng(7)
RGB = RANDOM.integers(0, 256, (37, 53, 3), dtype=np.uint8)
GREY = RGB[..., 0].copy()
J2K: dict[str, Any] = {"no_jp2": True}


@pytest.fixture(scope="module", autouse=True)
def _process_ends() -> Iterator[None]:
    yield
    stop_pdf()


def saved(values: np.ndarray, kind: str, **options: Any) -> bytes:
    with io.BytesIO() as stream:
        Image.fromarray(values).save(stream, kind, **options)
        return stream.getvalue()


def shown(picture: Picture) -> np.ndarray:
    level = picture.levels[0]
    if level.format() == QImage.Format.Format_Grayscale8:
        return grey_pixels(level).copy()
    words = colour_pixels(level).copy()
    return np.stack([(words >> shift) & 255 for shift in (16, 8, 0)], axis=-1).astype(np.uint8)


NEW = {
    "HEIC": CAMERA, "grey HEIC": GREY_HEIC, "AVIF": saved(RGB, "AVIF"), "grey AVIF": saved(GREY, "AVIF"),
    "JPEG 2000": saved(RGB, "JPEG2000"), "grey JPEG 2000": saved(GREY, "JPEG2000", tile_size=(16, 16)),
    "bare JPEG 2000": saved(GREY, "JPEG2000", **J2K), "WebP": saved(RGB, "WEBP"),
}


# Pixels


@pytest.mark.parametrize("values", [GREY, RGB], ids=["grey", "colour"])
@pytest.mark.parametrize("options", [{}, J2K, {"tile_size": (16, 16)}], ids=["boxed", "bare", "tiled"])
def test_lossless_jpeg_2000_comes_through_unchanged(values: np.ndarray, options: dict[str, Any]) -> None:
    picture = open_picture(saved(values, "JPEG2000", **options), "plan")
    np.testing.assert_array_equal(shown(picture), values)
    assert picture.note == ""


@pytest.mark.parametrize("values", [GREY, RGB], ids=["grey", "colour"])
def test_avif_is_what_pillow_decodes(values: np.ndarray) -> None:
    data = saved(values, "AVIF", quality=90, subsampling="4:4:4")
    with Image.open(io.BytesIO(data)) as image:
        expected = np.asarray(image.convert("L" if values.ndim == 2 else "RGB"))
    found = shown(open_picture(data, "plan"))
    # Some versions of Pillow hand a grey over in three equal colours.
    found = found if found.ndim == values.ndim else found[..., 0]
    np.testing.assert_allclose(found.astype(int), expected, atol=1)


def test_a_phone_s_heic_stands_upright_and_is_a_photograph() -> None:
    picture = open_picture(CAMERA, "IMG_0001.HEIC")
    assert (picture.width, picture.height) == (24, 32) == picture_size(CAMERA, "IMG_0001.HEIC", 0)
    # Stored red, green over blue, white; orientation 6 is a quarter turn clockwise.
    corners = shown(picture)[[2, 2, -3, -3], [2, -3, 2, -3]]
    stored = {"blue": (50, 60, 200), "red": (200, 40, 40), "white": (235, 235, 230), "green": (40, 180, 60)}
    np.testing.assert_allclose(corners, list(stored.values()), atol=4)
    assert picture.photograph and picture.dpi is None and picture_dpi(CAMERA) is None
    assert place_of(CAMERA, picture)[1] == "none"


def test_a_scanner_s_heic_is_grey_flat_and_placed_by_its_dpi() -> None:
    picture = open_picture(GREY_HEIC, "plan.heic")
    expected = np.full((24, 32), 230)
    expected[10:13], expected[:, 20:22] = 30, 90
    expected[10:13, 20:22] = 90
    assert picture.levels[0].format() == QImage.Format.Format_Grayscale8
    np.testing.assert_allclose(shown(picture), expected, atol=2)
    assert not picture.photograph and picture.dpi == 300.0
    assert place_of(GREY_HEIC, picture)[1] == "dpi"


def test_a_heic_of_tiles_is_put_together_and_refused_where_one_is_missing() -> None:
    one = shown(open_picture(GREY_HEIC.replace(b"clap", b"skip"), "one.heic"))
    data = tiled(GREY_HEIC, 2, 3, (170, 100))
    assert one.shape == (64, 64)
    np.testing.assert_array_equal(shown(open_picture(data, "plan.heic")), np.tile(one, (2, 3))[:100, :170])
    for length in range(len(data) - 3000, len(data), 97):
        with pytest.raises(ScanError, match="cut short"):
            open_picture(data[:length], "plan.heic")


def test_placing_a_scan_asks_the_other_process_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    # The window does it, and must not wait for a picture that is being decoded.
    picture = open_picture(GREY_HEIC, "plan.heic")
    monkeypatch.setattr(beside, "_ask", lambda *_: pytest.fail("it was asked"))
    assert place_of(GREY_HEIC, picture)[1] == "dpi"


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_turn_of_the_camera_is_done_in_avif(orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    turned = {
        1: GREY, 2: GREY[:, ::-1], 3: GREY[::-1, ::-1], 4: GREY[::-1], 5: GREY.T, 6: np.rot90(GREY, -1),
        7: GREY.T[::-1, ::-1], 8: np.rot90(GREY, 1),
    }[orientation]
    data = saved(GREY, "AVIF", quality=100, exif=exif)
    found = shown(open_picture(data, "plan.avif")).astype(int)
    found = found if found.ndim == 2 else found.mean(-1)
    np.testing.assert_allclose(found, turned, atol=6)


@pytest.mark.parametrize("kind", ["AVIF", "WEBP"])
def test_a_camera_s_tags_and_a_scanner_s_dpi_are_found(kind: str) -> None:
    exif = Image.Exif()
    exif[0x011A], exif[0x011B], exif[0x0128] = 400.0, 400.0, 2
    paper = np.full((60, 80), 240, np.uint8)
    assert picture_dpi(saved(paper, kind, exif=exif)) == (400.0, 400.0)
    exif.get_ifd(0x8769)[0x829A] = 1 / 60
    data = saved(paper, kind, exif=exif)
    assert picture_dpi(data) is None and open_picture(data, "plan").photograph


# Which kind


def ftyp(*brands: bytes) -> bytes:
    body = brands[0] + bytes(4) + b"".join(brands[1:])
    return struct.pack(">I", 8 + len(body)) + b"ftyp" + body


@pytest.mark.parametrize(("brands", "kind"), [
    ((b"heic", b"mif1"), "HEIF"), ((b"mif1", b"heic"), "HEIF"), ((b"mif1", b"avif"), "AVIF"),
    ((b"avif",), "AVIF"), ((b"avis", b"msf1"), "AVIF"), ((b"mif1",), "HEIF"), ((b"heix",), "HEIF"),
])
def test_the_brands_tell_avif_from_heic(brands: tuple[bytes, ...], kind: str) -> None:
    found = picture_kind(ftyp(*brands))
    assert found is not None and found.name == kind


def test_what_opens_pictures_elsewhere_is_left_as_it_was() -> None:
    open_picture(CAMERA, "plan.heic")
    for kind in ("PNG", "JPEG", "TIFF", "GIF"):
        with Image.open(io.BytesIO(saved(GREY, kind))) as image:
            assert image.format == kind
    with Image.open(io.BytesIO(saved(RGB, "AVIF"))) as image:
        assert image.format == "AVIF"
    opened = open_picture(NEW["AVIF"].replace(b"ftypavif", b"ftypmif1"), "plan.avif")
    assert (opened.width, opened.height) == (53, 37)


def test_a_film_is_no_picture() -> None:
    data = ftyp(b"isom", b"mp41")
    assert picture_kind(data) is None and foreign_kind(data) == "a film"


# Refusals


@pytest.mark.parametrize("case", NEW)
def test_what_is_cut_short_is_refused_whole(case: str) -> None:
    data = NEW[case]
    for length in [*range(24, len(data), max(1, len(data) // 40)), len(data) - 1]:
        with pytest.raises(ScanError) as refusal:
            open_picture(data[:length], "plan")
        assert "\n" not in str(refusal.value) and str(refusal.value).endswith(".")


@pytest.mark.parametrize("case", NEW)
def test_what_is_spoiled_opens_or_is_refused_in_one_sentence(case: str) -> None:
    random = np.random.default_rng(len(case))
    for _ in range(60):
        data = bytearray(NEW[case])
        for at in random.integers(0, len(data), 3):
            data[at] = random.integers(256)
        try:
            picture = open_picture(bytes(data), "plan")
        except ScanError as error:
            assert "\n" not in str(error)
        else:
            assert picture.width > 0 and picture.height > 0


@pytest.mark.parametrize("case", NEW)
def test_a_size_beyond_all_limits_is_refused(case: str) -> None:
    data, huge = NEW[case], struct.pack(">II", 60_000, 60_000)
    if "JPEG 2000" in case:
        # Xsiz and Ysiz (ISO/IEC 15444-1, A.5.1), and the same in the boxed header.
        begins = data.index(b"\xff\x4f\xff\x51") + 8
        spoiled = data[:begins] + huge + data[begins + 8 :]
        box = spoiled.find(b"ihdr")
        spoiled = spoiled if box < 0 else spoiled[: box + 4] + huge + spoiled[box + 12 :]
    elif case == "WebP":
        # VP8: 14 bits each (RFC 6386, 9.1): 16383 x 16383.
        begins = data.index(b"\x9d\x01\x2a") + 3
        spoiled = data[:begins] + b"\xff\x3f\xff\x3f" + data[begins + 4 :]
    else:
        # ISO/IEC 14496-12, ImageSpatialExtentsProperty; the crop to less is put out of the way.
        begins = data.index(b"ispe") + 8
        spoiled = (data[:begins] + huge + data[begins + 8 :]).replace(b"clap", b"skip")
    with pytest.raises(ScanError) as refusal:
        open_picture(spoiled, "plan")
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(("case", "bytes_each"), [
    ("HEIC", 10.0), ("grey HEIC", 3.5), ("AVIF", 11.0), ("JPEG 2000", 4 + 3 * 5.5), ("WebP", 16.5),
    ("grey JPEG 2000", 1 + 5.5 * 256 / (37 * 53)),
])
def test_memory_is_reckoned_before_it_is_taken(
    monkeypatch: pytest.MonkeyPatch, case: str, bytes_each: float
) -> None:
    data = NEW[case]
    width, height = picture_size(data, "plan", 0)
    need = width * height * bytes_each
    monkeypatch.setattr(opening, "MOST_DECODED_BYTES", int(need * 1.01))
    open_picture(data, "plan")
    monkeypatch.setattr(opening, "MOST_DECODED_BYTES", int(need * 0.99))
    with pytest.raises(ScanError, match=rf"plan: {width} x {height} pixels.* GB of memory"):
        open_picture(data, "plan")


def test_a_false_codestream_in_another_box_hides_no_memory() -> None:
    lie = b"\xff\x4f\xff\x51" + bytes(20) + struct.pack(">II", 1, 1) + bytes(20)
    boxed = NEW["JPEG 2000"]
    data = boxed[:12] + struct.pack(">I", 8 + len(lie)) + b"free" + lie + boxed[12:]
    with Image.open(io.BytesIO(boxed)) as image:
        assert costs.decoding_bytes(image, data) == costs.decoding_bytes(image, boxed) == 4 + 3 * 5.5


@pytest.mark.parametrize("at", range(176, 180))
def test_a_heic_that_ends_its_decoder_is_refused_and_the_next_one_opens(at: int) -> None:
    # The kind of the Exif item, in the box ``infe``: pi-heif 1.4.0 crashes where it is no text.
    assert CAMERA[176:180] == b"Exif"
    data = CAMERA[:at] + b"\xff" + CAMERA[at + 1 :]
    with pytest.raises(ScanError, match="the HEIC picture is damaged"):
        open_picture(data, "plan.heic")
    assert open_picture(CAMERA, "plan.heic").width == 24


def test_where_the_reader_of_heic_is_missing_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "find_spec", lambda _: None)
    with pytest.raises(ScanError, match=r"HEIC pictures cannot be read here, pi-heif is not installed; save"):
        open_picture(CAMERA, "plan.heic")


@pytest.mark.parametrize("case", ["AVIF", "JPEG 2000", "WebP"])
def test_where_pillow_is_built_without_a_format_one_sentence_says_so(
    monkeypatch: pytest.MonkeyPatch, case: str
) -> None:
    monkeypatch.setattr(features, "check", lambda _: False)
    with pytest.raises(ScanError, match=f"{case} pictures cannot be read here, Pillow was built without"):
        open_picture(NEW[case], "plan")


@pytest.mark.parametrize("case", NEW)
def test_reading_ends_when_its_time_is_up_or_nobody_waits(monkeypatch: pytest.MonkeyPatch, case: str) -> None:
    for most in range(2):
        asked = iter([False] * most)
        with pytest.raises(OpeningCancelledError):
            open_picture(NEW[case], "plan", cancelled=lambda asked=asked: next(asked, True))
    monkeypatch.setattr(watch, "MOST_SECONDS", -1.0)
    with pytest.raises(ScanError, match="was not read within"):
        open_picture(NEW[case], "plan")


# Deep greys


def tiff(pixels: np.ndarray, *, order: str = "<", photometric: int = 1, tile: int = 0, **tags: int) -> bytes:
    """An uncompressed grey TIFF written by hand (TIFF 6.0, sections 2, 4 and 15), in strips or tiles."""
    height, width = pixels.shape
    kept = pixels.astype(pixels.dtype.newbyteorder(order))
    if tile:
        padded = np.zeros((-(-height // tile) * tile, -(-width // tile) * tile), kept.dtype)
        padded[:height, :width] = kept
        parts = [
            padded[v : v + tile, u : u + tile].tobytes()
            for v in range(0, padded.shape[0], tile) for u in range(0, padded.shape[1], tile)
        ]
    else:
        parts = [kept.tobytes()]
    places = [8 + sum(map(len, parts[:k])) for k in range(len(parts))]
    body = b"".join(parts)
    lists = 8 + len(body)
    listed = struct.pack(f"{order}{2 * len(parts)}I", *places, *map(len, parts)) if len(parts) > 1 else b""
    many = len(parts) > 1
    entries = {
        256: (4, 1, width), 257: (4, 1, height), 258: (3, 1, 8 * pixels.itemsize), 259: (3, 1, 1),
        262: (3, 1, photometric), 277: (3, 1, 1), **{int(k[1:]): (3, 1, v) for k, v in tags.items()},
    }
    where, lengths = (lists, lists + 4 * len(parts)) if many else (places[0], len(parts[0]))
    if tile:
        entries |= {322: (4, 1, tile), 323: (4, 1, tile), 324: (4, len(parts), where),
                    325: (4, len(parts), lengths)}
    else:
        entries |= {273: (4, 1, where), 278: (4, 1, height), 279: (4, 1, lengths)}
    out = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(f"{order}I", lists + len(listed))
    out += body + listed + struct.pack(f"{order}H", len(entries))
    for tag, (kind, count, value) in sorted(entries.items()):
        held = struct.pack(f"{order}HH", value, 0) if kind == 3 else struct.pack(f"{order}I", value)
        out += struct.pack(f"{order}HHI", tag, kind, count) + held
    return out + bytes(4)


@pytest.mark.parametrize("bits", [8, 10, 12, 14, 16])
@pytest.mark.parametrize("photometric", [0, 1], ids=["white is zero", "black is zero"])
@pytest.mark.parametrize("order", ["<", ">"])
def test_deep_greys_are_stretched_by_the_bits_they_use(bits: int, photometric: int, order: str) -> None:
    deep = RANDOM.integers(0, 1 << bits, (40, 50)).astype(np.uint16)
    deep[0, :2] = (0, (1 << bits) - 1)
    picture = open_picture(tiff(deep, order=order, photometric=photometric), "plan.tif")
    expected = deep / ((1 << bits) - 1) * 255
    found = shown(picture).astype(float)
    np.testing.assert_allclose(found if photometric else 255 - found, expected, atol=1)
    assert found.min() == 0 and found.max() == 255
    assert picture.note == f"{bits}-bit greys are shown as 8-bit."


def test_deep_greys_of_a_png_are_stretched_too() -> None:
    deep = np.full((40, 50), 4000, np.uint16)
    deep[10:13] = 300
    picture = open_picture(saved(deep, "PNG"), "plan.png")
    assert set(np.unique(shown(picture))) == {300 >> 4, 4000 >> 4}
    assert picture.note == "12-bit greys are shown as 8-bit."


def test_a_tag_may_speak_of_more_bits_than_a_dark_picture_uses() -> None:
    deep = np.full((40, 50), 900, np.uint16)
    assert (shown(open_picture(tiff(deep), "p.tif")) == 900 >> 2).all()
    # MaxSampleValue (TIFF 6.0, section 8); 65535 is its default and says nothing.
    assert (shown(open_picture(tiff(deep, t281=4095), "p.tif")) == 900 >> 4).all()
    assert (shown(open_picture(tiff(deep, t281=65535), "p.tif")) == 900 >> 2).all()


# Tiles and pages


def test_coarse_levels_of_tiles_side_by_side_are_those_of_the_whole(qapp: QApplication) -> None:
    values = RANDOM.integers(0, 256, (3000, 2800), dtype=np.uint8)
    previews: list[Picture] = []
    picture = open_picture(tiff(values, tile=512), "plan.tif", preview=previews.append)
    plain = open_picture(tiff(values), "plan.tif")
    np.testing.assert_array_equal(shown(picture), values)
    for found, expected in zip(picture.levels, plain.levels, strict=True):
        np.testing.assert_array_equal(grey_pixels(found), grey_pixels(expected))


def test_coarse_levels_of_a_tiled_jpeg_2000_are_those_of_the_whole() -> None:
    values = np.repeat(RANDOM.integers(0, 256, (60, 60), dtype=np.uint8), 20, axis=0).repeat(20, axis=1)
    picture = open_picture(saved(values, "JPEG2000", tile_size=(256, 256)), "plan.jp2")
    plain = open_picture(saved(values, "PNG"), "plan.png")
    for found, expected in zip(picture.levels, plain.levels, strict=True):
        np.testing.assert_array_equal(grey_pixels(found), grey_pixels(expected))


def paged(second: dict[int, int], *, bits: bool) -> bytes:
    """A TIFF of three pictures, the second with these tags."""
    made = []
    for size, tags in zip(((40, 30), (10, 8), (60, 20)), ({}, second, {}), strict=True):
        image = Image.new("L", size, 255).convert("1") if bits else Image.new("L", size, 255)
        image.encoderinfo = {"tiffinfo": tags}
        made.append(image)
    options = {"compression": "group4"} if bits else {}
    out = io.BytesIO()
    made[0].save(out, "TIFF", save_all=True, append_images=made[1:], **options)
    return out.getvalue()


@pytest.mark.parametrize("bits", [False, True], ids=["grey", "G4"])
@pytest.mark.parametrize(("tag", "value", "sheets"), [
    (254, 0, (0, 1, 2)), (254, 1, (0, 2)), (254, 4, (0, 2)), (254, 2, (0, 1, 2)),
])
def test_previews_and_masks_in_a_tiff_are_no_pages(
    qapp: QApplication, bits: bool, tag: int, value: int, sheets: tuple[int, ...]
) -> None:
    data = paged({tag: value}, bits=bits)
    assert picture_sheets(data, "plan.tif") == sheets
    last = open_picture(data, "plan.tif", page=2)
    assert (last.width, last.height) == (60, 20) == picture_size(data, "plan.tif", 2)
    assert last.note == f"Page {len(sheets)} of {len(sheets)}."


def test_a_preview_is_told_by_the_older_tag_too() -> None:
    assert picture_sheets(paged({255: 2}, bits=False), "plan.tif") == (0, 2)


def test_all_other_kinds_have_one_page() -> None:
    assert {picture_sheets(data, "plan") for data in NEW.values()} == {(0,)}
