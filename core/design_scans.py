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
from collections.abc import Mapping
from pathlib import Path

from core.design import Design
from core.file_reading import is_of_the_disk, opened, words_of
from core.file_writing import DesignFileError
from core.picture_heads import HEAD_BYTES, may_be_scan

MOST_PICTURE = 1024 * 1024 * 1024
MOST_PICTURES = 2 * MOST_PICTURE
"""Bytes of all scans of a design together: in a file, and in the window."""

Found = tuple[Mapping[str, bytes], tuple[str, ...]]


def scans_beside(folder: Path, design: Design, *, pictures: bool) -> Found:
    """The scans' pictures by name, from ``folder`` and below, and the troubles with them.

    Without ``pictures`` no more than the beginning of each is read. None is refused that a look at its
    content would be needed for: that is for whoever opens them as pictures.
    """
    home = Path(os.path.realpath(folder))
    found: dict[str, bytes] = {}
    troubles: list[str] = []
    for i, scan in enumerate(design.scans):
        if scan.file in found:
            continue
        room = MOST_PICTURES - sum(map(len, found.values()))
        try:
            found[scan.file] = _beside(home, scan.file, room, pictures=pictures)
        except (OSError, ValueError) as error:
            troubles.append(trouble(i, scan.file, _why(error)))
    return (found if pictures else {}), tuple(troubles)


def _beside(home: Path, name: str, room: int, *, pictures: bool) -> bytes:
    """The picture, or nothing where only its beginning is wanted; OSError where it is not to be read."""
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
        return stream.read(size) if pictures else b""


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


def scans_within(container: zipfile.ZipFile, design: Design, *, pictures: bool) -> Found:
    """The scans' pictures by name, out of ``container``, and the troubles with them.

    DesignFileError where they are too much together: one left out would be lost at the next saving.
    """
    found: dict[str, bytes] = {}
    troubles: list[str] = []
    names = {scan.file for scan in design.scans}
    sizes = [entry.file_size for entry in container.infolist() if entry.filename in names]
    if pictures and sum(size for size in sizes if size <= MOST_PICTURE) > MOST_PICTURES:
        raise DesignFileError([_too_many()])
    for i, scan in enumerate(design.scans):
        if scan.file in found:
            continue
        room = MOST_PICTURES - sum(map(len, found.values()))
        try:
            if pictures:
                found[scan.file] = member(container, scan.file, min(MOST_PICTURE, room))
            else:
                entry_of(container, scan.file, MOST_PICTURE)
                found[scan.file] = b""
        except DesignFileError as error:
            troubles.append(trouble(i, scan.file, str(error)))
    return (found if pictures else {}), tuple(troubles)


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
    try:
        with container.open(entry) as stream:
            # The header's size may lie: never unpack more than allowed.
            data = stream.read(min(most, entry.file_size) + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, NotImplementedError, OSError) as error:
        if is_of_the_disk(error):
            raise
        raise DesignFileError([f'"{name}" is damaged in the container; open another copy of it']) from None
    if len(data) > most:
        raise DesignFileError([f'"{name}" unpacks to over {words_of(most)}; that is not a design'])
    return data
