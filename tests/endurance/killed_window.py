"""The process that ``kill_driver`` ends: the real program, edited with mouse and keys until it dies.

    python killed_window.py LOG DESIGN SCAN SEED      edit until ended
    python killed_window.py LOG --recover             start once more and take the work back

LOG is a file or a pipe (``/dev/fd/5``). Each line is written with one system call, so that it is whole or
absent after a SIGKILL: ``begin``, ``ending STATE`` before anybody hears of a gesture's end or of a click
of a trace, ``commit STATE`` after everybody has, ``saving STATE``, ``saved STATE`` or ``refused STATE``,
``warned`` and ``safe`` when the warning that work cannot be kept safe has come or gone in the window,
``unshown`` where it did not, ``box WORDS`` for a box that came up. STATE is the digest of the design, how
many nodes are half drawn, how many scans there are; after it may stand ``left`` (the disk was slow and the
worker was to keep it) and ``warned`` (the warning stands).
"""

from __future__ import annotations

import hashlib
import os
import random
import sys
import time
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox

from app.window.running import run
from app.window.window import Window, application
from app.work.document import Change
from core.design import Design
from core.design_file import encode

LEFT = Qt.MouseButton.LeftButton


def digest(design: Design) -> str:
    """What tells one state of the design from another."""
    return hashlib.sha256(encode(design)).hexdigest()[:16]


def nodes_drawn(window: Window) -> int:
    """How many nodes of an outline are half drawn."""
    trace = window.document.trace
    return 0 if trace is None else len(trace.places)


def state_of(window: Window) -> tuple[str, str, str]:
    """STATE, as it is written."""
    design = window.document.committed
    return digest(design), str(nodes_drawn(window)), str(len(design.scans))


def warning_stands(window: Window) -> bool:
    """True if the window says that work cannot be kept safe."""
    return window.unsafe.isVisible() and "cannot be kept safe" in window.unsafe.text()


class Log:
    """Lines that survive the process."""

    def __init__(self, path: Path) -> None:
        self._file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def say(self, *words: str) -> None:
        """One line, at once."""
        os.write(self._file, (" ".join((f"{time.monotonic():.6f}", *words)) + "\n").encode())


class Hand:
    """Edits the design as a quick builder would."""

    def __init__(self, window: Window, scan: Path, seed: int, log: Log) -> None:
        self._window, self._scan, self._log = window, scan, log
        self._numbers = random.Random(seed)
        window.document.listen(lambda change: self._changed("commit", change))
        window.document._listeners.insert(0, lambda change: self._changed("ending", change))
        window.keeper.trouble.connect(self._trouble)
        self._boxes = QTimer()
        self._boxes.timeout.connect(self._close_box)
        self._boxes.start(20)

    def _changed(self, what: str, change: Change) -> None:
        if change.what == "trace" or (change.what == "design" and not self._window.document.busy):
            left = ["left"] if what == "commit" and self._window.keeper.recovery._left else []
            warned = ["warned"] if warning_stands(self._window) else []
            self._log.say(what, *state_of(self._window), *left, *warned)

    def _trouble(self, sentence: str) -> None:
        # Heard after the window itself: it is what stands there that counts.
        stands = warning_stands(self._window)
        self._log.say(("warned" if sentence else "safe") if stands == bool(sentence) else "unshown")

    def _spot(self, x: float, z: float) -> QPoint:
        px, py = self._window.canvas.view.to_px(x, z)
        return QPoint(round(px), round(py))

    def drag(self) -> None:
        """Drag the middle of a random edge."""
        self._window.canvas.take_hand("edit")
        canvas, design = self._window.canvas, self._window.document.design
        outline = self._numbers.choice([o for o in design.outlines if len(o.nodes) > 2])
        i = self._numbers.randrange(len(outline.nodes))
        one, other = outline.nodes[i], outline.nodes[(i + 1) % len(outline.nodes)]
        start = self._spot((one.x + other.x) / 2, (one.z + other.z) / 2)
        QTest.mousePress(canvas, LEFT, Qt.KeyboardModifier.NoModifier, start)
        for _ in range(4):
            start += QPoint(self._numbers.randint(-6, 6), self._numbers.randint(-6, 6))
            event = QMouseEvent(
                QEvent.Type.MouseMove, QPointF(start), QPointF(canvas.mapToGlobal(start)),
                Qt.MouseButton.NoButton, LEFT, Qt.KeyboardModifier.NoModifier,
            )
            QApplication.sendEvent(canvas, event)
        QTest.mouseRelease(canvas, LEFT, Qt.KeyboardModifier.NoModifier, start)

    def nudge(self) -> None:
        """A few arrow keys."""
        self._window.canvas.take_hand("edit")
        way = self._numbers.choice((Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down))
        for _ in range(self._numbers.randint(1, 4)):
            QTest.keyClick(self._window.canvas, way)
        self._window.canvas.hand.settle()

    def trace(self) -> Iterator[int]:
        """Trace a triangle; between the clicks the window has its turn (ms)."""
        canvas = self._window.canvas
        if nodes_drawn(self._window):
            return
        canvas.take_hand("trace")
        x, y = self._numbers.randint(120, 500), self._numbers.randint(40, 250)
        for dx, dy in ((0, 0), (60, 5), (30, 50)):
            QTest.mouseClick(canvas, LEFT, Qt.KeyboardModifier.NoModifier, QPoint(x + dx, y + dy))
            yield 2
        QTest.keyClick(canvas, Qt.Key.Key_Return)
        canvas.take_hand("edit")

    def half_trace(self) -> Iterator[int]:
        """Some clicks more of a trace that stays half drawn; now and then it is closed, or put by."""
        canvas = self._window.canvas
        canvas.take_hand("trace")
        for _ in range(self._numbers.randint(1, 6)):
            at = QPoint(self._numbers.randint(20, 620), self._numbers.randint(20, 300))
            QTest.mouseClick(canvas, LEFT, Qt.KeyboardModifier.ControlModifier, at)
            yield 2
        if nodes_drawn(self._window) > 25 or self._numbers.random() < 0.1:
            QTest.keyClick(canvas, Qt.Key.Key_Escape)
        elif self._numbers.random() < 0.3:
            canvas.take_hand(self._numbers.choice(("datum", "edit", "cg")))
            if self._numbers.random() < 0.5:
                self._window.undoing.undo()

    def save(self) -> None:
        """Save to the design's own file."""
        self._log.say("saving", *state_of(self._window))
        saved = self._window.filing.save()
        self._log.say("saved" if saved else "refused", *state_of(self._window))

    def scan(self) -> None:
        """Open one more scan, and go on while it is decoded."""
        if len(self._window.document.design.scans) < 3:
            self._window.filing.open_scan_path(self._scan)

    def _close_box(self) -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            self._log.say("box", box.text().replace("\n", " "))
            box.reject()

    def _steps(self) -> Iterator[int]:
        menus = self._window.menus.actions
        steps = (
            [self.drag] * 5 + [self.nudge] * 3 + [self.trace] + [self.half_trace] * 4
            + [menus["undo"].trigger] * 2 + [menus["redo"].trigger] + [self.save] * 2 + [self.scan]
        )
        while True:
            yield from self._numbers.choice(steps)() or ()
            yield self._numbers.choice((1, 5, 20, 60))

    def go(self) -> None:
        """One step after another out of the program's own loop, until the process ends."""
        self._log.say("begin")
        self._todo = self._steps()
        self._next()

    def _next(self) -> None:
        # Whoever asked the program to end draws no more.
        if not self._window.keeper.recovery._stopped:
            QTimer.singleShot(next(self._todo), self._window, self._next)


def edit(design: Path, scan: Path, seed: int, log: Log) -> int:
    """The program as it is started by hand, and a hand in its window once the design is there."""
    waiting = QTimer(application())
    hands = []

    def look() -> None:
        for window in QApplication.topLevelWidgets():
            if isinstance(window, Window) and window.document.path == design and window.canvas.isVisible():
                waiting.stop()
                hands.append(Hand(window, scan, seed, log))
                QTimer.singleShot(50, window, hands[0].go)

    waiting.timeout.connect(look)
    waiting.start(5)
    return run(design)


def shown() -> Window:
    """The real window, on the screen."""
    application()
    window = Window()
    window.show()
    QTest.qWaitForWindowExposed(window)
    return window


def recover(log: Log) -> None:
    """Start again, take back whatever is offered, and log it."""
    window = shown()
    seen: list[str] = []

    def press() -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            seen.append(box.text())
            wanted = next(b for b in box.buttons() if b.text().replace("&", "") == "Take it back")
            wanted.click()

    timer = QTimer()
    timer.setInterval(5)
    timer.timeout.connect(press)
    timer.start()
    taken = window.keeper.offer()
    timer.stop()
    log.say("recovered" if taken else "nothing", *state_of(window))
    window.shelf.stop()
    window.filing.stop()
    window.keeper.recovery.flush()
    os._exit(0)


def main() -> None:
    """As the module says."""
    log = Log(Path(sys.argv[1]))
    if sys.argv[2] == "--recover":
        recover(log)
    sys.exit(edit(Path(sys.argv[2]), Path(sys.argv[3]), int(sys.argv[4]), log))


if __name__ == "__main__":
    main()
