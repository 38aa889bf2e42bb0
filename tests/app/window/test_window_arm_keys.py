"""Arrow keys on the arm rule: they move what visibly has the focus, and nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from driving import CTRL, FREE, LEFT, SHIFT, Driver, bare_sample
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from test_window_marks import aim_of, pull_rule, rule_px

from app.canvas.arm_rule import ArmRule
from app.work.selection import Selection

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")
RIGHT, LEFT_KEY = Qt.Key.Key_Right, Qt.Key.Key_Left
AIM = (0.22, 0.25, 0.28)


@pytest.fixture
def marsh(driver: Driver) -> Driver:
    driver.open_outlines(bare_sample())
    driver.canvas.setFocus()
    return driver


def in_focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def arrow(*keys: Qt.Key, held: Qt.KeyboardModifier = FREE) -> None:
    """Arrow keys, sent to whatever has the focus as the system does."""
    for key in keys:
        QTest.keyClick(in_focus(), key, held)


def tab_to_the_rule(driver: Driver) -> ArmRule:
    rule = driver.window.arm_rule
    for _ in range(200):
        if in_focus() is rule:
            return rule
        QTest.keyClick(in_focus(), Qt.Key.Key_Tab)
    raise AssertionError("Tab does not reach the arm rule")


def ringed(driver: Driver) -> tuple[int, int] | None:
    """From where to where, in px, the ring round a grip reaches; None where there is no ring.

    Told by the pixels of its upper edge, which lies above everything else that is drawn in its colour.
    """
    rule = driver.window.arm_rule
    image = rule.grab().toImage()
    ratio = image.devicePixelRatio()
    wanted = QColor(driver.window.theme.pick)
    rows = []
    for y in range(round(23 * ratio), round(28 * ratio)):
        hits = [
            x for x in range(4, image.width() - 4)
            if max(
                abs(image.pixelColor(x, y).red() - wanted.red()),
                abs(image.pixelColor(x, y).green() - wanted.green()),
                abs(image.pixelColor(x, y).blue() - wanted.blue()),
            ) < 60
        ]
        rows.append(hits)
    best = max(rows, key=len)
    return (round(best[0] / ratio), round(best[-1] / ratio)) if len(best) > 3 else None


def hint(driver: Driver) -> str:
    return driver.window.status._hint.text()


def test_a_click_on_nothing_leaves_the_keys_with_the_canvas(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("rudder",)))
    before = marsh.outline("rudder").nodes[0].x
    for at in (rule_px(marsh, 0.8), QPoint(rule_px(marsh, 0.25).x(), 5), QPoint(3, 80)):
        QTest.mouseClick(marsh.window.arm_rule, LEFT, FREE, at)
        assert in_focus() is marsh.canvas and ringed(marsh) is None
        arrow(RIGHT)
    assert aim_of(marsh) == AIM
    assert marsh.outline("rudder").nodes[0].x > before, "what is seen to be selected moves"
    marsh.canvas.hand.settle()
    assert marsh.window.document.undo_name == "nudge outline"


def test_the_focus_on_the_aim_is_ringed_and_said(marsh: Driver) -> None:
    assert ringed(marsh) is None
    tab_to_the_rule(marsh)
    ring = ringed(marsh)
    at = rule_px(marsh, 0.25).x()
    assert ring is not None and ring[0] < at < ring[1] and ring[1] - ring[0] < 16
    assert hint(marsh).startswith("The aim, 25.0 %: left and right arrow move it by 0.5 %")
    arrow(RIGHT, RIGHT)
    assert hint(marsh).startswith("The aim, 26.0 %:")
    marsh.canvas.setFocus()
    assert ringed(marsh) is None and hint(marsh) == marsh.canvas.hand.hint()


@pytest.mark.parametrize(("grip", "wanted", "called"), [
    (0.22, (0.23, 0.25, 0.28), "The lower limit of the aim, 23.0 %"),
    (0.25, (0.22, 0.26, 0.28), "The aim, 26.0 %"),
    (0.28, (0.22, 0.25, 0.29), "The upper limit of the aim, 29.0 %"),
    (0.265, (0.23, 0.26, 0.29), "The aim and its limits, 23.0 % to 29.0 %"),
])  # fmt: skip
def test_arrows_go_on_with_the_grip_that_was_pressed(
    marsh: Driver, grip: float, wanted: tuple[float, float, float], called: str
) -> None:
    at = rule_px(marsh, grip)
    QTest.mouseClick(marsh.window.arm_rule, LEFT, FREE, at)
    ring = ringed(marsh)
    assert ring is not None and ring[0] <= at.x() <= ring[1]
    arrow(RIGHT, RIGHT)
    assert aim_of(marsh) == pytest.approx(wanted)
    assert hint(marsh).startswith(called)


def test_a_drag_is_one_entry_and_the_keys_after_it_are_another(marsh: Driver) -> None:
    pull_rule(marsh, rule_px(marsh, 0.28), rule_px(marsh, 0.35))
    dragged = aim_of(marsh)
    arrow(RIGHT, RIGHT, RIGHT)
    assert aim_of(marsh)[2] == pytest.approx(dragged[2] + 0.015)
    QTest.keyClick(in_focus(), Qt.Key.Key_Z, CTRL)
    assert aim_of(marsh) == dragged and marsh.window.document.undo_name == "drag the aim"


def test_a_run_is_one_entry_of_undo_and_redo_brings_it_back(marsh: Driver) -> None:
    tab_to_the_rule(marsh)
    arrow(RIGHT, RIGHT, LEFT_KEY, RIGHT)
    arrow(LEFT_KEY, held=SHIFT)
    assert aim_of(marsh) == pytest.approx((0.215, 0.255, 0.275))
    moved = aim_of(marsh)
    QTest.keyClick(in_focus(), Qt.Key.Key_Z, CTRL)
    assert aim_of(marsh) == AIM and not marsh.window.document.undo_name
    QTest.keyClick(in_focus(), Qt.Key.Key_Z, CTRL | SHIFT)
    assert aim_of(marsh) == moved and marsh.window.document.undo_name == "move the aim"


@pytest.mark.parametrize("ends", ["return", "focus", "press"])
def test_what_ends_a_run_begins_another_entry(marsh: Driver, ends: str) -> None:
    rule = tab_to_the_rule(marsh)
    arrow(RIGHT)
    if ends == "return":
        arrow(Qt.Key.Key_Return)
    elif ends == "focus":
        marsh.canvas.setFocus()
        rule.setFocus()
    else:
        QTest.mouseClick(rule, LEFT, FREE, rule_px(marsh, 0.255))
    assert not marsh.window.document.busy and marsh.window.document.undo_name == "move the aim"
    arrow(RIGHT)
    assert aim_of(marsh)[1] == pytest.approx(0.26)
    marsh.do("undo")
    assert aim_of(marsh)[1] == pytest.approx(0.255)


def test_escape_takes_a_run_back_and_then_leaves_the_rule(marsh: Driver) -> None:
    tab_to_the_rule(marsh)
    arrow(RIGHT, RIGHT)
    arrow(Qt.Key.Key_Escape)
    assert aim_of(marsh) == AIM and not marsh.window.document.dirty
    assert in_focus() is marsh.window.arm_rule
    arrow(Qt.Key.Key_Escape)
    assert in_focus() is marsh.canvas


def test_an_aim_that_is_not_seen_is_not_moved(marsh: Driver) -> None:
    rule = tab_to_the_rule(marsh)
    marsh.canvas.set_view(marsh.canvas.view.panned(5000, 0))
    assert not 0 <= rule_px(marsh, 0.25).x() <= rule.width()
    arrow(RIGHT)
    arrow(RIGHT, held=SHIFT)
    assert aim_of(marsh) == AIM and not marsh.window.document.busy
    assert marsh.said == "The aim is out of sight: the arrow keys move it only where it is seen."
    marsh.canvas.fit()
    arrow(RIGHT)
    assert aim_of(marsh)[1] == pytest.approx(0.255)


def test_without_a_tail_arm_there_is_no_aim_to_move(driver: Driver) -> None:
    driver.window.begin_blank()
    driver.settle()
    tab_to_the_rule(driver)
    arrow(RIGHT, LEFT_KEY)
    assert aim_of(driver) == AIM and not driver.window.document.dirty
    assert hint(driver) == "The arm rule has no aim to move yet."


def test_a_run_under_way_is_saved_and_the_next_arrow_goes_on(marsh: Driver, tmp_path: Path) -> None:
    document = marsh.window.document
    tab_to_the_rule(marsh)
    arrow(RIGHT)
    document.save(tmp_path / "a.sternpost")
    assert not document.dirty and aim_of(marsh)[1] == pytest.approx(0.255)
    arrow(RIGHT)
    assert aim_of(marsh)[1] == pytest.approx(0.26)
    marsh.window.arm_rule.settle()
    assert document.dirty
    marsh.do("undo")
    assert aim_of(marsh)[1] == pytest.approx(0.255)


def test_the_ring_follows_the_aim(marsh: Driver) -> None:
    tab_to_the_rule(marsh)
    places = []
    for _ in range(4):
        ring = ringed(marsh)
        assert ring is not None
        places.append((sum(ring) / 2, rule_px(marsh, aim_of(marsh)[1]).x()))
        arrow(RIGHT)
    off = np.ptp([ring - aim for ring, aim in places])
    assert off <= 2 and places[-1][0] > places[0][0]
