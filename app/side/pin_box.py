"""Where the pin of the strings stands: two lengths, and what comes of them. Speaks to the document alone."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.kit.length_field import LengthField
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.setting_up_rows import pin_words, string_words
from app.work.document import Document
from core.bench.from_wing import foremost_wing, root_of
from core.bench.pin import pin_of, place_of
from core.bench.setting_up import string_check
from core.bench.taut import body_of
from core.design import LIMIT, LIMIT_WORDS, Design, DisplayUnits, Mark
from core.redesign.bench_edits import set_pin
from core.units import format_fine


class PinBox(QWidget):
    """What is typed is told at once, and kept by the button: one entry of undo."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._typing = False
        self.along = LengthField("Pin, along", self._units, "Aft is plus, ahead minus.")
        self.above = LengthField(
            "Pin, above", self._units, "Over the body's upper line where the pin stands; 0: on top of it."
        )
        self.along_words, self.above_words = Label(), Label()
        self.put, self.by_itself = QPushButton("P&ut it there"), QPushButton("&By itself")
        self.by_itself.setToolTip("On top of the body behind the wing, where the strings run free")
        self.words = Label()
        self.words.setWordWrap(True)
        self.words.setAccessibleName("How the strings run")
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.words.setMinimumHeight(2 * self.fontMetrics().lineSpacing())
        row = QHBoxLayout()
        row.setSpacing(8)
        for label, field in ((self.along_words, self.along), (self.above_words, self.above)):
            label.setBuddy(field)
            field.line.setMinimumWidth(70)
            field.changed.connect(self._typed_on)
            field.line.returnPressed.connect(self.put_it)
            row.addWidget(label)
            row.addWidget(field, 1)
        below = QHBoxLayout()
        below.setSpacing(8)
        below.addWidget(self.words, 1)
        for button, does in ((self.put, self.put_it), (self.by_itself, self.let_it_stand)):
            button.setAutoDefault(False)
            button.clicked.connect(does)
            below.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(row)
        layout.addLayout(below)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._tell()

    _theme: Theme | None = None

    def _units(self) -> DisplayUnits:
        return self._document.committed.display_units

    def refresh(self) -> None:
        """The design has changed: the fields show the pin in force, unless somebody is typing."""
        if not self._typing:
            self._fill()
        self._tell()

    def _fill(self) -> None:
        design = self._document.committed
        place = place_of(design, pin_of(design))
        behind = place.behind_wing
        self.along_words.setText(
            "Pin of the strings at &x" if behind is None else "Pin behind the wing's leading &edge"
        )
        self.above_words.setText("at &z" if place.above_body is None else "&above the body")
        self.along.set_value(place.mark.x if behind is None else behind)
        self.above.set_value(place.mark.z if place.above_body is None else place.above_body)

    def _typed_on(self) -> None:
        self._typing = True
        self._tell()

    def typed(self) -> Mark | None:
        """The pin as it stands in the fields, mm of the design; None while one is empty."""
        along, above = self.along.value, self.above.value
        if along is None or above is None:
            return None
        design = self._document.committed
        wing, body = foremost_wing(design), body_of(design)
        root = None if wing is None else root_of(wing)
        x = along if root is None else root.le_x + along
        top = None if body is None else body.top_at(x)
        return Mark(x, above if top is None else top + above)

    def put_it(self) -> None:
        """Keep it in the design."""
        pin = self.typed()
        if pin is not None and self.put.isEnabled():
            self._typing = False
            self._document.apply("place the pin", lambda d: set_pin(d, pin), "bench")

    def let_it_stand(self) -> None:
        """Where it stands by itself."""
        self._typing = False
        self._document.apply("let the pin stand by itself", lambda d: set_pin(d, None), "bench")
        self.refresh()

    def _tell(self) -> None:
        design, pin = self._document.committed, self.typed()
        fault = self.along.fault or self.above.fault
        if pin is not None and not (abs(pin.x) <= LIMIT and abs(pin.z) <= LIMIT):
            fault, pin = f"the pin is out of reach; keep within ±{LIMIT_WORDS} mm", None
        words = "" if pin is None else _told(design, pin)
        self.words.setText(as_sentence(fault or words))
        now = pin_of(design)
        same = pin is not None and abs(pin.x - now.x) < 1e-6 and abs(pin.z - now.z) < 1e-6
        self.put.setEnabled(pin is not None and not fault and not same)
        self.by_itself.setEnabled(design.bench.pin is not None or self._typing)
        if self._theme is not None:
            self.words.setStyleSheet(f"color: {self._theme.fault if fault else self._theme.ink_soft};")


def _told(design: Design, pin: Mark) -> str:
    place = pin_words(design, place_of(design, pin))
    if not design.tailplanes:
        return f"{place}; enter the tailplane for the strings"
    body = body_of(design)
    check = string_check(design.tailplanes[0], pin, body=body)
    if isinstance(check, str):
        return f"{place}: {check}"
    units = design.display_units
    long, differ = (format_fine(abs(v), units) for v in (check.square, check.per_degree))
    runs = string_words(check, body, units)
    return f"{place}; {runs}; both {long}, a degree of skew makes them differ by {differ}"
