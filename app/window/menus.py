"""The menus and their keys. Each action names what it calls; none does anything itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from app.kit.field_keys import finish_typing
from app.kit.plain import plain

Call = Callable[[], object]
Keys = QKeySequence.StandardKey | str | tuple[str, ...] | None


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
    in_fields: bool = False
    """It means something to a field too: what is half typed there is left alone."""


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
        # What the entry is called whatever it says it would undo.
        action.setProperty("words", item.words)
        if isinstance(item.keys, str):
            action.setShortcut(QKeySequence(item.keys))
        elif isinstance(item.keys, tuple):
            action.setShortcuts([QKeySequence(keys) for keys in item.keys])
        elif item.keys is not None:
            action.setShortcuts(item.keys)
        if item.tip:
            action.setToolTip(plain(item.tip))
            action.setStatusTip(item.tip)
        def run(_checked: bool = False) -> None:
            if not item.in_fields:
                finish_typing()
            item.call()

        action.triggered.connect(run)
        action.setCheckable(item.ticks)
        if item.group:
            action.setCheckable(True)
            group = self._groups.setdefault(item.group, QActionGroup(self.window))
            group.addAction(action)
        self.actions[item.name] = action
        return action
