"""Edits of the design's lists."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import MANY, SOME, box, design_of, trainer

from core.design import Aim, Design, Mark, Scan, Weight
from core.design_check import problems
from core.redesign import design_edits as edits


def fins(*ids: str) -> Design:
    return design_of(*(box(i, "fin", 0, 0, 10, 10) for i in ids))


@MANY
@given(st.text(max_size=60), st.sets(st.sampled_from(("part", "part-2", "fin", "fin-2")), max_size=4))
def test_a_fresh_id_is_lawful_and_new_whatever_it_is_made_from(stem: str, taken: set[str]) -> None:
    design = fins(*sorted(taken))
    new = edits.fresh_id(design, stem)
    assert re.fullmatch(r"[a-z0-9-]+", new)
    assert new not in taken


def test_fresh_ids_count_from_two_and_look_at_every_list() -> None:
    design = trainer(weights=(Weight("battery", 100, 0),), scans=(Scan("plan", "plan.png"),))
    assert edits.fresh_id(design, "Ventral Fin") == "ventral-fin"
    for taken in ("fin", "wing", "tailplane", "battery", "plan"):
        assert edits.fresh_id(design, taken) == f"{taken}-2"
    assert edits.fresh_id(design, "fin", ["fin-2", "fin-3"]) == "fin-4"


def test_pasting_twice_gives_each_copy_an_id_of_its_own() -> None:
    design = fins("fin", "fin-2")
    copied = design.outlines
    once, first = edits.paste_outlines(design, copied, 5, -5)
    twice, second = edits.paste_outlines(once, copied, 10, -10)
    assert first == ["fin-3", "fin-4"] and second == ["fin-5", "fin-6"]
    assert problems(twice) == []
    assert twice.outlines[:2] == copied
    assert [(n.x, n.z) for n in twice.outline("fin-3").nodes] == [(5, -5), (15, -5), (15, 5), (5, 5)]


def test_a_copy_of_what_is_locked_and_hidden_can_be_seen_and_moved() -> None:
    design = design_of(box("fin", "fin", 0, 0, 10, 10, locked=True, hidden=True))
    made, ids = edits.paste_outlines(design, design.outlines, 0, 0)
    copy = made.outline(ids[0])
    assert not copy.locked and not copy.hidden
    assert made.outline("fin").locked and made.outline("fin").hidden


@pytest.mark.parametrize(("index", "order"), [(-5, "cab"), (0, "cab"), (1, "acb"), (2, "abc"), (99, "abc")])
def test_an_outline_is_put_where_asked_and_never_past_the_ends(index: int, order: str) -> None:
    assert "".join(o.id for o in edits.move_outline(fins("a", "b", "c"), "c", index).outlines) == order


def test_moving_an_outline_that_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        edits.move_outline(fins("a"), "b", 0)


@SOME
@given(st.permutations((0.31, 0.2, 0.26)))
def test_the_aim_is_put_in_rising_order(three: list[float]) -> None:
    made = edits.set_aim(design_of(aim=Aim(fin_centre="quarter_chord")), *three)
    assert made.aim == Aim(0.26, 0.2, 0.31, "quarter_chord")


@SOME
@given(st.floats(-9, 9), st.floats(-9, 9), st.floats(-9, 9))
def test_any_aim_that_can_be_typed_can_be_saved(low: float, aim: float, high: float) -> None:
    assert problems(edits.set_aim(design_of(), low, aim, high)) == []


def test_several_outlines_are_changed_alike_and_the_rest_is_the_same_object() -> None:
    design = fins("a", "b", "c")
    made = edits.change_outlines(design, ["a", "c"], count=2, hidden=True)
    assert [(o.count, o.hidden) for o in made.outlines] == [(2, True), (1, False), (2, True)]
    assert made.outlines[1] is design.outlines[1]


def test_outlines_and_scans_come_and_go() -> None:
    design = edits.add_outline(fins("a"), box("b", "fin", 0, 0, 1, 1))
    assert [o.id for o in edits.delete_outlines(design, ["a", "nobody"]).outlines] == ["b"]
    scanned = edits.add_scan(design, Scan("plan", "plan.png"))
    fainter = edits.change_scan(scanned, "plan", opacity=0.4)
    assert fainter.scan("plan").opacity == 0.4
    assert edits.delete_scan(fainter, "plan") == design


def test_marking_the_cg_makes_the_mark_count() -> None:
    made = edits.set_cg(design_of(cg_from="weights", weights=(Weight("battery", 100, 0),)), 310, 12)
    assert made.cg_mark == Mark(310, 12) and made.cg_from == "mark"


def test_several_outlines_of_another_kind_are_called_by_it_in_turn() -> None:
    legs = tuple(
        box(f"leg-{i}", "gear leg", i, 0, i + 1, 1, label=label)
        for i, label in enumerate(("Gear leg", "Gear leg 2", "Nose leg", "Gear leg 3"))
    )
    made = edits.change_kinds(design_of(*legs), ["leg-0", "leg-1", "leg-2"], "strut")
    assert [(o.kind, o.label) for o in made.outlines] == [
        ("strut", "Strut"), ("strut", "Strut 2"), ("strut", "Nose leg"), ("gear leg", "Gear leg 3"),
    ]
    assert made.outlines[3] is legs[3]
