"""A window to drive, for the tests that drive one."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from driving import Boxes, Driver
from pytestqt.qtbot import QtBot

from app.window import Window, application
from core.design import EMPTY


@pytest.fixture
def boxes(qapp: object) -> Iterator[Boxes]:
    """Message boxes are answered as the test says; any other fails it."""
    answering = Boxes()
    yield answering
    answering.stop()
    assert not answering.unexpected, answering.unexpected
    assert not answering.waiting, "a box that was to be answered never came"


@pytest.fixture
def new_window(qtbot: QtBot, boxes: Boxes) -> Iterator[Callable[[], Driver]]:
    """Opens windows as ``run`` does, and puts them away."""
    application()
    made: list[Window] = []

    def make() -> Driver:
        window = Window()
        made.append(window)
        window.resize(1360, 820)
        window.show()
        qtbot.waitExposed(window)
        window.activateWindow()
        qtbot.waitUntil(lambda: window.area_band is not None, timeout=15_000)
        return Driver(window, qtbot, boxes)

    yield make
    for window in made:
        window.canvas.hand.leave()
        # Nothing unsaved is left to be asked about.
        window.document.start(EMPTY)
        window.close()
        window.deleteLater()


@pytest.fixture
def driver(new_window: Callable[[], Driver]) -> Driver:
    """One window."""
    return new_window()
