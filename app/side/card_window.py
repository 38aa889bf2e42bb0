"""The card copy beside the window: paper and scale, the sheets as they will be, and what hanging it told."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QCheckBox, QComboBox, QVBoxLayout

from app.keeping.choices import keep_choice
from app.kit.flow import Flow
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Job
from app.paper.card_layout import CardSheets, lay_card, ratio_of
from app.paper.card_sheet import card_copy
from app.paper.card_words import scale_note
from app.paper.heads import titled
from app.paper.pages import PAPERS, Sheet, home_paper
from app.side.beside import Beside
from app.side.card_crossing import CrossingBox
from app.side.outgoing import SheetFoot
from app.side.sheet_preview import SheetPreview, pictures
from app.side.side_window import SideWindow
from app.work.document import Change
from core.bench.card import neat_ratios
from core.design import Design
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError
from core.stability.readings import Readings
from core.units import UnitError

_PAUSE_MS = 150
FIT = "fit the paper"
_KEPT_SCALE = "sheets/card copy/scale"


@dataclass(frozen=True, eq=False)
class _Laid:
    sheets: CardSheets
    pictures: list[QImage]


def _lay(
    job: Job, design: Design, readings: Readings, paper: str, ratio: float | None, tiled: bool
) -> _Laid:
    """In the worker's thread."""

    def stop() -> None:
        if job.gone():
            raise CancelledError

    sheets = lay_card(design, readings, PAPERS[paper], ratio, tiled=tiled, stop=stop)
    if isinstance(sheets, str):
        raise EditError(sheets)
    return _Laid(sheets, pictures(card_copy(sheets, today=datetime.date.today()), stop))


class CardWindow(SideWindow):
    """Stays open beside the window and follows the design; laid out and painted beside both."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Card copy")
        self.sheets: CardSheets | None = None
        self._laid_for: tuple[Design, str | None] | None = None
        """The design, and why its figures could not be told."""
        self._asked_for: tuple[str, str, bool] | None = None
        self.worker = self._worker("card", self._ready, self._failed)
        self.preview = SheetPreview(beside.theme)
        self.crossing = CrossingBox(self._document)
        self.foot = SheetFoot(self, self._desk, beside.theme, "the card copy", self._sheet)
        self._lay_out()
        self._soon = self._timer(_PAUSE_MS, self.compute)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self._asked()

    def _lay_out(self) -> None:
        self.paper = QComboBox()
        for key, size in PAPERS.items():
            self.paper.addItem(size.name, key)
        self.paper.setCurrentIndex(self.paper.findData(home_paper()))
        keep_choice("card copy/paper", self.paper)
        self.paper.currentIndexChanged.connect(self._asked)
        self.scale = QComboBox()
        self.scale.setEditable(True)
        self.scale.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.scale.addItems([FIT, *(f"1:{n:g}" for n in neat_ratios(1.0) if n <= 10)])
        self.scale.setMinimumContentsLength(12)
        self.scale.setToolTip("1:4, or any other: 1:3.7. What fits is the largest that goes on one sheet.")
        self.scale.setCurrentText(str(QSettings().value(_KEPT_SCALE, FIT)))
        self.scale.activated.connect(self._asked)
        line = self.scale.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._asked)
        self.tiled = QCheckBox("&Over several sheets")
        self.tiled.setToolTip("Pieces run over sheets that are joined by marks: full size, or at the scale.")
        keep_choice("card copy/several sheets", self.tiled)
        self.tiled.toggled.connect(self._asked)
        self.note = Label()
        self.note.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        row = Flow()
        for words, field in (("P&aper", self.paper), ("&Scale", self.scale)):
            label = Label(words)
            label.setBuddy(field)
            field.setAccessibleName(words.replace("&", ""))
            row.add(label, field)
        row.add(self.tiled)
        row.add(self.note)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(10)
        layout.addStrut(self._across(76))
        layout.addLayout(row)
        layout.addWidget(self.preview, 1)
        layout.addWidget(self.crossing)
        layout.addWidget(self.foot)
        screen = self.screen().availableGeometry()
        self.resize(min(880, screen.width() - 20), min(800, screen.height() - 40))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.foot.set_theme(theme)
        self.note.setStyleSheet(f"color: {theme.ink_soft};")
        self.preview.set_theme(theme)
        self.crossing.set_theme(theme)

    # The sheets

    def _asked(self) -> None:
        asked = str(self.paper.currentData()), self.scale.currentText(), self.tiled.isChecked()
        if asked != self._asked_for:
            self._asked_for = asked
            self._laid_for = None
            self.compute()

    def _changed(self, change: Change) -> None:
        if change.what in ("proposal", "preview", "trace"):
            return
        design, untold = self._document.committed, self._readout.committed_readings.untold
        before = self._laid_for
        if before is not None and before[1] == untold and self.sheets is not None and all(
            getattr(before[0], field) is getattr(design, field)
            for field in ("outlines", "wings", "tailplanes", "cg_mark", "weights", "cg_from", "aim", "scans",
                          "display_units", "title")
        ):
            # Only what was entered about the crossing can have changed.
            self._laid_for = design, untold
            self._soon.stop()
            self.foot.allow(not self.worker.busy)
            self.crossing.show_sheets(self.sheets)
            return
        # What is on view is of another design, or of figures that are withheld by now.
        self.foot.allow(False)
        self._soon.start()

    def compute(self) -> None:
        """Have the sheets laid out and painted beside the window."""
        self._soon.stop()
        if self._document.busy:
            self._soon.start()
            return
        design = self._document.committed
        readings = self._readout.committed_readings
        before = self._laid_for
        if before is not None and before[0] is design and before[1] == readings.untold:
            return
        named = titled(design, self._document.path)
        try:
            ratio = ratio_of(self.scale.currentText())
        except UnitError as error:
            self._failed(str(error))
            return
        QSettings().setValue(_KEPT_SCALE, self.scale.currentText())
        self._laid_for = design, readings.untold
        self.foot.allow(False)
        paper = str(self.paper.currentData())
        tiled = self.tiled.isChecked()
        self.note.setText("Laying out…")
        self.worker.start(lambda job: _lay(job, named, readings, paper, ratio, tiled))

    def _ready(self, laid: _Laid) -> None:
        self.sheets = laid.sheets
        self.note.setText(scale_note(laid.sheets))
        self.preview.show_pages(laid.pictures)
        self.crossing.show_sheets(laid.sheets)
        self.foot.allow(True)

    def _failed(self, why: str) -> None:
        self.worker.cancel()
        self.sheets, self._laid_for = None, None
        self.note.setText("")
        self.preview.say(as_sentence(why))
        self.crossing.show_sheets(None)
        self.foot.allow(False)

    def _sheet(self) -> Sheet | None:
        return None if self.sheets is None else card_copy(self.sheets, today=datetime.date.today())

    def _leaving(self) -> None:
        self.foot.leave()
