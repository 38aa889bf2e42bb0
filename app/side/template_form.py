"""What is asked of a template: which outlines, what paper, how large, which line."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSettings, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.paper.pages import PAPERS, home_paper
from app.paper.template import (
    LINE_EDGES,
    MARGIN,
    OVERLAP,
    LineEdge,
    TemplateChoice,
    TemplateError,
    parse_scale,
)
from core.bench.bridges import BLANKS, Blank
from core.design import Design, DisplayUnits
from core.kinds import UPRIGHT
from core.units import UnitError, format_typed, parse_length

_ROLL = "roll"
_ROLL_WIDTH = 610.0
_LINES: dict[LineEdge, str] = {
    "outer": "outer: the line stays",
    "inner": "inner: the line goes",
    "middle": "the line’s middle",
}
_WAYS: tuple[tuple[str, bool | None], ...] = (
    ("as takes fewer pages", None), ("portrait", False), ("landscape", True),
)
_TURNS: tuple[tuple[str, float | None], ...] = (
    ("as takes fewer pages", None), ("as drawn", 0.0), ("a quarter", 90.0),
)
_BLANKS: dict[Blank, str] = {
    "needed": "where rows would part",
    "all": "all within the pieces",
    "none": "none",
}


class TemplateForm(QWidget):
    """The fields; ``changed`` comes after every change by hand."""

    changed = Signal()

    def __init__(self, design: Design, selected: Sequence[str]) -> None:
        super().__init__()
        self._units: DisplayUnits = design.display_units
        self._filling = True
        self.outlines = QListWidget()
        self.outlines.setAccessibleName("Outlines on the template")
        self.all_button, self.none_button = QPushButton("&All"), QPushButton("&None")
        self.paper, self.way, self.turn, self.blank, self.line, self.beside = (QComboBox() for _ in range(6))
        for size in PAPERS.values():
            self.paper.addItem(size.name, size.name.lower())
        self.paper.addItem("Roll", _ROLL)
        for words, landscape in _WAYS:
            self.way.addItem(words, landscape)
        for words, turn in _TURNS:
            self.turn.addItem(words, turn)
        for blank in BLANKS:
            self.blank.addItem(_BLANKS[blank], blank)
        for edge in LINE_EDGES:
            self.line.addItem(_LINES[edge], edge)
        self.roll, self.scale, self.overlap, self.margin = (QLineEdit() for _ in range(4))
        self.mirror = QCheckBox("&Mirrored, for the other side")
        self.mirror.setToolTip("The drawing turned over; the words stay readable")
        self._lay_out()
        self._recall()
        self.scale.setText("1:1")
        self.take_up(design, selected)
        self._connect()
        self._filling = False

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 8, 0)
        layout.setSpacing(8)
        head = QHBoxLayout()
        label = Label("&Outlines")
        label.setBuddy(self.outlines)
        head.addWidget(label)
        head.addStretch(1)
        for button in (self.all_button, self.none_button):
            button.setAutoDefault(False)
            head.addWidget(button)
        layout.addLayout(head)
        self.outlines.setMinimumHeight(96)
        self.outlines.setSpacing(2)
        layout.addWidget(self.outlines, 1)
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        rows: tuple[tuple[str, QWidget, str], ...] = (
            ("&Paper", self.paper, "What is in the printer"),
            ("Roll, &width", self.roll, "Width of the roll, in any unit; the page is as long as the drawing"),
            ("&Sheets", self.way, "Which way the sheets lie"),
            ("&Turned", self.turn, "How the drawing is turned on the paper; grain and datum turn along"),
            ("&Blank pages", self.blank, "Which pages with nothing to cut are printed, so that the others "
             "hold together"),
            ("S&cale", self.scale, "1:1 is full size; also 1:2, 0.5 or 50 %"),
            ("O&verlap", self.overlap, "How much neighbouring pages share, in any unit"),
            ("Mar&gin", self.margin, "What the printer cannot reach at the edges of the paper, in any unit"),
            ("True &edge", self.line, "Which edge of the drawn line is the true outline: cut along it"),
            ("&Dashed", self.beside, "A kept state of the design, dashed beneath, so that the change shows"),
        )
        for at, (words, field, tip) in enumerate(rows):
            name = Label(words)
            name.setBuddy(field)
            field.setToolTip(plain(tip))
            field.setAccessibleName(words.replace("&", ""))
            grid.addWidget(name, at, 0)
            grid.addWidget(field, at, 1)
            if isinstance(field, QComboBox):
                field.setMinimumContentsLength(14)
                field.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            if field is self.roll:
                self._roll_label = name
        grid.addWidget(self.mirror, len(rows), 0, 1, 2)
        grid.setColumnStretch(1, 1)
        layout.addLayout(grid)

    def _connect(self) -> None:
        self.outlines.itemChanged.connect(lambda _: self._tell())
        for combo in (self.paper, self.way, self.turn, self.blank, self.line, self.beside):
            combo.activated.connect(lambda _: self._tell())
        for field in (self.roll, self.scale, self.overlap, self.margin):
            field.textEdited.connect(lambda _: self._tell())
        self.mirror.toggled.connect(lambda _: self._tell())
        self.all_button.clicked.connect(lambda: self._tick_all(True))
        self.none_button.clicked.connect(lambda: self._tick_all(False))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setStyleSheet(
            f"QListView {{ border: 1px solid {theme.line}; border-radius: 3px; background: {theme.paper}; }}"
        )

    # What is there to choose from

    def take_up(self, design: Design, selected: Sequence[str] | None = None) -> None:
        """Offer the outlines and alternatives of ``design``; ticks stay, or are set anew by ``selected``."""
        filling, self._filling = self._filling, True
        if selected is None:
            ticked = set(self.ticked())
        else:
            ids = {o.id for o in design.outlines}
            ticked = {o for o in selected if o in ids} or {
                o.id for o in design.outlines if o.kind in UPRIGHT
            } or ids
        now = [(o.id, o.name, o.count) for o in design.outlines]
        if selected is not None or now != self._offered:
            self._offered = now
            self.outlines.clear()
            for outline_id, name, count in now:
                item = QListWidgetItem(f"{name} (cut {count})" if count > 1 else name)
                item.setData(Qt.ItemDataRole.UserRole, outline_id)
                item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
                              | Qt.ItemFlag.ItemIsUserCheckable)
                on = outline_id in ticked
                item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
                # The box of the style sheet is higher than a line of text.
                item.setSizeHint(QSize(0, max(24, self.fontMetrics().height() + 6)))
                self.outlines.addItem(item)
        chosen = self.beside.currentData()
        self.beside.clear()
        self.beside.addItem("nothing", None)
        for kept in design.alternatives:
            self.beside.addItem(kept.label or kept.id, kept.id)
        self.beside.setCurrentIndex(max(0, self.beside.findData(chosen)))
        self.beside.setEnabled(bool(design.alternatives))
        if design.display_units != self._units or not self.overlap.text():
            self._write_lengths(design.display_units)
        self._filling = filling
        self._show_fields()

    _offered: list[tuple[str, str, int]] | None = None

    def _write_lengths(self, units: DisplayUnits) -> None:
        for field, fallback in ((self.roll, _ROLL_WIDTH), (self.overlap, OVERLAP), (self.margin, MARGIN)):
            try:
                value = parse_length(field.text(), self._units) if field.text() else fallback
            except UnitError:
                continue
            field.setText(format_typed(value, units))
        self._units = units

    def _show_fields(self) -> None:
        on_roll = self.paper.currentData() == _ROLL
        self.roll.setVisible(on_roll)
        self._roll_label.setVisible(on_roll)
        self.way.setEnabled(not on_roll)

    def _tell(self) -> None:
        if not self._filling:
            self._show_fields()
            self.changed.emit()

    def _tick_all(self, on: bool) -> None:
        self._filling = True
        for i in range(self.outlines.count()):
            self.outlines.item(i).setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        self._filling = False
        self._tell()

    # What is asked

    def ticked(self) -> tuple[str, ...]:
        """The ids of the outlines that are wanted."""
        items = [self.outlines.item(i) for i in range(self.outlines.count())]
        return tuple(
            str(i.data(Qt.ItemDataRole.UserRole)) for i in items if i.checkState() == Qt.CheckState.Checked
        )

    def choice(self) -> TemplateChoice:
        """All that is asked. UnitError or TemplateError, one sentence, where a field cannot be taken."""
        if not self.outlines.count():
            raise TemplateError("no outline is traced yet: trace one first")
        ticked = self.ticked()
        if not ticked:
            raise TemplateError("no outline is ticked: tick at least one")
        on_roll = self.paper.currentData() == _ROLL
        return TemplateChoice(
            paper=PAPERS["a4" if on_roll else str(self.paper.currentData())],
            outlines=() if len(ticked) == self.outlines.count() else ticked,
            roll=self._length(self.roll, "Width of the roll") if on_roll else None,
            landscape=self.way.currentData(),
            scale=parse_scale(self.scale.text()),
            overlap=self._length(self.overlap, "Overlap"),
            margin=self._length(self.margin, "Margin"),
            mirror=self.mirror.isChecked(),
            beside=self.beside.currentData(),
            line=LINE_EDGES[self.line.currentIndex()],
            turn=self.turn.currentData(),
            blank=BLANKS[self.blank.currentIndex()],
        )

    def _length(self, field: QLineEdit, what: str) -> float:
        try:
            return parse_length(field.text(), self._units)
        except UnitError as error:
            raise UnitError(f"{what}: {error}") from None

    # From one time to the next

    def _recall(self) -> None:
        kept = QSettings()
        paper = str(kept.value("template/paper", home_paper()))
        self.paper.setCurrentIndex(max(0, self.paper.findData(paper)))
        edge = str(kept.value("template/line", "outer"))
        self.line.setCurrentIndex(max(0, self.line.findData(edge)))

    def remember(self) -> None:
        """Keep the paper and the line for the next time."""
        kept = QSettings()
        kept.setValue("template/paper", self.paper.currentData())
        kept.setValue("template/line", self.line.currentData())
