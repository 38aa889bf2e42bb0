"""Asking where a sheet or a drawing goes, and what stands below a window that makes one."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from app.keeping.folders import folder_of, folder_words, remember_sheet_folder_of, sheet_folder_of
from app.kit.asking_name import ask_name
from app.kit.beside import run_beside
from app.kit.fault_box import fault_box
from app.kit.flow import Flow
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Job, Worker
from app.paper.writing import not_out, print_sheet, write_sheet
from app.work.desk import Desk
from app.work.document import Document
from core.file_names import plain_name
from core.redesign.outline_edits import EditError

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from app.paper.pages import Sheet

PDF = "PDF (*.pdf)"


def ask_path(
    window: QWidget, document: Document, caption: str, after_stem: str, kinds: str = PDF,
    folder: str | None = None,
) -> Path | None:
    """Where to write; begins in ``folder`` (None: beside the design), under its name with ``after_stem``."""
    asked = ask_path_and_kind(window, document, caption, after_stem, kinds, folder)
    return None if asked is None else asked[0]


def ask_path_and_kind(
    window: QWidget, document: Document, caption: str, after_stem: str, kinds: str,
    folder: str | None = None,
) -> tuple[Path, str] | None:
    """Where to write, and as which of the ``kinds``, which ";;" parts; ``folder`` as in ``ask_path``."""
    stem = document.path.stem if document.path else plain_name(document.committed.title)
    start = Path(folder_of(document) if folder is None else folder) / f"{stem}{after_stem}"
    return ask_name(window, caption, start, kinds)


def ask_printer(window: QWidget, sheet: Sheet | None = None) -> QPrinter | None:
    """The printer that is chosen, with the paper of ``sheet`` to begin with; None: the printer's own."""
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    from app.paper.pages import page_layout

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    if sheet is not None:
        printer.setPageLayout(page_layout(sheet.width, sheet.height))
    return printer if QPrintDialog(printer, window).exec() else None


def out_while_waiting(
    window: QWidget, say: Callable[[str], None], failing: str, waiting: str, out: Callable[[Job], str]
) -> None:
    """Have ``out`` run while ``window`` holds back mouse and keys; what came of it is said, or boxed."""
    try:
        words = run_beside(window, waiting, lambda: out(Job.alone()))
    except EditError as error:
        fault_box(window, failing, [str(error)])
    else:
        say(words)


class SheetFoot(QWidget):
    """What came of it, how far it is, Stop, and the two ways out; below a window that makes a sheet.

    ``sheet`` gives what the window shows, None where there is nothing to write. Everything that is
    begun ends in words: here, and in the window beside, which is still there when this one is closed.
    """

    starting = Signal()
    """What the window shows is being written or printed."""

    def __init__(
        self, window: QWidget, desk: Desk, theme: Theme, name: str, sheet: Callable[[], Sheet | None],
        besides: tuple[tuple[QWidget, ...], ...] = (),
    ) -> None:
        """``name`` with its article, "the card copy"; ``besides`` stand before the buttons, each together."""
        super().__init__(window)
        self._window, self._desk, self._name, self._sheet = window, desk, name, sheet
        self._at_fault, self._printed, self._ready = False, False, True
        self.worker = Worker(self, f"out: {name}")
        self.worker.done.connect(lambda words: self._ended(str(words)))
        self.worker.failed.connect(self._failed)
        self.worker.progress.connect(self._progress)
        self.said, self.bar, self.stop_button = Label(), QProgressBar(), QPushButton("Stop")
        self.said.setWordWrap(True)
        self.said.setAccessibleName("What happened")
        self.bar.setTextVisible(False)
        self.bar.setFixedSize(90, 8)
        self.write_button, self.print_button = QPushButton("Wr&ite PDF…"), QPushButton("P&rint…")
        self.folder_button = QPushButton("Show the &folder")
        self.folder_button.setToolTip("Open the folder that it was written to")
        self._writing: Path | None = None
        """Where to, while it is written; None while it is printed."""
        self._last: Path | None = None
        told = QHBoxLayout()
        told.addWidget(self.said, 1)
        for part in (self.folder_button, self.bar, self.stop_button):
            told.addWidget(part)
        self.said.hide()
        choices, row = Flow(), QHBoxLayout()
        for parts in besides:
            choices.add(*parts)
        row.addLayout(choices, 1)
        row.addStretch(0)
        for button in (self.write_button, self.print_button):
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(6)
        rows.addLayout(told)
        rows.addLayout(row)
        for button, does in (
            (self.write_button, self.write), (self.print_button, self.print), (self.stop_button, self.stop),
            (self.folder_button, self.show_folder),
        ):
            button.setAutoDefault(False)
            button.clicked.connect(lambda _checked=False, run=does: run())
        self._show_busy(False)
        self.folder_button.hide()
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._colour()
        self.bar.setStyleSheet(bar_style(theme))
        self.folder_button.setStyleSheet(
            f"QPushButton {{ border: none; background: transparent; color: {theme.pick}; padding: 2px 4px;"
            " text-decoration: underline; }"
        )

    def _colour(self) -> None:
        self.said.setStyleSheet(f"color: {self._theme.fault if self._at_fault else self._theme.ink};")

    def say(self, words: str, *, at_fault: bool = False) -> None:
        """Show ``words``; nothing where they are empty."""
        self._at_fault = at_fault
        self._colour()
        self.said.setText(as_sentence(words))
        self.said.setVisible(bool(words))
        self.folder_button.hide()

    def allow(self, ready: bool) -> None:
        """Whether there is something to write."""
        self._ready = ready
        self._refresh_buttons()

    def _refresh_buttons(self) -> None:
        for button in (self.write_button, self.print_button):
            button.setEnabled(self._ready and not self.worker.busy)

    def _show_busy(self, on: bool) -> None:
        self.bar.setVisible(on)
        self.stop_button.setVisible(on)
        self._refresh_buttons()

    # Out

    def write(self) -> None:
        """Ask where to, and write what was shown."""
        sheet = None if self.worker.busy else self._sheet()
        if sheet is None:
            return
        words = f" {self._name.removeprefix('the ')}.pdf"
        document = self._desk.document
        path = ask_path(
            self._window, document, f"Write {self._name}", words, folder=sheet_folder_of(document)
        )
        if path is not None:
            self._writing = path
            self._start(partial(write_sheet, path, sheet), printed=False)

    def print(self) -> None:
        """Ask for a printer and print what was shown."""
        sheet = None if self.worker.busy else self._sheet()
        if sheet is None:
            return
        printer = ask_printer(self._window, sheet)
        if printer is not None:
            self._writing = None
            self._start(partial(print_sheet, printer, sheet), printed=True)

    def show_folder(self) -> None:
        """Open the folder of what was last written, in the system's own way."""
        if self._last is None:
            return
        if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._last.parent))):
            self.say(f"The system did not open the folder: it is {folder_words(self._last)}", at_fault=True)

    def _start(self, out: Callable[[Job], str], *, printed: bool) -> None:
        self._printed = printed
        self.starting.emit()
        self.bar.setRange(0, 0)
        self.worker.start(out)
        self._show_busy(True)
        self.say("Drawing the pages")

    def _progress(self, told: tuple[int, int]) -> None:
        done, pages = told
        self.bar.setRange(0, pages)
        self.bar.setValue(done)
        self.say(f"Page {done} of {pages}")

    def _ended(self, words: str, *, at_fault: bool = False) -> None:
        self._show_busy(False)
        if self._writing is not None and not at_fault:
            remember_sheet_folder_of(self._writing)
            self._last = self._writing.absolute()
        self.say(words, at_fault=at_fault)
        self.folder_button.setVisible(self._writing is not None and not at_fault)
        self._desk.say(as_sentence(words))

    def _failed(self, why: str) -> None:
        self._ended(f"{not_out(self._name, printed=self._printed)}: {why}", at_fault=True)

    def stop(self) -> None:
        """Take back what is under way, where it is not too late."""
        if self.worker.take_back():
            self._show_busy(False)
            self.say(f"Stopped: nothing was {'printed' if self._printed else 'written'}")
        else:
            # What comes of it is told in a moment.
            self.say("Too late to stop: the last of it is on its way")

    def leave(self) -> None:
        """The window goes: what is under way is taken back, or waited for, and that is said."""
        if self.worker.busy and not self.worker.finish():
            self._desk.say(as_sentence(
                f"{not_out(self._name, printed=self._printed)}: its window was closed meanwhile"
            ))
        self.worker.stop()


def bar_style(theme: Theme) -> str:
    """That of a bar that shows how far something is."""
    return (
        f"QProgressBar {{ border: 1px solid {theme.line}; border-radius: 4px; background: {theme.paper}; }}"
        f"QProgressBar::chunk {{ background: {theme.pick}; border-radius: 3px; }}"
    )
