"""Hypothesis draws the steps of a walk through every command, and shrinks what breaks.

    python tests/endurance/machine.py [EXAMPLES] [STEPS]

In a process of its own, and not in the suite: once, after a thousand other tests in one process, PySide
crashed in the middle of a walk (a segmentation fault under ``sendEvent``, Python 3.11), and would have
taken those tests along. Alone it has not been seen.
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

from core.design import EMPTY

# Scans are decoded and refits worked out in threads: they belong to the long walk.
SLOW = {"open scan", "refit", "another design", "side window"}
QUICK = sorted(set(STEPS) - SLOW)


def main() -> None:
    """As the module says; a broken rule ends in its traceback and steps."""
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    place = tempfile.TemporaryDirectory()
    folder = Path(place.name)
    own_home(folder / "home")
    window = shown_window()

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

    run_state_machine_as_test(
        AtTheWindow,
        settings=settings(
            derandomize=True, deadline=None, database=None, max_examples=examples, stateful_step_count=count,
            suppress_health_check=list(HealthCheck),
        ),
    )
    window.canvas.hand.leave()
    window.document.start(EMPTY)
    window.close()
    place.cleanup()
    print(f"{examples} walks of {count} steps: everything held")


if __name__ == "__main__":
    main()
