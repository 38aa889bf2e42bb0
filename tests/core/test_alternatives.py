"""Kept states: what they hold, what taking one back changes, and readings side by side."""

from __future__ import annotations

import pytest
from hypothesis import given
from making import SOME, sound_designs, trainer
from msgspec.structs import replace

from core.design import Design, Scan, Weight
from core.design_check import problems
from core.design_file import decode, encode
from core.redesign.alternatives import (
    STATE,
    alternative_of,
    compare,
    delete,
    keep,
    rename,
    same_state,
    state_of,
    take_back,
)
from core.redesign.outline_edits import EditError
from core.redesign.plug import plug
from core.stability.catalogue import TERMS
from core.stability.readings import ReadingsEngine


def start() -> Design:
    return trainer(weights=(Weight("motor", 150, 30), Weight("battery", 200, 150)))


def test_keep_change_and_take_back() -> None:
    kept = keep(start(), "  as   drawn ")
    only = kept.alternatives[0]
    assert (only.id, only.label) == ("as-drawn", "as drawn")
    assert same_state(kept, only)
    longer = replace(plug(kept, 180.0, 40.0), title="Longer", scans=(Scan("plan", "plan.png"),))
    assert not same_state(longer, only)
    back = take_back(longer, "as-drawn")
    for field in STATE:
        assert getattr(back, field) == getattr(start(), field)
    assert back.title == "Longer" and back.scans == longer.scans
    assert back.alternatives == longer.alternatives
    assert state_of(longer, None) is longer and state_of(longer, "as-drawn") == back
    assert not problems(longer)
    assert decode(encode(longer)) == longer


def test_the_state_is_all_that_an_alternative_can_hold() -> None:
    fields = set(type(alternative_of(keep(start(), "x"), "x")).__struct_fields__)
    assert fields == {"id", "label", *STATE}


def test_names_in_use_get_numbers() -> None:
    three = keep(keep(keep(start(), "As drawn"), "As drawn"), "as drawn")
    assert [a.label for a in three.alternatives] == ["As drawn", "As drawn 2", "as drawn"]
    assert len({a.id for a in three.alternatives}) == 3
    renamed = rename(three, three.alternatives[2].id, "As drawn")
    assert renamed.alternatives[2].label == "As drawn 3"
    assert rename(three, three.alternatives[0].id, "As drawn").alternatives[0].label == "As drawn"
    assert [a.label for a in delete(three, "as-drawn-2").alternatives] == ["As drawn", "as drawn"]


def test_refusals() -> None:
    with pytest.raises(EditError, match="needs a name"):
        keep(start(), "  ")
    with pytest.raises(EditError, match="too long"):
        keep(start(), "x" * 500)
    for edit in (take_back, delete, lambda d, i: rename(d, i, "y")):
        with pytest.raises(EditError, match="no longer there"):
            edit(start(), "gone")


def test_compare_lists_every_reading_with_its_difference() -> None:
    kept = keep(start(), "as drawn")
    longer = plug(kept, 180.0, 40.0)
    rows = compare(state_of(longer, "as-drawn"), longer)
    assert [row.spec for row in rows] == list(TERMS.values())
    a, b = ReadingsEngine().read(kept), ReadingsEngine().read(longer)
    for row in rows:
        assert row.a == a.value(row.spec.key) and row.b == b.value(row.spec.key)
        if row.a is None or row.b is None:
            assert row.difference is None
        else:
            assert row.difference == row.b - row.a
    by_key = {row.spec.key: row for row in rows}
    assert by_key["wing_area"].difference == 0.0
    # A longer nose is side area ahead of the CG.
    assert (by_key["cla_fraction"].difference or 0.0) < 0.0


@SOME
@given(sound_designs)
def test_any_state_comes_back_as_it_was(design: Design) -> None:
    kept = keep(replace(design, alternatives=()), "then")
    emptied = replace(kept, outlines=(), wings=(), weights=(), cg_mark=None)
    assert take_back(emptied, "then") == kept
