"""The weights on the real canvas."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from plain_bench import box
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from weights_desk import BATTERY, MOTOR

from app.canvas.canvas import Canvas
from app.kit.theme import NIGHT
from app.scans.shelf import Shelf
from app.work.document import Document
from app.work.readout import Readout
from app.work.selection import Picked
from core.design import EMPTY

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

def test_the_canvas_shows_the_weights_where_they_are_worked_on(qtbot: QtBot) -> None:
    fuselage = box("fuselage", "fuselage", 0, -50, 800, 50)
    design = replace(EMPTY, outlines=(fuselage,), weights=(BATTERY, MOTOR))
    document, picked = Document(design), Picked()
    readout = Readout(document)
    shelf = Shelf(None)
    canvas = Canvas(document, readout, picked, shelf, NIGHT)
    qtbot.addWidget(canvas)
    canvas.resize(800, 400)
    canvas.show()
    qtbot.waitExposed(canvas)
    canvas.fit()

    def seen() -> bytes:
        QApplication.processEvents()
        picture = canvas.grab().toImage()
        return bytes(picture.constBits())

    assert not canvas.show_weights
    canvas.take_hand("trace")
    plain = seen()
    canvas.take_hand("edit")
    quiet = seen()
    canvas.show_weights = True
    worked_on = seen()
    assert len({plain, quiet, worked_on}) == 3
    canvas.take_hand("trace")
    assert seen() not in (plain, quiet)
    canvas.take_hand("edit")
    px, py = canvas.view.to_px(BATTERY.x, BATTERY.z)
    start = QPoint(round(px), round(py))
    left, plainly = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    QTest.mousePress(canvas, left, plainly, start)
    for step in (4, 9, 15):
        QTest.mouseMove(canvas, start + QPoint(step, 0))
    assert document.busy
    QTest.mouseRelease(canvas, left, plainly, start + QPoint(15, 0))
    moved = document.design.weights[0]
    assert moved.x == pytest.approx(BATTERY.x + 15 / canvas.view.scale)
    assert moved.z == pytest.approx(BATTERY.z)
    assert document.undo_name == "move battery"
    shelf.stop()
