"""The plug window: typed and clicked stations, the live preview, one entry of undo, and making way."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from driving import CTRL, Driver, bare_sample
from msgspec.structs import replace
from plain_bench import Person, PlainBench, small_aeroplane
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.canvas.tools.station import StationHand
from app.kit.theme import DAY, NIGHT
from app.side.plug_window import LET_IN, TAKE_OUT, PlugWindow
from app.work.document import Change
from core.design import Design, Weight
from core.redesign.lead_saved import lead_saved_words
from core.redesign.plug import plug

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")


@pytest.fixture
def opened(driver: Driver) -> Iterator[tuple[Driver, PlugWindow]]:
    driver.open_outlines(small_aeroplane())
    dialog = PlugWindow(driver.window.beside)
    dialog.show()
    driver.settle()
    yield driver, dialog
    if dialog.stage.is_open:
        dialog.close()
    driver.settle()


def typed(driver: Driver, dialog: PlugWindow, station: str, length: str) -> None:
    for field, text in ((dialog.station, station), (dialog.length, length)):
        field.line.setFocus()
        QTest.keyClick(field.line, Qt.Key.Key_A, CTRL)
        QTest.keyClicks(field.line, text)
    driver.settle()


def names(driver: Driver) -> list[str]:
    return [name for name, _ in driver.window.document._done]


def test_it_opens_with_a_station_in_the_nose_and_changes_nothing(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    # Half-way from the nose at 0 to the wing's leading edge at 250.
    assert dialog.station.value == pytest.approx(125.0, abs=0.05)
    assert not dialog.isModal() and not dialog.ok.isEnabled() and driver.window.document.proposal is None
    assert "how much to let in" in dialog.refusal.text() and dialog.refusal.isVisible()


def test_typing_previews_and_ok_makes_one_entry_of_undo(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    document, before = driver.window.document, driver.design
    typed(driver, dialog, "180", "1 3/8 in")
    wanted = plug(before, 180.0, 1.375 * 25.4)
    assert document.design == wanted and document.committed is before and document.proposal is not None
    assert "34.9 mm let in at 180.0 mm" in dialog.words.text() and dialog.ok.text() == "Let it in"
    fraction = driver.window.readout.readings.value("cla_fraction")
    assert f"CLA fraction {100 * fraction:.1f} %" in dialog.effect.text()
    QTest.mouseClick(dialog.ok, Qt.MouseButton.LeftButton)
    driver.settle()
    assert document.committed == wanted and document.proposal is None and names(driver) == [LET_IN]
    assert not dialog.stage.is_open
    document.undo()
    assert document.design is before


def test_a_minus_takes_out_under_its_own_name(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "125", "8")
    typed(driver, dialog, "125", "-8")
    assert dialog.ok.text() == "Take it out" and driver.design == plug(before, 125.0, -8.0)
    QTest.keyClick(dialog.length.line, Qt.Key.Key_Return)
    driver.settle()
    assert names(driver) == [TAKE_OUT] and driver.design == plug(before, 125.0, -8.0)


def test_keys_and_buttons_step_by_whole_steps(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    line = dialog.length.line
    QTest.keyClick(line, Qt.Key.Key_Up)
    QTest.keyClick(line, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert dialog.length.value == 11.0 and line.text() == "11.0 mm"
    QTest.mouseClick(dialog.length.more, Qt.MouseButton.LeftButton)
    assert dialog.length.value == 16.0
    assert driver.design == plug(before, dialog.station.value or 0.0, 16.0)
    for _ in range(4):
        QTest.mouseClick(dialog.length.less, Qt.MouseButton.LeftButton)
    assert dialog.length.value == -4.0 and names(driver) == []


@pytest.mark.parametrize("way", ["escape", "cancel", "close"])
def test_leaving_it_leaves_the_design_as_it_was(opened: tuple[Driver, PlugWindow], way: str) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "180", "35")
    assert driver.design is not before
    if way == "escape":
        QTest.keyClick(dialog.length.line, Qt.Key.Key_Escape)
    elif way == "cancel":
        cancel = dialog.buttons.button(dialog.buttons.StandardButton.Cancel)
        QTest.mouseClick(cancel, Qt.MouseButton.LeftButton)
    else:
        dialog.close()
    driver.settle()
    assert driver.design is before and names(driver) == [] and driver.window.document.proposal is None
    assert driver.canvas.hand.name == "edit"


def test_a_refusal_is_said_and_ok_waits(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "180", "35")
    for station, length, words in (
        ("3000", "35", "Nothing is cut at 3000.0 mm: choose a station between"),
        ("125", "-2000", "choose another station"), ("180", "35 miles", "miles"),
        ("", "35", "Type the station"),
    ):
        typed(driver, dialog, station or " ", length)
        assert words in dialog.refusal.text(), (station, length, dialog.refusal.text())
        assert not dialog.ok.isEnabled() and not dialog.words.isVisible() and driver.design is before


def test_the_part_that_stays_can_be_chosen(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "180", "35")
    assert dialog.keep.itemText(0) == "The part that bears the wing: behind the cut"
    dialog.keep.setCurrentIndex(1)
    dialog.keep.activated.emit(1)
    assert driver.design == plug(before, 180.0, 35.0, keep="front")
    typed(driver, dialog, "500", "35")
    assert dialog.keep.itemText(0) == "The part that bears the wing: ahead of the cut"


def test_a_click_on_the_canvas_gives_the_station(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "125", "35")
    QTest.mouseClick(dialog.pick, Qt.MouseButton.LeftButton)
    assert driver.canvas.hand.name == "station" and dialog.pick.isChecked()
    at = driver.spot((160.0, -90.0))
    driver.click((160.0, -90.0))
    driver.settle()
    assert dialog.station.value == pytest.approx(at[0], abs=0.051)
    assert driver.design == plug(before, dialog.station.value or 0.0, 35.0)
    guides = driver.canvas.hand.overlay().guides
    (low, high) = sorted(z for _, z in guides[0])
    top, bottom = driver.canvas.view.z, driver.canvas.view.to_mm(0, driver.canvas.height())[1]
    assert guides[0][0][0] == dialog.station.value and low < bottom and high > top
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.canvas.hand.name == "edit" and not dialog.pick.isChecked() and dialog.stage.shown


def test_an_edit_on_the_canvas_goes_before_the_preview_not_into_it(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "125", "35")
    seen: list[Design] = []
    driver.window.document.listen(
        lambda c: seen.append(driver.design) if c == Change("preview", "canvas", "drag node") else None
    )
    driver.click((690, 110))
    driver.settle()
    assert dialog.stage.shown
    driver.drag((650, 160), (640, 170))
    driver.settle()
    document = driver.window.document
    assert [n for n in names(driver) if n in (LET_IN, TAKE_OUT)] == [] and len(names(driver)) == 1
    # The drag knew nothing of the plug; the plug is shown again on what the drag made.
    nose = min(n.x for n in before.outline("fuselage").nodes)
    assert min(n.x for n in document.committed.outline("fuselage").nodes) == nose
    assert document.committed != before and document.design == plug(document.committed, 125.0, 35.0)
    assert all(min(n.x for n in d.outline("fuselage").nodes) == nose for d in seen)


def test_saving_meanwhile_saves_the_design_without_the_plug(
    opened: tuple[Driver, PlugWindow], tmp_path_factory: pytest.TempPathFactory
) -> None:
    driver, dialog = opened
    window, before = driver.window, driver.design
    path = tmp_path_factory.mktemp("plug") / "a.sternpost"
    window.document.save(path)
    typed(driver, dialog, "125", "35")
    window.activateWindow()
    window.canvas.setFocus()
    QTest.keyClick(window.canvas, Qt.Key.Key_S, CTRL)
    driver.settle()
    assert window.document.committed == before and names(driver) == [] and not window.document.dirty
    assert dialog.stage.is_open and dialog.stage.shown
    assert driver.design == plug(before, 125.0, 35.0)


def test_undo_takes_the_preview_back_and_the_window_away(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    typed(driver, dialog, "125", "35")
    driver.window.undoing.undo()
    driver.settle()
    assert driver.design is before and not dialog.stage.is_open and names(driver) == []


def test_a_change_of_units_is_followed(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    typed(driver, dialog, "127", "25.4")
    driver.window.edits.set_units("in")
    driver.settle()
    assert dialog.station.line.text() == "5.00 in" and dialog.length.line.text() == "1.00 in"
    assert dialog.words.text().startswith("1.00 in let in at 5.00 in")
    assert dialog.stage.shown and names(driver) == ["change units"]


def test_another_design_closes_it(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    typed(driver, dialog, "125", "35")
    driver.open_outlines(bare_sample())
    driver.settle()
    assert not dialog.stage.is_open and driver.design == bare_sample()
    assert driver.window.document.proposal is None
    # What is gone hears of nothing any more.
    driver.window.edits.set_units("in64")
    driver.settle()
    assert names(driver) == ["change units"]


def test_two_at_once_do_not_fight(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    before = driver.design
    other = PlugWindow(driver.window.beside)
    other.show()
    typed(driver, dialog, "125", "35")
    typed(driver, other, "180", "20")
    driver.settle()
    assert other.stage.shown and not dialog.stage.shown and driver.design == plug(before, 180.0, 20.0)
    other.stage.clear()
    driver.settle()
    assert driver.design is before
    other.close()
    dialog.activateWindow()
    driver.until(lambda: dialog.stage.shown)
    assert driver.design == plug(before, 125.0, 35.0)
    typed(driver, dialog, "125", "36")
    assert driver.design == plug(before, 125.0, 36.0)


def test_it_is_dressed_by_day_and_by_night(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    typed(driver, dialog, "3000", "35")
    for theme in (NIGHT, DAY):
        dialog.set_theme(theme)
        assert theme.fault in dialog.refusal.styleSheet()


def test_the_station_hand_takes_what_is_shown_and_nudges() -> None:
    bench = PlainBench(small_aeroplane())
    hand = StationHand(bench)
    taken: list[float] = []
    hand.wanted = taken.append
    person = Person(hand)
    person.hover((179.9666, 20.0))
    assert hand.overlay().figure == "station 180.0 mm"
    person.click((179.9666, 20.0))
    assert taken == [180.0]
    person.drag((180.0, 0.0), (220.0, 0.0))
    assert taken[-1] == pytest.approx(220.0, abs=0.05)
    taken.clear()
    assert hand.key("Right") and hand.key("Left", shift=True) and hand.key("Up")
    assert taken == pytest.approx([221.0, 211.0, 211.0])
    assert hand.key("Escape") and bench.taken == ["edit"] and bench.changes == []


def test_it_says_what_lead_it_saves(opened: tuple[Driver, PlugWindow]) -> None:
    driver, dialog = opened
    motor = Weight("motor", 100.0, 30.0), Weight("battery", 300.0, 330.0)
    driver.window.document.apply("weights", lambda d: replace(d, weights=motor))
    driver.settle()
    typed(driver, dialog, "125", "35")
    assert dialog.effect.text().endswith(" of lead in the nose.")
    assert lead_saved_words(driver.window.document.committed, driver.design) in dialog.effect.text()
    assert "saves" in dialog.effect.text()
