"""The real window and the hand on its mouse, without pytest: for runs of many thousand gestures.

Places are in mm and go to the nearest pixel, as a mouse does. Boxes that come up are answered as the
step said beforehand; any other is sent away and counted among the faults, as are exceptions that
reached the hooks of ``sys`` and ``threading``, and every message of Qt.
"""

from __future__ import annotations

import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any
from unittest.mock import patch

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("QT_SCALE_FACTOR", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import (
    QCoreApplication,
    QEvent,
    QMessageLogContext,
    QPoint,
    QPointF,
    Qt,
    QTimer,
    QtMsgType,
    qInstallMessageHandler,
)
from PySide6.QtGui import QImage, QMouseEvent, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFileDialog,
    QLineEdit,
    QMenu,
    QMessageBox,
    QProgressDialog,
    QWidget,
)

from app.window.window import Window, application
from core.design import Design

ROOT = Path(__file__).resolve().parents[2]
LEFT = Qt.MouseButton.LeftButton
FREE = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
Place = tuple[float, float]
PATIENCE_S = 20.0
# Said by the offscreen screen of the tests, not by the program.
_OF_THE_SCREEN = "This plugin does not support "


class Desk:
    """One window, a folder to save in, and what went wrong so far."""

    def __init__(self, window: Window, folder: Path) -> None:
        self.window, self.canvas, self.document = window, window.canvas, window.document
        self.folder = folder
        self.faults: list[str] = []
        self.doing = "start"
        self.save_name = str(folder / "design.sternpost")
        self._answers: list[Callable[[Any], object]] = []
        self._watch = QTimer()
        self._watch.setInterval(2)
        self._watch.timeout.connect(self._look)
        self._watch.start()
        self._hooks = sys.excepthook, threading.excepthook
        sys.excepthook, threading.excepthook = self._caught, self._caught_beside
        self._files = patch.object(QFileDialog, "getSaveFileName", lambda *_: (self.save_name, ""))
        self._files.start()

    def leave(self) -> None:
        """Nothing is watched or stood in for any more."""
        self._watch.stop()
        self._files.stop()
        sys.excepthook, threading.excepthook = self._hooks

    # What goes wrong

    def fault(self, words: str) -> None:
        """Note a fault, with the step that was being done."""
        self.faults.append(f"{self.doing}: {words}")

    def tell(self, error: BaseException) -> None:
        """An error among the faults, with its traceback."""
        self.fault("".join(traceback.format_exception(error)))

    def _caught_beside(self, what: threading.ExceptHookArgs) -> None:
        if what.exc_value is not None:
            self.tell(what.exc_value)

    def _caught(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        self.tell(error.with_traceback(trace))

    def hear_qt(self) -> None:
        """Count what Qt says among the faults; pytest does so by itself."""

        def heard(kind: QtMsgType, context: QMessageLogContext, message: str) -> None:
            if not message.startswith(_OF_THE_SCREEN):
                self.fault(f"Qt says: {message}")

        qInstallMessageHandler(heard)

    # Boxes

    def answer(self, then: Callable[[Any], object]) -> None:
        """Have ``then`` called with the next dialogue or menu that comes up."""
        self._answers.append(then)

    @contextmanager
    def answering(self, then: Callable[[Any], object]) -> Iterator[None]:
        """The same for as long as this lasts; nothing need come."""
        self._answers.append(then)
        try:
            yield
        finally:
            if then in self._answers:
                self._answers.remove(then)

    def _look(self) -> None:
        box: QWidget | None = QApplication.activePopupWidget()
        if not isinstance(box, QMenu):
            box = QApplication.activeModalWidget()
        if box is None or not box.isVisible() or isinstance(box, QProgressDialog):
            return
        if isinstance(box, QMessageBox) and box.text().endswith("is there already: replace it?"):
            next(b for b in box.buttons() if b.text() == "&Replace it").click()
        elif self._answers:
            self._answers.pop(0)(box)
        else:
            words = getattr(box, "text", box.windowTitle)()
            more = getattr(box, "informativeText", str)()
            self.fault(f"a box that nobody expected: {words} {more}")
            box.close() if not isinstance(box, QDialog) else box.reject()

    # Time

    def settle(self) -> None:
        """Let everything happen that is due by now, deletions included."""
        for _ in range(2):
            QApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    def until(self, true: Callable[[], bool], what: str) -> None:
        """Wait until ``true``; a fault when it takes too long."""
        end = time.monotonic() + PATIENCE_S
        while not true():
            if time.monotonic() > end:
                self.fault(f"waited in vain until {what}")
                return
            QApplication.processEvents()
            time.sleep(0.001)

    # Mouse and keys

    @property
    def design(self) -> Design:
        """The design as shown."""
        return self.document.design

    def px(self, at: Place) -> QPoint:
        """The pixel nearest to a place, kept within what a screen can hold."""
        x, y = self.canvas.view.to_px(*at)
        return QPoint(round(min(max(x, -9000.0), 9000.0)), round(min(max(y, -9000.0), 9000.0)))

    def send(
        self, to: QWidget, at: QPoint, held: Qt.KeyboardModifier = FREE,
        button: Qt.MouseButton = Qt.MouseButton.NoButton,
    ) -> None:
        """A mouse move with the buttons and keys that are down."""
        event = QMouseEvent(
            QEvent.Type.MouseMove, QPointF(at), QPointF(to.mapToGlobal(at)), Qt.MouseButton.NoButton, button,
            held,
        )
        QApplication.sendEvent(to, event)

    def drag(
        self, start: Place, end: Place, held: Qt.KeyboardModifier = FREE, steps: int = 3, drop: bool = True,
        button: Qt.MouseButton = LEFT,
    ) -> None:
        """Press at ``start`` and pull to ``end``; ``drop`` to release there."""
        one, other = self.px(start), self.px(end)
        self.send(self.canvas, one, held)
        QTest.mousePress(self.canvas, button, held, one)
        for i in range(1, steps + 1):
            self.send(self.canvas, one + (other - one) * i / steps, held, button)
        if drop:
            QTest.mouseRelease(self.canvas, button, held, other)

    def click(self, at: Place, held: Qt.KeyboardModifier = FREE) -> None:
        """Move there and click."""
        pixel = self.px(at)
        self.send(self.canvas, pixel, held)
        QTest.mousePress(self.canvas, LEFT, held, pixel)
        QTest.mouseRelease(self.canvas, LEFT, held, pixel)

    def double(self, at: Place) -> None:
        """Double click there."""
        self.click(at)
        QTest.mouseDClick(self.canvas, LEFT, FREE, self.px(at))
        QTest.mouseRelease(self.canvas, LEFT, FREE, self.px(at))

    def key(self, key: Qt.Key, held: Qt.KeyboardModifier = FREE, on: QWidget | None = None) -> None:
        """Press a key on the canvas, or on another widget."""
        QTest.keyClick(on or self.canvas, key, held)

    def type_into(self, field: QLineEdit, text: str) -> None:
        """Type in place of what stands there, and press Return."""
        field.setFocus()
        field.selectAll()
        if text.isascii() and text:
            QTest.keyClicks(field, text)
        elif text:
            # QTest knows the keys of ASCII alone and aborts at any other.
            field.insert(text)
            field.setModified(True)
        else:
            QTest.keyClick(field, Qt.Key.Key_Delete)
        QTest.keyClick(field, Qt.Key.Key_Return)

    def do(self, name: str) -> bool:
        """Choose an entry of the menus, if it can be chosen; whether it could."""
        action = self.window.menus.actions[name]
        if action.isEnabled():
            action.trigger()
        return action.isEnabled()

    # Scans

    def decoded(self) -> bool:
        """Whether every scan's picture is there, none under way."""
        shelf, filing = self.window.shelf, self.window.filing
        scans = self.document.committed.scans
        there = all(shelf.picture_of(s) is not None or s.file in shelf.refused for s in scans)
        return there and not shelf._loader._jobs and not filing._incoming


def shown_window() -> Window:
    """The real window, on the screen, its plots there."""
    application()
    window = Window()
    window.resize(1200, 760)
    window.show()
    end = time.monotonic() + PATIENCE_S
    while window.area_band is None and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.002)
    return window


def small_scan(path: Path, dpi: bool = True) -> Path:
    """A picture of a sheet with a few lines on it, 240 × 160 pixels at 50 dpi, written to ``path``."""
    image = QImage(240, 160, QImage.Format.Format_Grayscale8)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.drawRect(20, 30, 180, 90)
    painter.drawLine(10, 80, 230, 84)
    painter.end()
    per_metre = round(50 / 0.0254) if dpi else 0
    image.setDotsPerMeterX(per_metre)
    image.setDotsPerMeterY(per_metre)
    image.save(str(path))
    return path


def own_home(home: Path) -> None:
    """Settings, recovery and caches go to ``home``, not to the person's own. Call it before Qt starts."""
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        os.environ[name] = str(home)
