"""The counting rule against a plain implementation of it by pixels, on designs made at random."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from hypothesis import given
from making import FEW, MANY, box, curved_designs, design_of, square_designs, trainer
from pixel_count import Pixels, corners_of, count_by_pixels

from core.design import Design, Section, Station, Wing
from core.design_file import decode, encode
from core.stability.side_area import SideAreaCounter, silhouette

# Whole-millimetre designs fill whole pixels: only the last bits of the sums may differ.
EXACT = 1e-9
MILLIMETRES = Pixels.over(0, 0, 24, 16, 1.0)


def without(design: Design, outline_id: str) -> Design:
    kept = tuple(o for o in design.outlines if o.id != outline_id)
    return msgspec.structs.replace(design, outlines=kept)


@MANY
@given(square_designs())
def test_whole_millimetre_designs_agree_exactly(design: Design) -> None:
    expected = count_by_pixels(design, MILLIMETRES)
    side = SideAreaCounter().count(design)
    assert tuple(side.moments) == pytest.approx(expected.side, rel=EXACT, abs=1e-6)
    assert tuple(side.tail_moments) == pytest.approx(expected.tail, rel=EXACT, abs=1e-6)
    assert silhouette(design).area == pytest.approx(expected.silhouette, rel=EXACT, abs=1e-6)


@MANY
@given(square_designs())
def test_counted_area_is_what_would_be_lost_without_the_outline(design: Design) -> None:
    counted = SideAreaCounter().counted_areas(design)
    whole = count_by_pixels(design, MILLIMETRES).side[0]
    assert set(counted) == {o.id for o in design.outlines}
    for outline_id, area in counted.items():
        rest = count_by_pixels(without(design, outline_id), MILLIMETRES).side[0]
        assert area == pytest.approx(whole - rest, rel=EXACT, abs=1e-6), outline_id


@FEW
@given(curved_designs())
def test_slanted_and_curved_designs_agree_within_the_pixels(design: Design) -> None:
    pixels = Pixels.over(-370, -370, 370, 370, 0.75)
    expected = count_by_pixels(design, pixels)
    side = SideAreaCounter().count(design)
    # The worst that an edge can do is to lie half a pixel off all along, as level and upright ones may.
    run = 0.0
    for outline in design.outlines:
        corners = corners_of(outline)
        run += outline.count * float(np.hypot(*(np.roll(corners, -1, axis=0) - corners).T).sum())
    for wing in design.wings:
        run += sum(8 * (s.chord + abs(s.z) + abs(s.le_x)) for s in wing.stations)
    allowed = 0.5 * pixels.edge * run
    assert side.moments.area == pytest.approx(expected.side[0], abs=allowed)
    assert side.tail_moments.area == pytest.approx(expected.tail[0], abs=allowed)
    assert side.moments.x == pytest.approx(expected.side[1], abs=370 * allowed)
    assert side.moments.z == pytest.approx(expected.side[2], abs=370 * allowed)


@FEW
@given(curved_designs())
def test_counted_areas_of_curved_designs_by_recount(design: Design) -> None:
    whole = SideAreaCounter().count(design).moments.area
    for outline_id, area in SideAreaCounter().counted_areas(design).items():
        rest = SideAreaCounter().count(decode(encode(without(design, outline_id)))).moments.area
        # Overlays round to a grid of 1e-6 mm, and these outlines have some metres of edges.
        assert area == pytest.approx(whole - rest, rel=1e-7, abs=1e-2), outline_id


def test_a_whole_aeroplane_agrees() -> None:
    design = trainer()
    pixels = Pixels.over(-10, -260, 910, 240, 0.5)
    expected = count_by_pixels(design, pixels)
    side = SideAreaCounter().count(design)
    # Half a pixel in ten along about 9 m of edges, counts included, stays under 0.1 %.
    assert side.moments.area == pytest.approx(expected.side[0], rel=1e-3)
    assert side.tail_moments.area == pytest.approx(expected.tail[0], rel=1e-3)
    assert side.cla == pytest.approx(
        (expected.side[1] / expected.side[0], expected.side[2] / expected.side[0]), abs=0.2
    )


BODY = box("body", "fuselage", 0, 0, 100, 20)

# Each by hand: (outlines beside the 2000 mm² body, side area expected in mm²).
BY_HAND = {
    "a joined pair wholly behind the body counts nothing": (
        (box("n", "nacelle", 10, 5, 30, 15, count=2),),
        2000,
    ),
    "a joined pair half behind the body counts twice what shows": (
        (box("n", "nacelle", 10, -10, 30, 10, count=2),),
        2000 + 2 * 20 * 10,
    ),
    "a clear pair counts whole, body or not": (
        (box("n", "nacelle", 10, -10, 30, 10, count=2, stance="clear"),),
        2000 + 2 * 20 * 20,
    ),
    "a pair of fins is clear by default": ((box("f", "fin", 80, 10, 100, 30, count=2),), 2000 + 2 * 20 * 20),
    "a single fin is joined by default": ((box("f", "fin", 80, 10, 100, 30),), 2000 + 20 * 10),
    "a wheel over its leg counts the overlap once": (
        (box("l", "gear leg", 40, -30, 44, 0, count=2), box("w", "wheel", 32, -40, 52, -20, count=2)),
        2000 + 2 * (4 * 30 + 20 * 20 - 4 * 10),
    ),
    "overlapping clear ones of different counts stand apart": (
        (box("a", "float", 0, -40, 50, -20, count=2), box("b", "wheel", 0, -40, 50, -20, count=3)),
        2000 + 2 * 50 * 20 + 3 * 50 * 20,
    ),
    "a single clear wheel in front of the body counts again": (
        (box("w", "wheel", 10, 5, 20, 15),),
        2000 + 100,
    ),
    "two single clear ones count their overlap once": (
        (box("a", "wheel", 0, -20, 20, -10), box("b", "wheel", 10, -20, 30, -10)),
        2000 + 300,
    ),
    "a single joined canopy adds only what shows": ((box("c", "canopy", 30, 10, 60, 30),), 2000 + 30 * 10),
    "eight of one kind": ((box("s", "strut", 50, 20, 52, 70, count=8),), 2000 + 8 * 2 * 50),
}


@pytest.mark.parametrize("case", BY_HAND, ids=lambda name: name.replace(" ", "-"))
def test_by_hand(case: str) -> None:
    beside, expected = BY_HAND[case]
    assert SideAreaCounter().count(design_of(BODY, *beside)).moments.area == pytest.approx(expected)


def test_a_wing_panel_reaches_from_the_root_s_bottom_to_the_tip_s_top() -> None:
    # Equal chords, so the hull is a rectangle: chord × (dihedral rise + thickness).
    wing = Wing("w", (Station(0, 20, 50, 5), Station(300, 20, 50, 35)), section=Section(0.1))
    alone = SideAreaCounter().count(design_of(wings=(wing,)))
    assert alone.moments.area == pytest.approx(2 * 50 * (30 + 0.1 * 50))
    assert alone.cla == pytest.approx((20 + 50 / 2, 20))


def test_a_wing_and_a_float_that_cover_each_other_stand_apart() -> None:
    wing = Wing("w", (Station(0, 20, 50, 0), Station(300, 20, 50, 0)), section=Section(0.2))
    beside = box("f", "float", 20, -5, 70, 5, count=2)
    both = SideAreaCounter().count(design_of(beside, wings=(wing,)))
    assert both.moments.area == pytest.approx(2 * 50 * 10 + 2 * 50 * 10)


def test_two_wings_count_each_for_itself_but_panels_of_one_are_united() -> None:
    there_and_back = Wing(
        "w", (Station(0, 0, 50, 0), Station(300, 0, 50, 30), Station(600, 0, 50, 0)), section=Section(0.2)
    )
    other = msgspec.structs.replace(there_and_back, id="v")
    one = SideAreaCounter().count(design_of(wings=(there_and_back,))).moments.area
    two = SideAreaCounter().count(design_of(wings=(there_and_back, other))).moments.area
    assert one == pytest.approx(2 * 50 * 40)
    assert two == pytest.approx(2 * one)


def test_the_fin_s_root_hidden_in_the_body_is_not_exposed_but_its_rudder_joins() -> None:
    design = design_of(
        BODY,
        box("f", "fin", 70, 10, 90, 50),
        box("r", "rudder", 85, 10, 110, 50),
    )
    side = SideAreaCounter().count(design)
    # Fin and rudder together: 70..110 × 10..50, less the part of it in the body, 70..100 × 10..20.
    area, hidden = 40 * 40, 30 * 10
    assert side.tail_moments.area == pytest.approx(area - hidden)
    assert side.tail_moments.centroid() == pytest.approx(
        ((area * 90 - hidden * 85) / (area - hidden), (area * 30 - hidden * 15) / (area - hidden))
    )


def test_a_single_clear_fin_is_exposed_whole() -> None:
    design = design_of(BODY, box("f", "fin", 70, 10, 90, 50, stance="clear"))
    assert SideAreaCounter().count(design).tail_moments.area == pytest.approx(20 * 40)


def test_taking_the_body_away_brings_out_what_it_hid() -> None:
    # Body 2000, nacelles 2 × 200 hidden: without the body they show, so it adds 2000 − 400.
    counted = SideAreaCounter().counted_areas(design_of(BODY, box("n", "nacelle", 10, 5, 30, 15, count=2)))
    assert counted == pytest.approx({"body": 2000 - 2 * 200, "n": 0})


def test_hidden_outlines_still_count() -> None:
    seen = design_of(BODY)
    unseen = design_of(msgspec.structs.replace(BODY, hidden=True, locked=True))
    counter = SideAreaCounter()
    assert counter.count(unseen).moments == counter.count(seen).moments
