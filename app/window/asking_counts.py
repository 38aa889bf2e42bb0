"""What another program dropped from a drawing that was written here: asked for before it comes in."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainter, QPalette, QPixmap, QPolygonF
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QPushButton,
    QScrollArea,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app.kit.count_box import CountBox
from app.kit.plain import Label
from core.design import MOST_COUNT, Outline
from core.exchange.closed import Imported
from core.geometry.ring import flatten, ring_of
from core.kinds import KINDS, Kind

_TALLEST = 360
_WIDE, _HIGH, _EDGE = 132, 40, 3


class CountsDialogue(QDialog):
    """A line for each outline without a count: its name, what it is, and how often it comes.

    Nothing is taken for once: it can be brought in when every line is answered.
    """

    def __init__(self, window: QWidget, name: str, found: Imported) -> None:
        super().__init__(window)
        self.setWindowTitle("Import outlines")
        asked = [outline for outline in found.outlines if outline.id in found.uncounted]
        words = Label(
            f"{name} was written by Sternpost, and another program has since dropped what these outlines "
            "are and how often each comes. A surface counted once that comes twice moves the answer."
        )
        words.setWordWrap(True)
        inside = QWidget()
        grid = QGridLayout(inside)
        for column, head in enumerate(("", "Outline", "What it is", "Comes")):
            grid.addWidget(Label(head), 0, column)
        self._sketch = _Sketch(self, found.outlines)
        self.counts: dict[str, QSpinBox] = {}
        self.kinds: dict[str, QComboBox] = {}
        for row, outline in enumerate(asked, 1):
            self._line(grid, row, outline)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(len(asked) + 1, 1)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setWidget(inside)
        scroll.setMinimumWidth(inside.sizeHint().width() + 40)
        scroll.setMinimumHeight(min(inside.sizeHint().height() + 8, _TALLEST))
        self.rest_button = QPushButton("The &rest comes once")
        self.rest_button.setToolTip("Every line that still says ? is set to 1.")
        self.rest_button.clicked.connect(self._rest_once)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.take_button = buttons.addButton("&Bring in", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.addButton(self.rest_button, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column_of = QVBoxLayout(self)
        for part in (words, scroll, buttons):
            column_of.addWidget(part)
        self._refresh()

    def _line(self, grid: QGridLayout, row: int, outline: Outline) -> None:
        kind, count = QComboBox(), CountBox()
        kind.addItems(list(KINDS))
        kind.setCurrentText(outline.kind)
        kind.setAccessibleName(f"What {outline.name} is")
        count.setRange(0, MOST_COUNT)
        count.setSpecialValueText("?")
        count.setSuffix(" ×")
        count.setAccessibleName(f"How often {outline.name} comes")
        count.valueChanged.connect(self._refresh)
        picture = Label()
        picture.setPixmap(self._sketch.of(outline))
        picture.setAccessibleName(f"Where {outline.name} lies")
        for column, part in enumerate((picture, Label(outline.name[:60]), kind, count)):
            grid.addWidget(part, row, column)
        self.kinds[outline.id], self.counts[outline.id] = kind, count

    def _refresh(self) -> None:
        whole = all(count.value() for count in self.counts.values())
        self.take_button.setEnabled(whole)
        self.rest_button.setEnabled(not whole)

    def _rest_once(self) -> None:
        for count in self.counts.values():
            count.setValue(count.value() or 1)

    def answers(self) -> dict[str, tuple[Kind, int]]:
        """What was said of each outline, by its id."""
        named = {kind: kind for kind in KINDS}
        return {
            each: (named[self.kinds[each].currentText()], count.value())  # type: ignore[index]
            for each, count in self.counts.items()
        }


class _Sketch:
    """The drawing, small, with one outline of it filled: a name alone may say nothing."""

    def __init__(self, window: QWidget, outlines: Sequence[Outline]) -> None:
        self._forms = {outline.id: flatten(ring_of(outline.nodes)) for outline in outlines}
        every = list(self._forms.values())
        self._low = [min(float(form[:, i].min()) for form in every) for i in (0, 1)]
        high = [max(float(form[:, i].max()) for form in every) for i in (0, 1)]
        self._scale = min(
            (room - 2 * _EDGE) / max(top - low, 1e-6)
            for room, low, top in zip((_WIDE, _HIGH), self._low, high, strict=True)
        )
        self._ratio = window.devicePixelRatioF()
        palette = window.palette()
        self._line = palette.color(QPalette.ColorRole.PlaceholderText)
        self._fill = palette.color(QPalette.ColorRole.Highlight)
        self._all = QPixmap(round(_WIDE * self._ratio), round(_HIGH * self._ratio))
        self._all.setDevicePixelRatio(self._ratio)
        self._all.fill(palette.color(QPalette.ColorRole.Base))
        with QPainter(self._all) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(self._line)
            for form_id in self._forms:
                painter.drawPolygon(self._polygon(form_id))

    def of(self, outline: Outline) -> QPixmap:
        """The picture with that one filled."""
        picture = QPixmap(self._all)
        with QPainter(picture) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(self._fill)
            painter.setBrush(self._fill)
            painter.drawPolygon(self._polygon(outline.id))
        return picture

    def _polygon(self, outline_id: str) -> QPolygonF:
        left, low = self._low
        return QPolygonF([
            QPointF(_EDGE + (x - left) * self._scale, _HIGH - _EDGE - (z - low) * self._scale)
            for x, z in self._forms[outline_id].tolist()
        ])
