"""Photographs straightened, stretch taken out and sheets joined in the real window, by mouse and keys."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from driving import LEFT, SHIFT, Driver, Place
from PIL import Image, ImageDraw
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

sys.path.append(str(Path(__file__).resolve().parents[2] / "core"))

from cameras import CAMERAS

from app.canvas.tools.join import JoinHand
from core.design_file import encode
from core.geometry.plane import mapped

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

CAMERA = CAMERAS[0]
SHRUNK = 4.0
"""The camera's 4000 x 3000 pixels, four to one."""
SHEET = ((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0))
FRAME = ((120.0, 100.0), (720.0, 100.0), (720.0, 500.0), (120.0, 500.0))


def pixels(plan: object) -> np.ndarray:
    return CAMERA.pixels(np.array(plan)) / SHRUNK


def photograph(path: Path) -> Path:
    """A white sheet with a black frame on it, on a grey wall, through the camera; lines stay lines."""
    image = Image.new("L", (1000, 750), 110)
    draw = ImageDraw.Draw(image)
    draw.polygon([tuple(p) for p in pixels(SHEET)], fill=245)
    draw.line([tuple(p) for p in pixels((*FRAME, FRAME[0]))], fill=0, width=5)
    image.save(path)
    return path


def opened(driver: Driver, *paths: Path) -> None:
    for count, path in enumerate(paths, 1):
        driver.window.filing.open_scan_path(path)
        driver.until_decoded(count)
    # Set afterwards by a timer of its own.
    driver.settle()
    driver.canvas.fit()


def seen(driver: Driver, plan: object) -> list[Place]:
    """Where points of the plan show now on the photograph."""
    found = mapped(np.array(driver.design.scans[0].to_mm), pixels(plan))
    return [(float(x), float(z)) for x, z in found]


def taken_corners(driver: Driver, tmp_path: Path) -> None:
    opened(driver, photograph(tmp_path / "wall.png"))
    driver.take("p")
    assert driver.canvas.hand.name == "straighten"
    for at in seen(driver, SHEET):
        driver.click(at)


def flatness(driver: Driver) -> float:
    """How far, in mm, the frame drawn on the sheet lies from a level rectangle of its size."""
    quad = np.array(seen(driver, FRAME))
    true = np.array(FRAME)
    return float(np.abs(quad - quad.mean(axis=0) - true + true.mean(axis=0)).max())


def darkness(driver: Driver, start: Place, end: Place) -> np.ndarray:
    """Grey values on the canvas along a line in mm, the darkest of the three pixels across it each."""
    image = driver.canvas.grab().toImage()
    found = []
    for share in np.linspace(0.05, 0.95, 15):
        x, y = driver.canvas.view.to_px(*(np.array(start) + share * (np.array(end) - start)))
        near = [(round(x) + i, round(y) + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        found.append(min(image.pixelColor(*at).lightness() for at in near))
    return np.array(found)


def test_a_photograph_is_straightened_by_four_clicks_and_two_lengths(driver: Driver, tmp_path: Path) -> None:
    taken_corners(driver, tmp_path)
    page = driver.window.strip.straighten
    before = encode(driver.design)
    assert page.isVisible() and page.width_field.isEnabled() and not page.done.isEnabled()
    assert "two lengths" in page.state.text()
    driver.type_into(page.width_field, "841")
    assert driver.window.focusWidget() is page.height_field
    driver.type_into(page.height_field, "594 mm")
    assert driver.window.focusWidget() is driver.canvas
    # Clicks come to whole pixels of a window that shows less than one for two of the photograph's.
    assert flatness(driver) < 3.0 and driver.window.document.committed.scans[0].scale_from == "none"
    assert page.done.isEnabled() and "always fit" in page.state.text()
    # Seen: the frame's long sides are level black lines now, all along.
    a, b, _, d = (np.array(p) for p in seen(driver, FRAME))
    assert abs(a[1] - b[1]) < 3.0 and abs(a[0] - d[0]) < 3.0
    assert (darkness(driver, tuple(a), tuple(b)) < 140).all()
    QTest.mouseClick(page.done, LEFT)
    assert driver.window.document.undo_name == "straighten scan" and driver.canvas.hand.name == "edit"
    assert driver.design.scans[0].scale_from == "points"
    (card,) = driver.window.scans._cards.values()
    assert "straightened by its corners" in card._state.text()
    assert not page.isVisible()
    driver.do("undo")
    assert encode(driver.design) == before


def test_more_that_is_known_is_typed_beside_its_points(driver: Driver, tmp_path: Path) -> None:
    taken_corners(driver, tmp_path)
    page = driver.window.strip.straighten
    driver.type_into(page.width_field, "841 mm")
    driver.type_into(page.height_field, "594 mm")
    assert not page.extra_field.isVisible()
    for at in seen(driver, (FRAME[0], FRAME[2])):
        driver.click(at)
    assert page._asks.text() == "5 to 6 apart"
    driver.type_into(page.extra_field, f"{math.hypot(600, 400):.1f} mm")
    driver.click(seen(driver, (FRAME[1],))[0])
    assert page._asks.text() == "7 lies at"
    driver.type_into(page.extra_field, "nonsense")
    assert "how far along the width" in driver.said
    driver.type_into(page.extra_field, "720 × 100 mm")
    assert driver.said == "" and page.state.text().startswith("Fits to ")
    assert sum(label.marked for label in driver.canvas.hand.overlay().labels) == 1
    assert flatness(driver) < 3.0
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    assert driver.canvas.hand.name == "edit" and driver.window.document.undo_name == "straighten scan"


def test_corners_are_dragged_and_nudged_and_escape_brings_the_photograph_back(
    driver: Driver, tmp_path: Path
) -> None:
    taken_corners(driver, tmp_path)
    before = encode(driver.design)
    page, hand = driver.window.strip.straighten, driver.canvas.hand
    driver.type_into(page.width_field, "841 mm")
    driver.type_into(page.height_field, "594 mm")
    good = driver.design
    start = hand.overlay().points[2]
    driver.drag(start, (start[0] + 60, start[1] + 40))
    assert driver.design is not good and flatness(driver) > 10
    driver.key(Qt.Key.Key_Left, SHIFT, on=driver.canvas)
    driver.key(Qt.Key.Key_Down, on=driver.canvas)
    assert driver.window.document.undo_name == "open scan"
    driver.type_into(page.width_field, "-5 mm")
    assert "more than nothing" in page.state.text() and encode(driver.design) == before
    driver.type_into(page.width_field, "841 mm")
    assert driver.window.document.busy
    driver.canvas.setFocus()
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert encode(driver.design) == before and not driver.window.document.busy
    assert "looks like a photograph" in page.state.text() and page.width_field.text() == ""
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.canvas.hand.name == "edit"


def test_the_scale_is_set_along_and_across_from_the_strip(driver: Driver, tmp_path: Path) -> None:
    image = Image.new("L", (800, 500), 240)
    image.save(tmp_path / "plan.png", dpi=(100, 100))
    opened(driver, tmp_path / "plan.png")
    driver.take("s")
    strip = driver.window.strip
    assert not strip.across_button.isEnabled()
    one, other, low, high = (driver.spot(at) for at in ((20, 60), (180, 60), (40, 10), (40, 110)))
    driver.click(one)
    driver.click(other)
    strip.distance.setFocus()
    QTest.keyClicks(strip.distance, f"{math.dist(one, other):.3f} mm")
    QTest.mouseClick(strip.across_button, LEFT)
    assert strip._scale_words.text() == "True distance across" and not strip.across_button.isVisible()
    driver.click(low)
    driver.click(high)
    driver.type_into(strip.distance, f"{math.dist(low, high) / 0.98:.3f} mm")
    assert driver.said == "The paper is 2 % shorter across than along."
    assert driver.window.document.undo_name == "set scale both ways"
    (a, _, _), (_, e, _), _ = driver.design.scans[0].to_mm
    assert a == pytest.approx(0.254, rel=1e-4) and e == pytest.approx(-0.254 / 0.98, rel=1e-4)
    (card,) = driver.window.scans._cards.values()
    assert "the paper is 2 % shorter across than along" in card._state.text()
    driver.take("s")
    assert strip._scale_words.text() == "True distance" and strip.across_button.isVisible()


def test_two_sheets_are_joined_by_four_clicks_and_nudged(driver: Driver, tmp_path: Path) -> None:
    plan = Image.new("L", (900, 400), 240)
    draw = ImageDraw.Draw(plan)
    for at in ((430, 80), (470, 330)):
        draw.ellipse((at[0] - 4, at[1] - 4, at[0] + 4, at[1] + 4), fill=0)
    plan.crop((0, 0, 520, 400)).save(tmp_path / "left.png", dpi=(100, 100))
    plan.crop((380, 0, 900, 400)).save(tmp_path / "right.png", dpi=(100, 100))
    opened(driver, tmp_path / "left.png")
    assert driver.canvas.hands["join"].unusable() != ""
    driver.window.filing.open_scan_path(tmp_path / "right.png")
    driver.until_decoded(2)
    driver.canvas.fit()
    left, right = driver.design.scans

    def on(scan: object, u: float, v: float) -> Place:
        x, z = mapped(np.array(scan.to_mm), np.array((u, v)))[0]  # type: ignore[attr-defined]
        return float(x), float(z)

    driver.take("j")
    hand = driver.canvas.hand
    assert isinstance(hand, JoinHand)
    for u, v in ((430, 80), (470, 330)):
        driver.click(on(right, u - 380, v))
        driver.move(on(left, u, v))
        assert len(hand.overlay().edge) == 4 and len(hand.overlay().ghost_edge) == 4
        driver.click(on(left, u, v))
    assert driver.window.document.undo_name == "join sheets"
    joined = driver.design.scans[1]
    assert joined.locked and driver.window.strip.join.words.text().startswith("Joined and locked.")
    # A click is as good as a pixel of the window, at either end.
    pixel = 1.0 / driver.canvas.view.scale
    assert np.array(on(joined, 0, 0)) == pytest.approx(np.array(on(left, 380, 0)), abs=2 * pixel)
    assert np.hypot(*np.array(joined.to_mm)[:2, 0]) == pytest.approx(0.254)
    for key, held in ((Qt.Key.Key_Right, None), (Qt.Key.Key_Right, None), (Qt.Key.Key_Up, SHIFT)):
        driver.key(key, *([held] if held else []), on=driver.canvas)
    assert driver.window.document.busy
    driver.until(lambda: not driver.window.document.busy)
    assert driver.window.document.undo_name == "nudge sheet"
    now = np.array(driver.design.scans[1].to_mm)[:2, 2] - np.array(joined.to_mm)[:2, 2]
    assert now == pytest.approx((0.2, 1.0))
    driver.do("undo")
    assert driver.design.scans[1] == joined
    driver.do("undo")
    assert driver.design.scans == (left, right)
