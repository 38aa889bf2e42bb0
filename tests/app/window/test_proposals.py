"""A proposal on view is not the design: nothing that leaves the program knows of it, and the window says so.

Every command that writes is run three times: with the proposal on view, without it, and after it was
done. The first two must give the same, the third must not: a command that could not tell the
proposal from the design would prove nothing.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pypdfium2
import pytest
from driving import CTRL, FREE, LEFT, SHIFT, Driver, bare_sample, drag_to, fresh_readings
from green import exact_moments
from msgspec.structs import replace
from PySide6 import QtPrintSupport
from PySide6.QtCore import QEventLoop, QPoint, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QLineEdit

from app.keeping.recovery_file import load
from app.kit.theme import DAY, NIGHT
from app.paper.exchange import read_outlines
from app.side.stage import Stage
from app.window.edit_commands import MIME
from app.window.unforeseen import Unforeseen
from app.work.selection import Selection
from core.design import Design, Mark
from core.design_file import read
from core.geometry.ring import ring_of
from core.redesign.bench_edits import set_crossing
from core.redesign.design_edits import change_outlines
from core.redesign.plug import plug
from core.redesign.refit import refit

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
Key = Qt.Key
NAME = "a taller fin, further aft"
Staged = tuple[Driver, Stage, Design, Design]


@pytest.fixture
def staged(driver: Driver) -> Iterator[Staged]:
    """A design with one edit that is not saved, and a window that proposes another fin and a plug."""
    driver.open_outlines(replace(bare_sample(), display_units="mm"))
    document = driver.window.document
    document.apply("lock", lambda d: change_outlines(d, ["cabin"], locked=True))
    before = document.committed
    proposed = plug(refit(before, "height", "cla_fraction", 0.25).design, 500.0, 60.0)
    dialog = QDialog(driver.window)
    beside = driver.window.beside
    stage = Stage(beside, dialog, lambda: stage.show(NAME, proposed), lambda: None, dialog.close)
    stage.show(NAME, proposed)
    driver.settle()
    yield driver, stage, before, proposed
    stage.close()
    dialog.deleteLater()
    driver.settle()


# What is written, and how it is read back


def pages(path: Path) -> object:
    with pypdfium2.PdfDocument(path) as document:
        return [
            (page.get_textpage().get_text_bounded(), np.asarray(page.render(scale=1.5).to_numpy()).tobytes())
            for page in document
        ]


def image(path: Path) -> object:
    found = QImage(str(path))
    return found.width(), found.height(), bytes(found.constBits())


def outlines(path: Path) -> list[tuple[str, float]]:
    found = read_outlines(path.suffix, path.read_bytes(), None, None).outlines
    return [(o.label, round(abs(exact_moments(ring_of(o.nodes))[0]), 3)) for o in found]


def table(path: Path) -> dict[str, list[str]]:
    return {row[0]: row[1:] for row in csv.reader(path.read_text("utf-8-sig").splitlines())}


def out(driver: Driver, window: Any, printed: bool) -> None:
    window.foot.print() if printed else window.foot.write()
    driver.until(lambda: not window.foot.worker.busy)
    driver.settle()


def closed(driver: Driver, window: Any) -> None:
    window.close()
    driver.settle()


def setting_up(driver: Driver, printed: bool) -> None:
    window: Any = driver.window.side.show("setting-up")
    out(driver, window, printed)
    closed(driver, window)


def bench_sheet(driver: Driver, printed: bool) -> None:
    window: Any = driver.window.side.show("bench-sheet")
    out(driver, window, printed)
    closed(driver, window)


def card(driver: Driver, printed: bool) -> None:
    window: Any = driver.window.side.show("card")
    driver.until(lambda: window.sheets is not None and not window.worker.busy)
    committed = fresh_readings(driver.window.document.committed)
    assert window.sheets.readings.value("cla_fraction") == pytest.approx(committed.value("cla_fraction"))
    out(driver, window, printed)
    closed(driver, window)


def template(driver: Driver, printed: bool) -> None:
    window: Any = driver.window.side.show("template")
    driver.until(lambda: window._plan is not None and not window.planner.busy)
    out(driver, window, printed)
    closed(driver, window)


def kept_state(driver: Driver, path: Path) -> None:
    document = driver.window.document
    driver.window.kept.ask_name()
    driver.window.kept.keep()
    kept = document.committed.alternatives[-1].id
    from core.redesign.alternatives import state_of

    path.write_bytes(msgspec.json.encode(state_of(document.committed, kept).outlines))


def recovery_state(driver: Driver, path: Path) -> None:
    keeper = driver.window.keeper
    keeper.keep()
    keeper.recovery.flush()
    path.write_bytes(msgspec.json.encode(load(keeper.recovery._file)[1].outlines))


def copied(driver: Driver, path: Path) -> None:
    driver.window.picked.set(Selection(("fin", "rudder")))
    driver.do("copy")
    path.write_bytes(QGuiApplication.clipboard().mimeData().data(MIME).data())


def compared(driver: Driver, path: Path) -> None:
    window: Any = driver.window.side.show("compare")
    window.copy()
    path.write_text(QGuiApplication.clipboard().text())
    closed(driver, window)


Write = Callable[[Driver, Path], object]
Look = Callable[[Path], object]


def menu(entry: str) -> Write:
    return lambda driver, path: driver.do(entry)


COMMANDS: dict[str, tuple[str, Write, Look]] = {
    "save as": (".sternpost", menu("save-as"), lambda p: read(p).design),
    "SVG": (".svg", menu("export-svg"), outlines),
    "DXF": (".dxf", menu("export-dxf"), outlines),
    "CSV": (".csv", menu("export-csv"), table),
    "PNG": (".png", menu("export-png"), image),
    "picture as SVG": (".svg", menu("export-svg-picture"), Path.read_bytes),
    "bench sheet": (".pdf", lambda d, p: bench_sheet(d, False), pages),
    "bench sheet printed": (".pdf", lambda d, p: bench_sheet(d, True), pages),
    "setting-up sheet": (".pdf", lambda d, p: setting_up(d, False), pages),
    "setting-up sheet printed": (".pdf", lambda d, p: setting_up(d, True), pages),
    "card copy": (".pdf", lambda d, p: card(d, False), pages),
    "card copy printed": (".pdf", lambda d, p: card(d, True), pages),
    "template": (".pdf", lambda d, p: template(d, False), pages),
    "template printed": (".pdf", lambda d, p: template(d, True), pages),
    "kept state": (".json", kept_state, Path.read_bytes),
    "recovery": (".json", recovery_state, Path.read_bytes),
    "copied outlines": (".json", copied, Path.read_bytes),
    "table copied as text": (".txt", compared, Path.read_bytes),
}


@pytest.fixture
def pumping(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Every dialogue that asks for a file or a printer lets the events run, as one of the system does.

    The last path in the list is what it answers.
    """
    target: list[Path] = []

    def pump() -> None:
        loop = QEventLoop()
        for _ in range(4):
            QApplication.processEvents()
            QTimer.singleShot(0, loop.quit)
            loop.exec()

    def ask(*_: object) -> tuple[str, str]:
        pump()
        return str(target[-1]), ""

    class Printing:
        def __init__(self, printer: QPrinter, parent: object) -> None:
            printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
            printer.setOutputFileName(str(target[-1]))

        def exec(self) -> bool:
            pump()
            return True

    monkeypatch.setattr(QFileDialog, "getSaveFileName", ask)
    monkeypatch.setattr(QtPrintSupport, "QPrintDialog", Printing)
    return target


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_what_leaves_the_program_is_the_committed_design(
    staged: Staged, pumping: list[Path], tmp_path: Path, command: str
) -> None:
    driver, stage, before, proposed = staged
    document = driver.window.document
    ending, write, look = COMMANDS[command]

    def written(name: str) -> object:
        pumping.append(tmp_path / f"{name}{ending}")
        write(driver, pumping[-1])
        return look(pumping[-1])

    with_it = written("with")
    driver.settle()
    assert stage.shown and document.design.outlines == proposed.outlines, "it is on view again"
    assert document.committed.outlines == before.outlines
    stage.clear()
    assert with_it == written("without")
    driver.settle()
    stage.show(NAME, replace(proposed, alternatives=document.committed.alternatives))
    assert stage.commit()
    assert with_it != written("done")


def test_the_figures_of_csv_and_bench_sheet_are_those_of_the_design(
    staged: Staged, pumping: list[Path], tmp_path: Path
) -> None:
    driver, _, before, proposed = staged
    was, would_be = (fresh_readings(d) for d in (before, proposed))
    pumping.append(tmp_path / "a.csv")
    driver.do("export-csv")
    told = table(pumping[-1])
    for key in ("cla_fraction", "cla_fraction_error", "fin_area", "tail_arm", "cn_beta"):
        value, other = was.value(key), would_be.value(key)
        assert value is not None and value != other
        numbers = [float(cell) for cell in told[key] if cell.lstrip("-").replace(".", "", 1).isdigit()]
        assert any(n == pytest.approx(value, rel=1e-4) for n in numbers), (key, told[key])
        assert not any(n == pytest.approx(other, rel=1e-4) for n in numbers), (key, told[key])
    pumping.append(tmp_path / "a.pdf")
    bench_sheet(driver, False)
    with pypdfium2.PdfDocument(pumping[-1]) as document:
        words = document[0].get_textpage().get_text_bounded()
    one, other_one = (f"{100 * (r.value('cla_fraction') or 0.0):.1f} %" for r in (was, would_be))
    assert one in words and other_one not in words and one != other_one


def test_save_as_by_the_dialogue_that_qt_draws_and_by_the_keys(staged: Staged, tmp_path: Path) -> None:
    driver, stage, before, _ = staged
    path = tmp_path / "by keys.sternpost"
    looks: list[bool] = []

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if not isinstance(dialog, QFileDialog):
            QTimer.singleShot(1, look)
            return
        looks.append(stage.shown)
        if len(looks) < 5:
            QTimer.singleShot(0, look)
            return
        line = dialog.findChild(QLineEdit)
        assert line is not None
        line.setText(str(path))
        QTest.keyClick(line, Key.Key_Return)

    QTimer.singleShot(0, look)
    driver.canvas.setFocus()
    QTest.keyClick(driver.canvas, Key.Key_S, CTRL | SHIFT)
    driver.settle()
    assert looks == [True] * 5 and read(path).design == before == driver.window.document.committed
    assert stage.shown and not driver.window.document.dirty
    # Once more, to its own file.
    QTest.keyClick(driver.canvas, Key.Key_S, CTRL)
    assert read(path).design == before and stage.shown


def shown_by(driver: Driver, which: str) -> Any:
    """The window of that name with a proposal on view."""
    window: Any = driver.window.side.show(which)
    if which == "refit":
        driver.until(lambda: not window.worker.busy and not window._soon.isActive())
        window.table.selectRow(2)
    elif which == "plug":
        window.station.set_value(500.0)
        window.length.set_value(60.0)
        window.refresh()
    else:
        driver.until(lambda: window.data is not None and not window._soon.isActive())
        for _ in range(3):
            QTest.keyClick(window.plots["cla_fraction"].field, Key.Key_Right, SHIFT)
    driver.settle()
    return window


@pytest.mark.parametrize("which", ["refit", "plug", "curves"])
def test_each_window_that_proposes_leaves_the_files_alone(
    driver: Driver, pumping: list[Path], tmp_path: Path, which: str
) -> None:
    driver.open_outlines(bare_sample())
    document, before = driver.window.document, driver.design
    window = shown_by(driver, which)
    proposal = document.proposal
    assert proposal is not None and document.design is proposal.design != before
    for entry, ending in (("save-as", ".sternpost"), ("export-svg", ".svg")):
        pumping.append(tmp_path / f"a{ending}")
        driver.do(entry)
    assert read(tmp_path / "a.sternpost").design == before == document.committed
    areas = {o.name: abs(exact_moments(ring_of(o.nodes))[0]) for o in before.outlines}
    for label, area in outlines(tmp_path / "a.svg"):
        assert area == pytest.approx(areas[label], rel=1e-5)
    driver.settle()
    assert document.proposal is not None and document.undo_name == "the proposal"
    closed(driver, window)
    assert document.proposal is None and document.design is document.committed is before
    assert document.undo_name is None


@pytest.mark.parametrize("entry", ["save-as", "export-csv", "export-svg"])
def test_in_the_middle_of_a_drag_the_committed_design_is_written_and_the_drag_goes_on(
    driver: Driver, pumping: list[Path], tmp_path: Path, entry: str
) -> None:
    driver.open_outlines(bare_sample())
    driver.canvas.fit()
    document, before = driver.window.document, driver.design
    top = max(before.outline("fin").nodes, key=lambda n: n.z)
    end = (top.x + 5, top.z + 40)
    driver.click((top.x - 6, top.z - 20))
    driver.drag((top.x, top.z), end, drop=False)
    assert document.busy and driver.design != before
    ending, _, look = COMMANDS[
        {"save-as": "save as", "export-csv": "CSV", "export-svg": "SVG"}[entry]
    ]
    pumping.append(tmp_path / f"during{ending}")
    driver.do(entry)
    assert document.busy and document.committed is before and driver.design != before
    further = driver.px(end) + QPoint(0, -12)
    drag_to(driver.canvas, further, LEFT, FREE)
    QTest.mouseRelease(driver.canvas, LEFT, FREE, further)
    driver.settle()
    assert document.committed != before and document.dirty and document.undo_name is not None
    pumping.append(tmp_path / f"dragged{ending}")
    driver.do(entry)
    driver.do("undo")
    assert document.committed == before
    pumping.append(tmp_path / f"after{ending}")
    driver.do(entry)
    during, dragged, after = (look(path) for path in pumping)
    assert during == after != dragged


# What is seen


def test_error_band_and_reversal_of_a_proposal_are_its_own(staged: Staged) -> None:
    driver, stage, before, proposed = staged
    readout = driver.window.readout
    was, would_be = fresh_readings(before), fresh_readings(proposed)
    for key in would_be.table:
        for shown, fresh in ((readout.readings, would_be), (readout.committed_readings, was)):
            value = fresh.value(key)
            wanted = None if value is None else pytest.approx(value, rel=1e-6, abs=1e-7)
            assert shown.value(key) == wanted, key
    slow = [key for key in was.table if key == "cla_fraction_error" or "reversal" in key]
    assert slow and all(would_be.value(key) != was.value(key) for key in slow if was.value(key) is not None)
    stage.clear()
    for key in slow:
        wanted = was.value(key)
        assert readout.readings.value(key) == (None if wanted is None else pytest.approx(wanted, rel=1e-6))


@pytest.mark.parametrize("theme", [DAY, NIGHT])
def test_the_window_says_that_it_is_a_proposal_as_long_as_it_is_one(staged: Staged, theme: Any) -> None:
    driver, stage, _, _ = staged
    window = driver.window
    window.strip.set_theme(theme)
    words = window.strip.proposal
    assert words.isVisible() and words.text() == f"Proposal, not done yet – {NAME}"
    assert theme.pick in words.styleSheet() and "proposal on view" in window.windowTitle()
    assert window.answer.accessibleDescription().startswith(words.text())
    stage.rest()
    assert not words.isVisible() and "proposal" not in window.windowTitle()
    assert "roposal" not in window.answer.accessibleDescription()
    window.strip.set_theme(window.theme)


def test_the_curve_of_yaw_says_of_which_it_is(staged: Staged) -> None:
    driver, stage, _, _ = staged
    window: Any = driver.window.side.show("slip")
    assert window.words.text().startswith("If the proposal is done: ")
    stage.rest()
    driver.until(lambda: not window.words.text().startswith("If the proposal is done"))
    closed(driver, window)


def test_it_covers_nothing_of_the_canvas(staged: Staged) -> None:
    """What it says stands above: the canvas keeps its place and its size to the pixel."""
    driver, stage, _, _ = staged
    window = driver.window
    window.resize(window.minimumSizeHint())
    driver.settle()
    size, place = window.size(), window.canvas.geometry()
    assert not window.strip.geometry().intersects(place) and window.strip.proposal.isVisible()
    stage.rest()
    driver.settle()
    assert window.canvas.geometry() == place and window.size() == size


def test_fields_and_lists_show_the_design_as_it_is(staged: Staged) -> None:
    driver, stage, before, proposed = staged
    window = driver.window
    assert list(window.outlines._model.outlines) == list(reversed(before.outlines))
    areas, field = window.readout.counted_areas(), window.readings._inputs["cg_x"]
    text = field.text()
    stage.clear()
    assert window.readout.counted_areas() == pytest.approx(areas) and field.text() == text
    # Return in a field brings nothing of a proposal into the design.
    assert before.cg_mark is not None
    stage.show(NAME, replace(proposed, cg_mark=replace(before.cg_mark, x=1.0)))
    assert field.text() == text
    field.setFocus()
    QTest.keyClick(field, Key.Key_Return)
    assert window.document.committed is before


# What is done meanwhile


def test_undo_takes_the_proposal_back_and_nothing_that_is_not_seen(staged: Staged) -> None:
    driver, stage, before, _ = staged
    document = driver.window.document
    assert driver.window.menus.actions["undo"].text() == "&Undo the proposal"
    driver.canvas.setFocus()
    QTest.keyClick(driver.canvas, Key.Key_Z, CTRL)
    driver.settle()
    assert document.committed is before and not stage.shown and document.undo_name == "lock"
    QTest.keyClick(driver.canvas, Key.Key_Z, CTRL)
    assert document.committed is not before and document.undo_name is None


def test_a_press_on_the_canvas_takes_hold_of_the_design_and_not_of_the_proposal(staged: Staged) -> None:
    driver, stage, before, _ = staged
    driver.canvas.fit()
    top = max(before.outline("fin").nodes, key=lambda n: n.z)
    driver.press((top.x - 14, top.z - 24))
    assert not stage.shown and driver.design is before
    driver.release((top.x - 14, top.z - 24))
    driver.settle()
    assert stage.shown and driver.window.picked.now.outlines == ("fin",)
    # Keys work on the design that is committed.
    QTest.keyClick(driver.canvas, Key.Key_Right)
    driver.canvas.hand.settle()
    nudged = driver.window.document.committed
    moved = nudged.outline("fin").nodes[0].x - before.outline("fin").nodes[0].x
    assert moved > 0.0 and nudged.outline("fuselage") == before.outline("fuselage")
    assert [n.z for n in nudged.outline("fin").nodes] == [n.z for n in before.outline("fin").nodes]


def test_a_drag_of_the_aim_sets_it_aside_and_it_comes_back(staged: Staged) -> None:
    driver, stage, before, proposed = staged
    rule = driver.window.arm_rule
    at = QPoint(round(rule._x(before.aim.cla_fraction)), rule.height() // 3 + 8)
    QTest.mousePress(rule, LEFT, FREE, at)
    assert not stage.shown and driver.window.document.busy
    QTest.mouseRelease(rule, LEFT, FREE, at)
    driver.until(lambda: stage.shown)
    assert driver.design == proposed and driver.window.document.committed is before


def test_a_hand_at_work_is_neither_dropped_nor_committed_for_a_proposal(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.canvas.fit()
    document, before = driver.window.document, driver.design
    top = max(before.outline("fin").nodes, key=lambda n: n.z)
    driver.click((top.x - 6, top.z - 20))
    driver.drag((top.x, top.z), (top.x, top.z + 20), drop=False)
    dragged = driver.design
    dialog = QDialog(driver.window)
    asked: list[str] = []
    stage = Stage(driver.window.beside, dialog, lambda: asked.append("anew"), lambda: None, dialog.close)
    stage.show("let in a plug", plug(before, 500.0, 60.0))
    assert not stage.shown and document.busy and document.design is dragged and not stage.commit()
    driver.release((top.x, top.z + 20))
    # It was made from what the drag has changed since: it is asked for anew, not shown.
    driver.until(lambda: bool(asked))
    assert not stage.shown and document.committed != before
    stage.close()


def test_what_was_made_from_another_design_is_never_done(staged: Staged) -> None:
    """An edit, and the button at once: the proposal of the design before would undo the edit unseen."""
    driver, stage, _, proposed = staged
    document = driver.window.document
    document.apply("hide", lambda d: change_outlines(d, ["cabin"], hidden=True))
    edited = document.committed
    assert not stage.commit() and document.committed is edited
    stage.show(NAME, proposed)
    assert not stage.shown and document.design is edited


def test_a_curve_pulled_after_an_edit_at_the_bench_keeps_that_edit(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    window, document = shown_by(driver, "curves"), driver.window.document
    document.apply("enter the crossing", lambda d: set_crossing(d, Mark(300.0, 0.0)))
    document.apply("change notes", lambda d: replace(d, notes="balsa"))
    field = window.plots["cla_fraction"].field
    driver.until(lambda: not window.worker.busy and not window._soon.isActive())
    QTest.keyClick(field, Key.Key_Right)
    QTest.keyClick(field, Key.Key_Return)
    done = document.committed
    assert document.undo_name == "scale the fin"
    assert done.bench.crossing == Mark(300.0, 0.0) and done.notes == "balsa"
    # A step begun and overtaken by an edit is not built upon what was there before.
    QTest.keyClick(field, Key.Key_Right)
    document.apply("hide", lambda d: change_outlines(d, ["cabin"], hidden=True))
    QTest.keyClick(field, Key.Key_Return)
    assert document.undo_name == "hide" and document.committed.outline("cabin").hidden
    closed(driver, window)


def test_an_error_that_nobody_foresaw_takes_the_proposal_away(staged: Staged) -> None:
    driver, stage, before, _ = staged
    unforeseen = Unforeseen(driver.window)
    driver.boxes.answer("Copy the report")
    unforeseen._caught(ValueError, ValueError("painting"), None)
    driver.until(lambda: not unforeseen._showing and not driver.boxes.waiting)
    driver.settle()
    assert not stage.shown and driver.window.document.design is before
    report = QGuiApplication.clipboard().text()
    assert "ValueError: painting" in report and NAME not in report
    driver.window.keeper.recovery.flush()
    assert load(driver.window.keeper.recovery._file)[1] == before


def test_the_name_that_saving_gives_is_the_proposals_too(
    driver: Driver, pumping: list[Path], tmp_path: Path
) -> None:
    from core.design import EMPTY

    driver.open_outlines(replace(bare_sample(), title=EMPTY.title))
    window = shown_by(driver, "plug")
    pumping.append(tmp_path / "Wren.sternpost")
    driver.do("save-as")
    driver.until(lambda: window.stage.shown)
    QTest.mouseClick(window.ok, LEFT)
    driver.settle()
    document = driver.window.document
    assert document.undo_name == "let in a plug" and document.committed.title == "Wren"


def test_stepping_along_a_curve_is_a_proposal_until_return(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    document = driver.window.document
    window, before = shown_by(driver, "curves"), document.committed
    x = window._x
    driver.window.activateWindow()
    driver.canvas.setFocus()
    driver.settle()
    assert document.proposal is not None and document.committed is before and window._x == x
    driver.do("undo")
    assert document.proposal is None and window._x == window.data.present and document.undo_name is None
    field = window.plots["cla_fraction"].field
    QTest.keyClick(field, Key.Key_Right)
    QTest.keyClick(field, Key.Key_Return)
    assert document.undo_name == "scale the fin" and document.proposal is None
    closed(driver, window)
