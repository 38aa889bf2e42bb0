"""What a group of readings says it lacks, against the readings themselves: given just that, they come."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import MANY, box, traced
from msgspec.structs import replace

from core.design import (
    EMPTY,
    Design,
    Flight,
    Mark,
    Outline,
    Propeller,
    Scan,
    Station,
    Tailplane,
    Weight,
    Wing,
)
from core.stability.catalogue import GROUPS, Group
from core.stability.lacking import NEEDS, lacking, needs_words
from core.stability.readings import Readings, ReadingsEngine
from core.stability.wording import instead

INPUTS = (
    "scale", "fuselage", "fin", "rudder", "wing", "tailplane", "cg", "width", "weights", "propeller", "speed",
    "density", "throw",
)
BY_KEY = {group.key: group for group in GROUPS}
PARTS: dict[str, Outline] = {
    "fuselage": box("fuselage", "fuselage", 0, -50, 900, 50),
    "fin": traced("fin", "fin", ((800, 40), (900, 40), (900, 220), (850, 220))),
    "rudder": box("rudder", "rudder", 900, 0, 950, 220),
}
WING = Wing("wing", (Station(0, 250, 220, 40), Station(700, 260, 180, 90)))
TAILPLANE = Tailplane("tailplane", (Station(0, 850, 140, 30), Station(260, 870, 100, 30)))


def design_with(inputs: Collection[str]) -> Design:
    """A sound aeroplane with these of its inputs and no others."""
    return replace(
        EMPTY,
        scans=() if "scale" in inputs else (Scan("plan", "plan.png", scale_from="none"),),
        outlines=tuple(part for name, part in PARTS.items() if name in inputs),
        wings=(WING,) if "wing" in inputs else (),
        tailplanes=(TAILPLANE,) if "tailplane" in inputs else (),
        cg_mark=Mark(300, 10) if "cg" in inputs else None,
        weights=(Weight("all", 1500, 300),) if "weights" in inputs else (),
        fuselage_width=80.0 if "width" in inputs else None,
        flight=Flight(
            propeller=Propeller(250.0, -20.0) if "propeller" in inputs else None,
            speed_m_s=12.0 if "speed" in inputs else 0.0,
            air_density_kg_m3=1.225 if "density" in inputs else 0.0,
            rudder_throw_deg=25.0 if "throw" in inputs else 0.0,
        ),
    )


@cache
def read(inputs: frozenset[str]) -> tuple[Design, Readings]:
    design = design_with(inputs)
    return design, ReadingsEngine().read(design)


def told(readings: Readings, key: str) -> bool:
    """True if there is a figure, or an answer in its place."""
    return readings.value(key) is not None or bool(instead(readings[key]))


def input_of(words: str) -> str:
    """Which input of this test goes by those words."""
    (key,) = {k for k, need in NEEDS.items() if need.words == words} - {"body"}
    return {"fin": "fin", "outline": "fuselage"}.get(key, key)


def check(inputs: frozenset[str], group: Group) -> None:
    design, readings = read(inputs)
    first = group.readings[0]
    wanted = [input_of(words) for words in lacking(group.needs, design, readings)]
    assert told(readings, first) != bool(wanted), (first, readings[first].missing)
    assert not inputs.intersection(wanted), "it asks for nothing that is there"
    if not wanted:
        return
    assert told(read(inputs.union(wanted))[1], first), "with all that it asks for it comes"
    for one in wanted:
        less = inputs.union(wanted) - {one}
        assert not told(read(less)[1], first), f"it comes without {one}"


@pytest.mark.parametrize("group", GROUPS, ids=lambda g: g.key)
def test_with_everything_nothing_is_lacking(group: Group) -> None:
    design, readings = read(frozenset(INPUTS))
    assert needs_words(group, design, readings) == ""
    assert all(told(readings, key) for key in group.readings)


@pytest.mark.parametrize("gone", [set(c) for n in (1, 2) for c in combinations(INPUTS, n)])
def test_whatever_one_or_two_inputs_are_gone(gone: set[str]) -> None:
    for group in GROUPS:
        check(frozenset(INPUTS) - gone, group)


@MANY
@given(st.sets(st.sampled_from(INPUTS)))
def test_whatever_there_is(inputs: set[str]) -> None:
    for group in GROUPS:
        check(frozenset(inputs), group)


@MANY
@given(st.sets(st.sampled_from(INPUTS)))
def test_empty_rows_come_with_what_they_are_said_to_need(inputs: set[str]) -> None:
    for group in GROUPS:
        design, readings = read(frozenset(inputs))
        if not told(readings, group.readings[0]):
            continue
        wanted = [input_of(words) for words in lacking(group.rows_need, design, readings)]
        empty = [k for k in group.readings if not told(readings, k)]
        assert bool(empty) == bool(wanted), (group.key, empty)
        more = read(frozenset(inputs).union(wanted))[1]
        assert all(told(more, k) for k in empty)


@pytest.mark.parametrize(("key", "there", "words"), [
    ("side", "", "Needs the scale of the scan and an outline."),
    ("side", "scale", "Needs an outline."),
    ("tail", "scale fuselage", "Needs a fin or rudder."),
    ("wing", "scale", "Needs a wing."),
    ("yaw", "scale fuselage", "Needs a fin or rudder, a wing and the CG."),
    ("yaw", "scale fin wing cg", "Needs the fuselage."),
    ("rudder", "scale fuselage fin wing cg throw", "Needs a rudder."),
    ("rudder", "scale fuselage fin rudder wing cg", "Needs a rudder throw above zero."),
    ("gust", "scale fin wing cg weights speed density", "Needs the fuselage."),
    ("gust", "scale fuselage fin wing cg speed density", "Needs the weights."),
    ("spiral", "scale fuselage fin wing cg speed density", "Needs the weights."),
    ("spiral", "scale wing cg weights density", "Needs a fin or rudder and a flight speed above zero."),
    # What a design has that was traced, measured and marked, but for one figure.
    ("pitch", "scale fuselage fin wing tailplane cg weights speed density", "Needs the fuselage width."),
    ("pitch", "scale fuselage fin rudder cg", "Needs a wing, a tailplane and the fuselage width."),
    ("weight", "scale wing", "Needs the weights."),
])  # fmt: skip
def test_what_each_group_says(key: str, there: str, words: str) -> None:
    design, readings = read(frozenset(there.split()))
    group = BY_KEY[key]
    assert needs_words(group, design, readings) == f"Tells {group.tells}. {words}"


@pytest.mark.parametrize(("key", "there", "words"), [
    ("side", "scale fuselage", "The empty rows need the CG."),
    ("tail", "scale fin", "The empty rows need a wing and the CG."),
    ("yaw", "scale fuselage fin wing cg", "The empty rows need the propeller."),
    ("spiral", "scale fin wing cg weights speed density", "The empty rows need the fuselage."),
    ("pitch", "scale fuselage wing tailplane cg width speed density", "The empty rows need the weights."),
    ("weight", "scale weights speed density", "The empty rows need a wing."),
])  # fmt: skip
def test_what_the_empty_rows_of_an_open_group_lack(key: str, there: str, words: str) -> None:
    design, readings = read(frozenset(there.split()))
    assert needs_words(BY_KEY[key], design, readings) == words


def test_a_propeller_that_is_left_out_is_not_asked_for() -> None:
    design = replace(design_with(set(INPUTS) - {"propeller"}), left_out=("propeller",))
    assert needs_words(BY_KEY["yaw"], design, ReadingsEngine().read(design)) == ""


def test_where_the_weights_make_the_cg_they_are_asked_for_once() -> None:
    design = replace(design_with(set(INPUTS) - {"weights", "cg"}), cg_from="weights")
    readings = ReadingsEngine().read(design)
    for key, words in (("yaw", ("the weights",)), ("spiral", ("the weights",)), ("pitch", ("the weights",))):
        assert lacking(BY_KEY[key].needs, design, readings) == words


def test_where_all_is_entered_and_something_is_wrong_the_reading_says_what() -> None:
    # The fin lies ahead of the CG: unstable in yaw, and no rudder holds a sideslip.
    design = replace(design_with(INPUTS), cg_mark=Mark(940, 0))
    readings = ReadingsEngine().read(design)
    words = needs_words(BY_KEY["rudder"], design, readings)
    reason = readings["sideslip_full_rudder_deg"].missing
    assert reason and words == f"Tells how far full rudder slips it. Not given: {reason}."
