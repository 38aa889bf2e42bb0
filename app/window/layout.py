"""How the parts of the window sit: hands and lists, the three bands, the answer and the readings."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QSplitter, QTabWidget, QVBoxLayout, QWidget

from app.panels.answer import AnswerPanel, AnswerPlace

_LEFT, _MIDDLE, _RIGHT = 272, 756, 356


def column(*parts: QWidget, grows: int) -> QWidget:
    """``parts`` one under the other without gaps; the one at index ``grows`` takes the spare height."""
    made = QWidget()
    lines = QVBoxLayout(made)
    lines.setContentsMargins(0, 0, 0, 0)
    lines.setSpacing(0)
    for index, part in enumerate(parts):
        lines.addWidget(part, int(index == grows))
    return made


def left_column(hands: QWidget, tabs: QTabWidget) -> QWidget:
    """The hands over the lists."""
    tabs.setDocumentMode(True)
    tabs.tabBar().setAccessibleName("Outlines, scans, wings, weights, kept states")
    left = column(hands, tabs, grows=1)
    left.setMinimumWidth(_LEFT)
    return left


def right_column(answer: AnswerPanel, readings: QWidget) -> QWidget:
    """The answer over the readings, which scroll."""
    scroll = QScrollArea()
    scroll.setWidgetResizable(True)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    scroll.setWidget(readings)
    scroll.setMinimumHeight(120)
    right = column(AnswerPlace(answer), scroll, grows=1)
    right.setMinimumWidth(_RIGHT)
    return right


def side_by_side(left: QWidget, middle: QWidget, right: QWidget) -> QWidget:
    """The three with borders that can be dragged; the middle one takes the spare width."""
    split = QSplitter(Qt.Orientation.Horizontal)
    split.setHandleWidth(1)
    split.setChildrenCollapsible(False)
    for part in (left, middle, right):
        split.addWidget(part)
    split.setStretchFactor(1, 1)
    split.setSizes([_LEFT, _MIDDLE, _RIGHT])
    frame = QWidget()
    row = QHBoxLayout(frame)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(split)
    return frame
