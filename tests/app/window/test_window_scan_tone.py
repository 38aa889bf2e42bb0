"""The three controls of a scan's tone, in the window."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from driving import Driver
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.panels.scan_tone import ToneRow
from app.scans.levels import grey_pixels
from core.design import Tone

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


def row(driver: Driver) -> ToneRow:
    (card,) = driver.window.scans._cards.values()
    return card._tone


def shown(driver: Driver) -> np.ndarray:
    (scan,) = driver.design.scans
    driver.until(lambda: not driver.window.shelf._loader._jobs)
    picture = driver.window.shelf.picture_of(scan)
    assert picture is not None
    return grey_pixels(picture.levels[0]).copy()


def test_each_control_is_one_entry_of_undo_and_the_file_stays(driver: Driver, tmp_path: Path) -> None:
    values = np.full((300, 400), 120, np.uint8)
    values[100] = 20
    Image.fromarray(values).save(tmp_path / "plan.png", dpi=(150, 150))
    driver.window.filing.open_scan_path(tmp_path / "plan.png")
    driver.until_decoded()
    kept = driver.window.document.pictures["plan.png"]
    np.testing.assert_array_equal(shown(driver), values)

    row(driver).level.click()
    assert driver.design.scans[0].tone == Tone(level=True)
    assert driver.window.document.undo_name == "level shading"
    np.testing.assert_array_equal(np.unique(shown(driver)), [43, 255])  # 20 x 255 / 120 is 42.5

    QTest.keyClick(row(driver).thicken, Qt.Key.Key_Up)
    assert driver.design.scans[0].tone == Tone(level=True, thicken=1)
    assert driver.window.document.undo_name == "thicken lines of scan"
    assert (shown(driver)[:, 200] < 255).sum() == 3

    row(driver).invert.click()
    assert driver.window.document.undo_name == "invert scan"
    # Inverted, the plan's ink is lighter than its paper: levelled, all of it is white.
    assert (shown(driver) == 255).all()
    assert "being worked out" not in row(driver).parentWidget()._state.text()  # type: ignore[union-attr]

    for tone in (Tone(level=True, thicken=1), Tone(level=True), Tone()):
        driver.do("undo")
        assert driver.design.scans[0].tone == tone
        assert (row(driver).level.isChecked(), row(driver).thicken.value()) == (tone.level, tone.thicken)
    np.testing.assert_array_equal(shown(driver), values)
    assert driver.window.document.pictures["plan.png"] is kept
    assert driver.window.document.undo_name == "open scan"
