"""Weighing: what the scales read as the aeroplane grows, mass and CG from it, beside the prediction."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout

from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.weighing_rows import SCALES, lead_words, off_words, predicted_words, stage_words
from app.side.bench_page import BenchPage, Parts
from app.side.bench_table import Column
from app.work.document import Document, Edit
from core.bench.weighing import Compared, compared
from core.design import Design, DisplayUnits
from core.design_bench import Weighing
from core.redesign.bench_edits import (
    add_weighing,
    delete_weighing,
    drop_support,
    duplicate_weighing,
    rename_weighing,
    set_support,
)
from core.units import MISSING, format_mass, format_typed, parse_length, parse_mass


def _label(weighing: Weighing) -> str:
    return weighing.label or "Weighing"


def _label_edit(weighing: Weighing, text: str, units: DisplayUnits) -> Edit:
    return lambda design: rename_weighing(design, weighing.id, text.strip())


def _scale(at: int, what: str) -> Column:
    def show(weighing: Weighing, design: Design) -> str:
        if at >= len(weighing.supports):
            return ""
        support = weighing.supports[at]
        if what == "x":
            return format_typed(support.x, design.display_units, with_unit=False)
        return format_mass(support.grams, design.display_units, with_unit=False)

    def edit(weighing: Weighing, text: str, units: DisplayUnits) -> Edit:
        if not text.strip():
            return lambda design: drop_support(design, weighing.id, at)
        if what == "x":
            x = parse_length(text, units)
            return lambda design: set_support(design, weighing.id, at, x=x)
        grams = parse_mass(text, units)
        return lambda design: set_support(design, weighing.id, at, grams=grams)

    number = at + 1
    if what == "x":
        return Column(
            f"x{number}", f"{number}: x {{length}}", f"station of scale {number}",
            "How far aft of the datum the support stands. Empty: this scale is not used.", show, edit,
        )
    return Column(
        f"grams{number}", f"{number}: {{mass}}", f"reading of scale {number}",
        "What the scale reads, without what it carries besides. Empty: this scale is not used.", show, edit,
    )


def _result(key: str, head: str, words: str, tip: str, told: Callable[[Compared, Design], str]) -> Column:
    def show(weighing: Weighing, design: Design) -> str:
        found = compared(design, weighing)
        return MISSING if isinstance(found, str) else told(found, design)

    return Column(key, head, words, tip, show)


def _off(found: Compared, design: Design) -> str:
    return MISSING if isinstance(found.off_x, str) else off_words(found.off_x, design.display_units)


def _lead(found: Compared, design: Design) -> str:
    place, grams = lead_words(found, design.display_units)
    return f"{grams} {place}".strip()


COLUMNS = (
    Column("label", "Stage", "stage", "What the aeroplane was then: “bare airframe”, “ready to fly”.",
           lambda part, _: _label(part), _label_edit, left=True),
    *(_scale(at, what) for at in range(SCALES) for what in ("x", "grams")),
    _result("mass", "Mass", "mass", "The sum of the readings.",
            lambda found, design: format_mass(found.measured.grams, design.display_units)),
    _result("cg", "CG x", "CG", "Sum of reading × station, divided by the mass.",
            lambda found, design: format_typed(found.measured.x, design.display_units)),
    _result("off", "Off predicted", "difference", "Measured CG against that of the list of weights.", _off),
    _result("lead", "Lead", "lead", "What would bring the CG to where the readings want it.", _lead),
)


def _add(design: Design) -> tuple[Design, str]:
    """One more weighing, on the stations of the last one where there is one."""
    last = design.bench.weighings[-1:]
    stations = tuple(s.x for s in last[0].supports) if last else (0.0, 0.0)
    return add_weighing(design, "Weighing", stations)


WEIGHINGS = Parts(
    "weighing", "Weighings", COLUMNS, lambda design: design.bench.weighings,
    _add, duplicate_weighing, delete_weighing,
    "No weighing yet. Stand the aeroplane level on two or three scales, add a weighing and type "
    "where each support stands and what its scale reads.",
)


class WeighingPanel(BenchPage):
    """The table with its buttons, the prediction, and what is to be said of the current weighing."""

    def __init__(self, document: Document, theme: Theme, say: Callable[[str], None]) -> None:
        super().__init__(document, say, WEIGHINGS)
        self.predicted, self.lines = Label(), Label()
        for label in (self.predicted, self.lines, self.empty):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 10, 0, 0)
        layout.setSpacing(8)
        layout.addLayout(self._buttons())
        layout.addWidget(self.predicted)
        layout.addWidget(self.empty)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.lines)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.table.set_theme(theme)
        self.predicted.setStyleSheet("font-weight: bold;")
        self.refresh()

    def refresh(self) -> None:
        """Show the design as it is now."""
        self.predicted.setText(f"{predicted_words(self._document.edited)}.")
        self._show_rows(self.lines)

    def _tell(self) -> None:
        weighing, design = self.table.current(), self._document.edited
        if weighing is None:
            return
        units, found = design.display_units, compared(design, weighing)
        if isinstance(found, str):
            self.lines.setText(f"{_label(weighing)}: {as_sentence(found)}")
            return
        words = [] if isinstance(found.off_grams, str) else [
            f"{_label(weighing)}: {format_mass(found.off_grams, units, signed=True)} against the prediction."
        ]
        more = len(weighing.supports) - SCALES
        if more > 0:
            words.append(f"{more} more scales in the file count as well.")
        self.lines.setText(" ".join([*words, *stage_words(found, units)]))
