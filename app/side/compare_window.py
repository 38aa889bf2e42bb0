"""The present design and the kept states side by side, reading by reading."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QGuiApplication, QKeySequence, QPainter, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QMenu,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
)

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.state_sign import draw_state
from app.kit.theme import Theme
from app.panels.reading_group import origin
from app.side.beside import Beside
from app.side.side_window import SideWindow
from app.work.document import Change
from app.work.readout import readings_of
from core.design import STATE, Alternative, Design
from core.geometry.memo import IdentityMemo
from core.redesign.alternatives import state_of
from core.stability.answer import answer
from core.stability.catalogue import GROUPS, TERMS
from core.stability.readings import Reading, Readings, ReadingsEngine, Verdict
from core.stability.wording import instead, shown
from core.units import MISSING

ROWS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("The answer", ("cla_fraction", "cla_fraction_error")),
    *((group.title, group.readings) for group in GROUPS),
)
NOTHING_KEPT = (
    "Nothing is kept yet to compare with. Choose “Keep this state…” in the list of kept states, change the "
    "design, and the two stand here side by side."
)
VERDICT = Qt.ItemDataRole.UserRole
_PAUSE_MS, _SAID_MS = 120, 2500
_AT_FIRST = 3
_LONGEST = 22
Index = QModelIndex | QPersistentModelIndex


@errors_told
class CompareModel(QAbstractTableModel):
    """A row a reading, under headings; the present design, then two columns a kept state."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.rows: list[str | None] = []
        self.titles: list[str] = []
        for title, keys in ROWS:
            self.rows += [None, *keys]
            self.titles += [title, *(TERMS[key].label for key in keys)]
        self.design: Design | None = None
        self.now: Readings | None = None
        self.states: list[tuple[str, Readings]] = []

    def take(self, design: Design, now: Readings, states: list[tuple[str, Readings]]) -> None:
        """Show these; the columns are only made anew when there are others."""
        anew = [name for name, _ in states] != [name for name, _ in self.states] or self.now is None
        if anew:
            self.beginResetModel()
        self.design, self.now, self.states = design, now, states
        if anew:
            self.endResetModel()
        else:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() or self.now is None else 1 + 2 * len(self.states)

    def headerData(  # noqa: D102
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.TextAlignmentRole:
                return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            if role == Qt.ItemDataRole.DisplayRole:
                if section == 0:
                    return "Now"
                name = _short(self.states[(section - 1) // 2][0])
                return name if section % 2 else f"{name} less Now"
            if role == Qt.ItemDataRole.ToolTipRole and section:
                name = self.states[(section - 1) // 2][0]
                return plain(name if section % 2 else f"“{name}” less the present design")
            return None
        heading = self.rows[section] is None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.titles[section] if heading else f"   {self.titles[section]}"
        if role == Qt.ItemDataRole.FontRole:
            font = QFont()
            font.setBold(heading)
            return font
        if role == Qt.ItemDataRole.ToolTipRole and not heading and self.now is not None:
            return plain(origin(self.now[self.rows[section] or ""]))
        return None

    def reading(self, index: Index) -> Reading | None:
        """The reading in that cell; None in headings and differences."""
        key, column = self.rows[index.row()], index.column()
        if key is None or self.now is None or (column and column % 2 == 0):
            return None
        return self.now[key] if column == 0 else self.states[(column - 1) // 2][1][key]

    def text(self, index: Index) -> str:
        """What stands in a cell."""
        key, column = self.rows[index.row()], index.column()
        if self.now is None or self.design is None or (key is None and index.row()):
            return ""
        if key is None:
            # The first heading is the answer itself, of each state.
            if column and column % 2 == 0:
                return ""
            readings = self.states[(column - 1) // 2][1] if column else self.now
            return answer(readings.aeroplane.design, readings).short
        units = self.design.display_units
        reading = self.reading(index)
        if reading is not None:
            if reading.value is None:
                return instead(reading) or MISSING
            return shown(reading.spec, reading.value, units)
        here, there = self.now.value(key), self.states[(column - 1) // 2][1].value(key)
        if here is None or there is None:
            return ""
        spec = TERMS[key]
        # What is the same to the last place that is shown needs no row of noughts.
        if shown(spec, there, units) == shown(spec, here, units):
            return "="
        text = shown(spec, there - here, units, signed=True)
        # Rounded apart, with less than a last place between them.
        return "≈ 0" if text == shown(spec, 0.0, units, signed=True) else text

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:  # noqa: D102
        if not index.isValid():
            return None
        reading = self.reading(index)
        if role == Qt.ItemDataRole.DisplayRole:
            return self.text(index)
        if role == VERDICT:
            return reading.verdict if reading else None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            words = f", {reading.verdict} the range" if reading and reading.verdict else ""
            return f"{self.titles[index.row()]}: {self.text(index)}{words}"
        if role == Qt.ItemDataRole.ToolTipRole and reading is not None:
            return plain(origin(reading))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.ForegroundRole and index.column() and index.column() % 2 == 0:
            same = self.text(index) == "="
            return QBrush(QColor(self.theme.ink_soft if same else self.theme.change))
        if role == Qt.ItemDataRole.BackgroundRole and self.rows[index.row()] is None:
            return QBrush(QColor(self.theme.desk))
        return None

    def as_text(self) -> str:
        """The table with tabs between the columns, for a letter or a spreadsheet."""
        heads = ["Reading", "Now"]
        for name, _ in self.states:
            heads += [name, f"{name} less Now"]
        lines = ["\t".join(heads)]
        for row, title in enumerate(self.titles):
            if self.rows[row] is None and row:
                lines.append(title)
                continue
            cells = [title]
            for column in range(self.columnCount()):
                index = self.index(row, column)
                reading = self.reading(index)
                verdict = f" ({reading.verdict})" if reading and reading.verdict else ""
                cells.append(self.text(index) + verdict)
            lines.append("\t".join(cells))
        return "\n".join(lines) + "\n"


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST else f"{name[:_LONGEST - 1].rstrip()}…"


@errors_told
class _Cell(QStyledItemDelegate):
    """A figure with its verdict's shape before it."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        """No frame about the cell that has the focus: nothing is chosen or changed here."""
        super().initStyleOption(option, index)
        option.state &= ~QStyle.StateFlag.State_HasFocus

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Room for the shape too."""
        size = super().sizeHint(option, index)
        return QSize(size.width() + 24, size.height())

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """The figure, then the shape."""
        super().paint(painter, option, index)
        verdict: Verdict | None = index.data(VERDICT)
        if verdict is None:
            return
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        size = 0.62 * option.fontMetrics.height()
        wide = option.fontMetrics.horizontalAdvance(str(index.data()))
        right = option.rect.right() - wide - 12
        box = QRectF(right - size, option.rect.center().y() - size / 2 + 0.5, size, size)
        draw_state(painter, box, verdict, self.theme.verdict(verdict))
        painter.restore()


class CompareWindow(SideWindow):
    """Stays open beside the window and follows the design when the hand pauses."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Kept states side by side")
        self._engine = ReadingsEngine()
        self._read: IdentityMemo[Readings] = IdentityMemo(64)
        self._hidden: set[str] = set()
        self._met: set[str] = set()
        self.words = Label()
        self.words.setWordWrap(True)
        self.columns_button = QPushButton("Columns")
        self.columns_button.setToolTip("Which kept states are shown")
        self.menu = QMenu(self)
        self.columns_button.setMenu(self.menu)
        self.copy_button = QPushButton("Copy as text")
        self.copy_button.setToolTip("The table with tabs between its columns, for a letter or a spreadsheet")
        self.copy_button.clicked.connect(self.copy)
        self.model = CompareModel(beside.theme)
        self._cell = _Cell(beside.theme)
        self.table = QTableView()
        self.table.setModel(self.model)
        self.table.setItemDelegate(self._cell)
        self.table.setAccessibleName("Readings of the kept states beside the present design")
        self.table.setShowGrid(False)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.table.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        across, down = self.table.horizontalHeader(), self.table.verticalHeader()
        across.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        across.setHighlightSections(False)
        down.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        down.setHighlightSections(False)
        down.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        down.setDefaultSectionSize(self.fontMetrics().height() + 6)
        self.table.setMinimumHeight(7 * down.defaultSectionSize() + 20)
        buttons = QHBoxLayout()
        buttons.addWidget(self.columns_button)
        buttons.addWidget(self.copy_button)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(8)
        layout.addStrut(self._across(56))
        layout.addWidget(self.words)
        layout.addWidget(self.table, 1)
        layout.addLayout(buttons)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self, self.copy)
        self._soon = self._timer(_PAUSE_MS, self.refresh)
        self._said = self._timer(_SAID_MS, self._explain)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.refresh()
        self.resize(self._wanted_width(), 640)

    def _changed(self, change: Change) -> None:
        if change.what == "file" and change.name in ("opened", "recovered"):
            self._hidden.clear()
            self._met.clear()
        if change.what != "proposal":
            self._soon.start()
        self.refresh(withheld_alone=True)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.model.theme = self._cell.theme = theme
        self.table.setStyleSheet(
            f"QTableView {{ background: {theme.paper}; color: {theme.ink}; border: 1px solid {theme.line}; }}"
            f"QHeaderView, QTableCornerButton::section {{ background: {theme.panel}; border: none; }}"
            f"QHeaderView::section {{ background: {theme.panel}; color: {theme.ink}; border: none;"
            f" padding: 2px 6px; }}"
            f"QHeaderView::section:horizontal {{ border-bottom: 1px solid {theme.line}; }}"
        )
        self.table.viewport().update()

    @property
    def shown(self) -> tuple[Alternative, ...]:
        """The kept states that have a column."""
        return tuple(a for a in self._document.committed.alternatives if a.id not in self._hidden)

    def show_column(self, alternative_id: str, show: bool) -> None:
        """Give a kept state its column, or take it away."""
        (self._hidden.discard if show else self._hidden.add)(alternative_id)
        self.refresh()

    def refresh(self, *, withheld_alone: bool = False) -> None:
        """Show the design and what is kept as they are; ``withheld_alone``: only where that is nothing."""
        now = self._readout.edited_readings
        if now.untold is None and withheld_alone:
            return
        self._soon.stop()
        self._take(self._document.edited, now)

    def _take(self, design: Design, now: Readings) -> None:
        for kept in design.alternatives:
            if kept.id not in self._met:
                self._met.add(kept.id)
                if len(design.alternatives) - len(self._hidden) > _AT_FIRST and self.model.now is None:
                    self._hidden.add(kept.id)
        self._fill_menu(design)
        columns = (self.model.now is None, [name for name, _ in self.model.states])
        self.model.take(design, now, [
            (kept.label, self._readings(design, kept, now.scale_known)) for kept in self.shown
        ])
        if columns != (False, [name for name, _ in self.model.states]):
            self._fit_columns()
        self.columns_button.setEnabled(bool(design.alternatives))
        self._explain()

    def _explain(self) -> None:
        self.words.setText(
            "The design as it is now, and the states kept of it. Beside each, its difference: what it reads "
            "less what the design reads now; = where there is none to be seen."
            if self._document.committed.alternatives else NOTHING_KEPT
        )

    def _readings(self, design: Design, kept: Alternative, known: bool) -> Readings:
        return self._read.get(
            (*(getattr(kept, field) for field in STATE), design.scans, design.sure),
            lambda: readings_of(self._engine, state_of(design, kept.id)), extra=known,
        )

    def _fill_menu(self, design: Design) -> None:
        self.menu.clear()
        for kept in design.alternatives:
            action = self.menu.addAction(kept.label.replace("&", "&&"))
            action.setCheckable(True)
            action.setChecked(kept.id not in self._hidden)
            action.toggled.connect(lambda show, key=kept.id: self.show_column(key, show))

    def _fit_columns(self) -> None:
        self.table.resizeColumnsToContents()
        across, metrics = self.table.horizontalHeader(), self.fontMetrics()
        least = metrics.horizontalAdvance("− 0000.0 mm") + 16
        for column in range(self.model.columnCount()):
            across.resizeSection(column, max(least, min(across.sectionSize(column), 220)))

    def _wanted_width(self) -> int:
        across, down = self.table.horizontalHeader(), self.table.verticalHeader()
        return max(560, min(across.length() + down.sizeHint().width() + 60, 1100))

    def copy(self) -> None:
        """The table to the clipboard as text."""
        # A gesture under way is seen here, but does not leave the program.
        self._document.settle()
        self._take(self._document.committed, self._readout.committed_readings)
        QGuiApplication.clipboard().setText(self.model.as_text())
        self.words.setText("Copied: paste it into a letter or a spreadsheet.")
        self._said.start()
