"""What a design holds is known once: its state, the ranges of its numbers, the fields of every format."""

from __future__ import annotations

import typing
from dataclasses import replace as replace_row
from pathlib import Path

import msgspec
import pytest
from making import trainer
from msgspec.structs import fields, replace

from core import design as parts
from core import design_bench as bench
from core import design_build as build
from core.design import (
    EMPTY,
    NEWEST_FORMAT,
    SINCE,
    STATE,
    Alternative,
    Design,
    Mark,
    Range,
    Scan,
    State,
    Sure,
    Tone,
    range_of,
)
from core.design_check import problems
from core.design_file import DesignFileError, decode, encode
from core.kinds import TABLE
from core.redesign.alternatives import keep, take_back

OUTSIDE = {"format", "title", "notes", "display_units", "scans", "alternatives", "bench", "sure"}
"""The design's own: taking back a kept state leaves these as they are."""
RELEASED = Path(__file__).parent / "formats" / "fields.json"


def every_part() -> list[type[msgspec.Struct]]:
    """All structs that a design is made of."""
    named = {name: p for module in (parts, bench, build) for name, p in vars(module).items()}
    found = [p for p in named.values() if isinstance(p, type) and issubclass(p, msgspec.Struct)]
    return [p for p in found if fields(p)]


def test_every_field_of_a_design_is_of_its_state_or_named_as_outside() -> None:
    assert {f.name for f in fields(Design)} == OUTSIDE | set(STATE)
    assert {f.name for f in fields(Alternative)} == {"id", "label"} | set(STATE)
    assert not OUTSIDE & set(STATE)


def test_taking_back_restores_every_field_of_the_state() -> None:
    first = replace(
        trainer(), left_out=("propeller",), guessed=("fuselage_width",), counts_seen=("gear",),
        fuselage_width=70.0, cg_from="weights",
        weights=(parts.Weight("battery", 185.0, 95.0),),
        builds=(build.Build("tail", ("fin",)),), materials=(build.Material("mine", "Mine", 120.0),),
        wings=(parts.Wing("w", ()),), tailplanes=(parts.Tailplane("t", ()),),
        aim=parts.Aim(0.3, 0.2, 0.4), flight=parts.Flight(9.0),
    )
    for name in STATE:
        assert getattr(first, name) != getattr(EMPTY, name), f"{name} is not tried"
    kept = keep(first, "first")
    other = replace(kept, **{name: getattr(EMPTY, name) for name in STATE})
    again = take_back(other, kept.alternatives[0].id)
    assert all(getattr(again, name) == getattr(first, name) for name in STATE)


def test_a_number_of_any_part_is_checked_by_the_range_on_its_type() -> None:
    # An absurd value in every field that is a number, of every part, is found without being named there.
    tried = 0
    for part in every_part():
        if part in (State, Design, parts.Node):
            continue
        for field in fields(part):
            if field.name in ("format", "to_mm"):
                continue
            hints = typing.get_args(field.type) or (field.type,)
            if not {float, int} & {field.type, *hints, *(typing.get_args(h)[0] for h in hints
                                                         if typing.get_args(h))}:
                continue
            assert isinstance(range_of(part, field.name), Range)
            tried += 1
    assert tried > 30
    for absurd in (float("nan"), float("inf"), 1e7, -1e7):
        assert problems(replace(EMPTY, sure=Sure(cg_mm=absurd)))
        assert problems(replace(EMPTY, cg_mark=Mark(absurd)))
        assert problems(replace(EMPTY, fuselage_width=absurd))


def released() -> dict[str, dict[str, list[str]]]:
    """By format, the fields of every part as a file of that format may hold them."""
    return msgspec.json.decode(RELEASED.read_bytes(), type=dict[str, dict[str, list[str]]])


def test_no_field_leaves_under_an_old_number() -> None:
    # The listing is written by hand when a format is released; it is never made from the code.
    formats = released()
    assert {int(number) for number in formats} == {1, *(n for f in SINCE.values() for n in f.values()),
                                                   *(row.since for row in TABLE.values())}
    for part in every_part():
        if part is State:
            continue
        known: dict[str, int] = {}
        for number, listing in formats.items():
            known |= dict.fromkeys(listing.get(part.__name__, ()), int(number))
        new = SINCE.get(part, {})
        now = {f.encode_name: new.get(f.name, known.get(f.encode_name, 0)) for f in fields(part)}
        assert now == known, f"{part.__name__}: a field that no released format knows needs a number"


def test_no_kind_leaves_under_an_old_number() -> None:
    known = {kind: int(number) for number, listing in released().items() for kind in listing.get("Kind", ())}
    now: dict[str, int] = {kind: row.since for kind, row in TABLE.items()}
    assert now == known, "a kind that no released format knows needs a number"


def test_a_design_with_a_newer_kind_says_the_newer_format(monkeypatch: pytest.MonkeyPatch) -> None:
    newer = {**TABLE, "canopy": replace_row(TABLE["canopy"], since=NEWEST_FORMAT)}
    monkeypatch.setattr(parts, "TABLE", newer)
    plain, cabin = trainer(), parts.Outline("cabin", "canopy", trainer().outlines[0].nodes)
    assert plain.format_needed == 1
    used = replace(plain, outlines=(*plain.outlines, cabin))
    assert used.format_needed == NEWEST_FORMAT
    assert keep(used, "kept").format_needed == NEWEST_FORMAT
    assert replace(keep(used, "kept"), outlines=plain.outlines).format_needed == NEWEST_FORMAT
    old = encode(used).replace(f'"format": {NEWEST_FORMAT},'.encode(), b'"format": 1,')
    with pytest.raises(DesignFileError, match=f"kind needs {NEWEST_FORMAT}"):
        decode(old)


IN_USE: tuple[tuple[Design, int], ...] = (
    (EMPTY, 1),
    (replace(EMPTY, bench=parts.Bench(crossing=Mark(1.0))), 2),
    (replace(EMPTY, scans=(Scan("a", "a.png", tone=Tone(level=True)),)), 2),
    (replace(EMPTY, scans=(Scan("a", "a.png", photograph=True),)), 3),
    (replace(EMPTY, scans=(Scan("a", "a.png", lens=parts.Lens(0.015, 2000, 1500, 2500)),)), 4),
    (replace(EMPTY, scans=(Scan("a", "a.png", residual_mm=0.4),)), 4),
    (replace(EMPTY, left_out=("wing",)), 3),
    (replace(EMPTY, guessed=("fuselage_width",)), 3),
    (replace(EMPTY, counts_seen=("gear",)), 3),
    (replace(EMPTY, sure=Sure(cg_mm=5.0)), 3),
    (replace(EMPTY, outlines=(replace(trainer().outlines[0], count=2, apart=300.0),)), 4),
    (replace(EMPTY, flight=parts.Flight(propeller=parts.Propeller(254.0, -20.0))), 4),
    (replace(EMPTY, builds=(build.Build("tail", ("fin",)),)), 5),
    (replace(EMPTY, materials=(build.Material("mine", "", 120.0),)), 5),
    (keep(replace(EMPTY, builds=(build.Build("tail", ("fin",)),)), "k"), 5),
    (keep(replace(EMPTY, materials=(build.Material("mine", "", 120.0),)), "k"), 5),
    (replace(EMPTY, bench=parts.Bench(pin=Mark(1.0))), 5),
    (keep(replace(EMPTY, left_out=("rudder",), guessed=("flight.speed_m_s",), counts_seen=("a",)), "k"), 3),
)


@pytest.mark.parametrize(("design", "number"), IN_USE)
def test_a_file_says_the_lowest_format_that_holds_it(design: Design, number: int) -> None:
    data = encode(design)
    assert f'"format": {number},'.encode() in data
    assert decode(data) == design
    assert encode(decode(data)) == data


def test_every_newer_field_raises_the_number() -> None:
    tried = {(type(part), name) for design, _ in IN_USE for part, name in design.newer_parts()}
    assert tried == {(part, name) for part, names in SINCE.items() for name in names}
