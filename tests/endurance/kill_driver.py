"""End the real window in the midst of work, in every way it may end, and see what the next start gives back.

    python tests/endurance/kill_driver.py [TIMES] [SEED] [KIND ...]

Two windows at a time, 200 of them unless told otherwise. Of ten, five end by SIGKILL, one each by SIGTERM,
SIGHUP and SIGINT, one by the death of its display (an Xvfb of its own), and one on a disk that becomes full
and, in half of the cases, has room again before the window is killed. KIND asks for these alone ("disk",
"display", "SIGTERM"). The small disk is a tmpfs where mounting is permitted (root, or ``unshare -rm python
…``), else a limit for the process.

After each: the saved file must be whole and hold a state that was being saved; what recovery holds must be
the last finished gesture with all that was half drawn, or the one before it where the window died while that
was on its way to the disk. On a full disk it must be the last state that could be kept; the warning must
stand for as long as none can, and go when there is room. After every death of a display, every full disk
(still full) and a tenth of the others a real window is started and takes the work back. One line an ending,
a table at the end; exit status 1 where anything else was found.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from kill_left import (
    CHILD,
    SAMPLE,
    SLOWEST_START_S,
    Full,
    Listening,
    Outcome,
    look,
    look_again,
)
from kill_places import Disk, Display, LimitedFiles, disk_in

MIXTURE = ("SIGKILL",) * 5 + ("SIGTERM", "SIGHUP", "SIGINT", "display", "disk")
MOST_WORK_S, PATIENCE_S = 10.0, 60.0
"""So long a window works at most, and so long one waits for a warning to come or go: keeping is tried again
every ten seconds where nobody does anything."""
X_GONE = 1
"""The status with which Qt ends a program that has lost its display."""


def kind_of(number: int, seed: int) -> str:
    """The kind of an ending: of every ten, those of the mixture in a random order."""
    ten = list(MIXTURE)
    random.Random(f"{seed}-{number // len(ten)}").shuffle(ten)
    return ten[number % len(ten)]


def one_ending(
    number: int, seed: int, kind: str, scan: Path | None = None, *, gestures: range = range(25),
    mount: bool = True, again: bool = True,
) -> Outcome:
    """Start a window, let it do one of these numbers of ``gestures``, end it soon after, and look.

    ``scan`` is the sheet that it opens. Without ``mount`` a full disk is a limit for the process; without
    ``again`` no next start is tried.
    """
    outcome, numbers = Outcome(kind), random.Random(f"{seed}-{number}")
    with tempfile.TemporaryDirectory() as folder, ExitStack() as stack:
        place, aside = Path(folder, "place"), Path(folder)
        place.mkdir()
        scan = scan or draw_scan(aside / "sheet.png")
        display = disk = None
        if kind == "display":
            display = Display()
            stack.callback(display.close)
        if kind == "disk":
            disk = disk_in(place) if mount else LimitedFiles()
            stack.callback(disk.close)
        design = place / "work.sternpost"
        shutil.copy(SAMPLE, design)
        environment = {
            **os.environ, "HOME": str(place / "home"), "XDG_DATA_HOME": str(place / "data"),
            "XDG_CONFIG_HOME": str(place / "config"), "QT_QPA_PLATFORM": "offscreen",
        }
        log = Listening()
        child = subprocess.Popen(
            [sys.executable, str(CHILD), f"/dev/fd/{log.there}", str(design), str(scan), str(number)],
            env={**environment, **({"QT_QPA_PLATFORM": "xcb", "DISPLAY": display.name} if display else {})},
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, pass_fds=[log.there],
        )
        log.begun()
        started = time.monotonic()
        if not log.hears("begin", SLOWEST_START_S):
            child.kill()
            said = child.communicate()[1].decode()
            outcome.faults.append(f"the window never began ({child.returncode}): {said[-300:]}")
            log.close()
            return outcome
        begun = time.monotonic()
        outcome.started_s = begun - started
        # By gestures, since a machine under load does few in a second; then anywhere within one.
        log.hears("commit", MOST_WORK_S, times=numbers.choice(gestures))
        time.sleep(numbers.uniform(0.0, 0.3))
        full = fill_up(outcome, numbers, log, disk, child.pid) if disk else None
        ended = time.monotonic()
        said = end(outcome, numbers, child, display)
        outcome.worked_s = ended - begun
        log.close()
        if said is not None:
            look(outcome, log.lines, design, ended, full)
            if "Traceback" in said:
                outcome.faults.append(f"it printed: {said[-300:]}")
            if again and not outcome.faults and (kind in ("display", "disk") or number % 10 == 0):
                look_again(outcome, environment, aside / "again", design)
    return outcome


def fill_up(outcome: Outcome, numbers: random.Random, log: Listening, disk: Disk, process: int) -> Full:
    """The disk becomes full under the window, and in half of the cases has room again."""
    filled = time.monotonic()
    disk.fill(process)
    way = numbers.choice(("at once", "full", "room", "room"))
    outcome.by = numbers.choice(("SIGKILL", "SIGTERM"))
    if way == "at once":
        time.sleep(numbers.uniform(0.0, 0.3))
        return Full(filled)
    if not log.hears("warned", PATIENCE_S, filled):
        outcome.faults.append("the disk is full and no warning came")
    time.sleep(numbers.uniform(0.0, 1.0))
    if way == "full":
        return Full(filled)
    freed = time.monotonic()
    disk.free()
    if not log.hears("safe", PATIENCE_S, freed):
        outcome.faults.append("there is room again and the warning stays")
    time.sleep(numbers.uniform(0.0, 1.0))
    return Full(filled, freed)


def end(
    outcome: Outcome, numbers: random.Random, child: subprocess.Popen[bytes], display: Display | None
) -> str | None:
    """End the window; what it said last, None where it did not end as it should."""
    if display is not None:
        by = numbers.choice((signal.SIGKILL, signal.SIGTERM))
        outcome.by = f"Xvfb {by.name}"
        display.die(by)
        wanted = X_GONE
    else:
        by = signal.Signals[outcome.by or outcome.kind]
        child.send_signal(by)
        wanted = -by if by is signal.SIGKILL else 128 + by
    try:
        said = child.communicate(timeout=PATIENCE_S)[1].decode()
    except subprocess.TimeoutExpired:
        child.kill()
        child.communicate()
        outcome.faults.append(f"{outcome.by or outcome.kind} did not end it")
        return None
    if child.returncode != wanted:
        outcome.faults.append(f"it ended with {child.returncode}, not {wanted}: {said[-300:]}")
        return None
    return said


def draw_scan(path: Path) -> Path:
    """A sheet of a few megapixels, so that opening it takes a while."""
    from PIL import Image, ImageDraw

    sheet = Image.new("L", (3000, 2000), 240)
    ImageDraw.Draw(sheet).line((200, 900, 2800, 1100), fill=20, width=6)
    sheet.save(path, compress_level=1)
    return path


def line_about(number: int, outcome: Outcome) -> str:
    """What is printed of one ending."""
    words = [
        f"{number:>4} {outcome.kind:<8}{outcome.by:<13} begun in {outcome.started_s:4.1f} s, ended after "
        f"{outcome.worked_s:4.2f} s, {outcome.gestures:>3} gestures:",
        "kept" if outcome.kept else "saved",
    ]
    if outcome.nodes:
        words.append(f"with {outcome.nodes} nodes half drawn")
    if outcome.more:
        words.append("and the gesture just ending")
    if outcome.lost:
        slow = ", left to the worker by a slow disk" if outcome.slow else ""
        words.append(f"without the last {outcome.lost} ({outcome.unwarned} unwarned{slow})")
    if outcome.kind == "disk":
        words.append("not warned" if not outcome.warned else "warned")
        if outcome.room:
            words.append("until there was room")
    if outcome.pictures:
        words.append(f"{outcome.pictures} pictures on their way")
    if outcome.again:
        words.append("next start looked at")
    return " ".join([*words, *(f"FAULT {fault}" for fault in outcome.faults)])


def table(outcomes: list[Outcome]) -> str:
    """The summary, a row a kind."""
    rows = [(
        "", "endings", "kept", "half drawn", "nodes", "one more", "lost", "unwarned", "lag ms", "starts",
        "faults",
    )]
    for kind in (*dict.fromkeys(MIXTURE), "all"):
        these = [one for one in outcomes if kind in (one.kind, "all")]
        if these:
            lags = [one.lag_ms for one in these if one.lag_ms is not None and one.kind != "disk"]
            rows.append((kind, *map(str, (
                len(these), sum(one.kept for one in these), sum(one.nodes > 0 for one in these),
                sum(one.nodes for one in these), sum(one.more for one in these),
                sum(one.lost for one in these), max(one.unwarned for one in these),
                f"{min(lags):.0f}-{max(lags):.0f}" if lags else "-", sum(one.again for one in these),
                sum(len(one.faults) for one in these),
            ))))
    return "\n".join("".join(f"{cell:>11}" for cell in row) for row in rows)


def main() -> int:
    """End so many windows, and print what was found."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    times, seed = (*numbers, *(200, 1)[len(numbers):])[:2]
    asked_for = [word for word in sys.argv[1:] if not word.isdigit()]
    if unknown := set(asked_for) - set(MIXTURE):
        print(f"no such kind: {', '.join(unknown)}; there are {', '.join(dict.fromkeys(MIXTURE))}")
        return 2
    kinds = [
        asked_for[number % len(asked_for)] if asked_for else kind_of(number, seed) for number in range(times)
    ]
    if "display" in kinds and not Display.can_be_had():
        print("for dying displays Xvfb is needed: apt-get install xvfb, or name other kinds")
        return 2
    start = time.monotonic()
    outcomes: list[Outcome] = []
    # Asked to end it lets the two windows under way come to theirs, and tells what was found so far.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        if "disk" in kinds:
            trial = disk_in(Path(folder))
            trial.close()
            limited = isinstance(trial, LimitedFiles)
            how = "no file may grow (setrlimit); mounting is not permitted" if limited else "a tmpfs each"
            print(f"full disks: {how}", flush=True)
        scan = draw_scan(Path(folder, "sheet.png"))
        jobs = pool.map(lambda n: one_ending(n, seed, kinds[n], scan), range(times))
        try:
            for number, outcome in enumerate(jobs):
                outcomes.append(outcome)
                print(line_about(number, outcome), flush=True)
        except KeyboardInterrupt:
            pool.shutdown(cancel_futures=True)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    took = time.monotonic() - start
    processor = (used.ru_utime + used.ru_stime) / max(len(outcomes), 1)
    print(f"\n{len(outcomes)} endings in {took:.0f} s, {processor:.1f} s of processor each, seed {seed}")
    print(table(outcomes))
    faults = [f"{i} {one.kind}: {fault}" for i, one in enumerate(outcomes) for fault in one.faults]
    print("\n".join(faults) or "no faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
