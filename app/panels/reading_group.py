"""One group of readings that opens when its inputs exist, and says what it needs until then."""

from __future__ import annotations

from PySide6.QtCore import QSettings, QSize, Qt
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from app.kit.figure_label import FigureLabel
from app.kit.help_places import GROUPS, reading_place, set_help
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.panels.firmness_bar import FirmnessBar
from core.design import Design, DisplayUnits
from core.stability.catalogue import TERMS, Group, Spec
from core.stability.lacking import needs_words
from core.stability.meanings import MEANINGS
from core.stability.plain_words import further_words, group_words
from core.stability.readings import Reading, Readings
from core.stability.wording import figure, instead, percent, range_words, shown

_LEAST_CHANGE = {"length": 0.05, "area": 1.0, "mass": 0.05}

FIELD_INSET = 7
"""px between the edge of a field and the text in it: border, padding, and what Qt keeps free."""


class ReadingGroup(QWidget):
    """A heading that folds, sentences that say what the figures mean, and a row a reading.

    It leads with its verdict in words, and a ``scale`` where it has one; these stay. Only the figures
    fold: at first they are folded, and how they were left is remembered.
    """

    def __init__(self, group: Group, theme: Theme, scale: FirmnessBar | None = None) -> None:
        super().__init__()
        self._group, self._theme, self._scale = group, theme, scale
        self._had: bool | None = None
        self._rows: dict[str, tuple[Label, FigureLabel, FigureLabel]] = {}
        self.heading = QToolButton()
        self.heading.setText(group.title)
        self.heading.setCheckable(True)
        self.heading.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.heading.setIconSize(QSize(10, 10))
        font = QFont(self.heading.font())
        font.setBold(True)
        self.heading.setFont(font)
        self.heading.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.heading.setStyleSheet(
            "QToolButton { border: 1px solid transparent; padding: 2px 0; text-align: left;"
            " background: transparent; } QToolButton:focus { border-color: palette(highlight); }"
        )
        self.heading.toggled.connect(self._toggled)
        self._needs, self._words, self._under, self._foot = (Label() for _ in range(4))
        for label in self._labels:
            label.setWordWrap(True)
        self.body = QWidget()
        grid = QGridLayout(self.body)
        grid.setContentsMargins(0, 0, FIELD_INSET, 0)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(3)
        for at, key in enumerate(group.readings):
            self._add_row(grid, at, TERMS[key])
        grid.setColumnStretch(2, 1)
        grid.addWidget(self._foot, grid.rowCount(), 0, 1, 3)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(3)
        self._leading: list[QWidget] = [scale] if scale is not None else []
        for widget in (self.heading, self._words, scale, self._under, self._needs, self.body):
            if widget is not None:
                layout.addWidget(widget)
        self.heading.setChecked(bool(QSettings().value(self._kept_as, False, type=bool)))
        self.heading.setAccessibleName(f"{group.title}: open or fold the figures")
        self.heading.setToolTip("Open or fold the figures")
        set_help(self, GROUPS[group.key])
        self.set_theme(theme)

    def _add_row(self, grid: QGridLayout, at: int, spec: Spec) -> None:
        name = Label(spec.label)
        value = FigureLabel(spec.label, "0000.0 mm")
        for widget in (name, value):
            set_help(widget, reading_place(spec.key))
        change = FigureLabel(f"{spec.label}: change", "+000.0 mm")
        change.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._rows[spec.key] = (name, value, change)
        grid.addWidget(name, at, 0)
        # The figures end where those of the fields do; what changed stands before them.
        grid.addWidget(change, at, 1)
        grid.addWidget(value, at, 2)

    @property
    def _labels(self) -> tuple[Label, ...]:
        return self._needs, self._words, self._under, self._foot

    @property
    def _kept_as(self) -> str:
        return f"readings/{self._group.key}/figures"

    def add_below(self, widget: QWidget) -> None:
        """Something that goes with what the group says, and stays with it."""
        layout = self.layout()
        assert isinstance(layout, QVBoxLayout)
        layout.insertWidget(layout.indexOf(self._needs), widget, 0, Qt.AlignmentFlag.AlignLeft)
        self._leading.append(widget)
        self._fold(self.heading.isChecked())

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        for _, _, change in self._rows.values():
            change.set_colour(QColor(theme.change))
        for label in self._labels:
            label.setStyleSheet(f"color: {theme.ink_soft};")
        # The sentence that the group leads with is its verdict.
        self._words.setStyleSheet(f"color: {theme.ink};")
        if self._scale is not None:
            self._scale.set_theme(theme)
        self._fold(self.heading.isChecked())

    def _toggled(self, opened: bool) -> None:
        QSettings().setValue(self._kept_as, opened)
        self._fold(opened)

    def _fold(self, opened: bool) -> None:
        self.heading.setArrowType(Qt.ArrowType.DownArrow if opened else Qt.ArrowType.RightArrow)
        self.body.setVisible(opened)
        leads = bool(self._had)
        self._words.setVisible((opened or leads) and bool(self._words.text()))
        self._needs.setVisible(bool(self._needs.text()) and (opened or not self._had))
        for widget in self._leading:
            widget.setVisible(leads)
        self._under.setVisible(leads and bool(self._under.text()))
        self._foot.setVisible(bool(self._foot.text()))

    def show_readings(
        self, design: Design, readings: Readings, before: Readings | None, settled: bool
    ) -> None:
        """Show the figures; the sentences follow when the hand has let go, the leading one by ``follow``."""
        units = design.display_units
        # The first of a group is what it is there for; what comes without it is a by-product.
        first = readings[self._group.readings[0]]
        has = first.value is not None or bool(instead(first))
        if has != self._had:
            # What it says comes when there is something to say; how it was folded is left alone.
            self._had = has
            self._fold(self.heading.isChecked())
        if self._scale is not None:
            self._scale.show_readings(readings, before, settled)
        for key, (name, value, change) in self._rows.items():
            reading = readings[key]
            value.set_text(instead(reading) or figure(key, readings, units))
            value.set_verdict(reading.verdict, self._theme.verdict(reading.verdict))
            change.set_text(difference(reading, before, units))
            tip = origin(reading)
            if name.toolTip() != tip:
                name.setToolTip(plain(tip))
                value.setToolTip(plain(tip))
        if settled:
            told = (
                needs_words(self._group, design, readings), group_words(self._group.key, design, readings),
                *further_words(self._group.key, design, readings),
            )
            if told != tuple(label.text() for label in self._labels):
                for label, text in zip(self._labels, told, strict=True):
                    label.setText(text)
                self._fold(self.heading.isChecked())

    def follow(self, design: Design, readings: Readings) -> None:
        """Bring the sentence that leads up with the design under the hand: it holds figures."""
        if self._words.isVisible():
            text = group_words(self._group.key, design, readings)
            if text != self._words.text():
                self._words.setText(text)


def origin(reading: Reading) -> str:
    """Meaning, formula, kind of source, range, and why it is missing: what a tip says of a reading."""
    spec = reading.spec
    lines = [
        MEANINGS[spec.key], f"{spec.label} = {spec.formula}", f"Kind of source: {spec.source}.",
        *filter(None, (range_words(spec),)),
    ]
    if reading.verdict is not None:
        lines.append(f"Verdict: {reading.verdict} the range.")
    if reading.missing:
        lines.append(f"Missing: {reading.missing}.")
    return "\n".join(lines)


def difference(reading: Reading, before: Readings | None, units: DisplayUnits) -> str:
    """How much the reading moved since ``before``; empty for what cannot be seen."""
    if before is None or reading.value is None:
        return ""
    old = before.value(reading.key)
    if old is None:
        return ""
    change, spec = reading.value - old, reading.spec
    # What the last place shown cannot tell is no change to see.
    last = spec.places + (2 if spec.shown == "percent" else 0)
    least = _LEAST_CHANGE.get(spec.shown, 0.5 * 10.0 ** -last)
    if abs(change) < least:
        return ""
    if reading.key == "cla_fraction":
        return percent(change)
    return shown(spec, change, units, signed=True)
