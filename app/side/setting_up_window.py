"""Setting up, beside the window: linkages and weighings typed at the bench, and the sheet on paper."""

from __future__ import annotations

import datetime

from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QComboBox, QLabel, QTabWidget, QVBoxLayout

from app.kit.theme import Theme
from app.paper.ink import Paper
from app.paper.pages import PAPERS, Sheet, home_paper
from app.paper.setting_up_sheet import setting_up_sheet
from app.side.beside import Beside
from app.side.linkages import LinkagesPanel
from app.side.outgoing import SheetFoot
from app.side.side_window import SideWindow
from app.side.weighing import WeighingPanel
from app.work.document import Change

_PAPERS: tuple[Paper, ...] = ("a4", "letter")


class SettingUpWindow(SideWindow):
    """Linkages and weighings in two tabs; below them what went wrong or was written, and the sheet."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Setting up")
        self.paper = QComboBox()
        self.paper.setAccessibleName("Paper")
        self.paper.addItems([PAPERS[paper].name for paper in _PAPERS])
        self.paper.setCurrentIndex(_PAPERS.index(home_paper()))
        words = QLabel("Setting-up sheet, pa&per")
        words.setBuddy(self.paper)
        self.foot = SheetFoot(
            self, self._desk, self._theme, "the setting-up sheet", self._sheet, (words, self.paper)
        )
        self.linkages = LinkagesPanel(self._document, self._theme, self._trouble)
        self.weighing = WeighingPanel(self._document, self._theme, self._trouble)
        self.tabs = QTabWidget()
        self.tabs.addTab(self.linkages, "&Linkages")
        self.tabs.addTab(self.weighing, "Wei&ghing")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 10, 16, 12)
        layout.setSpacing(10)
        layout.addWidget(self.tabs, 1)
        layout.addWidget(self.foot)
        self.resize(890, 500)
        for keys, run in (
            (QKeySequence.StandardKey.Undo, self._desk.undo),
            (QKeySequence.StandardKey.Redo, self._desk.redo),
        ):
            QShortcut(QKeySequence(keys), self).activated.connect(run)
        self._listen(self._document, self._changed)
        self.set_theme(self._theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.foot.set_theme(theme)
        self.linkages.set_theme(theme)
        self.weighing.set_theme(theme)

    def _changed(self, change: Change) -> None:
        if change.what == "proposal":
            return
        if change.what != "file" or change.name != "saved":
            self.foot.say("")
        self.linkages.refresh()
        self.weighing.refresh()

    def _trouble(self, words: str) -> None:
        self.foot.say(words, at_fault=True)

    # The sheet

    @property
    def chosen_paper(self) -> Paper:
        """The paper of the sheet."""
        return _PAPERS[self.paper.currentIndex()]

    def _sheet(self) -> Sheet:
        self._document.settle()
        return setting_up_sheet(
            self._document.committed, paper=self.chosen_paper, today=datetime.date.today()
        )

    def _leaving(self) -> None:
        self.foot.leave()
