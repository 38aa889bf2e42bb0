"""The folder in which a file is asked for: the design's own, else the one that was used last."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSettings

from app.work.document import Document


def folder_of(document: Document) -> str:
    """Where the dialogues for files begin; empty where nothing is known."""
    if document.path is not None:
        return str(document.path.parent)
    return str(QSettings().value("folder", ""))


def remember_folder_of(path: Path) -> None:
    """``path`` was opened or written: its folder is the one used last."""
    QSettings().setValue("folder", str(path.parent))
