"""Pages with known geometry, at every resolution; what is measured is where their edges lie."""

from __future__ import annotations

import threading
import zlib
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from pdf_files import A4, PT, box, pages_pdf, picture_pdf, plan, square, stream
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter, QTransform

from app.scans import pdf as pdf_module
from app.scans.drawing import draw_scan
from app.scans.faults import ScanError
from app.scans.levels import grey_pixels
from app.scans.opening import open_picture
from app.scans.pdf import open_pdf
from app.scans.pdf_detail import Detail, Patch, stop_pdf
from app.scans.pdf_drawing import draw_page
from app.scans.pdf_file import PdfFile
from app.scans.pdf_reader import PdfReader
from app.scans.picture import Picture
from app.scans.placing import place_by_dpi
from core.design import Tone

DPI = 300
PER_MM = DPI / 25.4


@pytest.fixture(scope="module", autouse=True)
def _process() -> Iterator[None]:
    yield
    stop_pdf()


@pytest.fixture(autouse=True)
def _coarser(monkeypatch: pytest.MonkeyPatch) -> None:
    """A4 at 75 dots per inch, like A0 in earnest: quicker, and the sharp parts have more to show."""
    monkeypatch.setattr(pdf_module, "MOST_COARSE_PIXELS", 600_000)


def edges(grey: np.ndarray) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the black thing, by the share of ink in the pixels at its edges."""
    ink = 1.0 - grey / 255.0
    rows = np.flatnonzero(ink.max(axis=1) > 0.5)
    middle = ink[rows[len(rows) // 2]]
    columns = np.flatnonzero(middle > 0.5)
    upright = ink[:, columns[len(columns) // 2]]

    def ends(line: np.ndarray) -> tuple[float, float]:
        solid = np.flatnonzero(line > 0.99)
        first, last = solid[0], solid[-1] + 1
        return float(first - line[max(first - 1, 0)] * (first > 0)), float(
            last + (line[last] if last < len(line) else 0.0)
        )

    (left, right), (top, bottom) = ends(middle), ends(upright)
    return left, top, right, bottom


def edges_on_page(patch: Patch) -> np.ndarray:
    """In millimetres from the page's left top corner."""
    left, top, right, bottom = edges(patch.grey())
    (u, v), (du, dv) = patch.corner, patch.step
    return np.array((u + left * du, v + top * dv, u + right * du, v + bottom * dv)) / PER_MM


def sharp(picture: Picture, part: tuple[float, float, float, float], dpi: float) -> Patch:
    """A part of a page at so many dots per inch."""
    assert picture.detail is not None
    come = threading.Event()
    picture.detail.listen(come.set)
    picture.detail.want(part, dpi)
    assert come.wait(10)
    patch = picture.detail.best_patch(part)
    assert patch is not None, picture.detail.trouble
    return patch


# Where the square should lie, in mm from the left and the top of the page as it is seen.
SEEN = {
    "upright": ("", (50, 297 - 250, 150, 297 - 150), A4),
    "turned": ("/Rotate 90", (150, 50, 250, 150), A4[::-1]),
    "upside down": ("/Rotate 180", (60, 150, 160, 250), A4),
    "turned back": ("/Rotate -90", (47, 60, 147, 160), A4[::-1]),
    "cut": (box(160 * PT, 140 * PT, "CropBox", 20 * PT, 130 * PT), (30, 20, 130, 120), (160 * PT, 140 * PT)),
    "cut and turned": (
        box(160 * PT, 140 * PT, "CropBox", 20 * PT, 130 * PT) + "/Rotate 90",
        (20, 30, 120, 130), (140 * PT, 160 * PT),
    ),
    "stretched": ("/UserUnit 1.5", tuple(1.5 * v for v in (50, 47, 150, 147)), (1.5 * A4[0], 1.5 * A4[1])),
}


@pytest.mark.parametrize("kind", SEEN)
def test_a_square_lies_where_it_should_at_every_resolution(kind: str) -> None:
    entries, expected, (wide, high) = SEEN[kind]
    picture = open_pdf(plan(entries), "plan.pdf")
    assert (picture.width, picture.height) == (
        np.ceil(wide / 72 * DPI - 1e-3), np.ceil(high / 72 * DPI - 1e-3)
    )
    assert picture.dpi == DPI and picture.detail is not None
    coarse = np.array(edges(grey_pixels(picture.levels[0]))) * picture.shrunk / PER_MM
    assert coarse == pytest.approx(expected, abs=0.5 * picture.shrunk / PER_MM)
    left, top, right, bottom = (v * PER_MM for v in expected)
    around = (left - 40, top - 40, right + 40, bottom + 40)
    for dpi in (40, 113.7, 240):
        assert edges_on_page(sharp(picture, around, dpi)) == pytest.approx(expected, abs=0.5 * 25.4 / dpi)


def test_a_corner_far_from_the_pages_own_is_as_true_when_it_is_looked_at_closely() -> None:
    picture = open_pdf(pages_pdf((box(1189 * PT, 841 * PT), square(1080, 5))), "a0.pdf")
    assert picture.shrunk == 16
    corner = (1080 * PER_MM, (841 - 105) * PER_MM)
    patch = sharp(picture, (corner[0] - 20, corner[1] - 20, corner[0] + 20, corner[1] + 20), 4800)
    grey = patch.grey()
    u = patch.corner[0] + patch.step[0] * (np.argmax(grey[-3] < 128))
    v = patch.corner[1] + patch.step[1] * (np.argmax(grey[:, -3] < 128))
    assert (u, v) == pytest.approx(corner, abs=0.5 * DPI / 4800)


@pytest.mark.parametrize("unit", ["/UserUnit 2", "/UserUnit 1.5"])
def test_user_units_in_a_packed_file_count_too(unit: str) -> None:
    # Pages in an object stream (ISO 32000-1, 7.5.7) and a cross-reference stream: no word of it in the clear.
    inside = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
              f"<</Type/Page/Parent 2 0 R{box(200, 100)}{unit}>>".encode()]
    heads, bodies = b"", b""
    for number, body in enumerate(inside, 1):
        heads += b"%d %d " % (number, len(bodies))
        bodies += body + b" "
    packed = stream(zlib.compress(heads + bodies), f"/Type/ObjStm/N 3/First {len(heads)}/Filter/FlateDecode")
    out = b"%PDF-1.7\n"
    place = len(out)
    out += b"4 0 obj\n" + packed + b"\nendobj\n"
    rows = [(0, 0, 65535), *((2, 4, i) for i in range(3)), (1, place, 0), (1, len(out), 0)]
    table = b"".join(kind.to_bytes(1, "big") + at.to_bytes(4, "big") + more.to_bytes(2, "big")
                     for kind, at, more in rows)
    start = len(out)
    out += b"5 0 obj\n" + stream(table, "/Type/XRef/Size 6/W[1 4 2]/Root 1 0 R") + b"\nendobj\n"
    data = out + b"startxref\n%d\n%%%%EOF\n" % start
    assert b"UserUnit" not in data
    size = PdfFile(data, "packed.pdf").size(0)
    factor = float(unit.split()[1])
    assert (size.width, size.height) == pytest.approx((200 * factor, 100 * factor))


def test_colours_stay_and_greys_are_kept_as_greys() -> None:
    red = open_pdf(pages_pdf((box(200, 200), "1 0 0 rg 50 50 100 100 re f")), "red.pdf")
    assert red.levels[0].format() == QImage.Format.Format_RGB32
    assert red.levels[0].pixelColor(400 // red.shrunk, 400 // red.shrunk).name() == "#ff0000"
    patch = sharp(red, (300, 300, 500, 500), 600)
    assert patch.image.pixelColor(5, 5).name() == "#ff0000" and patch.grey()[5, 5] == 255 * 11 // 32
    grey = open_pdf(plan(), "plan.pdf")
    assert grey.levels[0].format() == QImage.Format.Format_Grayscale8


def test_the_other_pages_are_there() -> None:
    data = pages_pdf(*((box(*A4), square(50, 20 * page)) for page in range(1, 4)))
    for page in (0, 2):
        picture = open_picture(data, "plans.pdf", page=page)
        assert picture.note == f"Page {page + 1} of 3."
        bottom = edges(grey_pixels(picture.levels[0]))[3] * picture.shrunk / PER_MM
        assert bottom == pytest.approx(297 - 20 * (page + 1), abs=0.2)
    with pytest.raises(ScanError, match="page 4 is wanted, but the file has 3 pages"):
        open_picture(data, "plans.pdf", page=3)


# Pages that are one picture

NOISE = np.random.default_rng(3).integers(0, 256, (240, 160), dtype=np.uint8)


def fitting(turn: int) -> np.ndarray:
    return np.rot90(NOISE, -turn)


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_the_sharpest_of_a_page_that_is_a_picture_are_its_own_pixels(turn: int) -> None:
    # 160 x 240 pixels at 127 dpi, which 300 dpi are no multiple of.
    data = picture_pdf(NOISE, 32, 48, f"/Rotate {90 * turn}")
    picture = open_pdf(data, "scan.pdf")
    assert picture.detail is not None and "one picture of 127 dpi" in picture.note
    assert picture.detail.finest_step == pytest.approx((300 / 127, 300 / 127), rel=1e-4)
    patch = sharp(picture, (0, 0, picture.width, picture.height), 1200)
    assert patch.at_true_pixels
    assert patch.grey().shape == fitting(turn).shape
    assert (patch.grey() == fitting(turn)).all()
    part = sharp_part(picture, 40, 60)
    assert part.at_true_pixels


def sharp_part(picture: Picture, u: float, v: float) -> Patch:
    assert picture.detail is not None
    found = picture.detail.patch_for((u, v, u + 50, v + 50), (0.2, 0.2))
    assert found is not None
    return found


def test_what_a_text_recogniser_laid_over_a_scan_does_not_count_but_a_drawn_line_does() -> None:
    hidden = "BT /F 12 Tf 3 Tr 10 10 Td (fin) Tj ET"
    seen = "0 0 m 50 50 l S"
    for more, one in ((hidden, True), (seen, False), (hidden.replace("3 Tr", "0 Tr"), False)):
        size = PdfFile(picture_pdf(NOISE, 32, 48, more=more), "scan.pdf").size(0)
        assert (size.picture is not None) is one, more


# Drawing


def canvas_image(size: tuple[int, int], ratio: float = 1.0) -> QImage:
    image = QImage(round(size[0] * ratio), round(size[1] * ratio), QImage.Format.Format_Grayscale8)
    image.setDevicePixelRatio(ratio)
    image.fill(255)
    return image


def painted(
    picture: Picture, to_mm: tuple[tuple[float, ...], ...], scale: float, at: tuple[float, float],
    size: tuple[int, int] = (400, 300), opacity: float = 1.0, ratio: float = 1.0,
) -> np.ndarray:
    """The view as painted, as greys; ``at`` in mm lies at its left top corner."""
    image = canvas_image(size, ratio)
    painter = QPainter(image)
    to_px = QTransform(scale, 0, 0, -scale, -at[0] * scale, at[1] * scale)
    draw_page(painter, picture, to_mm, to_px, opacity, QRectF(0, 0, *size), ratio)  # type: ignore[arg-type]
    painter.end()
    return grey_pixels(image).copy()


def drawn_sharp(picture: Picture, *how: object, **more: object) -> np.ndarray:
    """Painted until what is seen has come."""
    detail = picture.detail
    assert detail is not None
    come = threading.Event()
    detail.listen(come.set)
    before = detail.version
    painted(picture, *how, **more)  # type: ignore[arg-type]
    assert come.wait(10) and detail.version == before + 1 and not detail.trouble
    found = painted(picture, *how, **more)  # type: ignore[arg-type]
    assert not come.wait(0.03) or detail.version == before + 1
    return found


@pytest.mark.parametrize(("scale", "ratio"), [(3.0, 1.0), (13.0, 2.0), (25.7, 1.0)])
def test_the_canvas_shows_the_edge_sharp_and_in_its_place(qapp: object, scale: float, ratio: float) -> None:
    picture = open_pdf(plan(), "plan.pdf")
    to_mm = place_by_dpi(picture.width, picture.height, 300.0)
    bottom = picture.height / PER_MM
    grey = drawn_sharp(picture, to_mm, scale, (45.0, bottom - 42.0), ratio=ratio)
    ink = 1 - grey[-20] / 255.0
    where = (50.0 - 45.0) * scale * ratio
    first = np.argmax(ink > 0.99)
    assert first - ink[first - 1] == pytest.approx(where, abs=0.5)
    # Sharp: from paper to ink within one pixel of the screen.
    assert ink[first - 2] < 0.01


@pytest.mark.parametrize("way", ["mirrored", "lying", "askew", "leaning"])
def test_turned_and_mirrored_scans_are_sharp_in_the_same_place(
    qapp: object, way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture = open_pdf(plan(), "plan.pdf")
    upright = np.array(place_by_dpi(picture.width, picture.height, 300.0))
    turn = {
        "mirrored": ((-1, 0, 200), (0, 1, 0), (0, 0, 1)), "lying": ((0, -1, 300), (1, 0, 0), (0, 0, 1)),
        "askew": ((0.98, -0.2, 60), (0.2, 0.98, 0), (0, 0, 1)),
        "leaning": ((1, 0, 0), (0, 1, 0), (0.0005, 0.0002, 1)),
    }[way]
    matrix = np.array(turn) @ upright
    to_mm = tuple(tuple(float(v) for v in row) for row in matrix)
    corner = matrix @ (150 * PER_MM, 47 * PER_MM, 1.0)
    x, z = corner[:2] / corner[2]
    found = drawn_sharp(picture, to_mm, 11.0, (x - 15.0, z + 12.0))
    monkeypatch.setattr(pdf_module, "MOST_COARSE_PIXELS", 9_000_000)
    whole = replace(open_pdf(plan(), "plan.pdf"), detail=None)
    assert whole.shrunk == 1
    image = canvas_image((400, 300))
    painter = QPainter(image)
    to_px = QTransform(11, 0, 0, -11, -(x - 15.0) * 11, (z + 12.0) * 11)
    draw_scan(painter, whole, to_mm, to_px, 1.0, QRectF(0, 0, 400, 300), 1.0)  # type: ignore[arg-type]
    painter.end()
    expected = grey_pixels(image).copy()
    off = np.abs(found.astype(int) - expected)
    # Two ways of drawing one edge differ in the pixels of the edge alone.
    assert (off > 60).mean() < 0.006 and np.median(off) == 0
    assert 0.05 < (found < 128).mean() < 0.95


def test_a_faint_scan_is_as_faint_where_it_is_sharp(qapp: object) -> None:
    picture = open_pdf(pages_pdf((box(400, 400), "0 g 0 0 400 400 re f")), "black.pdf")
    to_mm = place_by_dpi(picture.width, picture.height, 300.0)
    view = (to_mm, 12.0, (40.0, 100.0))
    assert (drawn_sharp(picture, *view, opacity=0.5) == 128).all()
    # Half of what is seen is sharp, half is coarse: the seam is as faint as the rest.
    assert set(np.unique(painted(picture, to_mm, 12.0, (20.0, 110.0), opacity=0.5))) <= {127, 128}


def test_panning_within_the_margin_draws_nothing_anew(qapp: object) -> None:
    picture = open_pdf(plan(), "plan.pdf")
    to_mm = place_by_dpi(picture.width, picture.height, 300.0)
    drawn_sharp(picture, to_mm, 20.0, (100.0, 200.0))
    detail: Detail = picture.detail  # type: ignore[assignment]
    come = threading.Event()
    detail.listen(come.set)
    painted(picture, to_mm, 20.0, (100.0 + 30 / 20, 200.0 - 20 / 20))
    assert not come.wait(0.1)
    painted(picture, to_mm, 20.0, (140.0, 200.0))
    assert come.wait(10)


def test_a_part_that_takes_too_long_is_said_and_the_page_stays_coarse(qapp: object) -> None:
    reader = PdfReader()
    try:
        picture = open_pdf(plan(), "plan.pdf", reader=reader)
        detail = picture.detail
        assert detail is not None
        come = threading.Event()
        detail.listen(come.set)
        reader.seconds = 0.0
        detail.want((600.0, 600.0, 900.0, 900.0), 1200)
        assert come.wait(10)
        assert detail.trouble.startswith("plan.pdf: page 1 takes too long to draw")
        reader.seconds = 20.0
        version = detail.version
        to_mm = place_by_dpi(picture.width, picture.height, 300.0)
        assert (painted(picture, to_mm, 13.0, (100.0, 200.0)) < 128).all()
        assert detail.version == version and detail.best_patch((600.0, 600.0, 900.0, 900.0)) is None
    finally:
        reader.stop()


def test_a_tone_is_that_of_the_whole_page_in_its_parts_too() -> None:
    data = plan()
    picture = open_picture(data, "plan.pdf", tone=Tone(invert=True))
    assert grey_pixels(picture.levels[0])[5, 5] == 0
    assert sharp(picture, (0, 0, 300, 300), 400).grey()[5, 5] == 0
    # Paper that darkens to the right from 255 to 150, as four steps.
    steps = " ".join(f"{g} g {i * 100} 0 101 400 re f" for i, g in enumerate((1, 0.86, 0.72, 0.6)))
    shaded = pages_pdf((box(400, 400), steps + " 0 g 350 200 5 5 re f"))
    level = open_picture(shaded, "shaded.pdf", tone=Tone(level=True))
    part = (1380.0, 300.0, 1600.0, 600.0)
    n = level.shrunk
    paper = grey_pixels(level.levels[0])[300 // n : 600 // n, 1420 // n : 1600 // n]
    assert np.median(paper) >= 250
    assert np.median(sharp(level, part, 450).grey()) == pytest.approx(np.median(paper), abs=3)
    line = pages_pdf((box(400, 400), "0 g 200 0 0.96 400 re f"))
    for thicken, wide in ((0, 4), (3, 10)):
        thick = open_picture(line, "line.pdf", tone=Tone(thicken=thicken))
        row = sharp(thick, (700.0, 700.0, 1000.0, 900.0), 600).grey()[100]
        assert (row < 128).sum() == pytest.approx(2 * wide, abs=1)
