"""The lock beside a recovery file: held while its window lives, and told apart from one that is left over."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QLockFile

if sys.platform != "win32":
    import fcntl


class UnsureError(Exception):
    """The lock cannot be had, though nobody is known to hold it. Its text is a clause: why."""


def lock_of(file: Path) -> QLockFile:
    """The lock of a recovery file, not yet held."""
    lock = QLockFile(str(file.with_suffix(".lock")))
    # A lock grows stale by the death of its holder alone, never by age.
    lock.setStaleLockTime(0)
    return lock


def locked(file: Path, wait_ms: int = 0) -> QLockFile | None:
    """The lock of ``file``, held from here on; None where a living window keeps it for ``wait_ms``.

    UnsureError where neither can be told.

    Qt regards a lock as held where its process number is in use again, and where the computer that it
    names is another one. The system's own lock on the lock file (flock) is gone with the process that
    held it, whatever its number: it decides.
    """
    lock = lock_of(file)
    if lock.tryLock(0):
        return lock
    if lock.error() is QLockFile.LockError.LockFailedError:
        held = _is_held(file.with_suffix(".lock"))
        if lock.tryLock(wait_ms if held else 0):
            return lock
    if lock.error() is QLockFile.LockError.PermissionError:
        raise UnsureError("the folder of kept work cannot be written to")
    if lock.error() is QLockFile.LockError.UnknownError:
        raise UnsureError("the disk of kept work takes no more files")
    return None


def _is_held(path: Path) -> bool:
    """Whether somebody holds the lock file; one that nobody holds is taken away. UnsureError."""
    if sys.platform == "win32":
        # There a lock file that is held cannot be taken away, and one that is not can.
        with suppress(PermissionError):
            path.unlink(missing_ok=True)
            return False
        return True
    try:
        handle = os.open(path, os.O_RDWR)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UnsureError(f"its lock cannot be read ({error.strerror or error})") from None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        # Another window that starts may have taken it away, and put one of its own there.
        if os.fstat(handle).st_ino == path.stat().st_ino:
            path.unlink()
        return False
    except BlockingIOError:
        return True
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UnsureError(f"its lock cannot be tried ({error.strerror or error})") from None
    finally:
        os.close(handle)
