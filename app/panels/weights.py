"""The weights: what is in the aeroplane, where that puts the CG, and how much lead it needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QFont, QShowEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.icon_button import icon_button
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme, icon
from app.panels.lead import LeadForm
from app.panels.weight_table import LABEL, Row, WeightModel, WeightTable, rows_of
from app.work.document import Change, Document
from app.work.readout import Readout
from app.work.selection import NOTHING, Picked, Selection
from core.design import Design
from core.loading import format_loading
from core.redesign.outline_edits import EditError
from core.redesign.weight_edits import (
    NEW,
    add_weight,
    called,
    delete_weights,
    duplicate_weight,
    inside_z,
    set_cg_from,
    weight_of,
)
from core.stability.ballast import cg_difference, weighed, wing_loading
from core.stability.side_area import form_of
from core.stability.surfaces import wing_form
from core.units import format_length, format_mass

INVITATION = (
    "No weights yet. Enter what the aeroplane carries and where it lies: then the CG is told, and the lead "
    "that it needs."
)
_NO_SCALE = "Stations mean nothing until the scan has its scale."


@errors_told
class WeightsPanel(QScrollArea):
    """One line while nothing weighs; then the answer, the table, and the lead."""

    def __init__(
        self, document: Document, readout: Readout, picked: Picked, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._readout, self._picked, self._say = document, readout, picked, say
        self._theme, self._filling = theme, False
        self.model = WeightModel(document, say)
        self.table = WeightTable(self.model, say, self.delete)
        self.lead = LeadForm(document, picked, theme, say)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._inside = QWidget()
        layout = QVBoxLayout(self._inside)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        self._empty = self._invite()
        layout.addWidget(self._empty)
        holder = QWidget()
        margins = QVBoxLayout(holder)
        # The cells have three pixels of their own: figures stand under figures.
        margins.setContentsMargins(9, 0, 7, 0)
        margins.addWidget(self.table)
        self.head = self._head()
        self._full = (self.head, holder, self._bar(), self.lead)
        for part in self._full:
            layout.addWidget(part)
        layout.addStretch(1)
        self.setWidget(self._inside)
        self.table.selectionModel().currentRowChanged.connect(lambda *_: self._row_chosen())
        self.set_theme(theme)
        readout.listen(self._changed)
        picked.listen(lambda _: self._show_selection())
        self.refresh()

    # Layout

    def _invite(self) -> QWidget:
        place = QWidget()
        words = Label(INVITATION)
        words.setWordWrap(True)
        button = QPushButton("Add a weight")
        button.clicked.connect(self.add)
        column = QVBoxLayout(place)
        column.setContentsMargins(12, 12, 12, 12)
        column.setSpacing(8)
        column.addWidget(words)
        column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        self.first_button = button
        return place

    def _head(self) -> QFrame:
        head = QFrame()
        grid = QGridLayout(head)
        grid.setContentsMargins(12, 8, 12, 10)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        row = QHBoxLayout()
        row.setSpacing(10)
        row.addWidget(Label("CG from"))
        self.choices: dict[Literal["mark", "weights"], QRadioButton] = {}
        group = QButtonGroup(head)
        sources: tuple[Literal["mark", "weights"], ...] = ("mark", "weights")
        for source in sources:
            button = QRadioButton(source)
            button.setAccessibleName(f"CG from the {source}")
            button.clicked.connect(lambda _=False, s=source: self._choose(s))
            group.addButton(button)
            self.choices[source] = button
            row.addWidget(button)
        row.addStretch(1)
        grid.addLayout(row, 0, 0, 1, 2)
        self.difference = Label()
        self.difference.setWordWrap(True)
        bold = QFont(self.difference.font())
        bold.setBold(True)
        self.difference.setFont(bold)
        grid.addWidget(self.difference, 1, 0, 1, 2)
        self.figures: dict[str, Label] = {}
        for at, (key, words, tip) in enumerate((
            ("mass", "Total mass", "Everything in the table, outlines that weigh by area included."),
            ("balance", "CG by weights", "Station and height of the CG by the weights: Σ m r / Σ m."),
            ("loading", "Wing loading", "Total mass over the area of all wings."),
        ), start=2):
            name, figure = Label(words), Label()
            name.setToolTip(plain(tip))
            figure.setToolTip(plain(tip))
            figure.setAccessibleName(words)
            figure.setAlignment(Qt.AlignmentFlag.AlignRight)
            figure.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            self.figures[key] = figure
            grid.addWidget(name, at, 0)
            grid.addWidget(figure, at, 1)
        grid.setColumnStretch(1, 1)
        return head

    def _bar(self) -> QWidget:
        place = QWidget()
        bar = QHBoxLayout(place)
        bar.setContentsMargins(8, 2, 8, 6)
        bar.setSpacing(2)
        self.buttons: dict[str, QToolButton] = {}
        for name, tip, action in (
            ("add", "Add a weight", self.add),
            ("duplicate", "Duplicate the selected weight; one off the centreline to the other side",
             self.duplicate),
            ("remove", "Delete the selected weight", self.delete),
        ):
            self.buttons[name] = icon_button(tip, action)
            bar.addWidget(self.buttons[name])
        bar.addStretch(1)
        self.sideways = QToolButton()
        self.sideways.setText("Sideways (y)")
        self.sideways.setCheckable(True)
        self.sideways.setToolTip("Show how far each lies out to starboard of the centreline")
        self.sideways.toggled.connect(self.table.show_sideways)
        bar.addWidget(self.sideways)
        return place

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.model.soft = QColor(theme.ink_soft)
        self.table.set_theme(theme)
        # The style's own rings are drawn in a line that is lost at night.
        self.head.setStyleSheet(
            f"QRadioButton::indicator {{ width: 10px; height: 10px; border: 1px solid {theme.ink_soft};"
            f" border-radius: 6px; background: {theme.paper}; }}"
            f"QRadioButton::indicator:checked {{ width: 4px; height: 4px; border: 4px solid {theme.ink};"
            f" background: {theme.paper}; }}"
            f"QRadioButton:focus {{ text-decoration: underline; }}"
        )
        self.lead.set_theme(theme)
        for name, button in self.buttons.items():
            button.setIcon(icon(name, theme.ink))

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(272, 420)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return QSize(232, 120)

    # Following the design

    def _changed(self, change: Change) -> None:
        if change.what == "file" and change.name in ("opened", "recovered"):
            self.lead.forget()
        if change.what == "proposal":
            return
        # A panel behind another tab is brought up to date when it is seen again.
        if self.isVisible() or change.what == "file":
            self.refresh()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: D102
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show the weights as they are now."""
        design, known = self._document.edited, self._readout.edited_readings.scale_known
        rows = rows_of(design)
        bare = not rows and design.cg_from == "mark"
        self._empty.setVisible(bare)
        for part in self._full:
            part.setVisible(not bare)
        self._filling = True
        self.model.take(rows)
        self.table.fit()
        self._filling = False
        self._show_selection()
        self._show_figures(design, known)
        self.lead.refresh(scale_known=known)

    def _show_figures(self, design: Design, known: bool) -> None:
        units, now = design.display_units, weighed(design)
        self.choices[design.cg_from].setChecked(True)
        texts = dict.fromkeys(self.figures, "–")
        if isinstance(now, str):
            _set(self.difference, f"{now[:1].upper()}{now[1:]}." if known else _NO_SCALE)
        else:
            texts["mass"] = format_mass(now.grams, units)
            _set(self.difference, _difference(design) if known else _NO_SCALE)
            if known:
                texts["balance"] = format_length(now.x, units)
                wing = wing_form(design.wings)
                loading = wing if isinstance(wing, str) else wing_loading(now.grams, wing.area)
                texts["loading"] = loading if isinstance(loading, str) else format_loading(loading, units)
        for key, text in texts.items():
            _set(self.figures[key], text)

    # Selection

    def _row_chosen(self) -> None:
        row = self.table.currentIndex().row()
        if self._filling or not 0 <= row < len(self.model.rows):
            return
        chosen = self.model.rows[row]
        self._picked.set(
            Selection(weight=chosen.id) if chosen.outlines is None else Selection(chosen.outlines)
        )

    def _show_selection(self) -> None:
        picked = self._picked.now
        number = next((i for i, row in enumerate(self.model.rows) if _is_of(row, picked)), None)
        self._filling = True
        if number is None:
            self.table.clearSelection()
            self.table.setCurrentIndex(self.model.index(-1, -1))
        elif self.table.currentIndex().row() != number or not self.table.selectionModel().hasSelection():
            column = max(self.table.currentIndex().column(), 0)
            self.table.setCurrentIndex(self.model.index(number, column))
            self.table.selectRow(number)
        self._filling = False
        for name in ("duplicate", "remove"):
            self.buttons[name].setEnabled(picked.weight is not None)

    # Edits

    def _choose(self, source: Literal["mark", "weights"]) -> None:
        self._document.apply(f"take CG from the {source}", lambda d: set_cg_from(d, source), "weights")
        self.refresh()

    def _put(self, name: str, edit: Callable[[Design], tuple[Design, str]]) -> bool:
        """Apply an edit that makes a weight, and select that; whether it could be done."""
        self._document.settle("weights")
        try:
            changed, made = edit(self._document.committed)
        except EditError as error:
            self._say(str(error))
            return False
        self._document.apply(name, lambda _: changed, "weights")
        self.refresh()
        self._picked.set(Selection(weight=made))
        return True

    def add(self) -> None:
        """One more weight, at the CG until told otherwise, its label ready to be typed over."""
        def edit(design: Design) -> tuple[Design, str]:
            x = _start_x(design)
            return add_weight(design, NEW, 0.0, x, inside_z(design, x))

        if self._put("add weight", edit) and self.isVisible():
            index = self.model.index(len(self._document.edited.weights) - 1, LABEL)
            self.table.setFocus()
            self.table.setCurrentIndex(index)
            self.table.edit(index)

    def duplicate(self) -> None:
        """The selected weight once more."""
        chosen = self._picked.now.weight
        if chosen is not None:
            name = f"duplicate {called(weight_of(self._document.edited, chosen))}"
            self._put(name, lambda d: duplicate_weight(d, chosen))

    def delete(self) -> None:
        """The selected weight deleted."""
        chosen = self._picked.now.weight
        if chosen is None:
            if self._picked.now.outlines:
                self._say("An outline weighs by area: empty its field “Weighs” in the form of the outline")
            return
        name = f"delete {called(weight_of(self._document.edited, chosen))}"
        self._picked.set(NOTHING)
        self._document.apply(name, lambda d: delete_weights(d, (chosen,)), "weights")


def _start_x(design: Design) -> float:
    """Where a new weight lies at first: at the CG, else amid the first outline, else at the datum."""
    now = weighed(design)
    if design.cg_mark is not None:
        return design.cg_mark.x
    if not isinstance(now, str):
        return now.x
    for outline in design.outlines:
        centre = form_of(outline).patch.moments.centroid()
        if centre is not None:
            return centre[0]
    return 0.0


def _difference(design: Design) -> str:
    """How the CG by the weights lies to the mark, as a sentence."""
    units, apart = design.display_units, cg_difference(design.cg_mark, weighed(design))
    if isinstance(apart, str):
        return "Mark the CG to see how far from it the weights balance."
    if abs(apart.x) < 0.05:
        words = "The weights balance at the mark"
    else:
        side = "ahead of" if apart.x < 0 else "behind"
        words = f"The weights balance {format_length(abs(apart.x), units)} {side} the mark"
    if abs(apart.z) >= 0.5:
        words += f", {format_length(abs(apart.z), units)} {'above' if apart.z > 0 else 'below'} it"
    return words + "."


def _set(label: Label, text: str) -> None:
    if label.text() != text:
        label.setText(text)


def _is_of(row: Row, picked: Selection) -> bool:
    """True if what is picked is what the row weighs, or a part of it."""
    if row.outlines is None:
        return row.id == picked.weight
    return bool(picked.outlines) and set(picked.outlines) <= set(row.outlines)
