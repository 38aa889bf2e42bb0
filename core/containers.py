"""Opening a ZIP container that anybody may have made: how much its directory may take up is bounded.

Python reads the whole directory first and makes an object of every entry: a file of 50 MB can hold a
million of them, which take seconds and half a gigabyte.
"""

from __future__ import annotations

import zipfile
from typing import Any, BinaryIO, cast

MOST_DIRECTORY = 4 * 1024 * 1024
"""Bytes: twice what a design's most scans take with the longest names that they may have."""


class _Bounded:
    """A stream that gives no more at once than a directory may hold, until it is ``opened``."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream, self.opened = stream, False

    def read(self, size: int = -1) -> bytes:
        """As any stream; BadZipFile where that would be too much."""
        # Without a size it looks at the last 64 kB alone, where the directory's place is written.
        if not self.opened and size > MOST_DIRECTORY:
            raise zipfile.BadZipFile("its directory is too big")
        return self._stream.read(size)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def container_in(stream: BinaryIO) -> zipfile.ZipFile:
    """The container that ``stream`` holds. zipfile.BadZipFile, also where its directory is too big."""
    bounded = _Bounded(stream)
    container = zipfile.ZipFile(cast(BinaryIO, bounded))
    bounded.opened = True
    return container
