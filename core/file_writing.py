"""Replacing a file in one step, and what to say when the system refuses.

Plain Python: the command line and recovery write without a screen.
"""

from __future__ import annotations

import errno
import os
import stat
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

if sys.platform != "win32":
    import fcntl

_SAVING = ".saving-"


def _umask_by_setting() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


# It holds for every thread, and can be read only by setting it: done once, while there is one thread.
_UMASK = _umask_by_setting()


def _umask() -> int:
    """What new files may not be; Linux tells it without setting it."""
    with suppress(OSError, StopIteration, ValueError), Path("/proc/self/status").open() as status:
        return int(next(line for line in status if line.startswith("Umask:")).split()[1], 8)
    return _UMASK


class DesignFileError(Exception):
    """A design that cannot be read or written; ``sentences`` says why, one fault and one line each."""

    def __init__(self, sentences: list[str]) -> None:
        self.sentences = [
            "".join(ch if ch.isprintable() else "\N{REPLACEMENT CHARACTER}" for ch in sentence)
            for sentence in sentences
        ]
        super().__init__(self.sentences[0])


def write_bytes(path: Path, data: bytes) -> None:
    """Replace ``path`` by ``data`` in one step. DesignFileError, the old file untouched, on failure."""
    write_filled(path, lambda stream: stream.write(data))


def write_filled(path: Path, fill: Callable[[BinaryIO], object]) -> None:
    """As ``write_bytes``, with what ``fill`` writes; nothing is written where that raises."""
    # A link is followed, so that the file it names is replaced and not the link.
    target = Path(os.path.realpath(path))
    temporary: str | None = None
    try:
        if target.exists() and not target.is_file() and not target.is_dir():
            raise OSError(errno.ENODEV, "it is a pipe or a device, and no file")
        _sweep(target.parent)
        handle, temporary = _begun(target.parent)
        with os.fdopen(handle, "wb") as stream:
            fill(stream)
            stream.flush()
            os.fsync(stream.fileno())
        mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o666 & ~_umask()
        with suppress(PermissionError):
            # Memory sticks and network drives that know no modes must not refuse the work.
            Path(temporary).chmod(mode)
        if target.exists() and not os.access(target, os.W_OK):
            raise PermissionError(13, "read-only")
        Path(temporary).replace(target)
        temporary = None
        _settle(target.parent)
    except OSError as error:
        raise DesignFileError([os_sentence(error, "written")]) from None
    finally:
        if temporary is not None:
            # Where the folder itself is gone or the drive is out, there is nothing to be done.
            with suppress(OSError):
                Path(temporary).unlink(missing_ok=True)


def _begun(folder: Path) -> tuple[int, str]:
    """A file to be written to, held for as long as it is open: (handle, its path)."""
    while True:
        handle, temporary = tempfile.mkstemp(prefix=_SAVING, dir=folder)
        # Another saving may take it for a left one, and away, before it is held.
        with suppress(BlockingIOError):
            if not _hold(handle) or Path(temporary).exists():
                return handle, temporary
        os.close(handle)


def _hold(handle: int) -> bool:
    """The system's lock on an open file, let go with the process that holds it; False where it has none.

    BlockingIOError where another process holds it.
    """
    if sys.platform == "win32":
        # There an open file cannot be taken away in any case.
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise
    except OSError:
        return False
    return True


def _sweep(folder: Path) -> None:
    """Take away what savings left that were killed; one that is under way holds its file."""
    with suppress(OSError):
        for left in list(folder.glob(f"{_SAVING}????????")):
            with suppress(OSError):
                if left.is_file() and not left.is_symlink():
                    _take_away(left)


def _take_away(left: Path) -> None:
    if sys.platform == "win32":
        left.unlink()
        return
    handle = os.open(left, os.O_RDWR | os.O_NOFOLLOW)
    try:
        if _hold(handle):
            left.unlink()
    finally:
        os.close(handle)


def _settle(folder: Path) -> None:
    """Have the folder's new entry on the disk as well, where the system can: else a power cut undoes it."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def os_sentence(error: OSError, done: str) -> str:
    """What went wrong and what to do, for "it could not be ``done``"."""
    why = {
        errno.ENOENT: "there is no such file or folder; check the name",
        errno.EACCES: "permission was refused; choose another folder",
        errno.EPERM: "permission was refused; choose another folder",
        errno.EROFS: "the place is read-only; choose another folder",
        errno.ENOSPC: "the disk is full; free some space or choose another disk",
        errno.EDQUOT: "the disk quota is used up; free some space or choose another disk",
        errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
        errno.EISDIR: "that is a folder; choose a file",
        errno.EIO: "the disk reported a fault; choose another disk",
    }.get(error.errno or 0, f"the system says: {error.strerror or error}; choose another place")
    return f"it could not be {done}: {why}"
