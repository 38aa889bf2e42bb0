"""The cutting list against sums by hand: sticks, sheets, joins, grams before and now."""

from __future__ import annotations

import itertools
import math
import random

import pytest
import shapely
from msgspec.structs import replace

from core.bench.cutting_list import MOST_PIECES, SAW, Sheets, Sticks, build_name, cutting_list
from core.design import Build
from core.parts.part import Part
from tests.core.made_parts import box, built, design, frame_build, outline, part, polygon, sheet_build

TAIL = Build("tail", ("fin", "rudder"))


def sticks(*lengths: tuple[float, int]) -> Sticks:
    parts = [
        part(f"Stick {chr(65 + i)}", "stick", box(long, 5.0), 5.0, count=count, width=6.0)
        for i, (long, count) in enumerate(lengths)
    ]
    (found,) = cutting_list(design(TAIL), [built(TAIL, *parts)]).sticks
    return found


def sheets(*parts: Part) -> Sheets:
    (found,) = cutting_list(design(TAIL), [built(TAIL, *parts)]).sheets
    return found


def test_sticks_are_filled_longest_first_with_a_saw_cut_between() -> None:
    # 600 + 1 + 399 is a metre; 600 + 1 + 400 is a millimetre more.
    assert sticks((399.0, 1), (600.0, 1)).bars == ((600.0, 399.0),)
    assert sticks((600.0, 1), (400.0, 1)).bars == ((600.0,), (400.0,))
    found = sticks((300.0, 2), (700.0, 2), (250.0, 1))
    assert found.bars == ((700.0, 250.0), (700.0,), (300.0, 300.0)) and found.joined == ()
    assert [(cut.length, cut.count) for cut in found.cuts] == [(700.0, 2), (300.0, 2), (250.0, 1)]


def test_a_part_longer_than_a_stick_is_joined_of_whole_ones_and_the_rest() -> None:
    found = sticks((2300.0, 2), (690.0, 1))
    assert found.joined == ("Stick A",)
    assert sorted(itertools.chain(*found.bars)) == [300.0, 300.0, 690.0, *4 * [1000.0]]
    assert len(found.bars) == 6
    assert sticks((1000.0, 1)).joined == ()


def test_no_stick_is_ever_overfull_and_nothing_is_lost() -> None:
    rng = random.Random(5)
    for _ in range(40):
        lengths = [(round(rng.uniform(8.0, 990.0), 1), rng.randint(1, 4)) for _ in range(rng.randint(1, 12))]
        bars = sticks(*lengths).bars
        assert all(sum(bar) + SAW * (len(bar) - 1) <= 1000.0 + 1e-6 for bar in bars)
        wanted = sorted(long for long, count in lengths for _ in range(count))
        assert sorted(itertools.chain(*bars)) == pytest.approx(wanted)
        # First fit decreasing never takes more than 11/9 of the least, and 6/9 (Dósa, 2007; from memory);
        # the least is at least what the lengths add up to.
        assert len(bars) <= 11 / 9 * math.ceil(sum(wanted) / 1000.0) + 1 + len(wanted) / 2


def test_pieces_of_one_edge_come_from_one_section() -> None:
    edge = [
        part(f"Fin leading edge, piece {i}", "stick", box(90.0, 7.0), thick, width=wide)
        for i, (wide, thick) in enumerate(((8.3, 7.0), (9.1, 7.6), (8.9, 7.2)))
    ]
    other = part("Rudder leading edge", "stick", box(90.0, 7.0), 7.0, width=8.3)
    found = cutting_list(design(TAIL), [built(TAIL, *edge, other)]).sticks
    # The largest of them up to the next half millimetre; one by itself as it is, if that is a size of stock.
    assert _sections((5.94, 3.0), (3.175, 2.4), (6.35, 0.41)) == [(3.17, 2.4), (6.0, 3.0), (6.35, 0.5)]
    assert [(one.wide, one.thick, len(one.cuts)) for one in found] == [(8.3, 7.0, 1), (9.5, 8.0, 3)]
    assert found[1].bars == ((90.0, 90.0, 90.0),)


def _sections(*sizes: tuple[float, float]) -> list[tuple[float, float]]:
    parts = [
        part(f"Part {chr(65 + i)}", "stick", box(90.0, 7.0), thick, width=wide)
        for i, (wide, thick) in enumerate(sizes)
    ]
    return [(one.wide, one.thick) for one in cutting_list(design(TAIL), [built(TAIL, *parts)]).sticks]


def test_rectangles_fill_a_sheet_as_one_lays_them_by_hand() -> None:
    # Two abreast (36 + 1 + 36 = 73 mm of 75), nine rows of 100 and a cut: eighteen a sheet.
    found = sheets(part("Web", "web", box(100.0, 36.0), 2.0, count=18))
    assert [(stock.wide, stock.count) for stock in found.stocks] == [(75.0, 1), (100.0, 1)]
    assert found.stocks[0].used == pytest.approx(9 * 101 - 1, abs=9 * 1.5)
    assert found.area == pytest.approx(18 * 3600.0)
    assert sheets(part("Web", "web", box(100.0, 36.0), 2.0, count=19)).stocks[0].count == 2


def test_the_grain_keeps_its_way_and_what_is_too_wide_is_joined() -> None:
    across = sheets(part("Web", "web", box(96.0, 36.0), 2.0, count=4, grain=90.0))
    narrow, wide = across.stocks
    # Across the sheet 96 mm go on 100 alone: four of 36 mm one after the other.
    assert wide.joined == () and wide.used == pytest.approx(4 * 37 - 1, abs=4 * 1.5)
    assert narrow.joined == ("Web",)
    # Nobody minds how a part without grain lies.
    assert sheets(part("Web", "web", box(96.0, 36.0), 2.0, count=4, grain=math.nan)).stocks[0].joined == ()
    slant = sheets(part("Web", "web", box(100.0, 30.0), 2.0, grain=45.0))
    # Turned by 45 degrees it is (100 + 30) / √2 = 91.9 mm wide and long.
    assert slant.stocks[0].joined == ("Web",) and slant.stocks[1].joined == ()
    assert slant.stocks[1].used == pytest.approx(130 / math.sqrt(2), abs=1.5)


def test_a_part_longer_than_a_metre_is_joined_end_to_end() -> None:
    found = sheets(part("Plank", "skin", box(1500.0, 70.0), 1.5))
    assert [(stock.count, stock.joined) for stock in found.stocks] == [(2, ("Plank",)), (2, ("Plank",))]


def test_tapers_nest_end_for_end() -> None:
    # Four of 70 to 20 mm over 480 mm: two abreast and the other way round are 91 mm, so two rows of 480.
    taper = polygon((0, 0), (480, 0), (480, 20), (0, 70))
    found = sheets(part("Skin", "skin", taper, 1.5, count=4))
    assert found.stocks[1].count == 1 and found.stocks[1].used <= 1000.0


def test_area_is_told_alone_of_boards_and_of_more_than_is_laid_out() -> None:
    assert sheets(part("Tab", "tab", box(60.0, 30.0), 3.0, material="birch-ply")).stocks == ()
    many = sheets(part("Web", "web", box(9.0, 9.0), 2.0, count=MOST_PIECES + 1))
    assert many.stocks == () and many.area == pytest.approx(81.0 * (MOST_PIECES + 1))


def test_sheets_are_told_by_material_and_thickness_and_hold_what_they_must() -> None:
    found = cutting_list(design(frame_build().build), [frame_build()])
    assert [one.material for one in found.sheets] == 2 * ["balsa-medium"]
    assert [one.thick for one in found.sheets] == [1.5, 6.0]
    for one in found.sheets:
        for stock in one.stocks:
            assert stock.wide * (1000.0 * (stock.count - 1) + stock.used) >= one.area
    # A hole is not filled with another part, but weighs nothing: the area is the part's own.
    holed = box(50.0, 50.0).difference(shapely.box(10, 10, 40, 40))
    assert sheets(part("Ring", "sheet", holed, 3.0)).area == pytest.approx(2500.0 - 900.0)


def test_grams_stand_against_those_of_the_kept_state() -> None:
    one = sheet_build()
    # Area of the fin in the fixture, by hand: 150·180 less the triangle 70·180/2; of the rudder: 50 wide and
    # 180 to 165 tall, and behind it a triangle of 10 by 165.
    fin = 150 * 180 - 70 * 180 / 2
    rudder = 50 * (180 + 165) / 2 + 10 * 165 / 2
    light = design()
    weighed = [replace(o, grams_per_dm2=3.0) if o.id != "hull" else o for o in light.outlines]
    kept = replace(light, outlines=tuple(weighed))
    (row,) = cutting_list(design(one.build), [one], kept).grams
    assert row.before == pytest.approx(3.0 * (fin + rudder) / 1e4, rel=1e-9) and row.why == ""
    assert row.grams == pytest.approx(row.wood + row.covering + row.glue)
    # By its own build, whichever way that is.
    other = frame_build()
    kept = replace(light, builds=(other.build,))
    (row,) = cutting_list(design(one.build), [one], kept, [other]).grams
    assert row.before == other.grams
    # A pair weighs twice; a build of the fin alone leaves the rudder to its grams.
    alone = replace(other.build, of=("fin",))
    pair = tuple(replace(o, count=2) if o.id == "rudder" else o for o in weighed)
    (row,) = cutting_list(design(one.build), [one], replace(light, outlines=pair, builds=(alone,)),
                          [built(alone, *other.parts)]).grams
    assert row.before == pytest.approx(built(alone, *other.parts).grams + 2 * 3.0 * rudder / 1e4)


def test_why_the_kept_state_tells_no_grams() -> None:
    one = sheet_build()
    fin_only = built(replace(one.build, of=("fin",)), *one.parts)
    other = frame_build()

    def why(kept, builts=(), of=one):  # type: ignore[no-untyped-def]
        (row,) = cutting_list(design(of.build), [of], kept, builts).grams
        assert row.before is None
        return row.why

    assert why(None) == ""
    assert why(replace(design(), outlines=design().outlines[:1])) == "the kept state has no such surface"
    assert why(design()) == "the kept state gives it no weight"
    together = "the kept state builds it together with other surfaces"
    assert why(design(other.build), [other], fin_only) == together
    assert why(design(other.build), [built(other.build)]) == "the kept state's build cannot be made"


def test_a_build_goes_by_its_label_or_by_its_surfaces() -> None:
    plain = design(TAIL)
    assert build_name(plain, TAIL) == "Fin, Rudder"
    assert build_name(plain, replace(TAIL, label="New tail")) == "New tail"
    named = replace(plain, outlines=(outline("fin", "fin", (0, 0), (9, 9), (9, 0)),))
    assert build_name(named, TAIL) == "fin, rudder"
    faulty = built(TAIL, faults=("rib 7 is shorter than its notches: leave it out",))
    assert cutting_list(plain, [faulty]).faults == faulty.faults
