"""The card copy beside the window: paper and scale, the sheets as they will be, and what hanging it told."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QImage
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
)

from app.keeping.folders import folder_of
from app.kit.overrides import errors_told
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Job, Worker
from app.paper.card_layout import CardSheets, lay_card, ratio_of
from app.paper.card_sheet import print_card, write_card
from app.paper.card_words import scale_note
from app.paper.pages import PAPERS, home_paper, page_layout
from app.side.beside import Beside
from app.side.card_crossing import CrossingBox
from app.side.card_preview import CardPreview, pictures
from app.work.document import Change
from core.bench.card import neat_ratios
from core.design import Design
from core.design_file import DesignFileError
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError
from core.stability.readings import Readings
from core.units import UnitError

_PAUSE_MS = 150
FIT = "fit the paper"


@dataclass(frozen=True, eq=False)
class _Laid:
    sheets: CardSheets
    pictures: list[QImage]


def _lay(job: Job, design: Design, readings: Readings, paper: str, ratio: float | None) -> _Laid:
    """In the worker's thread."""

    def stop() -> None:
        if job.gone():
            raise CancelledError

    sheets = lay_card(design, readings, PAPERS[paper], ratio, stop=stop)
    if isinstance(sheets, str):
        raise EditError(sheets)
    return _Laid(sheets, pictures(sheets, datetime.date.today(), stop))


def _written(path: Path, sheets: CardSheets) -> str:
    try:
        write_card(path, sheets, today=datetime.date.today())
    except DesignFileError as error:
        raise EditError(" ".join(error.sentences)) from None
    return path.name


@errors_told
class CardWindow(QDialog):
    """Stays open beside the window and follows the design; laid out and painted beside both."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside.window)
        desk, self._say_there = beside.desk, beside.desk.say
        self._document, self._readout = desk.document, desk.readout
        self.sheets: CardSheets | None = None
        self._laid_for: Design | None = None
        self._asked_for: tuple[str, str] | None = None
        self._stopped = False
        self.setWindowTitle("Card copy")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.worker, self.writer = Worker(self, "card"), Worker(self, "card-out")
        self.worker.done.connect(self._ready)
        self.worker.failed.connect(self._failed)
        self.writer.done.connect(lambda name: self._said(f"The card copy is in {name}"))
        self.writer.failed.connect(self._not_written)
        self.preview = CardPreview(beside.theme)
        self.crossing = CrossingBox(self._document)
        self._lay_out()
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_PAUSE_MS)
        self._soon.timeout.connect(self.compute)
        self.set_theme(beside.theme)
        self.destroyed.connect(self._readout.listen(self._changed))
        app = QApplication.instance()
        assert app is not None
        app.aboutToQuit.connect(self._stop)
        self._asked()

    def _lay_out(self) -> None:
        self.paper = QComboBox()
        for key, size in PAPERS.items():
            self.paper.addItem(size.name, key)
        self.paper.setCurrentIndex(self.paper.findData(home_paper()))
        self.paper.currentIndexChanged.connect(self._asked)
        self.scale = QComboBox()
        self.scale.setEditable(True)
        self.scale.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.scale.addItems([FIT, *(f"1:{n:g}" for n in neat_ratios(1.0) if n <= 10)])
        self.scale.setMinimumContentsLength(12)
        self.scale.setToolTip("1:4, or any other: 1:3.7. The largest neat one that goes on one sheet fits.")
        self.scale.activated.connect(self._asked)
        line = self.scale.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._asked)
        self.note = QLabel()
        self.note.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.write_button, self.print_button = QPushButton("Write &PDF…"), QPushButton("P&rint…")
        for button, does in ((self.write_button, self.write_pdf), (self.print_button, self.print)):
            button.setAutoDefault(False)
            button.clicked.connect(does)
        row = QHBoxLayout()
        row.setSpacing(8)
        for words, field in (("P&aper", self.paper), ("&Scale", self.scale)):
            label = QLabel(words)
            label.setBuddy(field)
            field.setAccessibleName(words.replace("&", ""))
            row.addWidget(label)
            row.addWidget(field)
        row.addWidget(self.note, 1)
        row.addWidget(self.write_button)
        row.addWidget(self.print_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(10)
        layout.addLayout(row)
        layout.addWidget(self.preview, 1)
        layout.addWidget(self.crossing)
        self.setMinimumSize(740, 480)
        screen = self.screen().availableGeometry()
        self.resize(min(880, screen.width() - 20), min(800, screen.height() - 40))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.note.setStyleSheet(f"color: {theme.ink_soft};")
        self.preview.set_theme(theme)
        self.crossing.set_theme(theme)

    # The sheets

    def _asked(self) -> None:
        asked = str(self.paper.currentData()), self.scale.currentText()
        if asked != self._asked_for:
            self._asked_for = asked
            self._laid_for = None
            self.compute()

    def _changed(self, change: Change) -> None:
        if self._stopped or change.what == "proposal":
            return
        design = self._document.committed
        before = self._laid_for
        if before is not None and self.sheets is not None and not self._document.busy and all(
            getattr(before, field) is getattr(design, field)
            for field in ("outlines", "wings", "tailplanes", "cg_mark", "weights", "cg_from", "aim", "scans",
                          "display_units", "title")
        ):
            # Only what was entered about the crossing can have changed.
            self._laid_for = design
            self.crossing.show_sheets(self.sheets)
            return
        self._soon.start()

    def compute(self) -> None:
        """Have the sheets laid out and painted beside the window."""
        self._soon.stop()
        if self._stopped:
            return
        if self._document.busy:
            self._soon.start()
            return
        design = self._document.committed
        if design is self._laid_for:
            return
        try:
            ratio = ratio_of(self.scale.currentText())
        except UnitError as error:
            self._failed(str(error))
            return
        self._laid_for = design
        readings, paper = self._readout.committed_readings, str(self.paper.currentData())
        self.note.setText("Laying out…")
        self.worker.start(lambda job: _lay(job, design, readings, paper, ratio))

    def _ready(self, laid: _Laid) -> None:
        if self._stopped:
            return
        self.sheets = laid.sheets
        self.note.setText(scale_note(laid.sheets))
        self.preview.show_pages(laid.pictures)
        self.crossing.show_sheets(laid.sheets)
        self._enable(True)

    def _failed(self, why: str) -> None:
        self.worker.cancel()
        self.sheets, self._laid_for = None, None
        self.note.setText("")
        self.preview.say(as_sentence(why))
        self.crossing.show_sheets(None)
        self._enable(False)

    def _enable(self, on: bool) -> None:
        self.write_button.setEnabled(on)
        self.print_button.setEnabled(on)

    # Out on paper

    def write_pdf(self) -> None:
        """Ask where to, and write the sheets."""
        sheets = self.sheets
        if sheets is None:
            return
        path = self._document.path
        stem = path.stem if path else self._document.committed.title
        start = str(Path(folder_of(self._document)) / f"{stem} card copy.pdf")
        name, _ = QFileDialog.getSaveFileName(self, "Write the card copy", start, "PDF (*.pdf)")
        if name:
            target = Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf")
            self.writer.start(lambda job: _written(target, sheets))

    def _said(self, words: str) -> None:
        self._say_there(words)
        self.note.setText(words)

    def _not_written(self, why: str) -> None:
        from PySide6.QtWidgets import QMessageBox

        box = QMessageBox(QMessageBox.Icon.Warning, "Card copy", "The card copy was not written", parent=self)
        box.setInformativeText(as_sentence(why))
        box.exec()
        box.deleteLater()

    def print(self) -> None:
        """Ask for a printer and print the sheets."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        sheets = self.sheets
        if sheets is None:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setPageLayout(page_layout(sheets.wide, sheets.tall))
        if QPrintDialog(printer, self).exec():
            try:
                print_card(printer, sheets, today=datetime.date.today())
            except DesignFileError as error:
                self._not_written(" ".join(error.sentences))

    # The end

    def _stop(self) -> None:
        if not self._stopped:
            self._stopped = True
            self._soon.stop()
            self.worker.stop()
            self.writer.stop()

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: D102
        self._stop()
        super().closeEvent(event)

    def done(self, result: int) -> None:  # noqa: D102
        self._stop()
        super().done(result)
