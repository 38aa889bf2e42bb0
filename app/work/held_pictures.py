"""The files of a design's scans, and of those that undo may bring back: the latter on disk, not in memory."""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import IO

from core.design import Design

MOST_IDLE_BYTES = 32_000_000
"""Of scans that the design does not name, so much stays in memory; what went first goes to disk first."""


class HeldPictures(dict[str, bytes]):
    """By name the bytes of each scan's file. What ``rest`` puts on disk is not in the mapping meanwhile.

    The file on disk has no name and ends with the process, however that ends. Where there is no room
    for it the bytes stay in memory.
    """

    def __init__(self, pictures: Mapping[str, bytes] | None = None) -> None:
        super().__init__(pictures or {})
        self._aside: dict[str, tuple[int, int]] = {}
        self._file: IO[bytes] | None = None

    @property
    def names(self) -> frozenset[str]:
        """All that are held, in memory or on disk."""
        return frozenset((*self, *self._aside))

    def free_name(self, wanted: str, named: Iterable[str]) -> str:
        """``wanted``, or a name made from it that no picture bears, nor one of the ``named``."""
        stem, dot, ending = wanted.rpartition(".")
        if not dot:
            stem, ending = wanted, ""
        stem = "".join(c if c.isalnum() or c in "-_ ()" else "-" for c in stem)[:80].strip() or "scan"
        ending = "".join(c for c in ending if c.isalnum())[:10]
        dot = "." if ending else ""
        # A scan whose picture is missing still holds its name: another picture must not slip in under it.
        taken = {"design.json", *self.names, *named}
        name, number = f"{stem}{dot}{ending}", 2
        while name in taken:
            name = f"{stem}-{number}{dot}{ending}"
            number += 1
        return name

    def rest(self, design: Design) -> None:
        """Have in memory what ``design`` names, and little else."""
        if not self._aside and len(self) <= len(design.scans):
            return
        wanted = dict.fromkeys(scan.file for scan in design.scans)
        for name in wanted:
            if name not in self and name in self._aside:
                with suppress(OSError):
                    self[name] = self._read(*self._aside[name])
        idle = [name for name in self if name not in wanted]
        over = sum(len(self[name]) for name in idle) - MOST_IDLE_BYTES
        for name in idle:
            if over <= 0:
                return
            over -= len(self[name])
            if not self._put_aside(name):
                return

    def keep_only(self, names: Iterable[str]) -> None:
        """Let go of all others: no undo brings them back."""
        kept = set(names)
        for name in [name for name in self if name not in kept]:
            del self[name]
        self._aside = {name: place for name, place in self._aside.items() if name in kept}
        if not self._aside:
            self.let_go()

    def let_go(self) -> None:
        """Give the room on disk back."""
        self._aside.clear()
        if self._file is not None:
            self._file.close()
            self._file = None

    def _put_aside(self, name: str) -> bool:
        data = self[name]
        # A name stands for the same bytes as long as undo knows it: what lies there is still right.
        if name not in self._aside:
            try:
                if self._file is None:
                    # Unbuffered: what does not go in is told here, not when it is closed.
                    self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115
                    weakref.finalize(self, self._file.close)
                start = self._file.seek(0, 2)
                view = memoryview(data)
                while view:
                    view = view[self._file.write(view):]
            except OSError:
                return False
            self._aside[name] = (start, len(data))
        del self[name]
        return True

    def _read(self, start: int, length: int) -> bytes:
        if self._file is None:
            raise OSError("nothing was put aside")
        self._file.seek(start)
        parts: list[bytes] = []
        while length > 0:
            part = self._file.read(length)
            if not part:
                raise OSError("what was put aside is gone")
            parts.append(part)
            length -= len(part)
        return b"".join(parts)
