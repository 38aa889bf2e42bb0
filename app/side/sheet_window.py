"""What windows have in common that show a sheet of the design alone: its paper, its pages as they will be,
then PDF or printer. They follow the design, and are painted beside themselves and the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtGui import QImage
from PySide6.QtWidgets import QComboBox, QVBoxLayout, QWidget

from app.keeping.choices import keep_choice
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.ink import Paper
from app.paper.pages import PAPERS, PaperSize, Sheet, home_paper
from app.side.beside import Beside
from app.side.outgoing import SheetFoot
from app.side.sheet_preview import SheetPreview, painted
from app.side.side_window import SideWindow
from app.work.document import Change
from core.redesign.outline_edits import EditError

_PAUSE_MS = 150
_PAPERS: tuple[Paper, ...] = ("a4", "letter")


class SheetWindow(SideWindow):
    """A kind of sheet is a class with ``_sheet``."""

    def __init__(
        self, beside: Beside, title: str, name: str, papers: Sequence[str] = _PAPERS,
        besides: tuple[tuple[QWidget, ...], ...] = (),
    ) -> None:
        """``name`` with its article: "the bench sheet"; ``besides`` stand before the paper."""
        super().__init__(beside, title)
        self.worker = self._worker(name.removeprefix("the "), self._ready, self._failed)
        self.preview = SheetPreview(beside.theme)
        self.paper = QComboBox()
        self.paper.setAccessibleName("Paper")
        for paper in papers:
            self.paper.addItem(PAPERS[paper].name, paper)
        self.paper.setCurrentIndex(self.paper.findData(home_paper()))
        keep_choice(f"{name.removeprefix('the ')}/paper", self.paper)
        self.paper.currentIndexChanged.connect(lambda _: self.compute())
        label = Label("Pa&per")
        label.setBuddy(self.paper)
        self.foot = SheetFoot(
            self, self._desk, beside.theme, name, self._settled, (*besides, (label, self.paper))
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(10)
        layout.addStrut(self._across(70))
        layout.addWidget(self.preview, 1)
        layout.addWidget(self.foot)
        self._soon = self._timer(_PAUSE_MS, self.compute)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.compute()

    def _fit(self, wide: int, tall: int) -> None:
        """As large as that, where the screen has the room."""
        screen = self.screen().availableGeometry()
        self.resize(min(wide, screen.width() - 20), min(tall, screen.height() - 40))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.foot.set_theme(theme)
        self.preview.set_theme(theme)

    def _changed(self, change: Change) -> None:
        if change.what != "proposal":
            self._soon.start()

    def compute(self) -> None:
        """Have the pages painted beside the window; later, while something is being drawn."""
        self._soon.stop()
        if self._document.busy:
            self._soon.start()
            return
        try:
            sheet = self._sheet()
        except EditError as error:
            self.worker.cancel()
            self.foot.allow(False)
            self._failed(str(error))
            return
        self.foot.allow(True)
        self.worker.start(partial(painted, sheet))

    def _ready(self, pages: list[QImage]) -> None:
        self.preview.show_pages(pages)

    def _failed(self, why: str) -> None:
        self.preview.say(as_sentence(why))

    @property
    def _size(self) -> PaperSize:
        return PAPERS[self.paper.currentData()]

    @property
    def _chosen(self) -> Paper:
        """Of a window that offers no other papers than these."""
        return "letter" if self.paper.currentData() == "letter" else "a4"

    def _sheet(self) -> Sheet:
        """Of the committed design as it is now, whatever the preview has come to.

        EditError, one sentence, where there is nothing to draw.
        """
        raise NotImplementedError

    def _settled(self) -> Sheet | None:
        self._document.settle()
        try:
            return self._sheet()
        except EditError as error:
            self.foot.say(str(error), at_fault=True)
            return None

    def _leaving(self) -> None:
        self.foot.leave()
