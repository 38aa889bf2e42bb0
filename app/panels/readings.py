"""The other readings, grouped, each with its unit, its verdict and where it comes from."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from app.kit.cautions import CAUTIONS
from app.kit.help_places import set_help
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.panels.firmness_bar import FirmnessBar
from app.panels.reading_group import ReadingGroup
from app.panels.setting_up import setting_up_lines
from app.panels.typed_figures import CG_AND_AIM, FLIGHT, TypedFigures
from app.work.document import Change, Document
from app.work.readout import Readout
from core.design import Design
from core.stability import catalogue
from core.stability.readings import Readings

_BESIDE_MS = 100
"""How far the sentences may lag behind the hand."""
_FLASH_MS = 1400


class ReadingsPanel(QWidget):
    """Rows that keep their places; what changed under the hand says for a moment by how much."""

    def __init__(
        self, document: Document, readout: Readout, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._readout, self._theme, self._say = document, readout, theme, say
        self._before: Readings | None = None
        self._fade = QTimer(self)
        self._fade.setSingleShot(True)
        self._fade.setInterval(_FLASH_MS)
        self._fade.timeout.connect(self._fade_changes)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_BESIDE_MS)
        self._soon.timeout.connect(self._follow)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 12, 12)
        layout.setSpacing(10)
        self._typed = (
            TypedFigures("CG and aim", CG_AND_AIM, document, readout, say),
            TypedFigures("Flight and body", FLIGHT, document, readout, say),
        )
        self._inputs = {key: line for typed in self._typed for key, line in typed.inputs.items()}
        layout.addWidget(self._typed[0])
        self.firmness = FirmnessBar(theme)
        self.groups = {
            group.key: ReadingGroup(group, theme, self.firmness if group.key == "yaw" else None)
            for group in catalogue.GROUPS
        }
        for group in self.groups.values():
            if group is self.groups["yaw"]:
                layout.addWidget(self._typed[1])
            layout.addWidget(group)
        self.curve_button = QPushButton("Yaw from 0° to 90°…")
        self.curve_button.setToolTip("What holds or turns it from a small slip to broadside on")
        self.groups["yaw"].add_below(self.curve_button)
        self.gust_button = QPushButton("After a gust…")
        self.gust_button.setToolTip("Flies it for five seconds after a side gust or a kick of the rudder")
        self.groups["gust"].add_below(self.gust_button)
        self._setting_up = Label()
        self._setting_up.setWordWrap(True)
        self._setting_up.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout.addWidget(self._heading("Setting up"))
        set_help(self._setting_up, "words/setting-up-sheet")
        layout.addWidget(self._setting_up)
        self._note = Label()
        self._note.setWordWrap(True)
        self._note.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout.addWidget(self._note)
        layout.addStretch(1)
        self._caution = Label(f"{CAUTIONS[0]} {CAUTIONS[1]}")
        self._caution.setWordWrap(True)
        self._caution.setToolTip(plain("\n".join(CAUTIONS)))
        layout.addWidget(self._caution)
        self.set_theme(theme)
        readout.listen(self._changed)

    def _heading(self, title: str) -> Label:
        label = Label(title)
        font = QFont(label.font())
        font.setBold(True)
        label.setFont(font)
        return label

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        for group in self.groups.values():
            group.set_theme(theme)
        self._note.setStyleSheet(f"color: {theme.below};")
        self._caution.setStyleSheet(f"color: {theme.ink_soft};")
        self.refresh()

    def _changed(self, change: Change) -> None:
        if change.what == "preview" and (self._before is None or self._fade.isActive()):
            # A gesture tells its own change, and for as long as it lasts: not what is left of the last one's.
            self._fade.stop()
            self._before = self._settled
        if change.what == "proposal":
            # A proposal says all the while by how much it would change what is there.
            self._fade.stop()
            self._before = self._settled if self._document.proposal is not None else None
        if change.what == "file" and change.name != "saved":
            self._fade.stop()
            self._before = None
        elif change.what == "design":
            if self._before is None:
                self._before = self._settled
            self._fade.start()
        self.refresh()
        if change.what in ("design", "file"):
            self._settled = self._readout.committed_readings

    _settled: Readings | None = None

    def _follow(self) -> None:
        """The sentences with figures in them, beside the drag: each lays its column out anew."""
        for group in self.groups.values():
            group.follow(self._document.design, self._readout.readings)

    def _fade_changes(self) -> None:
        self._before = None
        self.refresh()

    def refresh(self) -> None:
        """Show the readings as they are now."""
        readings = self._readout.readings
        if self._settled is None:
            self._settled = readings
        design, settled = self._document.design, not self._document.busy
        for group in self.groups.values():
            group.show_readings(design, readings, self._before, settled)
        if settled:
            self._soon.stop()
        elif not self._soon.isActive():
            self._soon.start()
        if settled:
            _set(self._setting_up, _setting_up_words(design, readings))
        for typed in self._typed:
            typed.fill(self._document.edited, self._readout.edited_readings)
        _set(self._note, "\n".join(f"! {warning}." for warning in readings.warnings))


def _setting_up_words(design: Design, readings: Readings) -> str:
    if not design.surfaces:
        return "Tells what to measure while gluing the tail on. Needs a wing and a tailplane."
    if readings.untold is not None:
        # Tips and strings go by what the outlines fill.
        return f"Tells what to measure while gluing the tail on. Not yet: {readings.untold}."
    lines = setting_up_lines(design)
    return "\n".join(f"{what}: {reads}." for what, reads in lines)


def _set(label: Label, text: str) -> None:
    if label.text() != text:
        label.setText(text)
