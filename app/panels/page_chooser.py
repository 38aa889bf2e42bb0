"""Choosing pages of a PDF or a TIFF by their thumbnails."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QIcon, QImage, QPainter, QPalette, QPen, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.kit.plain import Label, plain
from app.scans.pages import Extent, pages_of
from app.scans.thumbnails import Thumbnails
from core.design import DisplayUnits
from core.units import format_length

THUMBNAIL_PX = 148
_CELL_PX = 176
_AHEAD = 12
_LOOK_MS = 60


class PageChooser(QDialog):
    """Shows the pages of one file and is accepted with one or several of them in ``pages``, from 0."""

    def __init__(
        self, parent: QWidget | None, numbers: Sequence[int], thumbnails: Thumbnails, units: DisplayUnits
    ) -> None:
        """``numbers``: the pages to choose from, as ``thumbnails`` counts them."""
        super().__init__(parent)
        self._numbers, self._thumbnails, self._units = list(numbers), thumbnails, units
        name, count = thumbnails.pages.label, len(numbers)
        self.setWindowTitle("Choose pages")
        self.resize(784, 510)
        self.list = QListWidget()
        self.list.setViewMode(QListWidget.ViewMode.IconMode)
        self.list.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.list.setMovement(QListWidget.Movement.Static)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.list.setUniformItemSizes(True)
        self.list.setWordWrap(True)
        self.list.setIconSize(QSize(THUMBNAIL_PX, THUMBNAIL_PX))
        self._cell = QSize(_CELL_PX, THUMBNAIL_PX + 2 * self.list.fontMetrics().lineSpacing() + 16)
        self.list.setGridSize(self._cell)
        self.list.setMinimumSize(self._cell.width() + 40, self._cell.height() + 8)
        self.list.setAccessibleName(f"Pages of {name}")
        for page in range(count):
            item = QListWidgetItem(f"Page {page + 1}\n")
            item.setTextAlignment(Qt.AlignmentFlag.AlignHCenter)
            item.setSizeHint(self._cell - QSize(8, 8))
            self.list.addItem(item)
        self._empty = QIcon(self._sheet(None, "…"))
        for page in range(count):
            self.list.item(page).setIcon(self._empty)
        asks = Label(
            f"“{name}” has {count} pages. Which do you want to trace over?"
        )
        asks.setWordWrap(True)
        hint = Label(
            f"Each page comes in as a scan of its own, {thumbnails.pages.size_words}. Ctrl or Shift and"
            " click: several."
        )
        hint.setWordWrap(True)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.put_in = self.buttons.addButton("Put in page 1", QDialogButtonBox.ButtonRole.AcceptRole)
        self.put_in.setDefault(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(10)
        layout.addWidget(asks)
        layout.addWidget(self.list, 1)
        layout.addWidget(hint)
        layout.addWidget(self.buttons)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.list.itemSelectionChanged.connect(self._selected)
        self.list.itemDoubleClicked.connect(lambda _: self.accept())
        thumbnails.sized.connect(self._sized)
        thumbnails.drawn.connect(self._drawn)
        thumbnails.refused.connect(self._refused)
        # What is in sight comes first; scrolling tells of it many times.
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_LOOK_MS)
        self._soon.timeout.connect(self._want_seen)
        self.list.verticalScrollBar().valueChanged.connect(lambda _: self._soon.start())
        self._soon.start()
        self.list.setCurrentRow(0)
        self.list.setFocus()

    @property
    def pages(self) -> list[int]:
        """The pages chosen, in their order in the file."""
        return [self._numbers[row] for row in self._rows()]

    def _rows(self) -> list[int]:
        return sorted(self.list.row(item) for item in self.list.selectedItems())

    def _selected(self) -> None:
        rows = self._rows()
        self.put_in.setEnabled(bool(rows))
        words = f"Put in page {rows[0] + 1}" if len(rows) == 1 else f"Put in {len(rows)} pages"
        self.put_in.setText(words if rows else "Put in")

    def _want_seen(self) -> None:
        first, last = self._row_at(0), self._row_at(self.list.viewport().height())
        after = range(last + 1, min(last + 1 + _AHEAD, self.list.count()))
        self._thumbnails.want([self._numbers[row] for row in (*range(first, last + 1), *after)])

    def _row_at(self, y: int) -> int:
        """The first row of the line of thumbnails at ``y``, or its last below the middle."""
        line = max(0, (y + self.list.verticalScrollBar().value()) // self._cell.height())
        across = max(1, self.list.viewport().width() // self._cell.width())
        row = line * across + (across - 1 if y else 0)
        return min(row, self.list.count() - 1)

    def _item(self, page: int) -> QListWidgetItem:
        return self.list.item(self._numbers.index(page))

    def _sized(self, page: int, extent: Extent) -> None:
        if extent.in_mm:
            across = format_length(extent.width, self._units, with_unit=self._units != "mm")
            size = f"{across} × {format_length(extent.height, self._units)}"
        else:
            size = f"{extent.width:.0f} × {extent.height:.0f} pixels"
        self._item(page).setText(f"Page {self._numbers.index(page) + 1}\n{size}")

    def _drawn(self, page: int, image: QImage) -> None:
        self._item(page).setIcon(QIcon(self._sheet(image, "")))

    def _refused(self, page: int, sentence: str) -> None:
        item = self._item(page)
        item.setIcon(QIcon(self._sheet(None, "cannot be shown")))
        item.setToolTip(plain(sentence))

    def _sheet(self, image: QImage | None, words: str) -> QPixmap:
        """A sheet of paper with the page on it, or with words."""
        ratio = self.devicePixelRatioF()
        pixmap = QPixmap(QSize(THUMBNAIL_PX, THUMBNAIL_PX) * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        colours, dark = self.palette(), self.palette().base().color().lightness() < 128
        painter = QPainter(pixmap)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        room = float(THUMBNAIL_PX - 8)
        if image is None:
            wide, high = room / 2**0.5, room
        else:
            scale = room / max(image.width(), image.height())
            wide, high = max(4.0, image.width() * scale), max(4.0, image.height() * scale)
        sheet = QRectF(0, 0, wide, high)
        sheet.moveCenter(QPointF(THUMBNAIL_PX / 2, THUMBNAIL_PX / 2))
        if image is None:
            painter.fillRect(sheet, colours.base())
            painter.setPen(QColor(colours.color(QPalette.ColorRole.PlaceholderText)))
            painter.drawText(sheet, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, words)
        else:
            shown = image.copy()
            if dark:
                # As on the canvas: light lines on dark paper.
                shown.invertPixels()
            painter.drawImage(sheet, shown)
        painter.setPen(QPen(colours.color(QPalette.ColorRole.Dark), 1.0))
        painter.drawRect(sheet)
        painter.end()
        return pixmap


class PageChoice(QObject):
    """From the bytes of a PDF or TIFF to the pages wanted: asks only where there is more than one."""

    chosen = Signal(str, object)
    """(name, list of pages from 0)"""
    failed = Signal(str, str)
    """(name, one sentence)"""
    asking = Signal()
    """The dialogue is about to be shown."""
    dropped = Signal(str)
    """(name): Cancel was pressed."""

    def __init__(self, window: QWidget, units: Callable[[], DisplayUnits]) -> None:
        super().__init__(window)
        self._window, self._units = window, units
        self._waiting: list[tuple[str, bytes]] = []
        self._name = ""
        self._thumbnails: Thumbnails | None = None
        self._leaving: list[Thumbnails] = []
        self.dialogue: PageChooser | None = None

    def begin(self, name: str, data: bytes) -> None:
        """See to a file, after those that were begun before it."""
        self._waiting.append((name, data))
        if self._thumbnails is None:
            self._next()

    def drop(self) -> None:
        """Drop everything; nothing more is told."""
        self._waiting.clear()
        self._put_away()

    def stop(self) -> None:
        """Drop everything and wait until no thread is left."""
        self.drop()
        for thumbnails in self._leaving:
            thumbnails.stop()
        self._leaving.clear()

    def _next(self) -> None:
        if not self._waiting:
            return
        self._name, data = self._waiting.pop(0)
        pixels = round(THUMBNAIL_PX * self._window.devicePixelRatioF())
        self._thumbnails = Thumbnails(pages_of(data, self._name), pixels)
        self._thumbnails.counted.connect(self._counted)
        self._thumbnails.failed.connect(self._failed)
        self._thumbnails.start()

    def _counted(self, numbers: tuple[int, ...]) -> None:
        if self._thumbnails is None or self.sender() is not self._thumbnails:
            return
        if len(numbers) == 1:
            self._done(self.chosen, list(numbers))
            return
        self.dialogue = PageChooser(self._window, numbers, self._thumbnails, self._units())
        self.dialogue.accepted.connect(self._accepted)
        self.dialogue.rejected.connect(lambda: self._done(self.dropped))
        self.asking.emit()
        self.dialogue.open()

    def _accepted(self) -> None:
        assert self.dialogue is not None
        self._done(self.chosen, self.dialogue.pages)

    def _failed(self, sentence: str) -> None:
        if self.sender() is self._thumbnails:
            self._done(self.failed, sentence)

    def _done(self, signal: object, *what: object) -> None:
        name = self._name
        self._put_away()
        signal.emit(name, *what)  # type: ignore[attr-defined]
        if self._thumbnails is None:
            self._next()

    def _put_away(self) -> None:
        dialogue, self.dialogue = self.dialogue, None
        thumbnails, self._thumbnails = self._thumbnails, None
        if thumbnails is not None:
            thumbnails.leave_off()
            # Kept until its thread has ended, which nobody waits for here.
            self._leaving = [one for one in self._leaving if not one.is_over] + [thumbnails]
        if dialogue is not None:
            dialogue.blockSignals(True)
            dialogue.close()
            dialogue.deleteLater()
