"""What a file looked like, so that a change behind the window's back is noticed. No Qt."""

from __future__ import annotations

import os
from pathlib import Path

import msgspec


class Stamp(msgspec.Struct, frozen=True):
    """A file and what it looked like; ``path`` as the system's own bytes, which need not be UTF-8."""

    path: bytes
    mtime_ns: int | None
    size: int | None


def stamp_of(path: Path) -> Stamp:
    """What the file looks like now; without time and size where it is not there."""
    try:
        state = path.stat()
    except OSError:
        return Stamp(os.fsencode(path), None, None)
    return Stamp(os.fsencode(path), state.st_mtime_ns, state.st_size)


def path_of(stamp: Stamp | None) -> Path | None:
    """The path of a stamp."""
    return None if stamp is None else Path(os.fsdecode(stamp.path))
