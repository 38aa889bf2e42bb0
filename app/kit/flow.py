"""Rows that break where they are too long: what stands side by side while there is room, and below else."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QLayout, QLayoutItem, QWidget

from app.kit.overrides import errors_told


@errors_told
class Flow(QLayout):
    """From left to right, then on the next row; what is stretched takes what its row leaves over."""

    def __init__(self, across: int = 14, down: int = 6) -> None:
        """``across`` and ``down`` are px between two of a row, and between two rows."""
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._stretched: list[QLayoutItem] = []
        self._across, self._down = across, down
        self.setContentsMargins(0, 0, 0, 0)

    def add(self, *parts: QWidget, stretch: bool = False) -> None:
        """Put ``parts`` in, which are never parted: a label and its field, say."""
        pair = QHBoxLayout()
        pair.setContentsMargins(0, 0, 0, 0)
        pair.setSpacing(6)
        for at, part in enumerate(parts):
            pair.addWidget(part, 1 if stretch and at == len(parts) - 1 else 0)
        if stretch:
            self._stretched.append(pair)
        self.addChildLayout(pair)
        self.addItem(pair)

    def addItem(self, item: QLayoutItem) -> None:  # noqa: D102
        self._items.append(item)
        self.invalidate()

    def count(self) -> int:  # noqa: D102
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:  # noqa: D102
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:  # noqa: D102
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:  # noqa: D102
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:  # noqa: D102
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: D102
        return self._laid(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, rect: QRect) -> None:  # noqa: D102
        super().setGeometry(rect)
        self._laid(rect, move=True)

    def minimumSize(self) -> QSize:  # noqa: D102
        least = QSize()
        for item in self._shown():
            least = least.expandedTo(item.minimumSize())
        return least

    def sizeHint(self) -> QSize:
        """All in one row."""
        items = self._shown()
        wide = sum(item.sizeHint().width() for item in items) + self._across * max(0, len(items) - 1)
        return QSize(wide, max((item.sizeHint().height() for item in items), default=0))

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _laid(self, rect: QRect, *, move: bool) -> int:
        """How high all rows are, in ``rect``'s width; ``move``: put them there, too."""
        rows: list[list[QLayoutItem]] = []
        used = 0
        for item in self._shown():
            wide = item.sizeHint().width()
            if not rows or used + self._across + wide > rect.width():
                rows.append([])
                used = wide
            else:
                used += self._across + wide
            rows[-1].append(item)
        y = rect.y()
        for row in rows:
            high = max(item.sizeHint().height() for item in row)
            spare = rect.width() - sum(i.sizeHint().width() for i in row) - self._across * (len(row) - 1)
            x = rect.x()
            for item in row:
                wide = item.sizeHint().width() + min(0, spare)
                if spare > 0 and item in self._stretched:
                    wide, spare = wide + spare, 0
                if move:
                    item.setGeometry(QRect(QPoint(x, y), QSize(wide, high)))
                x += wide + self._across
            y += high + self._down
        return max(0, y - self._down - rect.y())
