"""The decoded pictures of a design's scans, by file name, opened beside the window."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QObject, Signal

from app.scans.loader import ScanLoader
from app.scans.picture import Picture
from core.design import Design
from core.redesign.scan_edits import Size


class Shelf(QObject):
    """Keeps what has been opened; pictures that no scan names any more are let go."""

    changed = Signal()
    progress = Signal(str, float)
    failed = Signal(str, str)
    """(file name, one sentence)"""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.pictures: dict[str, Picture] = {}
        self.refused: dict[str, str] = {}
        self._asked: dict[str, bytes] = {}
        self._loader = ScanLoader(self)
        self._loader.preview.connect(self._ready_soon)
        self._loader.ready.connect(self._ready)
        self._loader.failed.connect(self._failed)
        self._loader.progress.connect(self.progress)

    def sync(self, design: Design, held: Mapping[str, bytes]) -> None:
        """Open what the design's scans name and is not here yet; let go of the rest."""
        wanted = {scan.file: scan for scan in design.scans}
        for name in [n for n in self._asked if n not in wanted or held.get(n) is not self._asked[n]]:
            self._loader.cancel(name)
            del self._asked[name]
            self.pictures.pop(name, None)
            self.refused.pop(name, None)
        for name, scan in wanted.items():
            if name in self._asked or name not in held:
                continue
            self._asked[name] = held[name]
            if name not in self.pictures:
                self._loader.start(name, held[name], name, scan.page)

    def put(self, name: str, data: bytes, picture: Picture) -> None:
        """A picture that was opened elsewhere, so that it is not opened twice."""
        self.pictures[name], self._asked[name] = picture, data
        self.changed.emit()

    def sizes(self, design: Design) -> dict[str, Size]:
        """Width and height in pixels by scan id, of those that are open."""
        return {
            scan.id: (float(self.pictures[scan.file].width), float(self.pictures[scan.file].height))
            for scan in design.scans if scan.file in self.pictures
        }

    def stop(self) -> None:
        """Let all threads end; call it before the program does."""
        self._loader.stop()

    def _ready_soon(self, name: str, picture: Picture) -> None:
        if name in self._asked:
            self.pictures[name] = picture
            self.changed.emit()

    def _ready(self, name: str, picture: Picture) -> None:
        self._ready_soon(name, picture)
        self.progress.emit(name, 1.0)

    def _failed(self, name: str, sentence: str) -> None:
        self.refused[name] = sentence
        self.progress.emit(name, 1.0)
        self.failed.emit(name, sentence)
