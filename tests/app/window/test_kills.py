"""A small part of the kill driver: a window that is drawn in, ended by a signal, and what it leaves."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).resolve().parents[2] / "endurance"))

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")


@pytest.mark.parametrize("number, name", [(2, "SIGKILL"), (9, "SIGTERM")])
def test_a_window_that_is_ended_in_the_midst_of_work_leaves_all_of_it(number: int, name: str) -> None:
    from kill_driver import one_kill

    outcome = one_kill(number, seed=5)
    assert not outcome.faults, outcome.faults
    assert f"by {name}" in outcome.kinds
