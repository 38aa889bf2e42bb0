"""A line of text that takes what room is left."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain


@errors_told
class OneLine(Label):
    """Ends in an ellipsis where it does not fit; all of it is in the tool tip."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def show_text(self, text: str) -> None:
        """Say this."""
        if self.text() != text:
            self.setText(text)
            self.setToolTip(plain(text))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        painter.setPen(self.palette().windowText().color())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
