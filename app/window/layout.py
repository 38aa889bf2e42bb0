"""How the parts of the window sit: hands, lists, the three bands, the answer and the readings."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QSplitter, QTabWidget, QVBoxLayout, QWidget

from app.kit.folding import Folding
from app.kit.long_column import LongColumn
from app.panels.answer import AnswerPanel, AnswerPlace

_LEFT = 272
"""px: so wide must the lists at least be, whatever the font."""

_LETTERS = 46
"""So many letters wide is the answer at least: its words and its figures can be read."""


def column(*parts: QWidget, grows: int) -> QWidget:
    """``parts`` one under the other without gaps; the one at index ``grows`` takes the spare height."""
    made = QWidget()
    lines = QVBoxLayout(made)
    lines.setContentsMargins(0, 0, 0, 0)
    lines.setSpacing(0)
    for index, part in enumerate(parts):
        lines.addWidget(part, int(index == grows))
    return made


def left_column(tabs: QTabWidget) -> Folding:
    """The lists."""
    tabs.setDocumentMode(True)
    tabs.tabBar().setAccessibleName("Outlines, scans, wings, weights, kept states")
    tabs.setMinimumWidth(_LEFT)
    return Folding(tabs, "Outlines, scans, wings, weights, kept states", "left")


def right_column(answer: AnswerPanel, readings: QWidget) -> Folding:
    """The answer over the readings, which scroll."""
    scroll = LongColumn(readings)
    scroll.setMinimumHeight(120)
    scroll.setAccessibleName("Readings")
    right = column(AnswerPlace(answer), scroll, grows=1)
    right.setMinimumWidth(_LETTERS * right.fontMetrics().averageCharWidth())
    return Folding(right, "The answer and the readings", "right")


def side_by_side(hands: QWidget, left: QWidget, middle: QWidget, right: QWidget) -> tuple[QWidget, QSplitter]:
    """The hands, beside them the three with borders to drag; the middle takes what is left."""
    split = QSplitter(Qt.Orientation.Horizontal)
    split.setHandleWidth(1)
    split.setChildrenCollapsible(False)
    for part in (left, middle, right):
        split.addWidget(part)
    split.setStretchFactor(1, 1)
    frame = QWidget()
    row = QHBoxLayout(frame)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(0)
    row.addWidget(hands)
    row.addWidget(split, 1)
    return frame, split
