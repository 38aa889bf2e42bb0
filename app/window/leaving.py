"""What is asked before a design is given up."""

from __future__ import annotations

from typing import Literal

from PySide6.QtWidgets import QWidget

from app.kit.plain import Box
from app.kit.sentences import as_sentence
from app.work.document import Document
from app.work.half_trace import HalfTrace

Way = Literal["go", "save", "stay"]


def asked(window: QWidget, document: Document, unsafe: str) -> Way:
    """Ask what to do with unsaved work, if there is any; ``unsafe`` says why it cannot be kept safe, or "".

    What could be put into the design of what is half drawn is in it already; the rest is named.
    """
    trace = document.trace
    if trace is not None and not trace.worth_asking:
        trace = None
    if document.dirty:
        return _about_changes(window, document.name, trace, unsafe)
    return "go" if trace is None else _about_trace(window, trace)


def _about_changes(window: QWidget, name: str, trace: HalfTrace | None, unsafe: str) -> Way:
    words = ["Save them before going on?"]
    if trace is not None:
        words.append(f"What is not finished, {trace.words}, cannot be saved and is given up.")
    if unsafe:
        words.append(as_sentence(unsafe))
    box = Box(window, Box.Icon.Question, f"“{name}” has changes that are not saved.", " ".join(words))
    save, discard, cancel = (
        Box.StandardButton.Save, Box.StandardButton.Discard,
        Box.StandardButton.Cancel,
    )
    box.setStandardButtons(save | discard | cancel)
    box.setDefaultButton(save)
    chosen = box.exec()
    box.deleteLater()
    return "save" if chosen == save else "go" if chosen == discard else "stay"


def _about_trace(window: QWidget, trace: HalfTrace) -> Way:
    box = Box(
        window, Box.Icon.Question, f"What is half drawn, {trace.words}, is not finished.",
        "It cannot be closed as it stands, and going on gives it up.",
    )
    give_up = box.addButton("Give it up", Box.ButtonRole.DestructiveRole)
    box.addButton(Box.StandardButton.Cancel)
    box.exec()
    box.deleteLater()
    return "go" if box.clickedButton() is give_up else "stay"
