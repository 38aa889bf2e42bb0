"""The colours of the window: the system's light, or day or night by choice, kept in the settings."""

from __future__ import annotations

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QWidget

from app.kit.theme import DAY, NIGHT, Theme, palette_of, style_sheet, theme_of

_KEY = "theme"


class Dressing:
    """Which colours are worn; ``choice`` is "system", "day" or "night"."""

    def __init__(self, application: QApplication, window: QWidget) -> None:
        self._application, self._window = application, window
        self.choice = "system"
        self._take(str(QSettings().value(_KEY, "system")))
        self.theme = self._chosen()

    def choose(self, choice: str) -> None:
        """From now on, and at the next start; ``changed`` puts it on."""
        self._take(choice)
        QSettings().setValue(_KEY, self.choice)

    def changed(self) -> bool:
        """True if other colours are due, which the window then wears."""
        theme = self._chosen()
        if theme is self.theme:
            return False
        self.theme = theme
        self.put_on()
        return True

    def _take(self, choice: str) -> None:
        self.choice = choice if choice in ("day", "night") else "system"

    def _chosen(self) -> Theme:
        if self.choice == "system":
            return theme_of(self._application)
        return DAY if self.choice == "day" else NIGHT

    def put_on(self) -> None:
        """Have program and window wear them."""
        self._application.setPalette(palette_of(self.theme))
        self._window.setStyleSheet(style_sheet(self.theme))
