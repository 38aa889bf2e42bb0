"""What is typed into a box for a count is taken whole or refused with a sentence."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from app.kit.count_box import CountBox


@pytest.mark.parametrize("end", [Qt.Key.Key_Return, Qt.Key.Key_Tab])
@pytest.mark.parametrize("typed", ["360", "5 ft 6 in", "two", "2.5", "-1", "9", "0"])
def test_what_is_no_count_leaves_the_count_as_it_was(qtbot: QtBot, typed: str, end: Qt.Key) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    box, told, said = CountBox(), [], []
    box.setParent(window)
    QLineEdit(window).move(0, 60)
    box.setRange(1, 8)
    box.setPrefix("× ")
    box.setValue(2)
    box.valueChanged.connect(told.append)
    box.refused.connect(said.append)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, typed)
    QTest.keyClick(box, end)
    assert box.value() == 2 and told == [] and box.text() == "× 2"
    assert said == [f"“{typed}” is no whole number from 1 to 8; it stays as it was"]


def test_a_count_is_taken_once_it_is_entered(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    box, told, said = CountBox(), [], []
    box.setParent(window)
    box.setRange(1, 8)
    box.valueChanged.connect(told.append)
    box.refused.connect(said.append)
    window.show()
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, "4")
    assert told == []
    QTest.keyClick(box, Qt.Key.Key_Return)
    QTest.keyClick(box, Qt.Key.Key_Up)
    assert told == [4, 5] and said == []
