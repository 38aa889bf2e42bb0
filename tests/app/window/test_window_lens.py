"""The bend of a lens taken out in the real window: clicks along edges, by mouse, on a photograph so bent."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from driving import LEFT, Driver, Place
from PIL import Image, ImageDraw
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

sys.path.append(str(Path(__file__).resolve().parents[2] / "core"))

from cameras import Camera

from app.canvas.tools.straighten import StraightenHand
from core.design_file import decode, encode
from core.scan_map import mm_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

CAMERA = Camera(tilt=8.0, pan=-6.0, roll=2.0, away=960.0, x=420.5, z=297.0, barrel=0.03)
SHRUNK = 2.0
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))
FRAME = np.array(((30.0, 25.0), (811.0, 25.0), (811.0, 569.0), (30.0, 569.0)))
PARTS = np.linspace(0.0, 1.0, 60)[:-1, None]


def pixels(plan: object) -> np.ndarray:
    return CAMERA.pixels(np.array(plan)) / SHRUNK


def around(corners: np.ndarray) -> list[tuple[float, float]]:
    """Points all the way round, so that a lens's curves are drawn as curves."""
    sides = [a + PARTS * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    return [tuple(p) for p in pixels(np.vstack(sides))]


def photograph(path: Path) -> Path:
    """A white sheet with a black frame close to its edge, on dark wood, through the bent lens."""
    grain = np.random.default_rng(4).normal(92, 5, (1500, 2000))
    image = Image.fromarray(np.clip(grain, 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    draw.polygon(around(SHEET), fill=240)
    ring = around(FRAME)
    draw.line([*ring, ring[0]], fill=10, width=7, joint="curve")
    draw.rectangle((990, 700, 1010, 760), fill=10)
    image.save(path)
    return path


def seen(driver: Driver, plan: object) -> list[Place]:
    """Where points of the plan show now on the photograph."""
    return [(float(x), float(z)) for x, z in mm_of(driver.design.scans[0], pixels(plan))]


def off_straight(driver: Driver) -> float:
    """How far in mm of the canvas the frame's top line, looked for by its ink, lies from a straight one."""
    image = driver.canvas.grab().toImage()
    ratio = driver.canvas.devicePixelRatioF()
    found = []
    for x, z in seen(driver, [(x, 569.0) for x in np.linspace(180, 780, 40)]):
        px, py = driver.canvas.view.to_px(x, z)
        column, low = round(px * ratio), round(py * ratio) - 9
        dark = np.array([180 - image.pixelColor(column, low + k).lightness() for k in range(19)]).clip(0)
        assert dark.sum() > 0, "the line is there to be seen"
        found.append((x, z, (dark * (low + 0.5 + np.arange(19))).sum() / dark.sum() / ratio))
    rows = np.array(found)
    level = np.polyfit(rows[:, 0], rows[:, 2], 1)
    return float(np.abs(rows[:, 2] - np.polyval(level, rows[:, 0])).max()) / driver.canvas.view.scale


def opened(driver: Driver, tmp_path: Path) -> None:
    driver.window.filing.open_scan_path(photograph(tmp_path / "bent.png"))
    driver.until_decoded(1)
    driver.settle()
    driver.canvas.fit()
    driver.take("p")


def laid_by_corners(driver: Driver) -> StraightenHand:
    for at in seen(driver, SHEET):
        driver.click(at)
    page = driver.window.strip.straighten
    driver.type_into(page.width_field, "841")
    driver.type_into(page.height_field, "594")
    hand = driver.canvas.hand
    assert isinstance(hand, StraightenHand)
    return hand


def test_clicks_along_the_edges_take_the_lens_out(driver: Driver, tmp_path: Path) -> None:
    opened(driver, tmp_path)
    before = encode(driver.design)
    hand = laid_by_corners(driver)
    page = driver.window.strip.straighten
    assert hand.previewing and off_straight(driver) > 1.0, "corners alone leave it bent"
    assert "along edges" in page.state.text() and page.along.isEnabled()
    QTest.mouseClick(page.along, LEFT)
    assert hand.along and "along something straight" in hand.hint()
    assert driver.window.focusWidget() is driver.canvas
    for a, b in zip(SHEET, np.roll(SHEET, -1, axis=0), strict=True):
        for part in (0.25, 0.5, 0.75):
            driver.click(seen(driver, [a + part * (b - a)])[0])
    assert [(e.side, len(e.points)) for e in hand.edges] == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert hand.extras == () and hand.fit is not None and hand.fit.lens is not None
    words = page.state.text()
    assert "The lens bent it by up to" in words and "along the edges" in words
    QTest.keyClick(driver.canvas, Qt.Key.Key_Return)
    assert off_straight(driver) < 0.6
    scan = driver.design.scans[0]
    assert scan.lens is not None and scan.lens.k == pytest.approx(0.03, abs=0.006)
    assert scan.residual_mm is not None and 0.02 < scan.residual_mm < 1.0
    # The frame comes out as it was printed, to what clicks on a coarse window allow.
    quad = np.array(seen(driver, FRAME))
    assert np.abs(quad - quad.mean(axis=0) - FRAME + FRAME.mean(axis=0)).max() < 1.5
    assert decode(encode(driver.design)).scans == driver.design.scans
    driver.do("undo")
    assert encode(driver.design) == before
    driver.do("redo")
    assert driver.design.scans[0].lens == scan.lens


def test_backspace_takes_clicks_back_in_turn_and_a_click_elsewhere_begins_another_edge(
    driver: Driver, tmp_path: Path
) -> None:
    opened(driver, tmp_path)
    hand = laid_by_corners(driver)
    driver.click(seen(driver, [(300.0, 300.0)])[0])
    assert len(hand.extras) == 1, "without the button a click is a further point"
    QTest.mouseClick(driver.window.strip.straighten.along, LEFT)
    for x in (100.0, 400.0, 700.0):
        driver.click(seen(driver, [(x, 200.0)])[0])
    driver.click(seen(driver, [(400.0, 400.0)])[0])
    assert [(e.side, len(e.points)) for e in hand.edges] == [(None, 3), (None, 1)]
    driver.click(seen(driver, [(0.0, 300.0)])[0])
    assert [(e.side, len(e.points)) for e in hand.edges] == [(None, 3), (None, 1), (3, 1)]
    assert hand.points()[-1] == hand.edges[2].points[0] and hand.selected == len(hand.points()) - 1
    # A point is dragged as every other.
    at = seen(driver, [(400.0, 200.0)])[0]
    driver.drag(at, (at[0] + 12.0, at[1]))
    moved = mm_of(driver.design.scans[0], np.array(hand.edges[0].points[1]))[0]
    assert moved[0] == pytest.approx(at[0] + 12.0, abs=4.0)
    for left in ([3, 1], [3], [2], [1], []):
        QTest.keyClick(driver.canvas, Qt.Key.Key_Backspace)
        assert [len(e.points) for e in hand.edges] == left
    assert len(hand.extras) == 1
    QTest.keyClick(driver.canvas, Qt.Key.Key_Backspace)
    assert hand.extras == () and len(hand.corners) == 4
    QTest.keyClick(driver.canvas, Qt.Key.Key_Backspace)
    assert len(hand.corners) == 3 and not driver.window.strip.straighten.along.isEnabled()


def test_three_points_on_one_edge_say_nothing_yet_and_are_told_so(driver: Driver, tmp_path: Path) -> None:
    opened(driver, tmp_path)
    hand = laid_by_corners(driver)
    QTest.mouseClick(driver.window.strip.straighten.along, LEFT)
    driver.click(seen(driver, [(420.0, 594.0)])[0])
    assert hand.fit is not None and hand.fit.lens is None
    assert "three points on one line always fit" in driver.window.strip.straighten.state.text().lower()
    driver.click(seen(driver, [(200.0, 594.0)])[0])
    driver.click(seen(driver, [(640.0, 594.0)])[0])
    driver.click(seen(driver, [(420.0, 0.0)])[0])
    driver.click(seen(driver, [(640.0, 0.0)])[0])
    assert hand.fit.lens is not None


def test_the_sheets_corners_are_found_offered_and_taken(driver: Driver, tmp_path: Path) -> None:
    opened(driver, tmp_path)
    hand, page = driver.canvas.hand, driver.window.strip.straighten
    assert isinstance(hand, StraightenHand) and hand.offered is not None
    before = encode(driver.design)
    offered = hand.overlay()
    assert len(offered.points) == 4 and hand.corners == () and not driver.window.document.busy
    # Not the program's own word for where they are: the camera's.
    true = np.array(seen(driver, SHEET))
    for place in offered.points:
        assert np.hypot(*(true - place).T).min() < 1.0
    assert page.take.isVisible() and page.flat.isVisible() and "sheet’s corners" in page.why.text()
    QTest.mouseClick(page.take, LEFT)
    assert len(hand.corners) == 4 and driver.window.focusWidget() is page.width_field
    assert encode(driver.design) == before, "taken is not straightened"
    driver.type_into(page.width_field, "841")
    driver.type_into(page.height_field, "594")
    assert hand.fit is not None and hand.fit.lens is not None
    assert hand.fit.lens.k == pytest.approx(0.0313, abs=0.003) and hand.fit.paper_mm is not None
    QTest.keyClick(driver.canvas, Qt.Key.Key_Return)
    quad = np.array(seen(driver, FRAME))
    assert np.abs(quad - quad.mean(axis=0) - FRAME + FRAME.mean(axis=0)).max() < 0.6
    assert off_straight(driver) < 0.6


def test_an_offered_corner_is_dragged_to_its_place_and_the_others_come_along(
    driver: Driver, tmp_path: Path
) -> None:
    opened(driver, tmp_path)
    hand = driver.canvas.hand
    assert isinstance(hand, StraightenHand)
    at = hand.overlay().points[2]
    driver.drag(at, (at[0] - 30.0, at[1] - 20.0))
    assert len(hand.corners) == 4
    assert hand.places()[2] == pytest.approx((at[0] - 30.0, at[1] - 20.0), abs=3.0)
    # Backspace: the sides that came with it, then corner by corner.
    QTest.keyClick(driver.canvas, Qt.Key.Key_Backspace)
    assert hand.edges == () and len(hand.corners) == 4
    for left in (3, 2, 1, 0):
        QTest.keyClick(driver.canvas, Qt.Key.Key_Backspace)
        assert len(hand.corners) == left
    assert hand.offered is not None, "and they are offered again"
    driver.click(seen(driver, [(400.0, 300.0)])[0])
    assert len(hand.corners) == 1 and hand.offered is None, "a click of one's own begins as always"


def test_a_photograph_without_four_edges_offers_nothing(driver: Driver, tmp_path: Path) -> None:
    photograph(tmp_path / "bent.png")
    with Image.open(tmp_path / "bent.png") as image:
        image.crop((0, 0, 1300, 1500)).save(tmp_path / "part.png")
    driver.window.filing.open_scan_path(tmp_path / "part.png")
    driver.until_decoded(1)
    driver.settle()
    driver.take("p")
    hand = driver.canvas.hand
    assert isinstance(hand, StraightenHand) and hand.offered is None and hand.overlay().points == ()
    assert driver.design.scans[0].photograph and not driver.window.strip.straighten.take.isVisible()
    assert "straighten it by four corners" in driver.window.strip.straighten.why.text()
