"""The line that stands over the canvas for as long as unsaved work cannot be kept safe."""

from __future__ import annotations

from PySide6.QtCore import Qt

from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme


class UnsafeNote(Label):
    """Hidden while all is well; no gesture takes it away."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setAccessibleName("Unsaved work cannot be kept safe")
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.set_theme(theme)
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setStyleSheet(
            f"background: {theme.panel}; color: {theme.above}; font-weight: bold; padding: 6px 10px; "
            f"border-left: 4px solid {theme.above}; border-bottom: 1px solid {theme.line};"
        )

    def show_trouble(self, sentence: str) -> None:
        """Say this until it has passed; empty when it has."""
        self.setText(as_sentence(sentence))
        self.setVisible(bool(sentence))
