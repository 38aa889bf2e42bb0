"""The table of the ways of a refit: what each would cost, under the design as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor, QFont, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.kit.overrides import errors_told
from app.kit.plain import plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from core.design import DisplayUnits
from core.redesign.probe import Target
from core.redesign.refit import WayCost
from core.stability.ranges import EASILY_HELD, FIN_VOLUME, LITTLE_DEG, STABLE, span_words
from core.units import MISSING, format_area, format_fraction, format_length, format_mass, format_number

_Shown = Literal["length", "area", "mass", "percent", "number", "degrees"]


@dataclass(frozen=True)
class _Column:
    field: str
    words: str
    shown: _Shown
    tip: str
    places: int = 0
    said: str = ""
    """How it is named in a sentence, of those that may be folded."""


COLUMNS = (
    _Column("cla_fraction", "CLA\nfraction", "percent", "CLA aft of the CG, as a part of the tail arm", 1),
    _Column("cn_beta", "Cnβ", "number", "Stiffness in yaw, per radian; an estimate with a wide band", 4),
    _Column("fin_area", "Fin area", "area", "Exposed fin and rudder, all fins"),
    _Column("fin_height", "Height", "length", "Exposed height of one fin", said="height"),
    _Column("fin_chord", "Chord", "length", "Mean chord of one fin", said="chord"),
    _Column("mass", "Mass", "mass", "All up by the weights, the lead in the nose not included",
            said="mass"),
    _Column("lead", "Lead in\nthe nose", "mass",
            "That brings the CG by the weights back; below nothing: so much may come out"),
    _Column("fin_volume", "V_v", "number",
            f"Fin volume; handbooks give {span_words(FIN_VOLUME)}, from memory", 3, said="V_v"),
    _Column("sideslip_full_rudder_deg", "Slip, full\nrudder", "degrees",
            f"Sideslip that full rudder holds; under about {LITTLE_DEG:g}° is little authority",
            said="slip at full rudder"),
    _Column("spiral_parameter", "Spiral\nB", "number",
            f"Over {STABLE:g} stable, {EASILY_HELD:g} to {STABLE:g} easily held, less diverges", 1,
            said="spiral B"),
)
_UNITS: dict[_Shown, tuple[str, str]] = {
    "length": ("mm", "in"), "area": ("dm²", "sq in"), "mass": ("g", "oz"), "percent": ("%", "%"),
    "degrees": ("°", "°"), "number": ("", ""),
}
_FOLDS = ("fin_volume", "spiral_parameter", "sideslip_full_rudder_deg", "fin_chord", "mass", "fin_height")
"""Fields of the columns that go where there is no room for all, the first of them first."""
_ROW_PX = 12
"""px that a row is higher than its line."""
_WAY_LETTERS = 22
"""So many of a way's words find room on one line, at least; more of them break."""


def cell(column: _Column, value: float | None, units: DisplayUnits) -> str:
    """One figure, its unit being in the head of the column."""
    if value is None:
        return MISSING
    if column.shown == "length":
        return format_length(value, units, with_unit=False)
    if column.shown == "area":
        return format_area(value, units, with_unit=False)
    if column.shown == "mass":
        return format_mass(value, units, with_unit=False)
    if column.shown == "percent":
        return format_fraction(value, places=column.places, with_unit=False)
    return format_number(value, column.places)


@errors_told
class WaysTable(QTableWidget):
    """Row 0 is the design as it is, the others the ways; one row is chosen at a time."""

    folds = Signal()
    """Other columns than before are shown."""

    def __init__(self) -> None:
        super().__init__(0, len(COLUMNS) + 1)
        self.setAccessibleName("What each way would cost")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(True)
        self.verticalHeader().hide()
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        head = self.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setMinimumSectionSize(20)
        head.setHighlightSections(False)
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self._soft, self._mm, self._folded_for = QColor(), True, 0
        # Its head, and four ways under it.
        self.setMinimumHeight(self.fontMetrics().lineSpacing() * (3 + 4) + 4 * _ROW_PX + 14)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._soft = QColor(theme.ink_soft)
        self.setStyleSheet(
            f"QTableWidget {{ background: {theme.paper}; border: 1px solid {theme.line};"
            f" selection-background-color: {theme.desk}; selection-color: {theme.ink}; }}"
            "QTableWidget::item { padding: 3px 8px; }"
            f"QHeaderView::section {{ background: {theme.panel}; color: {theme.ink_soft}; border: none;"
            f" border-bottom: 1px solid {theme.line}; padding: 4px 8px; }}"
        )
        for row in range(self.rowCount()):
            item = self.item(row, 0)
            if item is not None and item.font().italic():
                self._soften(row)

    def fill(
        self, present: Mapping[str, float | None], rows: Sequence[WayCost], target: Target,
        units: DisplayUnits,
    ) -> None:
        """Show the design as it is and what each way would cost."""
        self.set_heads(units)
        self.setRowCount(len(rows) + 1)
        self._fill_row(0, "As it is", present, target, units)
        for at, row in enumerate(rows, start=1):
            words = row.label
            if row.refit is None:
                words += ": cannot be gone"
            elif row.why is not None:
                words += ": does not reach it"
            if row.refit is not None and row.doubtful:
                words += f" – {row.refit.answer.short}"
            # All figures of a way that cannot be gone are None, and stand as dashes.
            figures = {column.field: getattr(row, column.field) for column in COLUMNS}
            self._fill_row(at, words, figures, target, units)
            for item in self._items(at):
                item.setToolTip(plain(row.why or ""))
            if row.why is not None:
                self._soften(at)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        # A scroll bar that comes or goes is no other width: it would bring about what makes it go or come.
        if self.width() != self._folded_for:
            self._fold()

    def _fold(self) -> None:
        """Show as many columns as find room beside the ways' names."""
        way = self.fontMetrics().averageCharWidth() * _WAY_LETTERS
        wide = [max(self.sizeHintForColumn(at), self.horizontalHeader().sectionSizeHint(at))
                for at in range(self.columnCount())]
        self._folded_for = self.width()
        room = self.width() - 2 * self.frameWidth() - self.verticalScrollBar().sizeHint().width()
        spare = room - way - sum(wide[1:])
        folded = set()
        for field in _FOLDS:
            if spare >= 0:
                break
            at = 1 + [column.field for column in COLUMNS].index(field)
            folded.add(at)
            spare += wide[at]
        changed = False
        for at in range(1, self.columnCount()):
            if self.isColumnHidden(at) != (at in folded):
                self.setColumnHidden(at, at in folded)
                changed = True
        self.resizeRowsToContents()
        if changed:
            self.folds.emit()

    def folded_words(self) -> str:
        """What the columns that are not shown say of the row chosen; empty where all are."""
        row = self.chosen()
        parts = []
        for at, column in enumerate(COLUMNS, start=1):
            item = self.item(row, at) if row is not None else None
            if item is None or not self.isColumnHidden(at):
                continue
            unit = _UNITS[column.shown][0 if self._mm else 1] if item.text() != MISSING else ""
            apart = " " if unit and unit != "°" else ""
            parts.append(f"{column.said} {item.text()}{apart}{unit}")
        return as_sentence(", ".join(parts)) if parts else ""

    def set_heads(self, units: DisplayUnits) -> None:
        """Name the columns, with their units."""
        self._mm = units == "mm"
        heads = ["Way"]
        for column in COLUMNS:
            unit = _UNITS[column.shown][0 if units == "mm" else 1]
            heads.append(f"{column.words}\n{unit}" if unit else column.words)
        self.setHorizontalHeaderLabels(heads)
        for at in range(self.columnCount()):
            item = self.horizontalHeaderItem(at)
            if item is None:
                continue
            if at:
                item.setToolTip(plain(COLUMNS[at - 1].tip))
            else:
                item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom)

    def _fill_row(
        self, row: int, words: str, figures: Mapping[str, float | None], target: Target, units: DisplayUnits
    ) -> None:
        self.setItem(row, 0, QTableWidgetItem(words))
        for at, column in enumerate(COLUMNS, start=1):
            item = QTableWidgetItem(cell(column, figures.get(column.field), units))
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            if column.field == target or (target == "both" and column.field in ("cla_fraction", "cn_beta")):
                font = QFont(item.font())
                font.setBold(True)
                item.setFont(font)
            self.setItem(row, at, item)

    def _soften(self, row: int) -> None:
        """A way that does not lead there: slanted and soft, beside its words."""
        for item in self._items(row):
            font = QFont(item.font())
            font.setItalic(True)
            item.setFont(font)
            item.setForeground(self._soft)

    def _items(self, row: int) -> list[QTableWidgetItem]:
        found = (self.item(row, part) for part in range(self.columnCount()))
        return [item for item in found if item is not None]

    def chosen(self) -> int | None:
        """The row chosen; None for none."""
        rows = self.selectionModel().selectedRows()
        return rows[0].row() if rows else None
