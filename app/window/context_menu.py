"""The menu under the right button: what can be done to what lies there."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QMenu

from app.canvas.hits import hit
from app.work.selection import Selection

if TYPE_CHECKING:
    from app.window.window import Window


def context_menu(window: Window, at: QPointF) -> QMenu:
    """The menu for the canvas pixel ``at``; what lies there is selected first."""
    canvas, actions = window.canvas, window.menus.actions
    menu = QMenu(window)
    found = hit(window.document.edited, canvas.view, window.picked.now, at.x(), at.y())
    if found is not None:
        picked = window.picked.now
        if found.kind == "node" and (found.outline, found.index) not in picked.nodes:
            window.picked.set(Selection((found.outline,), frozenset({(found.outline, found.index)})))
        elif found.outline not in picked.outlines:
            window.picked.set(Selection((found.outline,)))
        if found.kind == "edge":
            insert = partial(window.edits.insert, found.outline, found.index, found.t)
            menu.addAction("Insert node here", insert)
            menu.addSeparator()
        if found.kind == "node":
            for name in ("corner", "smooth"):
                menu.addAction(actions[name])
            menu.addSeparator()
        for name in ("cut", "copy", "duplicate", "mirror", "scale-root", "lock", "hide", "delete"):
            menu.addAction(actions[name])
    else:
        for name in ("paste", "all", "fit", "full-size"):
            menu.addAction(actions[name])
    return menu
