"""A few hundred spoiled files for every reader, the same ones each time; the long run is a script.

See ``tests/endurance/fuzzing.py``; the recorded run's figures are in DEVELOPERS.md.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.append(str(Path(__file__).resolve().parents[1] / "endurance"))

from fuzzing import STEPS, TARGETS, ForbiddenError, guarded, spoiled, try_one

CASES = {
    "container": 120, "design": 120, "scan": 120, "pdf": 40, "svg": 120, "dxf": 12, "units": 150,
    "words": 120, "beside": 80, "bombs": 120, "mending": 60,
}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", sorted(TARGETS))
def test_no_spoiled_file_breaks_a_reader(
    qapp: object, capfd: pytest.CaptureFixture[str], qtlog: pytest.LogCaptureFixture, name: str
) -> None:
    # What the picture libraries print of a damaged TIFF is theirs, and no fault here.
    @settings(max_examples=CASES[name], suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 99), st.integers(0, 99), STEPS)
    def attempt(which: int, graft: int, steps: list[tuple[str, float, float, int]]) -> None:
        try_one(TARGETS[name], which, graft, steps)

    with qtlog.disabled():  # type: ignore[attr-defined]
        attempt()


def test_the_guard_notices_what_it_is_there_for(tmp_path: Path) -> None:
    with pytest.raises(ForbiddenError, match="open"), guarded():
        (tmp_path / "escaped").write_bytes(b"x")
    with guarded():
        (tmp_path / "escaped").read_bytes()


def test_spoiling_changes_files() -> None:
    sound = TARGETS["svg"].corpus()[0]
    assert spoiled(sound, b"", []) == sound
    assert spoiled(sound, b"", [("cut", 0.5, 0.0, 0)]) == sound[: len(sound) // 2]
    assert len(spoiled(sound, sound, [("graft", 0.5, 0.2, 200)])) == len(sound) + 800
