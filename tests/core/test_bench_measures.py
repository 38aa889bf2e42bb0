"""Tolerances, control throws and weighings: expectations by rotation matrices and by moments."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.bench.pin import nose_of
from core.bench.setting_up import FinMarks
from core.bench.throws import EdgeThrow, elevator_throws, rudder_chord, rudder_throws
from core.bench.tolerances import (
    fin_parallel_tolerance,
    fin_square_tolerance,
    rise_tolerance,
    string_tolerance,
)
from core.bench.weighing import STILL_TO_COME, Compared, compared, ends
from core.design import EMPTY, Flight, Mark, Station, Tailplane, Weight, Wing
from core.design_bench import ScaleReading, Weighing
from core.stability.ballast import Ballast
from tests.core.making import box, design_of, traced

HALF = math.radians(0.5)
TAIL = Tailplane("tail", (Station(0, 800, 160, 50), Station(260, 840, 100, 60)), elevator_chord_fraction=0.3)


def test_half_a_degree_of_incidence() -> None:
    found = rise_tolerance(Wing("wing", (Station(0, 0, 220),), incidence_deg=0.0))
    assert found == pytest.approx(220 * math.sin(HALF))
    assert rise_tolerance(Wing("wing", ())) == "enter the stations of the wing or tailplane"


def test_half_a_degree_of_skew() -> None:
    """The tips turned about the middle of the root chord; the strings from the pin as vectors."""
    pin, middle = np.array([100.0, 0.0, 20.0]), np.array([880.0, 0.0, 0.0])
    s, c = math.sin(HALF), math.cos(HALF)
    about = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    a, b = (
        np.linalg.norm(middle + about @ (np.array([840.0, y, 60.0]) - middle) - pin) for y in (260.0, -260.0)
    )
    assert string_tolerance(TAIL, Mark(100.0, 20.0)) == pytest.approx(abs(a - b))


def test_half_a_degree_of_lean() -> None:
    """The fin's tip 140 mm above its foot goes 140 sin ½° to the side, 140 (1 − cos ½°) down."""
    marks = FinMarks(Mark(950.0, 190.0), 50.0, 120.0, 860.0, 940.0)
    tip = np.array([950.0, 140 * math.sin(HALF), 50 + 140 * math.cos(HALF)])
    a, b = (np.linalg.norm(tip - (840.0, y, 60.0)) for y in (260.0, -260.0))
    assert fin_square_tolerance(marks, TAIL) == pytest.approx(abs(a - b))
    assert fin_parallel_tolerance(marks) == pytest.approx(40 * math.sin(HALF))


def test_the_nose_is_the_foremost_point() -> None:
    design = design_of(traced("body", "fuselage", [(-20, 7), (400, 60), (400, -60)]))
    assert nose_of(design) == Mark(-20.0, 7.0)
    assert nose_of(EMPTY) == Mark(0.0, 0.0)
    assert ends(design) == pytest.approx((-20, 400))


@pytest.mark.parametrize("sweep", [0.0, 20.0, -15.0])
def test_a_rudders_chord_is_square_to_its_hinge(sweep: float) -> None:
    """A parallelogram 60 mm along x, its hinge leaning aft by ``sweep``: 60 cos(sweep) across."""
    lean = 150 * math.tan(math.radians(sweep))
    rudder = traced("rudder", "rudder", [(900, 40), (960, 40), (960 + lean, 190), (900 + lean, 190)])
    assert rudder_chord(rudder) == pytest.approx(60 * math.cos(math.radians(sweep)))


def test_rudder_throws_go_by_the_designs_angle() -> None:
    design = design_of(box("rudder", "rudder", 900, 40, 960, 190), box("aft", "rudder", 0, 0, 40, 90))
    found = rudder_throws(replace(design, flight=Flight(rudder_throw_deg=30.0)))
    assert [one.distance for one in found if isinstance(one, EdgeThrow)] == pytest.approx([30.0, 20.0])
    assert rudder_throws(EMPTY) == ["trace the rudder"]


def test_elevator_throws_at_root_and_tip() -> None:
    found = elevator_throws(TAIL, 30.0)
    assert not isinstance(found, str)
    assert [one.distance for one in found] == pytest.approx([160 * 0.3 / 2, 100 * 0.3 / 2])
    even = replace(TAIL, stations=(Station(0, 800, 120), Station(260, 800, 120)))
    assert len(elevator_throws(even)) == 1
    assert "no elevator" in elevator_throws(replace(TAIL, elevator_chord_fraction=0.0))
    assert elevator_throws(Tailplane("t", ())) == "enter the tailplane"


BODY = box("body", "fuselage", 0, -30, 1000, 30)
WEIGHTS = (Weight("motor", 200, 40), Weight("rest", 800, 400))
"""1000 g that balance at (200·40 + 800·400)/1000 = 328 mm."""


def stage(*readings: tuple[float, float]) -> Weighing:
    return Weighing("w", tuple(ScaleReading(grams, x) for grams, x in readings))


def test_a_weighing_against_the_prediction() -> None:
    """Two scales: 750 g at 250 mm, 250 g at 650 mm: moments 350 000 g mm over 1000 g, 350 mm."""
    design = replace(design_of(BODY), weights=WEIGHTS, cg_mark=Mark(320.0))
    found = compared(design, stage((750.0, 250.0), (250.0, 650.0)))
    assert isinstance(found, Compared) and isinstance(found.lead, Ballast)
    assert (found.measured.grams, found.measured.x) == pytest.approx((1000, 350))
    assert (found.off_grams, found.off_x) == pytest.approx((0, 350 - 328))
    assert found.rest == "nothing is left to come by the weights"
    # Tail heavy: lead in the nose, the moments about the wanted CG in balance.
    assert found.lead.x == pytest.approx(0.0, abs=0.01)
    assert found.lead.grams * (320 - found.lead.x) == pytest.approx(1000 * (350 - 320))


def test_nose_heavy_is_mended_at_the_tail() -> None:
    design = replace(design_of(BODY), cg_mark=Mark(320.0))
    found = compared(design, stage((750.0, 200.0), (250.0, 400.0)))
    assert isinstance(found, Compared) and isinstance(found.lead, Ballast)
    assert found.measured.x == pytest.approx(250)
    assert found.lead.grams * (found.lead.x - 320) == pytest.approx(1000 * 70)
    assert found.lead.x == pytest.approx(1000.0, abs=0.01)
    assert found.off_x == "enter what the aeroplane carries"


def test_what_is_still_to_come() -> None:
    """600 g weighed at 300 mm; the other 400 g must bring 1000 g to 328 mm: at 370 mm."""
    design = replace(design_of(BODY), weights=WEIGHTS, cg_from="weights")
    found = compared(design, stage((300.0, 200.0), (300.0, 400.0)))
    assert isinstance(found, Compared)
    assert found.rest == pytest.approx((400.0, 370.0))
    assert found.lead == STILL_TO_COME and found.wanted_x == pytest.approx(328)


def test_reasons_instead_of_figures() -> None:
    assert compared(design_of(BODY), stage((300.0, 200.0))) == "weigh at two or three supports"
    nowhere = compared(EMPTY, stage((300.0, 200.0), (300.0, 400.0)))
    assert isinstance(nowhere, Compared) and nowhere.lead == "mark the CG"
    bare = compared(replace(EMPTY, cg_mark=Mark(1.0)), stage((300.0, 200.0), (300.0, 400.0)))
    assert isinstance(bare, Compared) and "trace the fuselage" in str(bare.lead)
