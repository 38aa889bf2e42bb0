"""Reading and writing files beside the drawing thread, while the window waits but stays alive.

A slow stick or a network drive may take seconds. Until then the window keeps painting; after a
moment it says what it waits for.
"""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import TypeVar

from PySide6.QtCore import QEventLoop, QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QProgressDialog, QWidget

from app.kit.plain import plain

PATIENCE_MS = 400
"""After so long the window says that it waits."""

T = TypeVar("T")


class _Ended(QObject):
    ended = Signal()


def run_beside(window: QWidget, words: str, job: Callable[[], T]) -> T:
    """What ``job`` returns or raises, run in a thread of its own; call it from the drawing thread.

    Mouse and keys are held back meanwhile, so that nothing is edited between the asking and the
    doing; ``words`` say what is waited for.
    """
    result: list[T] = []
    faults: list[BaseException] = []
    told = _Ended()
    loop = QEventLoop()
    told.ended.connect(loop.quit, Qt.ConnectionType.QueuedConnection)

    def work() -> None:
        try:
            result.append(job())
        except BaseException as error:
            faults.append(error)
        told.ended.emit()

    thread = Thread(target=work, name="beside")
    thread.start()
    # Most files are written before anybody could notice.
    thread.join(0.03)
    if thread.is_alive():
        _wait(window, words, loop)
    thread.join()
    if faults:
        raise faults[0]
    return result[0]


def _wait(window: QWidget, words: str, loop: QEventLoop) -> None:
    dialog: list[QProgressDialog] = []

    def say() -> None:
        shown = QProgressDialog(plain(words), "", 0, 0, window)
        shown.setCancelButton(None)
        shown.setWindowTitle("Sternpost")
        shown.setWindowModality(Qt.WindowModality.ApplicationModal)
        shown.setMinimumDuration(0)
        shown.show()
        dialog.append(shown)

    timer = QTimer()
    timer.setSingleShot(True)
    timer.timeout.connect(say)
    timer.start(PATIENCE_MS)
    loop.exec(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
    timer.stop()
    for shown in dialog:
        shown.close()
        shown.deleteLater()
