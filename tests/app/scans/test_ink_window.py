"""Grey windows of scans, against pictures whose every pixel is known."""

from __future__ import annotations

import math
from typing import Any, cast

import numpy as np
import pytest
from PySide6.QtGui import QImage

from app.scans.ink_window import InkWindow, ink_window, projected, scan_under, want_sharp
from app.scans.levels import pyramid
from app.scans.pdf_detail import Part, Patch
from app.scans.picture import Picture
from core.design import Matrix, Scan, Tone

WIDE, HIGH = 640, 480


def slope(kind: QImage.Format) -> Picture:
    """u / 4 + v / 4, rounded: the grey tells the place."""
    u, v = np.meshgrid(np.arange(WIDE), np.arange(HIGH))
    grey = np.ascontiguousarray((80 + u / 8 + v / 8).astype(np.uint8))
    image = QImage(grey.tobytes(), WIDE, HIGH, WIDE, QImage.Format.Format_Grayscale8).convertToFormat(kind)
    return Picture(pyramid(image), WIDE, HIGH)


def turned(degrees: float, scale: float, mirror: bool = False) -> Matrix:
    """A turned, scaled and maybe mirrored plan, z up."""
    c, s = scale * math.cos(math.radians(degrees)), scale * math.sin(math.radians(degrees))
    m = -1.0 if mirror else 1.0
    return ((m * c, s, 40.0), (m * s, -c, 300.0), (0.0, 0.0, 1.0))


PLACES: dict[str, Matrix] = {
    "upright": turned(0, 0.5), "turned": turned(25, 0.2), "mirrored": turned(-10, 0.3, mirror=True),
    "unequal": ((0.2, 0.01, -5.0), (0.02, -0.35, 90.0), (0.0, 0.0, 1.0)),
    "perspective": ((0.3, 0.02, 10.0), (0.01, -0.28, 200.0), (2e-4, -1e-4, 1.0)),
}


def told(window: InkWindow, at: tuple[float, float]) -> float:
    """The grey at a place in mm."""
    (spot,) = window.px([at])
    return float(window.grey[int(spot[1]), int(spot[0])])


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize("kind", [QImage.Format.Format_Grayscale8, QImage.Format.Format_RGB32])
@pytest.mark.parametrize("coarser", [1.0, 4.5])
def test_a_place_in_mm_has_the_grey_that_was_drawn_there_whatever_the_placement_and_level(
    name: str, kind: QImage.Format, coarser: float
) -> None:
    to_mm, picture = PLACES[name], slope(kind)
    scan = Scan("plan", "plan.png", to_mm=to_mm)
    forward = np.asarray(to_mm)
    centre = projected(forward, [(400.0, 250.0)])[0]
    fine = float(np.hypot(*(projected(forward, [(401.0, 250.0)])[0] - centre)))
    box = (centre[0] - 40 * fine, centre[1] - 40 * fine, centre[0] + 40 * fine, centre[1] + 40 * fine)
    window = ink_window(scan, picture, box, fine * coarser)
    assert window is not None and window.grey.dtype == np.uint8
    assert window.mm_per_px == pytest.approx(fine * (1 if coarser == 1 else 4), rel=0.35)
    for u, v in ((400.5, 250.5), (420.5, 240.5), (385.5, 262.5)):
        (at,) = projected(forward, [(u, v)])
        assert told(window, (at[0], at[1])) == pytest.approx(80 + u / 8 + v / 8, abs=1.0 * coarser)
        assert window.mm(window.px([at]))[0] == pytest.approx(at)
        assert window.holds([at])
    assert not window.holds([projected(forward, [(50.0, 50.0)])[0]])


def test_beside_the_picture_there_is_no_window_and_at_its_edge_a_smaller_one() -> None:
    scan, picture = Scan("plan", "plan.png", to_mm=turned(0, 1.0)), slope(QImage.Format.Format_Grayscale8)
    assert ink_window(scan, picture, (-500.0, 0.0, -400.0, 50.0), 1.0) is None
    corner = ink_window(scan, picture, (30.0, 280.0, 60.0, 320.0), 1.0)
    assert corner is not None and corner.grey.shape == (20, 20)
    assert corner.grey[0, 0] == 80


def test_a_window_too_large_for_its_pixels_comes_from_a_coarser_level() -> None:
    scan, picture = Scan("plan", "plan.png", to_mm=turned(0, 1.0)), slope(QImage.Format.Format_Grayscale8)
    whole = (-1000.0, -1000.0, 2000.0, 2000.0)
    window = ink_window(scan, picture, whole, 1.0, most_pixels=100_000)
    assert window is not None and window.grey.shape == (HIGH // 2, WIDE // 2) and window.mm_per_px == 2.0


def test_a_plan_drawn_light_on_dark_has_its_ink_dark() -> None:
    paper = np.full((300, 300), 30, np.uint8)
    paper[140:150] = 220
    image = QImage(paper.tobytes(), 300, 300, 300, QImage.Format.Format_Grayscale8).copy()
    window = ink_window(
        Scan("plan", "plan.png", to_mm=turned(0, 1.0)), Picture(pyramid(image), 300, 300),
        (50.0, 100.0, 250.0, 250.0), 1.0,
    )
    assert window is not None
    assert told(window, (100.0, 300.0 - 145.5)) == 35 and told(window, (100.0, 300.0 - 120.5)) == 225


def two_sheets() -> Picture:
    """Left dark lines on paper, right a faded blueprint: a ground of 132, lines of 180."""
    grey = np.full((240, 600), 215, np.uint8)
    grey[:, 300:] = 132
    grey[118:122, :300], grey[118:122, 300:] = 60, 180
    image = QImage(grey.tobytes(), 600, 240, 600, QImage.Format.Format_Grayscale8).copy()
    return Picture(pyramid(image), 600, 240)


@pytest.mark.parametrize(("at", "line", "ground"), [((150.0, 182.0), 60, 215), ((450.0, 182.0), 75, 123)])
def test_light_on_dark_is_told_where_one_clicks(at: tuple[float, float], line: int, ground: int) -> None:
    scan = Scan("plan", "plan.png", to_mm=turned(0, 1.0))
    window = ink_window(scan, two_sheets(), (100.0, 100.0, 600.0, 280.0), 1.0, at=at)
    assert window is not None
    assert told(window, (at[0], 300.0 - 119.5)) == line and told(window, (at[0], 300.0 - 100.5)) == ground


def test_what_the_user_has_inverted_is_not_turned_again() -> None:
    scan = Scan("plan", "plan.png", to_mm=turned(0, 1.0), tone=Tone(invert=True))
    window = ink_window(scan, two_sheets(), (400.0, 100.0, 600.0, 280.0), 1.0, at=(450.0, 182.0))
    assert window is not None
    assert told(window, (450.0, 300.0 - 119.5)) == 180, "the picture is handed in as it is shown"


def test_the_topmost_shown_open_scan_under_all_points_is_taken() -> None:
    picture = slope(QImage.Format.Format_Grayscale8)
    low = Scan("low", "a.png", to_mm=turned(0, 1.0))
    top = Scan("top", "b.png", to_mm=((0.5, 0, 200.0), (0, -0.5, 250.0), (0, 0, 1.0)))
    hidden = Scan("hidden", "c.png", to_mm=turned(0, 1.0), hidden=True)
    shut = Scan("shut", "d.png", to_mm=turned(0, 1.0))

    def of(scan: Scan) -> Picture | None:
        return None if scan is shut else picture

    scans = (low, top, hidden, shut)
    assert scan_under(scans, of, ((300.0, 200.0),)) == (top, picture)
    assert scan_under(scans, of, ((300.0, 200.0), (60.0, 200.0))) == (low, picture)
    assert scan_under(scans, of, ((-10.0, 200.0),)) is None


class PlainDetail:
    """A page of which one part was drawn sharp, twice as fine as its pixel coordinates."""

    trouble, finest_step = "", (0.0, 0.0)

    def __init__(self, patch: Patch | None) -> None:
        self.patch = patch
        self.wanted: list[tuple[Part, float]] = []

    def best_patch(self, part: Part) -> Patch | None:
        return self.patch if self.patch is not None and self.patch.covers(part) else None

    def want(self, part: Part, dpi: float = 300.0) -> None:
        self.wanted.append((part, dpi))


def page(detail: PlainDetail) -> Picture:
    """The slope with one pixel for four by four, as a large page of a PDF has it."""
    whole = slope(QImage.Format.Format_Grayscale8)
    return Picture(whole.levels[2:], WIDE, HIGH, shrunk=4, detail=cast(Any, detail))


def sharp_patch() -> Patch:
    u, v = np.meshgrid(100 + (np.arange(400) + 0.5) / 2, 50 + (np.arange(300) + 0.5) / 2)
    grey = np.ascontiguousarray((80 + u / 8 + v / 8).astype(np.uint8))
    image = QImage(grey.tobytes(), 400, 300, 400, QImage.Format.Format_Grayscale8).copy()
    return Patch(image, (100.0, 50.0), (0.5, 0.5))


@pytest.mark.parametrize(("asked", "given"), [(0.25, 0.5), (1.0, 1.0), (1.7, 1.5), (4.0, 4.0)])
def test_a_page_of_a_pdf_is_read_from_the_part_that_was_drawn_sharp_where_there_is_one(
    asked: float, given: float
) -> None:
    scan = Scan("plan", "plan.pdf", to_mm=turned(0, 1.0))
    box = (40.0 + 120, 300.0 - 180, 40.0 + 220, 300.0 - 80)
    window = ink_window(scan, page(PlainDetail(sharp_patch())), box, asked)
    assert window is not None and window.mm_per_px == pytest.approx(given)
    for u, v in ((125.0, 90.0), (170.5, 131.0), (215.0, 170.0)):
        assert told(window, (40.0 + u, 300.0 - v)) == pytest.approx(80 + u / 8 + v / 8, abs=1.2)
    beside = (40.0 + 350, 300.0 - 180, 40.0 + 400, 300.0 - 80)
    coarse = ink_window(scan, page(PlainDetail(sharp_patch())), beside, asked)
    assert coarse is not None and coarse.mm_per_px == pytest.approx(4.0)


def test_what_is_to_be_sharp_is_wanted_until_it_is_there_and_never_of_other_pictures() -> None:
    scan = Scan("plan", "plan.pdf", to_mm=turned(0, 1.0))
    box = (40.0 + 120, 300.0 - 180, 40.0 + 220, 300.0 - 80)
    empty = PlainDetail(None)
    assert want_sharp(scan, page(empty), box, 0.5, 1_000_000)
    ((part, dpi),) = empty.wanted
    assert part == pytest.approx((120, 80, 220, 180)) and dpi == pytest.approx(600)
    assert want_sharp(scan, page(empty), box, 0.5, 2_500) and empty.wanted[-1][1] == pytest.approx(150)
    assert not want_sharp(scan, page(PlainDetail(sharp_patch())), box, 0.5, 1_000_000)
    assert not want_sharp(scan, page(empty), box, 4.0, 1_000_000), "the levels have that"
    empty.trouble = "the page could not be drawn"
    assert not want_sharp(scan, page(empty), box, 0.5, 1_000_000)
    assert not want_sharp(scan, slope(QImage.Format.Format_Grayscale8), box, 0.5, 1_000_000)
