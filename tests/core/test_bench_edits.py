"""Edits of what was entered at the bench, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from core.design import EMPTY, MOST_PARTS, Bench, Design, Mark
from core.design_bench import Linkage, ScaleReading, Weighing
from core.design_check import problems
from core.redesign.bench_edits import (
    add_linkage,
    add_weighing,
    change_linkage,
    delete_linkage,
    delete_weighing,
    drop_support,
    duplicate_linkage,
    duplicate_weighing,
    linkage_of,
    rename_weighing,
    set_pin,
    set_support,
    weighing_of,
)
from core.redesign.outline_edits import EditError

RUDDER = Linkage("rudder", 12.0, 15.0, 60.0, "Rudder")
ELEVATOR = Linkage("elevator", 10.0, 18.0, 40.0, "Elevator", "elevator")
WEIGHED = Weighing("bare", (ScaleReading(310.0, 200.0), ScaleReading(90.0, 800.0)), "Bare")
BENCH = replace(EMPTY, bench=Bench((RUDDER, ELEVATOR), (WEIGHED,), Mark(300.0, 5.0)))


def test_a_linkage_is_added_at_the_end_with_an_id_of_its_own() -> None:
    once, first = add_linkage(BENCH, replace(RUDDER, id="", label="Rudder"))
    twice, second = add_linkage(once, replace(RUDDER, id="", label="Rudder"))
    assert (first, second) == ("rudder-2", "rudder-3")
    assert twice.bench.linkages[:2] == (RUDDER, ELEVATOR) and problems(twice) == []
    assert twice.bench.crossing == BENCH.bench.crossing and twice.bench.weighings == (WEIGHED,)
    assert linkage_of(twice, second).horn == 15.0


def test_one_linkage_changes_and_the_others_are_the_same() -> None:
    changed = change_linkage(BENCH, "elevator", horn=20.0, crank_in=12.0, crank_out=9.0, pull_pull=True)
    found = linkage_of(changed, "elevator")
    assert (found.horn, found.crank_in, found.crank_out, found.pull_pull) == (20.0, 12.0, 9.0, True)
    assert changed.bench.linkages[0] is RUDDER and problems(changed) == []
    assert linkage_of(change_linkage(changed, "elevator", crank_in=None), "elevator").crank_in is None


def test_copies_lie_behind_and_go_again() -> None:
    copied, new = duplicate_linkage(BENCH, "rudder")
    assert [one.id for one in copied.bench.linkages] == ["rudder", "rudder-2", "elevator"]
    assert delete_linkage(copied, new) == BENCH
    weighed, stage = duplicate_weighing(BENCH, "bare")
    assert weighing_of(weighed, stage).supports == WEIGHED.supports
    assert delete_weighing(weighed, stage) == BENCH


def test_a_weighing_grows_scale_by_scale() -> None:
    design, stage = add_weighing(EMPTY, "Ready to fly", (230.0, 230.0))
    assert weighing_of(design, stage) == Weighing(
        "ready-to-fly", (ScaleReading(0.0, 230.0), ScaleReading(0.0, 230.0)), "Ready to fly"
    )
    design = set_support(design, stage, 1, grams=490.0)
    design = set_support(design, stage, 7, x=930.0)
    design = set_support(design, stage, 2, grams=205.0)
    assert weighing_of(design, stage).supports == (
        ScaleReading(0.0, 230.0), ScaleReading(490.0, 230.0), ScaleReading(205.0, 930.0)
    )
    design = drop_support(design, stage, 0)
    assert [s.grams for s in weighing_of(design, stage).supports] == [490.0, 205.0]
    assert drop_support(design, stage, 5) == design
    assert weighing_of(rename_weighing(design, stage, "Painted"), stage).label == "Painted"
    assert problems(design) == []


@pytest.mark.parametrize(("edit", "words"), [
    (lambda d: change_linkage(d, "rudder", servo_arm=0.0), "the servo arm needs a length"),
    (lambda d: change_linkage(d, "rudder", horn=-3.0), "the horn needs a length"),
    (lambda d: change_linkage(d, "rudder", crank_in=0.0), "bell crank needs a length"),
    (lambda d: change_linkage(d, "rudder", surface_chord=2e6), "1 000 000 mm"),
    (lambda d: change_linkage(d, "rudder", horn_set_back=float("nan")), "set-back of the horn"),
    (lambda d: change_linkage(d, "rudder", servo_travel_deg=91.0), "between 0° and 90°"),
    (lambda d: set_support(d, "bare", 0, grams=-1.0), "no less than nothing"),
    (lambda d: set_support(d, "bare", 0, grams=float("inf")), "no more than 1 000 000 g"),
    (lambda d: set_support(d, "bare", 0, x=-2e6), "station of a scale"),
    (lambda d: add_linkage(replace(d, bench=Bench(linkages=(RUDDER,) * MOST_PARTS))), "delete some first"),
    (lambda d: add_weighing(replace(d, bench=Bench(weighings=(WEIGHED,) * MOST_PARTS))), "delete some first"),
])
def test_what_cannot_be_is_refused_in_a_sentence(edit: Callable[[Design], Any], words: str) -> None:
    with pytest.raises(EditError, match=words):
        edit(BENCH)


def test_the_pin_is_placed_and_let_go() -> None:
    placed = set_pin(EMPTY, Mark(430.0, 62.5))
    assert placed.bench.pin == Mark(430.0, 62.5) and placed.format_needed == 5
    assert set_pin(placed, None) == EMPTY
    with pytest.raises(EditError, match="the pin is out of reach"):
        set_pin(EMPTY, Mark(2e6, 0.0))
