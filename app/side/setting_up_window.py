"""Setting up, beside the window: linkages and weighings typed at the bench, and the sheet on paper."""

from __future__ import annotations

import datetime
from functools import partial

from PySide6.QtGui import QImage
from PySide6.QtWidgets import QComboBox, QTabWidget, QVBoxLayout, QWidget

from app.keeping.choices import keep_choice
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.heads import titled
from app.paper.ink import Paper
from app.paper.pages import PAPERS, Sheet, home_paper
from app.paper.setting_up_sheet import setting_up_sheet
from app.side.beside import Beside
from app.side.linkages import LinkagesPanel
from app.side.outgoing import SheetFoot
from app.side.pin_box import PinBox
from app.side.sheet_preview import SheetPreview, painted
from app.side.side_window import SideWindow
from app.side.weighing import WeighingPanel
from app.work.document import Change

_PAPERS: tuple[Paper, ...] = ("a4", "letter")
_PAUSE_MS = 150


class SettingUpWindow(SideWindow):
    """Linkages, weighings and the sheet in tabs; below them what went wrong or was written."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Setting up")
        self.paper = QComboBox()
        self.paper.setAccessibleName("Paper")
        for paper in _PAPERS:
            self.paper.addItem(PAPERS[paper].name, paper)
        self.paper.setCurrentIndex(_PAPERS.index(home_paper()))
        keep_choice("setting-up sheet/paper", self.paper)
        self.paper.currentIndexChanged.connect(lambda _: self._paint_anew())
        words = Label("Setting-up sheet, pa&per")
        words.setBuddy(self.paper)
        self.foot = SheetFoot(
            self, self._desk, self._theme, "the setting-up sheet", self._settled, ((words, self.paper),)
        )
        self.linkages = LinkagesPanel(self._document, self._theme, self._trouble)
        self.weighing = WeighingPanel(self._document, self._theme, self._trouble)
        self.worker = self._worker("setting-up sheet", self._painted, self._not_painted)
        self.pin, self.preview = PinBox(self._document), SheetPreview(self._theme)
        self.sheet_tab = QWidget()
        within = QVBoxLayout(self.sheet_tab)
        within.setSpacing(8)
        within.addWidget(self.pin)
        within.addWidget(self.preview, 1)
        self.tabs = QTabWidget()
        self.tabs.addTab(self.linkages, "&Linkages")
        self.tabs.addTab(self.weighing, "Wei&ghing")
        self.tabs.addTab(self.sheet_tab, "&Sheet, and its pin")
        self.tabs.currentChanged.connect(lambda _: self._paint_anew())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 10, 16, 12)
        layout.setSpacing(10)
        layout.addWidget(self.tabs, 1)
        layout.addWidget(self.foot)
        screen = self.screen().availableGeometry()
        self.resize(min(890, screen.width() - 20), min(640, screen.height() - 40))
        self._soon = self._timer(_PAUSE_MS, self._paint_anew)
        self._listen(self._document, self._changed)
        self.pin.refresh()
        self.set_theme(self._theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.foot.set_theme(theme)
        self.linkages.set_theme(theme)
        self.weighing.set_theme(theme)
        self.pin.set_theme(theme)
        self.preview.set_theme(theme)

    def _changed(self, change: Change) -> None:
        if change.what == "proposal":
            return
        if change.what != "file" or change.name != "saved":
            self.foot.say("")
        self.linkages.refresh()
        self.weighing.refresh()
        if self.tabs.currentWidget() is self.sheet_tab:
            self._soon.start()

    def _trouble(self, words: str) -> None:
        self.foot.say(words, at_fault=True)

    # The sheet

    @property
    def chosen_paper(self) -> Paper:
        """The paper of the sheet."""
        return _PAPERS[self.paper.currentIndex()]

    def _paint_anew(self) -> None:
        """Have the pages painted beside the window, while they are looked at and nothing is being drawn."""
        self._soon.stop()
        if self.tabs.currentWidget() is not self.sheet_tab:
            return
        if self._document.busy:
            self._soon.start()
            return
        self.pin.refresh()
        sheet = self._sheet()
        self.worker.start(partial(painted, sheet))

    def _painted(self, pages: list[QImage]) -> None:
        self.preview.show_pages(pages)

    def _not_painted(self, why: str) -> None:
        self.preview.say(as_sentence(why))

    def _settled(self) -> Sheet:
        self._document.settle()
        return self._sheet()

    def _sheet(self) -> Sheet:
        design = titled(self._document.committed, self._document.path)
        return setting_up_sheet(design, paper=self.chosen_paper, today=datetime.date.today())

    def _leaving(self) -> None:
        self.foot.leave()
