"""A photograph of a plan in the real window: asked about, straightened or declared flat, kept in the file."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from driving import LEFT, Driver
from PIL import Image, ImageDraw
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

sys.path.append(str(Path(__file__).resolve().parents[2] / "core"))

from cameras import CAMERAS

from app.__main__ import main
from app.panels.scans import ScanCard
from core.design_file import encode, read
from core.geometry.plane import mapped
from core.stability.photographs import unstraightened

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

CAMERA = CAMERAS[1]
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))
EXIF, EXPOSURE_TIME = 0x8769, 0x829A


def photograph(path: Path, dpi: float | None = None) -> Path:
    """A sheet of A1 on dark boards, a quarter of the camera's 4000 x 3000 pixels."""
    boards = np.repeat(90 + 18 * np.sin(np.arange(750) / 9.0)[:, None], 1000, 1)
    image = Image.fromarray(boards.astype(np.uint8))
    pen = ImageDraw.Draw(image)
    pen.polygon([tuple(p / 4) for p in CAMERA.pixels(SHEET)], fill=236)
    pen.line([tuple(p / 4) for p in CAMERA.pixels(SHEET * 0.6 + 100)], fill=20, width=3)
    image.save(path, **({} if dpi is None else {"dpi": (dpi, dpi)}))
    return path


def opened(driver: Driver, path: Path, scans: int = 1) -> None:
    driver.window.filing.open_scan_path(path)
    driver.until_decoded(scans)
    driver.settle()


def card(driver: Driver, index: int = 0) -> ScanCard:
    return list(driver.window.scans._cards.values())[index]


def is_asked(driver: Driver) -> bool:
    return bool(unstraightened(driver.design))


def test_opened_it_is_not_placed_by_dpi_and_the_straighten_hand_says_why(
    driver: Driver, tmp_path: Path
) -> None:
    opened(driver, photograph(tmp_path / "table.png", dpi=300))
    (scan,) = driver.design.scans
    assert scan.photograph and scan.scale_from == "none" and scan.to_mm[0][0] == 0.254
    assert driver.canvas.hand.name == "straighten"
    page = driver.window.strip.straighten
    assert page.why.isVisible() and page.flat.isVisible() and not page.width_field.isVisible()
    assert page.why.text() == (
        "This looks like a photograph: straighten it by four corners, or say that it is flat."
    )
    assert "looks like a photograph" in card(driver)._state.text()
    assert card(driver).straighten.isVisible() and card(driver).flat.isVisible()
    assert "four corners" in driver.window.answer.shown.sentence
    # The hand put away, the strip says it still.
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.canvas.hand.name == "edit"
    strip = driver.window.strip
    assert "looks like a photograph" in strip._note.text() and strip.scale_button.text() == "Straighten"
    QTest.mouseClick(strip.scale_button, LEFT)
    assert driver.canvas.hand.name == "straighten"


def test_four_corners_answer_it_and_undo_asks_again(driver: Driver, tmp_path: Path) -> None:
    opened(driver, photograph(tmp_path / "table.png"))
    places = mapped(np.array(driver.design.scans[0].to_mm), CAMERA.pixels(SHEET) / 4)
    for x, z in places:
        driver.click((float(x), float(z)))
    page = driver.window.strip.straighten
    assert page.width_field.isVisible() and not page.flat.isVisible()
    driver.type_into(page.width_field, "841 mm")
    driver.type_into(page.height_field, "594 mm")
    assert unstraightened(driver.window.document.committed), "what is only shown answers nothing"
    QTest.mouseClick(page.done, LEFT)
    assert not is_asked(driver) and driver.design.scans[0].scale_from == "points"
    assert not card(driver).flat.isVisible() and "straightened" in card(driver)._state.text()
    driver.do("undo")
    assert is_asked(driver) and card(driver).flat.isVisible()
    driver.do("redo")
    assert not is_asked(driver)


@pytest.mark.parametrize("where", ["strip", "card"])
@pytest.mark.parametrize("dpi", [None, 127.0])
def test_it_is_flat_answers_it_and_undo_asks_again(
    driver: Driver, tmp_path: Path, where: str, dpi: float | None
) -> None:
    opened(driver, photograph(tmp_path / "table.png", dpi))
    before = encode(driver.design)
    button = driver.window.strip.straighten.flat if where == "strip" else card(driver).flat
    QTest.mouseClick(button, LEFT)
    (scan,) = driver.design.scans
    assert not scan.photograph and driver.window.document.undo_name == "declare scan flat"
    # A dpi of its own is believed now; where there is none the scale is asked for.
    assert scan.scale_from == ("none" if dpi is None else "dpi")
    assert scan.to_mm[0][0] == pytest.approx(0.254 if dpi is None else 0.2, rel=1e-4)
    assert driver.canvas.hand.name == ("scale" if dpi is None else "edit")
    assert not card(driver).flat.isVisible()
    driver.do("undo")
    assert encode(driver.design) == before and card(driver).flat.isVisible()


def test_a_scale_from_two_points_does_not_answer_it(driver: Driver, tmp_path: Path) -> None:
    opened(driver, photograph(tmp_path / "table.png"))
    driver.take("s")
    for at in ((60, 60), (160, 60)):
        driver.click(at)
    driver.type_into(driver.window.strip.distance, "400 mm")
    assert driver.design.scans[0].scale_from == "points" and is_asked(driver)
    assert "looks like a photograph, scale set by two points" in card(driver)._state.text()
    assert "looks like a photograph" in driver.window.strip._note.text()


def test_saved_and_reopened_it_is_asked_still_and_the_command_line_names_it(
    driver: Driver, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    opened(driver, photograph(tmp_path / "table.png"))
    path = tmp_path / "plan.sternpost"
    assert driver.window.filing._save_to(path)
    assert unstraightened(read(path).design) and b'"format":3' in encode(driver.design).replace(b" ", b"")
    driver.canvas.take_hand("edit")
    driver.open(path)
    assert is_asked(driver) and card(driver).flat.isVisible()
    assert main(["readings", str(path)]) == 0
    assert 'scans[0] "table.png": looks like a photograph' in capsys.readouterr().out


def test_a_second_one_is_asked_about_but_never_out_of_a_gesture(driver: Driver, tmp_path: Path) -> None:
    opened(driver, photograph(tmp_path / "one.png"))
    QTest.mouseClick(driver.window.strip.straighten.flat, LEFT)
    driver.take("t")
    driver.click((60, 60))
    driver.click((90, 60))
    opened(driver, photograph(tmp_path / "two.png"), 2)
    assert driver.canvas.hand.name == "trace" and driver.canvas.hand.busy
    assert "two.png looks like a photograph" in driver.said
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    driver.window.tabs.setCurrentWidget(driver.window.scans)
    QTest.mouseClick(card(driver, 1).straighten, LEFT)
    assert driver.canvas.hand.name == "straighten"
    QTest.mouseClick(driver.window.strip.straighten.flat, LEFT)
    assert not is_asked(driver) and driver.canvas.hand.name == "edit"


def test_hidden_it_is_shown_to_be_straightened(driver: Driver, tmp_path: Path) -> None:
    opened(driver, photograph(tmp_path / "table.png"))
    QTest.mouseClick(card(driver)._eye, LEFT)
    assert driver.design.scans[0].hidden and is_asked(driver)
    QTest.mouseClick(card(driver).straighten, LEFT)
    assert not driver.design.scans[0].hidden and driver.canvas.hand.name == "straighten"


def test_a_camera_s_tags_are_enough(driver: Driver, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif.get_ifd(EXIF)[EXPOSURE_TIME] = 0.01
    path = tmp_path / "filled.jpg"
    Image.new("L", (900, 700), 240).save(path, exif=exif, dpi=(300, 300))
    opened(driver, path)
    assert is_asked(driver) and driver.design.scans[0].scale_from == "none"
