"""Keeping unsaved work safe: one recovery file for each running window, offered again after a crash.

In the folder lie ``<id>.json`` (the design and where it came from, in one file so that the two
never disagree), ``<id>.lock`` (held while its window lives), ``scans/<sha256>`` (each scan's bytes
once, however often the design is written) and ``damaged/``. All writing is done by one thread of
the window, and each file is replaced in one step. The builder's own files are never written here.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from time import perf_counter
from typing import Literal, TypeVar
from uuid import uuid4

import msgspec
from msgspec.structs import replace
from PySide6.QtCore import QLockFile, QStandardPaths

from app.keeping.kept_folder import TURN_MS, Aside, KeptFolder
from app.keeping.locks import UnsureError, locked
from app.keeping.recovery_file import (
    VERSION,
    Kept,
    Salvage,
    Turn,
    load,
    put_now,
    replace_file,
)
from app.work.half_trace import HalfTrace
from app.work.stamp import Stamp, stamp_of
from core.design import Design
from core.design_file import DesignFileError, compact

__all__ = ["Recovery", "Salvage"]

_TOO_SLOW_S, _MOST_LEFT = 0.05, 16
"""A disk slower than this twice running is left to the worker: for one state, then two, up to so many."""

T = TypeVar("T")


@dataclass(frozen=True)
class _Work:
    design: Design
    pictures: Mapping[str, bytes]
    path: Path | None
    trace: HalfTrace | None = None


class Recovery:
    """The recovery file of one window, and the door to what dead windows left behind.

    ``trouble`` is one sentence while the last attempt to keep the work failed, otherwise None.
    """

    def __init__(self, folder: Path | None = None, told: Callable[[str], None] | None = None) -> None:
        """Keep under ``folder``, or in the application's data folder. Nothing is written yet.

        ``told`` hears of trouble, in the worker's thread: one sentence when it begins or changes, and
        nothing ("") when it has passed.
        """
        self._folder = folder or _data_folder()
        self._kept = KeptFolder(self._folder)
        self._file = self._folder / f"{uuid4().hex}.json"
        self._lock: QLockFile | None = None
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="recovery")
        self._guard, self._turn = Lock(), Turn()
        self._left = self._slow = 0
        """States still left to the worker; doubled with every time that the disk was slow."""
        self._next: tuple[int, _Work | Literal["clear"]] | None = None
        self._stopped = False
        # Written by the worker alone, each in one step.
        self._hashes: dict[str, tuple[bytes, str]] = {}
        self._opened: Stamp | None = None
        self._seen: Stamp | None = None
        self._encoded: tuple[Design, bytes] | None = None
        """The design encoded last: clicks of a trace change nothing in it."""
        self.trouble: str | None = None
        self.passed_over: tuple[str, ...] = ()
        """Sentences of ``found``: kept work that cannot be offered, and why."""
        self._told = told

    # For the window's own work

    def opened(self, path: Path) -> None:
        """Remember how the file looks that was just opened or saved; a change to it is told later.

        Without this it is looked at when work on it is first kept.
        """
        self._submit(lambda: self._remember(path))

    def keep(
        self, design: Design, pictures: Mapping[str, bytes], path: Path | None,
        trace: HalfTrace | None = None,
    ) -> None:
        """Keep this state of the work; returns at once, and of several in a row the last is written.

        The state itself is put into its file before this returns, though not yet forced onto the
        disk: a killed window loses none, a power cut those of the last moment.

        ``pictures`` are the scans' bytes by name, ``path`` the file that the design came from, ``trace``
        what is half drawn.
        """
        work = _Work(design, dict(pictures), path, trace)
        number = self._turn.next()
        self._at_once(work)
        self._want(work, number)

    def clear(self) -> None:
        """Nothing is unsaved any more, or nobody wants it: the recovery file goes."""
        self._want("clear", self._turn.next())

    def flush(self) -> None:
        """Wait until everything asked for so far is done."""
        future = self._submit(lambda: None)
        if future is not None:
            future.result()

    def stop(self) -> None:
        """Finish what is under way, sweep, and let go; what was kept and not cleared stays to be offered."""
        if self._stopped:
            return
        self._submit(self._sweep)
        self._stopped = True
        self._worker.shutdown(wait=True)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None

    # What dead windows left behind

    def found(self) -> list[Salvage]:
        """What dead windows left behind, newest first.

        Of a damaged one what can be read is offered. ``passed_over`` names what cannot be offered at all;
        a file of which nothing can be read is moved aside.
        """
        found, self.passed_over = self._kept.found(self._file)
        self._submit(self._sweep)
        return found

    def take(self, salvage: Salvage) -> tuple[Design, dict[str, bytes], Stamp | None]:
        """The design, its scans' bytes, and its original as it was then, to go on with as unsaved work.

        From here on it is this window's work, in its recovery file; of work that can only be copied the
        file stays; of damaged work it is moved aside, and no original is told. A scan whose bytes are
        damaged is left out. DesignFileError where another window was quicker or nothing can be read any more.
        """
        return self._call(lambda: self._adopt(salvage))

    def discard(self, salvage: Salvage) -> None:
        """Throw the work away, unless another window has taken it up."""
        self._call(lambda: self._throw_away(salvage))

    def lying_aside(self) -> Aside:
        """The damaged files that were moved aside."""
        return self._kept.lying_aside()

    def delete_aside(self, found: Aside) -> None:
        """Delete those that were ``found``, and the scans that nothing else names. DesignFileError."""
        self._call(lambda: self._delete_aside(found))

    # The worker

    def _submit(self, job: Callable[[], T]) -> Future[T] | None:
        return None if self._stopped else self._worker.submit(job)

    def _call(self, job: Callable[[], T]) -> T:
        future = self._submit(job)
        if future is None:
            raise DesignFileError(["the window is closing; start again to take the work up"])
        return future.result()

    def _want(self, wanted: _Work | Literal["clear"], number: int) -> None:
        with self._guard:
            waiting = self._next is not None
            self._next = (number, wanted)
        if not waiting:
            self._submit(self._run)

    def _run(self) -> None:
        with self._guard:
            assert self._next is not None
            (self._turn.mine, wanted), self._next = self._next, None
        before, self.trouble = self.trouble, self._troubled(wanted)
        if self.trouble != before and self._told is not None:
            self._told(self.trouble or "")

    def _troubled(self, wanted: _Work | Literal["clear"]) -> str | None:
        """Do what is wanted; one sentence where that failed."""
        try:
            if isinstance(wanted, _Work):
                self._write(wanted)
            else:
                with self._turn.taken() as newest:
                    if newest:
                        self._file.unlink(missing_ok=True)
                self._seen = None
        except OSError as error:
            return f"unsaved work cannot be kept safe: {error.strerror or error}; save the design now"
        except Exception as error:
            # The edge of the thread: whatever it was, the builder has to hear of it.
            return f"unsaved work cannot be kept safe: {error}; save the design now"
        return None

    def _at_once(self, work: _Work) -> None:
        """In the drawing thread: the state without forcing it onto the disk, where that is quick."""
        if self._stopped or self._left:
            self._left = max(0, self._left - 1)
            return
        begun = perf_counter()
        hashes = self._hashes
        scans = {
            name: known[1] for name in dict.fromkeys(scan.file for scan in work.design.scans)
            if (known := hashes.get(name)) and known[0] is work.pictures.get(name)
        }
        # What goes wrong here is told by the worker, which tries the same again.
        with suppress(OSError), self._turn.taken():
            self._hold()
            put_now(self._file, self._bytes(work, self._original(work.path), scans))
        # One hitch says nothing; a disk that is slow whenever it is tried is tried ever less often.
        slow = perf_counter() - begun > _TOO_SLOW_S
        self._slow = min(max(1, 2 * self._slow), 2 * _MOST_LEFT) if slow else 0
        self._left = self._slow // 2

    def _bytes(self, work: _Work, original: Stamp | None, scans: dict[str, str]) -> bytes:
        encoded = self._encoded
        if encoded is None or encoded[0] is not work.design:
            # One assignment: the worker and the drawing thread both come here.
            self._encoded = encoded = (work.design, compact(work.design))
        return msgspec.json.encode(Kept(
            VERSION, work.design.title, datetime.now(UTC), original, scans, msgspec.Raw(encoded[1]),
            msgspec.Raw(msgspec.json.encode(work.trace)),
        ))

    def _write(self, work: _Work) -> None:
        original = self._original(work.path)
        with self._kept.door():
            with self._turn.taken():
                self._hold()
            scans = self._write_scans(work)
            replace_file(self._file, self._bytes(work, original, scans), self._turn.taken)

    def _write_scans(self, work: _Work) -> dict[str, str]:
        """Write the scans that are not there yet; name → hash of all."""
        hashes: dict[str, tuple[bytes, str]] = {}
        for name in dict.fromkeys(scan.file for scan in work.design.scans):
            data = work.pictures.get(name)
            if data is None:
                continue
            known = self._hashes.get(name)
            # The same bytes object cannot have changed: it need not be hashed again.
            digest = known[1] if known and known[0] is data else hashlib.sha256(data).hexdigest()
            hashes[name] = (data, digest)
            blob = self._folder / "scans" / digest
            if not blob.exists() or blob.stat().st_size != len(data):
                blob.parent.mkdir(parents=True, exist_ok=True)
                replace_file(blob, data)
        self._hashes = hashes
        return {name: digest for name, (_, digest) in hashes.items()}

    def _remember(self, path: Path) -> None:
        self._opened = stamp_of(path)

    def _original(self, path: Path | None) -> Stamp | None:
        if path is None:
            return None
        for stamp in (self._opened, self._seen):
            if stamp is not None and stamp.path == os.fsencode(path):
                return stamp
        self._seen = stamp_of(path)
        return self._seen

    def _hold(self) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)
        if self._lock is not None and not self._file.with_suffix(".lock").exists():
            # Whoever tidied the folder took it away: others would take this work for a dead window's.
            self._lock.unlock()
            self._lock = None
        if self._lock is None:
            try:
                self._lock = locked(self._file)
            except UnsureError as error:
                raise OSError(str(error)) from None
            if self._lock is None:
                raise OSError("the recovery folder cannot be locked")

    def _adopt(self, salvage: Salvage) -> tuple[Design, dict[str, bytes], Stamp | None]:
        kept, design, without = (self._copied if salvage.copy else self._made_ours)(salvage.file)
        pictures: dict[str, bytes] = {}
        for name, digest in kept.scans.items():
            with suppress(OSError):
                data = (self._folder / "scans" / digest).read_bytes()
                if hashlib.sha256(data).hexdigest() == digest:
                    pictures[name] = data
                    self._hashes[name] = (data, digest)
        # What comes back in part must not be saved over the file that may hold the whole.
        self._opened = None if without else kept.original
        return design, pictures, self._opened

    def _copied(self, file: Path) -> tuple[Kept, Design, tuple[str, ...]]:
        try:
            return load(file)
        except OSError as error:
            raise DesignFileError(
                [f"the work could not be read: {error.strerror or error}; try again"]
            ) from None

    def _made_ours(self, file: Path) -> tuple[Kept, Design, tuple[str, ...]]:
        lock = self._locked(file)
        if lock is None:
            raise DesignFileError(["another window has taken this work up; look for it there"])
        try:
            with self._kept.door():
                kept, design, without = load(file)
                # Where a full disk does not let it be made ours it stays, and this is a copy of it.
                with suppress(OSError):
                    self._hold()
                    if without:
                        # What could not be read is in that file alone: it stays, out of the way.
                        replace_file(self._file, msgspec.json.encode(replace(kept, original=None)))
                        self._kept.put_aside(file)
                    else:
                        # Renamed, not copied: at no moment is the work in no file, and no room is needed.
                        file.replace(self._file)
        except FileNotFoundError:
            raise DesignFileError(["this work is gone; another window took it up or discarded it"]) from None
        except OSError as error:
            raise DesignFileError(
                [f"the work could not be taken up: {error.strerror or error}; try again"]
            ) from None
        finally:
            lock.unlock()
        return kept, design, without

    def _locked(self, file: Path) -> QLockFile | None:
        try:
            return locked(file, TURN_MS)
        except UnsureError as error:
            raise DesignFileError([f"the work could not be set aside: {error}; try again"]) from None

    def _throw_away(self, salvage: Salvage) -> None:
        lock = self._locked(salvage.file)
        if lock is None:
            return
        try:
            salvage.file.unlink(missing_ok=True)
        except OSError as error:
            raise DesignFileError(
                [f"the work could not be discarded: {error.strerror or error}; try again"]
            ) from None
        finally:
            lock.unlock()
        self._sweep()

    def _delete_aside(self, found: Aside) -> None:
        try:
            self._kept.delete_aside(found)
        except OSError as error:
            raise DesignFileError(
                [f"not all could be deleted: {error.strerror or error}; look at the folder"]
            ) from None
        finally:
            self._sweep()

    def _sweep(self) -> None:
        self._kept.sweep(self._file)


def _data_folder() -> Path:
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppDataLocation)
    return Path(place) / "recovery"
