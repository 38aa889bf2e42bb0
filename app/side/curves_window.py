"""How the readings run over fin size, nose length or place of the CG, and a point to pull along them."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QToolButton,
    QVBoxLayout,
)

from app.kit.flow import Flow
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.kit.worker import Job
from app.side.beside import Beside
from app.side.curve_plot import CurvePlot
from app.side.curve_words import (
    PLOTS,
    axis_words,
    curve_of,
    lead_words,
    missing_words,
    per_gram,
    place_words,
)
from app.side.side_window import SideWindow
from app.work.document import Change, Proposal
from core.design import STATE, Design, DisplayUnits
from core.redesign.curves import CurveData, Over, curve, design_at
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError
from core.stability.catalogue import TERMS
from core.stability.readings import Reading
from core.stability.wording import aim_words, shown
from core.units import MM_PER_IN

_PAUSE_MS = 150
_LETTERS = 84
"""Across, at least: the longest heading of a plot."""
_CHOICES: tuple[tuple[Over, str, str, str], ...] = (
    ("fin", "Fin size", "scale the fin", "Fin and rudder scaled from the root"),
    ("nose", "Nose length", "lengthen the nose", "A straight length let into the nose, or taken out"),
    ("cg", "CG position", "move the CG", "The CG mark moved; the lead is what it takes to bring it there"),
)
_NOTE = (
    "Pull the point sideways, or step it with the arrow keys: the canvas follows. Let go to keep it (Return, "
    "after stepping), Escape to give up. Shaded green: where it should lie. Grey about Cnβ: how far the "
    "handbook may be off. Dashed: where the design was. Lead: what has to go into the nose to hold the CG."
)


@errors_told
class CurvesWindow(SideWindow):
    """Stays open beside the window; its curves are computed beside both."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Curves")
        self.over: Over = "fin"
        self.data: CurveData | None = None
        self._base: Design | None = None
        self._dropped: list[tuple[Design, float]] = []
        self._x: float | None = None
        self._pulling = self._stepping = self._own = False
        self._pulled_from: float | None = None
        self._mine: Proposal | None = None
        self.worker = self._worker("curves", lambda found: self._ready(*found), self._failed)
        self._lay_out()
        self._soon = self._timer(_PAUSE_MS, self.compute)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.compute()

    def _lay_out(self) -> None:
        self.resize(760, 720)
        row = Flow()
        group = QButtonGroup(self)
        self.choices: dict[Over, QToolButton] = {}
        for over, words, _, tip in _CHOICES:
            button = QToolButton()
            button.setText(words)
            button.setToolTip(plain(tip))
            button.setCheckable(True)
            button.clicked.connect(partial(self.choose, over))
            group.addButton(button)
            self.choices[over] = button
        row.add(Label("Over"), *self.choices.values())
        self.choices["fin"].setChecked(True)
        self.words = Label()
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        row.add(self.words)
        self.plots = {
            key: CurvePlot(name, "aim" if key == "cla_fraction" else "usual range", self._theme)
            for key, name in PLOTS
        }
        self._missing, self._note = Label(), Label(_NOTE)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(6)
        layout.addStrut(self._across(_LETTERS))
        layout.addLayout(row)
        for plot in self.plots.values():
            layout.addWidget(plot, 1)
            plot.field.pressed.connect(self._press)
            plot.field.moved.connect(self._pull)
            plot.field.released.connect(self._release)
            plot.field.nudged.connect(self._nudge)
            plot.field.ended.connect(self._end_stepping)
            plot.hide()
        self._empty = Label()
        for label in (self._empty, self._missing, self._note):
            label.setWordWrap(True)
        layout.addWidget(self._empty, 1, Qt.AlignmentFlag.AlignTop)
        layout.addWidget(self._missing)
        layout.addWidget(self._note)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        for plot in self.plots.values():
            plot.set_theme(theme)
        self._missing.setStyleSheet(f"color: {theme.below};")
        self._note.setStyleSheet(f"color: {theme.ink_soft};")
        self._show_point()

    # The curves

    def choose(self, over: Over) -> None:
        """Change another thing; the curves begin at the design as it is now."""
        self._abort()
        self.over = over
        self.choices[over].setChecked(True)
        # The curve on show is of another thing: its point is not to be pulled any more.
        self.data = self._base = None
        self.words.setText("computing…")
        self.compute()

    def compute(self) -> None:
        """Have the curves of the present design computed beside the window."""
        self._soon.stop()
        if self._document.busy or self._mine is not None:
            # The hand pauses but has not let go: a curve of half a gesture is of no use.
            self._soon.start()
            return
        if (why := self._readout.committed_readings.untold) is not None:
            self._withhold(why)
            return
        self.worker.start(partial(_curve, self._document.committed, self.over))
        if self.data is None:
            self._empty.setText("Computing…")

    def _changed(self, change: Change) -> None:
        if self._own:
            return
        if (why := self._readout.edited_readings.untold) is not None:
            self._withhold(why)
            return
        if self._mine is not None and self._document.proposal is not self._mine:
            # Undone or overtaken from elsewhere.
            self._pulling = self._stepping = False
            self._mine = None
            self._x = self._place_of(self._document.committed)
        if change.what == "proposal" or self._mine is not None:
            self._show_point()
            return
        if change.what == "preview":
            self.worker.cancel()
            self._soon.start()
            return
        place = self._place_of(self._document.committed)
        if place is None or self.worker.busy:
            self.worker.cancel()
            self._soon.start()
        else:
            self._soon.stop()
            self._x = place
            self._take_rest(self._document.committed)
            self._show_all()

    def _withhold(self, why: str) -> None:
        self._abort()
        self.worker.cancel()
        self._soon.stop()
        self._failed(why)

    def _place_of(self, design: Design) -> float | None:
        """Where ``design`` lies on the curve that is shown; None where it is another one."""
        if self._base is None or self.data is None:
            return None
        for known, x in ((self._base, self.data.present), *self._dropped):
            if all(getattr(known, field) is getattr(design, field) for field in (*STATE, "scans")):
                return x
        return None

    def _take_rest(self, design: Design) -> None:
        """What a curve does not depend on is taken from the design as it is now."""
        assert self._base is not None
        self._base = replace(design, **{field: getattr(self._base, field) for field in (*STATE, "scans")})

    def _ready(self, design: Design, data: CurveData) -> None:
        if design is not self._document.committed:
            self._soon.start()
            return
        self.data, self._base, self._x = data, design, data.present
        self._dropped.clear()
        self._show_all()

    def _failed(self, why: str) -> None:
        self.data, self._base, self._x = None, None, None
        for plot in self.plots.values():
            plot.hide()
        self._missing.hide()
        self._note.hide()
        self.words.setText("")
        self._empty.setText(f"Not yet: {why}.")
        self._empty.show()

    def _show_all(self) -> None:
        data = self.data
        if data is None:
            return
        units = self._document.design.display_units
        per_x = MM_PER_IN if data.unit == "mm" and units != "mm" else 1.0
        self._empty.hide()
        self._note.show()
        last: CurvePlot | None = None
        for key, plot in self.plots.items():
            there = bool((getattr(data, key) == getattr(data, key)).any())
            plot.setVisible(there)
            if there:
                plot.show_curve(curve_of(data, key, per_x, units), data.present / per_x)
                plot.show_axis("")
                last = plot
        if last is not None:
            last.show_axis(axis_words(data, units))
        self._missing.setText(missing_words(data))
        self._missing.setVisible(bool(self._missing.text()))
        self._show_point()

    def _show_point(self) -> None:
        data, x = self.data, self._x
        if data is None or x is None:
            return
        units = self._document.design.display_units
        per_x = MM_PER_IN if data.unit == "mm" and units != "mm" else 1.0
        mine = self._mine is not None
        readings = self._readout.readings if mine else self._readout.edited_readings
        for key, plot in self.plots.items():
            if plot.isHidden():
                continue
            if key == "lead":
                y = plot.value_at(x / per_x)
                words = "" if y is None else lead_words(y * per_gram(units), units)
            else:
                reading = readings[key]
                y = reading.value
                if key == "cla_fraction" and y is not None:
                    y *= 100.0
                words = self._reading_words(reading, units)
                low, high = readings.value("cn_beta_low"), readings.value("cn_beta_high")
                if key == "cn_beta" and low is not None and high is not None:
                    spec = TERMS["cn_beta"]
                    words += f" &nbsp;({shown(spec, low, units)} to {shown(spec, high, units)})"
            plot.show_point(x / per_x, y, words)
        self.words.setText(place_words(data, x, units))

    def _reading_words(self, reading: Reading, units: DisplayUnits) -> str:
        if reading.value is None:
            return f"not now: {reading.missing}"
        words = shown(reading.spec, reading.value, units)
        if reading.verdict is None:
            return words
        sign = {"below": "◀", "within": "✓", "above": "▶"}[reading.verdict]
        what = "the aim" if reading.key == "cla_fraction" else "the usual range"
        aim = f" of {aim_words(self._document.design.aim)}" if reading.key == "cla_fraction" else ""
        colour = self._theme.verdict(reading.verdict).name()
        return f"{words} &nbsp;<span style='color:{colour}'>{sign} {reading.verdict} {what}{aim}</span>"

    # Pulling the point

    def _per_x(self) -> float:
        mm = self.data is not None and self.data.unit == "mm"
        return MM_PER_IN if mm and self._document.design.display_units != "mm" else 1.0

    def _begin(self) -> bool:
        if self.data is None or self._base is None or self._x is None or self.worker.busy:
            return False
        self._document.settle()
        if self._document.busy or self._place_of(self._document.committed) is None:
            return False
        self._pulled_from = self._x
        return True

    def _press(self, x: float) -> None:
        # What was stepped to is pulled on.
        self._pulling = self._stepping or self._begin()
        self._stepping = False

    def _pull(self, x: float) -> None:
        if self._pulling:
            self._go_to(x * self._per_x())

    def _go_to(self, x: float) -> None:
        data, base = self.data, self._base
        if data is None or base is None:
            return
        if self._place_of(self._document.committed) is None:
            # Overtaken from elsewhere: the curve is of another design.
            self._pulling = self._stepping = False
            return
        x = min(max(x, float(data.x[0])), float(data.x[-1]))
        try:
            made = design_at(base, self.over, x)
        except EditError as error:
            self.words.setText(as_sentence(str(error)))
            return
        name = {over: name for over, _, name, _ in _CHOICES}[self.over]
        self._own = True
        try:
            self._mine = self._document.propose(made, name, "curves")
        except Exception:
            # It is on view all the same, without figures.
            self._mine = self._document.proposal
            raise
        finally:
            self._own = False
        self._x = x if self._mine is not None else self._place_of(self._document.committed)
        self._show_point()

    def _release(self) -> None:
        if self._pulling:
            self._pulling = False
            self._commit()

    def _commit(self) -> None:
        x, mine, self._mine = self._x, self._mine, None
        if mine is None:
            return
        self._own = True
        try:
            self._document.accept("curves")
        finally:
            self._own = False
            if x is not None:
                self._dropped.append((self._document.committed, x))
            if (why := self._readout.edited_readings.untold) is not None:
                self._withhold(why)
        self._show_point()

    def _nudge(self, steps: int) -> None:
        if self._pulling or self.data is None:
            return
        if not self._stepping:
            self._stepping = self._begin()
        if self._stepping and self._x is not None:
            self._go_to(self._x + steps * float(self.data.x[-1] - self.data.x[0]) / 200.0)

    def _end_stepping(self) -> None:
        if self._stepping:
            self._stepping = False
            self._commit()

    def _abort(self) -> bool:
        if not (self._pulling or self._stepping):
            return False
        self._pulling = self._stepping = False
        self._x = self._pulled_from
        self._own = True
        if self._mine is not None:
            self._mine = None
            self._document.withdraw("curves", for_good=True)
        self._own = False
        self._show_point()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if event.key() == Qt.Key.Key_Escape and self._abort():
            return
        super().keyPressEvent(event)

    def _leaving(self) -> None:
        self._abort()


def _curve(design: Design, over: Over, job: Job) -> tuple[Design, CurveData]:
    """In the worker's thread."""
    found = curve(design, over, cancelled=job.gone)
    if found is None:
        raise CancelledError
    return design, found
