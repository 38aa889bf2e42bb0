"""A material of the builder's own: its density typed, or found by weighing a sheet."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.panels.stations import heading
from app.side.placing import tall_enough
from app.work.document import Document, Edit
from core.design import Design, DisplayUnits
from core.parts.materials import density_of_sheet
from core.redesign.build_edits import add_material, change_material, delete_material
from core.redesign.outline_edits import EditError
from core.units import UnitError, format_number, parse_length, parse_mass, parse_number

_NEW = ""
_SHEET = (
    ("grams", "It weighs", "What a kitchen or letter scale reads, in any unit."),
    ("length", "Length", "Of the sheet, in any unit."),
    ("width", "Width", "Of the sheet, in any unit."),
    ("thick", "Thickness", "Measured with callipers, in any unit: it counts for most."),
)
Use = Callable[[Design, str], Design]


class OwnMaterial(QDialog):
    """Adds one, and puts it where it was asked for; or changes or removes one that is there."""

    def __init__(self, parent: QWidget, document: Document, theme: Theme, use: Use) -> None:
        super().__init__(parent)
        self._document, self._theme, self._use = document, theme, use
        self.setWindowTitle("Own material")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.which, self.name, self.density = QComboBox(), QLineEdit(), QLineEdit()
        self.sheet: dict[str, QLineEdit] = {}
        self.found, self.said = Label(), Label()
        self.which.addItem("a new one", _NEW)
        for own in document.committed.materials:
            self.which.addItem(own.name, own.id)
        self.which.activated.connect(lambda _: self._taken())
        self.do_button, self.remove_button = QPushButton("Add it"), QPushButton("Remove it")
        self.close_button = QPushButton("Cancel")
        for button, does in (
            (self.do_button, self.do), (self.remove_button, self.remove), (self.close_button, self.reject)
        ):
            button.setAutoDefault(False)
            button.clicked.connect(lambda _checked=False, run=does: run())
        self._lay_out()
        self._taken()
        self.name.setFocus()

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        rows: list[tuple[str, QWidget, str]] = [
            ("Which", self.which, "One of your own, to be changed, or a new one."),
            ("Name", self.name, "What you call it."),
            ("Density, kg/m³", self.density, "Typed here, or found below from a sheet that you weighed."),
        ]
        for at, (words, field, tip) in enumerate(rows):
            self._row(grid, at, words, field, tip)
        grid.addWidget(heading("Or weigh a sheet of it"), len(rows), 0, 1, 2)
        for at, (key, words, tip) in enumerate(_SHEET, start=len(rows) + 1):
            self.sheet[key] = field = QLineEdit()
            field.textEdited.connect(lambda _: self._weigh())
            self._row(grid, at, words, field, tip)
        buttons = QHBoxLayout()
        buttons.addWidget(self.remove_button)
        buttons.addStretch(1)
        buttons.addWidget(self.close_button)
        buttons.addWidget(self.do_button)
        self.said.setStyleSheet(f"color: {self._theme.fault};")
        for label, name in ((self.found, "Density of the sheet"), (self.said, "What went wrong")):
            label.setWordWrap(True)
            label.setAccessibleName(name)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(10)
        layout.addLayout(grid)
        layout.addWidget(self.found)
        layout.addWidget(self.said)
        layout.addStretch(1)
        layout.addLayout(buttons)
        self.resize(380, 330)
        tall_enough(self)

    def _row(self, grid: QGridLayout, at: int, words: str, field: QWidget, tip: str) -> None:
        label = Label(words)
        label.setBuddy(field)
        field.setAccessibleName(words)
        field.setToolTip(plain(tip))
        grid.addWidget(label, at, 0)
        grid.addWidget(field, at, 1)

    def _units(self) -> DisplayUnits:
        return self._document.committed.display_units

    def _taken(self) -> None:
        """Another one is to be changed, or a new one made."""
        now = next((m for m in self._document.committed.materials if m.id == self.which.currentData()), None)
        self.name.setText(now.label if now else "")
        self.density.setText(f"{now.kg_m3:.4g}" if now else "")
        self.do_button.setText("Change it" if now else "Add it")
        self.remove_button.setVisible(now is not None)
        self.said.setText("")

    def _weigh(self) -> None:
        """The density of the sheet, as soon as all four are there."""
        self.found.setText("")
        texts = {key: field.text().strip() for key, field in self.sheet.items()}
        if not all(texts.values()):
            return
        units = self._units()
        try:
            grams = parse_mass(texts["grams"], units)
            sizes = [parse_length(texts[key], units) for key in ("length", "width", "thick")]
            kg_m3 = density_of_sheet(grams, *sizes)
        except (UnitError, ValueError) as error:
            self.found.setText(as_sentence(str(error)))
            return
        self.found.setText(f"That sheet has {format_number(kg_m3, 0)} kg/m³.")
        self.density.setText(f"{kg_m3:.4g}")

    # Doing it

    def do(self) -> None:
        """Add it and put it where it was asked for, or change it; the dialog closes where that could be."""
        material_id = str(self.which.currentData())
        try:
            kg_m3 = parse_number(
                self.density.text().lower().removesuffix("kg/m³").removesuffix("kg/m3"),
                low=1.0, high=25_000.0, what="The density in kg/m³",
            )
        except UnitError as error:
            self.said.setText(as_sentence(str(error)))
            return
        label = self.name.text()

        def added(design: Design) -> Design:
            made, new = add_material(design, label, kg_m3)
            return self._use(made, new)

        if material_id == _NEW:
            self._apply("add material", added)
        else:
            self._apply("change material", lambda design: self._use(
                change_material(design, material_id, label=label, kg_m3=kg_m3), material_id
            ))

    def remove(self) -> None:
        """Take it out of the design, where nothing is made of it."""
        material_id = str(self.which.currentData())
        self._apply("remove material", lambda design: delete_material(design, material_id))

    def _apply(self, name: str, edit: Edit) -> None:
        try:
            self._document.apply(name, edit, "parts")
        except (EditError, KeyError) as error:
            gone = "The build that it was for is no longer there: close this and choose again"
            self.said.setText(as_sentence(gone if isinstance(error, KeyError) else str(error)))
        else:
            self.accept()
