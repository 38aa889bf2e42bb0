"""A column that scrolls up and down, and is never narrower than what stands in it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from app.kit.overrides import errors_told


@errors_told
class LongColumn(QScrollArea):
    """Takes ``content`` as wide as it must be, beside the scroll bar."""

    def __init__(self, content: QWidget) -> None:
        super().__init__()
        self._content = content
        self.setWidget(content)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        content.installEventFilter(self)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        least = super().minimumSizeHint()
        wide = self._content.minimumSizeHint().width() + self.verticalScrollBar().sizeHint().width()
        return QSize(max(least.width(), wide), least.height())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        # What follows its content's size is the base's.
        return super().eventFilter(watched, event)
