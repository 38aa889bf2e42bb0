"""The line that says why shares do not make up the whole, and what lead a change saves."""

from __future__ import annotations

import pytest
from making import box, design_of
from msgspec.structs import replace

from core.design import Design, Mark, Section, Station, Weight, Wing
from core.redesign.lead_saved import lead_saved_words
from core.stability.readings import ReadingsEngine
from core.stability.shares import shares_words


def told(design: Design) -> str:
    engine = ReadingsEngine()
    total = engine.read(design).side.moments.area
    return shares_words(design, engine.counted_areas(design), total)


def test_outlines_apart_make_the_whole_and_nothing_is_said() -> None:
    apart = design_of(box("a", "fuselage", 0, 0, 100, 20), box("b", "fin", 100, 20, 120, 40))
    assert told(apart) == "" and told(design_of()) == ""


def test_what_overlaps_is_in_none() -> None:
    # 2000 and 400 mm² with 100 in common: 1900 and 300 alone of 2300, 95.7 %.
    over = design_of(box("a", "fuselage", 0, 0, 100, 20), box("b", "fin", 95, 0, 115, 20))
    assert told(over) == "Together 95.7 %: what overlaps is in none."


def test_wings_in_view_are_said() -> None:
    # A wing seen as 100 × 10 mm: twice 1000 of 2000 + 2000.
    stations = (Station(0, 20, 100), Station(500, 20, 100))
    wing = Wing("wing", stations, section=Section(thickness=0.1), in_side_area=True)
    design = replace(design_of(box("a", "fuselage", 0, 0, 100, 20)), wings=(wing,))
    assert told(design) == "Together 50.0 %: wings 50.0 %."


@pytest.mark.parametrize(
    ("battery_at", "words"),
    [
        # The nose at 0, the mark at 100: 100 g moved from 300 to 250 needs 50 g less; to 320, 20 g more.
        (250.0, "By the weights it saves 50.0 g of lead in the nose."),
        (320.0, "By the weights it takes 20.0 g of lead in the nose."),
        (300.0, "By the weights the lead in the nose stays as it is."),
    ],
)
def test_lead_saved_by_moments(battery_at: float, words: str) -> None:
    def laden(x: float) -> Design:
        body = design_of(box("a", "fuselage", 0, 0, 400, 20))
        return replace(body, cg_mark=Mark(100, 0), weights=(Weight("battery", 100.0, x),))

    assert lead_saved_words(laden(300.0), laden(battery_at)) == words
    assert lead_saved_words(replace(laden(300.0), weights=()), laden(300.0)) == ""
