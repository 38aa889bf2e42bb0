"""Linkages: the horn for a wanted throw, what is refused, and what is warned of."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.bench.linkage import (
    NEAR_DEAD_DEG,
    PullPull,
    Throw,
    horn_for,
    pull_pull_of,
    set_back_without_slack,
    slack_words,
    throw_of,
)
from core.design_bench import Linkage
from tests.core.making import SOME

PLAIN = Linkage("l", 12.0, 15.0, 60.0)
PAIR = replace(PLAIN, pull_pull=True)
WIDE = st.floats(allow_nan=True, allow_infinity=True) | st.sampled_from((0.0, -1.0, 1e-320, 1e308))


def throw(linkage: Linkage) -> Throw:
    found = throw_of(linkage)
    assert isinstance(found, Throw)
    return found


@SOME
@given(
    st.floats(3.0, 60.0), st.floats(-3.0, 3.0), st.floats(15.0, 60.0), st.floats(3.0, 40.0), st.booleans(),
    st.booleans(),
)
def test_the_horn_gives_the_wanted_throw(
    arm: float, back: float, travel: float, wanted: float, pair: bool, cranked: bool
) -> None:
    linkage = Linkage(
        "l", arm, 1.0, 50.0, servo_travel_deg=travel, horn_set_back=back, pull_pull=pair,
        crank_in=arm if cranked else None, crank_out=0.8 * arm if cranked else None,
    )
    horn = horn_for(linkage, wanted)
    if isinstance(horn, str):
        assert horn.startswith("no horn gives so much")
        return
    assert throw(replace(linkage, horn=horn)).least == pytest.approx(wanted, abs=1e-5)
    assert throw(replace(linkage, horn=horn * 1.02)).least < wanted


def test_the_horn_of_a_parallelogram_is_the_arm() -> None:
    assert horn_for(Linkage("l", 14.0, 30.0, 60.0, servo_travel_deg=33.0), 33.0) == pytest.approx(14.0)


@pytest.mark.parametrize(("wanted", "words"), [
    (0.0, "greater than 0°"), (-5.0, "greater than 0°"), (81.0, "up to 80°"), (math.nan, "greater than 0°"),
])
def test_a_wanted_throw_has_limits(wanted: float, words: str) -> None:
    found = horn_for(PLAIN, wanted)
    assert isinstance(found, str) and words in found


def test_what_no_horn_can_do_is_refused() -> None:
    found = horn_for(replace(PLAIN, servo_arm=5.0, horn_set_back=20.0), 60.0)
    assert found == "no horn gives so much throw: use a longer servo arm or more travel of the servo"
    assert horn_for(replace(PLAIN, servo_travel_deg=0.0), 20.0) == (
        "the servo does not move: enter its travel"
    )


@pytest.mark.parametrize(("fields", "words"), [
    ({"servo_arm": 0.0}, "enter the servo arm"), ({"horn": 0.0}, "enter the horn"),
    ({"surface_chord": 0.0}, "enter the chord of the surface"),
    ({"crank_in": 12.0}, "enter both arms of the bell crank"),
    ({"crank_in": 12.0, "crank_out": 0.0}, "longer than 0"),
    ({"horn_set_back": 14.9}, "nearly as far as the horn is long"),
    ({"servo_travel_deg": 91.0}, "between 0° and 90°"),
    ({"servo_arm": math.nan}, "not finite"), ({"servo_arm": 2e6}, "out of reach"),
    ({"servo_arm": 40.0, "horn": 10.0}, "further than the rod can follow"),
    ({"servo_arm": 500_000.0}, "too unlike in length"),
])
def test_what_cannot_work_has_a_reason(fields: dict[str, Any], words: str) -> None:
    for linkage in (replace(PLAIN, **fields), replace(PAIR, **fields)):
        found = throw_of(linkage)
        assert isinstance(found, str) and words in found
    assert pull_pull_of(replace(PAIR, **fields)) == found


def test_a_rod_has_no_idle_wire() -> None:
    assert pull_pull_of(PLAIN) == "this linkage is a rod: choose pull-pull to check the wires"


@pytest.mark.parametrize(("fields", "named"), [
    ({"servo_travel_deg": 90 - NEAR_DEAD_DEG + 1, "horn": 40.0}, ["the servo arm comes"]),
    ({"servo_arm": 15.0, "horn": 15.2, "servo_travel_deg": 75.0}, ["the servo arm", "the horn", "come near"]),
    ({"crank_in": 12.0, "crank_out": 12.0, "horn": 40.0, "servo_travel_deg": 71.0}, ["the bell crank"]),
])
def test_near_dead_centre_is_warned_of(fields: dict[str, Any], named: list[str]) -> None:
    words = throw(replace(PLAIN, **fields)).near_dead
    assert all(name in words for name in named)


def test_far_from_dead_centre_nothing_is_said() -> None:
    assert throw(PLAIN).near_dead == ""
    assert throw(replace(PLAIN, servo_travel_deg=90 - NEAR_DEAD_DEG, horn=40.0)).near_dead == ""


def test_the_set_back_makes_the_throws_unlike() -> None:
    """Holes aft of the hinge line: pushed aft the horn turns the further of the two."""
    there = throw(replace(PLAIN, horn_set_back=4.0))
    ahead = throw(replace(PLAIN, horn_set_back=-4.0))
    assert there.pushed > there.pulled + 1.0 and ahead.pulled > ahead.pushed + 1.0
    assert there.least == there.pulled


@SOME
@given(st.floats(8.0, 30.0), st.floats(0.7, 1.6), st.floats(20.0, 38.0))
def test_the_set_back_that_cures(arm: float, ratio: float, travel: float) -> None:
    linkage = replace(PAIR, servo_arm=arm, horn=arm * ratio, servo_travel_deg=travel, horn_set_back=3.0)
    cure = set_back_without_slack(linkage)
    assert isinstance(cure, float) and abs(cure) < 0.5 * linkage.horn
    found = pull_pull_of(replace(linkage, horn_set_back=cure))
    assert isinstance(found, PullPull)
    assert found.at_full == pytest.approx(0.0, abs=1e-6)
    assert slack_words(found) == "true"


def test_slack_and_stretch_are_told_apart() -> None:
    for back, words in ((4.0, "slack"), (-4.0, "binds"), (0.0, "true")):
        found = pull_pull_of(replace(PAIR, servo_arm=15.0, horn_set_back=back))
        assert isinstance(found, PullPull) and slack_words(found) == words


@SOME
@given(WIDE, WIDE, WIDE, WIDE, WIDE, st.none() | WIDE, st.none() | WIDE, WIDE)
def test_anything_gets_a_finite_answer_or_a_reason(
    arm: float, horn: float, chord: float, travel: float, back: float, crank_in: float | None,
    crank_out: float | None, wanted: float,
) -> None:
    for pair in (False, True):
        linkage = Linkage(
            "l", arm, horn, chord, servo_travel_deg=travel, crank_in=crank_in, crank_out=crank_out,
            horn_set_back=back, pull_pull=pair,
        )
        found = throw_of(linkage)
        if isinstance(found, Throw):
            assert math.isfinite(found.pushed) and math.isfinite(found.pulled)
            assert 0.0 <= found.least < 180.0
        for other in (pull_pull_of(linkage), horn_for(linkage, wanted), set_back_without_slack(linkage)):
            assert isinstance(other, str | PullPull) or math.isfinite(other)
