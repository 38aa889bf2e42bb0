"""Paper and ticks of a window that makes sheets are those of the last time, each window's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import cast

import pytest
from driving import LEFT, Driver, bare_sample
from PySide6.QtCore import QPoint, QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QComboBox

from app.side.card_window import FIT, CardWindow
from app.side.dimensioned_window import DimensionedWindow
from app.side.setting_up_window import SettingUpWindow
from app.side.sheet_window import SheetWindow
from app.side.side_window import SideWindow

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")


@pytest.fixture
def marsh(driver: Driver) -> Iterator[Driver]:
    driver.open_outlines(bare_sample())
    yield driver
    driver.window.side.close()
    driver.settle()
    QSettings().remove("sheets")


def step(box: QComboBox, by: int) -> None:
    """With the arrow keys, as the builder does."""
    box.setFocus()
    for _ in range(abs(by)):
        QTest.keyClick(box, Qt.Key.Key_Down if by > 0 else Qt.Key.Key_Up)


def tick(box: QCheckBox) -> None:
    QTest.mouseClick(box, LEFT, pos=QPoint(8, box.height() // 2))


def reopened(driver: Driver, name: str) -> SideWindow:
    driver.window.side.show(name).close()
    driver.settle()
    return driver.window.side.show(name)


Papers = Callable[[SideWindow], QComboBox]
PAPERS: dict[str, Papers] = {
    "bench-sheet": lambda w: cast(SheetWindow, w).paper, "gauges": lambda w: cast(SheetWindow, w).paper,
    "parts-sheet": lambda w: cast(SheetWindow, w).paper, "dimensioned": lambda w: cast(SheetWindow, w).paper,
    "setting-up": lambda w: cast(SettingUpWindow, w).paper, "card": lambda w: cast(CardWindow, w).paper,
}


@pytest.mark.parametrize("name", PAPERS)
def test_the_paper_is_that_of_the_last_time(marsh: Driver, name: str) -> None:
    paper = PAPERS[name](marsh.window.side.show(name))
    before = paper.currentData()
    step(paper, 1 if paper.currentIndex() + 1 < paper.count() else -1)
    chosen = paper.currentData()
    assert chosen != before
    assert PAPERS[name](reopened(marsh, name)).currentData() == chosen
    other = "gauges" if name == "bench-sheet" else "bench-sheet"
    assert PAPERS[other](marsh.window.side.show(other)).currentData() == before


def test_ticks_and_the_scale_are_those_of_the_last_time(marsh: Driver) -> None:
    dimensioned = cast(DimensionedWindow, marsh.window.side.show("dimensioned"))
    assert not dimensioned.full_size.isChecked()
    tick(dimensioned.full_size)
    assert cast(DimensionedWindow, reopened(marsh, "dimensioned")).full_size.isChecked()
    card = cast(CardWindow, marsh.window.side.show("card"))
    assert card.scale.currentText() == FIT and not card.tiled.isChecked()
    tick(card.tiled)
    line = card.scale.lineEdit()
    assert line is not None
    line.selectAll()
    QTest.keyClicks(line, "1:3.7")
    QTest.keyClick(line, Qt.Key.Key_Return)
    again = cast(CardWindow, reopened(marsh, "card"))
    assert again.tiled.isChecked() and again.scale.currentText() == "1:3.7"


def test_what_is_no_longer_offered_changes_nothing(marsh: Driver) -> None:
    QSettings().setValue("sheets/bench sheet/paper", "papyrus")
    paper = PAPERS["bench-sheet"](marsh.window.side.show("bench-sheet"))
    assert paper.currentData() in ("a4", "letter")
