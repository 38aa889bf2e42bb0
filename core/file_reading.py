"""Reading files that may be anything: plain ones alone, and no more of them than is allowed.

A pipe waits for ever for a writer and a device need not end, so neither is ever read from. The
errors are those of the system, with words of ours where it has none.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

# A pipe without a writer answers at once; Windows has no such thing, and a text mode instead.
_HOW = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def opened(path: Path, most: int) -> BinaryIO:
    """The plain file at ``path`` to read from, closed by the caller. OSError, also for more than ``most``."""
    handle = os.open(path, _HOW)
    try:
        state = os.fstat(handle)
        if stat.S_ISDIR(state.st_mode):
            raise IsADirectoryError(errno.EISDIR, "that is a folder", str(path))
        if not stat.S_ISREG(state.st_mode):
            raise OSError(errno.ENODEV, "it is a pipe or a device, and no file", str(path))
        if state.st_size > most:
            raise OSError(errno.EFBIG, f"it is over {words_of(most)}", str(path))
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def content(path: Path, most: int) -> bytes:
    """All of the plain file at ``path``, at most ``most`` bytes. OSError."""
    with opened(path, most) as stream:
        # Not more than there was: a file that somebody goes on writing has no end.
        return stream.read(os.fstat(stream.fileno()).st_size)


def words_of(size: int) -> str:
    """A limit in a sentence: 1073741824 is "1 GB"."""
    for bits, unit in ((30, "GB"), (20, "MB")):
        if size >> bits:
            return f"{size >> bits} {unit}"
    return f"{size} bytes"


def is_of_the_disk(error: Exception) -> bool:
    """True for a fault of disk or system; a wrong place sought in a damaged file is none."""
    return isinstance(error, OSError) and error.errno not in (None, errno.EINVAL)
