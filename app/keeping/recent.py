"""The files that were opened last, kept in the settings."""

from __future__ import annotations

import os
from pathlib import Path

from PySide6.QtCore import QSettings

MOST = 8
_KEY = "recent"


def recent(settings: QSettings) -> list[Path]:
    """The last files opened that are still there, newest first, at most eight."""
    return [path for path in _kept(settings) if _is_there(path)]


def note(settings: QSettings, path: Path) -> None:
    """Put ``path`` first; what was there before moves down, and the ninth falls off."""
    # Not resolved: a link is what the builder chose.
    first = Path(os.path.abspath(path))  # noqa: PTH100
    others = [old for old in _kept(settings) if _same(old) != _same(first)]
    settings.remove(_KEY)
    settings.beginWriteArray(_KEY)
    for i, kept in enumerate([first, *others][:MOST]):
        settings.setArrayIndex(i)
        settings.setValue("path", str(kept))
    settings.endArray()


def _kept(settings: QSettings) -> list[Path]:
    paths = []
    for i in range(min(settings.beginReadArray(_KEY), MOST)):
        settings.setArrayIndex(i)
        value = settings.value("path")
        if isinstance(value, str) and value:
            paths.append(Path(value))
    settings.endArray()
    return paths


def _same(path: Path) -> str:
    return os.path.normcase(path)


def _is_there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False
