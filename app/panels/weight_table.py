"""The table of what is in the aeroplane, edited in place; outlines that weigh are there to be read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHeaderView, QStyleOptionViewItem, QWidget

from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.kit.typed_table import Index, StayingEditor, TypedModel, TypedTable, table_style
from app.work.document import Document, Edit
from core.design import Design, DisplayUnits, Weight
from core.loading import format_loading
from core.redesign.build_edits import name_of
from core.redesign.weight_edits import called, change_weight, weight_of
from core.stability.balance import surface_masses
from core.units import format_mass, format_typed, parse_length, parse_mass

_ROOM_FOR_ALL = 280
FIELDS = ("label", "grams", "x", "z", "y")
LABEL, GRAMS, X, Z, Y = range(5)
_WORDS = {"label": "label", "grams": "mass", "x": "station", "z": "height", "y": "offset"}
_TIPS = {
    "label": "What it is. Greyed: an outline that weighs by its area; set that in its own form.",
    "grams": "Mass, typed in any unit: 185, 6.5 oz, 1.2 kg.",
    "x": "Station: how far aft of the datum, typed in any unit.",
    "z": "Height above the datum, typed in any unit.",
    "y": "How far out to starboard of the centreline; to port with a minus.",
}


@dataclass(frozen=True)
class Row:
    """One line of the table; ``outlines``: those of a surface that weighs, which is not typed here."""

    id: str
    label: str
    grams: float
    x: float
    z: float
    y: float
    outlines: tuple[str, ...] | None = None
    tip: str = ""


def rows_of(design: Design) -> tuple[Row, ...]:
    """The weights in their order, then the surfaces that weigh by area, and those with parts."""
    rows = [Row(w.id, w.name, w.grams, w.x, w.z, w.y) for w in design.weights]
    for mass in surface_masses(design):
        own = tuple(o.id for o in design.outlines if o.id in mass.ids)
        if mass.build is not None:
            name = name_of(design, mass.build)
            told = f"{name}: its parts, covering and glue. Set in the window of the tail's parts."
        else:
            outline = design.outline(mass.ids[0])
            name = outline.name
            per = format_loading(outline.grams_per_dm2 or 0.0, design.display_units, least_places=True)
            times = f", × {outline.count}" if outline.count > 1 else ""
            told = f"{name}: its area at {per}{times}, at its centroid. Set in the form of the outline."
        rows.append(Row(mass.ids[0], name, mass.grams, mass.x, mass.z, 0.0, own, told))
    return tuple(rows)


@errors_told
class WeightModel(TypedModel):
    """Rows of the design; what is typed into a cell becomes one edit of the document."""

    def __init__(self, document: Document, say: Callable[[str], None]) -> None:
        super().__init__(document, say, "weights")

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is shown, a line each."""
        return self.things

    @property
    def _units(self) -> DisplayUnits:
        return self._document.edited.display_units

    def heads(self) -> list[str]:  # noqa: D102
        mass, length = ("g", "mm") if self._units == "mm" else ("oz", "in")
        return ["Weight", mass, f"x {length}", f"z {length}", f"y {length}"]

    def tip(self, row: int | None, column: int) -> str:  # noqa: D102
        tip = _TIPS[FIELDS[column]]
        if row is None:
            return tip
        return self.rows[row].tip or (self.rows[row].label if column == LABEL else tip)

    def spoken(self, row: int, column: int) -> str:  # noqa: D102
        return f"{self.rows[row].label}, {_WORDS[FIELDS[column]]}"

    def is_left(self, column: int) -> bool:  # noqa: D102
        return column == LABEL

    def is_typed(self, row: int, column: int) -> bool:  # noqa: D102
        return self.rows[row].outlines is None

    def edit_of(self, index: Index, text: str) -> tuple[str, Edit]:  # noqa: D102
        row, field = self.rows[index.row()], FIELDS[index.column()]
        value: float | str = text.strip()
        if field == "grams":
            value = parse_mass(text, self._units)
        elif field != "label":
            value = parse_length(text, self._units)
        changed = change_weight(self._document.committed, row.id, **{field: value})  # type: ignore[arg-type]
        before: Weight = weight_of(self._document.committed, row.id)
        name = f"rename {called(before)}" if field == "label" else f"set {called(before)} {_WORDS[field]}"
        return name, lambda _: changed

    def take(self, rows: tuple[Row, ...]) -> None:
        """Show these, in the builder's units, which stand at the heads of the columns."""
        self.show_rows(rows, [(r.id, r.outlines is not None) for r in rows], [self._texts(r) for r in rows])

    def _texts(self, row: Row) -> list[str]:
        lengths = [format_typed(at, self._units, with_unit=False) for at in (row.x, row.z, row.y)]
        return [row.label, format_mass(row.grams, self._units, with_unit=False), *lengths]


@errors_told
class CellEditor(StayingEditor):
    """A field over the cell, wide enough for what may be typed."""

    def __init__(self, model: WeightModel, say: Callable[[str], None]) -> None:
        super().__init__(model.trouble, say)
        self._model = model

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:  # noqa: D102
        field = self.field(parent, index)
        if index.column() != LABEL:
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
        row = self._model.rows[index.row()]
        field.setAccessibleName(f"{row.label}: {_WORDS[FIELDS[index.column()]]}")
        return field

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:  # noqa: D102
        holder = editor.parentWidget()
        box = QRect(option.rect)
        room = holder.width() if holder is not None else box.right()
        # Wide enough for "2 lb 3 oz" whatever the column is.
        if index.column() == LABEL:
            box.setWidth(max(box.width(), min(180, room - box.left())))
        elif index.column() == GRAMS:
            # To the right: what it is about stays in sight.
            box.setWidth(min(92, room - box.left()))
        else:
            box.setLeft(min(box.left(), max(0, box.right() - 92)))
        editor.setGeometry(box)


@errors_told
class WeightTable(TypedTable):
    """As high as its rows, so that the panel scrolls and not the table."""

    def __init__(self, model: WeightModel, say: Callable[[str], None], delete: Callable[[], None]) -> None:
        super().__init__(delete)
        self._rows, self._sideways = model, False
        self.prepare(model, CellEditor(model, say), "What is in the aeroplane", air=8)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.horizontalHeader().setSectionResizeMode(LABEL, QHeaderView.ResizeMode.Stretch)
        self.setColumnHidden(Y, True)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setStyleSheet(table_style(theme, ground=theme.panel, border="none", head_padding="2px 3px"))

    def show_sideways(self, show: bool) -> None:
        """Show y; in place of the heights where there is no room for both."""
        self._sideways = show
        self.setColumnHidden(Y, not show)
        self._make_room()

    def _make_room(self) -> None:
        self.setColumnHidden(Z, self._sideways and self.viewport().width() < _ROOM_FOR_ALL)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self._make_room()

    def fit(self) -> None:
        """Take the room that the rows need, and that the figures in them need."""
        metrics = self.fontMetrics()
        for column in (GRAMS, X, Z, Y):
            texts = [*(row[column] for row in self._rows.texts), "000.0", self._rows.heads()[column]]
            self.setColumnWidth(column, max(map(metrics.horizontalAdvance, texts)) + 9)
        head, row = self.horizontalHeader().sizeHint().height(), self.verticalHeader().defaultSectionSize()
        self.setFixedHeight(head + row * self.model().rowCount() + 2)

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(240, self.height())
