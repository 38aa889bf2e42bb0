"""Buttons of the panels: an icon, or a few words, with a tip that is their name as well."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QToolButton

from app.kit.plain import plain


def icon_button(tip: str, action: Callable[[], object]) -> QToolButton:
    """A button that does ``action``; its icon comes with the colours, from whoever has it."""
    button = QToolButton()
    button.setToolTip(plain(tip))
    button.setAccessibleName(tip)
    button.setIconSize(QSize(20, 20))
    button.clicked.connect(action)
    return button
