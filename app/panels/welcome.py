"""The empty sheet: three ways to begin, samples, what was open before, and what the program tells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.kit.cautions import CAUTIONS
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme, data_folder
from app.panels.welcome_parts import Entry, Paint, Picture, Sheet
from app.panels.welcome_pictures import paint_card, paint_change, paint_rule
from core.design_file import ENDING, DesignFileError, read

WIDE_PX = 700
MOST_WIDE_PX = 1240
_UNBOUND_PX = (1 << 24) - 1
_LEFT_PX = 286
_MARGIN_PX = 12
_INSET_PX = 26
_GAP_PX = 14
_COLUMN_GAP_PX = 30


@dataclass(frozen=True)
class Sample:
    """A sample design: its file and its title."""

    path: Path
    title: str


def samples(folder: Path) -> list[Sample]:
    """The samples in ``folder`` by title. One that cannot be read is left out."""
    found = []
    for path in sorted(folder.glob(f"*{ENDING}")):
        try:
            found.append(Sample(path, read(path, pictures=False).design.title))
        except DesignFileError:
            continue
    return sorted(found, key=lambda sample: sample.title)


_PICTURES: tuple[tuple[Paint, str, str], ...] = (
    (paint_card, "The CLA: the point at which a card copy would balance.",
     "The side view of an aeroplane cut from card hangs from a pin; the plumb line runs through the CLA."),
    (paint_rule, "How far it lies behind the CG, in per cent of the tail arm.",
     "Under a side view lies a rule from the CG to the fin centre; a pointer marks the CLA beside the aim."),
    (paint_change, "What a change does, while you drag it.",
     "The trailing edge of a fin is pulled out by 12 mm, and the pointer moves into the aim."),
)


def _called(path: Path) -> str:
    return path.stem if path.suffix.lower() == ENDING else path.name


@errors_told
class Welcome(QWidget):
    """Stands in the place of the canvas while the design is empty."""

    scan_wanted = Signal()
    open_wanted = Signal()
    sample_wanted = Signal(str)
    recent_wanted = Signal(str)
    blank_wanted = Signal()

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._looked = False
        self._wide: bool | None = None
        self._entries: list[Entry] = []
        self._soft: list[Label] = []
        self.setAccessibleName("Start")
        self._sheet = Sheet(theme)
        self._left, self._figures = QWidget(), QWidget()
        self._samples, self._samples_box = self._make_list("Look at a sample")
        self._recent, self._recent_box = self._make_list("Opened before")
        left = QVBoxLayout(self._left)
        left.setContentsMargins(0, 0, 0, 0)
        left.setSpacing(10)
        for part in (self._make_start(), self._samples_box, self._recent_box):
            left.addWidget(part)
        left.addStretch(1)
        self._pictures = self._make_figures()
        self._body = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._body.addWidget(self._left)
        self._body.addWidget(self._figures, 1)
        sheet = QVBoxLayout(self._sheet)
        sheet.setContentsMargins(_INSET_PX, _INSET_PX - 4, _INSET_PX + 3, _INSET_PX - 4)
        sheet.setSpacing(_GAP_PX)
        sheet.addLayout(self._body, 1)
        sheet.addWidget(self._label(CAUTIONS[0], soft=True))
        page = QWidget()
        outer = QGridLayout(page)
        outer.setContentsMargins(_MARGIN_PX, _MARGIN_PX, _MARGIN_PX, _MARGIN_PX)
        outer.addWidget(self._sheet, 1, 1)
        for i in (0, 2):
            outer.setRowStretch(i, 1)
            outer.setColumnStretch(i, 1)
        outer.setColumnStretch(1, 1000)
        self._sheet.setMaximumWidth(MOST_WIDE_PX)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self._page = page
        page.setObjectName("page")
        self._scroll.setWidget(page)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._scroll)
        self._samples_box.hide()
        self._recent_box.hide()
        self.set_theme(theme)

    # Making the parts

    def _label(self, text: str, *, soft: bool = False, size: float = 1.0) -> Label:
        label = Label(text)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
        if size != 1.0:
            font = QFont(self.font())
            font.setPointSizeF(font.pointSizeF() * size)
            label.setFont(font)
        if soft:
            self._soft.append(label)
        return label

    def _make_start(self) -> QWidget:
        box = QWidget()
        layout = QVBoxLayout(box)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addWidget(self._label("An empty sheet", size=1.9))
        layout.addWidget(self._label(
            "Trace the side view of a paper plan and see where its side area lies behind the CG.", soft=True
        ))
        layout.addSpacing(4)
        for text, detail, icon_name, signal in (
            ("Open a scan…", "a picture or PDF to trace over", "open-scan", self.scan_wanted),
            ("Draw from nothing", "outlines on the empty sheet", "hand-trace", self.blank_wanted),
            ("Open a design…", "one that you saved before", "open", self.open_wanted),
        ):
            entry = Entry(text, detail, self._theme, icon_name)
            entry.clicked.connect(signal)
            self._entries.append(entry)
            layout.addWidget(entry)
        return box

    def _make_list(self, heading: str) -> tuple[QVBoxLayout, QWidget]:
        box = QWidget()
        layout = QVBoxLayout(box)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(1)
        label = self._label(heading)
        bold = QFont(self.font())
        bold.setBold(True)
        label.setFont(bold)
        layout.addWidget(label)
        return layout, box

    def _make_figures(self) -> list[Picture]:
        layout = QVBoxLayout(self._figures)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        pictures = []
        for i, (paint, caption, description) in enumerate(_PICTURES, 1):
            picture = Picture(paint, f"Picture {i}: {caption}", description, self._theme)
            pictures.append(picture)
            number = self._label(f"{i}")
            bold = QFont(self.font())
            bold.setBold(True)
            number.setFont(bold)
            row = QHBoxLayout()
            row.setSpacing(8)
            row.addWidget(number, 0, Qt.AlignmentFlag.AlignTop)
            row.addWidget(self._label(caption), 1, Qt.AlignmentFlag.AlignTop)
            layout.addWidget(picture)
            layout.addLayout(row)
            if i < len(_PICTURES):
                layout.addSpacing(8)
        layout.addStretch(1)
        return pictures

    # What it shows

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = self._sheet.theme = theme
        self._page.setStyleSheet(f"#page {{ background: {theme.desk}; }}")
        self._sheet.setStyleSheet(f"QLabel {{ color: {theme.ink}; }}")
        for label in self._soft:
            label.setStyleSheet(f"color: {theme.ink_soft};")
        for entry in (*self._entries, *self._rows(self._samples), *self._rows(self._recent)):
            entry.set_theme(theme)
        for picture in self._pictures:
            picture.set_theme(theme)
        self._sheet.update()

    def set_recent(self, paths: Sequence[Path]) -> None:
        """Offer these files, in this order; without any the heading goes too."""
        self._fill(
            self._recent, self._recent_box,
            [(_called(path), str(path.parent), str(path)) for path in paths], self.recent_wanted.emit,
        )

    def look_for_samples(self) -> None:
        """Read the titles of the samples and offer them; done by itself after the sheet is shown."""
        self._looked = True
        found = samples(data_folder("sample_designs"))
        self._fill(
            self._samples, self._samples_box,
            [(sample.title, "", str(sample.path)) for sample in found], self.sample_wanted.emit,
        )

    def _rows(self, layout: QVBoxLayout) -> list[Entry]:
        items = (layout.itemAt(i) for i in range(layout.count()))
        return [w for w in (item.widget() for item in items if item is not None) if isinstance(w, Entry)]

    def _fill(
        self, layout: QVBoxLayout, box: QWidget, rows: Sequence[tuple[str, str, str]],
        wanted: Callable[[str], object],
    ) -> None:
        for old in self._rows(layout):
            layout.removeWidget(old)
            old.hide()
            old.deleteLater()
        for text, detail, path in rows:
            entry = Entry(text, detail, self._theme)
            entry.setToolTip(plain(path if detail else ""))
            entry.clicked.connect(lambda _=False, path=path: wanted(path))
            layout.addWidget(entry)
        box.setVisible(bool(rows))

    # Where it all stands

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(900, 560)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return QSize(320, 240)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: D102
        super().showEvent(event)
        if not self._looked:
            # After the first paint: reading files must not hold the window up.
            self._looked = True
            QTimer.singleShot(0, self, self.look_for_samples)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self._reflow()

    def _reflow(self) -> None:
        wide = self.width() >= WIDE_PX
        if wide != self._wide:
            self._wide = wide
            ways = QBoxLayout.Direction
            self._body.setDirection(ways.LeftToRight if wide else ways.TopToBottom)
            self._body.setSpacing(_COLUMN_GAP_PX if wide else _GAP_PX)
            self._left.setMinimumWidth(_LEFT_PX if wide else 0)
            self._left.setMaximumWidth(_LEFT_PX if wide else _UNBOUND_PX)
        line = self.fontMetrics().lineSpacing()
        if wide:
            room = self.height() - 2 * (_MARGIN_PX + _INSET_PX) - _GAP_PX - line - 3 * (line + 6) - 2 * 16
            height = min(max(room // 3, 112), 236)
        else:
            height = min(max(round(self.width() * 0.3), 116), 190)
        for picture in self._pictures:
            picture.setFixedHeight(height)
