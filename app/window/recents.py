"""The files used last: noted as they are opened and saved, shown on the start page and in the File menu."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QMenu

from app.keeping.recent import note, recent
from app.kit.plain import plain
from app.panels.welcome import Welcome
from app.window.filing import Filing


class Recents:
    """Keeps start page and menu as the settings are."""

    def __init__(self, filing: Filing, welcome: Welcome, menu: QMenu) -> None:
        self._filing, self._welcome, self._menu = filing, welcome, menu
        for told in (filing.opened, filing.saved):
            told.connect(self._used)
        self._fill()

    def _used(self, path: str) -> None:
        note(QSettings(), Path(path))
        self._fill()

    def _fill(self) -> None:
        paths = recent(QSettings())
        self._welcome.set_recent(paths)
        self._menu.clear()
        for path in paths:
            entry = self._menu.addAction(path.name, partial(self._filing.open_path, path))
            entry.setToolTip(plain(str(path)))
        self._menu.setEnabled(bool(paths))
