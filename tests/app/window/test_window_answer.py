"""The answer in the window: its states, the lines under it, and what can be settled there."""

from __future__ import annotations

import pytest
from driving import Driver, bare_sample, fresh_readings
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu

from core.design import Mark
from core.redesign.refit import refit
from core.redesign.surface_lists import add_tailplane
from core.stability.answer import answer

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")


def note_like(driver: Driver, words: str) -> QPointF:
    """The middle of the line under the answer that begins so."""
    panel = driver.window.answer
    note = next(n for n in panel.shown.notes if n.words.startswith(words))
    box = panel.place_of(note)
    assert box is not None
    return box.center()


def click_note(driver: Driver, words: str) -> QMenu:
    """Click that line; the menu that it opens."""
    at = note_like(driver, words)
    QTest.mouseClick(driver.window.answer, Qt.MouseButton.LeftButton, pos=at.toPoint())
    driver.settle()
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    return menu


def choose(driver: Driver, menu: QMenu, words: str) -> None:
    action = next(a for a in menu.actions() if a.text() == words)
    QTest.mouseClick(menu, Qt.MouseButton.LeftButton, pos=menu.actionGeometry(action).center())
    driver.settle()


def test_what_is_not_entered_is_left_out_by_a_click_and_taken_in_again(driver: Driver) -> None:
    design = replace(bare_sample("long-meadow-2000"), wings=(), tailplanes=())
    driver.open_outlines(design)
    panel = driver.window.answer
    assert panel.shown.state == "incomplete"
    choose(driver, click_note(driver, "Tailplane: not entered"), "This aeroplane has none")
    assert driver.design.left_out == ("tailplane",)
    assert driver.window.document.undo_name == "leave out tailplane"
    assert panel.shown.state == "incomplete"
    choose(driver, click_note(driver, "Wing: not entered"), "This aeroplane has none")
    assert panel.shown.state == "above"
    choose(driver, click_note(driver, "No wing"), "It has one after all")
    assert driver.design.left_out == ("tailplane",)
    driver.window.undoing.undo()
    driver.window.undoing.undo()
    driver.window.undoing.undo()
    driver.settle()
    assert driver.design.left_out == () and panel.shown.state == "incomplete"


def test_the_same_by_the_menu(driver: Driver) -> None:
    driver.open_outlines(bare_sample("long-meadow-2000"))
    actions = driver.window.menus.actions
    assert not actions["no-propeller"].isChecked()
    driver.do("no-propeller")
    assert driver.design.left_out == ("propeller",) and actions["no-propeller"].isChecked()
    assert "No propeller: left out by you." in [n.words for n in driver.window.answer.shown.left_out]
    driver.do("no-propeller")
    assert driver.design.left_out == () and not actions["no-propeller"].isChecked()


def test_a_tailplane_just_added_is_a_guess_until_it_is_confirmed(driver: Driver) -> None:
    driver.open_outlines(replace(bare_sample("long-meadow-2000"), tailplanes=()))
    window = driver.window
    window.surfaces.add_tailplane()
    driver.settle()
    assert window.answer.shown.state == "doubt"
    assert "A guess decides it" in window.answer.shown.meaning
    choose(driver, click_note(driver, "Tailplane: span"), "These values are right")
    assert not window.document.committed.guessed and not window.answer.shown.guessed
    assert window.document.undo_name == "confirm what was put in"
    driver.window.undoing.undo()
    driver.settle()
    driver.do("confirm")
    assert not window.document.committed.guessed


def test_what_cannot_be_flown_is_said_first_and_large(driver: Driver) -> None:
    driver.open_outlines(bare_sample("tallow-twin"))
    panel = driver.window.answer
    assert "do not fly" not in panel.accessibleDescription()
    design = refit(driver.design, "cg", "cla_fraction", 0.25).design
    driver.window.document.apply("move the CG", lambda _: design)
    driver.settle()
    assert panel.shown.state == "stop"
    assert "Do not fly it so." in panel.accessibleDescription()
    # The large words stand on the dark, over the figure.
    picture = panel.grab().toImage()
    ink = driver.window.theme.ink
    assert any(picture.pixelColor(panel.width() // 2, y).name() == ink for y in range(20, 90))


def test_the_panel_keeps_its_height_under_a_drag_and_fits_its_words_after(driver: Driver) -> None:
    driver.open_outlines(bare_sample("long-meadow-2000"))
    panel, document = driver.window.answer, driver.window.document
    before = panel.height()
    mark = document.committed.cg_mark
    assert mark is not None
    document.begin("drag CG")
    for step in range(5):
        document.preview(replace(document.committed, cg_from="mark", cg_mark=Mark(mark.x + 40.0 * step)))
        driver.settle()
        assert panel.height() == before
    document.commit()
    driver.settle()
    assert panel.shown.words == answer(document.committed, fresh_readings(document.committed)).words
    boxes = [panel.place_of(note) for note in panel.shown.notes]
    assert all(box is not None and box.bottom() <= panel.height() for box in boxes)


@pytest.mark.parametrize("size", ((950, 568), (1024, 600), (1366, 700)))
def test_every_line_can_be_reached_whatever_the_window_s_size(driver: Driver, size: tuple[int, int]) -> None:
    design, _ = add_tailplane(replace(bare_sample("tallow-twin"), tailplanes=()))
    driver.open_outlines(design)
    driver.window.resize(*size)
    driver.settle()
    panel = driver.window.answer
    place = panel.parentWidget().parentWidget()
    assert place is not None
    hidden = panel.height() - place.height()
    bar = place.verticalScrollBar()  # type: ignore[attr-defined]
    assert bar.maximum() >= hidden - 2
    for note in panel.shown.notes:
        box = panel.place_of(note)
        assert box is not None and box.bottom() <= panel.height()


def test_a_name_cannot_bring_anything_in(driver: Driver) -> None:
    """Names stand in the lines as they are typed; nothing in them is taken for markup."""
    design = bare_sample("long-meadow-2000")
    named = replace(design.tailplanes[0], label="<b>T</b>", in_side_area=False)
    driver.open_outlines(replace(design, tailplanes=(named,)))
    words = [n.words for n in driver.window.answer.shown.left_out]
    assert "<b>T</b>: not counted in the side area, by its tick." in words
    assert driver.window.answer.toolTip() == ""
