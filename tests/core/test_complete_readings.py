"""Readings of a complete aeroplane: nothing missing, verdicts where there are ranges, quick readings."""

from __future__ import annotations

import math
from typing import Any

import pytest
from making import box, design_of
from test_readings import assert_whole, reasons

from core.design import Design, Flight, Mark, Scan, Station, Tailplane, Weight, Wing
from core.stability.catalogue import GROUPS
from core.stability.lateral.slip_range import NO_REVERSAL
from core.stability.readings import ERRORS, NO_SCALE, SPECS, Readings, ReadingsEngine, verdict_of


def read(design: Any, **more: Any) -> Readings:
    return ReadingsEngine().read(design, **more)


def flying(fin_top: float = 270.0, **more: Any) -> Design:
    """A box of an aeroplane with all that every reading needs; Cnβ grows with the height of the fin."""
    return design_of(
        box("body", "fuselage", 0, -50, 1000, 50),
        box("fin", "fin", 880, 50, 952, fin_top),
        box("rudder", "rudder", 952, 50, 1000, fin_top),
        wings=(Wing("wing", (Station(0, 400, 200, 60), Station(600, 400, 200, 120))),),
        tailplanes=(Tailplane("tail", (Station(0, 880, 120), Station(200, 880, 120))),),
        weights=(Weight("motor", 350, 60), Weight("battery", 200, 300), Weight("rest", 600, 746.7)),
        **{"cg_from": "weights", "fuselage_width": 80.0, **more},
    )


def test_a_complete_aeroplane_misses_nothing() -> None:
    readings = read(flying())
    assert_whole(readings)
    assert readings.warnings == ()
    # That it never swings round is an answer, and stands where others have a reason.
    assert reasons(readings) in ({}, {"yaw_reversal_deg": NO_REVERSAL})


def test_an_unknown_scale_hides_all_of_it_but_the_fraction() -> None:
    readings = read(flying(scans=(Scan("plan", "plan.png", scale_from="none"),)))
    assert {key for key, r in readings.table.items() if r.value is not None} == {"cla_fraction"}
    assert set(reasons(readings).values()) <= {NO_SCALE, NO_REVERSAL}
    assert_whole(readings)


RANGED = sorted(k for k, s in SPECS.items() if s.low is not None or s.high is not None)


@pytest.mark.parametrize("key", RANGED)
def test_a_verdict_stands_wherever_the_list_has_a_range(key: str) -> None:
    reading, spec = read(flying())[key], SPECS[key]
    assert reading.value is not None
    low = -math.inf if spec.low is None else spec.low
    high = math.inf if spec.high is None or key == "sideslip_full_rudder_deg" else spec.high
    assert reading.verdict == verdict_of(reading.value, low, high)


@pytest.mark.parametrize(("fin_top", "verdict"), ((220.0, "above"), (270.0, "within")))
def test_much_sideslip_is_above_only_where_little_holds_the_heading(fin_top: float, verdict: str) -> None:
    readings = read(flying(fin_top, flight=Flight(rudder_throw_deg=40.0)))
    slip, firm = readings["sideslip_full_rudder_deg"], readings.value("cn_beta")
    assert slip.value is not None and firm is not None
    assert slip.value > 30.0
    assert (firm < 0.05) == (verdict == "above")
    assert slip.verdict == verdict


def test_quick_readings_are_the_same_but_for_the_two_slow_ones() -> None:
    engine = ReadingsEngine()
    first, second = flying(), flying(cg_from="mark", cg_mark=Mark(300, 0))
    before = engine.read(first)
    quick = engine.read(second, quick=True)
    whole = ReadingsEngine().read(second)
    slow = (*ERRORS, "yaw_reversal_deg")
    for key in SPECS:
        assert quick[key] == (before[key] if key in slow else whole[key]), key
    assert dict(engine.read(second).table) == dict(whole.table)


def test_every_reading_of_a_group_is_in_the_list_and_in_one_group_only() -> None:
    grouped = [key for group in GROUPS for key in group.readings]
    assert len(grouped) == len(set(grouped)) and set(grouped) <= set(SPECS)
