"""A small part of the kill driver: a window that is drawn in, ended, and what it leaves.

The death of a display needs an X server, which the tests do without: it is in the driver alone.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).resolve().parents[2] / "endurance"))

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="pipes by name, prlimit")


@pytest.mark.parametrize("number, kind", [(2, "SIGKILL"), (9, "SIGTERM"), (4, "disk")])
def test_a_window_that_is_ended_in_the_midst_of_work_leaves_all_of_it(number: int, kind: str) -> None:
    from kill_driver import one_ending

    outcome = one_ending(number, 5, kind, gestures=range(1, 6), mount=False, again=False)
    assert not outcome.faults, outcome.faults
    assert outcome.gestures > 0
    assert outcome.warned == outcome.room == (kind == "disk")
