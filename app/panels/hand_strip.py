"""The strip over the canvas: what the hand in use needs to be told, and notes that ask for an answer."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QResizeEvent
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QWidget,
)

from app.canvas.canvas import Canvas
from app.canvas.tools.points import ScaleHand
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.panels.circle_page import CirclePage
from app.panels.ink_page import InkPage
from app.panels.scan_pages import JoinPage, StraightenPage
from app.work.document import Document
from app.work.readout import Readout
from core.kinds import KINDS
from core.redesign.outline_edits import EditError
from core.stability.photographs import HOW_TO_STRAIGHTEN
from core.units import UnitError, parse_length, read_as_inches

_ROOM_FOR_WORDS = 420


@errors_told
class HandStrip(QWidget):
    """One line: the kind to trace, the distance of a scale, or what the scan still lacks."""

    def __init__(self, document: Document, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._canvas = document, readout, canvas
        self.kind = QComboBox()
        self.kind.addItems(list(KINDS))
        self.kind.setAccessibleName("Kind to trace")
        self.kind.activated.connect(self._kind_chosen)
        self.distance = QLineEdit()
        self.distance.setPlaceholderText("52 in, 1.32 m")
        self.distance.setAccessibleName("True distance between the two points")
        self.distance.setMinimumWidth(60)
        self.distance.setMaximumWidth(180)
        self.distance.returnPressed.connect(self._scale)
        self.set_button = QPushButton("Set the scale")
        self.set_button.clicked.connect(self._scale)
        self.scale_button = QPushButton("Set the scale")
        self._lacking_hand = "scale"
        self.scale_button.clicked.connect(lambda: canvas.take_hand(self._lacking_hand))
        self._note, self._said, self._title, self.proposal = Label(), Label(), Label(), Label()
        bold = QFont(self.font())
        bold.setBold(True)
        for label in (self._title, self.proposal):
            label.setFont(bold)
        self.proposal.setWordWrap(True)
        self.proposal.setAccessibleName("Proposal on view")
        self._said.setWordWrap(True)
        for label in (self._note, self._said):
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._pages = QStackedWidget()
        self._trace_page = self.ink_page = InkPage(document, canvas, self.kind)
        self.across_button = QPushButton("And across…")
        self.across_button.setToolTip("Paper shrinks more one way: keep this distance and take one across it")
        self.across_button.clicked.connect(self._across)
        self._scale_words = Label("True distance")
        self._scale_page = _page(self._scale_words, self.distance, self.set_button, self.across_button)
        self.straighten = StraightenPage(document, canvas)
        self.join = JoinPage(canvas)
        self.circle = CirclePage(document, canvas)
        self._note_page = _page(self._note, self.scale_button)
        self._empty_page = _page(self._title)
        for page in (
            self._trace_page, self._scale_page, self.straighten, self.join, self.circle, self._note_page,
            self._empty_page, self.proposal,
        ):
            self._pages.addWidget(page)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(10, 0, 10, 0)
        self._row.addWidget(self._pages, 1)
        self._row.addWidget(self._said)
        self._line = max(38, self.fontMetrics().height() + 20)
        self.setFixedHeight(self._line)
        self.set_theme(theme)
        canvas.hand_changed.connect(lambda _: self.refresh())
        canvas.hint_changed.connect(self.refresh)
        canvas.said.connect(self.say)
        canvas.told.connect(self.tell)
        canvas.outline_traced.connect(lambda _: self.refresh())
        readout.listen(lambda _: self.refresh())
        self.refresh()

    _at_fault = True

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        # Where room is short the words give way to the fields: the last line says what they are for.
        self._scale_words.setVisible(self.width() >= _ROOM_FOR_WORDS)
        self.ink_page.words.setVisible(self.width() >= _ROOM_FOR_WORDS)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setObjectName("strip")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setStyleSheet(f"#strip {{ background: {theme.panel}; border-bottom: 1px solid {theme.line}; }}")
        self._theme = theme
        self._tone()
        self.proposal.setStyleSheet(f"color: {theme.pick};")
        self.ink_page.then.setStyleSheet(f"color: {theme.ink_soft};")

    def say(self, sentence: str) -> None:
        """Show one sentence until the next gesture changes something; empty to take it away."""
        self._show(sentence, at_fault=True)

    def tell(self, sentence: str) -> None:
        """The same of what was done, which is no fault."""
        self._show(sentence, at_fault=False)

    def _tone(self) -> None:
        self._said.setStyleSheet(f"color: {self._theme.fault if self._at_fault else self._theme.ink};")

    def _show(self, sentence: str, *, at_fault: bool) -> None:
        if at_fault != self._at_fault:
            self._at_fault = at_fault
            self._tone()
        sentence = as_sentence(sentence)
        if self._said.text() != sentence:
            self._said.setText(sentence)
            self._said.setToolTip(plain(sentence))
            # The title stands in the window's frame as well, and gives way.
            self._title.setVisible(not sentence)
            self._row.setStretch(0, 0 if sentence else 1)
            self._row.setStretch(1, 1 if sentence else 0)
            self.straighten.heard(sentence)

    def refresh(self) -> None:
        """Show what goes with the hand in use."""
        hand = self._canvas.hand
        title = self._document.edited.title
        if self._title.text() != title:
            self._title.setText(title)
            self._title.setToolTip(plain(self._document.edited.notes))
        proposal = self._document.proposal
        words = proposal.words if proposal is not None else ""
        if self.proposal.text() != words:
            self.proposal.setText(words)
        page: QWidget
        if hand.name in ("trace", "region"):
            page = self._trace_page
            self.ink_page.refresh()
            if self.kind.currentText() != self._canvas.tracing_kind:
                self.kind.setCurrentText(self._canvas.tracing_kind)
        elif hand.name == "scale":
            page = self._scale_page
            ready = isinstance(hand, ScaleHand) and len(hand.points) == 2
            if ready and not self.distance.isEnabled():
                self.distance.setEnabled(True)
                self.distance.setFocus()
            self.distance.setEnabled(ready)
            self.set_button.setEnabled(ready)
            across = isinstance(hand, ScaleHand) and hand.first is not None
            self._scale_words.setText("True distance across" if across else "True distance")
            self.set_button.setText("Set both" if across else "Set the scale")
            self.across_button.setVisible(not across)
            self.across_button.setEnabled(ready)
        elif hand.name == "straighten":
            page = self.straighten
            self.straighten.refresh()
        elif hand.name == "circle":
            page = self.circle
            self.circle.refresh()
        elif hand.name == "join":
            page = self.join
            self.join.refresh()
        elif proposal is not None:
            page = self.proposal
        else:
            page = self._note_page if self._unscaled() else self._empty_page
        if self._pages.currentWidget() is not page:
            self._pages.setCurrentWidget(page)
            self.setFixedHeight(2 * self._line - 6 if page is self.straighten else self._line)
            # That page needs the room, and says itself what cannot be taken.
            self._said.setVisible(page is not self.straighten)
            self._only_this_counts(page)

    def _only_this_counts(self, shown: QWidget) -> None:
        """Have the page that is shown, and not the widest of all, say how much room is needed."""
        for page in self._pages.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly):
            across = QSizePolicy.Policy.Preferred if page is shown else QSizePolicy.Policy.Ignored
            page.setSizePolicy(across, QSizePolicy.Policy.Preferred)

    def _unscaled(self) -> bool:
        scans = self._document.edited.scans
        lacking = [s for s in scans if s.photograph] or [s for s in scans if s.scale_from != "points"]
        if not lacking:
            return False
        self._lacking_hand = "straighten" if lacking[0].photograph else "scale"
        self.scale_button.setText("Straighten" if lacking[0].photograph else "Set the scale")
        if lacking[0].photograph:
            text = "The scan looks like a photograph."
        elif lacking[0].scale_from == "none":
            text = "The scan has no scale yet: lengths are hidden, and the handbook cannot be asked."
        else:
            text = "The scan was placed by its own dpi; a full-size plan is assumed. Check a dimension."
        if self._note.text() != text:
            self._note.setText(text)
            tip = f"{text[:-1]}: {HOW_TO_STRAIGHTEN}." if lacking[0].photograph else text
            self._note.setToolTip(plain(tip))
        return True

    def _kind_chosen(self) -> None:
        self._canvas.set_tracing_kind(KINDS[self.kind.currentIndex()])
        self._canvas.setFocus()

    def _across(self) -> None:
        hand = self._canvas.hand
        if not isinstance(hand, ScaleHand):
            return
        try:
            hand.keep(parse_length(self.distance.text(), self._document.edited.display_units))
        except (UnitError, EditError) as error:
            self.say(str(error))
            return
        self.say("")
        self.distance.clear()
        self._canvas.setFocus()
        self._canvas.hint_changed.emit()
        self._canvas.update()

    def _scale(self) -> None:
        hand = self._canvas.hand
        if not isinstance(hand, ScaleHand):
            return
        try:
            text, units = self.distance.text(), self._document.edited.display_units
            told = hand.finish(parse_length(text, units))
            if inches := read_as_inches(text, units):
                told = f"{inches}: {told}"
        except (UnitError, EditError) as error:
            self.say(str(error))
            return
        self.tell(told)
        self.distance.clear()
        self._canvas.take_hand("edit")
        self._canvas.fit()
        self._canvas.setFocus()


def _page(*widgets: QWidget) -> QWidget:
    page = QWidget()
    row = QHBoxLayout(page)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(8)
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return page
