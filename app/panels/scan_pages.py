"""What the hands that place scans need to be told, in the strip over the canvas: straighten, join."""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.canvas.canvas import Canvas
from app.canvas.tools.join import JoinHand
from app.canvas.tools.known_points import Extra
from app.canvas.tools.straighten import StraightenHand
from app.canvas.view import fitted
from app.kit.plain import Label, plain
from app.work.document import Document
from core.design import Vector
from core.redesign.outline_edits import EditError
from core.units import UnitError, format_typed, parse_length

NUDGES_END_AFTER_MS = 800
_ROOM = 0.2


class FlatButton(QPushButton):
    """For a scan that only looks like a photograph."""

    def __init__(self) -> None:
        super().__init__("It is flat")
        self.setToolTip("A scan after all, or a photograph laid flat elsewhere: measure it as it lies")


class StraightenPage(QWidget):
    """Two lengths, what is known of further points, how well all of it fits, and the button that ends it.

    Before the first corner of what looks like a photograph: why this is asked, and the other way out.
    """

    flat_wanted = Signal(str)
    """(scan id)"""

    def __init__(self, document: Document, canvas: Canvas) -> None:
        super().__init__()
        self._document, self._canvas = document, canvas
        self.width_field = _field("Width of the rectangle", "width")
        self.height_field = _field("Height of the rectangle", "height")
        self.extra_field = _field("What is known of the further point", "")
        self.done = QPushButton("Straighten")
        self.done.setToolTip("Keep the photograph as it is shown (Return)")
        self.flat = FlatButton()
        self.flat.clicked.connect(self._declare_flat)
        self.take = QPushButton("Take the corners")
        self.take.setToolTip("Begin with the sheet’s corners and sides as they were found (Return)")
        self.take.clicked.connect(self._take_sheet)
        self.why = Label()
        self.why.setWordWrap(True)
        self._asks, self.state = Label(), Label()
        self.state.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        above, below = QHBoxLayout(), QHBoxLayout()
        for widget in (Label("Width"), self.width_field, Label("Height"), self.height_field):
            above.addWidget(widget)
        self.along = QCheckBox("Along edges")
        self.along.setToolTip(
            "Click along what is straight on the paper (its sides, a frame, a datum line), three points or "
            "more on each: from that the bend of the lens is found and taken out"
        )
        self.along.toggled.connect(self._go_along)
        above.addStretch(1)
        above.addWidget(self.along)
        for widget in (self._asks, self.extra_field):
            below.addWidget(widget)
        below.addWidget(self.state, 1)
        below.addWidget(self.done)
        self._known, self._question = QWidget(), QWidget()
        rows = QVBoxLayout(self._known)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(2)
        for row, air in ((above, 4), (below, 8)):
            row.setSpacing(air)
            rows.addLayout(row)
        question = QHBoxLayout(self._question)
        question.setContentsMargins(0, 0, 0, 0)
        question.addWidget(self.why, 1)
        question.addWidget(self.take)
        question.addWidget(self.flat)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 4, 0, 4)
        whole.addWidget(self._known)
        whole.addWidget(self._question)
        self._question.hide()
        self._asked: tuple[int, int] | None = None
        self._flat = False
        self.width_field.returnPressed.connect(self._width_given)
        self.height_field.returnPressed.connect(self._lengths_given)
        self.extra_field.returnPressed.connect(self._extra_given)
        for field in (self.width_field, self.height_field):
            field.editingFinished.connect(self._take_lengths)
        self.done.clicked.connect(self._finish)

    def _hand(self) -> StraightenHand | None:
        hand = self._canvas.hand
        return hand if isinstance(hand, StraightenHand) else None

    def refresh(self) -> None:
        """Show what the hand knows by now."""
        hand = self._hand()
        if hand is None:
            return
        asks = hand.asks_whether_flat is not None
        self._known.setVisible(not asks)
        self._question.setVisible(asks)
        self.take.setVisible(hand.offered is not None)
        ready = len(hand.corners) == 4
        fields = (self.width_field, self.height_field)
        if not hand.corners:
            for field in fields:
                if field.text() and not field.hasFocus():
                    field.clear()
        for field in fields:
            field.setEnabled(ready)
        self.along.setEnabled(ready)
        if self.along.isChecked() != hand.along:
            self.along.setChecked(hand.along)
        self.done.setEnabled(ready and hand.fit is not None and not hand.fault)
        self._ask(hand)
        text = hand.state()
        if self.state.text() != text:
            self.state.setText(text)
            self.state.setToolTip(plain(text))
            self.why.setText(text)
        if self._flat != hand.previewing:
            self._flat = hand.previewing
            self._look(hand)

    def _take_sheet(self) -> None:
        hand = self._hand()
        if hand is not None and hand.take_sheet():
            self._canvas.hint_changed.emit()
            self.width_field.setFocus()

    def _declare_flat(self) -> None:
        hand = self._hand()
        scan = None if hand is None else hand.asks_whether_flat
        if scan is not None:
            self.flat_wanted.emit(scan.id)

    def _go_along(self, along: bool) -> None:
        hand = self._hand()
        if hand is not None and hand.along != along:
            hand.set_along(along)
            self._canvas.setFocus()
            self._canvas.hint_changed.emit()

    def _look(self, hand: StraightenHand) -> None:
        """The picture changed its size under the builder: look where its rectangle is now."""
        places = hand.places()[:4]
        if len(places) < 4:
            return
        xs, zs = ([place[k] for place in places] for k in (0, 1))
        wide, high = _ROOM * (max(xs) - min(xs)), _ROOM * (max(zs) - min(zs))
        box = (min(xs) - wide, min(zs) - high, max(xs) + wide, max(zs) + high)
        self._canvas.set_view(fitted(box, self._canvas.width(), self._canvas.height()))

    def _ask(self, hand: StraightenHand) -> None:
        index = hand.asked if len(hand.corners) == 4 else None
        extra = hand.extras[index] if index is not None else None
        for widget in (self._asks, self.extra_field):
            widget.setVisible(extra is not None)
        asked = None if index is None or extra is None else (index, len(extra.points))
        if asked == self._asked:
            return
        self._asked = asked
        if index is None or extra is None:
            return
        number = 5 + sum(len(e.points) for e in hand.extras[:index])
        if len(extra.points) == 2:
            self._asks.setText(f"{number} to {number + 1} apart")
            self.extra_field.setPlaceholderText("300 mm")
            self.extra_field.setToolTip("How far apart the two points truly lie")
        else:
            self._asks.setText(f"{number} lies at")
            self.extra_field.setPlaceholderText("along × up")
            self.extra_field.setToolTip(
                "Where the point lies from the lower left corner, along the width and up the height "
                "(“120 × 80 mm”); or click a second point for a distance"
            )
        self.extra_field.setText(self._known_text(extra))

    def _known_text(self, extra: Extra) -> str:
        units = self._document.edited.display_units
        if extra.place is not None:
            return " × ".join(format_typed(mm, units) for mm in extra.place)
        return "" if extra.apart is None else format_typed(extra.apart, units)

    def heard(self, sentence: str) -> None:
        """Something was said, which has no other place while this page is shown."""
        hand = self._hand()
        if hand is not None and hand.trouble != sentence:
            hand.trouble = sentence
            self._canvas.hint_changed.emit()

    # What is typed

    def _refused(self, hand: StraightenHand, error: Exception) -> None:
        hand.tell(str(error))
        self._canvas.hint_changed.emit()

    def _read(self, field: QLineEdit) -> float | None:
        text = field.text().strip()
        return parse_length(text, self._document.edited.display_units) if text else None

    def _take_lengths(self) -> bool:
        hand = self._hand()
        if hand is None or len(hand.corners) < 4:
            return False
        try:
            width, height = self._read(self.width_field), self._read(self.height_field)
        except UnitError as error:
            self._refused(hand, error)
            return False
        if hand.trouble or (width, height) != (hand.width, hand.height):
            hand.set_lengths(width, height)
            self._canvas.hint_changed.emit()
        return width is not None and height is not None

    def _width_given(self) -> None:
        if self._take_lengths():
            self._canvas.setFocus()
        else:
            self.height_field.setFocus()

    def _lengths_given(self) -> None:
        if self._take_lengths():
            self._canvas.setFocus()

    def _extra_given(self) -> None:
        hand = self._hand()
        if hand is None or self._asked is None:
            return
        index, count = self._asked
        text = self.extra_field.text().strip()
        place: Vector | None = None
        apart: float | None = None
        try:
            if text and count == 2:
                apart = parse_length(text, self._document.edited.display_units)
            elif text:
                place = self._place(text)
        except UnitError as error:
            self._refused(hand, error)
            return
        hand.set_extra(index, place=place, apart=apart)
        self._canvas.setFocus()
        self._canvas.hint_changed.emit()

    def _place(self, text: str) -> Vector:
        parts = text.replace("×", "x").lower().split("x")
        if len(parts) != 2:
            raise UnitError("give how far along the width and how far up the height, such as 120 × 80 mm")
        unit = parts[1].strip().lstrip("0123456789.,/ −-")
        first = parts[0].strip()
        if unit and first[-1:].isdigit():
            first = f"{first} {unit}"  # one unit behind both
        units = self._document.edited.display_units
        return parse_length(first, units), parse_length(parts[1].strip(), units)

    def _finish(self) -> None:
        hand = self._hand()
        if hand is None or not self._take_lengths():
            return
        try:
            hand.finish()
        except EditError as error:
            self._refused(hand, error)
            return
        self._canvas.take_hand("edit")
        self._canvas.setFocus()


class JoinPage(QWidget):
    """What came of joining, and which click comes next; closes a run of nudges when it rests."""

    def __init__(self, canvas: Canvas) -> None:
        super().__init__()
        self._canvas = canvas
        self.words = Label()
        self.words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.words, 1)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(NUDGES_END_AFTER_MS)
        self._rest.timeout.connect(self._settle)

    def _settle(self) -> None:
        hand = self._canvas.hand
        if isinstance(hand, JoinHand):
            hand.settle()

    def refresh(self) -> None:
        """Show how far the hand is."""
        hand = self._canvas.hand
        if not isinstance(hand, JoinHand):
            return
        text = hand.told if hand.told and not hand.taken else (
            "Click a point on the sheet that moves",
            "Now the same point on the sheet in place",
            "Another point on the sheet that moves",
            "And the same on the sheet in place",
        )[len(hand.taken)]
        if self.words.text() != text:
            self.words.setText(text)
            self.words.setToolTip(plain(text))
        if hand.nudging:
            self._rest.start()


def _field(name: str, hint: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setPlaceholderText(hint)
    field.setMinimumWidth(51)
    field.setMaximumWidth(110)
    return field
