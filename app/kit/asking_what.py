"""The right button on a part of a window: what is this?"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QMenu, QWidget

from app.kit.help_places import help_of


def ask_what(window: QWidget, at: QPoint, show: Callable[[str], object]) -> None:
    """Offer the help of what lies at a place of ``window``; what has a menu of its own never comes here."""
    place = help_of(window.childAt(at), window)
    menu = QMenu(window)
    menu.addAction("What is this?").triggered.connect(lambda: show(place))
    menu.aboutToHide.connect(menu.deleteLater)
    menu.popup(window.mapToGlobal(at))
