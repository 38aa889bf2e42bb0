"""Whatever way a window beside the window is left, nothing of it runs or listens any more."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from driving import Driver, bare_sample
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.kit.worker import Worker
from app.side.side_window import SideWindow

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
WINDOWS = (
    "plug", "refit", "compare", "curves", "slip", "gust", "template", "setting-up", "card", "parts",
    "parts-sheet", "dimensioned", "gauges", "bench-sheet",
)
WAYS: dict[str, Callable[[SideWindow], object]] = {
    "closed": lambda w: w.close(),
    "refused": lambda w: w.reject(),
    "left by the program": lambda w: w.leave(),
}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", WINDOWS)
def test_nothing_of_a_window_that_was_left_runs_or_listens(driver: Driver, name: str, way: str) -> None:
    driver.open_outlines(bare_sample())
    tellers = (driver.window.document, driver.window.readout)
    before = [len(teller._listeners) for teller in tellers]
    window = driver.window.side.show(name)
    assert [len(teller._listeners) for teller in tellers] != before
    timers, workers = window.findChildren(QTimer), window.findChildren(Worker)
    for timer in timers:
        timer.start()
    WAYS[way](window)
    assert not any(timer.isActive() for timer in timers)
    assert all(worker._threads is None and not worker.busy for worker in workers)
    assert [len(teller._listeners) for teller in tellers] == before
    window.close()
    QApplication.processEvents()
