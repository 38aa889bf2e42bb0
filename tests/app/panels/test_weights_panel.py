"""The panel of weights: what it shows, typing, undo, units, bad input, rows."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from weights_desk import BATTERY, MOTOR, Desk, Key, laden

from app.panels.weight_table import GRAMS, LABEL, X, Y, Z
from app.work.selection import Selection
from core.design import Design, Mark, Scan, Station, Wing

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

@pytest.fixture
def desk(qtbot: QtBot) -> Iterator[Callable[[Design], Desk]]:
    yield lambda design: Desk(qtbot, design)


# What is shown


def test_the_table_lists_weights_and_what_weighs_by_area(desk: Callable[[Design], Desk]) -> None:
    design = laden()
    fin = replace(design.outlines[1], grams_per_dm2=20.0, count=2)
    d = desk(replace(design, outlines=(design.outlines[0], fin, design.outlines[2])))
    shown = [tuple(d.cell(row, column) for column in (LABEL, GRAMS, X, Z)) for row in range(3)]
    # The fin: 70 × 100 mm = 0.7 dm² at 20 g/dm², twice: 28 g, in its middle.
    assert shown == [
        ("Battery", "300", "200.0", "5.0"), ("Motor", "100", "30.0", "0.0"),
        ("fin", "28.0", "685.0", "110.0"),
    ]
    index = d.panel.model.index(2, GRAMS)
    assert not d.panel.model.flags(index) & Qt.ItemFlag.ItemIsEditable
    assert "20 g/dm², × 2" in index.data(Qt.ItemDataRole.ToolTipRole)
    assert d.figure("mass") == "428 g"
    d.panel.table.setCurrentIndex(index)
    assert d.picked.now == Selection(("fin",))
    QTest.keyClick(d.panel.table, Key.Key_Delete)
    assert len(d.design.outlines) == 3 and "Weighs" in d.said[0]


def test_the_head_says_how_the_weights_lie_to_the_mark_and_what_the_wing_carries(
    desk: Callable[[Design], Desk],
) -> None:
    wing = Wing("wing", (Station(0, 250, 200, 70), Station(500, 250, 200, 70)))
    d = desk(laden(wings=(wing,)))
    # Heights: (300·5 + 100·0)/400 = 3.75, the mark at 10 mm: 6.25 below, which rounds to 6.2.
    assert d.panel.difference.text() == "The weights balance 142.5 mm ahead of the mark, 6.2 mm below it."
    # 1000 × 200 mm = 20 dm²; 400 g.
    assert (d.figure("mass"), d.figure("balance"), d.figure("loading")) == ("400 g", "157.5 mm", "20.0 g/dm²")
    d.document.apply("units", lambda design: replace(design, display_units="in"))
    # 400 g = 14.1 oz on 1000 × 200 mm = 2.153 sq ft.
    assert d.figure("mass") == "14.1 oz"
    assert d.figure("loading") == f"{400 / 28.349523125 / 2.1527821:.1f} oz/sq ft"
    assert d.cell(0, GRAMS) == "10.6" and d.cell(0, X) == "7.87"
    assert d.panel.model.headerData(GRAMS, Qt.Orientation.Horizontal) == "oz"
    d.document.apply("no wing", lambda design: replace(design, wings=(), cg_mark=Mark(157.5, 3.75)))
    assert d.figure("loading") == "enter the wing"
    assert d.panel.difference.text() == "The weights balance at the mark."
    d.document.apply("behind", lambda design: replace(design, cg_mark=Mark(57.5, 3.75), display_units="mm"))
    assert d.panel.difference.text() == "The weights balance 100.0 mm behind the mark."
    d.document.apply("none", lambda design: replace(design, cg_mark=None))
    assert "Mark the CG" in d.panel.difference.text()


def test_while_nothing_weighs_there_is_one_line_and_the_button(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden(weights=()))
    assert d.panel.first_button.isVisible() and not d.panel.table.isVisible() and not d.panel.lead.isVisible()
    QTest.mouseClick(d.panel.first_button, Qt.MouseButton.LeftButton)
    made = d.design.weights[0]
    # At the CG mark, and weighing nothing: what was there is as it was.
    assert (made.label, made.grams, made.x) == ("Weight", 0.0, 300.0)
    assert d.panel.table.isVisible() and not d.panel.first_button.isVisible()
    (field,) = d.editors()
    QTest.keyClicks(field, "Receiver")
    d.press(field, Key.Key_Return)
    assert d.design.weights[0].label == "Receiver"
    assert d.document.undo_name == "rename weight"
    d.document.undo()
    d.document.undo()
    assert d.panel.first_button.isVisible() and not d.document.undo_name


def test_without_weights_a_cg_from_the_weights_can_still_be_left(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden(weights=(), cg_from="weights"))
    assert d.panel.choices["mark"].isVisible()
    assert d.panel.difference.text() == "Enter what the aeroplane carries."
    QTest.mouseClick(d.panel.choices["mark"], Qt.MouseButton.LeftButton)
    assert d.design.cg_from == "mark" and d.panel.first_button.isVisible()


def test_a_scan_without_scale_keeps_the_stations_from_being_believed(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden(scans=(Scan("plan", "plan.png", scale_from="none"),)))
    assert d.panel.difference.text() == "Stations mean nothing until the scan has its scale."
    assert d.figure("mass") == "400 g" and d.figure("balance") == "–" and d.figure("loading") == "–"
    assert not d.panel.lead.button.isEnabled()


# Typing


@pytest.mark.parametrize(("column", "text", "field", "value", "name"), [
    (GRAMS, "185", "grams", 185.0, "set battery mass"),
    (GRAMS, "6.5 oz", "grams", 6.5 * 28.349523125, "set battery mass"),
    (GRAMS, "1.2 kg", "grams", 1200.0, "set battery mass"),
    (X, "95.5", "x", 95.5, "set battery station"),
    (X, "3 3/32 in", "x", 25.4 * (3 + 3 / 32), "set battery station"),
    (Z, "-12", "z", -12.0, "set battery height"),
    (LABEL, "LiPo", "label", "LiPo", "rename battery"),
])
def test_a_cell_typed_over_is_one_step_of_undo(
    desk: Callable[[Design], Desk], column: int, text: str, field: str, value: object, name: str
) -> None:
    d = desk(laden())
    d.type(0, column, text)
    expected = pytest.approx(value) if isinstance(value, float) else value
    assert getattr(d.design.weights[0], field) == expected and d.design.weights[1] == MOTOR
    assert d.document.undo_name == name and not d.editors()
    d.document.undo()
    assert d.design.weights == (BATTERY, MOTOR) and d.document.undo_name is None
    assert d.cell(0, column) == ("Battery", "300", "200.0", "5.0")[column]


def test_a_bare_number_is_ounces_and_inches_where_lengths_are_inches(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden(display_units="in64"))
    d.type(0, GRAMS, "10")
    d.type(0, X, "5 1/2")
    assert d.design.weights[0].grams == pytest.approx(283.49523125)
    assert d.design.weights[0].x == pytest.approx(139.7)
    assert d.cell(0, GRAMS) == "10.0" and d.cell(0, X) == "5 1/2"


@pytest.mark.parametrize(("column", "text", "words"), [
    (GRAMS, "heavy", "is not a mass"), (GRAMS, "-5", "less than nothing"), (X, "12 oz", "unknown unit"),
    (Z, "", "No length"),
])
def test_what_cannot_be_taken_says_a_sentence_and_loses_nothing(
    desk: Callable[[Design], Desk], column: int, text: str, words: str
) -> None:
    d = desk(laden())
    field = d.open(0, column)
    field.selectAll()
    d.press(field, Key.Key_Delete)
    QTest.keyClicks(field, text)
    d.press(field, Key.Key_Return)
    assert len(d.said) == 1 and words in d.said[0]
    assert d.design.weights == (BATTERY, MOTOR) and d.document.undo_name is None
    # What was typed is still there to be mended.
    assert d.editors() == [field] and field.text() == text
    QTest.keyClicks(field, "7")
    d.press(field, Key.Key_Return)
    assert not d.editors() and d.document.undo_name is not None


def test_escape_leaves_the_cell_as_it_was_and_an_untouched_one_is_no_edit(
    desk: Callable[[Design], Desk],
) -> None:
    rough = replace(BATTERY, x=200.0432, grams=300.4)
    d = desk(laden(weights=(rough, MOTOR)))
    field = d.open(0, X)
    QTest.keyClicks(field, "1")
    d.press(field, Key.Key_Escape)
    d.open(0, GRAMS)
    d.press(d.editors()[0], Key.Key_Return)
    d.type(0, X, "200.0")
    assert d.design.weights == (rough, MOTOR) and d.document.undo_name is None and not d.said


def test_tab_goes_on_to_the_next_cell_and_letters_begin_to_type(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    d.type(0, GRAMS, "250", Key.Key_Tab)
    (field,) = d.editors()
    QTest.keyClicks(field, "190")
    d.press(field, Key.Key_Return)
    assert (d.design.weights[0].grams, d.design.weights[0].x) == (250, 190)
    d.panel.table.setCurrentIndex(d.panel.model.index(1, LABEL))
    d.panel.table.setFocus()
    QTest.keyClick(d.panel.table, Key.Key_E)
    (field,) = d.editors()
    assert field.text().casefold() == "e"


def test_a_cell_in_use_is_not_overwritten_by_a_drag_elsewhere(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    field = d.open(0, X)
    field.selectAll()
    QTest.keyClicks(field, "77")
    d.document.begin("move motor")
    d.document.preview(replace(d.design, weights=(BATTERY, replace(MOTOR, x=44.0))))
    assert field.text() == "77" and d.editors() == [field]
    assert d.cell(1, X) == "44.0" and d.figure("balance") == "161.0 mm"
    d.document.commit()
    d.press(field, Key.Key_Return)
    assert [w.x for w in d.design.weights] == [77.0, 44.0]


def test_sideways_is_shown_when_asked_for_and_can_be_typed(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    assert d.panel.table.isColumnHidden(Y) and not d.panel.table.isColumnHidden(Z)
    d.panel.sideways.click()
    assert not d.panel.table.isColumnHidden(Y)
    d.type(0, Y, "-150")
    assert d.design.weights[0].y == -150 and d.document.undo_name == "set battery offset"
    d.panel.buttons["duplicate"].click()
    assert [w.y for w in d.design.weights] == [-150, 150, 0]
    # No room for all the columns at this width; with more there is.
    assert d.panel.table.isColumnHidden(Z)
    d.panel.resize(360, 700)
    assert not d.panel.table.isColumnHidden(Z)
    d.panel.sideways.click()
    assert d.panel.table.isColumnHidden(Y)


# Rows


def test_rows_are_added_duplicated_and_deleted_one_step_each(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    d.panel.buttons["add"].click()
    d.press(d.editors()[0], Key.Key_Escape)
    assert d.document.undo_name == "add weight" and d.picked.now.weight == "weight"
    d.picked.set(Selection(weight="battery"))
    assert d.panel.table.currentIndex().row() == 0
    d.panel.buttons["duplicate"].click()
    assert d.document.undo_name == "duplicate battery" and d.picked.now.weight == "battery-2"
    assert [w.id for w in d.design.weights] == ["battery", "battery-2", "motor", "weight"]
    d.panel.table.setFocus()
    QTest.keyClick(d.panel.table, Key.Key_Delete)
    assert [w.id for w in d.design.weights] == ["battery", "motor", "weight"]
    assert d.document.undo_name == "delete battery"
    assert d.picked.now == Selection() and not d.panel.buttons["remove"].isEnabled()
    for _ in range(3):
        d.document.undo()
    assert d.design == laden() and d.document.undo_name is None


def test_a_row_and_the_mark_on_the_canvas_are_selected_together(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    d.panel.table.setCurrentIndex(d.panel.model.index(1, GRAMS))
    assert d.picked.now == Selection(weight="motor")
    d.picked.set(Selection(weight="battery"))
    assert [i.row() for i in d.panel.table.selectionModel().selectedRows()] == [0]
    d.picked.set(Selection(("fin",)))
    assert not d.panel.table.selectionModel().hasSelection()
    d.panel.table.setCurrentIndex(d.panel.model.index(0, GRAMS))
    assert d.picked.now == Selection(weight="battery")


# Where the CG comes from


def test_the_cg_is_taken_from_the_weights_and_back_from_the_mark(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden())
    assert d.panel.choices["mark"].isChecked() and d.readout.readings.value("cg_x") == 300
    QTest.mouseClick(d.panel.choices["weights"], Qt.MouseButton.LeftButton)
    assert d.design.cg_from == "weights" and d.readout.readings.value("cg_x") == pytest.approx(157.5)
    assert d.document.undo_name == "take CG from the weights"
    d.document.undo()
    assert d.panel.choices["mark"].isChecked() and not d.panel.choices["weights"].isChecked()
