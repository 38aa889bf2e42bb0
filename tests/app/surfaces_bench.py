"""The panel of wings and tailplanes alone, with a document under it."""

from __future__ import annotations

from driving import CTRL, LEFT
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from app.kit.theme import DAY, style_sheet
from app.panels.surfaces import SurfacesPanel
from app.window.window import application
from app.work.document import Document
from app.work.readout import Readout
from core.design import EMPTY, Design, Section, Station, Tailplane, Wing
from core.redesign.surface_edits import Measure

WING = Wing("wing", (Station(0, 250, 220, 70), Station(660, 262, 190, 105)), "Wing", 2.0, Section(0.12, 0.03))
TAIL = Tailplane("tailplane", (Station(0, 800, 130, 40), Station(230, 815, 100, 40)), "Tailplane", -1.0)
BOTH = replace(EMPTY, wings=(WING,), tailplanes=(TAIL,))


class Bench:
    """The panel alone, with a document under it."""

    def __init__(self, qtbot: QtBot, design: Design, width: int = 260) -> None:
        application()
        self.document = Document(design)
        self.readout = Readout(self.document)
        self.said: list[str] = []
        self.panel = SurfacesPanel(self.document, self.readout, DAY, self.said.append)
        self.panel.setStyleSheet(style_sheet(DAY))
        self.panel.resize(width, 1100)
        qtbot.addWidget(self.panel)
        self.panel.show()
        # Without the focus of a window its fields never learn that they are in use.
        self.panel.activateWindow()
        qtbot.waitUntil(self.panel.isActiveWindow)

    @property
    def wing(self) -> Wing:
        return self.document.design.wings[0]

    def field(self, key: Measure) -> QLineEdit:
        return self.panel.form.fields[key]

    def type(self, field: QWidget, text: str, end: Qt.Key = Qt.Key.Key_Return) -> None:
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_A, CTRL)
        QTest.keyClicks(field, text)
        QTest.keyClick(field, end)

    def press(self, button: QToolButton) -> None:
        QTest.mouseClick(button, LEFT)
        QApplication.processEvents()

    def cell(self, row: int, column: int, text: str) -> None:
        """Go to a cell by arrow keys and type into it."""
        view = self.panel.form.table.view
        view.setFocus()
        view.setCurrentIndex(view.model().index(row, column))
        QTest.keyClick(view, Qt.Key.Key_F2)
        editor = QApplication.focusWidget()
        assert isinstance(editor, QLineEdit)
        QTest.keyClick(editor, Qt.Key.Key_A, CTRL)
        QTest.keyClicks(editor, text)
        QTest.keyClick(editor, Qt.Key.Key_Return)
        QApplication.processEvents()
