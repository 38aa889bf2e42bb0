"""The kind that is offered next, and the label that goes with it, in the real window."""

from __future__ import annotations

from pathlib import Path

import pytest
from driving import LEFT, Driver
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox
from test_window_outlines import choose, click_row

from app.work.selection import Selection
from core.kinds import Kind

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


@pytest.fixture
def blank(driver: Driver) -> Driver:
    driver.window.begin_blank()
    driver.settle()
    return driver


def offered(driver: Driver) -> tuple[str, str, str]:
    """What is traced next by the canvas, by the strip, and what the strip says comes then."""
    strip = driver.window.strip
    return driver.canvas.tracing_kind, strip.kind.currentText(), strip.ink_page.then.text()


def trace(driver: Driver, low: float) -> None:
    for at in ((100, low), (160, low), (130, low + 20)):
        driver.click(at)
    driver.key("\r", on=driver.canvas)


def choose_kind(driver: Driver, kind: Kind) -> None:
    box: QComboBox = driver.window.strip.kind
    box.setCurrentText(kind)
    box.activated.emit(box.currentIndex())


def test_a_rudder_that_was_undone_is_offered_and_traced_as_a_rudder_again(blank: Driver) -> None:
    assert offered(blank) == ("fuselage", "fuselage", "then fin")
    for low in (0, 60, 120):
        trace(blank, low)
    assert [o.kind for o in blank.design.outlines] == ["fuselage", "fin", "rudder"]
    assert offered(blank) == ("pylon", "pylon", "then gear leg")
    blank.do("undo")
    assert offered(blank) == ("rudder", "rudder", "then pylon")
    trace(blank, 120)
    assert [o.kind for o in blank.design.outlines] == ["fuselage", "fin", "rudder"]
    blank.do("undo")
    blank.do("undo")
    assert offered(blank) == ("fin", "fin", "then rudder")
    blank.do("redo")
    assert offered(blank)[0] == "rudder"


def test_deleting_the_fin_in_the_list_has_it_offered(blank: Driver) -> None:
    for low in (0, 60, 120):
        trace(blank, low)
    click_row(blank, "fin")
    blank.window.outlines.delete()
    assert offered(blank) == ("fin", "fin", "then pylon")


def test_what_is_half_drawn_stays_what_it_was_begun_as(blank: Driver) -> None:
    for low in (0, 60):
        trace(blank, low)
    blank.click((100, 150))
    blank.window.document.apply("delete", lambda d: type(d)(format=1, title="t"))
    assert blank.canvas.hand.busy and offered(blank)[0] == "rudder"
    blank.click((160, 150))
    blank.click((130, 170))
    blank.key("\r", on=blank.canvas)
    assert [(o.kind, o.label) for o in blank.design.outlines] == [("rudder", "Rudder")]


def test_three_wheels_in_a_row_are_two_choices(blank: Driver) -> None:
    trace(blank, 0)
    choose_kind(blank, "wheel")
    assert offered(blank) == ("wheel", "wheel", "then fin")
    trace(blank, 30)
    assert offered(blank) == ("fin", "fin", "then rudder"), "the choice was for one outline"
    choose_kind(blank, "wheel")
    assert offered(blank) == ("wheel", "wheel", "until you choose another kind")
    trace(blank, 60)
    trace(blank, 90)
    wheels = [o.label for o in blank.design.outlines if o.kind == "wheel"]
    assert wheels == ["Wheel", "Wheel 2", "Wheel 3"]
    choose_kind(blank, "fin")
    trace(blank, 120)
    assert offered(blank)[0] == "rudder"


def test_a_choice_is_offered_again_when_its_outline_is_undone(blank: Driver) -> None:
    trace(blank, 0)
    choose_kind(blank, "tip plate")
    trace(blank, 30)
    assert offered(blank)[0] == "fin"
    blank.do("undo")
    assert offered(blank)[0] == "tip plate"


def test_a_choice_in_mid_trace_is_what_the_trace_becomes(blank: Driver) -> None:
    blank.click((100, 0))
    choose_kind(blank, "float")
    blank.click((160, 0))
    blank.click((130, 20))
    blank.key("\r", on=blank.canvas)
    assert [o.kind for o in blank.design.outlines] == ["float"]


def test_another_design_forgets_what_was_chosen(blank: Driver) -> None:
    choose_kind(blank, "wheel")
    blank.canvas.take_hand("edit")
    blank.open_outlines(blank.design)
    assert blank.canvas.tracing_kind == "fuselage"


def test_the_region_hand_says_what_comes_next_as_well(blank: Driver) -> None:
    trace(blank, 0)
    blank.canvas.take_hand("region")
    assert offered(blank) == ("fin", "fin", "then rudder")
    assert blank.window.strip.ink_page.then.isVisible()


def test_a_label_follows_the_kind_in_the_form_until_it_is_typed(blank: Driver) -> None:
    trace(blank, 0)
    form = blank.window.outlines.form
    click_row(blank, "fuselage")
    choose(form._kind, "rudder")
    assert blank.outline("fuselage").label == "Rudder" == form._label.text()
    blank.type_into(form._label, "Upper rudder")
    choose(form._kind, "pylon")
    assert blank.outline("fuselage").label == "Upper rudder"


# Does it come twice?


def question(driver: Driver) -> str:
    return driver.window.outlines.form.question.words


def test_a_wheel_is_asked_about_once_where_the_eye_is_after_closing_it(blank: Driver) -> None:
    trace(blank, 0)
    assert question(blank) == ""
    choose_kind(blank, "wheel")
    trace(blank, 30)
    assert question(blank) == "Does this wheel come twice?"
    asked = blank.window.outlines.form.question
    assert asked.isVisible() and QApplication.activeModalWidget() is None
    QTest.mouseClick(asked.answers[2], LEFT)
    assert blank.outline("wheel").count == 2 and question(blank) == ""
    assert blank.window.document.undo_name == "set count"
    assert blank.canvas.hasFocus(), "the tracing goes on"
    blank.do("undo")
    assert question(blank) == "Does this wheel come twice?"
    QTest.mouseClick(asked.answers[1], LEFT)
    assert blank.outline("wheel").count == 1 and question(blank) == ""
    trace(blank, 60)
    click_row(blank, "wheel")
    assert question(blank) == ""


def test_tracing_goes_on_past_the_question_which_waits(blank: Driver) -> None:
    choose_kind(blank, "gear leg")
    trace(blank, 0)
    assert question(blank) == "Does this leg come twice?"
    trace(blank, 60)
    assert question(blank) == ""
    click_row(blank, "gear-leg")
    assert question(blank) == "Does this leg come twice?"
    form = blank.window.outlines.form
    assert not form._x.isVisible(), "it stands where the coordinates of a node would"
    blank.do("all")
    assert question(blank) == "", "several are not asked about at once"
    assert form._x.isVisible()
    blank.window.picked.set(Selection(("gear-leg",), frozenset({("gear-leg", 1)})))
    assert question(blank) == "" and form._x.isVisible(), "the hand is at its nodes"


def test_a_count_set_by_hand_settles_it_and_the_file_remembers(blank: Driver, tmp_path: Path) -> None:
    for kind, low in (("strut", 0), ("float", 60)):
        choose_kind(blank, kind)
        trace(blank, low)
    form = blank.window.outlines.form
    click_row(blank, "strut")
    for key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
        form._count.setFocus()
        QTest.keyClick(form._count, key)
    assert blank.outline("strut").count == 1 and question(blank) == ""
    path = tmp_path / "seaplane.sternpost"
    blank.window.document.save(path)
    blank.window.document.open(path)
    click_row(blank, "strut")
    assert question(blank) == ""
    click_row(blank, "float")
    assert question(blank) == "Does this float come twice?"
