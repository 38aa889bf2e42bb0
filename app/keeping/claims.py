"""Which window has which design open, so that a second window on the same file says so."""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QLockFile, QStandardPaths

from app.keeping.locks import UnsureError, locked


class Claim:
    """The file that this window works on, marked for other windows of the same person.

    The marks lie in the application's data folder, not beside the file: that may be read-only. A
    mark keeps nobody out: what guards a file against being overwritten is how it looked when it was
    opened (``Document.changed_behind``), which sees other programs and other machines as well.
    """

    def __init__(self, folder: Path | None = None) -> None:
        place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppDataLocation)
        self._folder = folder or Path(place) / "open"
        self._lock: QLockFile | None = None
        self._path: Path | None = None

    def take(self, path: Path) -> bool:
        """Mark ``path`` as open here; whether no other window has it open."""
        if path == self._path and self._lock is not None:
            return True
        self.release()
        self._path = path
        name = hashlib.sha256(os.fsencode(os.path.realpath(path))).hexdigest()
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            return True  # Where nothing can be marked, nothing is known either.
        try:
            lock = locked(self._folder / name)
        except UnsureError:
            return True
        self._lock = lock
        return lock is not None

    def release(self) -> None:
        """Nothing is open here any more."""
        if self._lock is not None:
            with suppress(RuntimeError):
                self._lock.unlock()
        self._lock = self._path = None
