"""Every step of the random walks can be done, is checked, and leaves nothing behind; short walks.

The steps stand in ``tests/endurance``; ``walking.py`` there goes ten thousand of them, and
``machine.py`` lets Hypothesis draw more and longer walks than are drawn here.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from PySide6.QtWidgets import QDialog, QMenu
from pytestqt.qtbot import QtBot

sys.path.append(str(Path(__file__).resolve().parents[2] / "endurance"))
from desk import Desk, shown_window
from machine import QUICK, walks
from walking import Walk

from app.window.window import Window
from core.design import EMPTY

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")


@pytest.fixture
def window(qtbot: QtBot, own_home: Path) -> Iterator[Window]:
    made = shown_window()
    yield made
    made.side.close()
    made.canvas.hand.leave()
    made.document.start(EMPTY)
    made.close()
    made.deleteLater()


def test_whatever_is_done_everything_holds(window: Window, tmp_path: Path) -> None:
    walks(window, tmp_path, examples=4, steps=15)


def test_every_step_can_be_done(window: Window, tmp_path: Path) -> None:
    desk = Desk(window, tmp_path)
    try:
        walk = Walk(desk, scans=False)
        for name in QUICK:
            walk.do(name, Random(name))
        walk.end()
    finally:
        desk.leave()
    assert not desk.faults, desk.faults


def test_windows_and_boxes_leave_nothing_behind(window: Window, tmp_path: Path) -> None:
    desk = Desk(window, tmp_path)

    def held() -> tuple[int, int, int]:
        desk.settle()
        listeners = len(window.document._listeners) + len(window.readout._listeners)
        return listeners, len(window.findChildren(QDialog)), len(window.findChildren(QMenu))

    try:
        walk = Walk(desk, scans=False)
        walk.holding.stop()
        before = held()
        for name in ("plug", "bench", "title and notes", "right button", "kept states", "save", "revert"):
            for turn in range(4):
                walk.do(name, Random(f"{name} {turn}"))
        window.side.close()
        assert held() == before
    finally:
        desk.leave()
    assert not desk.faults, desk.faults
