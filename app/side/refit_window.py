"""How large must the fin be now: the ways there, what each would cost, and the one that is chosen."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.flow import Flow
from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.outgoing import bar_style
from app.side.refit_work import Asked, Found, at_target, undo_name, work_out
from app.side.side_window import SideWindow
from app.side.stage import Stage
from app.side.told_box import ToldBox
from app.side.ways_table import WaysTable
from app.work.document import Change
from core.design import DisplayUnits
from core.redesign.probe import Target
from core.redesign.refit import Refit, WayCost
from core.redesign.refit_ways import WayKey
from core.redesign.refit_words import NAMES
from core.stability.answer import answer
from core.stability.fin_needed import FIRM_CN_BETA
from core.stability.ranges import CN_BETA
from core.units import UnitError, format_fraction, format_number, parse_fraction, parse_length, parse_number

THERE_NOW = "The tail is at the aim now."
_PAUSE_MS = 250
_LETTERS, _LINES, _USUAL = 76, 8, QSize(760, 600)
"""Across and down, of what is told of a way, at least; px. Beside the tail a usual screen has 900 px."""
_OF_ITSELF = "the battery, or else lead"
_TARGETS: tuple[Target, ...] = ("cla_fraction", "cn_beta", "both")
_CN_BETA = 0.06
"""To begin with: the low end of light aeroplanes in the literature, from memory."""


class RefitWindow(SideWindow):
    """Follows the design; a chosen way is shown on the canvas until it is done or let be."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Refit: how large must the fin be now?")
        self.stage = Stage(beside, self, self._base_changed, self.let_be, self.close)
        self.worker = self._worker("refit", self._worked_out, self._failed)
        self.worker.progress.connect(self._tried)
        self._found: Found | None = None
        self._again: WayKey | None = None
        self._done_words: tuple[str, ...] = ()
        self.target, self.value = QComboBox(), QLineEdit()
        self.target.addItems(["CLA fraction", "Cnβ", "both witnesses: CLA fraction"])
        self.target.setAccessibleName("What to bring to a value")
        self.target.activated.connect(self._target_changed)
        self.value.setAccessibleName("The value to bring it to")
        self.firm = QLineEdit(format_number(FIRM_CN_BETA, 3))
        self.firm.setAccessibleName("Cnβ, at least")
        usual = "{:g} to {:g} is usual".format(*CN_BETA)
        self.firm.setToolTip(plain(f"Firmness in yaw that the handbook shall find at least; {usual}"))
        self.dorsal, self.ventral = QLineEdit(), QLineEdit()
        self.weight = QComboBox()
        self.weight.activated.connect(lambda _: self.work_out())
        self._soon = self._timer(_PAUSE_MS, self.work_out)
        for field in (self.value, self.firm, self.dorsal, self.ventral):
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
            field.textEdited.connect(lambda _: self._soon.start())
            field.returnPressed.connect(self.work_out)
        self.state, self.bar, self.stop_button = Label(), QProgressBar(), QPushButton("Stop")
        self.table = WaysTable()
        self.table.itemSelectionChanged.connect(self._chosen)
        self.table.folds.connect(self._tell_anew)
        self.words, self.cautions = Label(), Label()
        self.near = QCheckBox("As &near as it comes")
        self.near.setToolTip("Put in a way that does not reach the value, at its nearest")
        self.near.toggled.connect(lambda _: self._refresh_button())
        self.all_the_same = QCheckBox("Do it all the &same")
        self.all_the_same.setToolTip("Put in a way whose result the answer would forbid, or doubt")
        self.all_the_same.toggled.connect(lambda _: self._refresh_button())
        self.do_button, self.close_button = QPushButton("&Do it"), QPushButton("Close")
        self.do_button.clicked.connect(self.do_it)
        self.close_button.clicked.connect(self.close)
        self.stop_button.clicked.connect(self._stopped)
        for button in (self.do_button, self.close_button, self.stop_button):
            button.setAutoDefault(False)
        self._lay_out()
        self.set_theme(beside.theme)
        if answer(self.stage.base, self._readout.committed_readings).handbook_content is False:
            self.target.setCurrentIndex(_TARGETS.index("both"))
        self._listen(self._readout, self._recounted)
        self._fill_inputs()
        self.table.set_heads(self._units())
        self.work_out()

    def _lay_out(self) -> None:
        ask = Flow()
        ask.add(_named("&Bring", self.target), self.target)
        ask.add(_named("&to", self.value), self.value)
        self._firm_label = _named("and Cnβ at &least", self.firm)
        ask.add(self._firm_label, self.firm)
        for field, most in ((self.value, "100.0 %"), (self.firm, "0.0500"), (self.dorsal, "000.00 in"),
                            (self.ventral, "000.00 in")):
            field.setFixedWidth(self.fontMetrics().horizontalAdvance(most) + 26)
        for words, field, tip in (
            ("D&orsal fin", self.dorsal, "Length of a dorsal fin. Empty: 0.8 of the fin's root."),
            ("&Ventral fin", self.ventral, "Length of a ventral fin. Empty: as long as the fin's root."),
        ):
            field.setToolTip(plain(tip))
            field.setAccessibleName(f"{words.replace('&', '')}, length")
            field.setPlaceholderText("its length")
            ask.add(_named(words, field), field)
        self._weight_label = _named("&Moves", self.weight)
        self.weight.setToolTip("What is moved for the CG, where the weights give it")
        self.weight.setAccessibleName("Weight that is moved")
        # A weight of a long name shows it whole in the list that opens.
        self.weight.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.weight.setMinimumContentsLength(len(_OF_ITSELF))
        ask.add(self._weight_label, self.weight)
        busy = QHBoxLayout()
        busy.addWidget(self.state, 1)
        busy.addWidget(self.bar)
        busy.addWidget(self.stop_button)
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setFixedSize(120, 8)
        comes_and_goes: tuple[QWidget, ...] = (self.bar, self.stop_button)
        for part in comes_and_goes:
            # The table must not move with them.
            policy = part.sizePolicy()
            policy.setRetainSizeWhenHidden(True)
            part.setSizePolicy(policy)
        self.state.setWordWrap(True)
        for label in (self.words, self.cautions):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._box = ToldBox(self.words, self.cautions, lines=_LINES)
        end = QHBoxLayout()
        end.addWidget(self.near)
        end.addWidget(self.all_the_same)
        end.addStretch(1)
        end.addWidget(self.do_button)
        end.addWidget(self.close_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        layout.addStrut(self._across(_LETTERS))
        for row in (ask, busy):
            layout.addLayout(row)
        layout.addWidget(self.table, 1)
        layout.addWidget(self._box)
        layout.addLayout(end)
        self.resize(_USUAL)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.table.set_theme(theme)
        self._box.set_theme(theme)
        self.cautions.setStyleSheet(f"color: {theme.fault};")
        self.state.setStyleSheet(f"color: {theme.ink_soft};")
        self.bar.setStyleSheet(bar_style(theme))

    # What is asked

    def _units(self) -> DisplayUnits:
        return self.stage.base.display_units

    def _target(self) -> Target:
        return _TARGETS[self.target.currentIndex()]

    def _default(self) -> str:
        if self._target() == "cn_beta":
            return format_number(_CN_BETA, 3)
        return format_fraction(self.stage.base.aim.cla_fraction)

    def _target_changed(self) -> None:
        self.value.setText(self._default())
        self.value.setModified(False)
        self._fill_inputs()
        self.work_out()

    def _fill_inputs(self) -> None:
        """What follows the design: the weights to choose from, the aim while nothing else is typed."""
        design = self.stage.base
        for part in (self._firm_label, self.firm):
            part.setVisible(self._target() == "both")
        by_weights = design.cg_from == "weights"
        self._weight_label.setVisible(by_weights)
        self.weight.setVisible(by_weights)
        chosen = self.weight.currentData()
        self.weight.clear()
        self.weight.addItem(_OF_ITSELF, None)
        for weight in design.weights:
            self.weight.addItem(weight.name, weight.id)
        self.weight.setCurrentIndex(max(0, self.weight.findData(chosen)))
        if not self.value.isModified():
            self.value.setText(self._default())

    def _asked(self) -> Asked:
        """What the fields say. UnitError where one cannot be read."""
        text = self.value.text()
        if self._target() == "cn_beta":
            value = parse_number(text, low=-1.0, high=1.0, what="Cnβ")
        elif self.value.isModified():
            value = parse_fraction(text)
        else:
            # An aim that is shown rounded is meant as it stands in the design.
            value = self.stage.base.aim.cla_fraction
        firm = FIRM_CN_BETA
        if self._target() == "both":
            firm = parse_number(self.firm.text(), low=-1.0, high=1.0, what="Cnβ")
        dorsal, ventral = (
            parse_length(field.text(), self._units()) if field.text().strip() else None
            for field in (self.dorsal, self.ventral)
        )
        return Asked(self.stage.base, self._target(), value, firm, dorsal, ventral, self.weight.currentData())

    def work_out(self) -> None:
        """Have the table worked out for what is asked now, beside the window."""
        self._soon.stop()
        try:
            asked = self._asked()
        except UnitError as error:
            self.worker.cancel()
            self._failed(str(error))
            return
        if (why := self._readout.committed_readings.untold) is not None:
            self.worker.cancel()
            self._failed(f"not yet: {why}")
            return
        row = self._cost()
        self._again = row.way if row is not None else self._again
        self.stage.clear()
        self.table.setEnabled(False)
        self._refresh_button()
        self._busy(True, "Working out the ways…")
        self.worker.start(lambda job: work_out(job, asked))

    def _tried(self, count: object) -> None:
        self.state.setText(f"Working out the ways: {count} designs tried")

    def _busy(self, on: bool, words: str) -> None:
        self.bar.setVisible(on)
        self.stop_button.setVisible(on)
        self.state.setText(words)

    def _forget(self) -> None:
        """No answer stands for what is asked now."""
        self._found = None
        self.stage.clear()
        self.table.setRowCount(0)
        self._say((), ())
        self._refresh_button()

    def _stopped(self) -> None:
        self.worker.cancel()
        self._forget()
        self._busy(False, "Stopped. Change what is asked, or press Return in a field, to work it out.")

    def _failed(self, sentence: str) -> None:
        self._forget()
        self._busy(False, as_sentence(sentence))

    def _worked_out(self, found: object) -> None:
        assert isinstance(found, Found)
        if found.asked.design is not self.stage.base:
            self.work_out()
            return
        self._found = found
        asked = found.asked
        name = NAMES[asked.target]
        there = sum(1 for row in found.rows if row.why is None)
        self._busy(False, f"{there} of {len(found.rows)} ways bring {name} there. Choose one to see it.")
        there_now = bool(self._done_words) and at_target(found)
        if there_now:
            # Ways that would all change nothing are no choice.
            found = self._found = Found(asked, found.present, [])
            self._busy(False, f"{THERE_NOW} Change what is asked, and the ways stand here again.")
        self.table.blockSignals(True)
        self.table.fill(found.present, found.rows, asked.target, asked.design.display_units)
        self.table.setEnabled(True)
        ways = [row.way for row in found.rows]
        if self._again in ways:
            self.table.selectRow(1 + ways.index(self._again))
        else:
            self.table.clearSelection()
        self._again = None
        self.table.blockSignals(False)
        self._chosen()

    # The way that is chosen

    def _cost(self) -> WayCost | None:
        row = self.table.chosen()
        if self._found is None or row is None or not 1 <= row <= len(self._found.rows):
            return None
        return self._found.rows[row - 1]

    def _chosen(self) -> None:
        cost = self._cost()
        self.all_the_same.setChecked(False)
        if cost is None:
            self.stage.clear()
            as_is = ("This is the design as it is.",)
            self._say(as_is if self.table.chosen() == 0 else self._done_words, ())
        elif cost.refit is None:
            self.stage.clear()
            self._say((as_sentence(cost.why or ""),), ())
        else:
            self._done_words = ()
            self.stage.show(undo_name(cost.way), cost.refit.design)
            self._say(self._words_of(cost.refit), cost.refit.cautions)
        self._refresh_button()

    def _tell_anew(self) -> None:
        """The table shows other columns: what it has no room for stands in the words."""
        cost = self._cost()
        if cost is not None and cost.refit is not None:
            self._say(self._words_of(cost.refit), cost.refit.cautions)

    def _words_of(self, found: Refit) -> tuple[str, ...]:
        said = found.answer
        what = f"The answer would be: {said.state_words}." if said.figure else ""
        answers = " ".join(part for part in (what, said.meaning) if part)
        return tuple(part for part in (*found.words, answers, self.table.folded_words()) if part)

    def _say(self, words: tuple[str, ...], cautions: tuple[str, ...]) -> None:
        self.words.setText("\n".join(words))
        self.cautions.setText("\n".join(f"Caution: {caution}" for caution in cautions))
        self.cautions.setVisible(bool(cautions))

    def _refresh_button(self) -> None:
        cost = self._cost() if self.table.isEnabled() else None
        found = cost.refit if cost is not None else None
        moves = found is not None and found.design != self.stage.base
        solved = found is not None and found.solved
        self.near.setEnabled(moves and not solved)
        doubtful = moves and cost is not None and cost.doubtful
        self.all_the_same.setEnabled(doubtful)
        self.do_button.setEnabled(
            moves and (solved or self.near.isChecked()) and (not doubtful or self.all_the_same.isChecked())
        )

    def let_be(self) -> None:
        """No way is chosen; the canvas shows the design as it is."""
        self.table.clearSelection()

    def do_it(self) -> None:
        """The chosen way becomes one entry of undo; the table is worked out anew for what is then."""
        if not self.do_button.isEnabled():
            return
        cost = self._cost()
        if not self.stage.commit():
            return
        self.table.blockSignals(True)
        self.table.clearSelection()
        self.table.blockSignals(False)
        self.near.setChecked(False)
        self.all_the_same.setChecked(False)
        self._again = None
        if cost is not None:
            self._done_words = (f"Done: {undo_name(cost.way)}. Undo takes it back.",)
            self._say(self._done_words, ())
        self._design_changed()

    def _recounted(self, change: Change) -> None:
        """The areas of the same design are known now, or are known no more."""
        if change.origin in ("counted", "recount"):
            self.work_out()

    def _base_changed(self) -> None:
        """Something else was done meanwhile."""
        self._done_words = ()
        self._say((), ())
        self._design_changed()

    def _design_changed(self) -> None:
        self._fill_inputs()
        self.work_out()

    def _leaving(self) -> None:
        self.stage.close()


def _named(words: str, field: QWidget) -> Label:
    label = Label(words)
    label.setBuddy(field)
    return label
