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


def sheet_folder_of(document: Document) -> str:
    """Where a sheet is asked to go: the folder that took the last one, else as ``folder_of``."""
    last = str(QSettings().value("sheet folder", ""))
    return last if last and Path(last).is_dir() else folder_of(document)


def remember_sheet_folder_of(path: Path) -> None:
    """A sheet was written to ``path``."""
    QSettings().setValue("sheet folder", str(path.absolute().parent))


def folder_words(path: Path) -> str:
    """The folder of a file as it is said: "~/planes/sheets"."""
    folder = path.absolute().parent
    try:
        inside = folder.relative_to(Path.home())
    except (ValueError, RuntimeError):
        return str(folder)
    return "~" if inside == Path() else f"~/{inside.as_posix()}"


def remember_folder_of(path: Path) -> None:
    """``path`` was opened or written: its folder is the one used last."""
    QSettings().setValue("folder", str(path.parent))
