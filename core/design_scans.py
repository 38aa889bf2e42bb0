"""The scans' pictures, within a container and beside a bare design, and what is amiss with them.

Whoever wrote a design chose the names in it. So of what lies beside one only plain files are read,
in its own folder and below, that begin like a picture; and nothing is unpacked or read beyond limits
for one picture and for all of them together.
"""

from __future__ import annotations

import errno
import os
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO, Literal, cast

from core.containers import container_in
from core.design import Design
from core.file_reading import is_of_the_disk, opened, words_of
from core.file_writing import DesignFileError, os_sentence
from core.picture_heads import HEAD_BYTES, may_be_scan

MOST_PICTURE = 1024 * 1024 * 1024
MOST_PICTURES = 2 * MOST_PICTURE
"""Bytes of all scans of a design together: in a file, and in the window."""

_PIECE = 1 << 20

Reading = Literal["whole", "through", "looked at"]
"""Of each picture its bytes; or it is read to its end, a piece at a time, so that damage is found; or not."""


@dataclass(frozen=True)
class Stored:
    """A picture that stays where it lies: the file at ``path``, or ``member`` of the container there."""

    path: Path
    size: int
    member: str | None = None

    def pieces(self) -> Iterator[bytes]:
        """Its bytes, a piece at a time. DesignFileError where they are not what they were."""
        with self._stream() as stream:
            left = self.size
            while piece := stream.read(min(_PIECE, left + 1)):
                left -= len(piece)
                if left < 0:
                    break
                yield piece
            if left:
                raise self._changed()

    def content(self) -> bytes:
        """All its bytes. DesignFileError."""
        with self._stream() as stream:
            data = stream.read(self.size + 1)
            if len(data) != self.size:
                raise self._changed()
            return data

    @contextmanager
    def _stream(self) -> Iterator[BinaryIO]:
        try:
            if self.member is None:
                with opened(self.path, MOST_PICTURE) as stream:
                    yield stream
            else:
                with (
                    opened(self.path, 4 * MOST_PICTURE) as stream,
                    container_in(stream) as container,
                    _unpacking(container, entry_of(container, self.member, MOST_PICTURE)) as unpacked,
                ):
                    yield unpacked
        except zipfile.BadZipFile:
            raise self._changed() from None
        except OSError as error:
            raise DesignFileError([os_sentence(error, "read")]) from None

    def _changed(self) -> DesignFileError:
        name = self.member or self.path.name
        return DesignFileError([f'"{name}" was changed while it was read; try again'])


@dataclass(frozen=True)
class Found:
    """The pictures by name, where they lie, and a sentence for each that is amiss."""

    pictures: dict[str, bytes] = field(default_factory=dict)
    """Only where they were wanted whole."""
    stored: dict[str, Stored] = field(default_factory=dict)
    troubles: list[str] = field(default_factory=list)


def scans_beside(folder: Path, design: Design, reading: Reading) -> Found:
    """The scans' pictures from ``folder`` and below.

    None is refused that a look at its content would be needed for: that is for whoever opens them as
    pictures. So ``through`` is no more than ``looked at`` here.
    """
    home = Path(os.path.realpath(folder))
    found, room = Found(), MOST_PICTURES
    for i, scan in enumerate(design.scans):
        if scan.file in found.stored:
            continue
        try:
            stored, data = _beside(home, scan.file, room, whole=reading == "whole")
        except (OSError, ValueError) as error:
            found.troubles.append(trouble(i, scan.file, _why(error)))
            continue
        found.stored[scan.file] = stored
        if reading == "whole":
            found.pictures[scan.file] = data
        if reading != "looked at":
            room -= stored.size
    return found


def _beside(home: Path, name: str, room: int, *, whole: bool) -> tuple[Stored, bytes]:
    """The picture, its bytes only where it is wanted ``whole``; OSError where it is not to be read."""
    # Links that lead round in a circle stay where they are, and are then refused by the system.
    path = Path(os.path.realpath(home / name))
    if not path.is_relative_to(home):
        raise OSError(errno.EXDEV, "it leads out of the design's folder")
    with opened(path, MOST_PICTURE) as stream:
        if not may_be_scan(stream.read(HEAD_BYTES)):
            raise OSError(errno.EBADMSG, "it is no picture")
        size = os.fstat(stream.fileno()).st_size
        if size > room:
            raise OSError(errno.ENOBUFS, _too_many())
        stream.seek(0)
        # Not more than there was: a file that somebody goes on writing has no end.
        data = stream.read(size) if whole else b""
        return Stored(path, size), data


def _why(error: OSError | ValueError) -> str:
    number, words = getattr(error, "errno", None) or 0, getattr(error, "strerror", None) or str(error)
    return {
        errno.EXDEV: f"{words}; put the picture itself there",
        errno.ENODEV: f"{words}; put the picture itself there",
        errno.EBADMSG: f"{words}; put the scan there",
        errno.EFBIG: f"{words}; reduce it",
        errno.ENOBUFS: words,
    }.get(number, "it is not there; put it beside the design")


def _too_many() -> str:
    return f"all scans together are over {words_of(MOST_PICTURES)}; reduce them"


def scans_within(container: zipfile.ZipFile, design: Design, reading: Reading, path: Path | None) -> Found:
    """The scans' pictures out of ``container``; those that can be read again lie in the file at ``path``.

    DesignFileError where they are too much together: one left out would be lost at the next saving.
    """
    found = Found()
    names = {scan.file for scan in design.scans}
    sizes = [entry.file_size for entry in container.infolist() if entry.filename in names]
    if reading != "looked at" and sum(size for size in sizes if size <= MOST_PICTURE) > MOST_PICTURES:
        raise DesignFileError([_too_many()])
    seen: set[str] = set()
    for i, scan in enumerate(design.scans):
        if scan.file in seen:
            continue
        try:
            entry = entry_of(container, scan.file, MOST_PICTURE)
            size = entry.file_size
            if reading == "whole":
                found.pictures[scan.file] = member(container, scan.file, MOST_PICTURE)
            elif reading == "through":
                # Counted: what the header says of the size may be more than there is.
                size = sum(map(len, _pieces(container, entry)))
        except DesignFileError as error:
            found.troubles.append(trouble(i, scan.file, str(error)))
            continue
        seen.add(scan.file)
        if path is not None:
            found.stored[scan.file] = Stored(path, size, scan.file)
    return found


def trouble(index: int, name: str, why: str) -> str:
    """The sentence for a scan whose picture is not there."""
    return f'scans[{index}].file: "{name}" could not be opened: {why}'


def entry_of(container: zipfile.ZipFile, name: str, most: int) -> zipfile.ZipInfo:
    """Where ``name`` lies in ``container``; DesignFileError where it cannot be unpacked to ``most`` bytes."""
    entries = [entry for entry in container.infolist() if entry.filename == name]
    if not entries:
        raise DesignFileError([f'"{name}" is missing from the container; open another copy of it'])
    if len(entries) > 1:
        raise DesignFileError([f'"{name}" is in the container twice; it was not written by Sternpost'])
    entry = entries[0]
    if entry.flag_bits & 1:
        raise DesignFileError([f'"{name}" is encrypted; save the design without a password'])
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise DesignFileError(
            [f'"{name}" is packed in a way that Sternpost does not use; pack it as a plain ZIP']
        )
    if entry.file_size > most:
        raise DesignFileError([f'"{name}" unpacks to over {words_of(most)}; that is not a design'])
    return entry


def member(container: zipfile.ZipFile, name: str, most: int) -> bytes:
    """The content of ``name``, at most ``most`` bytes. DesignFileError."""
    entry = entry_of(container, name, most)
    with _unpacking(container, entry) as stream:
        # A byte more: only at its end is it found whether it is damaged.
        return stream.read(entry.file_size + 1)


def _pieces(container: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Iterator[bytes]:
    with _unpacking(container, entry) as stream:
        yield from iter(lambda: stream.read(_PIECE), b"")


@contextmanager
def _unpacking(container: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Iterator[BinaryIO]:
    """The member, of which no more than the size in its header is ever given, whatever it unpacks to."""
    try:
        with container.open(entry) as stream:
            yield cast(BinaryIO, stream)
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, NotImplementedError, OSError) as error:
        if is_of_the_disk(error):
            raise
        raise DesignFileError(
            [f'"{entry.filename}" is damaged in the container; open another copy of it']
        ) from None
