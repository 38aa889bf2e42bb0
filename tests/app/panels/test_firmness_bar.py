"""The yaw group in the window: sentence and scale stay, figures fold, all of it follows the hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from driving import LEFT, Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QPointF
from PySide6.QtGui import QHelpEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolTip

from app.kit.theme import DAY, NIGHT
from app.panels.firmness_bar import FirmnessBar
from app.panels.reading_group import ReadingGroup
from core.design import EMPTY
from core.geometry.ring import point_on
from core.stability.firmness import WITNESSES, firmness, firmness_words
from core.stability.plain_words import further_words, group_words
from core.stability.readings import ReadingsEngine
from core.stability.side_area import form_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


def yaw(driver: Driver) -> ReadingGroup:
    return driver.window.readings.groups["yaw"]


def bar(driver: Driver) -> FirmnessBar:
    return driver.window.readings.firmness


@pytest.fixture
def opened(driver: Driver) -> Driver:
    driver.open_outlines(replace(bare_sample(), display_units="mm"))
    if yaw(driver).heading.isChecked():
        yaw(driver).heading.setChecked(False)
    return driver


def test_sentence_and_scale_stand_while_the_figures_are_folded(opened: Driver) -> None:
    group, design = yaw(opened), opened.design
    readings = opened.window.readout.readings
    assert not group.body.isVisibleTo(group)
    assert group._words.isVisibleTo(group) and group._words.text() == group_words("yaw", design, readings)
    assert group._under.isVisibleTo(group)
    assert group._under.text() == further_words("yaw", design, readings)[0] != ""
    assert bar(opened).isVisibleTo(group) and bar(opened).shown == firmness(readings)
    assert opened.window.readings.curve_button.isVisibleTo(group)
    assert bar(opened).accessibleName() == "Firmness in yaw"
    shown = bar(opened).shown
    assert shown is not None and bar(opened).accessibleDescription() == firmness_words(shown)


def test_figures_open_by_a_click_and_are_remembered(
    opened: Driver, new_window: Callable[[], Driver]
) -> None:
    QTest.mouseClick(yaw(opened).heading, LEFT)
    assert yaw(opened).body.isVisibleTo(yaw(opened)) and yaw(opened)._foot.text() != ""
    assert opened.reading("cn_beta_fin_lattice") != "–"
    assert yaw(new_window()).heading.isChecked()
    QTest.mouseClick(yaw(opened).heading, LEFT)
    assert not yaw(opened).body.isVisibleTo(yaw(opened))
    assert not yaw(new_window()).heading.isChecked()


def test_it_follows_every_movement_of_a_drag(opened: Driver) -> None:
    ring = form_of(opened.outline("rudder")).ring
    middles = [point_on(ring, i, 0.5) for i in range(len(ring))]
    x, z = max((float(p[0]), float(p[1])) for p in middles)
    before = bar(opened).shown
    seen = []
    opened.drag((x, z), (x + 8.0, z), steps=1, drop=False)
    for further in (16.0, 30.0):
        opened.move((x + further, z), button=LEFT)
        shown = bar(opened).shown
        assert shown is not None and shown == firmness(opened.window.readout.readings)
        seen.append(shown.best)
    assert before is not None and before.best < seen[0] < seen[1]
    assert bar(opened)._before == before, "where it was is left as a line"
    spoken = bar(opened).accessibleDescription()
    assert spoken == firmness_words(before), "a screen reader is told when the hand lets go"
    opened.release((x + 30.0, z))
    opened.settle()
    settled = firmness(ReadingsEngine().read(opened.design))
    assert settled is not None and bar(opened).shown == settled
    assert bar(opened).accessibleDescription() == firmness_words(settled) != spoken
    assert settled.best == pytest.approx(seen[1], abs=1e-3), "it does not jump when the hand lets go"


def test_a_tip_says_which_witness_a_stem_is(opened: Driver) -> None:
    shown, scale = bar(opened).shown, bar(opened).scale()
    assert shown is not None
    for name, value in shown.witnesses.items():
        # Beside the other's stem, should both stand close together.
        aside = -5.0 if name == next(iter(shown.witnesses)) else 5.0
        place = QPointF(scale.x(value) + aside, scale.field.top())
        assert bar(opened).tip_at(place).startswith(f"{name.capitalize()}: {WITNESSES[name]}")
    assert bar(opened).tip_at(scale.field.bottomRight()) == firmness_words(shown)
    at = scale.field.bottomRight().toPoint()
    help_there = QHelpEvent(QHelpEvent.Type.ToolTip, at, bar(opened).mapToGlobal(at))
    QApplication.sendEvent(bar(opened), help_there)
    assert QToolTip.text() == firmness_words(shown)
    QToolTip.hideText()


def test_nothing_stands_there_while_there_is_nothing_to_show(driver: Driver) -> None:
    driver.open_outlines(EMPTY)
    driver.window.begin_blank()
    driver.settle()
    group = yaw(driver)
    assert bar(driver).shown is None and not bar(driver).isVisibleTo(group)
    assert not driver.window.readings.curve_button.isVisibleTo(group)
    assert bar(driver).accessibleDescription() == "" == bar(driver).tip_at(QPointF(5, 5))
    assert group._needs.isVisibleTo(group)


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_it_is_drawn_in_either_theme(opened: Driver, theme: object) -> None:
    assert isinstance(theme, type(DAY))
    made = bar(opened)
    made.set_theme(theme)
    image = made.grab().toImage()
    middle = made.scale().field.center().y() * image.devicePixelRatio()
    assert made.shown is not None
    x = made.scale().x(made.shown.best) * image.devicePixelRatio()
    assert image.pixelColor(round(x), round(middle)).name() == theme.ink
    made.set_theme(opened.window.theme)
