"""Driving the real window as a builder does: mouse and keys through QTest, places in mm, boxes answered.

Mouse positions are whole logical pixels, as those of a mouse are: half a pixel is as near as a hand
comes to a place, and ``Driver.spot`` tells where in mm it really came to.
"""

from __future__ import annotations

import sys
import zipfile
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from app.kit.figure_label import FigureLabel
from app.scans.kinds import picture_kind
from app.window.window import Window
from core.design import Design, Outline
from core.design_file import DesignFile, read
from core.geometry.ring import flatten, ring_of
from core.stability.readings import Readings, ReadingsEngine

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_designs"
if str(SAMPLES) not in sys.path:
    sys.path.append(str(SAMPLES))

LEFT, MIDDLE, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton, Qt.MouseButton.RightButton
FREE = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
Place = tuple[float, float]
WAIT_MS = 60_000


class Boxes:
    """Answers message boxes by the words on a button; one that nobody expects is sent away and told of."""

    def __init__(self) -> None:
        self.seen: list[str] = []
        self.unexpected: list[str] = []
        self._answers: list[str] = []
        self._timer = QTimer()
        self._timer.setInterval(5)
        self._timer.timeout.connect(self._look)
        self._timer.start()

    def answer(self, *buttons: str) -> None:
        """Press the buttons of these words in the boxes to come, one a box."""
        self._answers.extend(buttons)

    @property
    def waiting(self) -> int:
        """How many answers were given to boxes that never came."""
        return len(self._answers)

    def _look(self) -> None:
        box = QApplication.activeModalWidget()
        if not isinstance(box, QMessageBox) or not box.isVisible():
            return
        text = f"{box.text()} {box.informativeText()}".strip()
        self.seen.append(text)
        buttons = {b.text().replace("&", ""): b for b in box.buttons()}
        wanted = self._answers.pop(0) if self._answers else None
        if wanted is None or wanted not in buttons:
            self.unexpected.append(f"{text} (buttons {sorted(buttons)}, wanted {wanted})")
            box.reject()
        else:
            QTest.mouseClick(buttons[wanted], LEFT)

    def stop(self) -> None:
        """No more answers."""
        self._timer.stop()


class Driver:
    """One window and the hand on its mouse."""

    def __init__(self, window: Window, qtbot: QtBot, boxes: Boxes) -> None:
        self.window, self.qtbot, self.boxes = window, qtbot, boxes
        self.canvas = window.canvas

    # What is there

    @property
    def design(self) -> Design:
        """The design as shown."""
        return self.window.document.design

    def outline(self, outline_id: str) -> Outline:
        """An outline of the design as shown."""
        return self.design.outline(outline_id)

    @property
    def said(self) -> str:
        """What the strip says."""
        return self.window.strip._said.text()

    @property
    def figure(self) -> str:
        """What stands beside the cursor."""
        return self.canvas.hand.overlay().figure

    def reading(self, key: str, what: str = "") -> str:
        """What stands in the row of a reading; ``what`` is "change" for how much it moved."""
        label = self.window.readout.readings[key].label + (f": {what}" if what else "")
        (row,) = (r for r in self.window.findChildren(FigureLabel) if r.accessibleName() == label)
        return row.text()

    def until(self, true: Callable[[], bool]) -> None:
        """Wait until ``true``, no longer than needed."""
        self.qtbot.waitUntil(true, timeout=WAIT_MS)

    def forget_listeners_of(self, made: QWidget) -> None:
        """Tell ``made``, which a test made for itself, nothing more of the window."""
        window = self.window
        for teller in (window.document, window.readout, window.picked):
            kept = [one for one in teller._listeners if getattr(one, "__self__", None) is not made]
            teller._listeners[:] = kept

    def settle(self) -> None:
        """Let everything happen that is due by now."""
        for _ in range(3):
            QApplication.processEvents()

    def decoded(self) -> bool:
        """Whether every scan's picture is there, none under way."""
        shelf, filing = self.window.shelf, self.window.filing
        under_way = shelf._loader._jobs or filing._incoming
        return all(map(shelf.picture_of, self.design.scans)) and not under_way

    def until_decoded(self, scans: int = 1) -> None:
        """Wait until so many scans lie there, decoded, and the view has settled on them."""
        self.until(lambda: len(self.design.scans) == scans and self.decoded())
        self.settle()

    def open(self, path: Path) -> None:
        """Open a design that has one scan."""
        self.window.filing.open_path(path)
        self.until_decoded(len(self.design.scans))

    def open_outlines(self, design: Design) -> None:
        """Take up a design without scans: the quickest way to something to drag."""
        self.window.document.start(design)
        self.settle()

    # The mouse on the canvas, in mm

    def px(self, at: Place) -> QPoint:
        """The pixel nearest to a place."""
        x, y = self.canvas.view.to_px(*at)
        return QPoint(round(x), round(y))

    def spot(self, at: Place) -> Place:
        """Where in mm the mouse comes to when it is sent to a place."""
        pixel = self.px(at)
        return self.canvas.view.to_mm(pixel.x(), pixel.y())

    def press(self, at: Place, held: Qt.KeyboardModifier = FREE, button: Qt.MouseButton = LEFT) -> None:
        """Move there and press."""
        self.move(at, held)
        QTest.mousePress(self.canvas, button, held, self.px(at))

    def release(self, at: Place, held: Qt.KeyboardModifier = FREE, button: Qt.MouseButton = LEFT) -> None:
        """Release there."""
        QTest.mouseRelease(self.canvas, button, held, self.px(at))

    def move(
        self, at: Place, held: Qt.KeyboardModifier = FREE, button: Qt.MouseButton = Qt.MouseButton.NoButton
    ) -> None:
        """Move there, with ``button`` down."""
        drag_to(self.canvas, self.px(at), button, held)

    def click(self, at: Place, held: Qt.KeyboardModifier = FREE) -> None:
        """Click there. The clicks of a hand lie further apart than those of a double click."""
        self.press(at, held)
        self.release(at, held)

    def double(self, at: Place) -> None:
        """Double click there."""
        self.click(at)
        QTest.mouseDClick(self.canvas, LEFT, FREE, self.px(at))

    def drag(
        self, start: Place, end: Place, held: Qt.KeyboardModifier = FREE, steps: int = 4, drop: bool = True,
        button: Qt.MouseButton = LEFT,
    ) -> None:
        """Press at ``start`` and pull to ``end`` in steps; ``drop`` to release there."""
        # Pixels are taken beforehand: where the drag pans, places move under the mouse.
        one, other = self.px(start), self.px(end)
        drag_to(self.canvas, one, Qt.MouseButton.NoButton, held)
        QTest.mousePress(self.canvas, button, held, one)
        for i in range(1, steps + 1):
            drag_to(self.canvas, one + (other - one) * i / steps, button, held)
        if drop:
            QTest.mouseRelease(self.canvas, button, held, other)

    def wheel(self, at: Place, turn: int, held: Qt.KeyboardModifier = FREE) -> None:
        """Turn the wheel over a place; 120 is one notch."""
        pixel = QPointF(self.px(at))
        event = QWheelEvent(
            pixel, self.canvas.mapToGlobal(pixel), QPoint(), QPoint(0, turn), Qt.MouseButton.NoButton, held,
            Qt.ScrollPhase.NoScrollPhase, False,
        )
        QApplication.sendEvent(self.canvas, event)

    def zoom_to(self, at: Place, scale: float) -> None:
        """Wheel and middle button until ``at`` lies in the middle at ``scale`` px to the mm, nearly."""
        middle = QPoint(self.canvas.width() // 2, self.canvas.height() // 2)
        for _ in range(40):
            now, pixel = self.canvas.view.scale, self.px(at)
            off = middle - pixel
            if abs(off.x()) > 2 or abs(off.y()) > 2:
                # From the middle, no further than the canvas is wide: the hand stays on it.
                reach = QPoint(
                    max(-middle.x() + 5, min(middle.x() - 5, off.x())),
                    max(-middle.y() + 5, min(middle.y() - 5, off.y())),
                )
                drag_to(self.canvas, middle, Qt.MouseButton.NoButton, FREE)
                QTest.mousePress(self.canvas, MIDDLE, FREE, middle)
                drag_to(self.canvas, middle + reach, MIDDLE, FREE)
                QTest.mouseRelease(self.canvas, MIDDLE, FREE, middle + reach)
            elif abs(now / scale - 1) > 0.15:
                self.wheel(at, max(-480, min(480, round(np.log(scale / now) / np.log(1.0015)))))
            else:
                return
        raise AssertionError(f"{at} was not reached at {scale} px/mm")

    # Keys

    def key(self, key: Qt.Key | str, held: Qt.KeyboardModifier = FREE, on: QWidget | None = None) -> None:
        """Press a key where the focus is, or on a widget."""
        target = on or QApplication.focusWidget() or self.canvas
        if isinstance(key, str):
            QTest.keyClicks(target, key, held)
        else:
            QTest.keyClick(target, key, held)

    def take(self, letter: str) -> None:
        """Take a hand by its letter."""
        self.canvas.setFocus()
        self.key(letter, on=self.canvas)

    def type_into(self, field: QWidget, text: str) -> None:
        """Put the focus there, type in place of what stands there, and press Return."""
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_A, CTRL)
        if text:
            QTest.keyClicks(field, text)
        else:
            QTest.keyClick(field, Qt.Key.Key_Delete)
        QTest.keyClick(field, Qt.Key.Key_Return)

    def do(self, name: str) -> None:
        """Choose an entry of the menus."""
        action = self.window.menus.actions[name]
        assert action.isEnabled(), name
        action.trigger()


def drag_to(widget: QWidget, at: QPoint, button: Qt.MouseButton, held: Qt.KeyboardModifier) -> None:
    """A mouse move as the system sends it, with the buttons and keys that are down."""
    # QTest.mouseMove knows no keys; and what is not a press must not start a double click.
    event = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(at), QPointF(widget.mapToGlobal(at)), Qt.MouseButton.NoButton, button,
        held,
    )
    QApplication.sendEvent(widget, event)


def close_menu(then: Callable[[QMenu], None], tries: int = 400) -> None:
    """Have ``then`` called with the menu that is about to pop up, which is closed afterwards."""

    def look(left: int) -> None:
        menu = QApplication.activePopupWidget()
        if isinstance(menu, QMenu):
            then(menu)
            menu.close()
        elif left:
            QTimer.singleShot(5, lambda: look(left - 1))

    look(tries)


# Designs and pictures


@cache
def sample(slug: str = "marsh-harrow-52") -> DesignFile:
    """A sample design with its scan."""
    return read(SAMPLES / f"{slug}.sternpost")


def bare_sample(slug: str = "marsh-harrow-52") -> Design:
    """A sample's outlines, marks and surfaces without its scan."""
    from msgspec.structs import replace

    return replace(sample(slug).design, scans=())


def scan_bytes(slug: str = "marsh-harrow-52", dpi: bool = True) -> bytes:
    """The scan in a sample's container; without ``dpi`` as a scanner writes it that gives none."""
    with zipfile.ZipFile(SAMPLES / f"{slug}.sternpost") as container:
        (name,) = (n for n in container.namelist() if n != "design.json")
        data = container.read(name)
    if dpi:
        return data
    kind = picture_kind(data)
    assert kind is not None and kind.name == "PNG"
    return without_chunk(data, b"pHYs")


def without_chunk(png: bytes, name: bytes) -> bytes:
    """A PNG without its chunks of one name (PNG specification, section 5: length, name, data, CRC)."""
    kept, at = [png[:8]], 8
    while at < len(png):
        size = int.from_bytes(png[at : at + 4], "big") + 12
        if png[at + 4 : at + 8] != name:
            kept.append(png[at : at + size])
        at += size
    return b"".join(kept)


def fresh_readings(design: Design) -> Readings:
    """Readings by an engine that has seen nothing before."""
    return ReadingsEngine().read(design)


def line_of(outlines: Iterable[Outline] | Outline) -> NDArray[np.float64]:
    """Points along an outline, no more than 0.25 mm apart, shape (N, 2)."""
    outlines = [outlines] if isinstance(outlines, Outline) else list(outlines)
    parts = []
    for outline in outlines:
        corners = flatten(ring_of(outline.nodes))
        ends = np.roll(corners, -1, axis=0)
        for one, other in zip(corners, ends, strict=True):
            count = max(1, int(np.ceil(np.hypot(*(other - one)) / 0.25)))
            parts.append(one + (other - one) * (np.arange(count) / count)[:, None])
    return np.concatenate(parts)


def apart(one: Outline, other: Outline) -> float:
    """The greatest distance in mm from either outline to the other (Hausdorff, on dense points)."""
    import shapely

    a, b = (shapely.LinearRing(line_of(o)) for o in (one, other))
    to_b = shapely.distance(shapely.points(line_of(one)), b)
    to_a = shapely.distance(shapely.points(line_of(other)), a)
    return float(max(to_b.max(), to_a.max()))
