"""A panel of weights with a document under it, and a person who types into it."""

from __future__ import annotations

from msgspec.structs import replace
from plain_bench import small_aeroplane
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.kit.theme import DAY
from app.panels.weights import WeightsPanel
from app.work.document import Document
from app.work.readout import Readout
from app.work.selection import Picked
from core.design import Design, Weight

BATTERY = Weight("battery", 300, 200, 0, 5, "Battery")
MOTOR = Weight("motor", 100, 30, 0, 0, "Motor")
Key = Qt.Key


def laden(**more: object) -> Design:
    """400 g that balance at (300·200 + 100·30)/400 = 157.5 mm, the mark at 300 mm."""
    return replace(small_aeroplane(), **{"scans": (), "weights": (BATTERY, MOTOR), **more})


class Desk:
    """A panel with a document under it, and a person who types."""

    def __init__(self, qtbot: QtBot, design: Design) -> None:
        self.document, self.picked, self.said = Document(design), Picked(), list[str]()
        self.readout = Readout(self.document)
        self.document.listen(lambda _: self.picked.set(self.picked.now.within(self.document.design)))
        self.panel = WeightsPanel(self.document, self.readout, self.picked, DAY, self.said.append)
        qtbot.addWidget(self.panel)
        self.panel.resize(272, 700)
        self.panel.show()
        qtbot.waitExposed(self.panel)
        self.panel.activateWindow()
        QApplication.processEvents()

    @property
    def design(self) -> Design:
        return self.document.design

    def cell(self, row: int, column: int) -> str:
        return str(self.panel.model.index(row, column).data())

    def open(self, row: int, column: int) -> QLineEdit:
        index = self.panel.model.index(row, column)
        self.panel.table.setCurrentIndex(index)
        self.panel.table.edit(index)
        fields = self.editors()
        assert len(fields) == 1
        return fields[0]

    def editors(self) -> list[QLineEdit]:
        QApplication.processEvents()
        return [f for f in self.panel.table.viewport().findChildren(QLineEdit) if f.isVisible()]

    def type(self, row: int, column: int, text: str, key: Qt.Key = Key.Key_Return) -> None:
        field = self.open(row, column)
        field.selectAll()
        QTest.keyClicks(field, text)
        self.press(field, key)

    @staticmethod
    def press(field: QLineEdit, key: Qt.Key) -> None:
        """A key in a cell's field; the table takes what stands there a moment later."""
        QTest.keyClick(field, key)
        QApplication.processEvents()

    def enter(self, key: str, text: str) -> None:
        """Type into a field of the lead."""
        enter(self.panel.lead._fields[key], text)

    def figure(self, key: str) -> str:
        return self.panel.figures[key].text()


def enter(field: QLineEdit, text: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClick(field, Key.Key_Delete)
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Key.Key_Return)
