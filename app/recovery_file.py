"""One recovery file: what it holds, the lock beside it, and writing it in one step."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

import msgspec
from PySide6.QtCore import QLockFile

from core.design import Design
from core.design_file import MOST_JSON, DesignFileError, decode

VERSION = 1

Original = Literal["none", "same", "changed", "missing"]
Hash = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]


class Stamp(msgspec.Struct, frozen=True):
    """A file and what it looked like; ``path`` as the system's own bytes, which need not be UTF-8."""

    path: bytes
    mtime_ns: int | None
    size: int | None


class Kept(msgspec.Struct, frozen=True):
    """What a recovery file holds."""

    recovery: int
    title: str
    when: datetime
    original: Stamp | None
    scans: dict[str, Hash]
    design: msgspec.Raw


class Named(msgspec.Struct, frozen=True):
    """Of a recovery file, the scans that it names."""

    recovery: int
    scans: dict[str, Hash]


class _Version(msgspec.Struct, frozen=True):
    recovery: int


@dataclass(frozen=True)
class Salvage:
    """Work that a window left behind when it died.

    ``state`` tells of the file it came from: ``none`` (never saved), the ``same`` as when it was
    opened, ``changed`` since, or ``missing``.
    """

    title: str
    when: datetime
    original: Path | None
    state: Original
    file: Path

    @property
    def changed(self) -> bool:
        """Whether the original has been changed or taken away since."""
        return self.state in ("changed", "missing")


class ForeignVersionError(DesignFileError):
    """A recovery file that another version of the program wrote."""


def lock_of(file: Path) -> QLockFile:
    """The lock of a recovery file, not yet held."""
    lock = QLockFile(str(file.with_suffix(".lock")))
    # A lock grows stale by the death of its holder alone, never by age.
    lock.setStaleLockTime(0)
    return lock


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


def salvage_of(file: Path, kept: Kept) -> Salvage:
    """What to offer of a recovery file; looks at the original as it is now."""
    path = path_of(kept.original)
    state: Original = "none"
    if path is not None:
        now = stamp_of(path)
        state = "missing" if now.size is None else "same" if now == kept.original else "changed"
    return Salvage(kept.title, kept.when, path, state, file)


def load(file: Path) -> tuple[Kept, Design]:
    """The recovery file and its design. OSError; ForeignVersionError; DesignFileError when damaged."""
    if file.stat().st_size > MOST_JSON:
        raise DesignFileError(["the recovery file is too big to be one"])
    data = file.read_bytes()
    try:
        if msgspec.json.decode(data, type=_Version).recovery != VERSION:
            raise ForeignVersionError(["another version of Sternpost kept this work; open it with that one"])
        kept = msgspec.json.decode(data, type=Kept)
        os.fsdecode(kept.original.path if kept.original else b"")
    except ValueError:
        raise DesignFileError(["the recovery file is damaged"]) from None
    return kept, decode(bytes(kept.design))


def replace_file(path: Path, data: bytes) -> None:
    """Write ``data`` in one step, for the builder's eyes alone. OSError, the old file kept, on failure."""
    handle, name = tempfile.mkstemp(prefix=".keeping-", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
