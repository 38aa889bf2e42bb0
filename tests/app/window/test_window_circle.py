"""A wheel by the circle hand: dragged, clicked and typed, in the real window."""

from __future__ import annotations

import math

import pytest
from driving import CTRL, Driver, bare_sample
from PySide6.QtCore import Qt

from core.design import Outline
from core.stability.side_area import form_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


def newest(driver: Driver) -> Outline:
    return driver.design.outlines[-1]


def size(outline: Outline) -> tuple[float, float, float]:
    low_x, low_z, high_x, high_z = form_of(outline).patch.box
    assert high_x - low_x == pytest.approx(high_z - low_z, rel=1e-3)
    return (low_x + high_x) / 2, (low_z + high_z) / 2, (high_x - low_x) / 2


def test_a_drag_from_the_centre_makes_a_wheel_and_undo_takes_it_back(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    before = driver.design
    driver.take("c")
    centre, rim = driver.spot((300, -150)), driver.spot((340, -150))
    driver.drag((300, -150), (340, -150), CTRL, drop=False)
    assert driver.figure.startswith("radius ")
    driver.release((340, -150), CTRL)
    made = newest(driver)
    assert made.kind == "wheel" and size(made) == pytest.approx((*centre, rim[0] - centre[0]), rel=1e-3)
    assert driver.window.picked.now.outlines == (made.id,)
    assert driver.window.document.undo_name == "draw wheel"
    driver.key(Qt.Key.Key_Z, CTRL)
    assert driver.design == before


def test_three_clicks_on_the_rim_and_one_click_with_a_typed_radius(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.take("c")
    spots = [(300 + 40 * math.cos(a), -150 + 40 * math.sin(a)) for a in (0.2, 2.2, 4.0)]
    for spot in spots:
        driver.click(spot, CTRL)
    assert size(newest(driver)) == pytest.approx((300, -150, 40), abs=2.0)
    page, count = driver.window.strip.circle, len(driver.design.outlines)
    assert not page.radius.isEnabled()
    driver.click((600, -160), CTRL)
    assert page.radius.isEnabled()
    driver.type_into(page.radius, "nothing")
    assert driver.said and len(driver.design.outlines) == count
    driver.type_into(page.radius, "38 mm")
    assert size(newest(driver)) == pytest.approx((*driver.spot((600, -160)), 38.0), abs=0.02)
    # Escape gives up what is half done, and then the hand.
    driver.click((700, -160), CTRL)
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.canvas.hand.name == "circle" and not driver.canvas.hand.busy
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.canvas.hand.name == "edit" and len(driver.design.outlines) == count + 1
