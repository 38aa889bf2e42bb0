"""One recovery file: what it holds, and writing it in one step."""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import Annotated, Any, Literal

import msgspec

from app.work.half_trace import HalfTrace, half_trace
from app.work.stamp import Stamp, path_of, stamp_of
from core.design import Design
from core.design_file import MOST_JSON, DesignFileError, compact, decode
from core.design_mending import CUT_SHORT, NOT_TEXT, mended
from core.file_reading import opened
from core.json_pieces import members

VERSION = 1
TRACE = "what was half drawn"

Original = Literal["none", "same", "changed", "missing"]
_HASH = re.compile("[0-9a-f]{64}")
Hash = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
When = Annotated[datetime, msgspec.Meta(tz=True)]
"""Never a time without its zone: it could not be told which of two is newer."""


class Kept(msgspec.Struct, frozen=True):
    """What a recovery file holds."""

    recovery: int
    title: str
    when: When
    original: Stamp | None
    scans: dict[str, Hash]
    design: msgspec.Raw
    trace: msgspec.Raw = msgspec.Raw(b"null")
    """What was half drawn (``HalfTrace``), or null. A version before 0.8 does not look at it."""


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
    trace: HalfTrace | None = None
    """What was half drawn."""
    copy: str = ""
    """Why the work can only be copied, a clause: its lock cannot be had, or another version's program
    may take back more of it. Else empty."""
    without: tuple[str, ...] = ()
    """What of it cannot be read; all else can be taken back."""
    ours: bool = True
    """Whether it can be thrown away: no living window can be at work on it."""

    @property
    def changed(self) -> bool:
        """Whether the original has been changed or taken away since."""
        return self.state in ("changed", "missing")


class ForeignVersionError(DesignFileError):
    """A recovery file of another version of the program, of which nothing can be read."""


def salvage_of(
    file: Path, kept: Kept, copy: str = "", without: tuple[str, ...] = (), *, ours: bool = True
) -> Salvage:
    """What to offer of a recovery file; looks at the original as it is now."""
    path = path_of(kept.original)
    state: Original = "none"
    if path is not None:
        now = stamp_of(path)
        state = "missing" if now.size is None else "same" if now == kept.original else "changed"
    half = half_trace(bytes(kept.trace))
    return Salvage(kept.title, kept.when, path, state, file, half, copy, without, ours)


def load(file: Path) -> tuple[Kept, Design, tuple[str, ...]]:
    """The recovery file, what can be read of its design, and what cannot: words for each.

    ``recovery`` in it is the version that wrote it. OSError; DesignFileError where nothing can be read,
    a ForeignVersionError where another version wrote it.
    """
    with opened(file, sys.maxsize) as stream:
        data = stream.read(2 * MOST_JSON)
        written = os.fstat(stream.fileno()).st_mtime
    try:
        kept, design = _whole(data)
        trace = bytes(kept.trace)
        lost = (TRACE,) if trace != b"null" and half_trace(trace) is None else ()
        return kept, design, lost
    except DesignFileError as error:
        return _in_part(data, _time(written), error)


def _time(seconds: float) -> datetime:
    """Seconds since 1970 as a time; those of a disk whose clock was far out as the beginning of 1970."""
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (OverflowError, ValueError, OSError):
        return datetime.fromtimestamp(0, UTC)


def _whole(data: bytes) -> tuple[Kept, Design]:
    if len(data) > MOST_JSON:
        raise DesignFileError(["the recovery file is too big to be one"])
    try:
        if msgspec.json.decode(data, type=_Version).recovery != VERSION:
            raise ForeignVersionError([
                "another version of Sternpost kept this work, and nothing of it can be read here; open it "
                "with that one"
            ])
        kept = msgspec.json.decode(data, type=Kept)
        os.fsdecode(kept.original.path if kept.original else b"")
    except ValueError:
        raise DesignFileError(["the recovery file is damaged"]) from None
    return kept, decode(bytes(kept.design))


def _in_part(data: bytes, when: datetime, fault: DesignFileError) -> tuple[Kept, Design, tuple[str, ...]]:
    """Member by member, where the file as a whole is damaged or its design breaks the format's rules."""
    text = data.decode("utf-8", "replace")
    whole, cut = members(text[max(0, text.find("{")):])
    raw = {name: written.encode() for name, written in whole.items()}
    if cut is not None:
        raw.setdefault(cut[0], cut[1].encode())
    version = _decoded(raw.get("recovery", b""), int, VERSION)
    written = raw.get("design")
    if written is None and version != VERSION:
        # Another version may call it something else; of whatever is none, nothing can be read.
        written = next((one for one in raw.values() if one[:1] == b"{" and b'"outlines"' in one), None)
    if written is None:
        raise fault
    try:
        design, without = mended(written)
    except DesignFileError:
        if isinstance(fault, ForeignVersionError):
            raise fault from None
        raise
    if version != VERSION:
        without = (f"what recovery format {version} has beyond {VERSION}, which is known here", *without)
    scans = _decoded(raw.get("scans", b""), dict[str, Any], None)
    named = {name: digest for name, digest in (scans or {}).items() if _HASH.fullmatch(str(digest))}
    trace = raw.get("trace", b"null")
    lost = [f"the picture of “{name[:40]}”" for name in scans or () if name not in named]
    if scans is None and design.scans:
        lost.append("the pictures of its scans")
    if trace != b"null" and half_trace(trace) is None:
        lost.append(TRACE)
    if "�" in text and NOT_TEXT not in without and b"\xef\xbf\xbd" not in data:
        lost.append(NOT_TEXT)
    if cut is not None and CUT_SHORT not in without:
        lost.append(CUT_SHORT)
    if not lost and not without:
        lost.append("what could not be made out beside the design")
    kept = Kept(
        version, design.title, _decoded(raw.get("when", b""), When, when),
        _decoded(raw.get("original", b"null"), Stamp | None, None), named,
        msgspec.Raw(compact(design)), msgspec.Raw(trace if half_trace(trace) else b"null"),
    )
    return kept, design, (*without, *lost)


def _decoded(data: bytes, kind: Any, otherwise: Any) -> Any:
    """What ``data`` (JSON) says, where it is of this kind."""
    try:
        found = msgspec.json.decode(data, type=kind)
        os.fsdecode(found.path if isinstance(found, Stamp) else b"")
    except ValueError:
        return otherwise
    return found


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
