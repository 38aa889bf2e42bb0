"""Hypothesis draws the steps of a walk through every command, and shrinks what breaks.

    python tests/endurance/machine.py [EXAMPLES] [STEPS]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent))

from desk import Desk, own_home, shown_window
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test
from steps import STEPS
from walking import Walk

from app.window.window import Window
from core.design import EMPTY

# Scans are decoded and refits worked out in threads: they belong to the long walk.
SLOW = {"open scan", "refit", "another design", "side window"}
QUICK = sorted(set(STEPS) - SLOW)


def walks(window: Window, folder: Path, examples: int, steps: int) -> None:
    """So many walks of at most so many steps; a step after which something does not hold is raised."""

    class AtTheWindow(RuleBasedStateMachine):
        """One walk: a sample, some steps, and all the way back."""

        def __init__(self) -> None:
            super().__init__()
            self.desk = Desk(window, Path(tempfile.mkdtemp(dir=folder)))
            window.document.start(EMPTY)
            window.canvas.take_hand("edit")
            self.walk = Walk(self.desk, scans=False)

        @rule(name=st.sampled_from(QUICK), numbers=st.randoms(use_true_random=False))
        def step(self, name: str, numbers: Random) -> None:
            self.walk.do(name, numbers)
            assert not self.desk.faults, self.desk.faults[0]

        def teardown(self) -> None:
            try:
                self.walk.end()
                assert not self.desk.faults, self.desk.faults[0]
            finally:
                self.desk.leave()

    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        AtTheWindow,
        settings=settings(
            derandomize=True, deadline=None, database=None, max_examples=examples, stateful_step_count=steps,
            suppress_health_check=list(HealthCheck),
        ),
    )


def main() -> None:
    """As the module says; a broken rule ends in its traceback and steps."""
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    steps = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        own_home(folder / "home")
        window = shown_window()
        walks(window, folder, examples, steps)
        window.canvas.hand.leave()
        window.document.start(EMPTY)
        window.close()
    print(f"{examples} walks of {steps} steps: everything held")


if __name__ == "__main__":
    main()
