"""The answer first: what both witnesses say together, what to do, and what it rests on."""

from __future__ import annotations

from typing import cast

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QFrame, QMenu, QScrollArea, QSizePolicy, QWidget

from app.kit.cautions import CAUTIONS, IN_SHORT
from app.kit.help_places import set_help
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.state_sign import draw_state
from app.kit.theme import Theme
from app.work.document import Change, Document
from app.work.readout import COUNTING, Readout
from core.design import LeftOut
from core.redesign.completing import confirm, leave_out
from core.stability.answer import Answer, answer
from core.stability.answer_notes import Note
from core.stability.wording import steps

_EDGE, _GAP = 16.0, 5.0
_SPREAD_SIZE = 1.6
_STOP_PLATE = "#9c6490"
"""Stands out from dark and light alike, and its white bar from it."""
_WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
_OFFERS = {"leave out": "This aeroplane has none", "take in": "It has one after all",
           "confirm": "These values are right"}


@errors_told
class AnswerPanel(QWidget):
    """The headline of the window, drawn in one go.

    Labels in a layout would lay the whole panel out again at every mouse move. While a hand drags it
    keeps its height, so that nothing under it jumps. A line that offers something can be clicked; the
    same stands in the Edit menu.
    """

    def __init__(self, document: Document, readout: Readout, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._theme = document, readout, theme
        self._answer: Answer = answer(document.design, readout.readings)
        self._places: list[tuple[QRectF, Note]] = []
        self._over: Note | None = None
        self._before = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("The answer")
        self.setMouseTracking(True)
        readout.listen(self._changed)
        self._tell()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(320, max(self.minimumHeight(), self._least()))

    def _least(self) -> int:
        return int(self.fontMetrics().lineSpacing() * 15.6) + 40

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    @property
    def shown(self) -> Answer:
        """What stands there."""
        return self._answer

    def _changed(self, change: Change) -> None:
        found = answer(self._document.design, self._readout.readings)
        # What is spoken is not said anew at every move of a hand, but no figure stays that is none any more.
        gone = bool(self._answer.figure) and not found.figure
        counting = self._readout.readings.untold == COUNTING and change.what != "file"
        self._before = "" if found.figure or not counting else self._answer.figure or self._before
        if found != self._answer or not found.figure or change.what != "preview":
            self._answer = found
            self.update()
        if change.what != "preview" or gone:
            self._tell()

    def _tell(self) -> None:
        notes = (note.words for note in self._answer.notes)
        proposal = self._document.proposal
        told = (f"{proposal.words}:",) if proposal is not None else ()
        said = (*told, *self._answer.words, self._old(), *notes, self._answer.sure)
        self.setAccessibleDescription(" ".join(words for words in said if words))
        self._fit()

    def _old(self) -> str:
        """What was last counted, said to be old; empty where the answer is of what is on view."""
        return f"Old, until it is counted anew: {unbroken(self._before)}." if self._before else ""

    def _fit(self) -> None:
        """As high as its words need at this width."""
        nowhere = QImage(1, 1, QImage.Format.Format_RGB32)
        painter = QPainter(nowhere)
        try:
            high = max(self._least(), int(self._draw(painter)) + 6)
        finally:
            painter.end()
        if high != self.height():
            self.setFixedHeight(high)
            self.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    # What is offered

    def note_at(self, place: QPointF) -> Note | None:
        """The line at that place that offers something; None for none."""
        return next((note for box, note in self._places if note.offers and box.contains(place)), None)

    def place_of(self, note: Note) -> QRectF | None:
        """Where that line stands; None where it does not."""
        return next((box for box, other in self._places if other == note), None)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        over = self.note_at(event.position())
        if over != self._over:
            self._over = over
            self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)
            self.update()

    def leaveEvent(self, event: QEvent) -> None:  # noqa: D102
        self._over = None
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        note = self.note_at(event.position())
        if note is None or event.button() != Qt.MouseButton.LeftButton:
            return
        menu = QMenu(self)
        menu.addAction(_OFFERS[note.offers or ""]).triggered.connect(lambda: self.settle(note))
        menu.aboutToHide.connect(menu.deleteLater)
        menu.popup(event.globalPosition().toPoint())

    def settle(self, note: Note) -> None:
        """Do what the line offers: one entry of undo."""
        if note.offers == "confirm":
            self._document.apply("confirm what was put in", lambda d: confirm(d, note.about), "answer")
        elif note.offers is not None:
            out, what = note.offers == "leave out", cast(LeftOut, note.about)
            name = f"{'leave out' if out else 'take in'} {what}"
            self._document.apply(name, lambda d: leave_out(d, what, out), "answer")

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._theme.paper))
        painter.fillRect(0, self.height() - 1, self.width(), 1, QColor(self._theme.line))
        self._draw(painter)
        painter.end()

    def _draw(self, painter: QPainter) -> float:
        """Draw everything; where it ends."""
        theme, found = self._theme, self._answer
        self._places = []
        head = "The answer" if found.figure else "Next step"
        proposed = self._document.proposal is not None
        if proposed:
            head += " if the proposal is done"
        y = self._words(painter, 12.0, head, theme.pick if proposed else theme.ink_soft, bold=proposed)
        if found.state == "stop":
            y = self._draw_stop(painter, y)
        if found.figure:
            top = y - 4
            size = self._figure_size(2.2 if found.state == "stop" else 3.4)
            y = self._words(painter, top, unbroken(found.figure), theme.ink, size, bold=True)
            self._draw_spread(painter, top, size)
        y = self._words(painter, y, found.sentence, theme.ink, 1.15)
        y = self._words(painter, y, self._old(), theme.ink_soft)
        if found.figure and found.state != "stop":
            colour = theme.state(found.state)
            high = QFontMetricsF(self.font()).height()
            draw_state(painter, QRectF(_EDGE, y + 1, high, high - 2), found.state, colour)
            y = self._words(painter, y, found.state_words, colour.name(), bold=True, indent=high + 10)
        y = self._words(painter, y, found.meaning, theme.ink_soft)
        y = self._words(painter, y, found.advice, theme.ink, bold=True)
        if found.state in ("missing", "incomplete"):
            y = self._steps(painter, y + 4)
        return self._notes(painter, y)

    def _draw_stop(self, painter: QPainter, y: float) -> float:
        """The large words of a stop, light on dark: they stand before the figure."""
        theme, words = self._theme, self._answer.state_words
        high = QFontMetricsF(self.font()).height()
        box = QRectF(_EDGE - 6, y, self.width() - 2 * _EDGE + 12, 2.3 * high)
        painter.fillRect(box, QColor(theme.ink))
        sign = QRectF(_EDGE + 2, y + 0.45 * high, 1.4 * high, 1.4 * high)
        draw_state(painter, sign, "stop", QColor(_STOP_PLATE))
        self._words(painter, y + 0.3 * high, f"{words[:1].upper()}{words[1:]}", theme.paper, 1.45, bold=True,
                    indent=1.4 * high + 12)
        return box.bottom() + 8

    def _figure_size(self, size: float) -> float:
        """How much larger than usual letters the figure is drawn, so that it stands on one line."""
        room, found = self.width() - 2 * _EDGE, self._answer
        beside = QFontMetricsF(self._larger(_SPREAD_SIZE)).horizontalAdvance(found.spread) + 10
        beside *= bool(found.spread)
        while size > 1.2:
            if QFontMetricsF(self._larger(size, bold=True)).horizontalAdvance(found.figure) + beside <= room:
                break
            size -= 0.2
        return size

    def _larger(self, size: float, *, bold: bool = False) -> QFont:
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * size)
        font.setBold(bold)
        return font

    def _draw_spread(self, painter: QPainter, top: float, size: float) -> None:
        if not self._answer.spread:
            return
        metrics = QFontMetricsF(self._larger(size, bold=True))
        painter.setFont(self._larger(_SPREAD_SIZE))
        painter.setPen(QColor(self._theme.ink_soft))
        x = _EDGE + metrics.horizontalAdvance(self._answer.figure) + 10
        painter.drawText(QPointF(x, top + metrics.ascent()), self._answer.spread)

    def _steps(self, painter: QPainter, y: float) -> float:
        theme, high = self._theme, QFontMetricsF(self.font()).height()
        for words, done in steps(self._document.design, self._readout.readings):
            if done and self._answer.figure:
                continue
            box = QRectF(_EDGE, y + 1, high - 2, high - 2)
            if done:
                draw_state(painter, box, "within", QColor(theme.within))
            else:
                painter.setPen(QPen(QColor(theme.ink_soft), 1.2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(box.adjusted(1, 1, -1, -1))
            y = self._words(painter, y, words, theme.ink_soft if done else theme.ink, indent=high + 8)
        return y

    def _notes(self, painter: QPainter, y: float) -> float:
        """The lines under the answer; those that offer something carry a mark and can be clicked."""
        theme, found = self._theme, self._answer
        if not found.figure and not self._document.design.outlines:
            return y
        y += 3
        if found.sure:
            y = self._words(painter, y, found.sure, theme.ink_soft, 0.95)
        for title, notes in (
            ("At odds", found.at_odds), ("Not in it", found.left_out), ("Guessed", found.guessed)
        ):
            if notes:
                y = self._words(painter, y + 2, title, theme.ink, 0.95, bold=True) - 3
            for note in notes:
                colour = theme.pick if note.offers else theme.ink_soft
                start = y
                under = note.offers is not None and note == self._over
                y = self._words(painter, y, note.words, colour, 0.95, indent=10.0, under=under) - 2
                if note.offers:
                    self._draw_mark(painter, start, colour)
                self._places.append((QRectF(0, start, self.width(), y - start), note))
        return y + _GAP

    def _draw_mark(self, painter: QPainter, y: float, colour: str) -> None:
        middle = y + QFontMetricsF(self.font()).height() / 2
        painter.setPen(QPen(QColor(colour), 1.5))
        painter.drawPolyline([QPointF(_EDGE, middle - 3), QPointF(_EDGE + 3.5, middle),
                              QPointF(_EDGE, middle + 3)])

    def _words(
        self, painter: QPainter, y: float, text: str, colour: str, size: float = 1.0, *, bold: bool = False,
        indent: float = 0.0, under: bool = False,
    ) -> float:
        """Draw wrapped words from ``y`` on; where the next may begin."""
        if not text:
            return y
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * size)
        font.setBold(bold)
        font.setUnderline(under)
        painter.setFont(font)
        painter.setPen(QColor(colour))
        box = QRectF(_EDGE + indent, y, self.width() - 2 * _EDGE - indent, 4000.0)
        drawn = painter.drawText(box, int(_WRAP), text)
        assert isinstance(drawn, QRectF)
        return drawn.bottom() + _GAP


def unbroken(text: str) -> str:
    """The text with blanks at which no line is broken."""
    return text.replace(" ", "\N{NO-BREAK SPACE}")


@errors_told
class AnswerPlace(QScrollArea):
    """As high as the answer needs while the window has the room; beyond that it scrolls."""

    def __init__(self, panel: AnswerPanel) -> None:
        super().__init__()
        self._panel = panel
        self.setWidget(panel)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.setMinimumHeight(200)
        self.setAccessibleName("The answer, and what it rests on")
        self.caution = Label(IN_SHORT)
        self.caution.setParent(self)
        self.caution.setWordWrap(True)
        self.caution.setToolTip(plain("\n".join(CAUTIONS)))
        self.caution.setContentsMargins(round(_EDGE), 3, round(_EDGE), 5)
        self.caution.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        set_help(self.caution, "trust/before")
        panel.installEventFilter(self)

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(320, self._panel.height() + self._under())

    def _under(self) -> int:
        """How high the caution is at this width."""
        return self.caution.heightForWidth(max(200, self.width()))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        # It stays in sight however little of the answer there is room for.
        high = self._under()
        self.setViewportMargins(0, 0, 0, high)
        self.caution.setGeometry(0, self.height() - high, self.width(), high)
        super().resizeEvent(event)

    def eventFilter(self, watched: object, event: QEvent) -> bool:  # noqa: D102
        if event.type() == QEvent.Type.Resize:
            self.updateGeometry()
        return False
