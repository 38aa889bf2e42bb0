"""The menu under the right button: what can be done to what lies there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from PySide6.QtCore import QPointF
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from app.canvas.canvas import Canvas
from app.canvas.hits import Hit, hit
from app.window.edit_commands import EditCommands
from app.work.desk import Desk
from app.work.selection import Selection


def context_menu(
    desk: Desk, canvas: Canvas, edits: EditCommands, actions: Mapping[str, QAction], at: QPointF
) -> QMenu:
    """The menu for the canvas pixel ``at``; what lies there is selected first."""
    menu = QMenu(canvas)
    found = hit(desk.document.edited, canvas.view, desk.picked.now, at.x(), at.y())
    if found is not None:
        picked = desk.picked.now
        if found.kind == "node" and (found.outline, found.index) not in picked.nodes:
            desk.picked.set(Selection((found.outline,), frozenset({(found.outline, found.index)})))
        elif found.outline not in picked.outlines:
            desk.picked.set(Selection((found.outline,)))
        if found.kind == "edge":
            insert = partial(edits.insert, found.outline, found.index, found.t)
            menu.addAction("Insert node here", insert)
            menu.addAction("Settle this edge on the ink…", partial(_settle_edge, desk, actions, found))
            menu.addSeparator()
        if found.kind == "node":
            for name in ("corner", "smooth"):
                menu.addAction(actions[name])
            menu.addSeparator()
        for name in ("cut", "copy", "duplicate", "mirror", "scale-root", "settle", "lock", "hide", "delete"):
            menu.addAction(actions[name])
    else:
        for name in ("paste", "all", "fit", "full-size"):
            menu.addAction(actions[name])
    return menu


def _settle_edge(desk: Desk, actions: Mapping[str, QAction], found: Hit) -> None:
    desk.picked.set(Selection((found.outline,), edge=(found.outline, found.index)))
    actions["settle"].trigger()
