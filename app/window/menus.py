"""The menus and their keys. Each action names what it calls; none does anything itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

Call = Callable[[], object]
Keys = QKeySequence.StandardKey | str | None


@dataclass(frozen=True)
class Item:
    """One entry of a menu: its key name, words, what it calls, its keys; ``group``: one of several is ticked;
    ``ticks``: it is ticked by itself.
    """

    name: str
    words: str
    call: Call
    keys: Keys = None
    group: str = ""
    tip: str = ""
    ticks: bool = False


class Menus:
    """Builds the menu bar and keeps the actions by name."""

    def __init__(self, window: QMainWindow) -> None:
        self.window = window
        self.actions: dict[str, QAction] = {}
        self.recent = QMenu(window)
        self._groups: dict[str, QActionGroup] = {}

    def add(self, title: str, items: tuple[Item | None, ...]) -> QMenu:
        """One menu; None is a line between entries."""
        menu = self.window.menuBar().addMenu(title)
        for item in items:
            if item is None:
                menu.addSeparator()
            else:
                menu.addAction(self.action(item))
        return menu

    def within(self, menu: QMenu, title: str, before: str, items: tuple[Item, ...] = ()) -> QMenu:
        """A menu inside ``menu``, over its entry ``before``."""
        made = QMenu(title, self.window)
        for item in items:
            made.addAction(self.action(item))
        menu.insertMenu(self.actions[before], made)
        return made

    def action(self, item: Item) -> QAction:
        """The action of one entry, reachable by its keys."""
        action = QAction(item.words, self.window)
        if isinstance(item.keys, str):
            action.setShortcut(QKeySequence(item.keys))
        elif item.keys is not None:
            action.setShortcuts(item.keys)
        if item.tip:
            action.setToolTip(item.tip)
            action.setStatusTip(item.tip)
        action.triggered.connect(lambda _checked=False: item.call())
        action.setCheckable(item.ticks)
        if item.group:
            action.setCheckable(True)
            group = self._groups.setdefault(item.group, QActionGroup(self.window))
            group.addAction(action)
        self.actions[item.name] = action
        return action
