"""The window that makes templates: what is asked on the left, the pages on the right, then PDF or printer."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
)

from app.keeping.folders import folder_of
from app.kit.overrides import errors_told
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Job, Worker
from app.paper.pages import PaperSize
from app.paper.template import TemplateChoice, TemplateError, TemplatePlan, plan_template
from app.side.beside import Beside
from app.side.template_form import TemplateForm
from app.side.template_view import TemplateView
from app.work.document import Change
from core.design import Design
from core.design_file import DesignFileError, write_bytes
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError
from core.units import UnitError, format_length

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

_PAUSE_MS = 150


@errors_told
class TemplateWindow(QDialog):
    """Follows the design; nothing is written or printed before its pages have been shown."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside.window)
        desk = beside.desk
        self._document = desk.document
        self.setWindowTitle("Templates: outlines to cut from")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        design = self._document.committed
        self.form = TemplateForm(design, desk.picked.now.outlines)
        self.view = TemplateView(beside.theme)
        self.planner, self.writer = Worker(self, "template"), Worker(self, "template-out")
        self.count, self.notes, self.state = QLabel(), QLabel(), QLabel()
        self.bar, self.stop_button = QProgressBar(), QPushButton("Stop")
        self.pdf_button, self.print_button = QPushButton("&Write PDF…"), QPushButton("&Print…")
        self.close_button = QPushButton("Close")
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_PAUSE_MS)
        self._soon.timeout.connect(self.plan_now)
        self._lay_out()
        self._connect()
        self.set_theme(beside.theme)
        self.plan_now()

    def _lay_out(self) -> None:
        scroll = QScrollArea()
        scroll.setWidget(self.form)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFixedWidth(self.form.minimumSizeHint().width() + 24)
        for label in (self.count, self.notes, self.state):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        for label, name in ((self.count, "How many pages"), (self.notes, "Notes"), (self.state, "State")):
            label.setAccessibleName(name)
        right = QVBoxLayout()
        right.setSpacing(6)
        right.addWidget(self.view, 1)
        right.addWidget(self.count)
        right.addWidget(self.notes)
        above = QHBoxLayout()
        above.setSpacing(14)
        above.addWidget(scroll)
        above.addLayout(right, 1)
        self.bar.setTextVisible(False)
        self.bar.setFixedSize(120, 8)
        end = QHBoxLayout()
        end.addWidget(self.state, 1)
        end.addWidget(self.bar)
        end.addWidget(self.stop_button)
        for button in (self.pdf_button, self.print_button, self.close_button):
            end.addWidget(button)
        for button in (self.pdf_button, self.print_button, self.close_button, self.stop_button):
            button.setAutoDefault(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(12)
        layout.addLayout(above, 1)
        layout.addLayout(end)
        self.resize(1040, 660)
        self._busy(False)

    def _connect(self) -> None:
        self.form.changed.connect(self._asked_anew)
        self.planner.done.connect(self._planned)
        self.planner.failed.connect(self._no_plan)
        self.writer.done.connect(self._written)
        self.writer.failed.connect(self._failed)
        self.writer.progress.connect(self._progress)
        self.pdf_button.clicked.connect(self.write_pdf)
        self.print_button.clicked.connect(self.print_pages)
        self.stop_button.clicked.connect(self._stopped)
        self.close_button.clicked.connect(self.close)
        self._deaf = self._document.listen(self._heard)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.view.set_theme(theme)
        self.form.set_theme(theme)
        self.notes.setStyleSheet(f"color: {theme.ink_soft};")
        self.bar.setStyleSheet(
            f"QProgressBar {{ border: 1px solid {theme.line}; border-radius: 4px;"
            f" background: {theme.paper}; }}"
            f"QProgressBar::chunk {{ background: {theme.pick}; border-radius: 3px; }}"
        )

    # The pages

    def _heard(self, change: Change) -> None:
        if change.what in ("preview", "proposal"):
            return
        opened = change.what == "file" and change.name in ("opened", "recovered")
        self.form.take_up(self._document.committed, () if opened else None)
        self._asked_anew()

    def _asked_anew(self) -> None:
        self._plan = None
        self._allow()
        self._soon.start()

    _plan: TemplatePlan | None = None

    def plan_now(self) -> None:
        """Lay out what is asked, beside the drawing thread."""
        self._soon.stop()
        self._plan = None
        self._allow()
        try:
            choice = self.form.choice()
        except (UnitError, TemplateError) as error:
            self.planner.cancel()
            self._no_plan(str(error))
            return
        design, today = self._document.committed, datetime.date.today()
        self.planner.start(lambda job: (design, plan_template(design, choice, today)))

    def _planned(self, found: object) -> None:
        assert isinstance(found, tuple)
        design, plan = found
        assert isinstance(design, Design) and isinstance(plan, TemplatePlan)
        if self._soon.isActive():
            return
        self._plan = plan
        self.view.show_plan(plan)
        tiles = len(plan.tiling.tiles)
        blank = plan.tiling.rows * plan.tiling.columns - tiles
        words = "1 page" if plan.pages == 1 else f"{plan.pages} pages"
        if plan.has_map_page:
            words += ", the first of them the map"
        if blank:
            words += f"; {blank} that would be blank {'is' if blank == 1 else 'are'} left out"
        if plan.choice.roll is not None:
            each = "each " if plan.pages > 1 else ""
            words += f", {each}{format_length(plan.width, design.display_units)} long"
        self.count.setText(as_sentence(words))
        self.notes.setText(" ".join(as_sentence(note) for note in plan.notes))
        self._allow()

    def _no_plan(self, sentence: str) -> None:
        self._plan = None
        self.view.show_words(as_sentence(sentence))
        self.count.setText("")
        self.notes.setText("")
        self._allow()

    def _allow(self) -> None:
        ready = self._plan is not None and not self.writer.busy
        self.pdf_button.setEnabled(ready)
        self.print_button.setEnabled(ready)

    # Writing and printing

    def _busy(self, on: bool, words: str = "") -> None:
        self.bar.setVisible(on)
        self.stop_button.setVisible(on)
        self.state.setText(words)
        self._allow()

    def write_pdf(self) -> None:
        """Ask where to, and write the pages shown; an older file stays until the new one is whole."""
        plan = self._plan
        if plan is None or self.writer.busy:
            return
        stem = self._document.path.stem if self._document.path else plan.title
        start = str(Path(folder_of(self._document)) / f"{stem} template.pdf")
        name, _ = QFileDialog.getSaveFileName(self, "Write the template", start, "PDF (*.pdf)")
        if not name:
            return
        path = Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf")
        self.form.remember()
        self._begin(plan)
        self.writer.start(partial(_write, plan, path))
        self._allow()

    def print_pages(self) -> None:
        """Ask for a printer and print the pages shown, laid anew where its paper is another."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from app.paper.pages import page_layout

        plan = self._plan
        if plan is None or self.writer.busy:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setPageLayout(page_layout(plan.width, plan.height))
        dialog = QPrintDialog(printer, self)
        if dialog.exec():
            self.form.remember()
            self._begin(plan)
            self.writer.start(partial(_print, self._document.committed, plan, printer))
            self._allow()

    def _begin(self, plan: TemplatePlan) -> None:
        self.bar.setRange(0, plan.pages)
        self.bar.setValue(0)
        self._busy(True, "Drawing the pages…")

    def _progress(self, told: object) -> None:
        assert isinstance(told, tuple)
        done, pages = told
        self.bar.setRange(0, pages)
        self.bar.setValue(done)
        self.state.setText(f"Page {done} of {pages}")

    def _written(self, words: object) -> None:
        self._busy(False, as_sentence(str(words)))

    def _failed(self, sentence: str) -> None:
        self._busy(False, as_sentence(sentence))

    def _stopped(self) -> None:
        if self.writer.take_back():
            self._busy(False, "Stopped: nothing was written.")
        else:
            # What comes of it is told in a moment.
            self.state.setText("Too late to stop: the last of it is on its way.")

    def done(self, result: int) -> None:  # noqa: D102
        self._leave()
        super().done(result)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: D102
        self._leave()
        super().closeEvent(event)

    def _leave(self) -> None:
        self._deaf()
        self._soon.stop()
        for worker in (self.planner, self.writer):
            worker.stop()


def _step(job: Job, done: int, pages: int) -> None:
    if job.gone():
        raise CancelledError
    job.tell((done, pages))


def _write(plan: TemplatePlan, path: Path, job: Job) -> str:
    from app.paper.template_page import template_pdf

    try:
        data = template_pdf(plan, partial(_step, job))
        job.carry_through()
        write_bytes(path, data)
    except DesignFileError as error:
        raise EditError(f"{path.name}: {error}") from None
    return f"Written: {path.name}, {'1 page' if plan.pages == 1 else f'{plan.pages} pages'}"


def for_paper(design: Design, plan: TemplatePlan, width: float, height: float) -> TemplatePlan:
    """The plan, laid anew where a printer's paper of ``width`` × ``height`` mm is not the plan's."""
    if abs(width - plan.width) <= 0.6 and abs(height - plan.height) <= 0.6:
        return plan
    paper = PaperSize("the printer's paper", min(width, height), max(width, height))
    choice: TemplateChoice = replace(plan.choice, paper=paper, roll=None, landscape=width > height)
    return plan_template(design, choice, datetime.date.today())


def _print(design: Design, plan: TemplatePlan, printer: QPrinter, job: Job) -> str:
    from PySide6.QtCore import QRectF
    from PySide6.QtGui import QPageLayout, QPainter

    from app.paper.pages import Paint, print_pages
    from app.paper.template_page import template_pages

    paper = printer.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
    fitted = for_paper(design, plan, paper.width(), paper.height())
    pages = template_pages(fitted)

    def watched(at: int, paint: Paint, painter: QPainter, page: QRectF) -> None:
        try:
            if at + 1 == len(pages):
                job.carry_through()
            elif job.gone():
                raise CancelledError
        except CancelledError:
            printer.abort()
            raise
        paint(painter, page)
        job.tell((at + 1, len(pages)))

    try:
        print_pages(
            printer, landscape=fitted.landscape,
            pages=[partial(watched, at, paint) for at, paint in enumerate(pages)],
        )
    except DesignFileError as error:
        raise EditError(str(error)) from None
    return f"Sent to the printer: {'1 page' if len(pages) == 1 else f'{len(pages)} pages'}"
