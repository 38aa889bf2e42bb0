"""The Qt release in use must not lose references to None.

PySide6 6.12.0 does so on Python 3.10 and 3.11 with every call that returns nothing, and aborts the
process after some thousands of them. Measured, not published.
"""

from __future__ import annotations

import sys

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

CALLS = 1000


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None has no count of references from 3.12 on")
def test_calls_that_return_nothing_leave_none_alone(qtbot: QtBot) -> None:
    label = QLabel()
    qtbot.addWidget(label)
    texts = [str(i) for i in range(CALLS)]
    before = sys.getrefcount(None)
    for text in texts:
        label.setText(text)
    after = sys.getrefcount(None)
    assert label.text() == texts[-1]
    # Python itself takes and gives back a few meanwhile; the fault loses one with every call.
    assert abs(after - before) < CALLS // 20


def test_the_release_that_is_known_to_fail_is_not_installed() -> None:
    import PySide6

    assert PySide6.__version_info__[:3] != (6, 12, 0)
