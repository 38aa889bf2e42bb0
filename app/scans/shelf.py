"""The decoded pictures of a design's scans, opened beside the window, within a budget of memory."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import NamedTuple

from msgspec.structs import replace
from PySide6.QtCore import QObject, Qt, Signal

from app.scans.loader import ScanLoader
from app.scans.lying_sheet import FoundSheet
from app.scans.pdf_detail import stop_pdf
from app.scans.picture import Picture, without_finest
from app.scans.tone import AS_IT_IS
from core.design import Design, Scan, Tone
from core.scan_map import Size

BUDGET_BYTES = 400_000_000
"""Most memory that the kept pictures hold together, in bytes; what is being decoded comes on top."""
_COARSE_BYTES = 6_000_000
"""A picture of no more than this is not made coarser: nothing would be won."""


class Key(NamedTuple):
    """What a picture is of: two scans may show other pages of one file, or one page in two tones."""

    file: str
    page: int
    tone: Tone


def key_of(scan: Scan) -> Key:
    """What the scan shows."""
    return Key(scan.file, scan.page, scan.tone)


class Shelf(QObject):
    """Keeps what has been opened; pictures that no scan names any more are let go.

    Together the pictures hold no more than BUDGET_BYTES, however many scans there are: beyond it
    those that were looked at longest ago, or from too far to need it, lose their finest level
    (``Picture.shrunk`` grows), and are opened anew once they are looked at closely and there is room.
    While a picture in a new tone is worked out, the one in the old tone stands in for it.
    """

    changed = Signal()
    _sharper = Signal()
    progress = Signal(str, float)
    failed = Signal(str, str)
    """(file name, one sentence)"""
    guest_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.pictures: dict[Key, Picture] = {}
        self.guest: tuple[Scan, Picture] | None = None
        """A scan that is still being opened and no part of the design, with what is seen of it by now."""
        self.refused: dict[str, str] = {}
        """By file name, why it cannot be shown: one sentence."""
        self._asked: dict[Key, bytes] = {}
        self._whole_bytes: dict[Key, int] = {}
        self._looks: dict[Key, tuple[int, float]] = {}
        """When each was last drawn, counted in looks, and how many of its pixels made one of the screen's."""
        self._look = 0
        self._wanted: set[Key] = set()
        self._scans: tuple[Scan, ...] = ()
        self._standing_in: dict[str, Key] = {}
        """By scan id, what was shown of it last."""
        # A sharp part of a PDF page is told in the thread that drew it.
        self._sharper.connect(self.changed, Qt.ConnectionType.QueuedConnection)
        self._loader = ScanLoader(self)
        self._loader.preview.connect(self._ready_soon)
        self._loader.ready.connect(self._ready)
        self._loader.failed.connect(self._failed)
        self._loader.progress.connect(lambda key, done: self.progress.emit(key.file, done))

    def sync(self, design: Design, held: Mapping[str, bytes]) -> None:
        """Open what the design's scans name and is not here yet; let go of the rest."""
        self._wanted = wanted = {key_of(scan) for scan in design.scans}
        self._note_what_stands()
        self._scans = design.scans
        self._note_what_stands()
        kept = set(wanted)
        for scan in design.scans:
            # The old tone is shown until the new one is there.
            old, new = self._standing_in.get(scan.id), key_of(scan)
            if old is not None and new not in self.pictures and old[:2] == new[:2] and new.file in held:
                kept.add(old)
        for key in [k for k in self._asked if k not in kept or held.get(k.file) is not self._asked[k]]:
            self._let_go(key)
        for key in wanted:
            if key in self._asked or key.file not in held:
                continue
            self._asked[key] = held[key.file]
            if key not in self.pictures:
                self._start(key)
        here = {scan.id for scan in design.scans}
        self._standing_in = {name: key for name, key in self._standing_in.items() if name in here}

    def put(self, name: str, data: bytes, picture: Picture, page: int = 0) -> None:
        """A picture that was opened elsewhere, as it is, so that it is not opened twice."""
        key = Key(name, page, AS_IT_IS)
        self.guest = None
        self._loader.cancel(key)
        self._asked[key] = data
        self._take(key, picture)
        self.changed.emit()

    def show_guest(self, scan: Scan, picture: Picture) -> None:
        """Have a scan seen that is still being opened, and may yet fail."""
        self.guest = (scan, picture)
        self.guest_changed.emit()
        self.changed.emit()

    def drop_guest(self) -> None:
        """It came to nothing."""
        if self.guest is not None:
            self.guest = None
            self.guest_changed.emit()
            self.changed.emit()

    def with_guest(self, design: Design) -> Design:
        """What is to be seen: the design, and beneath it the scan that is being opened."""
        return design if self.guest is None else replace(design, scans=(self.guest[0], *design.scans))

    def picture_of(self, scan: Scan) -> Picture | None:
        """The scan's picture, in its old tone while the new one is worked out; None while there is none."""
        if self.guest is not None and scan is self.guest[0]:
            return self.guest[1]
        found = self.pictures.get(key_of(scan))
        if found is None and scan.id in self._standing_in:
            old = self._standing_in[scan.id]
            return self.pictures.get(old) if old[:2] == key_of(scan)[:2] else None
        return found

    def is_in_old_tone(self, scan: Scan) -> bool:
        """Whether what is shown of the scan is still to change with its tone."""
        return key_of(scan) not in self.pictures and self.picture_of(scan) is not None

    def sizes(self, design: Design) -> dict[str, Size]:
        """Width and height in pixels by scan id, of those that are open."""
        found = ((scan.id, self.picture_of(scan)) for scan in design.scans)
        return {name: (float(p.width), float(p.height)) for name, p in found if p is not None}

    def sheet_of(self, design: Design, scan_id: str) -> FoundSheet | None:
        """The corners of the sheet that was found in a photograph."""
        scan = next((s for s in design.scans if s.id == scan_id), None)
        picture = None if scan is None else self.picture_of(scan)
        return None if picture is None else picture.sheet

    def looked_at(self, scan: Scan, source_per_device: float) -> None:
        """The scan was drawn with so many source pixels to one of the screen's, infinite for unseen."""
        if self.guest is not None and scan is self.guest[0]:
            return
        key = key_of(scan)
        self._look += 1
        self._looks[key] = (self._look, source_per_device)
        picture = self.pictures.get(key)
        if picture is None or not self._is_wanted_sharper(key, picture) or self._loader.is_loading(key):
            return
        others = [k for k in self.pictures if k != key and not self._is_close(k)]
        room = BUDGET_BYTES - self.memory_bytes + picture.memory_bytes
        held = [self.pictures[k] for k in others]
        room += sum(p.memory_bytes - without_finest(p).memory_bytes for p in held)
        if self._whole_bytes[key] <= room and key in self._asked:
            self._start(key)

    @property
    def memory_bytes(self) -> int:
        """What the pictures hold together."""
        return sum(picture.memory_bytes for picture in self.pictures.values())

    def stop(self) -> None:
        """Let all threads, and the process that reads PDFs, end; call it before the program does."""
        self._loader.stop()
        stop_pdf()

    def _start(self, key: Key) -> None:
        self._loader.start(key, self._asked[key], key.file, key.page, key.tone)

    def _note_what_stands(self) -> None:
        self._standing_in.update({s.id: key_of(s) for s in self._scans if key_of(s) in self.pictures})

    def _let_go(self, key: Key) -> None:
        self._loader.cancel(key)
        for held in (self._asked, self.pictures, self._whole_bytes, self._looks):
            held.pop(key, None)
        if not any(other.file == key.file for other in self._asked):
            self.refused.pop(key.file, None)

    def _is_close(self, key: Key) -> bool:
        """Whether the last look needed the finest level, and was not much longer ago than the others."""
        look, source_per_device = self._looks.get(key, (0, float("inf")))
        return source_per_device < 2 and self._look - look <= 2 * len(self.pictures)

    def _is_wanted_sharper(self, key: Key, picture: Picture) -> bool:
        was_whole = self._whole_bytes.get(key, 0) > picture.memory_bytes
        return was_whole and self._looks[key][1] < picture.finest

    def _tell_sharper(self) -> None:
        # The window may have gone meanwhile: nobody is left to be told.
        with suppress(RuntimeError):
            self._sharper.emit()

    def _take(self, key: Key, picture: Picture) -> None:
        if picture.detail is not None:
            picture.detail.listen(self._tell_sharper)
        self.pictures[key] = picture
        self._whole_bytes[key] = max(picture.memory_bytes, self._whole_bytes.get(key, 0))
        self._keep_within_budget(key)

    def _keep_within_budget(self, newest: Key) -> None:
        """Drop finest levels: first of what is not looked at closely, longest ago first; the newest last."""
        while self.memory_bytes > BUDGET_BYTES:
            rich = [k for k, p in self.pictures.items() if p.memory_bytes > _COARSE_BYTES]
            if not rich:
                return
            rich.sort(key=lambda k: (k == newest, self._is_close(k), self._looks.get(k, (0, 0.0))[0]))
            self.pictures[rich[0]] = without_finest(self.pictures[rich[0]])

    def _ready_soon(self, key: Key, picture: Picture) -> None:
        held = self.pictures.get(key)
        # A coarse first picture is no news where a better one stands already.
        if key in self._asked and (held is None or picture.finest <= held.finest):
            self.pictures[key] = picture
            self.changed.emit()

    def _ready(self, key: Key, picture: Picture) -> None:
        if key in self._asked:
            self._take(key, picture)
            self._note_what_stands()
            for old in [k for k in self._asked if k not in self._wanted and k[:2] == key[:2]]:
                if old not in self._standing_in.values():
                    self._let_go(old)
            self.changed.emit()
        self.progress.emit(key.file, 1.0)

    def _failed(self, key: Key, sentence: str) -> None:
        self.refused[key.file] = sentence
        self.progress.emit(key.file, 1.0)
        self.failed.emit(key.file, sentence)
