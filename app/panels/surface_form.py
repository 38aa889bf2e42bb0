"""The form of one wing or tailplane: the builder's measures, and what follows from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from msgspec.structs import replace
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QCheckBox, QFrame, QGridLayout, QLineEdit, QVBoxLayout

from app.kit.figure_label import FigureLabel
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.panels.stations import StationTable, heading
from app.work.document import Document
from core.design import Design, DisplayUnits, Tailplane
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import Measure, Surface, measure, noun, set_measure
from core.redesign.surface_lists import Which, change_surface, measured, surface_of, unmeasured
from core.stability.surfaces import surface_form, tailplane_form, wing_form
from core.units import (
    MISSING,
    UnitError,
    format_angle,
    format_area,
    format_fraction,
    format_length,
    format_number,
    format_typed,
    parse_angle,
    parse_fraction,
    parse_length,
)

Kind = Literal["length", "angle", "part"]
ORIGIN = "wings"


@dataclass(frozen=True)
class Row:
    """One measure of the form: its words, what undo calls it, and its one line of explanation."""

    key: Measure
    words: str
    kind: Kind
    undo: str
    tip: str
    shaped: str = ""
    """What setting it does to a surface of many stations."""


GROUPS: tuple[tuple[str, tuple[Row, ...]], ...] = (
    ("Planform", (
        Row("span", "Span", "length", "span", "From tip to tip, straight across.",
            "All panels widen alike; chords, leading edges and heights stay."),
        Row("root_chord", "Root chord", "length", "root chord",
            "From leading to trailing edge on the centreline.",
            "All chords change, less and less towards the tip."),
        Row("tip_chord", "Tip chord", "length", "tip chord",
            "From leading to trailing edge at the tip; 0 for a pointed tip.",
            "All chords change, less and less towards the root."),
        Row("tip_offset", "Tip set back", "length", "sweep",
            "How far the leading edge lies further aft at the tip than at the root.",
            "All stations move in proportion."),
        Row("sweep_deg", "or sweep", "angle", "sweep",
            "The same as an angle: the quarter-chord line from root to tip, aft positive.",
            "All stations move in proportion."),
        Row("tip_rise", "Tip rise", "length", "dihedral",
            "How far the tip lies above the root. With one half flat on the bench, the other tip stands "
            "about twice as high.",
            "All stations rise in proportion."),
        Row("dihedral_deg", "or dihedral", "angle", "dihedral",
            "The same as an angle: each half, from root to tip, against level.",
            "All stations rise in proportion."),
    )),
    ("Place", (
        Row("root_x", "Root LE", "length", "place",
            "Station of the root's leading edge: how far aft of the datum."),
        Row("root_z", "Root height", "length", "height",
            "How far the root's chord line lies above the datum, at the leading edge."),
        Row("incidence_deg", "Incidence", "angle", "incidence",
            "Chord line against the datum line, leading edge up positive."),
    )),
    ("Section", (
        Row("thickness", "Thickness", "part", "section thickness",
            "Greatest thickness of the section, as a part of the chord."),
        Row("camber", "Camber", "part", "section camber",
            "Greatest height of the section's mean line over its chord line; 0 for a symmetrical section."),
        Row("camber_at", "Camber at", "part", "place of camber",
            "Where along the chord the camber is greatest, from the leading edge."),
        Row("elevator", "Elevator", "part", "elevator",
            "Chord of the elevator behind its hinge line, as a part of the whole chord; 100 % for an "
            "all-moving tailplane."),
    )),
)
ROWS: dict[Measure, Row] = {row.key: row for _, rows in GROUPS for row in rows}
FIRST_NUMBERS: tuple[Measure, ...] = (
    "span", "root_chord", "tip_chord", "tip_offset", "tip_rise", "root_x", "root_z", "incidence_deg",
    "thickness", "camber", "elevator",
)

FIGURES: tuple[tuple[str, str, str], ...] = (
    ("area", "Area", "Both halves, through the fuselage: 2∫c dy. Exact geometry."),
    ("aspect_ratio", "Aspect ratio", "Span² / area. Exact geometry."),
    ("mac", "MAC", "Mean aerodynamic chord: (2/S)∫c² dy. Exact geometry."),
    ("quarter_chord_x", "its ¼ chord at",
     "Station of the quarter chord of the MAC, aft of the datum; tail arms are measured to it."),
    ("dihedral_deg", "Dihedral acts as",
     "Effective dihedral: that of every strip, weighted by its area and its distance from the centreline."),
)


@errors_told
class _Field(QLineEdit):
    """Tells when it is left: ``editingFinished`` does not, if nothing was typed since Return."""

    left = Signal()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        # A menu over the field, or another window, does not end what is being typed.
        if event.reason() not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            self.left.emit()


class SurfaceFields(QFrame):
    """Follows one surface; every field is one edit, and a field in use is not overwritten."""

    def __init__(self, document: Document, theme: Theme, say: Callable[[str], None]) -> None:
        super().__init__()
        self._document, self._say = document, say
        self._which: Which | None = None
        self.fields: dict[Measure, QLineEdit] = {}
        self._labels: dict[Measure, Label] = {}
        self.label = _field("Label", "What the builder calls it.")
        self.label.setAlignment(Qt.AlignmentFlag.AlignLeft)
        self.label.editingFinished.connect(self._labelled)
        self.first = Label()
        self.first.setWordWrap(True)
        self.trouble = Label()
        self.trouble.setWordWrap(True)
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        grid.addWidget(Label("Label"), 0, 0)
        grid.addWidget(self.label, 0, 1)
        grid.addWidget(self.first, 1, 0, 1, 2)
        at = 2
        for title, rows in GROUPS:
            grid.addWidget(heading(title), at, 0, 1, 2)
            for at, row in enumerate(rows, start=at + 1):  # noqa: B020
                spoken = row.words.removeprefix("or ")
                field = _field(spoken[:1].upper() + spoken[1:], row.tip)
                field.editingFinished.connect(lambda key=row.key: self._typed(key))
                field.left.connect(lambda key=row.key: self._left(key))
                name = Label(row.words)
                name.setBuddy(field)
                name.setToolTip(plain(row.tip))
                self.fields[row.key], self._labels[row.key] = field, name
                grid.addWidget(name, at, 0)
                grid.addWidget(field, at, 1)
            at += 1
        self.counts = QCheckBox("Counts in the side area")
        self.counts.setToolTip("Both halves seen from the side add to the side area, as two pieces of card.")
        self.counts.clicked.connect(self._counted)
        grid.addWidget(self.counts, at, 0, 1, 2)
        self.table = StationTable(self.apply, say, theme)
        self.figures: dict[str, FigureLabel] = {}
        sums = QGridLayout()
        sums.setHorizontalSpacing(8)
        sums.setVerticalSpacing(3)
        sums.setColumnStretch(1, 1)
        sums.addWidget(heading("What follows"), 0, 0, 1, 2)
        for row_at, (key, words, tip) in enumerate(FIGURES, start=1):
            figure = FigureLabel(words, "00000.0 mm")
            name = Label(words)
            for part in (name, figure):
                part.setToolTip(plain(tip))
            self.figures[key] = figure
            sums.addWidget(name, row_at, 0)
            sums.addWidget(figure, row_at, 1)
        self.together = Label()
        self.together.setWordWrap(True)
        self.together.setToolTip("Areas added, MAC and quarter chord weighted by area, as the readings do.")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 12)
        layout.setSpacing(8)
        upper = QVBoxLayout()
        upper.setContentsMargins(12, 0, 12, 0)
        upper.setSpacing(8)
        upper.addLayout(grid)
        upper.addLayout(sums)
        for widget in (self.trouble, self.together):
            upper.addWidget(widget)
        layout.addLayout(upper)
        # The four columns need every pixel of a narrow window.
        layout.addWidget(self.table)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setObjectName("surface")
        self.setStyleSheet(f"#surface {{ border-top: 1px solid {theme.line}; }}")
        self.first.setStyleSheet(f"color: {theme.below};")
        self.trouble.setStyleSheet(f"color: {theme.below};")
        self.together.setStyleSheet(f"color: {theme.ink_soft};")
        self.table.set_theme(theme)

    # What is shown

    def show_surface(self, which: Which | None) -> None:
        """Show another surface, or none."""
        anew = which != self._which
        self._which = which
        self.refresh(anew)

    def forget(self) -> None:
        """Another design: its surfaces are others."""
        self._which = None

    def _surface(self) -> Surface | None:
        return surface_of(self._document.edited, self._which) if self._which else None

    def refresh(self, anew: bool = False) -> None:
        """Show the surface as it is now; ``anew`` overwrites fields in use too."""
        surface, units = self._surface(), self._document.edited.display_units
        self.setVisible(surface is not None)
        if surface is None:
            return
        many = len(surface.stations) > 2
        for key, field in self.fields.items():
            value, row = measure(surface, key), ROWS[key]
            tip = f"{row.tip}\n{row.shaped}" if many and row.shaped else row.tip
            if len(surface.stations) < 2 and key not in ("incidence_deg", "thickness", "camber", "camber_at"):
                tip = f"Needs two stations: add them below.\n{row.tip}"
            _put(field, _text(value, row.kind, units), anew)
            if field.toolTip() != tip:
                field.setToolTip(plain(tip))
        for widget in (self.fields["elevator"], self._labels["elevator"]):
            widget.setVisible(isinstance(surface, Tailplane))
        for key, field in self.fields.items():
            fixed = measure(surface, key) is None and len(surface.stations) < 2
            field.setEnabled(not fixed)
        _put(self.label, surface.label, anew)
        self.label.setPlaceholderText(surface.id)
        self.counts.setChecked(surface.in_side_area)
        self.table.take(surface, units)
        self._show_first()
        self._show_figures(surface, units)

    def _show_first(self) -> None:
        left = unmeasured(self._document.edited, self._which) if self._which else ()
        named = (ROWS[key].words for key in FIRST_NUMBERS if key in left)
        words = ", ".join(name[:1].lower() + name[1:] for name in named)
        text = f"First numbers, not measured yet: {words}. Type your own over them." if left else ""
        _say(self.first, text)

    def _show_figures(self, surface: Surface, units: DisplayUnits) -> None:
        form = surface_form(surface)
        if isinstance(form, str):
            for figure in self.figures.values():
                figure.set_text(MISSING)
            _say(self.trouble, f"– {form[:1].upper()}{form[1:]}.")
        else:
            self.figures["area"].set_text(format_area(form.area, units))
            self.figures["aspect_ratio"].set_text(format_number(form.aspect_ratio, 2))
            self.figures["mac"].set_text(format_length(form.mac, units))
            self.figures["quarter_chord_x"].set_text(format_length(form.quarter_chord_x, units))
            self.figures["dihedral_deg"].set_text(format_angle(form.dihedral_deg))
            _say(self.trouble, "")
        design = self._document.edited
        wings = not isinstance(surface, Tailplane)
        parts: tuple[Surface, ...] = design.wings if wings else design.tailplanes
        whole = wing_form(design.wings) if wings else tailplane_form(design.tailplanes)
        text = ""
        if len(parts) > 1:
            text = f"{'Both' if len(parts) == 2 else f'All {len(parts)}'} {noun(surface)}s together: "
            text += whole if isinstance(whole, str) else (
                f"{format_area(whole.area, units)}, MAC {format_length(whole.mac, units)}, "
                f"its ¼ chord at {format_length(whole.quarter_chord_x, units)}"
            )
            text += "."
        _say(self.together, text)

    # What is typed

    def apply(self, name: str, edit: Callable[[Any], Any], key: Measure | None = None) -> None:
        """One edit of the surface shown; ``key`` is the measure that was typed, which is the builder's then
        even where it is what stood there. EditError where it cannot be done.
        """
        which = self._which
        if which is None:
            return

        def put(design: Design) -> Design:
            made = change_surface(design, which, edit)
            return made if key is None else measured(made, which, key)

        self._document.apply(name, put, ORIGIN)

    def _typed(self, key: Measure) -> None:
        field, surface = self.fields[key], self._surface()
        if not field.isModified() or surface is None:
            return
        row, text = ROWS[key], field.text()
        try:
            value = _parsed(text, row.kind, self._document.edited.display_units)
            self.apply(f"set {noun(surface)} {row.undo}", lambda s: set_measure(s, key, value), key)
        except (UnitError, EditError) as error:
            self._say(str(error))
            # After Return what was typed stays to be mended; leaving the field puts it back.
            field.selectAll()
            return
        field.setModified(False)
        self.refresh()

    def _left(self, key: Measure) -> None:
        if self.fields[key].isModified():
            self.fields[key].setModified(False)
            self.refresh()

    def _labelled(self) -> None:
        surface = self._surface()
        if self.label.isModified() and surface is not None:
            self.label.setModified(False)
            text = self.label.text().strip()
            self.apply(f"rename {noun(surface)}", lambda s: replace(s, label=text))
            self.refresh()

    def _counted(self, ticked: bool) -> None:
        surface = self._surface()
        if surface is not None:
            name = f"{'count' if ticked else 'leave out'} {noun(surface)}"
            self.apply(name, lambda s: replace(s, in_side_area=ticked))


def summary(design: Design, which: Which) -> tuple[str, str, str]:
    """(name, one line about it, its area) for a list of surfaces."""
    surface = surface_of(design, which)
    if surface is None:
        return "", "", ""
    units, span, form = design.display_units, measure(surface, "span"), surface_form(surface)
    line = noun(surface)
    if span is not None:
        line += f", {format_length(span, units)}"
    return surface.name, line, MISSING if isinstance(form, str) else format_area(form.area, units)


def _text(value: float | None, kind: Kind, units: DisplayUnits) -> str:
    if value is None:
        return MISSING
    if kind == "length":
        return format_typed(value, units)
    return format_angle(value) if kind == "angle" else format_fraction(value)


def _parsed(text: str, kind: Kind, units: DisplayUnits) -> float:
    if kind == "length":
        return parse_length(text, units)
    return parse_angle(text) if kind == "angle" else parse_fraction(text)


def _put(field: QLineEdit, text: str, anew: bool) -> None:
    if not anew and field.hasFocus() and field.isModified():
        return
    if field.text() != text or field.isModified():
        field.setText(text)


def _say(label: Label, text: str) -> None:
    if label.text() != text:
        label.setText(text)
    label.setVisible(bool(text))


def _field(name: str, tip: str) -> _Field:
    field = _Field()
    field.setAlignment(Qt.AlignmentFlag.AlignRight)
    field.setAccessibleName(name)
    field.setToolTip(plain(tip))
    field.setMinimumWidth(60)
    return field
