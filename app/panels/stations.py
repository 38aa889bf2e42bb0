"""The table of a surface's stations, or of its panels as they lie on the bench."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QHBoxLayout,
    QHeaderView,
    QTableView,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.kit.typed_table import Index, KeepingEditor, RowsModel, prepare_view
from core.design import DisplayUnits
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import (
    Surface,
    delete_station,
    insert_station,
    noun,
    panels_of,
    set_panel,
    set_station,
    stations_of,
)
from core.units import MISSING, UnitError, format_angle, format_typed, parse_angle, parse_length

By = Literal["panels", "stations"]
Apply = Callable[[str, Callable[[Any], Any]], None]
_MOST_ROWS = 12

COLUMNS: dict[By, tuple[tuple[Any, str, str, str], ...]] = {
    "panels": (
        ("span", "Span", "panel span", "Width of this panel of one half, from its root to its tip."),
        ("tip_chord", "Tip\nchord", "panel tip chord", "Leading to trailing edge at the panel's outer end."),
        ("offset", "LE\nback", "panel sweep",
         "How far the leading edge lies further aft at the panel's outer end than at its inner end."),
        ("dihedral_deg", "Dihe-\ndral", "panel dihedral",
         "Angle of this panel against level, tip up positive."),
    ),
    "stations": (
        ("y", "Out", "station place", "How far out from the centreline the station lies (y)."),
        ("le_x", "LE\nx", "station leading edge", "Leading edge there, aft of the datum (x)."),
        ("chord", "Chord", "station chord", "Leading to trailing edge there."),
        ("z", "Height", "station height", "Height of the chord line there, above the datum (z)."),
    ),
}


@errors_told
class StationModel(RowsModel):
    """One row a station or a panel, from the root outwards; lengths in the builder's units."""

    def __init__(self, typed: Callable[[int, str, str], bool]) -> None:
        super().__init__()
        self.by: By = "panels"
        self.surface: Surface | None = None
        self.units: DisplayUnits = "mm"
        self._typed = typed

    def take(self, surface: Surface | None, units: DisplayUnits, by: By) -> None:
        """Show this."""
        self.surface, self.units, self.by = surface, units, by
        parts = self._parts()
        texts = [[self._text(part, key) for key, *_ in COLUMNS[by]] for part in parts]
        self.show_rows(parts, [(by, row) for row in range(len(texts))], texts)

    def heads(self) -> list[str]:  # noqa: D102
        return [head for _, head, _, _ in COLUMNS[self.by]]

    def tip(self, row: int | None, column: int) -> str:  # noqa: D102
        return COLUMNS[self.by][column][3]

    def spoken(self, row: int, column: int) -> str:  # noqa: D102
        what = "panel" if self.by == "panels" else "station"
        return f"{what} {row + 1}, {COLUMNS[self.by][column][2].removeprefix(f'{what} ')}"

    def _parts(self) -> tuple[object, ...]:
        if self.surface is None:
            return ()
        return panels_of(self.surface) if self.by == "panels" else stations_of(self.surface)

    def _text(self, part: object, key: str) -> str:
        value: float | None = getattr(part, key)
        if value is None:
            return MISSING
        if key == "dihedral_deg":
            return format_angle(value)
        return format_typed(value, self.units, with_unit=False)

    def widest(self, column: int, metrics: QFontMetrics) -> int:
        """The width in pixels of the longest text in that column, its heading included."""
        texts = [row[column] for row in self.texts] + COLUMNS[self.by][column][1].split("\n")
        return max(metrics.horizontalAdvance(text) for text in texts)

    def headerData(  # noqa: D102
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if orientation == Qt.Orientation.Vertical:
            return str(section + 1) if role == Qt.ItemDataRole.DisplayRole else None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            # Heads of two lines stand in the middle.
            return None
        return super().headerData(section, orientation, role)

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:  # noqa: D102
        if role != Qt.ItemDataRole.EditRole or str(value) == self.texts[index.row()][index.column()]:
            return False
        return self._typed(index.row(), COLUMNS[self.by][index.column()][0], str(value))


@errors_told
class StationTable(QWidget):
    """The table, the choice of how it is measured, and rows put in and taken out."""

    def __init__(self, apply: Apply, say: Callable[[str], None], theme: Theme) -> None:
        super().__init__()
        self._apply, self._say = apply, say
        self.model = StationModel(self._typed)
        self.view = QTableView()
        self.view.setModel(self.model)
        # The view does not keep its delegate alive.
        self._cell = KeepingEditor(self.view)
        self.view.setItemDelegate(self._cell)
        prepare_view(self.view, narrowest=24)
        self.view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        down = self.view.verticalHeader()
        down.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        down.setDefaultSectionSize(self.view.fontMetrics().height() + 8)
        down.setMinimumWidth(18)
        down.setHighlightSections(False)
        self._by: By = "panels"
        self._ways: dict[By, QToolButton] = {}
        ways = QButtonGroup(self)
        top = QHBoxLayout()
        top.setSpacing(2)
        for by, words, tip in (
            ("panels", "By panels", "Panel by panel, each as it lies on the bench: its span, tip chord, "
             "how far its leading edge goes back, its dihedral."),
            ("stations", "By stations", "Station by station, each by its place in the aeroplane."),
        ):
            way = QToolButton()
            way.setText(words)
            way.setCheckable(True)
            way.setToolTip(plain(tip))
            way.setAccessibleName(words)
            # A click takes the focus, so that what is being typed is entered first.
            way.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            way.clicked.connect(lambda _=False, by=by: self.choose(by))
            ways.addButton(way)
            self._ways[by] = way  # type: ignore[index]
            top.addWidget(way)
        self._ways["panels"].setChecked(True)
        top.addStretch(1)
        bottom = QHBoxLayout()
        bottom.setSpacing(2)
        for side in (top, bottom):
            side.setContentsMargins(6, 0, 6, 0)
        self.buttons: dict[str, QToolButton] = {}
        for name, words, tip, action in (
            ("insert", "Insert", "One more station half way along the selected panel; the shape stays.",
             self.insert),
            ("add", "Add at tip", "One more panel beyond the tip.", self.add),
            ("delete", "Delete", "Take the selected row out; its neighbours are joined.", self.delete),
        ):
            button = QToolButton()
            button.setText(words)
            button.setToolTip(plain(tip))
            button.setAccessibleName(tip)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(action)
            button.setFixedWidth(button.fontMetrics().horizontalAdvance(words) + 16)
            self.buttons[name] = button
            bottom.addWidget(button)
        bottom.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 0, 6, 0)
        layout.setSpacing(4)
        self._title = heading("Panels")
        self._title.setContentsMargins(6, 0, 6, 0)
        layout.addWidget(self._title)
        layout.addLayout(top)
        layout.addWidget(self.view)
        layout.addLayout(bottom)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.view.setStyleSheet(
            f"QTableView {{ background: {theme.paper}; border: 1px solid {theme.line};"
            f" gridline-color: {theme.line}; selection-background-color: {theme.desk};"
            f" selection-color: {theme.ink}; }}"
            f" QTableView:focus {{ border-color: {theme.pick}; }}"
            f" QHeaderView {{ background: {theme.panel}; }}"
            f" QHeaderView::section {{ background: {theme.panel}; color: {theme.ink_soft}; border: none;"
            " padding: 1px 3px; }"
            f" QTableCornerButton::section {{ background: {theme.panel}; border: none; }}"
            " QTableView QLineEdit { padding: 0 2px; min-height: 0; border-radius: 0; }"
        )

    def choose(self, by: By) -> None:
        """Measure panel by panel or station by station."""
        self._by = by
        self._ways[by].setChecked(True)
        self.take(self.model.surface, self.model.units)

    def take(self, surface: Surface | None, units: DisplayUnits) -> None:
        """Show the surface as it is now."""
        self.model.take(surface, units, self._by)
        what = "Panels" if self._by == "panels" else "Stations"
        name = f"{what} from the root outwards, lengths in {'mm' if units == 'mm' else 'inches'}"
        if self.view.accessibleName() != name:
            self.view.setAccessibleName(name)
        title = f"{what}, in {'mm' if units == 'mm' else 'inches'}"
        if self._title.text() != title:
            self._title.setText(title)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Columns as wide as they need, spare room shared; as high as the rows, with a bar where needed."""
        view, across, down = self.view, self.view.horizontalHeader(), self.view.verticalHeader()
        wide = [self.model.widest(column, view.fontMetrics()) + 7 for column in range(across.count())]
        # The view itself is laid out only after this; it is as wide as this widget within its margins.
        spare = self.contentsRect().width() - 12 - 2 * view.frameWidth() - down.sizeHint().width() - sum(wide)
        for column, width in enumerate(wide):
            width += max(spare * (column + 1) // 4 - spare * column // 4, 0)
            if across.sectionSize(column) != width:
                across.resizeSection(column, width)
        rows = min(max(self.model.rowCount(), 1), _MOST_ROWS)
        hidden, shown = Qt.ScrollBarPolicy.ScrollBarAlwaysOff, Qt.ScrollBarPolicy.ScrollBarAlwaysOn
        view.setHorizontalScrollBarPolicy(shown if spare < 0 else hidden)
        view.setVerticalScrollBarPolicy(shown if self.model.rowCount() > _MOST_ROWS else hidden)
        high = across.sizeHint().height() + rows * down.defaultSectionSize() + 2 * view.frameWidth()
        if spare < 0:
            high += view.horizontalScrollBar().sizeHint().height()
        if view.height() != high:
            view.setFixedHeight(high)

    def _row(self) -> int:
        return max(self.view.currentIndex().row(), 0)

    def _do(self, name: str, edit: Callable[[Any], Any]) -> bool:
        try:
            self._apply(name, edit)
        except EditError as error:
            self._say(str(error))
            return False
        return True

    def _typed(self, row: int, key: str, text: str) -> bool:
        words: str = next(c[2] for c in COLUMNS[self._by] if c[0] == key)
        edit: Any = set_panel if self._by == "panels" else set_station
        surface = self.model.surface
        if surface is None:
            return False
        try:
            value = parse_angle(text) if key == "dihedral_deg" else parse_length(text, self.model.units)
        except UnitError as error:
            self._say(str(error))
            return False
        return self._do(f"set {noun(surface)} {words}", lambda s: edit(s, row, key, value))

    def insert(self) -> None:
        """A station half way along the selected panel, or between the selected station and the next."""
        surface = self.model.surface
        if surface is not None:
            at = max(min(self._row(), len(surface.stations) - 2), 0)
            self._do(f"insert {noun(surface)} station", lambda s: insert_station(s, at))
            self._select(at + (self._by == "stations"))

    def add(self) -> None:
        """A panel beyond the tip."""
        surface = self.model.surface
        if surface is not None:
            last = max(len(surface.stations) - 1, 0)
            self._do(f"add {noun(surface)} panel", lambda s: insert_station(s, last))
            self._select(self.model.rowCount() - 1)

    def delete(self) -> None:
        """The selected row taken out."""
        surface = self.model.surface
        if surface is not None:
            row = self._row()
            at = row + 1 if self._by == "panels" else row
            self._do(f"delete {noun(surface)} station", lambda s: delete_station(s, at))
            self._select(min(row, self.model.rowCount() - 1))

    def _select(self, row: int) -> None:
        self.view.setCurrentIndex(self.model.index(row, max(self.view.currentIndex().column(), 0)))


def heading(title: str) -> Label:
    """A group's name."""
    label = Label(title)
    font = QFont(label.font())
    font.setBold(True)
    label.setFont(font)
    return label
