"""What comes twice: who is asked about, and what settles it."""

from __future__ import annotations

import pytest
from making import box, design_of

from core.design import Design
from core.design_file import decode, encode
from core.kinds import KINDS, Kind
from core.redesign import design_edits as edits
from core.redesign.alternatives import keep, take_back
from core.stability.counts import unlooked


def asked(design: Design) -> list[str]:
    return [outline.id for outline in unlooked(design)]


@pytest.mark.parametrize("kind", KINDS)
def test_only_what_stands_in_pairs_is_asked_about_and_only_while_it_counts_once(kind: Kind) -> None:
    design = design_of(box("a", kind, 0, 0, 10, 10), box("b", kind, 20, 0, 30, 10, count=2))
    assert asked(design) == (["a"] if kind in ("wheel", "gear leg", "float", "strut") else [])


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_count_set_by_hand_settles_it_and_survives_the_file(count: int) -> None:
    design = design_of(box("a", "wheel", 0, 0, 10, 10), box("b", "wheel", 20, 0, 30, 10))
    settled = edits.set_count(design, ["a"], count)
    assert settled.outline("a").count == count and settled.outline("b") is design.outline("b")
    assert asked(settled) == ["b"]
    assert asked(decode(encode(settled))) == ["b"]
    assert asked(take_back(keep(settled, "as drawn"), "as-drawn")) == ["b"]


def test_a_count_above_one_needs_no_newer_file() -> None:
    design = design_of(box("a", "wheel", 0, 0, 10, 10), box("f", "fin", 20, 0, 30, 10))
    assert edits.set_count(design, ["a", "f"], 2).format_needed == 1
    assert edits.set_count(design, ["f"], 1).format_needed == 1
    once = edits.set_count(design, ["a"], 1)
    assert once.format_needed == 3
    assert edits.set_count(once, ["a"], 2).format_needed == 1


def test_back_to_one_by_hand_is_one() -> None:
    design = design_of(box("a", "float", 0, 0, 10, 10))
    assert asked(edits.set_count(edits.set_count(design, ["a"], 2), ["a"], 1)) == []


def test_what_is_deleted_is_forgotten_so_that_its_id_asks_again() -> None:
    wheel = box("wheel", "wheel", 0, 0, 10, 10)
    seen = edits.set_count(design_of(wheel, box("b", "strut", 20, 0, 30, 10)), ["wheel", "b"], 1)
    gone = edits.delete_outlines(seen, ["wheel"])
    assert gone.counts_seen == ("b",)
    assert asked(edits.add_outline(gone, wheel)) == ["wheel"]


def test_a_copy_of_what_was_looked_at_is_not_asked_about() -> None:
    design = design_of(box("a", "wheel", 0, 0, 10, 10), box("b", "wheel", 20, 0, 30, 10))
    seen = edits.set_count(design, ["a"], 1)
    made, new = edits.paste_outlines(seen, seen.outlines, 5.0, 5.0)
    assert asked(made) == ["b", new[1]]


def test_what_comes_from_elsewhere_under_the_same_id_is_asked_about() -> None:
    seen = edits.set_count(design_of(box("wheel", "wheel", 0, 0, 10, 10)), ["wheel"], 1)
    made, new = edits.paste_outlines(seen, [box("wheel", "wheel", 50, 0, 80, 30)], 0.0, 0.0)
    assert asked(made) == new


def test_another_kind_is_asked_about_for_itself() -> None:
    design = design_of(box("a", "pylon", 0, 0, 10, 10, label="Pylon"))
    assert asked(edits.change_kinds(design, ["a"], "gear leg")) == ["a"]
