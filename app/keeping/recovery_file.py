"""One recovery file: what it holds, the lock beside it, and writing it in one step."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Annotated, Literal

import msgspec
from PySide6.QtCore import QLockFile

from app.work.stamp import Stamp, path_of, stamp_of
from core.design import Design
from core.design_file import MOST_JSON, DesignFileError, decode

VERSION = 1

Original = Literal["none", "same", "changed", "missing"]
Hash = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]


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


class Turn:
    """Whose state is the newest, where two threads write one file."""

    def __init__(self) -> None:
        self._lock = Lock()
        self.newest = 0
        self.mine = 0
        """The number of what the worker writes."""

    def next(self) -> int:
        """A newer state is there: its number."""
        self.newest += 1
        return self.newest

    @contextmanager
    def taken(self) -> Iterator[bool]:
        """One thread at a time; whether what the worker writes is still the newest."""
        with self._lock:
            yield self.mine == self.newest


def put_now(path: Path, data: bytes) -> None:
    """Replace ``path`` in one step without forcing it onto the disk: whole after a kill, not a power cut."""
    temporary = path.with_name(f".keeping-now-{path.stem}")
    with os.fdopen(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as stream:
        stream.write(data)
    temporary.replace(path)


def replace_file(
    path: Path, data: bytes, turn: Callable[[], AbstractContextManager[bool]] | None = None
) -> None:
    """Write ``data`` in one step, for the builder's eyes alone. OSError, the old file kept, on failure.

    With ``turn``, the file is left as it is where a newer state has been put there meanwhile.
    """
    handle, name = tempfile.mkstemp(prefix=".keeping-", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        with turn() if turn else nullcontext(True) as newest:
            if newest:
                temporary.replace(path)
            else:
                temporary.unlink(missing_ok=True)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
