"""What a window that was ended left behind, against the log that it wrote while it lived."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(Path(__file__).resolve().parent))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from killed_window import digest  # noqa: E402

from app.keeping.recovery import Recovery  # noqa: E402
from app.keeping.recovery_file import load  # noqa: E402
from core.design_file import DesignFileError, read  # noqa: E402

CHILD = Path(__file__).with_name("killed_window.py")
SAMPLE = ROOT / "sample_designs" / "long-meadow-2000.sternpost"
SLOWEST_START_S = 300.0
PICTURE_S = 2.0
"""A scan that was opened so long before the end has its picture on the disk."""
UNWARNED_S, MOST_UNWARNED = 1.0, 2
"""From the first gesture that a full disk costs to the last one that finds no warning, or so many at once."""
State = tuple[str, int]
"""Digest of a design, and how many nodes are half drawn."""


@dataclass
class Outcome:
    """What one ending left behind."""

    kind: str
    by: str = ""
    """The signal, where the kind does not say it."""
    faults: list[str] = field(default_factory=list)
    started_s: float = 0.0
    """From the start of the process until it was drawn in."""
    worked_s: float = 0.0
    gestures: int = 0
    kept: bool = False
    """Whether there was anything to recover; else all was saved."""
    nodes: int = 0
    """How many half-drawn nodes came back."""
    more: bool = False
    """The gesture that was just ending was kept as well."""
    lost: int = 0
    """Finished gestures that did not come back."""
    unwarned: int = 0
    """Those of them that ended before the warning stood."""
    lag_ms: float | None = None
    """Where any were lost: how long before the end the first of them had ended."""
    slow: bool = False
    """The disk was slow, and they were left to the worker."""
    pictures: int = 0
    """Scans just opened whose picture was still on its way to the disk."""
    warned: bool = False
    """The warning that work cannot be kept safe stood at some time."""
    room: bool = False
    """There was room on the disk again, and the warning had gone."""
    again: bool = False
    """Whether a real next start was looked at."""


@dataclass(frozen=True)
class Line:
    """One line of the child's log."""

    at: float
    what: str
    state: State = ("", 0)
    scans: int = 0
    marks: frozenset[str] = frozenset()
    words: str = ""


def line_of(written: bytes) -> Line:
    """A line as it was written."""
    at, what, *rest = written.decode().split(" ")
    if what == "box" or len(rest) < 3:
        return Line(float(at), what, words=" ".join(rest))
    return Line(float(at), what, (rest[0], int(rest[1])), int(rest[2]), frozenset(rest[3:]))


class Listening:
    """The child's log, read from a pipe for as long as it lives; what it wrote outlives it."""

    def __init__(self) -> None:
        # The second end is for the child alone: ``begun`` once it has it.
        self._here, self.there = os.pipe()
        self.lines: list[Line] = []
        self._news = threading.Condition()
        self._ended = False
        self._thread = threading.Thread(target=self._read)

    def begun(self) -> None:
        """The child has its end of the pipe."""
        os.close(self.there)
        self._thread.start()

    def _read(self) -> None:
        with os.fdopen(self._here, "rb") as pipe:
            for written in pipe:
                with self._news:
                    if written.endswith(b"\n"):
                        self.lines.append(line_of(written[:-1]))
                    self._news.notify_all()
        with self._news:
            self._ended = True
            self._news.notify_all()

    def hears(self, what: str, patience: float, after: float = 0.0, times: int = 1) -> bool:
        """True if so many such lines later than ``after`` are there or come within ``patience`` seconds."""

        def there() -> bool:
            return sum(line.what == what and line.at > after for line in self.lines) >= times

        with self._news:
            self._news.wait_for(lambda: self._ended or there(), patience)
            return there()

    def close(self) -> None:
        """Wait for the last line; the child is dead."""
        self._thread.join()


@dataclass(frozen=True)
class Full:
    """When a disk was full; ``freed`` where there was room again before the end."""

    filled: float
    freed: float | None = None


@cache
def _first() -> str:
    return digest(read(SAMPLE).design)


def look(
    outcome: Outcome, lines: list[Line], design: Path, ended: float, full: Full | None = None
) -> None:
    """The saved file and what recovery kept, against the log."""
    commits = [line for line in lines if line.what in ("commit", "saved")]
    outcome.gestures = len(commits)
    outcome.warned = any(line.what == "warned" for line in lines)
    if full is None and outcome.warned:
        outcome.faults.append("it warned that work cannot be kept, with room enough")
    freed = None if full is None else full.freed
    outcome.room = freed is not None and any(_safe(line, freed) for line in lines)
    if _saved_is_whole(outcome, lines, design):
        _kept_is_last(outcome, lines, commits, design, ended, full)
    if full is None:
        outcome.faults += [f"a box came up: {line.words}" for line in lines if line.what == "box"]
    if any(line.what == "unshown" for line in lines):
        outcome.faults.append("the window does not show whether work can be kept")
    _warning_stood(outcome, lines)


def _saved_is_whole(outcome: Outcome, lines: list[Line], design: Path) -> bool:
    try:
        found = read(design)
    except DesignFileError as error:
        outcome.faults.append(f"the saved file is damaged: {error}")
        return False
    told = [line for line in lines if line.what in ("saving", "saved", "refused")]
    saved = [line.state[0] for line in told if line.what == "saved"]
    under_way = [line.state[0] for line in told[-1:] if line.what == "saving"]
    if digest(found.design) not in {saved[-1] if saved else _first(), *under_way}:
        outcome.faults.append("the saved file holds a state that was never saved last")
    if found.troubles:
        outcome.faults.append(f"the saved file lost a scan: {found.troubles[0]}")
    return True


def _kept_is_last(
    outcome: Outcome, lines: list[Line], commits: list[Line], design: Path, ended: float, full: Full | None
) -> None:
    try:
        kept = kept_state(design.parent)
    except DesignFileError as error:
        outcome.faults.append(str(error))
        return
    outcome.kept = kept is not None
    saved = (digest(read(design).design), 0)
    have, missing = kept or (saved, 0)
    outcome.nodes = have[1]
    last = commits[-1].state if commits else (_first(), 0)
    soft = outcome.kind in ("SIGTERM", "SIGHUP", "SIGINT") or outcome.by == "SIGTERM"
    if missing:
        old = [line for line in commits if line.at < ended - PICTURE_S]
        outcome.pictures = missing
        if full is None and old and missing > (commits[-1].scans - old[-1].scans):
            outcome.faults.append("a scan opened long before has no picture")
    if have == last:
        return
    # A signal is heard, and a display dies, between the press and the release of a click, too.
    midway = outcome.kind != "SIGKILL" and have == (last[0], last[1] + 1)
    if midway or have in [line.state for line in lines[-1:] if line.what == "ending"]:
        outcome.more = True
        return
    states = [line.state for line in commits]
    if have not in states and have != (_first(), 0):
        outcome.faults.append("what was kept is no state that there was")
        return
    index = max((i for i, state in enumerate(states) if state == have), default=-1)
    gone = commits[index + 1:]
    outcome.lost, outcome.lag_ms = len(gone), 1000 * (ended - gone[0].at)
    outcome.slow = all("left" in line.marks for line in gone)
    most = 0 if soft else 1
    if full is not None and not outcome.room:
        # What could be kept no more: all of it after the disk was full, the warning up.
        unwarned = [line.at for line in gone if "warned" not in line.marks]
        outcome.unwarned = len(unwarned)
        late = len(unwarned) > MOST_UNWARNED and unwarned[-1] - unwarned[0] > UNWARNED_S
        early = sum(line.at < full.filled for line in gone)
        if early > 1 or late:
            outcome.faults.append(
                f"{len(gone)} gestures were lost, {early} before the disk was full, "
                f"{outcome.unwarned} before the warning stood"
            )
        return
    saving = [(line.state[0], 0) for line in lines if line.what == "saving"][-1:]
    if len(gone) > most and not (kept is None and last in saving):
        slow = ", left to the worker by a slow disk" if outcome.slow else ""
        outcome.faults.append(f"{len(gone)} finished gestures were lost{slow}")


def _safe(line: Line, after: float) -> bool:
    return line.what == "safe" and line.at > after


def _warning_stood(outcome: Outcome, lines: list[Line]) -> None:
    """From the moment it came until it was told to go, every gesture found it there, and no other did."""
    up = False
    for line in lines:
        if line.what in ("warned", "safe"):
            up = line.what == "warned"
        elif line.what in ("commit", "ending") and ("warned" in line.marks) != up:
            outcome.faults.append("the warning came or went by itself")
            return


def kept_state(place: Path) -> tuple[State, int] | None:
    """What recovery holds, without taking it, and how many of its scans have no picture.

    DesignFileError where there is something that is not offered.
    """
    folders = list(place.glob("data/**/recovery"))
    if not folders:
        return None
    recovery = Recovery(folders[0])
    try:
        found = recovery.found()
        if recovery.passed_over:
            raise DesignFileError([f"kept work is passed over: {recovery.passed_over[0]}"])
        if not found:
            return None
        kept, design, without = load(found[0].file)
        if without or len(found) > 1:
            raise DesignFileError([f"{len(found)} works are kept, the newest without {without}"])
        trace = found[0].trace
        names = {scan.file for scan in design.scans}
        there = sum(_is_there(folders[0] / "scans" / kept.scans.get(name, "none")) for name in names)
        return (digest(design), 0 if trace is None else len(trace.places)), len(names) - there
    finally:
        recovery.stop()


def _is_there(picture: Path) -> bool:
    return picture.is_file() and hashlib.sha256(picture.read_bytes()).hexdigest() == picture.name


def look_again(outcome: Outcome, environment: Mapping[str, str], again: Path, design: Path) -> None:
    """A real next start: is the work offered, is it what was kept, does the saved file stay?"""
    kept = kept_state(design.parent)
    before = design.read_bytes()
    try:
        done = subprocess.run(
            [sys.executable, str(CHILD), str(again), "--recover"], env=dict(environment),
            timeout=SLOWEST_START_S, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False,
        )
    except subprocess.TimeoutExpired:
        outcome.faults.append("the next start did not come to an end")
        return
    written = again.read_bytes().splitlines() if again.exists() else []
    if done.returncode or len(written) != 1:
        outcome.faults.append(f"the next start ended with {done.returncode}: {done.stderr.decode()[-300:]}")
        return
    line = line_of(written[0])
    if kept is not None and (line.what, line.state) != ("recovered", kept[0]):
        outcome.faults.append(f"the next start gave back {line.what}, not the kept state")
    if kept is None and line.what != "nothing":
        outcome.faults.append("the next start offered work where none was kept")
    if design.read_bytes() != before:
        outcome.faults.append("taking the work back wrote to the saved file")
    outcome.again = True
