"""Asking under which name a file is written: it is settled first, and then asked whether to replace.

A file dialogue of the system asks about the name as it was typed, before it has its ending; so its
question is left out, and ours comes after. (macOS asks all the same: twice is better than never.)
"""

from __future__ import annotations

import re
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from app.kit.fault_box import fault_box
from app.kit.plain import Box
from core.file_names import FileNameError, named, taken

_ENDING = re.compile(r"\*(\.\w+)")


def ask_name(window: QWidget, caption: str, start: Path, kinds: str) -> tuple[Path, str] | None:
    """Where to write, and as which of ``kinds``, which ";;" parts; None where it is called off.

    What is returned has its ending, and replaces nothing but what the answer allowed: a file of the
    same kind. Begins with ``start``; after a name that will not do, the dialogue comes back.
    """
    chosen = ""
    while True:
        name, chosen = QFileDialog.getSaveFileName(
            window, caption, str(start), kinds, chosen, QFileDialog.Option.DontConfirmOverwrite
        )
        if not name:
            return None
        try:
            path = named(_of_the_kind(Path(name), chosen, kinds), _endings(chosen, kinds))
            there = taken(path)
        except FileNameError as error:
            fault_box(window, f"“{Path(name).name}” was not written", [str(error)])
            continue
        if not there or _may_replace(window, path):
            return path, chosen
        start = path


def _endings(chosen: str, kinds: str) -> tuple[str, ...]:
    """All endings that are offered, that of the chosen kind first."""
    return tuple(dict.fromkeys(_ENDING.findall(chosen) + _ENDING.findall(kinds)))


def _of_the_kind(path: Path, chosen: str, kinds: str) -> Path:
    """The ending offered at first gives way to the kind that was chosen instead of the first."""
    own = _ENDING.findall(chosen)
    if chosen in ("", kinds.split(";;")[0]) or path.suffix.lower() in own:
        return path
    return path.with_suffix("") if path.suffix.lower() in _ENDING.findall(kinds) else path


def _may_replace(window: QWidget, path: Path) -> bool:
    box = Box(
        window, Box.Icon.Warning, f"“{path.name}” is there already: replace it?",
        "What is in it now is lost.",
    )
    replace = box.addButton("&Replace it", Box.ButtonRole.DestructiveRole)
    other = box.addButton("&Choose another name…", Box.ButtonRole.RejectRole)
    box.setDefaultButton(other)
    box.setEscapeButton(other)
    box.exec()
    chosen = box.clickedButton() is replace
    box.deleteLater()
    return chosen
