"""What the window says first and remembers: verdicts before figures, folds, units, and what was done."""

from __future__ import annotations

import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QColor, QFontMetricsF
from PySide6.QtTest import QTest

from app.keeping.units import empty_design
from app.kit.length_field import LengthField
from app.kit.theme import DAY
from app.panels.answer import AnswerPanel, unbroken
from app.panels.reading_group import ReadingGroup
from core.design import EMPTY
from core.stability import catalogue

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


def test_each_group_leads_with_a_sentence_and_folds_its_figures(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    for key, group in driver.window.readings.groups.items():
        assert group._words.text().endswith(".") and not group._words.isHidden(), key
        assert not group.heading.isChecked() and group.body.isHidden(), key


def test_the_sentences_of_side_tail_and_wing(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    said = {key: group._words.text() for key, group in driver.window.readings.groups.items()}
    # The figures are those of the rows, which other tests check.
    assert said["side"] == "247.1 sq in of side area balances 4.56 in behind the CG and 0.51 in above it."
    assert said["tail"] == (
        "22.0 sq in of fin and rudder, their centre 23.42 in behind the CG (tail volume "
        "V_v 0.022)."
    )
    assert said["wing"] == (
        "429.0 sq in over a span of 52.00 in, its mean chord 8.27 in; its dihedral acts as 3.5°."
    )
    assert "28.0 mph" in said["pitch"] and "oz/sq ft" in said["weight"]


def test_a_fold_is_remembered(driver: Driver) -> None:
    side = next(g for g in catalogue.GROUPS if g.key == "side")
    heading = driver.window.readings.groups["side"].heading
    heading.setChecked(False)
    QTest.mouseClick(heading, Qt.MouseButton.LeftButton)
    again = ReadingGroup(side, DAY)
    driver.qtbot.addWidget(again)
    assert heading.isChecked() and again.heading.isChecked()
    QTest.mouseClick(heading, Qt.MouseButton.LeftButton)
    other = ReadingGroup(side, DAY)
    driver.qtbot.addWidget(other)
    assert not other.heading.isChecked()


def test_a_new_design_begins_in_the_unit_last_chosen(driver: Driver) -> None:
    assert empty_design() == EMPTY
    driver.window.edits.set_units("in64")
    driver.window.document._saved = driver.window.document.committed
    driver.window.filing.new()
    assert driver.design == replace(EMPTY, display_units="in64") and not driver.window.document.dirty
    QSettings().setValue("units", "furlongs")
    assert empty_design() == EMPTY


def test_a_bare_fraction_is_inches_and_shows_it(driver: Driver) -> None:
    field = LengthField("Length", lambda: "mm")
    driver.qtbot.addWidget(field)
    field.show()
    QTest.keyClicks(field.line, "3 3/32")
    QTest.keyClick(field.line, Qt.Key.Key_Return)
    assert field.value == pytest.approx(78.58125) and field.line.text() == "3 3/32 in"
    field.step(1)
    assert field.line.text() == "80.0 mm"
    driver.open_outlines(replace(bare_sample(), display_units="mm"))
    driver.type_into(driver.window.readings._inputs["cg_mm"], "1/8")
    assert driver.design.sure.cg_mm == pytest.approx(3.175)
    assert driver.said == "CG known to ±: read as 1/8 in."


def test_what_was_done_is_told_in_ink_and_what_failed_in_its_own_tone(driver: Driver) -> None:
    strip = driver.window.strip
    driver.canvas.tell("turned 0.7° clockwise")
    assert driver.said == "Turned 0.7° clockwise." and driver.window.theme.ink in strip._said.styleSheet()
    driver.canvas.say("the two points fall together")
    assert driver.window.theme.fault in strip._said.styleSheet()
    red = QColor(driver.window.theme.cla).name()
    assert red not in strip._said.styleSheet()


def test_hints_fit_what_is_there(driver: Driver) -> None:
    driver.window.begin_blank()
    driver.canvas.take_hand("edit")
    assert driver.canvas.hand.hint().startswith("Nothing is drawn yet")
    assert not driver.window.outlines.empty.isHidden()
    driver.open_outlines(bare_sample())
    assert driver.canvas.hand.hint().startswith("Drag an edge") and driver.window.outlines.empty.isHidden()


def test_the_large_figure_stays_on_one_line(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    panel = driver.window.findChild(AnswerPanel)
    assert panel is not None
    usual = panel._figure_size(3.4)
    panel.setMinimumWidth(0)
    for wide in (400, 220, 150):
        panel.resize(wide, panel.height())
        size = panel._figure_size(3.4)
        across = QFontMetricsF(panel._larger(size, bold=True)).horizontalAdvance(panel._answer.figure)
        assert across <= wide - 32 and size <= max(usual, 3.4)
    assert " " not in unbroken("19.5 %")
    driver.window.resize(1361, 820)
    driver.settle()
