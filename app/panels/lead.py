"""How much lead, and where: for a wanted CG and a station, the mass, and the way to put it in."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QGridLayout, QLineEdit, QPushButton

from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.work.document import Document
from app.work.selection import Picked, Selection
from core.design import Design
from core.redesign.outline_edits import EditError
from core.redesign.weight_edits import SAME_PLACE, lead_at, lead_needed, nose_x, put_lead
from core.stability.ballast import weighed
from core.units import UnitError, format_length, format_mass, format_typed, parse_length

_LEAST_GRAMS = 0.05


class LeadForm(QFrame):
    """Two stations that can be left as they are: the mark, and the nose."""

    def __init__(
        self, document: Document, picked: Picked, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._picked, self._say = document, picked, say
        self._typed: dict[str, float] = {}
        self._fields = {"wanted": QLineEdit(), "lead": QLineEdit()}
        self._known = True
        title = Label("How much lead, and where")
        bold = QFont(title.font())
        bold.setBold(True)
        title.setFont(bold)
        grid = QGridLayout(self)
        grid.setContentsMargins(12, 10, 12, 12)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(5)
        grid.addWidget(title, 0, 0, 1, 2)
        tips = {
            "wanted": "Station where the CG shall lie, in any unit. Left empty: the mark.",
            "lead": "Station where the lead goes, in any unit. Left empty: the nose, "
                    "the foremost point of the fuselage.",
        }
        for at, (key, words) in enumerate((("wanted", "CG wanted at"), ("lead", "Lead at")), start=1):
            field, label = self._fields[key], Label(words)
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
            field.setAccessibleName(words)
            field.setToolTip(plain(tips[key]))
            label.setBuddy(field)
            field.editingFinished.connect(lambda k=key: self._entered(k))
            grid.addWidget(label, at, 0)
            grid.addWidget(field, at, 1)
        self.answer = Label()
        self.answer.setWordWrap(True)
        self.answer.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.button = QPushButton("Put the lead in")
        self.button.clicked.connect(self.put_in)
        grid.addWidget(self.answer, 3, 0, 1, 2)
        grid.addWidget(self.button, 4, 0, 1, 2, Qt.AlignmentFlag.AlignLeft)
        grid.setColumnStretch(1, 1)
        self.set_theme(theme)
        self.refresh()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setObjectName("lead")
        self.setStyleSheet(f"#lead {{ border-top: 1px solid {theme.line}; }}")

    def forget(self) -> None:
        """Let go of what was typed: it was about another aeroplane."""
        self._typed.clear()
        for field in self._fields.values():
            field.clear()

    def _station(self, design: Design, key: str) -> float | None:
        if key in self._typed:
            return self._typed[key]
        if key == "wanted":
            return design.cg_mark.x if design.cg_mark else None
        return nose_x(design)

    def refresh(self, *, scale_known: bool | None = None) -> None:
        """Show what the design as it is now needs."""
        if scale_known is not None:
            self._known = scale_known
        design = self._document.edited
        units = design.display_units
        for key, words in (("wanted", "mark"), ("lead", "nose")):
            field = self._fields[key]
            station = self._station(design, key)
            shown = format_typed(station, units) if station is not None else ""
            field.setPlaceholderText(f"{words}, {shown}" if shown and key not in self._typed else "–")
            if not (field.hasFocus() and field.isModified()):
                text = shown if key in self._typed else ""
                if field.text() != text:
                    field.setText(text)
        text, ready = self._answer(design)
        if self.answer.text() != text:
            self.answer.setText(text)
        self.button.setEnabled(ready)
        lead_x = self._station(design, "lead")
        there = lead_at(design, lead_x) if lead_x is not None else None
        self.button.setText("Change the lead" if there else "Put the lead in")

    def _answer(self, design: Design) -> tuple[str, bool]:
        """(what is to be said, whether lead can be put in)."""
        if not self._known:
            return "Stations mean nothing until the scan has its scale: set it first.", False
        wanted, lead_x = self._station(design, "wanted"), self._station(design, "lead")
        if wanted is None:
            return "Mark the CG, or type the station where it shall lie.", False
        if lead_x is None:
            return "Trace the fuselage, or type the station where the lead goes.", False
        units, now = design.display_units, weighed(design)
        if isinstance(now, str):
            return f"{now[:1].upper()}{now[1:]} first.", False
        if abs(now.x - wanted) < SAME_PLACE:
            return f"The weights balance where the CG is wanted, at {format_length(wanted, units)}.", False
        needed = lead_needed(design, wanted, lead_x)
        if isinstance(needed, str):
            reason = needed.replace("ballast", "lead")
            return f"No lead at {format_length(lead_x, units)} can do it: {reason}.", False
        if needed.grams < _LEAST_GRAMS:
            return "Without the lead the weights balance where the CG is wanted: take it out.", False
        there = lead_at(design, lead_x)
        was = f" instead of {format_mass(there.grams, units)}" if there else ""
        return (
            f"{format_mass(needed.grams, units)} of lead at {format_length(lead_x, units)}{was} brings "
            f"the CG from {format_length(now.x, units)} to {format_length(wanted, units)}. "
            f"All up it then weighs {format_mass(needed.total_grams, units)}."
        ), True

    def _entered(self, key: str) -> None:
        field = self._fields[key]
        if not field.isModified():
            return
        field.setModified(False)
        try:
            if field.text().strip():
                self._typed[key] = parse_length(field.text(), self._document.edited.display_units)
            else:
                self._typed.pop(key, None)
        except UnitError as error:
            self._say(str(error))
        self.refresh()

    def put_in(self) -> None:
        """The lead into the table, selected; one entry of undo."""
        self._document.settle("weights")
        design = self._document.committed
        wanted, lead_x = self._station(design, "wanted"), self._station(design, "lead")
        if wanted is None or lead_x is None:
            return
        try:
            changed, made = put_lead(design, wanted, lead_x)
        except EditError as error:
            self._say(str(error))
            return
        self._document.apply("put lead in", lambda _: changed, "weights")
        self._picked.set(Selection(weight=made))
