"""What always holds after a step, whatever was done: checked against the design's own bytes."""

from __future__ import annotations

import hashlib
import json
import math
import subprocess
import sys
from pathlib import Path

from desk import ROOT, Desk

from app.work.document import MOST_UNDONE, Change
from core.design import Design
from core.design_check import problems
from core.design_file import decode, encode, read, write
from core.stability.readings import Readings, ReadingsEngine

SAME = 1e-7
"""Overlays round to a grid of 1e-6 mm; what is kept from one state to the next was rounded another way."""
REACH = 1000.0
"""mm: what a figure of nearly nothing is measured against; a model aeroplane is about so long."""


class Holding:
    """Follows a desk: remembers the bytes of every state that undo can come back to."""

    def __init__(self, desk: Desk) -> None:
        self._desk, self._document = desk, desk.document
        self._marks: dict[int, bytes] = {}
        self._before = (0, 0)
        self._saved: Design | None = None
        self._begin()
        self.stop = self._document.listen(self._heard)

    @property
    def _depths(self) -> tuple[int, int]:
        return len(self._document._done), len(self._document._undone)

    def _digest(self) -> bytes:
        return hashlib.sha256(encode(self._document.committed)).digest()

    def _begin(self) -> None:
        self._before = self._depths
        self._marks = {self._before[0]: self._digest()}

    def _heard(self, change: Change) -> None:
        if change.what in ("preview", "proposal", "trace"):
            return
        now, before = self._depths, self._before
        if change.what == "file":
            if change.name == "opened" or now != before:
                self._saved = self._document.committed
                self._begin()
            elif self._digest() != self._marks.get(now[0]):
                # Saving under a first name gives the design its title, in every state of undo.
                self._begin()
            return
        self._before = now
        mark, held = self._digest(), self._marks.get(now[0])
        full = before[0] == MOST_UNDONE and now == (MOST_UNDONE, 0) and mark != held
        went_back = now == (before[0] - 1, before[1] + 1)
        went_on = now == (before[0] + 1, before[1] - 1) and before[1] > 1
        if full:
            self._marks = {depth - 1: old for depth, old in self._marks.items() if depth}
        elif now == before or went_back or went_on:
            if mark != held and held is not None:
                self._desk.fault(f"undo, redo or a gesture dropped left other bytes, depth {now}")
        elif now == (before[0] + 1, 0):
            self._marks = {depth: old for depth, old in self._marks.items() if depth < now[0]}
        else:
            self._desk.fault(f"the entries of undo and redo went from {before} to {now}")
        self._marks[now[0]] = mark

    def check(self) -> None:
        """After a step: nothing is kept back in the window, and everything holds."""
        desk, document = self._desk, self._document
        # A run of arrow keys is one entry, and goes on until another key is pressed.
        desk.canvas.hand.settle()
        design = document.committed
        say = desk.fault
        if document.busy:
            say("a gesture is under way after the step")
            document.abort()
        if document.proposal is None and document.design is not document.committed:
            say("what is shown is not what is committed, and is no proposal")
        wrong = problems(design)
        if wrong:
            say(f"the design has problems: {wrong[:3]}")
        data = encode(design)
        again = decode(data)
        if encode(again) != data:
            say("encoding what was decoded gives other bytes")
        if again != design:
            say("the design that was encoded and decoded is another one")
        selection = desk.window.picked.now
        if selection != selection.within(document.committed):
            say(f"the selection names what does not exist: {selection}")
        readout, fresh = desk.window.readout, ReadingsEngine().read(again)
        for words in differences(readout.committed_readings, fresh):
            say(f"a reading of the design is not that of the file: {words}")
        if document.proposal is not None:
            fresh = ReadingsEngine().read(decode(encode(document.design)))
            if desk.window.strip.proposal.text() != document.proposal.words:
                say("nothing says that what is on view is a proposal")
        for words in differences(readout.readings, fresh):
            say(f"a reading shown is not that of what is shown: {words}")
        if len(document._done) > MOST_UNDONE:
            say(f"{len(document._done)} entries of undo")
        missing = [s.file for s in design.scans if s.file not in document.pictures]
        if missing:
            say(f"the bytes of {missing} are gone")
        self._dirty_tells_the_truth()

    def _dirty_tells_the_truth(self) -> None:
        document, desk = self._document, self._desk
        if document.path is not None and not document.changed_behind:
            held = read(document.path).design
        elif self._saved is not None:
            held = self._saved
        else:
            return
        if document.dirty != (held != document.committed):
            desk.fault(f"unsaved is said to be {document.dirty}, but the file says otherwise")
        if desk.window.isWindowModified() != (document.dirty or document.trace is not None):
            desk.fault("the mark in the title of the window does not tell whether there is unsaved work")

    def there_and_back(self) -> None:
        """All the way back gives the first bytes, all the way on the last ones; each step its own."""
        desk, document = self._desk, self._document
        desk.canvas.hand.leave()
        document.withdraw()
        done, undone = self._depths
        last = encode(document.committed)
        while document.redo_name is not None:
            document.redo()
        for _ in range(undone):
            document.undo()
        if encode(document.committed) != last:
            desk.fault("redo all the way and back came to other bytes")
        for _ in range(done):
            document.undo()
        if document.undo_name is not None or 0 not in self._marks:
            desk.fault("undo all the way did not come to the first state")
        elif self._digest() != self._marks[0]:
            desk.fault("undo all the way did not give the first bytes")
        for _ in range(done):
            document.redo()
        if encode(document.committed) != last:
            desk.fault("redo all the way did not give the last bytes")
        desk.settle()

    def in_a_fresh_process(self, folder: Path) -> None:
        """The same readings from ``sternpost readings --json`` in a process of its own."""
        file = folder / "fresh" / "design.sternpost"
        file.parent.mkdir(exist_ok=True)
        write(file, self._document.committed, self._document.pictures)
        done = subprocess.run(
            [sys.executable, "-m", "app", "readings", str(file), "--json"], cwd=ROOT, check=False,
            capture_output=True, text=True, timeout=60,
        )
        if done.returncode:
            self._desk.fault(f"sternpost readings ended with {done.returncode}: {done.stderr}")
            return
        told = json.loads(done.stdout)["readings"]
        shown = self._desk.window.readout.committed_readings
        if list(told) != list(shown.table):
            self._desk.fault("a fresh process gives other keys")
        area = _all_area(shown)
        for key, reading in shown.table.items():
            other = told[key]
            if (reading.missing, reading.verdict) != (other["missing"], other["verdict"]):
                if not _next_to_nothing(shown):
                    self._desk.fault(f"a fresh process says otherwise of {key}: {reading} against {other}")
            elif (
                reading.value is not None and not _next_to_nothing(shown)
                and not _near(key, reading.value, other["value"], area)
            ):
                self._desk.fault(f"a fresh process reads {key} as {other['value']}, not {reading.value}")


def _all_area(readings: Readings) -> float:
    side = readings.side
    return 1.0 + sum(abs(w) * p.moments.area for tally in (side.single, side.doubled) for p, w in tally)


def _near(key: str, one: float, other: float, area: float) -> bool:
    # Areas are what is left when others were taken away: they are as sure as the whole.
    floor = SAME * area if key.endswith("area") else SAME * REACH
    return math.isclose(one, other, rel_tol=SAME, abs_tol=floor)


def _next_to_nothing(readings: Readings) -> bool:
    """Whether next to nothing is left that the reading is taken from: then it is next to undetermined."""
    side = readings.side
    least = min(side.moments.area, side.tail_moments.area)
    return least < 1e-3 * _all_area(readings)


def differences(shown: Readings, fresh: Readings) -> list[str]:
    """Sentences on every reading in which the two differ: keys, missing texts, verdicts, values."""
    if list(shown.table) != list(fresh.table):
        return ["other keys"]
    found, area = [], _all_area(fresh)
    loose = _next_to_nothing(fresh)
    for key, reading in fresh.table.items():
        now = shown[key]
        if now.missing != reading.missing or now.verdict != reading.verdict:
            if not loose:
                found.append(
                    f"{key}: {now.missing} {now.verdict} against {reading.missing} {reading.verdict}"
                )
        elif now.value is not None and reading.value is not None and not loose:
            short = key == "cla_fraction" and (fresh.value("tail_arm") or 0.0) < 1.0
            if not short and not _near(key, now.value, reading.value, area):
                found.append(f"{key}: {now.value!r} against {reading.value!r}")
    return found
