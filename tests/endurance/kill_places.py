"""Where a window lives that is going to lose it: a display of its own, a disk of its own that fills up."""

from __future__ import annotations

import errno
import os
import resource
import shutil
import signal
import subprocess
import threading
from contextlib import suppress
from pathlib import Path
from typing import Protocol

DISK_BYTES = 16 << 20
_CHUNK = bytes(1 << 18)
_REFILL_S = 0.002
_PATIENCE_S = 60.0


class Display:
    """An X server of its own (Xvfb)."""

    def __init__(self) -> None:
        """RuntimeError where it does not begin."""
        here, there = os.pipe()
        try:
            self._server = subprocess.Popen(
                ["Xvfb", "-displayfd", str(there), "-screen", "0", "1366x768x24", "-nolisten", "tcp"],
                pass_fds=[there], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )
        finally:
            os.close(there)
        with os.fdopen(here) as told:
            number = told.readline().strip()
        if not number:
            self.close()
            raise RuntimeError("Xvfb did not begin")
        self.name = f":{number}"

    @staticmethod
    def can_be_had() -> bool:
        """True if Xvfb is installed."""
        return shutil.which("Xvfb") is not None

    def die(self, number: signal.Signals) -> None:
        """End the server; its windows lose their connection."""
        self._server.send_signal(number)
        self._server.wait(_PATIENCE_S)

    def close(self) -> None:
        """Nothing of it stays, not even the marks that a killed server leaves."""
        self._server.kill()
        self._server.wait()
        number = getattr(self, "name", ":")[1:]
        lock = Path(f"/tmp/.X{number}-lock")
        with suppress(OSError, ValueError):
            # The number may be another server's by now.
            if int(lock.read_text()) == self._server.pid:
                Path(f"/tmp/.X11-unix/X{number}").unlink(missing_ok=True)
                lock.unlink()


class Disk(Protocol):
    """A disk that is full from ``fill`` to ``free``."""

    def fill(self, process: int) -> None:
        """No more room, for the window of this process at least."""

    def free(self) -> None:
        """Room again."""

    def close(self) -> None:
        """Nothing of it stays."""


class SmallDisk:
    """A file system of its own, in memory, mounted on a folder: for root, or under ``unshare -rm``."""

    def __init__(self, folder: Path) -> None:
        """OSError where mounting is not permitted."""
        self._folder, self._filler = folder, folder / "filler"
        done = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES},mode=700", "tmpfs", str(folder)],
            capture_output=True, check=False,
        )
        if done.returncode:
            raise OSError(errno.EPERM, done.stderr.decode().strip())
        self._freed = threading.Event()
        self._thread: threading.Thread | None = None

    def fill(self, process: int) -> None:
        """Every page is taken, and every one that comes free, too."""
        self._freed.clear()
        handle = os.open(self._filler, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        _take_all(handle)
        self._thread = threading.Thread(target=self._keep_full, args=(handle,))
        self._thread.start()

    def _keep_full(self, handle: int) -> None:
        while not self._freed.wait(_REFILL_S):
            _take_all(handle)
        os.close(handle)

    def free(self) -> None:
        """All that was taken is given back."""
        self._freed.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
            self._filler.unlink()

    def close(self) -> None:
        """Unmount it."""
        self.free()
        subprocess.run(["umount", "--lazy", str(self._folder)], check=True)


def _take_all(handle: int) -> None:
    try:
        while True:
            os.write(handle, _CHUNK)
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise


class LimitedFiles:
    """No file of the window's process may hold a byte (setrlimit): where mounting is not permitted."""

    def __init__(self) -> None:
        self._process = 0

    def fill(self, process: int) -> None:
        """From here on the system refuses every write to a file."""
        self._process = process
        self._limit(0)

    def free(self) -> None:
        """Files may be written to again."""
        if self._process:
            self._limit(resource.RLIM_INFINITY)

    def _limit(self, most: int) -> None:
        with suppress(ProcessLookupError):
            _, hard = resource.prlimit(self._process, resource.RLIMIT_FSIZE)
            resource.prlimit(self._process, resource.RLIMIT_FSIZE, (most if most >= 0 else hard, hard))

    def close(self) -> None:
        """It goes with its process."""


def disk_in(folder: Path) -> Disk:
    """A small disk on ``folder``; where that is not permitted, a limit for the process."""
    try:
        return SmallDisk(folder)
    except OSError:
        return LimitedFiles()
