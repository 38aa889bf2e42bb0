"""Where the parts of the window sit: hands and lists, the three bands, the answer and the readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QSplitter, QVBoxLayout, QWidget

from app.panels.answer import AnswerPlace

if TYPE_CHECKING:
    from app.window.window import Window


def lay_out(window: Window) -> None:
    """Put the parts of ``window``, which must be there already, into their places."""
    window.tabs.setDocumentMode(True)
    window.tabs.addTab(window.outlines, "Outlines")
    window.tabs.addTab(window.scans, "Scans")
    window.tabs.addTab(window.surfaces, "Wings")
    window.tabs.addTab(window.weights, "Weights")
    window.tabs.addTab(window.kept, "Kept")
    window.tabs.currentChanged.connect(window.tab_changed)
    window.tabs.tabBar().setAccessibleName("Outlines, scans, wings, weights, kept states")
    left = QWidget()
    column = QVBoxLayout(left)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(window.hands)
    column.addWidget(window.tabs, 1)
    left.setMinimumWidth(272)

    bands = QWidget()
    column = QVBoxLayout(bands)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(window.strip)
    column.addWidget(window.canvas, 1)
    column.addWidget(window.arm_rule)
    column.addWidget(window.band_place)
    window.middle.addWidget(window.welcome)
    window.middle.addWidget(bands)

    scroll = QScrollArea()
    scroll.setWidgetResizable(True)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    scroll.setWidget(window.readings)
    scroll.setMinimumHeight(120)
    right = QWidget()
    column = QVBoxLayout(right)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(AnswerPlace(window.answer))
    column.addWidget(scroll, 1)
    right.setMinimumWidth(356)

    split = QSplitter(Qt.Orientation.Horizontal)
    split.setHandleWidth(1)
    split.setChildrenCollapsible(False)
    for part in (left, window.middle, right):
        split.addWidget(part)
    split.setStretchFactor(1, 1)
    split.setSizes([272, 756, 356])
    frame = QWidget()
    row = QHBoxLayout(frame)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(split)
    window.setCentralWidget(frame)
    window.setStatusBar(window.status)
