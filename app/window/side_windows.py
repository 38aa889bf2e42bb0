"""The windows beside the window: each is made when first asked for, and there once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any

from PySide6.QtGui import QAction

from app.kit.help_places import FIRST_PLACE, SIDE_WINDOWS, set_help
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.side_window import SideWindow

EVERYWHERE = (
    "open", "save", "save-as", "quit", "plug", "refit", "sheet", "print", "setting-up", "template", "parts",
    "keys",
)
"""Menu entries whose keys work in a window beside the window too."""


class SideWindows:
    """Opens them, keeps them in the window's colours, and closes them with it."""

    def __init__(
        self, beside: Callable[[], Beside], actions: Callable[[], Mapping[str, QAction]]
    ) -> None:
        """``beside`` tells what one is made from now, ``actions`` are the menus' entries."""
        self._beside, self._actions = beside, actions
        self._open: dict[str, SideWindow] = {}

    def show(self, name: str) -> SideWindow:
        """The side window of that name, on the screen and in front.

        "setting-up" is ``SettingUpWindow`` in ``app/side/setting_up_window.py``, and so on.
        """
        found = self._open.get(name)
        if found is None:
            # Imported when asked for: most of them bring the plot library along.
            module = import_module(f"app.side.{name.replace('-', '_')}_window")
            make: type[Any] = getattr(module, f"{name.title().replace('-', '')}Window")
            found = make(self._beside())
            set_help(found, SIDE_WINDOWS.get(name, FIRST_PLACE))
            self._open[name] = found
            found.destroyed.connect(lambda: self._open.pop(name, None))
            actions = self._actions()
            found.addActions([actions[name] for name in EVERYWHERE])
            found.stand(name)
        found.show()
        found.raise_()
        return found

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        for dialog in self._open.values():
            dialog.set_theme(theme)

    def close(self) -> None:
        """Close all of them."""
        for dialog in tuple(self._open.values()):
            dialog.close()
