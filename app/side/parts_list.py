"""The list of a surface's parts: a row each, what is wrong over it, sums under it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QTableView, QVBoxLayout

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.typed_table import RowsModel, prepare_view, table_style
from app.paper.parts_words import mass_words
from app.side.parts_words import size_words
from core.design import DisplayUnits
from core.parts.part import Built, Part
from core.parts.said import told

_AIR, _HEAD_AIR = 11, 15
_NAME, _COUNT, _WOOD, _SIZE, _EACH, _ALL = range(6)
_TIPS = (
    "What it is, and where it goes.", "How many to cut in all, both halves and pairs of surfaces included.",
    "What it is cut from.", "The stock that it is cut from: length × width × thickness.",
    "One of them, by its volume and the density of its wood.", "All of them.",
)
_SPOKEN = ("part", "count", "wood", "size", "each", "all")
_MOST_SAID = 4


def _shown(label: Label, sentences: Sequence[str], units: DisplayUnits) -> str:
    """What a label says of ``sentences``: the first of them, all of them where the mouse rests."""
    said = [as_sentence(told(one, units)) for one in sentences if one]
    label.setToolTip(plain("\n".join(said)))
    more = len(said) - _MOST_SAID
    if more > 0:
        said[_MOST_SAID:] = [f"And {more} more: rest the mouse here to read them."]
    return " ".join(said)


@errors_told
class PartsModel(RowsModel):
    """One build's parts."""

    def __init__(self) -> None:
        super().__init__()
        self.units: DisplayUnits = "mm"

    def heads(self) -> list[str]:  # noqa: D102
        length, mass = ("mm", "g") if self.units == "mm" else ("in", "oz")
        return ["Part", "Count", "Wood", f"Size, {length}", f"Each, {mass}", f"All, {mass}"]

    def tip(self, row: int | None, column: int) -> str:  # noqa: D102
        return _TIPS[column] if row is None else self.texts[row][column]

    def spoken(self, row: int, column: int) -> str:  # noqa: D102
        return f"{self.texts[row][0]}, {_SPOKEN[column]}"

    def is_left(self, column: int) -> bool:  # noqa: D102
        return column in (_NAME, _WOOD)

    def is_typed(self, row: int, column: int) -> bool:  # noqa: D102
        return False

    def show_parts(self, built: Built | None, units: DisplayUnits, wood: Callable[[str], str]) -> None:
        """Show them; ``wood`` gives a material's name."""
        self.units = units
        parts = built.parts if built else ()
        texts = [[
            part.name, str(part.count), wood(part.material), size_words(part, units),
            _grams(part.grams / max(part.count, 1), units), _grams(part.grams, units),
        ] for part in parts]
        self.show_rows(parts, [(built.build.id if built else "", part.id) for part in parts], texts)


def _grams(grams: float, units: DisplayUnits) -> str:
    """Without the unit, which stands at the head of the column."""
    return mass_words(grams, units).rpartition(" ")[0]


@errors_told
class PartsTable(QTableView):
    """Rows to choose from; names and woods share the room that the figures leave."""

    def __init__(self, model: PartsModel) -> None:
        super().__init__()
        self._rows = model
        self.setModel(model)
        self.setAccessibleName("Parts")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setShowGrid(False)
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(18)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 8)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # What tells one piece from the next stands at the end of its name.
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        prepare_view(self, narrowest=30)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)

    def fit(self) -> None:
        """Take the room in each column that its figures need."""
        metrics, heads = self.fontMetrics(), self._rows.heads()
        wide = [
            max(metrics.horizontalAdvance(heads[n]) + _HEAD_AIR,
                *(metrics.horizontalAdvance(row[n]) + _AIR for row in self._rows.texts), 0)
            for n in range(len(heads))
        ]
        spare = self.viewport().width() - sum(wide)
        wide[_NAME] += max(spare, 0)
        if spare < 0:
            # Names and woods are told whole by their tips; figures never are cut.
            for column, least in ((_NAME, 118), (_WOOD, 60), (_NAME, 60)):
                cut = min(-spare, max(wide[column] - least, 0))
                wide[column] -= cut
                spare += cut
        for column, width in enumerate(wide):
            if self.columnWidth(column) != width:
                self.setColumnWidth(column, width)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self.fit()


class PartsList(QObject):
    """``chosen`` gives the id of the part whose row became the current one."""

    chosen = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.model = PartsModel()
        self.table = PartsTable(self.model)
        self.faults, self.notes, self.total, self.before = Label(), Label(), Label(), Label()
        for label, name in (
            (self.faults, "What cannot be made"), (self.notes, "What to mind"),
            (self.total, "Weight in all"), (self.before, "Against before"),
        ):
            label.setWordWrap(True)
            label.setAccessibleName(name)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.table.selectionModel().currentChanged.connect(self._moved)
        self.model.modelReset.connect(self._reset)
        # Heading and four rows.
        self.table.setMinimumHeight(5 * self.table.verticalHeader().defaultSectionSize() + 8)
        self.set_theme(theme)

    def lay_out(self, layout: QVBoxLayout, stretch: int) -> None:
        """Put its parts into ``layout``, which gives wrapped lines the height that they need."""
        layout.addWidget(self.faults)
        layout.addWidget(self.notes)
        layout.addWidget(self.table, stretch)
        layout.addWidget(self.total)
        layout.addWidget(self.before)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.model.soft = QColor(theme.ink)
        self.table.setStyleSheet(table_style(
            theme, ground=theme.paper, border=f"1px solid {theme.line}", head_padding="3px 6px"
        ))
        self.faults.setStyleSheet(f"color: {theme.fault};")
        for label in (self.notes, self.before):
            label.setStyleSheet(f"color: {theme.ink_soft};")

    def show_built(
        self, built: Built | None, units: DisplayUnits, wood: Callable[[str], str], total: str, before: str,
        first: str = "",
    ) -> None:
        """Show these parts with their sums; the row that was chosen stays where its part is still there.

        ``first`` is said before what is wrong with the parts.
        """
        kept = self.part_id
        self.model.show_parts(built, units, wood)
        self.table.fit()
        faults = _shown(self.faults, (first, *(built.faults if built else ())), units)
        notes = _shown(self.notes, built.notes if built else (), units)
        for label, text in (
            (self.faults, faults), (self.notes, notes), (self.total, total), (self.before, before),
        ):
            if label.text() != text:
                label.setText(text)
            label.setVisible(bool(text))
        self.table.setVisible(built is not None)
        if self.part_id != kept or (kept == "" and self.model.things):
            self.choose(kept)

    @property
    def part(self) -> Part | None:
        """The part of the current row."""
        row = self.table.currentIndex().row()
        found = self.model.things[row] if 0 <= row < len(self.model.things) else None
        return found if isinstance(found, Part) else None

    @property
    def part_id(self) -> str:
        """Its id; empty where no row is current."""
        return self.part.id if self.part else ""

    def choose(self, part_id: str) -> None:
        """Make that part's row the current one; the first where there is none of that id."""
        rows = [part.id for part in self.model.things]
        if rows:
            row = rows.index(part_id) if part_id in rows else 0
            self.table.setCurrentIndex(self.model.index(row, 0))
            self.table.scrollTo(self.model.index(row, 0))

    def _moved(self) -> None:
        if self.part is not None:
            self.chosen.emit(self.part.id)

    def _reset(self) -> None:
        self.table.setCurrentIndex(QModelIndex())
