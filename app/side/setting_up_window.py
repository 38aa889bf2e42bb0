"""Setting up, beside the window: linkages and weighings typed at the bench, and the sheet on paper."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
)

from app.keeping.folders import folder_of
from app.kit.overrides import errors_told
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Worker
from app.paper.ink import Paper
from app.paper.pages import home_paper
from app.side.beside import Beside
from app.side.linkages import LinkagesPanel
from app.side.weighing import WeighingPanel
from app.work.document import Change
from core.design_file import DesignFileError
from core.redesign.outline_edits import EditError

if TYPE_CHECKING:
    from app.kit.worker import Job

_PAPERS: tuple[tuple[Paper, str], ...] = (("a4", "A4"), ("letter", "Letter"))


@errors_told
class SettingUpWindow(QDialog):
    """Linkages and weighings in two tabs; below them what went wrong or was written, and the sheet."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside.window)
        desk = beside.desk
        self._document, self._theme = desk.document, beside.theme
        self.setWindowTitle("Setting up")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.said, self._at_fault = QLabel(), False
        self.said.setWordWrap(True)
        self.said.setAccessibleName("What happened")
        self.linkages = LinkagesPanel(self._document, self._theme, self._trouble)
        self.weighing = WeighingPanel(self._document, self._theme, self._trouble)
        self.tabs = QTabWidget()
        self.tabs.addTab(self.linkages, "&Linkages")
        self.tabs.addTab(self.weighing, "Wei&ghing")
        self.paper = QComboBox()
        self.paper.setAccessibleName("Paper")
        for _, name in _PAPERS:
            self.paper.addItem(name)
        self.paper.setCurrentIndex([paper for paper, _ in _PAPERS].index(home_paper()))
        self.write, self.print = QPushButton("Write P&DF…"), QPushButton("&Print…")
        for button, does in ((self.write, self.ask_pdf), (self.print, self.ask_printer)):
            button.setAutoDefault(False)
            button.clicked.connect(lambda _checked=False, run=does: run())
        foot = QHBoxLayout()
        foot.addWidget(self.said, 1)
        sheet = QLabel("Setting-up sheet, pa&per")
        sheet.setBuddy(self.paper)
        for part in (sheet, self.paper, self.write, self.print):
            foot.addWidget(part)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 10, 16, 12)
        layout.setSpacing(10)
        layout.addWidget(self.tabs, 1)
        layout.addLayout(foot)
        self.resize(890, 500)
        for keys, run in (
            (QKeySequence.StandardKey.Undo, desk.undo), (QKeySequence.StandardKey.Redo, desk.redo)
        ):
            QShortcut(QKeySequence(keys), self).activated.connect(run)
        self._worker = Worker(self, "setting-up")
        self._worker.done.connect(self._written)
        self._worker.failed.connect(self._failed)
        self.destroyed.connect(self._document.listen(self._changed))
        self.set_theme(self._theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._say(self.said.text(), at_fault=self._at_fault)
        self.linkages.set_theme(theme)
        self.weighing.set_theme(theme)

    def _changed(self, change: Change) -> None:
        if change.what == "proposal":
            return
        if change.what != "file" or change.name != "saved":
            self._say("")
        self.linkages.refresh()
        self.weighing.refresh()

    def _say(self, words: str, *, at_fault: bool = False) -> None:
        self._at_fault = at_fault
        self.said.setStyleSheet(f"color: {self._theme.above if at_fault else self._theme.ink};")
        self.said.setText(as_sentence(words))

    def _trouble(self, words: str) -> None:
        self._say(words, at_fault=True)

    # The sheet

    @property
    def chosen_paper(self) -> Paper:
        """The paper of the sheet."""
        return _PAPERS[self.paper.currentIndex()][0]

    def ask_pdf(self) -> None:
        """Ask where to, and write the sheet."""
        path = self._document.path
        stem = path.stem if path else self._document.committed.title
        start = str(Path(folder_of(self._document)) / f"{stem} setting-up sheet.pdf")
        name, _ = QFileDialog.getSaveFileName(self, "Write the setting-up sheet", start, "PDF (*.pdf)")
        if name:
            self.write_pdf(Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf"))

    def write_pdf(self, path: Path) -> None:
        """Write the sheet to ``path``, beside the drawing thread; what came of it is said below."""
        from app.paper.setting_up_sheet import write_setting_up_sheet

        self._document.settle()
        design, paper, today = self._document.committed, self.chosen_paper, datetime.date.today()

        def compute(job: Job) -> object:
            try:
                write_setting_up_sheet(path, design, paper=paper, today=today)
            except DesignFileError as error:
                raise EditError(str(error)) from None
            return path.name

        self.write.setEnabled(False)
        self._say("Writing the setting-up sheet")
        self._worker.start(compute)

    def _written(self, name: object) -> None:
        self.write.setEnabled(True)
        self._say(f"The setting-up sheet is in {name}")

    def _failed(self, words: str) -> None:
        self.write.setEnabled(True)
        self._trouble(f"The setting-up sheet was not written: {words}")

    def ask_printer(self) -> None:
        """Ask for a printer and print the sheet on its paper."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from app.paper.setting_up_sheet import print_setting_up_sheet

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        if not QPrintDialog(printer, self).exec():
            return
        self._document.settle()
        try:
            print_setting_up_sheet(printer, self._document.committed, today=datetime.date.today())
        except DesignFileError as error:
            self._trouble(str(error))

    def done(self, result: int) -> None:  # noqa: D102
        self._worker.stop()
        super().done(result)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: D102
        self._worker.stop()
        super().closeEvent(event)
