"""The box in which a window beside the window says what would be done."""

from __future__ import annotations

from PySide6.QtWidgets import QFrame, QVBoxLayout

from app.kit.plain import Label
from app.kit.theme import Theme


class ToldBox(QFrame):
    """Words one under the other, on the colour of paper."""

    def __init__(self, *words: Label, lines: int) -> None:
        """``lines``: as high as so many at least, so that buttons beneath stay under the mouse."""
        super().__init__()
        self.setObjectName("told")
        told = QVBoxLayout(self)
        told.setContentsMargins(12, 10, 12, 10)
        told.setSpacing(6)
        for part in words:
            told.addWidget(part)
        told.addStretch(1)
        self.setMinimumHeight(self.fontMetrics().lineSpacing() * lines)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setStyleSheet(
            f"#told {{ background: {theme.paper}; border: 1px solid {theme.line}; border-radius: 4px; }}"
        )
