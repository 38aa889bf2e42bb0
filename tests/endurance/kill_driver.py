"""End the window by SIGKILL and other signals at random moments, and count what the next start gives back.

    python tests/endurance/kill_driver.py [TIMES] [SEED]

Two windows at a time; of ten, seven end by SIGKILL, one each by SIGTERM, SIGHUP and SIGINT. After each:
the saved file must be whole and hold a state that was being saved; what recovery holds must be the last
finished gesture with all that was half drawn, or the one before it where a SIGKILL came while that was on
its way to the disk; every tenth time a real window is started and takes the work back. Exit status 1 where
anything else was found.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(Path(__file__).resolve().parent))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from killed_window import digest  # noqa: E402

from app.keeping.recovery import Recovery  # noqa: E402
from core.design_file import DesignFileError, read  # noqa: E402

CHILD = Path(__file__).with_name("killed_window.py")
SAMPLE = ROOT / "sample_designs" / "long-meadow-2000.sternpost"
SLOWEST_START_S = 300.0
SIGNALS = [signal.SIGKILL] * 7 + [signal.SIGTERM, signal.SIGHUP, signal.SIGINT]
State = tuple[str, int]
"""Digest of a design, and how many nodes are half drawn."""


@dataclass
class Outcome:
    """What one kill left behind."""

    faults: list[str] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    nodes: int = 0
    """How many half-drawn nodes came back."""
    lag_ms: float | None = None
    """Where the last finished gesture was lost: how long before the kill it had ended."""


@dataclass(frozen=True)
class Line:
    """One line of the child's log."""

    at: float
    what: str
    state: State = ("", 0)
    left: bool = False
    """Whether it was left to the worker, the disk having been slow."""


def lines_of(log: Path) -> list[Line]:
    """The whole lines of a log."""
    if not log.exists():
        return []
    whole = log.read_bytes().split(b"\n")[:-1]
    found = []
    for words in (line.decode().split() for line in whole):
        state = (words[2], int(words[3])) if len(words) > 3 else ("", 0)
        found.append(Line(float(words[0]), words[1], state, len(words) > 4))
    return found


def one_kill(number: int, seed: int) -> Outcome:
    """Start a window, let it edit, kill it, and look."""
    outcome = Outcome()
    numbers = random.Random(f"{seed}-{number}")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        design, log, scan = place / "work.sternpost", place / "log", place / "sheet.png"
        shutil.copy(SAMPLE, design)
        draw_scan(scan)
        environment = {
            **os.environ, "HOME": str(place / "home"), "XDG_DATA_HOME": str(place / "data"),
            "XDG_CONFIG_HOME": str(place / "config"), "QT_QPA_PLATFORM": "offscreen",
        }
        command = [sys.executable, str(CHILD), str(log), str(design), str(scan), str(number)]
        child = subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        )
        begun = time.monotonic()
        while not any(line.what == "begin" for line in lines_of(log)):
            if child.poll() is not None or time.monotonic() - begun > SLOWEST_START_S:
                child.kill()
                _, said = child.communicate()
                outcome.faults.append(f"the window never began ({child.returncode}): {said.decode()[-300:]}")
                return outcome
            time.sleep(0.01)
        time.sleep(numbers.uniform(0.0, 2.0))
        killed = time.monotonic()
        ended_by = numbers.choice(SIGNALS)
        child.send_signal(ended_by)
        try:
            _, said = child.communicate(timeout=SLOWEST_START_S)
        except subprocess.TimeoutExpired:
            child.kill()
            child.communicate()
            outcome.faults.append(f"{ended_by.name} did not end it")
            return outcome
        outcome.kinds.append(f"by {ended_by.name}")
        soft = ended_by is not signal.SIGKILL
        if child.returncode != (128 + ended_by if soft else -ended_by):
            outcome.faults.append(f"it died of itself ({child.returncode}): {said.decode()[-300:]}")
            return outcome
        look(outcome, lines_of(log), design, killed, place, soft=soft)
        if number % 10 == 0 and not outcome.faults:
            look_again(outcome, lines_of(log), environment, log, design)
    return outcome


def draw_scan(path: Path) -> None:
    """A sheet of a few megapixels, so that opening it takes a while."""
    from PIL import Image, ImageDraw

    sheet = Image.new("L", (3000, 2000), 240)
    ImageDraw.Draw(sheet).line((200, 900, 2800, 1100), fill=20, width=6)
    sheet.save(path)


def look(
    outcome: Outcome, lines: list[Line], design: Path, killed: float, place: Path, *, soft: bool
) -> None:
    """The file and what recovery kept, against the log; ``soft`` where the window was asked to end."""
    first = digest(read(SAMPLE).design)
    try:
        found = read(design)
    except DesignFileError as error:
        outcome.faults.append(f"the saved file is damaged: {error}")
        return
    saved = [line.state[0] for line in lines if line.what == "saved"]
    saving = [line.state[0] for line in lines if line.what == "saving"]
    whole = {first if not saved else saved[-1], *saving[-1:]}
    if digest(found.design) not in whole:
        outcome.faults.append("the saved file holds a state that was never saved last")
    if found.troubles:
        outcome.faults.append(f"the saved file lost a scan: {found.troubles[0]}")
    commits = [line for line in lines if line.what in ("commit", "saved")]
    last = commits[-1].state if commits else (first, 0)
    before = commits[-2].state if len(commits) > 1 else (first, 0)
    kept = kept_state(place)
    outcome.kinds.append("in recovery" if kept else "nothing to recover")
    have = kept or (digest(found.design), 0)
    if have[1]:
        outcome.kinds.append("with a trace half drawn")
        outcome.nodes = have[1]
    if have == last:
        return
    ending = [line.state for line in lines[-1:] if line.what == "ending"]
    # A signal is heard between the press and the release of a click, too.
    if have in ending or (soft and have == (last[0], last[1] + 1)):
        outcome.kinds.append("the gesture that was just ending was kept as well")
        return
    if not soft and (have == before or (kept is None and last in [(one, 0) for one in saving[-1:]])):
        outcome.lag_ms = 1000 * (killed - commits[-1].at)
        slow = ", left to the worker by a slow disk" if commits and commits[-1].left else ""
        outcome.kinds.append(f"the last finished gesture was lost{slow}")
        return
    outcome.faults.append("more than one finished gesture was lost")


def kept_state(place: Path) -> State | None:
    """What recovery holds, without taking it."""
    folders = list(place.glob("data/**/recovery"))
    if not folders:
        return None
    recovery = Recovery(folders[0])
    try:
        from app.keeping.recovery_file import load

        found = recovery.found()
        if not found:
            return None
        trace = found[0].trace
        return digest(load(found[0].file)[1]), 0 if trace is None else len(trace.places)
    finally:
        recovery.stop()


def look_again(
    outcome: Outcome, lines: list[Line], environment: dict[str, str], log: Path, design: Path
) -> None:
    """A real next start: is the work offered, and is it the last state?"""
    kept = kept_state(log.parent)
    before = design.read_bytes()
    again = log.with_name("again")
    subprocess.run(
        [sys.executable, str(CHILD), str(again), "--recover"], env=environment, timeout=120, check=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )
    (line,) = lines_of(again)
    if kept is not None and (line.what, line.state) != ("recovered", kept):
        outcome.faults.append(f"the next start gave back {line.what}, not the kept state")
    if kept is None and line.what != "nothing":
        outcome.faults.append("the next start offered work where none was kept")
    if design.read_bytes() != before:
        outcome.faults.append("taking the work back wrote to the saved file")
    outcome.kinds.append("next start looked at")


def main() -> int:
    """Kill so many times, and print what was found."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    start = time.monotonic()
    kinds: Counter[str] = Counter()
    lags: list[float] = []
    nodes = 0
    faults: list[str] = []
    with ThreadPoolExecutor(2) as pool:
        for number, outcome in enumerate(pool.map(lambda n: one_kill(n, seed), range(times))):
            kinds.update(outcome.kinds)
            nodes += outcome.nodes
            faults += [f"{number}: {fault}" for fault in outcome.faults]
            if outcome.lag_ms is not None:
                lags.append(outcome.lag_ms)
    print(f"{times} kills in {time.monotonic() - start:.0f} s, seed {seed}")
    for kind, count in sorted(kinds.items()):
        print(f"  {kind}: {count}")
    print(f"  half-drawn nodes that came back: {nodes}")
    if lags:
        print(f"  lost gestures had ended {min(lags):.0f} to {max(lags):.0f} ms before the kill")
    print("\n".join(faults) or "  no faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
