"""The other readings, grouped, each with its unit, its verdict and where it comes from."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.cautions import CAUTIONS
from app.document import Change, Document
from app.panels.reading_group import ReadingGroup
from app.panels.setting_up import setting_up_lines
from app.readout import Readout
from app.theme import Theme
from core.design import Design, DisplayUnits, Mark
from core.redesign.design_edits import set_aim, set_cg
from core.stability import catalogue
from core.stability.readings import Readings
from core.stability.wording import figure
from core.units import (
    UnitError,
    format_fraction,
    parse_fraction,
    parse_length,
)

GROUPS = tuple((group.title, group.readings) for group in catalogue.GROUPS)
_FLASH_MS = 1400


class ReadingsPanel(QWidget):
    """Rows that keep their places; what changed under the hand says for a moment by how much."""

    def __init__(
        self, document: Document, readout: Readout, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._readout, self._theme, self._say = document, readout, theme, say
        self._inputs: dict[str, QLineEdit] = {}
        self._before: Readings | None = None
        self._fade = QTimer(self)
        self._fade.setSingleShot(True)
        self._fade.setInterval(_FLASH_MS)
        self._fade.timeout.connect(self._fade_changes)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 12, 12)
        layout.setSpacing(10)
        layout.addLayout(self._typed_group())
        self.groups = {group.key: ReadingGroup(group, theme) for group in catalogue.GROUPS}
        for group in self.groups.values():
            layout.addWidget(group)
        self.curve_button = QPushButton("Yaw from 0° to 90°…")
        self.curve_button.setToolTip("What holds or turns it from a small slip to broadside on")
        self.groups["yaw"].add_below(self.curve_button)
        self._setting_up = QLabel()
        self._setting_up.setWordWrap(True)
        self._setting_up.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout.addWidget(self._heading("Setting up"))
        layout.addWidget(self._setting_up)
        self._note = QLabel()
        self._note.setWordWrap(True)
        self._note.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout.addWidget(self._note)
        layout.addStretch(1)
        self._caution = QLabel(f"{CAUTIONS[0]} {CAUTIONS[1]}")
        self._caution.setWordWrap(True)
        self._caution.setToolTip("\n".join(CAUTIONS))
        layout.addWidget(self._caution)
        self.set_theme(theme)
        readout.listen(self._changed)

    def _heading(self, title: str) -> QLabel:
        label = QLabel(title)
        font = QFont(label.font())
        font.setBold(True)
        label.setFont(font)
        return label

    def _typed_group(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        grid.addWidget(self._heading("CG and aim"), 0, 0, 1, 3)
        rows = (
            (("cg_x", "CG station"), ("cg_z", "CG height")),
            (("low", "Aim from"), ("high", "Aim to")),
            (("cla_fraction", "Aim at"),),
        )
        tips = {
            "cg_x": 'Aft of the datum. Type it in any unit: "12 1/2 in", "318". The mark can be dragged too.',
            "cg_z": "Above the datum.",
            "low": "The least CLA fraction you want. It can be dragged on the arm rule too.",
            "high": "The greatest CLA fraction you want.",
            "cla_fraction": "The CLA fraction to design for; about 25 % is common practice, no source.",
        }
        at = 1
        for row in rows:
            for key, words in row:
                name = QLabel(words)
                field = QLineEdit()
                field.setAlignment(Qt.AlignmentFlag.AlignRight)
                field.setAccessibleName(words)
                field.setToolTip(tips[key])
                name.setBuddy(field)
                field.editingFinished.connect(lambda k=key: self._typed(k))
                self._inputs[key] = field
                grid.addWidget(name, at, 0)
                grid.addWidget(field, at, 1, 1, 2)
                at += 1
        grid.setColumnStretch(1, 1)
        return grid

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        for group in self.groups.values():
            group.set_theme(theme)
        self._note.setStyleSheet(f"color: {theme.below};")
        self._caution.setStyleSheet(f"color: {theme.ink_soft};")
        self.refresh()

    def _changed(self, change: Change) -> None:
        if change.what == "preview" and self._before is None:
            self._before = self._settled
        if change.what == "file":
            self._before = None
        elif change.what == "design":
            if self._before is None:
                self._before = self._settled
            self._fade.start()
        self.refresh()
        if change.what != "preview":
            self._settled = self._readout.readings

    _settled: Readings | None = None

    def _fade_changes(self) -> None:
        self._before = None
        self.refresh()

    def refresh(self) -> None:
        """Show the readings as they are now."""
        readings, units = self._readout.readings, self._document.design.display_units
        if self._settled is None:
            self._settled = readings
        design, settled = self._document.design, not self._document.busy
        for group in self.groups.values():
            group.show_readings(design, readings, self._before, settled)
        if settled:
            _set(self._setting_up, _setting_up_words(design))
        self._fill_inputs(readings, units)
        # What the first two groups lack; the others say themselves what they need.
        lacking = [readings[key].missing for _, keys in GROUPS[:1] for key in keys]
        lacking += [readings[key].missing for key in ("fin_centre_x", "tail_arm")]
        reasons = [reason for reason in dict.fromkeys(lacking) if reason]
        lines = [f"– {reason[:1].upper()}{reason[1:]}." for reason in reasons]
        lines += [f"! {warning}." for warning in readings.warnings]
        _set(self._note, "\n".join(lines))

    def _fill_inputs(self, readings: Readings, units: DisplayUnits) -> None:
        aim = self._document.design.aim
        texts = {
            "cg_x": figure("cg_x", readings, units), "cg_z": figure("cg_z", readings, units),
            "low": format_fraction(aim.low), "high": format_fraction(aim.high),
            "cla_fraction": format_fraction(aim.cla_fraction),
        }
        for key, text in texts.items():
            field = self._inputs[key]
            if field.hasFocus() and field.isModified():
                continue
            if field.text() != text:
                field.setText(text)
        weighed = self._document.design.cg_from == "weights"
        for key in ("cg_x", "cg_z"):
            self._inputs[key].setReadOnly(weighed)

    def _typed(self, key: str) -> None:
        field = self._inputs[key]
        if not field.isModified():
            return
        field.setModified(False)
        units = self._document.design.display_units
        try:
            if key in ("cg_x", "cg_z"):
                value = parse_length(field.text(), units)
                self._document.apply("move CG mark", lambda d: _with_cg(d, key, value), "readings")
            else:
                fraction = parse_fraction(field.text())
                self._document.apply("set the aim", lambda d: _with_aim(d, key, fraction), "readings")
        except UnitError as error:
            self._say(str(error))
        self.refresh()


def _with_cg(design: Design, key: str, value: float) -> Design:
    mark = design.cg_mark or Mark(x=0.0, z=0.0)
    return set_cg(design, value, mark.z) if key == "cg_x" else set_cg(design, mark.x, value)


def _with_aim(design: Design, key: str, fraction: float) -> Design:
    aim = design.aim
    low, middle, high = aim.low, aim.cla_fraction, aim.high
    if key == "low":
        # A limit typed past the others takes them along, so that what was typed stands.
        return set_aim(design, fraction, max(middle, fraction), max(high, fraction))
    if key == "high":
        return set_aim(design, min(low, fraction), min(middle, fraction), fraction)
    return set_aim(design, min(low, fraction), fraction, max(high, fraction))


def _setting_up_words(design: Design) -> str:
    lines = setting_up_lines(design)
    if not design.surfaces:
        return "Tells what to measure while gluing the tail on. Needs a wing and a tailplane."
    return "\n".join(f"{what}: {reads}." for what, reads in lines)


def _set(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
