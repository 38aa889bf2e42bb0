"""The folder of kept work: what dead windows left in it, its one door, and keeping it clean."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import msgspec

from app.keeping.locks import UnsureError, locked
from app.keeping.recovery_file import VERSION, ForeignVersionError, Named, Salvage, load, salvage_of
from core.design_file import MOST_JSON, DesignFileError
from core.file_reading import content

_DOOR_MS = 5000
TURN_MS = 500
_HASH = re.compile(r"[0-9a-f]{64}")
_ANY_HASH = re.compile(rb"[0-9a-f]{64}")


@dataclass(frozen=True)
class Aside:
    """Damaged recovery files that were moved aside, and how many bytes they take up."""

    folder: Path
    files: tuple[Path, ...]
    size: int


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
                ours = not copy
                if kept.recovery != VERSION:
                    copy = copy or "another version of Sternpost kept it"
                found.append(salvage_of(file, kept, copy, without, ours=ours))
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
        """Where damaged files are moved to; what lies there goes only when the builder says so."""
        return self._folder / "damaged"

    def lying_aside(self) -> Aside:
        """The damaged files, and how much room they take with the scans that they alone name."""
        files = [file for file in self._aside_files() if file.is_file() and not file.is_symlink()]
        named = {name for file in files for name in _hashes_in(file)}
        named.difference_update(*(_hashes_in(file) for file in self.files()))
        size = 0
        for place in (*files, *(self._folder / "scans" / name for name in named)):
            with suppress(OSError):
                size += place.stat().st_size
        return Aside(self.aside, tuple(files), size)

    def delete_aside(self, found: Aside) -> None:
        """Delete just the files that were ``found``, not those that came since. OSError."""
        for file in found.files:
            file.unlink(missing_ok=True)

    def _aside_files(self) -> list[Path]:
        try:
            return sorted(self.aside.glob("*.json"))
        except OSError:
            return []

    def put_aside(self, file: Path) -> Path:
        """Move a damaged file aside; where it lies now."""
        try:
            self.aside.mkdir(exist_ok=True)
            place, number = self.aside / file.name, 2
            while place.exists():
                place, number = self.aside / f"{file.stem}-{number}.json", number + 1
            return file.replace(place)
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
                    names = msgspec.json.decode(content(file, 2 * MOST_JSON), type=Named)
                except (OSError, ValueError):
                    return  # It might name any of them: leave all.
                if names.recovery != VERSION:
                    return
                named.update(names.scans.values())
            for file in self._aside_files():
                # Whoever mends one by hand finds its scans still there.
                named.update(_hashes_in(file))
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


def _hashes_in(file: Path) -> set[str]:
    """Whatever in a file may be the name of a scan."""
    try:
        return {found.decode() for found in _ANY_HASH.findall(content(file, sys.maxsize))}
    except OSError:
        return set()


def _called(file: Path) -> str:
    """What to call kept work of which nothing else is known."""
    when = ""
    with suppress(OSError, OverflowError, ValueError):
        when = datetime.fromtimestamp(file.stat().st_mtime).astimezone().strftime(" of %d %B %Y, %H:%M")
    return f"Work{when}"
