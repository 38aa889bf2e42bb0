"""Where the plumb lines really crossed: measured on the card, kept in the design, and what it says."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QFrame, QPushButton, QVBoxLayout

from app.kit.flow import Flow
from app.kit.length_field import LengthField
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.card_layout import CardSheets, nose_of
from app.paper.card_words import crossing_words, read_crossing
from app.work.document import Document
from core.bench.crossing import Place
from core.design import DisplayUnits, Mark
from core.redesign.bench_edits import set_crossing

_ORIGINS = (("the nose", "nose"), ("the printed CLA", "cla"), ("the CG", "cg"))
_HINT = (
    "Hang the card from A and from B. Measure on the card, along the level line and square to it, where the "
    "two lines cross: aft and above are plus, ahead and below minus."
)


class CrossingBox(QFrame):
    """Two lengths on the card, and sentences about the difference. Speaks to the document alone."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._sheets: CardSheets | None = None
        self._typing = False
        self.setObjectName("crossing")
        title = Label("Where the lines crossed, on the card")
        title.setStyleSheet("font-weight: bold;")
        self.origin = QComboBox()
        self.origin.setAccessibleName("Measured from")
        for words, key in _ORIGINS:
            self.origin.addItem(words, key)
        self.origin.activated.connect(self._other_origin)
        self.aft = LengthField("Aft", self._units, "Along the level line, on the card; ahead: minus.")
        self.above = LengthField("Above", self._units, "Square to the level line, on the card; below: minus.")
        self.enter = QPushButton("&Enter it")
        self.forget = QPushButton("Take it &out")
        row = Flow()
        for words, field in (("&From", self.origin), ("af&t", self.aft), ("a&bove", self.above)):
            label = Label(words)
            label.setBuddy(field)
            row.add(label, field)
        for button, does in ((self.enter, self.enter_it), (self.forget, self.take_out)):
            button.setAutoDefault(False)
            button.clicked.connect(does)
        row.add(self.enter, self.forget)
        for length in (self.aft, self.above):
            # One row with the buttons, where the window is as large as it opens.
            length.setMaximumWidth(length.minimumSizeHint().width() + 20)
            length.changed.connect(self._typed_on)
            length.line.returnPressed.connect(self.enter_it)
        self.words = Label()
        self.words.setWordWrap(True)
        self.words.setAccessibleName("What the crossing says")
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        # Room for the longest that is said, so that the sheet above stays as it is.
        self.words.setMinimumHeight(self.fontMetrics().lineSpacing() * 6)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 8)
        layout.setSpacing(6)
        layout.addWidget(title)
        layout.addLayout(row)
        layout.addWidget(self.words)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.setStyleSheet(
            f"#crossing {{ background: {theme.paper}; border: 1px solid {theme.line}; border-radius: 4px; }}"
        )
        self.refresh()

    _theme: Theme | None = None

    def _units(self) -> DisplayUnits:
        return self._document.committed.display_units

    def show_sheets(self, sheets: CardSheets | None) -> None:
        """Another card, or another design: the fields show what is stored, measured on that card."""
        self._sheets = sheets
        for widget in (self.origin, self.aft, self.above):
            widget.setEnabled(sheets is not None)
        if not self._typing:
            self._fill()
        self.refresh()

    def _typed_on(self) -> None:
        self._typing = True
        self.refresh()

    def _from(self) -> Place | None:
        """What is measured from, mm of the design; None where the design has no such place."""
        sheets = self._sheets
        if sheets is None:
            return None
        key = self.origin.currentData()
        if key == "nose":
            return nose_of(sheets.plan.card)
        if key == "cla":
            return sheets.plan.card.balance
        cg = sheets.readings.cg
        return None if cg is None else (cg.x, cg.z)

    def _fill(self) -> None:
        self._typing = False
        stored, origin, sheets = self._document.committed.bench.crossing, self._from(), self._sheets
        if sheets is None or origin is None:
            return
        if stored is None:
            self.aft.set_value(None)
            self.above.set_value(None)
            return
        self.aft.set_value((stored.x - origin[0]) / sheets.ratio)
        self.above.set_value((stored.z - origin[1]) / sheets.ratio)

    def _other_origin(self) -> None:
        self._fill()
        self.refresh()

    def typed(self) -> Place | None:
        """The crossing as it stands in the fields, mm of the design; None while one is empty."""
        origin, sheets = self._from(), self._sheets
        if sheets is None or origin is None or self.aft.value is None or self.above.value is None:
            return None
        return (
            origin[0] + self.aft.value * sheets.ratio, origin[1] + self.above.value * sheets.ratio
        )

    def enter_it(self) -> None:
        """Keep it in the design: one entry of undo."""
        place = self.typed()
        if place is not None and self.enter.isEnabled():
            crossing = Mark(*place)
            self._typing = False
            self._document.apply("enter the crossing", lambda d: set_crossing(d, crossing), "card")

    def take_out(self) -> None:
        """Forget it."""
        self._typing = False
        self._document.apply("take the crossing out", lambda d: set_crossing(d, None), "card")

    def refresh(self) -> None:
        """Say what the figures in the fields tell."""
        place, sheets = self.typed(), self._sheets
        stored = self._document.committed.bench.crossing
        fault = self.aft.fault or self.above.fault
        text, at_fault = _HINT, False
        if fault:
            text, at_fault = as_sentence(fault), True
        elif sheets is not None and self._from() is None:
            text = "The CG is not known yet: measure from the nose."
        elif sheets is not None and place is not None:
            says = read_crossing(sheets, place, None if self.origin.currentData() == "cla" else self._from())
            if isinstance(says, str):
                text, at_fault = as_sentence(says), True
            else:
                first, rest = crossing_words(sheets, says)
                text = "\n".join([first, *rest])
        same = stored is not None and place is not None and (
            abs(stored.x - place[0]) < 1e-6 and abs(stored.z - place[1]) < 1e-6
        )
        self.enter.setEnabled(place is not None and not at_fault and not same)
        self.forget.setEnabled(stored is not None)
        if self._theme is not None:
            colour = self._theme.fault if at_fault else self._theme.ink
            self.words.setStyleSheet(f"color: {colour};")
        self.words.setText(text)
