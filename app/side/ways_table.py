"""The table of the ways of a refit: what each would cost, under the design as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from app.kit.plain import plain
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


COLUMNS = (
    _Column("cla_fraction", "CLA\nfraction", "percent", "CLA aft of the CG, as a part of the tail arm", 1),
    _Column("cn_beta", "Cnβ", "number", "Stiffness in yaw, per radian; an estimate with a wide band", 4),
    _Column("fin_area", "Fin area", "area", "Exposed fin and rudder, all fins"),
    _Column("fin_height", "Height", "length", "Exposed height of one fin"),
    _Column("fin_chord", "Chord", "length", "Mean chord of one fin"),
    _Column("mass", "Mass", "mass", "All up by the weights, the lead in the nose not included"),
    _Column("lead", "Lead in\nthe nose", "mass",
            "That brings the CG by the weights back; below nothing: so much may come out"),
    _Column("fin_volume", "V_v", "number",
            f"Fin volume; handbooks give {span_words(FIN_VOLUME)}, from memory", 3),
    _Column("sideslip_full_rudder_deg", "Slip, full\nrudder", "degrees",
            f"Sideslip that full rudder holds; under about {LITTLE_DEG:g}° is little authority"),
    _Column("spiral_parameter", "Spiral\nB", "number",
            f"Over {STABLE:g} stable, {EASILY_HELD:g} to {STABLE:g} easily held, less diverges", 1),
)
_UNITS: dict[_Shown, tuple[str, str]] = {
    "length": ("mm", "in"), "area": ("dm²", "sq in"), "mass": ("g", "oz"), "percent": ("%", "%"),
    "degrees": ("°", "°"), "number": ("", ""),
}


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


class WaysTable(QTableWidget):
    """Row 0 is the design as it is, the others the ways; one row is chosen at a time."""

    def __init__(self) -> None:
        super().__init__(0, len(COLUMNS) + 1)
        self.setAccessibleName("What each way would cost")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.verticalHeader().hide()
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        head = self.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setHighlightSections(False)
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self._soft = QColor()

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

    def set_heads(self, units: DisplayUnits) -> None:
        """Name the columns, with their units."""
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
