"""The whole range of sideslip: where the moment turns, and what is said about it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Design, Mark, Station, Wing
from core.stability.aeroplane import Aeroplane
from core.stability.body import NO_BODY
from core.stability.fin import NO_TAIL
from core.stability.lateral.slip_range import (
    NO_REVERSAL,
    REVERSALS,
    CrossFlow,
    SlipCurve,
    slip_curve,
    slip_values,
    slip_words,
    stall_angle_deg,
)
from core.stability.readings import ReadingsEngine
from core.stability.surfaces import NO_WING
from tests.core.making import SOME, box, curved_designs, design_of, sound_designs, traced, trainer

WING = Wing("wing", (Station(0, 200, 200), Station(600, 200, 200)), in_side_area=False)


def aeroplane(design: Design) -> Aeroplane:
    readings = ReadingsEngine().read(design)
    return Aeroplane(design, readings.side, readings.cg, "mark the CG", readings.fin_centre)


def curve(design: Design, coefficients: CrossFlow | None = None) -> SlipCurve:
    a = aeroplane(design)
    found = slip_curve(a, coefficients) if coefficients else slip_curve(a)
    assert isinstance(found, SlipCurve), found
    return found


def plane(fin_height: float, depth: float = 60, cg: float = 240, nose: float = 0, **more: Any) -> Design:
    """A slab of a body 800 mm long, a fin behind it on nothing, a wing that shows nothing from the side."""
    return design_of(
        box("f", "fuselage", nose, -depth / 2, 800, depth / 2), box("t", "fin", 810, 0, 900, fin_height),
        wings=(WING,), cg_mark=Mark(cg), **more,
    )


def test_a_good_tail_straightens_from_any_angle() -> None:
    design = plane(240)
    found = curve(design)
    assert found.reversal_deg is None and found.settles_deg is None
    assert (found.total[1:] > 0).all() and found.total[0] == 0
    assert slip_values(aeroplane(design)) == dict.fromkeys(REVERSALS, NO_REVERSAL)
    assert "straightens from any angle" in found.sentence and "weakly" not in found.sentence


def test_little_fin_straightens_but_wanders() -> None:
    """A slope of which even the least firm reckoning leaves something, under the range shown for Cnβ."""
    heights = np.arange(20.0, 200.0, 4.0)
    found = next(c for c in (curve(plane(float(h))) for h in heights) if c.reversal_low_deg is None)
    assert 0 < found.slope < 0.03 * 1200 * 200 * 1200
    assert "weakly" in found.sentence


def test_no_tail_to_speak_of_swings_at_once_and_hangs_broadside() -> None:
    """The body's couple wins at small angles, its side area behind the CG at large ones."""
    found = curve(plane(20))
    assert found.slope < 0 and found.reversal_deg == 0
    assert found.settles_deg is not None and 0 < found.settles_deg < 90
    assert f"{found.settles_deg:.0f}°" in found.sentence and "small slip" in found.sentence


def test_a_fin_that_stalls_before_the_side_area_takes_over() -> None:
    """CG far aft, deep body: the stalled fin is not enough against the couple, until the side area is."""
    design = plane(150, depth=112, cg=420)
    found = curve(design)
    assert found.slope > 0
    assert found.reversal_deg is not None and found.stall_deg < found.reversal_deg < 90
    at = float(np.interp(found.reversal_deg, found.beta_deg, found.total))
    assert at == pytest.approx(0, abs=1e-9 * float(np.abs(found.total).max()))
    assert (found.total[(found.beta_deg > 0) & (found.beta_deg < found.reversal_deg)] > 0).all()
    assert slip_values(aeroplane(design))["yaw_reversal_deg"] == found.reversal_deg
    assert found.settles_deg is not None and found.reversal_deg < found.settles_deg < 90


def test_a_cg_behind_the_side_area_is_worst_broadside_on() -> None:
    found = curve(plane(140, depth=60, cg=520))
    assert found.total[-1] < 0 and found.settles_deg is None
    assert found.reversal_deg is not None


NOUGHT: dict[str, float | None] = {
    "reversal_deg": None, "reversal_low_deg": None, "reversal_high_deg": None, "settles_deg": None,
}


@pytest.mark.parametrize(
    ("turns", "words", "never"),
    (
        ({}, "straightens from any angle", "swing"),
        ({"reversal_low_deg": 26.2},
         "may swing round anywhere beyond 26°; by the firmer reckoning not at all", "straightens from any"),
        ({"reversal_low_deg": 26.2, "reversal_deg": 33.0}, "by the firmer reckoning not at all", "33"),
        ({"reversal_low_deg": 26.2, "reversal_deg": 33.0}, "more likely than not swings round", "may swing"),
        ({"reversal_low_deg": 26.2, "reversal_deg": 33.0, "reversal_high_deg": 41.4},
         "a limit that lies between 26° and 41° it swings on round", "33"),
        ({"reversal_low_deg": 26.2, "reversal_deg": 33.0, "reversal_high_deg": 41.4, "settles_deg": 70.0},
         "swings out to about 70° and hangs there", "on round"),
        ({"reversal_low_deg": 40.8, "reversal_deg": 41.0, "reversal_high_deg": 41.4}, "further than 41°",
         "between"),
        ({"reversal_low_deg": 0.0}, "By the less firm reckoning even a small slip grows", "straightens"),
        ({"reversal_low_deg": 0.0, "reversal_deg": 28.0}, "beyond 28° more likely than not", "straightens"),
        ({"reversal_low_deg": 0.0, "reversal_deg": 0.0}, "Even a small slip grows by itself: it needs",
         "straightens"),
    ),
)
def test_what_is_said_follows_the_whole_band(
    turns: dict[str, float | None], words: str, never: str
) -> None:
    said = slip_words(replace(curve(plane(240)), **NOUGHT | turns), weak=False)
    assert words in said and never not in said


def test_before_the_stall_the_fin_follows_its_lift_slope_and_after_it_the_plate() -> None:
    found = curve(plane(400))
    before = (found.beta_deg > 0) & (found.beta_deg <= found.stall_deg)
    sine, cosine = np.sin(np.radians(found.beta_deg)), np.cos(np.radians(found.beta_deg))
    ratio = found.fin[before] / (sine * cosine)[before]
    assert np.ptp(ratio) == pytest.approx(0, abs=1e-9 * float(ratio[0]))
    after = found.beta_deg >= found.stall_deg + 5
    plate = (1.17 * sine / (0.56 + 0.44 * sine))[after] * 90 * 400 * (855 - 240)
    assert found.fin[after] == pytest.approx(plate)
    assert 10 < found.stall_deg < 45


def test_shares_run_from_nothing_to_all() -> None:
    found = curve(trainer())
    assert found.cross_flow_share[0] == 0
    assert found.cross_flow_share[-1] == pytest.approx(1)
    assert ((found.cross_flow_share >= 0) & (found.cross_flow_share <= 1)).all()


def test_flat_sides_help_where_the_side_area_lies_aft() -> None:
    flat, round_ = (curve(plane(100), CrossFlow(body=c)) for c in (1.2, 0.84))
    assert flat.cross_flow[-1] == pytest.approx(1.2 / 0.84 * round_.cross_flow[-1])
    assert flat.fin == pytest.approx(round_.fin)


@SOME
@given(st.floats(0.3, 3.0))
def test_twice_the_size_eight_times_the_moment(by: float) -> None:
    small = plane(150, depth=112, cg=420)
    outlines = tuple(
        traced(o.id, o.kind, [(n.x * by, n.z * by) for n in o.nodes]) for o in small.outlines
    )
    stations = tuple(Station(s.y * by, s.le_x * by, s.chord * by) for s in WING.stations)
    wings = (msgspec.structs.replace(WING, stations=stations),)
    large = msgspec.structs.replace(small, outlines=outlines, wings=wings, cg_mark=Mark(420 * by))
    a, b = curve(small), curve(large)
    assert b.total == pytest.approx(a.total * by**3, rel=1e-6, abs=1e-6 * float(np.abs(b.total).max()))
    assert a.reversal_deg is not None and b.reversal_deg == pytest.approx(a.reversal_deg, abs=1e-3)


def test_two_fins_of_the_same_form_count_twice() -> None:
    def with_fins(count: int) -> SlipCurve:
        design = plane(150)
        fin = msgspec.structs.replace(design.outlines[1], count=count)
        return curve(msgspec.structs.replace(design, outlines=(design.outlines[0], fin)))

    two, four = with_fins(2), with_fins(4)
    # Stalled, they are plates: only their number tells.
    assert four.fin[-1] == pytest.approx(2 * two.fin[-1])


@SOME
@given(st.floats(0.0, 20.0))
def test_the_stall_comes_earlier_on_a_slender_fin(aspect: float) -> None:
    assert 15.0 < stall_angle_deg(aspect + 0.1) <= stall_angle_deg(aspect) <= 40.0


@SOME
@given(curved_designs())
def test_the_curve_lies_in_its_band_and_turns_in_its_order(design: Design) -> None:
    found = slip_curve(aeroplane(design))
    if isinstance(found, str) or found.fin[-1] <= 0.0:
        return
    slack = 1e-9 * float(np.abs(found.total).max())
    assert (found.low <= found.total + slack).all() and (found.total <= found.high + slack).all()
    edges = (found.reversal_low_deg, found.reversal_deg, found.reversal_high_deg)
    turns = [np.inf if edge is None else edge for edge in edges]
    assert turns == sorted(turns)


def test_what_is_missing_says_so() -> None:
    assert slip_curve(aeroplane(trainer(cg_mark=None))) == "mark the CG"
    assert slip_curve(aeroplane(trainer(wings=()))) == NO_WING
    body, fin = plane(100).outlines
    assert slip_curve(aeroplane(design_of(fin, wings=(WING,), cg_mark=Mark(0)))) == NO_BODY
    without_fin = aeroplane(design_of(body, wings=(WING,), cg_mark=Mark(0)))
    assert slip_curve(without_fin) == NO_TAIL
    assert slip_values(without_fin) == dict.fromkeys(REVERSALS, NO_TAIL)


@SOME
@given(st.one_of(curved_designs(), sound_designs))
def test_the_far_fetched(design: Design) -> None:
    found = slip_curve(aeroplane(design))
    if isinstance(found, SlipCurve):
        assert np.isfinite(found.total).all() and np.isfinite(found.slope)
        assert found.sentence.endswith(".")
    else:
        assert found
