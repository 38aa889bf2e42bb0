"""The pages of a sheet as pictures, and the place in its window where they are looked at."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.kit.worker import Job
from app.paper.pages import Sheet
from core.redesign.refit import CancelledError

_PX_PER_MM = 6
_MOST_PAGES = 12


def pictures(sheet: Sheet, stop: Callable[[], None]) -> list[QImage]:
    """Each page as a picture, in any thread; ``stop`` is called between two and may raise.

    Only the first dozen: what is more is on paper as well, but not looked at page by page.
    """
    made = []
    for paint in sheet.pages(sheet.width, sheet.height)[:_MOST_PAGES]:
        stop()
        image = QImage(
            round(sheet.width * _PX_PER_MM), round(sheet.height * _PX_PER_MM), QImage.Format.Format_RGB32
        )
        image.fill(0xFFFFFFFF)
        image.setDotsPerMeterX(1000 * _PX_PER_MM)
        image.setDotsPerMeterY(1000 * _PX_PER_MM)
        painter = QPainter(image)
        try:
            paint(painter, QRectF(0, 0, sheet.width, sheet.height))
        finally:
            painter.end()
        made.append(image)
    return made


def painted(sheet: Sheet, job: Job) -> list[QImage]:
    """The same, in the worker's thread; ``CancelledError`` when the job is gone."""

    def stop() -> None:
        if job.gone():
            raise CancelledError

    return pictures(sheet, stop)


@errors_told
class _Paper(QWidget):
    """One sheet, as large as there is room."""

    def __init__(self) -> None:
        super().__init__()
        self.image: QImage | None = None
        self.words = ""
        self.desk, self.line, self.ink = QColor(), QColor(), QColor()
        self.turn: Callable[[int], None] = lambda by: None
        self._fitted: QImage | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(180)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("The sheet as it will be")

    def show_image(self, image: QImage | None, words: str) -> None:
        """A sheet, or in its place some words."""
        self.image, self.words, self._fitted = image, words, None
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.desk)
        if self.image is None:
            painter.setPen(self.ink)
            inner = self.rect().adjusted(30, 20, -30, -20)
            painter.drawText(inner, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self.words)
            return
        room = QRectF(self.rect()).adjusted(8, 8, -8, -8)
        size = self.image.size().toSizeF().scaled(room.size(), Qt.AspectRatioMode.KeepAspectRatio)
        dots = self.devicePixelRatioF()
        wanted = (size * dots).toSize()
        if self._fitted is None or self._fitted.size() != wanted:
            self._fitted = self.image.scaled(
                wanted, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
            )
        place = QRectF(
            room.center().x() - size.width() / 2, room.center().y() - size.height() / 2, size.width(),
            size.height(),
        )
        painter.drawImage(place, self._fitted)
        painter.setPen(self.line)
        painter.drawRect(place)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        by = {Qt.Key.Key_PageDown: 1, Qt.Key.Key_Right: 1, Qt.Key.Key_PageUp: -1, Qt.Key.Key_Left: -1}.get(
            Qt.Key(event.key())
        )
        if by is None:
            super().keyPressEvent(event)
        else:
            self.turn(by)


class SheetPreview(QWidget):
    """A sheet and, where there are more, buttons to turn to the others."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.pages: list[QImage] = []
        self.at = 0
        self.paper = _Paper()
        self.paper.turn = self.turn
        self._where = Label()
        self._turning = QWidget()
        row = QHBoxLayout(self._turning)
        row.setContentsMargins(0, 4, 0, 0)
        self.back, self.on = QToolButton(), QToolButton()
        row.addStretch(1)
        for button, arrow, by, name in (
            (self.back, Qt.ArrowType.LeftArrow, -1, "Sheet before"), (self.on, Qt.ArrowType.RightArrow, 1,
                                                                      "Next sheet"),
        ):
            button.setArrowType(arrow)
            button.setAccessibleName(name)
            button.setToolTip(plain(name))
            button.clicked.connect(lambda _checked=False, n=by: self.turn(n))
        row.addWidget(self.back)
        row.addWidget(self._where)
        row.addWidget(self.on)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.paper, 1)
        layout.addWidget(self._turning)
        self._turning.hide()
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours; the paper stays white."""
        self.paper.desk, self.paper.line = QColor(theme.desk), QColor(theme.line)
        self.paper.ink = QColor(theme.ink)
        self.paper.update()

    def show_pages(self, pages: list[QImage]) -> None:
        """The sheets, as painted."""
        self.pages = pages
        self.at = min(self.at, len(pages) - 1)
        self.turn(0)

    def say(self, words: str) -> None:
        """Words in place of a sheet."""
        self.pages, self.at = [], 0
        self._turning.hide()
        self.paper.show_image(None, words)

    def turn(self, by: int) -> None:
        """So many sheets on."""
        if not self.pages:
            return
        self.at = min(max(self.at + by, 0), len(self.pages) - 1)
        self._turning.setVisible(len(self.pages) > 1)
        self._where.setText(f"sheet {self.at + 1} of {len(self.pages)}")
        self.back.setEnabled(self.at > 0)
        self.on.setEnabled(self.at < len(self.pages) - 1)
        self.paper.show_image(self.pages[self.at], "")
