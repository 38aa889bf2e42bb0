"""Steps of redesign and the windows beside the window: plug, refit, kept states, curves, sheets."""

from __future__ import annotations

from random import Random
from typing import Any

from desk import Desk
from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from steps import step
from steps_files import written_is_committed

from core.design import Mark
from core.redesign.bench_edits import set_crossing

SIDE = ("slip", "gust", "compare", "curves", "template", "setting-up", "card")
MOST_KEPT = 5


@step(3)
def plug(desk: Desk, n: Random) -> None:
    """Station and length in the window for it, then let in or called off, undone while it is open."""
    window: Any = desk.window.side.show("plug")
    for _ in range(n.randint(1, 2)):
        desk.type_into(window.station.line, f"{n.randint(0, 1000)} mm")
        desk.type_into(window.length.line, n.choice(("20 mm", "-15 mm", "1 1/2 in", "0", "-400", "long")))
        if not window.stage.is_open:
            # Return pressed its button.
            return
        window.keep.setCurrentIndex(n.randrange(3))
        window.keep.activated.emit(window.keep.currentIndex())
    if n.random() < 0.2:
        desk.window.undoing.undo()
        desk.settle()
    if n.random() < 0.6 and window.stage.is_open:
        window.do_it()
    if window.stage.is_open:
        window.close()


@step(3)
def proposal(desk: Desk, n: Random) -> None:
    """A plug or a step along a curve is shown and left standing while files are written; then as may be."""
    window: Any = desk.window.side.show(n.choice(("plug", "curves")))
    if hasattr(window, "stage"):
        window.station.set_value(float(n.randint(0, 1000)))
        window.length.set_value(float(n.choice((20, 45, -15))))
        window.refresh()
    else:
        desk.until(
            lambda: window.data is not None or not (window.worker.busy or window._soon.isActive()),
            "the curve is there, or why there is none",
        )
        for _ in range(n.randint(1, 4)):
            key = n.choice((Qt.Key.Key_Left, Qt.Key.Key_Right))
            QTest.keyClick(window.plots["cla_fraction"].field, key)
    before = desk.document.committed
    loop = QEventLoop()
    for _ in range(n.randint(1, 3)):
        # As a dialogue of the system does while it asks for a name.
        QApplication.processEvents()
        QTimer.singleShot(0, loop.quit)
        loop.exec()
        written_is_committed(desk, n)
    if before.outlines != desk.document.committed.outlines:
        desk.fault("writing a file with a proposal on view changed the outlines")
    ending = n.choice(("done", "undo", "close", "stands", "stands"))
    if ending == "undo":
        desk.window.undoing.undo()
    elif ending == "close":
        window.close()
    elif ending == "done":
        if hasattr(window, "stage"):
            window.do_it()
        else:
            QTest.keyClick(window.plots["cla_fraction"].field, Qt.Key.Key_Return)


@step(1)
def refit(desk: Desk, n: Random) -> None:
    """One of the ways in the window for it, done or let be."""
    window: Any = desk.window.side.show("refit")
    if n.random() < 0.3:
        window.target.setCurrentIndex(1)
        window.target.activated.emit(1)
        desk.type_into(window.value, "0.08")
    elif n.random() < 0.5:
        desk.type_into(window.value, n.choice(("25 %", "30 %", "18 %")))
    desk.until(lambda: not window.worker.busy and not window._soon.isActive(), "the ways are worked out")
    rows = window.table.rowCount()
    if rows > 1:
        window.table.selectRow(n.randrange(rows))
        desk.settle()
        window.near.setChecked(n.random() < 0.5)
        if n.random() < 0.7:
            window.do_it()
            desk.until(lambda: not window.worker.busy, "the ways are worked out anew")
    window.close()


@step(4)
def kept_states(desk: Desk, n: Random) -> None:
    """Kept, taken back, renamed, deleted, shown as a ghost."""
    window = desk.window
    panel = window.kept
    window.tabs.setCurrentWidget(window.kept)
    there = desk.document.committed.alternatives
    what = n.choice(("keep", "take", "take", "rename", "delete", "ghost"))
    if what == "keep":
        if len(there) < MOST_KEPT:
            panel.ask_name()
            if n.random() < 0.4:
                panel.name.setText(n.choice(("a long tail", "", "as drawn", "B")))
            panel.keep()
            panel.put_name_away()
        return
    if not there:
        return
    row = n.randrange(len(there))
    panel.list.setCurrentIndex(panel.model.index(row))
    if what == "take":
        words = n.choice(("first", "Do not keep", "Cancel"))

        def choose(box: Any) -> None:
            button = next((b for b in box.buttons() if words in b.text().replace("&", "")), None)
            button.click() if button is not None else box.reject()

        with desk.answering(choose):
            panel.take_back()
    elif what == "rename":
        panel.model.setData(panel.model.index(row), n.choice(("renamed", "as drawn", "", "C")))
    elif what == "delete":
        panel.delete()
    else:
        panel.toggle_ghost(there[row].id)


@step(3)
def side_window(desk: Desk, n: Random) -> None:
    """One of the windows beside the window is opened, or all are closed."""
    if n.random() < 0.6:
        desk.window.side.show(n.choice(SIDE))
    else:
        desk.window.side.close()


@step(1)
def card_crossing(desk: Desk, n: Random) -> None:
    """Where the plumb lines of the card copy crossed, as its window enters it."""
    place = None if n.random() < 0.3 else Mark(float(n.randint(0, 900)), float(n.randint(-90, 90)))
    desk.document.apply("enter the crossing", lambda d: set_crossing(d, place), "card")


@step(2)
def look_elsewhere(desk: Desk, n: Random) -> None:
    """Zoom, fit, another size of the window, another list, another theme."""
    window, what = desk.window, n.choice(("zoom-in", "zoom-out", "fit", "full-size", "size", "tab", "theme"))
    if what == "size":
        window.resize(n.randint(800, 1500), n.randint(540, 900))
        desk.settle()
        desk.canvas.fit()
    elif what == "tab":
        window.tabs.setCurrentIndex(n.randrange(window.tabs.count()))
    elif what == "theme":
        desk.do(n.choice(("theme-day", "theme-night")))
    else:
        desk.do(what)
