"""Windows to drive, for the tests that drive them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from driving import Boxes, Driver
from leavings import Leavings
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.window.window import Window, application
from app.work.selection import NOTHING
from core.design import EMPTY

_kept: list[Window] = []
"""The window that tests share, once there is one."""
_BEFORE = pytest.StashKey[Leavings]()


@pytest.fixture(scope="session")
def qapp() -> QApplication:
    """The program's own application object: where its data lie depends on the name it bears."""
    return application()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> Iterator[None]:
    """Remembers how things stand before the test and its fixtures begin."""
    item.stash[_BEFORE] = Leavings.now(_kept)
    yield


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_teardown(item: pytest.Item) -> Iterator[None]:
    """Fails the test after which something is there that was not there before it."""
    home = getattr(item, "funcargs", {}).get("own_home")
    homes = () if home is None else (home,)
    yield
    left = item.stash[_BEFORE].left(homes, _kept)
    assert not left, f"left behind: {', '.join(left)}"


@pytest.fixture
def boxes(qapp: object) -> Iterator[Boxes]:
    """Message boxes are answered as the test says; any other fails it."""
    answering = Boxes()
    yield answering
    answering.stop()
    assert not answering.unexpected, answering.unexpected
    assert not answering.waiting, "a box that was to be answered never came"


def _shown(qtbot: QtBot) -> Window:
    application()
    window = Window()
    window.resize(1560, 820)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    qtbot.waitUntil(lambda: window.area_band is not None, timeout=60_000)
    return window


def _put_away(window: Window) -> None:
    window.canvas.hand.leave()
    # Nothing unsaved is left to be asked about.
    window.document.start(EMPTY)
    window.close()
    window.deleteLater()


@pytest.fixture
def new_window(qtbot: QtBot, boxes: Boxes, own_home: Path) -> Iterator[Callable[[], Driver]]:
    """Opens windows as ``run`` does, and puts them away."""
    made: list[Window] = []

    def make() -> Driver:
        made.append(_shown(qtbot))
        return Driver(made[-1], qtbot, boxes)

    yield make
    for window in made:
        _put_away(window)


@pytest.fixture(scope="session")
def _kept_open() -> Iterator[list[Window]]:
    yield _kept
    for window in _kept:
        _put_away(window)
    _kept.clear()


def _cleared(window: Window) -> None:
    """As it is when it has just been opened."""
    window.filing.cancel()
    window.canvas.hand.leave()
    window.canvas.take_hand("edit")
    window._begun_blank = False
    window.document.start(EMPTY)
    window.picked.set(NOTHING)
    window.strip.say("")
    window.strip.distance.clear()
    window.tabs.setCurrentIndex(0)
    QGuiApplication.clipboard().clear()
    window.room.forget()
    window.resize(1560, 820)


@pytest.fixture
def driver(
    _kept_open: list[Window], qtbot: QtBot, boxes: Boxes, own_home: Path
) -> Iterator[Driver]:
    """The one window that tests share, as it is when it has just been opened: making one takes 0.4 s."""
    # Not made by the session's own fixture: that one runs before there is a home of its own.
    if not _kept_open:
        _kept_open.append(_shown(qtbot))
    for group in _kept_open[0].readings.groups.values():
        # What another test opened or folded.
        group.heading.setChecked(False)
    (window,) = _kept_open
    _cleared(window)
    window.activateWindow()
    driver = Driver(window, qtbot, boxes)
    driver.settle()
    window.canvas.setFocus()
    yield driver
    _cleared(window)
    window.keeper.recovery.flush()
    # What it was at is dropped, and begun anew when the next test asks for it.
    window.filing.stop()
    window.canvas.ink.stop()
    window.recounter.stop()
    window.counting.stop()
    window.shelf.stop()
