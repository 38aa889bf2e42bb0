"""Readings of a complete aeroplane: nothing missing, verdicts where there are ranges, quick readings."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from making import box, design_of
from test_readings import assert_whole, reasons

from core.design import Design, Flight, Mark, Propeller, Scan, Station, Tailplane, Weight, Wing
from core.stability.catalogue import GROUPS
from core.stability.lateral.slip_range import NO_REVERSAL, REVERSALS
from core.stability.readings import ERRORS, NO_SCALE, SPECS, Readings, ReadingsEngine, verdict_of


def read(design: Any, **more: Any) -> Readings:
    return ReadingsEngine().read(design, **more)


def flight(rudder_throw_deg: float = 10.0) -> Flight:
    return Flight(rudder_throw_deg=rudder_throw_deg, propeller=Propeller(250, -20))


def flying(fin_top: float = 270.0, **more: Any) -> Design:
    """A box of an aeroplane with all that every reading needs; Cnβ grows with the height of the fin."""
    return design_of(
        box("body", "fuselage", 0, -50, 1000, 50),
        box("fin", "fin", 880, 50, 952, fin_top),
        box("rudder", "rudder", 952, 50, 1000, fin_top),
        wings=(Wing("wing", (Station(0, 400, 200, 60), Station(600, 400, 200, 120))),),
        tailplanes=(Tailplane("tail", (Station(0, 880, 120), Station(200, 880, 120))),),
        weights=(Weight("motor", 350, 60), Weight("battery", 200, 300), Weight("rest", 600, 746.7)),
        **{"cg_from": "weights", "fuselage_width": 80.0, "flight": flight(), **more},
    )


def test_a_complete_aeroplane_misses_nothing() -> None:
    readings = read(flying())
    assert_whole(readings)
    assert readings.warnings == ()
    # That it never swings round is an answer, and stands where others have a reason.
    gone = reasons(readings)
    assert set(gone) <= set(REVERSALS) and set(gone.values()) <= {NO_REVERSAL}


def test_an_unknown_scale_hides_all_of_it_but_the_fraction() -> None:
    readings = read(flying(scans=(Scan("plan", "plan.png", scale_from="none"),)))
    assert {key for key, r in readings.table.items() if r.value is not None} == {"cla_fraction"}
    assert set(reasons(readings).values()) == {NO_SCALE}
    assert_whole(readings)


RANGED = sorted(k for k, s in SPECS.items() if s.low is not None or s.high is not None)


@pytest.mark.parametrize("key", RANGED)
def test_a_verdict_stands_wherever_the_list_has_a_range(key: str) -> None:
    reading, spec = read(flying())[key], SPECS[key]
    assert reading.value is not None
    low = -math.inf if spec.low is None else spec.low
    high = math.inf if spec.high is None or key == "sideslip_full_rudder_deg" else spec.high
    assert reading.verdict == verdict_of(reading.value, low, high)


@pytest.mark.parametrize(("throw", "verdict"), ((2.0, "below"), (10.0, "within")))
def test_little_sideslip_on_full_rudder_is_below(throw: float, verdict: str) -> None:
    slip = read(flying(flight=flight(throw)))["sideslip_full_rudder_deg"]
    assert slip.value is not None and (slip.value < 10.0) == (verdict == "below")
    assert slip.verdict == verdict


def test_more_than_thirty_degrees_is_no_figure() -> None:
    slip = read(flying(fin_top=220.0, flight=flight(40.0)))["sideslip_full_rudder_deg"]
    assert (slip.value, slip.verdict, slip.missing) == (None, None, "over 30°")


def test_quick_readings_are_the_same_but_for_the_slow_ones() -> None:
    """The lattice is laid half as fine and carried on: what hangs on it is off by a little."""
    engine = ReadingsEngine()
    first, second = flying(), flying(cg_from="mark", cg_mark=Mark(300, 0))
    before = engine.read(first)
    quick = engine.read(second, quick=True)
    whole = ReadingsEngine().read(second)
    gust = (*next(g.readings for g in GROUPS if g.key == "gust"), "spiral_upright_share")
    for key in SPECS:
        if key in (*ERRORS, *REVERSALS, *gust):
            assert quick[key] == before[key], key
        elif SPECS[key].unit == "1/rad" or key in ("yaw_neutral_x", "sideslip_full_rudder_deg"):
            assert quick.value(key) == pytest.approx(whole.value(key), rel=5e-3), key
        else:
            assert quick[key] == whole[key], key
    assert dict(engine.read(second).table) == dict(whole.table)


def test_quick_readings_keep_nothing_of_what_is_gone() -> None:
    engine = ReadingsEngine()
    engine.read(flying())
    quick = engine.read(msgspec.structs.replace(flying(), wings=()), quick=True)
    for key in (*REVERSALS, "wag_period_s", "spiral_upright_share"):
        assert (quick.value(key), quick[key].missing) == (None, quick["cn_beta"].missing), key


def test_every_reading_of_a_group_is_in_the_list_and_in_one_group_only() -> None:
    grouped = [key for group in GROUPS for key in group.readings]
    assert len(grouped) == len(set(grouped)) and set(grouped) <= set(SPECS)
