"""A walk through every command of the real window, everything checked after every step.

    python tests/endurance/walking.py [STEPS] [SEED] [TRAIL]

STEPS steps (10 000) drawn from SEED (1). Every 200 the readings of a fresh process are compared on
the saved file, every 500 undo goes all the way back and redo all the way on. TRAIL may name a file
that is given a line a step. Ends with 1 where there was a fault. ``machine.py``
lets Hypothesis draw the steps instead.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent))

import steps_figures
import steps_files
import steps_outlines
import steps_redesign
import steps_sheets
from desk import Desk, own_home, shown_window
from holding import Holding
from PySide6.QtGui import QGuiApplication
from steps import OFTEN, STEPS, Step

from core.design import EMPTY

ROOMS = (steps_outlines, steps_sheets, steps_figures, steps_redesign, steps_files)
"""Where the steps stand; importing them names them."""
FRESH_EVERY, BACK_EVERY = 200, 500
MOST_FAULTS = 20


class Walk:
    """A desk, and what must hold there after every step."""

    def __init__(self, desk: Desk, *, scans: bool = True) -> None:
        self.desk = desk
        self.counts: Counter[str] = Counter()
        steps_files.open_at_first(desk, scans=scans)
        self.holding = Holding(desk)

    def do(self, name: str, numbers: Random) -> None:
        """One step by its name, with numbers for what it leaves open, and the checks after it."""
        desk = self.desk
        desk.doing = f"step {sum(self.counts.values()) + 1} ({name})"
        self.counts[name] += 1
        function: Step = STEPS[name]
        try:
            function(desk, numbers)
            desk.settle()
            self.holding.check()
        except Exception as error:
            desk.tell(error)

    def end(self) -> None:
        """Undo all the way and redo, and nothing listens any more."""
        self.desk.doing = "the end"
        self.desk.window.side.close()
        self.desk.settle()
        self.holding.there_and_back()
        self.holding.stop()


def main() -> int:
    """As the module says; 1 where there was a fault."""
    steps = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    trail = sys.argv[3] if len(sys.argv) > 3 else os.devnull
    with tempfile.TemporaryDirectory() as place, Path(trail).open("w", buffering=1) as told_to:
        folder = Path(place)
        own_home(folder / "home")
        desk = Desk(shown_window(), folder)
        desk.hear_qt()
        walk, begun, told = Walk(desk), time.monotonic(), 0
        for number in range(1, steps + 1):
            # Each step has numbers of its own, so that a walk can be gone again from its trail.
            numbers = Random(f"{seed}:{number}")
            name = numbers.choice(OFTEN)
            print(number, name, len(desk.document._done), file=told_to)
            walk.do(name, numbers)
            if number % FRESH_EVERY == 0:
                walk.holding.in_a_fresh_process(folder)
            if number % BACK_EVERY == 0:
                walk.holding.there_and_back()
            for fault in desk.faults[told:]:
                print(f"FAULT {fault}", flush=True)
            told = len(desk.faults)
            if number % 500 == 0:
                print(f"{number} steps, {time.monotonic() - begun:.0f} s, {told} faults", flush=True)
            if told >= MOST_FAULTS:
                break
        walk.end()
        for fault in desk.faults[told:]:
            print(f"FAULT {fault}")
        took = time.monotonic() - begun
        print(f"{sum(walk.counts.values())} steps, seed {seed}, {took:.0f} s, {len(desk.faults)} faults")
        print(", ".join(f"{name} {count}" for name, count in sorted(walk.counts.items())))
        desk.leave()
        window = desk.window
        window.canvas.hand.leave()
        window.document.abort()
        window.document.start(EMPTY)
        window.close()
        # Without a screen what was copied outlives the interpreter, and ends in a crash.
        QGuiApplication.clipboard().clear()
        desk.settle()
        return 1 if desk.faults else 0


if __name__ == "__main__":
    sys.exit(main())
