"""The help in the real window: F1 at what has the focus, right button, search, links, other colours."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from driving import LEFT, Driver, bare_sample, close_menu
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QScrollArea, QWidget

from app.kit.figure_label import FigureLabel
from app.kit.help_places import HANDS
from app.side.help_window import HelpWindow
from app.work.selection import Selection

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")


@pytest.fixture
def marsh(driver: Driver) -> Iterator[Driver]:
    driver.open_outlines(bare_sample())
    yield driver
    driver.window.side.close()
    driver.settle()


def helped(driver: Driver) -> HelpWindow:
    (window,) = (w for w in QApplication.topLevelWidgets() if isinstance(w, HelpWindow) and w.isVisible())
    return window


def f1(driver: Driver, on: QWidget) -> str:
    driver.window.activateWindow()
    on.setFocus()
    driver.settle()
    QTest.keyClick(on, Qt.Key.Key_F1)
    driver.settle()
    return helped(driver).place


def test_f1_opens_it_at_what_has_the_focus(marsh: Driver) -> None:
    window = marsh.window
    window.picked.set(Selection(("fin",)))
    fields = {field.accessibleName(): field for field in window.outlines.form.findChildren(QLineEdit)}
    assert f1(marsh, fields["Label"]) == "words/outline"
    assert f1(marsh, window.outlines.form._count) == "words/count"
    assert f1(marsh, window.outlines.form._kind) == "words/kind"
    speed = next(f for f in window.readings.findChildren(QLineEdit) if f.accessibleName() == "Flight speed")
    assert f1(marsh, speed) == "words/flight"
    assert f1(marsh, window.readings.groups["pitch"].heading) == "words/static-margin"
    assert f1(marsh, window.arm_rule) == "words/arm-rule"
    assert len([w for w in QApplication.topLevelWidgets() if isinstance(w, HelpWindow)]) == 1


def test_f1_on_the_canvas_tells_of_the_hand(marsh: Driver) -> None:
    for name in ("trace", "edit", "cg"):
        marsh.canvas.take_hand(name)
        assert f1(marsh, marsh.canvas) == HANDS[name]


def test_f1_in_a_side_window_tells_of_it(marsh: Driver) -> None:
    for name, place in (("refit", "steps/refit"), ("plug", "words/plug"), ("parts", "steps/parts")):
        side = marsh.window.side.show(name)
        side.activateWindow()
        marsh.settle()
        QTest.keyClick(side, Qt.Key.Key_F1)
        assert helped(marsh).place == place
        side.close()


def ask(driver: Driver, on: QWidget) -> list[str]:
    """The right button there, and "What is this?" chosen."""
    offered: list[str] = []

    def choose(menu: object) -> None:
        actions = menu.actions()  # type: ignore[attr-defined]
        offered.extend(action.text() for action in actions)
        actions[0].trigger()

    at = on.rect().center()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, on.mapToGlobal(at))
    QApplication.sendEvent(on, event)
    close_menu(choose)
    driver.settle()
    return offered


def test_the_right_button_on_a_figure_tells_what_it_is(marsh: Driver) -> None:
    group = marsh.window.readings.groups["side"]
    group.heading.setChecked(True)
    figure = next(f for f in group.findChildren(FigureLabel) if f.accessibleName() == "CLA aft of the CG")
    marsh.settle()
    scroll = marsh.window.readings.parentWidget().parentWidget()
    assert isinstance(scroll, QScrollArea)
    scroll.ensureWidgetVisible(figure)
    marsh.settle()
    assert ask(marsh, figure) == ["What is this?"]
    assert helped(marsh).place == "words/cla_aft_of_cg"


def test_the_canvas_keeps_its_own_menu(marsh: Driver) -> None:
    assert marsh.canvas.contextMenuPolicy() == Qt.ContextMenuPolicy.PreventContextMenu


def test_search_narrows_and_brings_out(marsh: Driver) -> None:
    marsh.do("method")
    window = helped(marsh)
    before = len(window._items)
    window.search.setFocus()
    QTest.keyClicks(window.search, "weathercock")
    assert 0 < len(window._items) < 6 < before
    QTest.keyClick(window.search, Qt.Key.Key_Return)
    assert window.isVisible() and window.place == "method/rule"
    (mark,) = window.view.extraSelections()
    assert mark.cursor.selectedText() == "weathercock"
    QTest.keyClicks(window.search, "zz")
    assert window._found.text() == "Nothing found." and not window._items
    window.search.clear()
    assert len(window._items) == before and not window.view.extraSelections()


def test_contents_links_and_back(marsh: Driver) -> None:
    marsh.do("trust")
    window = helped(marsh)
    assert window.place == "trust/estimates"
    window.contents.setCurrentItem(window._items["words/refit"])
    assert window.place == "words/refit"
    assert window.view.verticalScrollBar().value() > 500
    window.view.led_to.emit("words/cla")
    assert window.place == "words/cla"
    QTest.mouseClick(window.back_button, LEFT)
    assert window.place == "words/refit"
    window.back()
    assert window.place == "trust/estimates" and not window.back_button.isEnabled()


def test_a_link_that_is_clicked_is_followed(marsh: Driver) -> None:
    marsh.do("method")
    window = helped(marsh)
    marsh.settle()
    view = window.view
    spot = next(
        QPoint(x, y) for y in range(20, view.viewport().height(), 4)
        for x in range(20, view.viewport().width(), 6) if view.anchorAt(QPoint(x, y)) == "words/cla"
    )
    QTest.mouseClick(view.viewport(), LEFT, pos=spot)
    assert window.place == "words/cla"


def test_a_page_is_written_once_in_every_size_and_colour(marsh: Driver) -> None:
    marsh.do("keys")
    window = helped(marsh)
    for wide, theme in ((560, "night"), (760, "day"), (640, "system")):
        window.resize(wide, 500)
        marsh.settle()
        marsh.do(f"theme-{theme}")
        assert window.view.toPlainText().count("Mark CG") == 1


def test_pictures_are_those_of_the_theme(marsh: Driver) -> None:
    marsh.do("steps")
    window = helped(marsh)
    marsh.do("theme-day")
    day = window.view.grab().toImage()
    marsh.do("theme-night")
    assert window.view.grab().toImage() != day
    marsh.do("theme-system")


def test_nothing_of_it_stays_when_it_is_closed(marsh: Driver) -> None:
    listeners = len(marsh.window.document._listeners), len(marsh.window.readout._listeners)
    marsh.do("words")
    QTest.keyClick(helped(marsh), Qt.Key.Key_Escape)
    marsh.settle()
    assert not [w for w in QApplication.topLevelWidgets() if isinstance(w, HelpWindow) and w.isVisible()]
    assert (len(marsh.window.document._listeners), len(marsh.window.readout._listeners)) == listeners
