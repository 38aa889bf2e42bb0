"""What is said about parts: remarks apart from faults, lengths in the builder's units."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from core.design import Flight, Station, Tailplane
from core.design_build import Thickness
from core.parts.built import built
from core.parts.said import Remark, length, parted, told
from core.redesign.build_edits import build_of, new_build
from tests.core.making import box, design_of, traced

BODY = box("body", "fuselage", 0, -40, 1000, 20)


def test_a_length_is_told_in_the_builders_units() -> None:
    said = f"The deck of 12 mm is up to {length(25.4)} off."
    assert told(said, "mm") == "The deck of 12 mm is up to 25.4 mm off."
    # What the builder called it stays.
    assert told(said, "in") == "The deck of 12 mm is up to 1.00 in off."
    assert told(said, "in64") == "The deck of 12 mm is up to 1 in off."
    assert length(6.0) == "6\u00a0mm"


def test_remarks_are_told_apart_and_each_sentence_once() -> None:
    assert parted(["a", Remark("b"), "a", Remark("b"), "c"]) == (("a", "c"), ("b",))


@pytest.mark.parametrize("way", ["sheet", "frame", "ribbed"])
def test_an_elevators_straight_hinge_is_no_fault(way: str) -> None:
    tail = Tailplane("tail", (Station(0, 780, 160), Station(120, 790, 150), Station(260, 820, 90, 40.0)))
    design, made = new_build(design_of(tailplanes=(tail,)), ("tail",), way)  # type: ignore[arg-type]
    found = built(design, build_of(design, made))
    assert not any("drawn straight" in fault or "dihedral" in fault for fault in found.faults)
    assert any("drawn straight" in note for note in found.notes)
    assert any("its dihedral changes 120\u00a0mm" in note for note in found.notes)


def test_the_end_of_a_rudder_that_slants_along_the_chord_is_no_leading_edge() -> None:
    # The underside falls 10 mm over a chord of 80: measured across, a strip of its edge is under 1 mm.
    fin = traced("fin", "fin", ((700, 0), (770, 200), (830, 200), (820, 0)), count=2, apart=300.0)
    rudder = traced("rudder", "rudder", ((820, 0), (830, 200), (890, 190), (900, -10)), count=2, apart=300.0)
    design, made = new_build(design_of(BODY, fin, rudder), ("fin", "rudder"), "ribbed")
    found = built(design, build_of(design, made))
    assert not any("thin" in said for said in (*found.faults, *found.notes))
    assert all(min(part.length, part.width) >= 1.0 for part in found.parts)


def test_the_step_of_a_gap_under_a_horn_balance_breaks_no_frame() -> None:
    fin = traced("fin", "fin", ((680, 10), (740, 160), (820, 160), (820, 10)))
    rudder = traced("rudder", "rudder", (
        (820, 10), (820, 160), (770, 160), (780, 200), (870, 200), (900, 10)
    ))
    design, made = new_build(design_of(BODY, fin, rudder), ("fin", "rudder"), "frame")
    found = built(design, build_of(design, made))
    names = [part.name for part in found.parts]
    assert "fin: hinge post" in names
    assert not any("one piece" in said for said in found.notes)
    # Four sticks and what braces them weigh less than the plate that they stand for.
    plate = 0.5 * (math.dist((684, 20), (820, 20)) + 80) * 140 * found.build.thickness.root * 150e-6
    sticks = sum(part.grams for part in found.parts if part.name.startswith("fin:") and part.role != "tab")
    assert 0.2 * plate < sticks < 0.8 * plate


@pytest.mark.parametrize("way", ["frame", "ribbed"])
def test_the_post_of_what_turns_says_how_it_is_shaped(way: str) -> None:
    fin = traced("fin", "fin", ((700, 0), (770, 200), (820, 200), (820, 0)))
    rudder = box("rudder", "rudder", 820, 0, 890, 200)
    flight = Flight(rudder_throw_deg=30.0)
    design, made = new_build(design_of(BODY, fin, rudder, flight=flight), ("fin", "rudder"), way)  # type: ignore[arg-type]
    for hinge, said in (("bevel", "bevelled 30° both sides"), ("round", "edge rounded")):
        found = built(design, replace(build_of(design, made), hinge=hinge))  # type: ignore[arg-type]
        posts = {part.name for part in found.parts if "hinge post" in part.name}
        assert {said in name for name in posts if name.startswith("rudder")} == {True}
        assert not any(said in name for name in posts if name.startswith("fin"))


def test_pieces_of_an_edge_are_numbered_from_one() -> None:
    lead = [(820 - 110 * math.cos(t / 20), 20 + 190 * math.sin(t / 20)) for t in range(32)]
    fin = traced("fin", "fin", (*lead, (820, 10), (710, 10)))
    design, made = new_build(design_of(BODY, fin), ("fin",), "ribbed")
    names = [part.name for part in built(design, build_of(design, made)).parts if "leading edge" in part.name]
    assert names == [f"fin leading edge, piece {k}" for k in range(1, len(names) + 1)]


@pytest.mark.parametrize("way", ["sheet", "frame", "ribbed"])
def test_a_rounded_edge_that_binds_at_full_throw_is_said_with_the_gap_that_it_needs(way: str) -> None:
    fin = traced("fin", "fin", ((700, 0), (770, 200), (820, 200), (820, 0)))
    rudder = box("rudder", "rudder", 820, 0, 890, 200)
    flight = Flight(rudder_throw_deg=35.0)
    design, made = new_build(design_of(BODY, fin, rudder, flight=flight), ("fin", "rudder"), way)  # type: ignore[arg-type]
    thick = Thickness(12.0, 12.0, "flat")

    def said(**more: object) -> list[str]:
        return [f for f in built(design, replace(build_of(design, made), thickness=thick, **more)).faults
                if "bind" in f]

    # Turned by 35° about the middle of the gap, a circle of 6 mm: points tried one by one.
    def reaches(gap: float) -> float:
        turn = math.radians(35.0)
        around = [math.radians(a) for a in range(181)]
        return min(
            (0.5 * gap + 6.0 - 6.0 * math.sin(a)) * math.cos(turn) - 6.0 * math.cos(a) * math.sin(turn)
            for a in around
        ) + 0.5 * gap

    assert reaches(1.1) < 0.0 < reaches(1.2)
    assert said(hinge="bevel", hinge_gap=0.5) == []
    assert len(said(hinge="round", hinge_gap=1.1)) == 1
    assert "a hinge gap of 1.2\u00a0mm" in said(hinge="round", hinge_gap=1.1)[0]
    assert said(hinge="round", hinge_gap=1.2) == []


def test_what_ends_under_a_tailplane_has_no_slot_and_nothing_that_runs_into_it() -> None:
    fin = box("fin", "fin", 700, 0, 820, 200)
    plane = Tailplane("tail", (Station(0, 690, 150, 195), Station(250, 720, 80, 195)))
    design, made = new_build(design_of(BODY, fin, tailplanes=(plane,)), ("fin",), "ribbed")
    build = replace(build_of(design, made), thickness=Thickness(10.0, 10.0, "flat"), tab=False)
    found = built(design, build)
    assert any("ends under it" in note for note in found.notes)
    assert not any("goes through" in said for said in (*found.faults, *found.notes))
    assert found.plan is not None
    (slot,) = found.plan.slots
    under = slot.bounds[1] + 20.0
    assert under < 195.0
    tops = [float(line[:, 1].max()) for part in found.parts for line in part.places]
    assert max(tops) == pytest.approx(under)
    assert found.covering_area == pytest.approx(2.0 * 120.0 * (under - 20.0))
