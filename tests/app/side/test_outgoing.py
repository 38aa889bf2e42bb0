"""Every kind of sheet out of the program: written, printed, refused, taken back, and closed in its midst."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pypdfium2
import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace
from PySide6 import QtPrintSupport
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from app.keeping.folders import folder_words
from app.kit.worker import Job
from app.paper import pages, writing
from app.side.outgoing import SheetFoot
from app.side.side_window import SideWindow
from core.design_file import DesignFileError, write_bytes
from core.redesign.build_edits import new_build
from core.redesign.refit import CancelledError

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
PATIENCE_S = 20.0
LEFT = Qt.MouseButton.LeftButton
# What it is called, the window that makes it, and when that is ready.
KINDS: dict[str, tuple[str, Callable[[Any], bool]]] = {
    "parts-sheet": ("The parts sheet", lambda w: bool(w.preview.pages) and not w.worker.busy),
    "dimensioned": ("The dimensioned outline", lambda w: bool(w.preview.pages) and not w.worker.busy),
    "bench-sheet": ("The bench sheet", lambda w: bool(w.preview.pages) and not w.worker.busy),
    "gauges": ("The gauge sheet", lambda w: bool(w.preview.pages) and not w.worker.busy),
    "card": ("The card copy", lambda w: w.sheets is not None and not w.worker.busy),
    "template": ("The template", lambda w: w._plan is not None and not w._soon.isActive()),
    "setting-up": ("The setting-up sheet", lambda w: True),
}


class Made:
    """A window that makes a sheet, ready to write it."""

    def __init__(self, driver: Driver, which: str) -> None:
        design = replace(bare_sample(), display_units="mm", builds=())
        driver.open_outlines(new_build(design, ("fin", "rudder"), "ribbed")[0])
        self.driver, self.which = driver, which
        self.name, ready = KINDS[which]
        window = driver.window.side.show(which)
        driver.until(lambda: ready(window))
        self.window: SideWindow = window
        foot = window.findChild(SheetFoot)
        assert foot is not None
        self.foot = foot

    def press(self, button: str) -> None:
        QTest.mouseClick(getattr(self.foot, button), LEFT)

    def ended(self) -> str:
        self.driver.until(lambda: not self.foot.worker.busy)
        return self.foot.said.text()


@pytest.fixture(params=sorted(KINDS))
def made(driver: Driver, request: pytest.FixtureRequest) -> Iterator[Made]:
    found = Made(driver, request.param)
    yield found
    driver.window.side.close()
    driver.settle()


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Event, Event]]:
    """Writing waits, once the file is to be replaced: (it has come so far, it may go on)."""
    there, on = Event(), Event()

    def write(path: Path, data: bytes) -> None:
        there.set()
        assert on.wait(PATIENCE_S)
        write_bytes(path, data)

    monkeypatch.setattr(writing, "write_bytes", write)
    yield there, on
    on.set()


@pytest.fixture
def drawing(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Event, Event]]:
    """The pages are drawn one by one: (the first page is begun, it may go on)."""
    there, on = Event(), Event()
    real = pages.pdf

    def slow(sheet: pages.Sheet, step: pages.Step | None = None) -> bytes:
        there.set()
        assert on.wait(PATIENCE_S)
        return real(sheet, step)

    monkeypatch.setattr(pages, "pdf", slow)
    yield there, on
    on.set()


def goes_on_when_dropped(monkeypatch: pytest.MonkeyPatch, on: Event) -> None:
    """A window that is closed waits for its threads: what is held goes on once it was taken back."""
    drop = Job.drop

    def dropped(job: Job) -> bool:
        taken_back = drop(job)
        on.set()
        return taken_back

    monkeypatch.setattr(Job, "drop", dropped)


OLD = b"%PDF-1.4\n/Creator (\xfe\xff" + "Sternpost".encode("utf-16-be") + b")\n"


def saves_to(monkeypatch: pytest.MonkeyPatch, path: Path | str) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))


def test_the_pdf_is_written_and_that_is_said_here_and_beside(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    saves_to(monkeypatch, "")
    made.press("write_button")
    assert not made.foot.worker.busy
    saves_to(monkeypatch, tmp_path / "out")
    made.press("write_button")
    assert not made.foot.write_button.isEnabled() and not made.foot.bar.isHidden()
    document = pypdfium2.PdfDocument(tmp_path / "out.pdf") if made.ended() else None
    assert document is not None
    many = f", {len(document)} pages" if len(document) > 1 else ""
    where = f"in the folder {folder_words(tmp_path / 'out.pdf')}"
    assert made.foot.said.text() == f"{made.name} is in out.pdf{many}, {where}." == made.driver.said
    assert made.foot.write_button.isEnabled() and made.foot.bar.isHidden()


def test_the_folder_is_shown_and_asked_for_the_next_time(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    opened: list[QUrl] = []
    answers = [True, False]

    def open_url(url: QUrl) -> bool:
        opened.append(url)
        return answers.pop(0)

    monkeypatch.setattr(QDesktopServices, "openUrl", open_url)
    assert made.foot.folder_button.isHidden()
    saves_to(monkeypatch, tmp_path / "out.pdf")
    made.press("write_button")
    made.ended()
    assert not made.foot.folder_button.isHidden()
    made.press("folder_button")
    made.press("folder_button")
    assert [Path(url.toLocalFile()) for url in opened] == [tmp_path, tmp_path]
    assert made.foot.said.text().startswith("The system did not open the folder: it is ")
    started: list[str] = []
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda _w, _c, start, *_: (started.append(start), ("", ""))[1]
    )
    made.press("write_button")
    assert Path(started[0]).parent == tmp_path


def test_a_disk_that_refuses_is_said_and_the_old_file_stays(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    old = tmp_path / "old.pdf"
    old.write_bytes(OLD)

    def full(path: Path, data: bytes) -> None:
        raise DesignFileError(["it could not be written: the disk is full; make room"])

    monkeypatch.setattr(writing, "write_bytes", full)
    saves_to(monkeypatch, old)
    made.driver.boxes.answer("Replace it")
    made.press("write_button")
    why = "it could not be written: the disk is full; make room."
    assert made.ended() == f"{made.name} was not written: {why}" == made.driver.said
    assert made.window._theme.fault in made.foot.said.styleSheet()
    assert made.foot.write_button.isEnabled() and old.read_bytes() == OLD


class Printing:
    """Stands in for the system's dialogue: a printer that prints to a file, or to nowhere."""

    target, taken = "", True

    def __init__(self, printer: QPrinter, parent: object) -> None:
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(self.target)

    def exec(self) -> bool:
        return self.taken


@pytest.fixture
def printing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> type[Printing]:
    monkeypatch.setattr(QtPrintSupport, "QPrintDialog", Printing)
    monkeypatch.setattr(Printing, "target", str(tmp_path / "printed.pdf"))
    return Printing


def test_what_is_printed_is_what_is_written(
    made: Made, printing: type[Printing], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(printing, "taken", False)
    made.press("print_button")
    assert not made.foot.worker.busy and not list(tmp_path.iterdir())
    monkeypatch.setattr(printing, "taken", True)
    made.press("print_button")
    said = made.ended()
    saves_to(monkeypatch, tmp_path / "written.pdf")
    made.press("write_button")
    made.ended()
    printed, written = (pypdfium2.PdfDocument(tmp_path / f"{n}.pdf") for n in ("printed", "written"))
    assert said == f"Sent to the printer: {'1 page' if len(printed) == 1 else f'{len(printed)} pages'}."
    assert len(printed) == len(written)
    for one, other in zip(printed, written, strict=True):
        assert one.get_size() == pytest.approx(other.get_size(), abs=1.0)
        assert one.get_textpage().get_text_bounded() == other.get_textpage().get_text_bounded()


# Qt says so on its own; what the person is told is tested.
@pytest.mark.qt_log_ignore("This plugin does not support", "QPainter::begin")
def test_a_printer_that_does_not_begin_is_said(
    made: Made, printing: type[Printing], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(printing, "target", str(tmp_path / "no such folder" / "printed.pdf"))
    made.press("print_button")
    why = "the printer did not begin; check that it is switched on and has paper."
    assert made.ended() == f"{made.name} was not printed: {why}" == made.driver.said
    assert made.foot.print_button.isEnabled()


def test_stopped_while_it_is_drawn_nothing_is_written(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, drawing: tuple[Event, Event]
) -> None:
    there, on = drawing
    saves_to(monkeypatch, tmp_path / "out.pdf")
    made.press("write_button")
    made.driver.until(there.is_set)
    made.press("stop_button")
    assert made.foot.said.text() == "Stopped: nothing was written." and made.foot.write_button.isEnabled()
    on.set()
    made.foot.worker.stop()
    made.driver.settle()
    assert not list(tmp_path.iterdir()) and made.foot.said.text() == "Stopped: nothing was written."


def test_stopped_too_late_it_is_written_and_said(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, held: tuple[Event, Event]
) -> None:
    there, on = held
    saves_to(monkeypatch, tmp_path / "out.pdf")
    made.press("write_button")
    made.driver.until(there.is_set)
    made.press("stop_button")
    assert made.foot.said.text() == "Too late to stop: the last of it is on its way."
    assert made.foot.worker.busy and not made.foot.write_button.isEnabled()
    on.set()
    assert made.ended().startswith(f"{made.name} is in out.pdf")
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")


def test_closed_while_it_is_drawn_nothing_is_written_and_that_is_said_beside(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, drawing: tuple[Event, Event]
) -> None:
    there, on = drawing
    saves_to(monkeypatch, tmp_path / "out.pdf")
    made.press("write_button")
    made.driver.until(there.is_set)
    job = made.foot.worker._job
    assert job is not None
    goes_on_when_dropped(monkeypatch, on)
    made.window.close()
    made.driver.settle()
    assert made.driver.said == f"{made.name} was not written: its window was closed meanwhile."
    assert not list(tmp_path.iterdir()) and job.gone()


def test_closed_while_the_file_is_replaced_it_is_written_and_that_is_said_beside(
    made: Made, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, held: tuple[Event, Event]
) -> None:
    there, on = held
    saves_to(monkeypatch, tmp_path / "out.pdf")
    made.press("write_button")
    made.driver.until(there.is_set)
    goes_on_when_dropped(monkeypatch, on)
    made.window.close()
    made.driver.settle()
    assert made.driver.said.startswith(f"{made.name} is in out.pdf")
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")


# Without a window


def sheet_of(count: int, painted: list[int]) -> pages.Sheet:
    def page(number: int) -> pages.Paint:
        return lambda painter, rect: painted.append(number)

    return pages.Sheet("the sheet", "A sheet", 100.0, 200.0, lambda *_: [page(n) for n in range(count)])


@pytest.mark.parametrize("printed", [False, True])
def test_it_can_be_taken_back_up_to_the_last_step(qapp: object, tmp_path: Path, printed: bool) -> None:
    out = tmp_path / "out.pdf"
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(out))
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.B5))
    told: list[object] = []

    def run(job: Job, painted: list[int]) -> str:
        sheet = sheet_of(3, painted)
        return writing.print_sheet(printer, sheet, job) if printed else writing.write_sheet(out, sheet, job)

    def tell(job: Job, what: str, value: object) -> None:
        told.append(value)
        if value == (1, 3):
            job.drop()

    painted: list[int] = []
    with pytest.raises(CancelledError):
        run(Job(lambda _: None, tell), painted)
    # What it stops at is the next page.
    assert painted[:1] == [0] and 2 not in painted
    assert not out.exists() or printed
    painted.clear()
    where = f"in the folder {folder_words(out)}"
    assert run(Job.alone(), painted) == (
        "Sent to the printer: 3 pages" if printed else f"The sheet is in out.pdf, 3 pages, {where}"
    )
    assert painted == [0, 1, 2]
