"""Which kind is offered next: read off the design each time."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.design import EMPTY, Design, Node, Outline
from core.kinds import ALWAYS, KINDS, Kind
from core.redesign.next_kind import (
    Choice,
    chosen,
    kind_after,
    kind_to_trace,
    next_kind,
    traced,
)

TRIANGLE = (Node(x=0, z=0), Node(x=10, z=0), Node(x=0, z=10))


def design_of(*kinds: Kind) -> Design:
    return replace(
        EMPTY,
        outlines=tuple(Outline(id=f"{kind}-{i}", kind=kind, nodes=TRIANGLE) for i, kind in enumerate(kinds)),
    )


@pytest.mark.parametrize(("here", "wanted"), [
    ((), "fuselage"),
    (("fuselage",), "fin"),
    (("fuselage", "fin"), "rudder"),
    (("fin",), "rudder"),
    (("rudder",), "fin"),
    (("fin", "rudder"), "fuselage"),
    (("wheel",), "fuselage"),
    (("fuselage", "rudder"), "fin"),
    (("fuselage", "fin", "wheel"), "rudder"),
    (("fuselage", "fin", "canopy", "pylon"), "rudder"),
    (("fuselage", "fin", "rudder"), "pylon"),
    (("fuselage", "fin", "rudder", "pylon"), "gear leg"),
    (("fuselage", "fin", "rudder", "gear leg"), "wheel"),
    (("fuselage", "fin", "rudder", "wheel"), "pylon"),
    (("fuselage", "fin", "rudder", "pylon", "wheel"), "gear leg"),
    (("fuselage", "fin", "rudder", "pylon", "gear leg", "wheel"), "other"),
    (("fuselage", "fin", "rudder", "float"), "strut"),
    (("fuselage", "fin", "rudder", "float", "strut"), "pylon"),
    (("fuselage", "fin", "rudder", "float", "strut", "pylon"), "other"),
    # A float on an aeroplane with wheels is no reason to leave the wheels out.
    (("fuselage", "fin", "rudder", "float", "gear leg"), "wheel"),
])  # fmt: skip
def test_what_comes_next(here: tuple[Kind, ...], wanted: Kind) -> None:
    assert kind_to_trace(design_of(*here).outlines) == wanted


def test_a_rudder_that_the_builder_leaves_out_is_not_offered() -> None:
    design = replace(design_of("fuselage", "fin"), left_out=("rudder",))
    assert next_kind(design, None) == "pylon"
    assert next_kind(replace(design, outlines=design.outlines[1:]), None) == "fuselage"
    assert kind_after(replace(design, outlines=design.outlines[:1]), "fin") == "pylon"


def test_from_nothing_to_the_end() -> None:
    design, seen = design_of(), []
    while (kind := kind_to_trace(design.outlines)) != "other":
        seen.append(kind)
        design = design_of(*seen)
    assert seen == ["fuselage", "fin", "rudder", "pylon", "gear leg", "wheel"]


@given(st.lists(st.sampled_from(KINDS), max_size=8))
def test_the_order_of_tracing_and_what_came_before_do_not_matter(kinds: list[Kind]) -> None:
    offered = kind_to_trace(design_of(*kinds).outlines)
    assert offered not in kinds or offered == "other"
    assert offered == kind_to_trace(design_of(*reversed(kinds)).outlines)
    # As long as the answer lacks one of its parts, one of them is what is offered.
    lacking = [kind for kind in ALWAYS if kind not in kinds]
    assert not lacking or offered in lacking
    assert offered == "rudder" or not ("fin" in kinds and "rudder" not in kinds)


@given(st.sets(st.sampled_from(ALWAYS)), st.sets(st.sampled_from(KINDS)))
def test_whatever_is_taken_away_is_offered_again(gone: set[Kind], besides: set[Kind]) -> None:
    left = [kind for kind in (*ALWAYS, *besides) if kind not in gone]
    if gone:
        assert kind_to_trace(design_of(*left).outlines) in gone


def test_a_choice_holds_for_one_outline_and_then_the_rule_again() -> None:
    design = design_of("fuselage")
    choice = chosen(design, None, "canopy")
    assert next_kind(design, choice) == "canopy" and kind_after(design, "canopy") == "fin"
    design = design_of("fuselage", "canopy")
    after = traced(design, choice, "canopy-1")
    assert next_kind(design, after) == "fin" and kind_after(design, "fin") == "rudder"
    design = design_of("fuselage", "canopy", "fin")
    after = traced(design, after, "fin-2")
    assert after is None and next_kind(design, after) == "rudder"


def test_a_choice_holds_again_when_its_outline_is_undone() -> None:
    choice = traced(design_of("fuselage", "wheel"), chosen(design_of("fuselage"), None, "wheel"), "wheel-1")
    assert next_kind(design_of("fuselage", "wheel"), choice) == "fin"
    assert next_kind(design_of("fuselage"), choice) == "wheel"
    # Traced again it is done again.
    again = traced(design_of("fuselage", "wheel"), choice, "wheel-1")
    assert next_kind(design_of("fuselage", "wheel"), again) == "fin"


def test_chosen_twice_running_it_stays_until_another_is_chosen() -> None:
    here: tuple[Kind, ...] = ("fuselage", "fin", "rudder")
    choice = chosen(design_of(*here), None, "wheel")
    assert choice == Choice("wheel")
    one = design_of(*here, "wheel")
    choice = traced(one, choice, "wheel-3")
    assert next_kind(one, choice) == "pylon"
    choice = chosen(one, choice, "wheel")
    two = design_of(*here, "wheel", "wheel")
    for design, made in ((one, "wheel-4"), (two, "wheel-5")):
        assert next_kind(design, choice) == "wheel"
        choice = traced(design, choice, made)
    assert choice is not None
    assert next_kind(two, chosen(two, choice, "strut")) == "strut"
    assert not chosen(two, choice, "strut").stays


def test_the_same_choice_twice_before_anything_is_traced_is_one() -> None:
    design = design_of("fuselage")
    assert not chosen(design, chosen(design, None, "wheel"), "wheel").stays
