"""The folder of kept work: what dead windows left in it, its one door, and keeping it clean."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

import msgspec

from app.keeping.locks import UnsureError, locked
from app.keeping.recovery_file import VERSION, ForeignVersionError, Named, Salvage, load, salvage_of
from core.design_file import DesignFileError

_DOOR_MS = 5000
TURN_MS = 500
_HASH = re.compile(r"[0-9a-f]{64}")
_ANY_HASH = re.compile(rb"[0-9a-f]{64}")


class KeptFolder:
    """What ``app.keeping.recovery`` says lies in it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def found(self, own: Path) -> tuple[list[Salvage], tuple[str, ...]]:
        """(work, sentences): what dead windows left, newest first; what cannot be offered, and why.

        ``own`` is the file of this window. Of damaged files what can be read is offered, and the file
        stays; one of which nothing can be read is moved aside.
        """
        found: list[Salvage] = []
        passed: list[str] = []
        for file in self.files():
            if file == own:
                continue
            copy = ""
            try:
                lock = locked(file)
                if lock is None:
                    continue  # Its window lives.
            except UnsureError as error:
                lock, copy = None, str(error)
            try:
                kept, _, without = load(file)
                found.append(salvage_of(file, kept, copy, without))
            except FileNotFoundError:
                continue
            except ForeignVersionError as error:
                passed.append(f"{_called(file)}: {error}; it lies in {file}.")
            except DesignFileError as error:
                lies = file if lock is None else self.put_aside(file)
                passed.append(f"{_called(file)}: {error}; it lies in {lies}.")
            except OSError as error:
                passed.append(f"{_called(file)} cannot be read: {error.strerror or error}.")
            finally:
                if lock is not None:
                    lock.unlock()
        return sorted(found, key=lambda salvage: salvage.when, reverse=True), tuple(passed)

    @contextmanager
    def door(self, wait_ms: int = _DOOR_MS) -> Iterator[bool]:
        """One window at a time writes or sweeps; who has waited long enough goes on without (False)."""
        self._folder.mkdir(parents=True, exist_ok=True)
        door = None
        with suppress(UnsureError):
            door = locked(self._folder / "door", wait_ms)
        try:
            yield door is not None
        finally:
            if door is not None:
                door.unlock()

    def files(self) -> list[Path]:
        """Every recovery file, of living and dead windows."""
        try:
            return sorted(self._folder.glob("*.json"))
        except OSError:
            return []

    @property
    def aside(self) -> Path:
        """Where damaged files are moved to; what lies there nobody here deletes."""
        return self._folder / "damaged"

    def put_aside(self, file: Path) -> Path:
        """Move a damaged file aside; where it lies now."""
        try:
            self.aside.mkdir(exist_ok=True)
            return file.replace(self.aside / file.name)
        except OSError:
            return file

    def sweep(self, own: Path) -> None:
        """Take away scans that no recovery file names, half-written files and locks of the dead."""
        if not self._folder.is_dir():
            return
        with suppress(OSError), self.door(TURN_MS) as held:
            if not held:
                return
            named: set[str] = set()
            for file in self.files():
                try:
                    names = msgspec.json.decode(file.read_bytes(), type=Named)
                except (OSError, ValueError):
                    return  # It might name any of them: leave all.
                if names.recovery != VERSION:
                    return
                named.update(names.scans.values())
            for file in self.aside.glob("*.json"):
                # Whoever mends one by hand finds its scans still there.
                named.update(found.decode() for found in _ANY_HASH.findall(file.read_bytes()))
            for blob in (self._folder / "scans").glob("*"):
                if _HASH.fullmatch(blob.name) and blob.name not in named:
                    blob.unlink()
            for lock_file in self._folder.glob("*.lock"):
                owner = lock_file.with_suffix(".json")
                if lock_file.name != "door.lock" and owner != own and not owner.exists():
                    with suppress(UnsureError):
                        lock = locked(owner)
                        if lock is not None:
                            lock.unlock()
            for left in (*self._folder.glob(".keeping-*"), *(self._folder / "scans").glob(".keeping-*")):
                # What a living window puts there needs no door.
                if not (self._folder / f"{left.name.removeprefix('.keeping-now-')}.lock").exists():
                    left.unlink()


def _called(file: Path) -> str:
    """What to call kept work of which nothing else is known."""
    when = ""
    with suppress(OSError, OverflowError, ValueError):
        when = datetime.fromtimestamp(file.stat().st_mtime).astimezone().strftime(" of %d %B %Y, %H:%M")
    return f"Work{when}"
