"""The refit window and its worker: the table, the preview of a way, one entry of undo, and stopping."""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event, current_thread, main_thread

import pytest
from driving import CTRL, Driver, bare_sample, fresh_readings
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.kit.theme import DAY, NIGHT
from app.kit.worker import Job, Worker
from app.side.refit_window import THERE_NOW, RefitWindow
from app.side.refit_work import undo_name
from app.side.ways_table import COLUMNS, cell
from core.design import Design
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError, refit, ways_table
from core.redesign.refit_ways import LABELS, WAYS, WayKey

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
Opened = tuple[Driver, RefitWindow]


@pytest.fixture
def opened(driver: Driver) -> Iterator[Opened]:
    driver.open_outlines(bare_sample("marsh-harrow-52"))
    dialog = RefitWindow(driver.window.beside)
    dialog.show()
    worked_out(driver, dialog)
    # It opens with both, since the handbook is not content with this one; most here is about the rule.
    assert dialog.target.currentText() == "both witnesses: CLA fraction"
    bring(driver, dialog, "CLA fraction")
    yield driver, dialog
    if dialog.stage.is_open:
        dialog.close()
    driver.settle()


def worked_out(driver: Driver, dialog: RefitWindow) -> None:
    driver.settle()
    driver.until(lambda: not dialog.worker.busy and not dialog._soon.isActive())
    driver.settle()


def bring(driver: Driver, dialog: RefitWindow, what: str) -> None:
    """Choose what is brought to a value, as a click in the list does."""
    dialog.target.setCurrentIndex(dialog.target.findText(what))
    dialog.target.activated.emit(dialog.target.currentIndex())
    worked_out(driver, dialog)


def row_of(dialog: RefitWindow, way: WayKey) -> int:
    """Where that way stands in the table; the design as it is stands in row 0."""
    assert dialog._found is not None
    return 1 + [row.way for row in dialog._found.rows].index(way)


def choose(driver: Driver, dialog: RefitWindow, way: WayKey) -> None:
    row = row_of(dialog, way)
    item = dialog.table.item(row, 0)
    assert item is not None
    at = dialog.table.visualItemRect(item).center()
    QTest.mouseClick(dialog.table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    driver.settle()


def ask(driver: Driver, dialog: RefitWindow, text: str) -> None:
    dialog.value.setFocus()
    QTest.keyClick(dialog.value, Qt.Key.Key_A, CTRL)
    QTest.keyClicks(dialog.value, text)
    QTest.keyClick(dialog.value, Qt.Key.Key_Return)
    worked_out(driver, dialog)


def names(driver: Driver) -> list[str]:
    return [name for name, _ in driver.window.document._done]


def row_texts(dialog: RefitWindow, row: int) -> list[str]:
    found = []
    for part in range(dialog.table.columnCount()):
        item = dialog.table.item(row, part)
        assert item is not None
        found.append(item.text())
    return found


def test_the_table_shows_what_the_core_says(opened: Opened) -> None:
    driver, dialog = opened
    design, table = driver.design, dialog.table
    rows = ways_table(design, "cla_fraction", design.aim.cla_fraction)
    assert table.rowCount() == 1 + len(WAYS) and dialog.value.text() == "25.0 %"
    readings = fresh_readings(design)
    present = row_texts(dialog, 0)
    assert present[0] == "As it is"
    assert present[1] == f"{100 * (readings.value('cla_fraction') or 0):.1f}"
    for at, row in enumerate(rows, start=1):
        shown = row_texts(dialog, at)
        assert shown[0].startswith(LABELS[row.way])
        assert ("does not reach it" in shown[0]) == (row.why is not None)
        assert shown[1:] == [cell(c, getattr(row, c.field), design.display_units) for c in COLUMNS]
    assert not dialog.do_button.isEnabled() and driver.window.document.proposal is None


def test_choosing_previews_and_doing_it_is_one_entry(opened: Opened) -> None:
    driver, dialog = opened
    document, before = driver.window.document, driver.design
    for way in ("scale", "height"):
        choose(driver, dialog, way)
        found = refit(before, way, "cla_fraction", 0.25)
        assert document.design == found.design and document.committed is before
        assert dialog.words.text().startswith("\n".join(found.words))
        assert f"The answer would be: {found.answer.state_words}." in dialog.words.text()
        assert all(caution in dialog.cautions.text() for caution in found.cautions)
    assert dialog.do_button.isEnabled() and not dialog.near.isEnabled() and names(driver) == []
    QTest.mouseClick(dialog.do_button, Qt.MouseButton.LeftButton)
    worked_out(driver, dialog)
    assert names(driver) == [undo_name("height")] == ["refit: height of the fin"]
    assert fresh_readings(document.committed).value("cla_fraction") == pytest.approx(0.25, abs=1e-4)
    # The window goes on from there: what is now reads the aim, and nothing is chosen.
    assert row_texts(dialog, 0)[1] == "25.0" and dialog.table.chosen() is None and document.proposal is None
    assert dialog.words.text() == "Done: refit: height of the fin. Undo takes it back."
    assert dialog.table.rowCount() == 1 and dialog.state.text().startswith(THERE_NOW)
    document.undo()
    worked_out(driver, dialog)
    assert document.design is before and row_texts(dialog, 0)[1] == "19.5"


def test_a_way_that_does_not_reach_it_needs_a_tick(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    choose(driver, dialog, "dorsal")
    found = refit(before, "dorsal", "cla_fraction", 0.25)
    assert not found.solved and "The nearest is" in dialog.words.text()
    assert not dialog.do_button.isEnabled() and dialog.near.isEnabled()
    dialog.do_it()
    assert names(driver) == []
    QTest.keyClick(dialog.near, Qt.Key.Key_Space)
    # Its result is in doubt as well, which needs a tick of its own.
    assert not dialog.do_button.isEnabled() and dialog.all_the_same.isEnabled()
    QTest.keyClick(dialog.all_the_same, Qt.Key.Key_Space)
    assert dialog.do_button.isEnabled()
    QTest.mouseClick(dialog.do_button, Qt.MouseButton.LeftButton)
    worked_out(driver, dialog)
    assert names(driver) == ["refit: dorsal fin"] and driver.window.document.committed == found.design
    assert not dialog.near.isChecked()


def test_another_value_and_another_reading(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    ask(driver, dialog, "22")
    choose(driver, dialog, "chord")
    assert driver.design == refit(before, "chord", "cla_fraction", 0.22).design
    bring(driver, dialog, "Cnβ")
    assert dialog.value.text() == "0.060"
    # The way that was chosen stays chosen, for the new value.
    assert driver.design == refit(before, "chord", "cn_beta", 0.06).design
    ask(driver, dialog, "0.05")
    assert driver.design == refit(before, "chord", "cn_beta", 0.05).design and names(driver) == []


def test_a_result_that_must_not_be_flown_says_so_comes_last_and_needs_a_tick(driver: Driver) -> None:
    driver.open_outlines(bare_sample("tallow-twin"))
    dialog = RefitWindow(driver.window.beside)
    dialog.show()
    worked_out(driver, dialog)
    # The handbook is content with this one: the rule alone is asked for.
    assert dialog.target.currentText() == "CLA fraction" and not dialog.firm.isVisible()
    row = row_of(dialog, "cg")
    assert row_texts(dialog, row)[0] == "Move the CG – do not fly it so"
    assert all(row > row_of(dialog, way) for way in ("scale", "height", "chord"))
    choose(driver, dialog, "cg")
    assert "The answer would be: do not fly it so." in dialog.words.text()
    assert not dialog.do_button.isEnabled() and dialog.all_the_same.isEnabled()
    dialog.do_it()
    assert names(driver) == []
    # A tick for one way does not hold for the next.
    QTest.keyClick(dialog.all_the_same, Qt.Key.Key_Space)
    assert dialog.do_button.isEnabled()
    choose(driver, dialog, "scale")
    assert dialog.do_button.isEnabled() and not dialog.all_the_same.isEnabled()
    choose(driver, dialog, "cg")
    assert not dialog.all_the_same.isChecked() and not dialog.do_button.isEnabled()
    dialog.close()
    driver.settle()


def test_both_witnesses_are_brought_there_at_once(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    bring(driver, dialog, "both witnesses: CLA fraction")
    assert dialog.firm.isVisible() and dialog.firm.text() == "0.050"
    choose(driver, dialog, "height")
    assert driver.design == refit(before, "height", "both", 0.25, firm=0.05).design
    dialog.firm.setFocus()
    QTest.keyClick(dialog.firm, Qt.Key.Key_A, CTRL)
    QTest.keyClicks(dialog.firm, "0.09")
    QTest.keyClick(dialog.firm, Qt.Key.Key_Return)
    worked_out(driver, dialog)
    assert driver.design == refit(before, "height", "both", 0.25, firm=0.09).design


def test_lengths_of_added_fins_are_taken(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    QTest.keyClicks(dialog.ventral, "5 in")
    QTest.keyClick(dialog.ventral, Qt.Key.Key_Return)
    worked_out(driver, dialog)
    choose(driver, dialog, "ventral")
    assert driver.design == refit(before, "ventral", "cla_fraction", 0.25, length=127.0).design


def test_what_cannot_be_read_is_said(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    choose(driver, dialog, "scale")
    ask(driver, dialog, "much")
    assert "“much”" in dialog.state.text() and dialog.table.rowCount() == 0 and driver.design is before
    assert not dialog.do_button.isEnabled()
    ask(driver, dialog, "25")
    assert dialog.table.rowCount() == 1 + len(WAYS)


def test_a_new_aim_and_new_units_are_followed(opened: Opened) -> None:
    driver, dialog = opened
    document = driver.window.document
    document.apply("set the aim", lambda d: replace(d, aim=replace(d.aim, cla_fraction=0.23)))
    driver.settle()
    worked_out(driver, dialog)
    assert dialog.value.text() == "23.0 %" and row_texts(dialog, 1)[1] == "23.0"
    driver.window.edits.set_units("mm")
    driver.settle()
    worked_out(driver, dialog)
    head = dialog.table.horizontalHeaderItem(4)
    assert head is not None and head.text() == "Height\nmm"


def test_an_edit_elsewhere_goes_on_without_the_preview(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    choose(driver, dialog, "height")
    driver.canvas.fit()
    fin = before.outline("fin")
    top = max(fin.nodes, key=lambda n: n.z)
    driver.click((top.x, top.z - 5))
    driver.drag((top.x, top.z), (top.x, top.z + 20))
    driver.settle()
    worked_out(driver, dialog)
    document = driver.window.document
    assert len(names(driver)) == 1 and not names(driver)[0].startswith("refit")
    moved = document.committed.outline("fin")
    assert max(n.z for n in moved.nodes) < top.z + 40
    assert document.design == refit(document.committed, "height", "cla_fraction", 0.25).design


def test_undo_lets_the_way_be(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    choose(driver, dialog, "height")
    driver.window.undoing.undo()
    driver.settle()
    assert driver.design is before and dialog.stage.is_open and dialog.table.chosen() is None
    assert not dialog.do_button.isEnabled()


def test_closing_leaves_the_design_and_no_thread(opened: Opened) -> None:
    driver, dialog = opened
    before = driver.design
    choose(driver, dialog, "height")
    dialog.work_out()
    dialog.close()
    driver.settle()
    assert driver.design is before and driver.window.document.proposal is None
    assert dialog.worker._threads is None


def test_stop_stops_and_return_begins_again(opened: Opened) -> None:
    driver, dialog = opened
    dialog.work_out()
    QTest.mouseClick(dialog.stop_button, Qt.MouseButton.LeftButton)
    driver.settle()
    assert not dialog.worker.busy and dialog.table.rowCount() == 0 and "Stopped" in dialog.state.text()
    QTest.keyClick(dialog.value, Qt.Key.Key_Return)
    worked_out(driver, dialog)
    assert dialog.table.rowCount() == 1 + len(WAYS)


def test_a_design_without_a_fin_says_so_in_every_row(driver: Driver) -> None:
    whole = bare_sample()
    tail = ("fin", "rudder")
    driver.open_outlines(replace(whole, outlines=tuple(o for o in whole.outlines if o.kind not in tail)))
    dialog = RefitWindow(driver.window.beside)
    dialog.show()
    worked_out(driver, dialog)
    assert "0 of 7 ways" in dialog.state.text()
    choose(driver, dialog, "height")
    assert "cannot be gone" in row_texts(dialog, row_of(dialog, "height"))[0] and "fin" in dialog.words.text()
    assert not dialog.do_button.isEnabled() and driver.window.document.proposal is None
    dialog.close()
    driver.settle()


def test_it_is_dressed_by_day_and_by_night(opened: Opened) -> None:
    _, dialog = opened
    for theme in (NIGHT, DAY):
        dialog.set_theme(theme)
        item = dialog.table.item(row_of(dialog, "dorsal"), 0)
        assert item is not None and item.foreground().color().name() == theme.ink_soft


# The worker


def test_the_worker_computes_beside_the_drawing_thread_and_tells_in_it(qtbot: QtBot) -> None:
    worker = Worker(None, "refit")
    there: list[bool] = []
    heard: list[object] = []

    def compute(job: Job) -> object:
        there.append(current_thread() is main_thread())
        job.tell("half")
        return 42

    worker.progress.connect(lambda v: heard.append((v, current_thread() is main_thread())))
    with qtbot.waitSignal(worker.done) as done:
        worker.start(compute)
    assert done.args == [42] and there == [False] and heard == [("half", True)] and not worker.busy
    worker.stop()


def test_what_is_dropped_is_not_heard_of(qtbot: QtBot) -> None:
    worker = Worker(None, "refit")
    begun, dropped = Event(), Event()
    heard: list[object] = []
    worker.done.connect(heard.append)
    worker.failed.connect(heard.append)

    def long(job: Job) -> object:
        begun.set()
        while not job.gone():
            begun.wait(0.001)
        dropped.set()
        raise CancelledError

    worker.start(long)
    assert begun.wait(10)
    with qtbot.waitSignal(worker.done):
        worker.start(lambda _: "second")
    assert dropped.is_set() and heard == ["second"]
    worker.start(long)
    worker.stop()
    assert heard == ["second"] and not worker.busy


def test_a_reason_becomes_a_sentence(qtbot: QtBot) -> None:
    worker = Worker(None, "refit")

    def refused(_: Job) -> Design:
        raise EditError("there is no fin: trace it first")

    with qtbot.waitSignal(worker.failed) as failed:
        worker.start(refused)
    assert failed.args == ["there is no fin: trace it first"]
    worker.stop()
