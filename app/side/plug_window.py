"""A plug let into the fuselage, or a piece taken out of it, seen on the canvas before it is done."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QComboBox,
    QDialogButtonBox,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
)

from app.canvas.tools.station import StationHand
from app.kit.length_field import LengthField
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.side_window import SideWindow
from app.side.stage import Stage
from app.side.told_box import ToldBox
from app.work.document import Change
from core.design import Design, DisplayUnits
from core.redesign.lead_saved import lead_saved_words
from core.redesign.plug import Keep, fuselage_span, part_kept, plug_preview, root_quarter_x
from core.stability.readings import scale_known
from core.stability.wording import percent
from core.units import MISSING, format_length, parse_length

LET_IN, TAKE_OUT = "let in a plug", "take out a piece"
_KEEPS: tuple[Keep | None, ...] = (None, "front", "aft")


class PlugWindow(SideWindow):
    """Station, length and the part that stays; what it does in words; the canvas shows it meanwhile."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Plug: a longer or shorter fuselage")
        self._canvas = beside.canvas
        hand = self._canvas.hands["station"]
        assert isinstance(hand, StationHand)
        self._hand = hand
        self.stage = Stage(beside, self, self.refresh, self.close, self.close)
        self._shown_units = self._units()
        self.station = LengthField("Station of the cut", self._units, "Aft of the datum, in any unit.")
        self.length = LengthField(
            "Length", self._units, "How much to let in, in any unit; below nothing: how much to take out."
        )
        for field in (self.station, self.length):
            field.changed.connect(self.refresh)
        self.pick = QPushButton("Click it on the canvas")
        self.pick.setCheckable(True)
        self.pick.setAutoDefault(False)
        self.pick.toggled.connect(self._pick_toggled)
        self.keep = QComboBox()
        self.keep.setAccessibleName("The part that stays")
        self.keep.addItems(["", "The part ahead of the cut", "The part behind the cut"])
        self.keep.activated.connect(lambda _: self.refresh())
        self.words, self.refusal, self.effect = Label(), Label(), Label()
        for label in (self.words, self.refusal, self.effect):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.words.setAccessibleName("What it does")
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.buttons.accepted.connect(self.do_it)
        self.buttons.rejected.connect(self.reject)
        self._lay_out()
        self._listen(self._document, self._heard)
        self._canvas.hand_changed.connect(self._hand_changed)
        self._suggest()
        self.set_theme(beside.theme)
        self.length.setFocus()

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(8)
        hint = self.hint = Label("+ lets in, − takes out")
        rows = (
            ("&Station of the cut", self.station, self.pick),
            ("&Length", self.length, hint),
            ("&What stays", self.keep, None),
        )
        for at, (words, field, beside) in enumerate(rows):
            label = Label(words)
            label.setBuddy(field)
            grid.addWidget(label, at, 0)
            if beside is None:
                grid.addWidget(field, at, 1, 1, 2)
            else:
                grid.addWidget(field, at, 1)
                grid.addWidget(beside, at, 2)
        grid.setColumnStretch(1, 1)
        self._box = ToldBox(self.refusal, self.words, self.effect, lines=10)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.buttons)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(12)
        layout.addLayout(grid)
        layout.addWidget(self._box, 1)
        layout.addLayout(row)
        self.resize(520, 380)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self._box.set_theme(theme)
        for soft in (self.hint, self.effect):
            soft.setStyleSheet(f"color: {theme.ink_soft};")
        self.refresh()

    # What is asked for

    def _units(self) -> DisplayUnits:
        return self._document.committed.display_units

    def _suggest(self) -> None:
        """A station to begin with: in the nose, half-way to the wing."""
        design = self._document.committed
        span = fuselage_span(design)
        if span is None:
            return
        edges = [min(s.le_x for s in w.stations) for w in design.wings if w.stations]
        behind = min(edges, default=design.cg_mark.x if design.cg_mark else span[1])
        if not span[0] < behind <= span[1]:
            behind = span[1]
        middle = 0.5 * (span[0] + behind)
        units = self._units()
        self.station.set_value(parse_length(format_length(middle, units), units))

    def _keep_words(self, design: Design, station: float | None) -> str:
        if any(root_quarter_x(w) is not None for w in design.wings):
            bears = "The part that bears the wing"
        elif design.cg_mark is not None:
            bears = "The part with the CG mark"
        else:
            return "The part behind the cut, for want of a wing"
        if station is None:
            return bears
        side = "behind" if part_kept(design, station) == "aft" else "ahead of"
        return f"{bears}: {side} the cut"

    def refresh(self) -> None:
        """Say what the plug does, and show it."""
        design = self.stage.base
        station, length = self.station.value, self.length.value
        if self._shown_units != design.display_units:
            self._shown_units = design.display_units
            for field in (self.station, self.length):
                field.write()
        self.keep.setItemText(0, self._keep_words(design, station))
        self._hand.mark = station
        self._canvas.update()
        fault = self.station.fault or self.length.fault
        if fault or station is None or not length:
            self._say("", fault or self._next(design, station), at_fault=bool(fault))
            return
        found = plug_preview(design, station, length, keep=_KEEPS[self.keep.currentIndex()])
        if isinstance(found, str):
            self._say("", found)
            return
        self.stage.show(LET_IN if length > 0.0 else TAKE_OUT, found.design)
        self._say("\n".join(found.words), "")

    def _next(self, design: Design, station: float | None) -> str:
        if fuselage_span(design) is None:
            return "there is no fuselage to cut: trace it first"
        if not scale_known(design):
            return "the scan has no scale yet: set it first, or lengths mean nothing"
        if station is None:
            return "Type the station of the cut, or click it on the canvas."
        return "Type how much to let in, or to take out with a minus before it."

    def _say(self, words: str, refusal: str, *, at_fault: bool = True) -> None:
        """Either what is done, with OK, or why nothing can be, or the next step."""
        done = bool(words)
        if not done:
            self.stage.clear()
        self.words.setText(words)
        self.words.setVisible(done)
        colour = self._theme.fault if at_fault else self._theme.ink
        self.refusal.setStyleSheet(f"color: {colour};")
        self.refusal.setText(as_sentence(refusal))
        self.refusal.setVisible(not done)
        self.effect.setText(self._effect() if done else "")
        self.ok.setEnabled(done)
        self.ok.setText("Let it in" if (self.length.value or 0.0) >= 0.0 else "Take it out")

    def _effect(self) -> str:
        """What becomes of the answer; the readings are those of the proposal already."""
        if not self.stage.shown:
            return ""
        now = self._readout.readings.value("cla_fraction")
        was = self._before()
        if now is None:
            return ""
        words = f"CLA fraction {percent(now)}; it was {percent(was) if was is not None else MISSING}."
        lead = lead_saved_words(self.stage.base, self._document.design)
        return f"{words} {lead}" if lead else words

    def _before(self) -> float | None:
        return self._readout.committed_readings.value("cla_fraction")

    # The hand that takes the station

    def _pick_toggled(self, on: bool) -> None:
        if on:
            self._hand.wanted = self._station_taken
            self._canvas.take_hand("station")
            self._beside.window.activateWindow()
            self._canvas.setFocus()
        else:
            self._give_back_hand()

    def _give_back_hand(self) -> None:
        if self._canvas.hand is self._hand:
            self._canvas.take_hand("edit")

    def _hand_changed(self, name: str) -> None:
        self.pick.setChecked(name == "station")

    def _station_taken(self, x: float) -> None:
        self.station.set_value(x)
        self.refresh()

    # Doing it, or not

    def _heard(self, change: Change) -> None:
        if self.stage.is_open and change.what == "file" and change.name in ("opened", "recovered"):
            # Another aeroplane: what was typed was not about it.
            QTimer.singleShot(0, self, self.close)

    def do_it(self) -> None:
        """One entry of undo, and the window closes."""
        self.refresh()
        if self.ok.isEnabled() and self.stage.commit():
            self.accept()

    def _leaving(self) -> None:
        self.stage.close()
        self._hand.wanted, self._hand.mark = None, None
        self._give_back_hand()
        self._canvas.update()
