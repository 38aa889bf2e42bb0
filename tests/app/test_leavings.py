"""The guard that finds what a test leaves behind does find it."""

from __future__ import annotations

import logging
import threading
from pathlib import Path

import pytest
from driving import Driver, bare_sample
from leavings import Leavings
from PySide6.QtCore import QLockFile, QTimer
from PySide6.QtWidgets import QApplication, QLabel

from app.kit.theme import DAY, NIGHT
from app.side.curves_window import CurvesWindow

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


def test_each_kind_of_thing_is_found(qapp: QApplication, own_home: Path) -> None:
    before = Leavings.now(())
    assert before.left((own_home,), ()) == []
    go_on = threading.Event()
    thread = threading.Thread(target=go_on.wait, name="idle")
    thread.start()
    lock = QLockFile(str(own_home / "design.lock"))
    assert lock.tryLock(0)
    label = QLabel()
    label.setWindowTitle("stray")
    label.show()
    timer = QTimer(qapp)
    timer.start(100_000)
    handler = logging.NullHandler()
    logging.getLogger("sternpost").addHandler(handler)
    try:
        found = before.left((own_home,), ())
        assert len(found) == 5
        for words in ("thread idle", "lock design.lock", "window QLabel 'stray'", "1 timers", "handlers"):
            assert any(one.startswith(words) for one in found), (words, found)
    finally:
        go_on.set()
        thread.join()
        lock.unlock()
        label.close()
        timer.stop()
        timer.deleteLater()
        logging.getLogger("sternpost").removeHandler(handler)
    assert before.left((own_home,), ()) == []


def test_a_window_beside_the_shared_one_is_found_with_its_thread_and_its_ears(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    before = Leavings.now((driver.window,))
    beside = CurvesWindow(driver.window.beside)
    beside.show()
    driver.until(lambda: beside.data is not None)
    found = before.left((), (driver.window,))
    for words in ("thread curves", "window CurvesWindow 'Curves'", "listener CurvesWindow._changed"):
        assert any(one.startswith(words) for one in found), (words, found)
    beside.close()
    assert before.left((), (driver.window,)) == []


def test_other_colours_than_the_window_s_are_found(driver: Driver) -> None:
    window = driver.window
    before = Leavings.now((window,))
    window.strip.set_theme(DAY if window.theme is NIGHT else NIGHT)
    assert before.left((), (window,)) == ["colours of HandStrip"]
    window.strip.set_theme(window.theme)
    window.set_theme("night")
    assert before.left((), (window,)) == ["colours of the window"]
    window.set_theme("system")
    assert before.left((), (window,)) == []
