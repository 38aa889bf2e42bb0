"""A panel's measures against its corners: height, chords, sweep, hinges along a slanted line."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from core.bench.dimensions import Measures, measures_of
from core.design import Build
from core.geometry.overlay import NOTHING
from core.parts.plan import Panel, Plan

FIN = shapely.Polygon(((0, 0), (70, 180), (150, 180), (150, 0)))


def measured(region: shapely.Polygon, *hinge: tuple[float, float]) -> Measures:
    panel = Panel("fin", "Fin", region, False)
    lines = (np.array(hinge, dtype=float),) if hinge else ()
    plan = Plan(Build("b", ("fin",)), True, 1, (panel,), region.bounds[3], lines, NOTHING, (), 0.0,
                lambda p: p, lambda p: p)
    return measures_of(plan, panel)


def test_a_trapezium_has_the_measures_of_its_corners() -> None:
    found = measured(FIN)
    assert (found.low, found.high, found.height) == (0.0, 180.0, 180.0)
    # Level lines a thousandth of a millimetre inside the ends: the chord differs by less than that.
    assert found.root.length == pytest.approx(150.0, abs=1e-3) and not found.root.inside
    assert found.tip.length == pytest.approx(80.0, abs=1e-3) and not found.tip.inside
    assert found.sweep_deg == pytest.approx(math.degrees(math.atan2(70, 180)))
    assert found.area == pytest.approx(180 * (150 + 80) / 2) and found.hinge is None


def test_of_a_rounded_tip_the_chord_is_taken_a_tenth_of_the_height_inside() -> None:
    # A half disc of radius 50 on a square of 100: height 150, a tenth below its top is 135, 35 above the
    # square, where the disc is 2 √(50² − 35²) wide.
    round_top = shapely.union(shapely.box(0, 0, 100, 100), shapely.Point(50, 100).buffer(50, quad_segs=720))
    found = measured(round_top)
    assert found.tip.inside and found.tip.s == pytest.approx(135.0)
    assert found.tip.length == pytest.approx(2 * math.sqrt(50**2 - 35**2), abs=0.01)
    assert found.root.length == pytest.approx(100.0, abs=1e-3)


def test_the_root_is_where_the_body_is_though_a_rudder_hangs_below_it() -> None:
    rudder = shapely.Polygon(((0, -40), (0, 160), (50, 160), (60, 0), (20, -40)))
    found = measured(rudder)
    assert found.height == 200.0 and found.low == -40.0
    assert found.root.s == pytest.approx(0.0, abs=0.01) and found.root.length == pytest.approx(60.0, abs=0.01)
    assert found.sweep_deg == 0.0
    # A ventral fin's plan has its root at s = 0 too, and grows from there.
    assert measured(shapely.Polygon(((0, 0), (40, 60), (80, 60), (100, 0)))).root.length == pytest.approx(
        100.0, abs=2e-3)


def test_hinges_are_measured_along_their_line_from_its_lower_end() -> None:
    found = measured(FIN, (150.0, 170.0), (141.0, 0.0)).hinge
    assert found is not None and found.start == (141.0, 0.0)
    long = math.hypot(9.0, 170.0)
    # Three hinges on 100 to 250 mm, the outer ones a seventh from the ends (common practice, no source).
    assert found.along == pytest.approx((long / 7, long / 2, 6 * long / 7))
    assert found.places[1] == pytest.approx((145.5, 85.0))


def test_a_hinge_line_elsewhere_is_no_hinge_of_this_panel() -> None:
    assert measured(FIN, (400.0, 0.0), (400.0, 170.0)).hinge is None
