"""The CG from the wing's root: stations subtracted by hand."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from core.bench.from_wing import cg_behind_wing_le, cg_from_wing_words, foremost_wing
from core.design import EMPTY, Mark, Scan, Station, Weight, Wing
from core.stability.readings import NO_SCALE

# Stations in no order, swept back, so that root, first and foremost station are three different ones.
MAIN = Wing("main", (Station(600, 180, 140, 30), Station(40, 212, 220), Station(300, 150, 180)), label="Main")
FRONT = Wing("front", (Station(0, 95, 80),), label="Front")


def test_from_the_root_station_of_the_foremost_wing() -> None:
    design = replace(EMPTY, wings=(MAIN,), cg_mark=Mark(290.5, 4))
    assert cg_behind_wing_le(design) == pytest.approx(78.5)
    assert cg_from_wing_words(design) == "CG 78.5 mm behind the leading edge of the wing's root"
    both = replace(design, wings=(MAIN, FRONT))
    assert foremost_wing(both) is FRONT
    assert cg_behind_wing_le(both) == pytest.approx(195.5)
    assert cg_from_wing_words(both) == "CG 195.5 mm behind the leading edge of Front's root"


def test_ahead_at_and_in_inches() -> None:
    ahead = replace(EMPTY, wings=(MAIN,), cg_mark=Mark(212 - 25.4))
    assert cg_behind_wing_le(ahead) == pytest.approx(-25.4)
    assert cg_from_wing_words(replace(ahead, display_units="in")) == (
        "CG 1.00 in ahead of the leading edge of the wing's root"
    )
    at = replace(ahead, cg_mark=Mark(212.01))
    assert cg_from_wing_words(at) == "CG at the leading edge of the wing's root"


def test_the_cg_of_the_weights_where_the_design_takes_it_from_them() -> None:
    design = replace(
        EMPTY, wings=(MAIN,), cg_mark=Mark(0), cg_from="weights",
        weights=(Weight("a", 300, 200), Weight("b", 100, 400)),
    )
    assert cg_behind_wing_le(design) == pytest.approx((300 * 200 + 100 * 400) / 400 - 212)


def test_why_there_is_none() -> None:
    assert cg_behind_wing_le(EMPTY) == "enter the wing"
    assert cg_behind_wing_le(replace(EMPTY, wings=(Wing("bare", ()),))) == "enter the wing"
    assert cg_behind_wing_le(replace(EMPTY, wings=(MAIN,))) == "mark the CG"
    unscaled = replace(EMPTY, wings=(MAIN,), cg_mark=Mark(200), scans=(Scan("s", "s", scale_from="none"),))
    assert cg_behind_wing_le(unscaled) == NO_SCALE
    assert cg_from_wing_words(unscaled) == ""
