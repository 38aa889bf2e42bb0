"""The window that makes templates: what is asked on the left, the pages on the right, then PDF or printer."""

from __future__ import annotations

import datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout

from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.heads import titled
from app.paper.pages import Sheet
from app.paper.template import TemplateError, TemplatePlan, plan_template
from app.paper.template_page import template_sheet
from app.paper.template_strip import bridges_words
from app.paper.writing import pages_words
from app.side.beside import Beside
from app.side.outgoing import SheetFoot
from app.side.side_window import SideWindow
from app.side.template_form import TemplateForm
from app.side.template_view import TemplateView
from app.work.document import Change
from core.design import Design
from core.units import UnitError, format_length

_PAUSE_MS = 150


class TemplateWindow(SideWindow):
    """Follows the design; nothing is written or printed before its pages have been shown."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Templates: outlines to cut from")
        self.form = TemplateForm(self._document.committed, self._desk.picked.now.outlines)
        self.view = TemplateView(beside.theme)
        self.planner = self._worker("template", self._planned, self._no_plan)
        self.count, self.notes = Label(), Label()
        self.foot = SheetFoot(self, self._desk, beside.theme, "the template", self._sheet)
        self.foot.starting.connect(self.form.remember)
        self._soon = self._timer(_PAUSE_MS, self.plan_now)
        self._lay_out()
        self.form.changed.connect(self._asked_anew)
        self._listen(self._document, self._heard)
        self.set_theme(beside.theme)
        self.plan_now()

    def _lay_out(self) -> None:
        scroll = QScrollArea()
        scroll.setWidget(self.form)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFixedWidth(self.form.minimumSizeHint().width() + 24)
        for label, name in ((self.count, "How many pages"), (self.notes, "Notes")):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
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
        close = QPushButton("Close")
        close.setAutoDefault(False)
        close.clicked.connect(self.close)
        end = QHBoxLayout()
        end.addWidget(self.foot, 1)
        end.addWidget(close)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(12)
        layout.addLayout(above, 1)
        layout.addLayout(end)
        self.resize(1040, 660)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.view.set_theme(theme)
        self.form.set_theme(theme)
        self.foot.set_theme(theme)
        self.notes.setStyleSheet(f"color: {theme.ink_soft};")

    # The pages

    def _heard(self, change: Change) -> None:
        if change.what in ("preview", "proposal"):
            return
        opened = change.what == "file" and change.name in ("opened", "recovered")
        self.form.take_up(self._document.committed, () if opened else None)
        self._asked_anew()

    def _asked_anew(self) -> None:
        self._show_plan(None)
        self._soon.start()

    _plan: TemplatePlan | None = None

    def plan_now(self) -> None:
        """Lay out what is asked, beside the drawing thread."""
        self._soon.stop()
        self._show_plan(None)
        try:
            choice = self.form.choice()
        except (UnitError, TemplateError) as error:
            self.planner.cancel()
            self._no_plan(str(error))
            return
        design, today = self._document.committed, datetime.date.today()
        path = self._document.path
        self.planner.start(lambda job: (design, plan_template(titled(design, path), choice, today)))

    def _planned(self, found: object) -> None:
        assert isinstance(found, tuple)
        design, plan = found
        assert isinstance(design, Design) and isinstance(plan, TemplatePlan)
        if self._soon.isActive():
            return
        self._show_plan(plan)
        self.view.show_plan(plan)
        tiles = len(plan.tiling.tiles)
        blank = plan.tiling.rows * plan.tiling.columns - tiles
        words = pages_words(plan.pages)
        if plan.has_map_page:
            words += ", the first of them the map"
        if blank:
            words += f"; {blank} that would be blank {'is' if blank == 1 else 'are'} left out"
        words += bridges_words(plan.tiling)
        if plan.choice.roll is not None:
            each = "each " if plan.pages > 1 else ""
            words += f", {each}{format_length(plan.width, design.display_units)} long"
        self.count.setText(as_sentence(words))
        self.notes.setText(" ".join(as_sentence(note) for note in plan.notes))

    def _no_plan(self, sentence: str) -> None:
        self._show_plan(None)
        self.view.show_words(as_sentence(sentence))
        self.count.setText("")
        self.notes.setText("")

    def _show_plan(self, plan: TemplatePlan | None) -> None:
        self._plan = plan
        self.foot.allow(plan is not None)

    def _sheet(self) -> Sheet | None:
        return None if self._plan is None else template_sheet(
            titled(self._document.committed, self._document.path), self._plan
        )

    def _leaving(self) -> None:
        self.foot.leave()
