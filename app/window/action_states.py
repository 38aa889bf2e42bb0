"""Which menu entries can be used now, which are ticked, and what undo and redo are called."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from PySide6.QtGui import QAction

from app.canvas.canvas import Canvas
from app.window.room import NAMES, Room
from app.work.document import Document
from app.work.selection import Selection
from core.design import LeftOut

Actions = Mapping[str, QAction]


def show_undo(actions: Actions, document: Document, canvas: Canvas) -> None:
    """Undo and redo by the name of what they would take back or do again; grey where there is nothing.

    What a hand has half done is taken back first.
    """
    hand = canvas.hand
    back = "the change of hand" if canvas.half_drawn.is_next else document.undo_name
    for name, what, can in (
        ("undo", back, hand.undoable or document.busy),
        ("redo", document.redo_name, hand.redoable),
    ):
        words = f"&{name.capitalize()} {what}" if what else f"&{name.capitalize()}"
        if actions[name].text() != words:
            actions[name].setText(words)
        actions[name].setEnabled(can or bool(what))


def show_states(
    actions: Actions, document: Document, canvas: Canvas, picked: Selection, room: Room, theme: str
) -> None:
    """All others; ``theme`` is the one that was chosen: "system", "day" or "night"."""
    design = document.committed
    actions["revert"].setEnabled(document.path is not None and document.dirty)
    for name in ("cut", "copy", "duplicate", "delete", "scale-root", "mirror", "lock", "hide"):
        actions[name].setEnabled(bool(picked.outlines))
    for name in ("corner", "smooth"):
        actions[name].setEnabled(bool(picked.nodes))
    for what in get_args(LeftOut):
        actions[f"no-{what}"].setChecked(what in design.left_out)
    for name in NAMES:
        actions[f"room-{name}"].setChecked(room.is_open(name))
    actions["confirm"].setEnabled(bool(design.guessed))
    actions[design.display_units].setChecked(True)
    actions[f"theme-{theme}"].setChecked(True)
    if (hand := actions.get(f"hand-{canvas.hand.name}")) is not None:
        hand.setChecked(True)
    quarter = design.aim.fin_centre == "quarter_chord"
    actions["arm-quarter" if quarter else "arm-centroid"].setChecked(True)
