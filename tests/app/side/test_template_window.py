"""The window that makes templates: the preview before anything is written, writing, stopping, faults."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from threading import Event

import pypdfium2
import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace as changed
from PySide6 import QtPrintSupport
from PySide6.QtCore import Qt
from PySide6.QtGui import QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from app.kit.theme import DAY, NIGHT
from app.kit.worker import Job
from app.side import template_window
from app.side.template_window import TemplateWindow, _print, _step, for_paper
from app.work.selection import Selection
from core.design import Scan
from core.design_file import write_bytes
from core.redesign.alternatives import keep
from core.redesign.refit import CancelledError

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
PATIENCE_S = 20.0
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def opened(driver: Driver) -> Iterator[tuple[Driver, TemplateWindow]]:
    driver.open_outlines(changed(bare_sample(), display_units="mm"))
    dialog = driver.window.side.show("template")
    assert isinstance(dialog, TemplateWindow)
    driver.until(lambda: dialog._plan is not None)
    yield driver, dialog
    if "template" in driver.window.side._open:
        dialog.close()
    driver.settle()


def asked(driver: Driver, dialog: TemplateWindow) -> None:
    """Wait until the pages for what is asked now are there."""
    driver.until(lambda: not dialog._soon.isActive() and not dialog.planner.busy)


def saves_to(monkeypatch: pytest.MonkeyPatch, path: Path | str) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))


def test_it_begins_with_fin_and_rudder_and_shows_the_page(opened: tuple[Driver, TemplateWindow]) -> None:
    _, dialog = opened
    assert dialog.form.ticked() == ("fin", "rudder")
    plan = dialog.view.plan
    assert plan is not None and [p.id for p in plan.drawing.pieces] == ["fin", "rudder"]
    assert dialog.count.text() == "1 page." and dialog.pdf_button.isEnabled()
    assert "All of it measures 169.3 mm by" in dialog.notes.text()
    assert not dialog.isModal()
    assert dialog.view.accessibleDescription() == "Pages A1; 0 left out"


def test_it_begins_with_what_is_selected(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.window.picked.set(Selection(("wheels",)))
    dialog = driver.window.side.show("template")
    assert isinstance(dialog, TemplateWindow)
    assert dialog.form.ticked() == ("wheels",)
    driver.until(lambda: dialog._plan is not None)
    dialog.close()
    driver.settle()


def test_fields_change_the_preview(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    form = dialog.form
    driver.window.document.apply("keep", lambda d: keep(d, "as drawn"))
    QTest.mouseClick(form.all_button, LEFT)
    assert not dialog.pdf_button.isEnabled()
    asked(driver, dialog)
    assert dialog._plan is not None and dialog._plan.choice.outlines == ()
    assert "would be blank" in dialog.count.text() and dialog._plan.pages > 3
    for combo, words in (
        (form.paper, "Tabloid"), (form.way, "landscape"), (form.line, "inner: the line goes"),
        (form.beside, "as drawn"),
    ):
        combo.setCurrentIndex(combo.findText(words))
        assert combo.currentText() == words
        combo.activated.emit(combo.currentIndex())
    for field, text in ((form.scale, "1:2"), (form.overlap, "1/2 in"), (form.margin, "12")):
        driver.type_into(field, text)
    form.mirror.click()
    asked(driver, dialog)
    choice = dialog._plan.choice
    assert (choice.paper.name, choice.landscape, choice.line, choice.beside) == (
        "Tabloid", True, "inner", "as-drawn")
    assert (choice.scale, choice.overlap, choice.margin, choice.mirror) == (0.5, 12.7, 12.0, True)
    assert form.roll.isHidden()
    form.paper.setCurrentIndex(form.paper.findText("Roll"))
    form.paper.activated.emit(form.paper.currentIndex())
    assert not form.roll.isHidden() and not form.way.isEnabled()
    driver.type_into(form.roll, "24 in")
    asked(driver, dialog)
    assert dialog._plan.height == pytest.approx(609.6) and "1 page, " in dialog.count.text()
    assert dialog.count.text().endswith(" mm long.")


def test_what_cannot_be_taken_is_said_where_the_pages_would_be(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    for field, text, words in (
        (dialog.form.scale, "1:99", "Scale: give one between"),
        (dialog.form.scale, "big", "Scale: “big” is not a number"),
        (dialog.form.overlap, "10 miles", "Overlap: “10 miles” has the unknown unit"),
        (dialog.form.overlap, "90", "The overlap must lie between"),
    ):
        before = field.text()
        driver.type_into(field, text)
        asked(driver, dialog)
        assert words in dialog.view._words and not dialog.pdf_button.isEnabled()
        assert not dialog.print_button.isEnabled() and field.text() == text
        driver.type_into(field, before)
    QTest.mouseClick(dialog.form.none_button, LEFT)
    asked(driver, dialog)
    assert dialog.view._words == "No outline is ticked: tick at least one."


def test_it_follows_the_design(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    document = driver.window.document

    def longer(design):  # type: ignore[no-untyped-def]
        fin = design.outline("fin")
        taller = changed(fin, nodes=tuple(changed(n, z=n.z + (60 if n.z > 100 else 0)) for n in fin.nodes))
        return changed(design, outlines=tuple(taller if o.id == "fin" else o for o in design.outlines))

    before = dialog._plan
    assert before is not None
    document.apply("taller", longer)
    asked(driver, dialog)
    driver.until(lambda: dialog._plan is not None)
    assert dialog._plan.drawing.box[3] > before.drawing.box[3] + 30
    driver.window.set_units("in")
    asked(driver, dialog)
    assert dialog.form.overlap.text() == "0.394 in" and " in by " in dialog.notes.text()
    document.apply("no scale", lambda d: changed(d, scans=(Scan("p", "p.png", scale_from="none"),)))
    asked(driver, dialog)
    driver.until(lambda: "Set the scale of the scan" in dialog.view._words)
    assert not dialog.pdf_button.isEnabled()


def test_the_pdf_is_what_was_shown(
    opened: tuple[Driver, TemplateWindow], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, dialog = opened
    saves_to(monkeypatch, tmp_path / "tail")
    QTest.mouseClick(dialog.pdf_button, LEFT)
    driver.until(lambda: not dialog.writer.busy)
    assert dialog.state.text() == "Written: tail.pdf, 1 page."
    document = pypdfium2.PdfDocument(tmp_path / "tail.pdf")
    assert len(document) == 1 and "Fin, Rudder" in document[0].get_textpage().get_text_bounded()
    assert dialog.bar.isHidden() and dialog.pdf_button.isEnabled()


def test_stopping_writes_nothing_and_an_old_file_stays(
    opened: tuple[Driver, TemplateWindow], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, dialog = opened
    dialog.form._tick_all(True)
    driver.type_into(dialog.form.scale, "2")
    asked(driver, dialog)
    assert dialog._plan is not None and dialog._plan.pages > 10
    old = tmp_path / "old.pdf"
    old.write_bytes(b"old")
    saves_to(monkeypatch, old)
    told: list[object] = []
    dialog.writer.progress.connect(told.append)
    stopped = Event()

    def step(job: Job, done: int, pages: int) -> None:
        """After its first page the writer goes on when it has been stopped."""
        _step(job, done, pages)
        assert stopped.wait(PATIENCE_S)

    monkeypatch.setattr(template_window, "_step", step)
    QTest.mouseClick(dialog.pdf_button, LEFT)
    assert not dialog.bar.isHidden() and not dialog.pdf_button.isEnabled()
    driver.until(lambda: bool(told))
    assert dialog.state.text() == f"Page 1 of {dialog._plan.pages}"
    QTest.mouseClick(dialog.stop_button, LEFT)
    stopped.set()
    dialog.writer.stop()
    driver.settle()
    assert dialog.state.text() == "Stopped: nothing was written." and dialog.pdf_button.isEnabled()
    assert old.read_bytes() == b"old" and list(tmp_path.iterdir()) == [old]


def test_stopping_while_the_file_is_being_written_does_not_say_that_nothing_was(
    opened: tuple[Driver, TemplateWindow], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, dialog = opened
    target = tmp_path / "tail.pdf"
    saves_to(monkeypatch, target)
    writing, pressed = Event(), Event()

    def write(path: Path, data: bytes) -> None:
        writing.set()
        assert pressed.wait(PATIENCE_S)
        write_bytes(path, data)

    monkeypatch.setattr(template_window, "write_bytes", write)
    QTest.mouseClick(dialog.pdf_button, LEFT)
    driver.until(writing.is_set)
    QTest.mouseClick(dialog.stop_button, LEFT)
    assert dialog.state.text() == "Too late to stop: the last of it is on its way."
    assert dialog.writer.busy and not dialog.pdf_button.isEnabled()
    pressed.set()
    driver.until(lambda: not dialog.writer.busy)
    assert dialog.state.text() == "Written: tail.pdf, 1 page." and target.read_bytes().startswith(b"%PDF")


def test_a_fault_is_said_in_the_window(
    opened: tuple[Driver, TemplateWindow], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, dialog = opened
    saves_to(monkeypatch, tmp_path / "gone" / "tail.pdf")
    QTest.mouseClick(dialog.pdf_button, LEFT)
    driver.until(lambda: not dialog.writer.busy)
    assert dialog.state.text().startswith("tail.pdf: ") and "folder" in dialog.state.text()
    saves_to(monkeypatch, "")
    QTest.mouseClick(dialog.pdf_button, LEFT)
    assert not dialog.writer.busy


def test_printing_lays_the_pages_anew_for_the_printers_paper(
    opened: tuple[Driver, TemplateWindow], tmp_path: Path
) -> None:
    driver, dialog = opened
    plan, design = dialog._plan, driver.design
    assert plan is not None and for_paper(design, plan, plan.width, plan.height) is plan
    told: list[object] = []

    def printed(name: str, size: QPageSize.PageSizeId, job: Job) -> str:
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(tmp_path / name))
        printer.setPageSize(QPageSize(size))
        assert plan is not None
        return _print(design, plan, printer, job)

    job = Job(lambda _: None, lambda _, what, value: told.append((what, value)))
    words = printed("small.pdf", QPageSize.PageSizeId.B5, job)
    document = pypdfium2.PdfDocument(tmp_path / "small.pdf")
    wide, tall = (side * 25.4 / 72 for side in document[0].get_size())
    assert sorted((wide, tall)) == pytest.approx([176.0, 250.0], abs=0.3)
    assert words == f"Sent to the printer: {len(document)} pages" and len(document) > 1
    assert told[-1] == ("progress", (len(document), len(document)))
    job._gone.set()
    with pytest.raises(CancelledError):
        printed("stopped.pdf", QPageSize.PageSizeId.A4, job)


def test_the_print_button_asks_for_a_printer_and_prints_what_was_shown(
    opened: tuple[Driver, TemplateWindow], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, dialog = opened
    answers = [False, True]

    class Chosen:
        """Stands in for the system's dialogue: a printer that prints to a file."""

        def __init__(self, printer: QPrinter, parent: object) -> None:
            assert parent is dialog
            self._printer = printer

        def exec(self) -> bool:
            self._printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
            self._printer.setOutputFileName(str(tmp_path / "printed.pdf"))
            return answers.pop(0)

    monkeypatch.setattr(QtPrintSupport, "QPrintDialog", Chosen)
    QTest.mouseClick(dialog.print_button, LEFT)
    assert not dialog.writer.busy and not list(tmp_path.iterdir())
    QTest.mouseClick(dialog.print_button, LEFT)
    driver.until(lambda: not dialog.writer.busy)
    assert dialog.state.text() == "Sent to the printer: 1 page."
    document = pypdfium2.PdfDocument(tmp_path / "printed.pdf")
    assert dialog._plan is not None
    wide, tall = (side * 25.4 / 72 for side in document[0].get_size())
    assert (wide, tall) == pytest.approx((dialog._plan.width, dialog._plan.height), abs=0.3)
    assert "Fin, Rudder" in document[0].get_textpage().get_text_bounded()


def test_it_is_dressed_by_day_and_by_night_and_fits_a_small_screen(
    opened: tuple[Driver, TemplateWindow]
) -> None:
    driver, dialog = opened
    dialog.resize(900, 560)
    driver.settle()
    assert dialog.size().toTuple() == (900, 560)
    corners = {}
    for theme in (NIGHT, DAY):
        dialog.set_theme(theme)
        corners[theme] = dialog.view.grab().toImage().pixelColor(2, 2).name()
        assert corners[theme] == theme.desk
    assert corners[NIGHT] != corners[DAY]
