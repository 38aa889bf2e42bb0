"""Photographs told from scans: by tags written here, and in pictures drawn by a hand of its own."""

from __future__ import annotations

import io
from collections.abc import Callable

import numpy as np
import pytest
from drawn_photographs import HARD_PHOTOGRAPHS, PHOTOGRAPHS
from drawn_scans import SCANS
from driving import scan_bytes
from hypothesis import given, settings
from hypothesis import strategies as st
from pdf_files import plan
from PIL import Image
from PIL.TiffImagePlugin import IFDRational, ImageFileDirectory_v2

from app.scans.coming import place_of
from app.scans.lying_sheet import is_lit_unevenly, lies_on_something
from app.scans.opening import open_picture, picture_dpi
from core.design import Tone

EXIF, MAKE, MODEL = 0x8769, 0x010F, 0x0110
EXPOSURE_TIME, F_NUMBER, FOCAL_LENGTH, LENS_MODEL, FILE_SOURCE = 0x829A, 0x829D, 0x920A, 0xA434, 0xA300
Tags = dict[int, object]


def tagged(tags: Tags, form: str = "JPEG") -> bytes:
    """A white sheet that fills the picture at 300 dpi, with a maker, a model and these Exif tags."""
    image = Image.new("L", (700, 500), 245)
    out = io.BytesIO()
    if form == "TIFF":
        # Pillow keeps the directory of a TIFF's exposure only where it is given among the page's own tags.
        page = ImageFileDirectory_v2()
        page[MAKE], page[MODEL], page[EXIF] = "Plover", "P 7", tags
        image.save(out, form, tiffinfo=page, dpi=(300, 300))
        return out.getvalue()
    exif = Image.Exif()
    exif[MAKE], exif[MODEL] = "Plover", "P 7"
    exif.get_ifd(EXIF).update(tags)
    image.save(out, form, exif=exif, dpi=(300, 300))
    return out.getvalue()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("tags", [
    {EXPOSURE_TIME: IFDRational(1, 125)}, {F_NUMBER: IFDRational(18, 10)}, {LENS_MODEL: "24 mm"},
    {FOCAL_LENGTH: IFDRational(5), FILE_SOURCE: b"\x03"},
])
def test_the_tags_of_an_exposure_are_a_camera_s_and_its_dpi_is_not_believed(form: str, tags: Tags) -> None:
    data = tagged(tags, form)
    picture = open_picture(data, "plan")
    assert picture.photograph and picture.dpi is None and picture_dpi(data) is None
    matrix, scale_from = place_of(data, picture)
    assert scale_from == "none" and matrix[0][0] == 0.254


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF"])
@pytest.mark.parametrize("tags", [
    {}, {EXPOSURE_TIME: IFDRational(1, 125), FILE_SOURCE: b"\x02"}, {FILE_SOURCE: b"\x01"},
    {FOCAL_LENGTH: IFDRational(0), LENS_MODEL: " "},
])
def test_a_scanner_s_own_tags_are_no_camera_s(form: str, tags: Tags) -> None:
    data = tagged(tags, form)
    picture = open_picture(data, "plan")
    assert not picture.photograph and picture.dpi == 300 and picture_dpi(data) == (300, 300)
    assert place_of(data, picture)[1] == "dpi"


def test_a_damaged_block_of_tags_costs_nothing() -> None:
    data = tagged({EXPOSURE_TIME: IFDRational(1, 125)})
    at = data.index(b"Exif\0\0") + 14
    for hurt in (data[:at] + b"\xff" * 40 + data[at + 40 :], data[:at] + bytes(60) + data[at + 60 :]):
        assert open_picture(hurt, "plan").width == 700


def test_a_png_is_not_decoded_to_learn_its_dpi() -> None:
    out = io.BytesIO()
    noise = np.random.default_rng(2).integers(0, 256, (300, 300), dtype=np.uint8)
    Image.fromarray(noise).save(out, "PNG", dpi=(200, 200))
    cut = out.getvalue()[:2000]
    found = picture_dpi(cut)
    assert found is not None and found[0] == pytest.approx(200, abs=0.02)


def drawn(draw: Callable[[np.random.Generator], bytes], number: int = 0) -> bytes:
    return draw(np.random.default_rng((4, number)))


@pytest.mark.parametrize("kind", [*PHOTOGRAPHS, *HARD_PHOTOGRAPHS])
def test_a_photograph_without_tags_is_told_by_what_is_seen(kind: str) -> None:
    data = drawn((PHOTOGRAPHS | HARD_PHOTOGRAPHS)[kind])
    picture = open_picture(data, "plan.jpg")
    assert picture.photograph
    assert place_of(data, picture)[1] == "none"


@pytest.mark.parametrize("kind", SCANS)
def test_a_scan_is_no_photograph_whatever_lies_around_it(kind: str) -> None:
    assert not open_picture(drawn(SCANS[kind]), "plan").photograph


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "long-meadow-2000", "tallow-twin"])
def test_the_samples_are_scans(slug: str) -> None:
    picture = open_picture(scan_bytes(slug), "plan")
    assert not picture.photograph and picture.dpi is not None


def test_a_pdf_page_is_looked_at_as_well(qapp: object) -> None:
    assert not open_picture(plan(), "plan.pdf").photograph
    image = Image.open(io.BytesIO(drawn(PHOTOGRAPHS["on boards"])))
    out = io.BytesIO()
    image.save(out, "PDF", resolution=100)
    picture = open_picture(out.getvalue(), "photo.pdf")
    assert picture.photograph and place_of(out.getvalue(), picture)[1] == "none"


def test_only_the_picture_as_it_is_is_judged() -> None:
    data = drawn(PHOTOGRAPHS["on boards"])
    assert not open_picture(data, "plan", tone=Tone(invert=True)).photograph


def test_turning_mirroring_and_size_change_nothing() -> None:
    """What is told must not hang on the side where the light or an edge happens to be."""
    photo = Image.open(io.BytesIO(drawn(PHOTOGRAPHS["on boards"], 1))).convert("RGB")
    scan = Image.open(io.BytesIO(drawn(SCANS["smaller than the glass"], 1))).convert("RGB")
    for image, wanted in ((photo, True), (scan, False)):
        for longest in (200, 380):
            size = (longest, round(longest * image.height / image.width))
            coarse = np.asarray(image.resize(size, Image.Resampling.BOX))
            for turn in range(4):
                assert lies_on_something(np.rot90(coarse, turn)) == wanted, (longest, turn)
            assert lies_on_something(coarse[:, ::-1]) == wanted, longest
    shaded = np.add.outer(np.linspace(150, 220, 200), np.linspace(0, 20, 260)).astype(np.uint8)
    assert all(is_lit_unevenly(np.rot90(shaded, turn)) for turn in range(4))
    assert not is_lit_unevenly(np.full((200, 260), 240, np.uint8))


@settings(max_examples=40)
@given(
    rows=st.integers(1, 90), columns=st.integers(1, 90), colour=st.booleans(), seed=st.integers(0, 99),
    flat=st.booleans(),
)
def test_any_picture_gets_an_answer(rows: int, columns: int, colour: bool, seed: int, flat: bool) -> None:
    rng = np.random.default_rng(seed)
    shape = (rows, columns, 3) if colour else (rows, columns)
    pixels = np.full(shape, seed, np.uint8) if flat else rng.integers(0, 256, shape, dtype=np.uint8)
    assert lies_on_something(pixels) in (True, False) and is_lit_unevenly(pixels) in (True, False)
    if flat:
        assert not lies_on_something(pixels) and not is_lit_unevenly(pixels)
