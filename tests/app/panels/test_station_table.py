"""The table of panels and stations under the form of a wing, driven by keys."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from driving import LEFT, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot
from surfaces_bench import BOTH, WING, Bench

from core.design import EMPTY, Station

Make = Callable[..., Bench]


@pytest.fixture
def bench(qtbot: QtBot) -> Make:
    return lambda design=BOTH, width=260: Bench(qtbot, design, width)


def test_a_wing_becomes_polyhedral_panel_by_panel(bench: Make) -> None:
    b = bench()
    table = b.panel.form.table
    assert table.model.rowCount() == 1
    b.press(table.buttons["insert"])
    assert (b.document.undo_name, len(b.wing.stations)) == ("insert wing station", 3)
    b.cell(0, 0, "400")
    assert b.document.undo_name == "set wing panel span"
    b.cell(1, 3, "8")
    b.cell(1, 1, "6 in")
    root, middle, tip = b.wing.stations
    assert middle.y == 400
    assert tip.z - middle.z == pytest.approx((tip.y - middle.y) * math.tan(math.radians(8)))
    assert tip.chord == pytest.approx(6 * 25.4)
    b.press(table.buttons["add"])
    assert len(b.wing.stations) == 4
    b.press(table.buttons["delete"])
    assert b.wing.stations == (root, middle, tip)


def test_station_by_station(bench: Make) -> None:
    b = bench(bare_sample("long-meadow-2000"))
    table, before = b.panel.form.table, b.wing.stations
    QTest.mouseClick(table._ways["stations"], LEFT)
    assert table.model.rowCount() == len(before) == 5
    b.cell(2, 2, "170")
    assert b.wing.stations[2] == replace(before[2], chord=170.0)
    assert b.document.undo_name == "set wing station chord"
    b.cell(2, 0, "2000")
    assert "change places" in b.said[-1]
    b.cell(2, 0, "wide")
    assert "is not a length" in b.said[-1]
    assert b.wing.stations[2].y == before[2].y
    table.view.setCurrentIndex(table.model.index(0, 0))
    b.press(table.buttons["delete"])
    assert "has to stay" in b.said[-1]
    assert len(b.wing.stations) == 5


def test_looking_into_a_cell_rounds_nothing(bench: Make) -> None:
    odd = replace(WING, stations=(Station(0, 250, 220), Station(660.0371, 262, 190)))
    b = bench(replace(EMPTY, wings=(odd,)))
    view = b.panel.form.table.view
    view.setFocus()
    view.setCurrentIndex(view.model().index(0, 0))
    QTest.keyClick(view, Qt.Key.Key_F2)
    editor = QApplication.focusWidget()
    assert isinstance(editor, QLineEdit)
    QTest.keyClick(editor, Qt.Key.Key_Return)
    assert b.wing.stations[1].y == 660.0371
    assert b.document.undo_name is None


def test_simple_measures_of_many_stations_say_what_they_do(bench: Make) -> None:
    b = bench(bare_sample("tallow-twin"))
    assert "All panels widen alike" in b.field("span").toolTip()
    b.type(b.field("span"), "1500")
    assert len(b.wing.stations) == 4
    assert b.wing.stations[-1].y == 750
