"""Setting up: rises, strings, and the fin's squareness.

Source: exact geometry. The expectations come from points turned by numpy rotation matrices, and from
the vector algebra of distances, not from the code under test.
"""

from __future__ import annotations

import math
from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.bench.setting_up import (
    ChordRise,
    FinMarks,
    FinSquareCheck,
    StringCheck,
    TipDistances,
    fin_marks,
    fin_square_check,
    fin_tip_distances,
    leading_edge_rise,
    root_rise,
    starboard_tip,
    string_check,
    string_lengths,
)
from core.design import Design, Mark, Station, Tailplane, Wing
from tests.core.making import MANY, SOME, box, design_of, sound_designs, traced

# Root 160 from 800 on, tip 100, swept back by 40, dihedral 10 over a half span of 260.
SWEPT = Tailplane("tailplane", (Station(0, 800, 160, 50), Station(260, 840, 100, 60)), incidence_deg=-1.5)
MIDDLE = 800 + 160 / 2
PIN = Mark(300, 90)
ANY = st.floats(allow_nan=True, allow_infinity=True) | st.sampled_from((0.0, -1.0, 1e-320, 1e308))


def turned(point: tuple[float, float, float], degrees: float, axis: int, about: tuple[float, float, float],
           ) -> np.ndarray:
    """``point`` turned right-handedly about an axis (0 x, 1 y, 2 z) through ``about``."""
    s, c = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    i, j = (axis + 1) % 3, (axis + 2) % 3
    matrix = np.eye(3)
    matrix[i, i] = matrix[j, j] = c
    matrix[i, j], matrix[j, i] = -s, s
    return matrix @ (np.array(point) - about) + about


@pytest.mark.parametrize("degrees", [-90.0, -2.5, -1.0, 0.0, 0.75, 3.0, 60.0, 90.0])
def test_rise_is_the_height_of_a_turned_chord(degrees: float) -> None:
    """A chord from the trailing edge forward, turned nose up about it (x aft: right-handed about y)."""
    nose = turned((-180.0, 0.0, 0.0), degrees, 1, (0, 0, 0))
    assert leading_edge_rise(180, degrees) == pytest.approx(nose[2])
    assert math.hypot(*nose) == pytest.approx(180)


def test_rise_to_set_at_the_root() -> None:
    wing = Wing("wing", (Station(600, 20, 150), Station(0, 0, 220)), incidence_deg=2.0)
    s2, s3 = math.sin(math.radians(2)), math.sin(math.radians(3))
    found = root_rise(wing)
    assert isinstance(found, ChordRise)
    assert tuple(vars(found).values()) == pytest.approx((220, 2.0, 220 * s2, 220 * (s3 - s2)))


def test_what_cannot_be_set_has_a_reason() -> None:
    assert leading_edge_rise(0, 2) == "give a chord greater than 0"
    assert leading_edge_rise(100, 91) == "give an incidence between −90° and 90°"
    assert root_rise(Wing("wing", ())) == "enter the stations of the wing or tailplane"


@pytest.mark.parametrize("degrees", [-30.0, -1.0, 0.0, 0.5, 1.0, 10.0, 90.0])
@pytest.mark.parametrize("about", [None, 700.0, 960.0])
@pytest.mark.parametrize("fraction", [0.0, 0.3, 1.0])
def test_strings_to_the_turned_tips(degrees: float, about: float | None, fraction: float) -> None:
    """Clockwise seen from above is left-handed about z up, with x aft and y to starboard."""
    x, pivot = 840 + 100 * fraction, (MIDDLE if about is None else about, 0, 0)
    pin = (PIN.x, 0, PIN.z)
    lengths = [
        float(np.linalg.norm(turned((x, y, 60), -degrees, 2, pivot) - pin)) for y in (260, -260)
    ]
    found = string_lengths(SWEPT, PIN, degrees, about, fraction)
    assert isinstance(found, TipDistances)
    assert (found.starboard, found.port) == pytest.approx(tuple(lengths))
    assert found.difference == pytest.approx(lengths[0] - lengths[1], abs=1e-9)


def test_difference_per_degree() -> None:
    found = string_check(SWEPT, PIN)
    assert isinstance(found, StringCheck)
    pin, pivot = (PIN.x, 0, PIN.z), (MIDDLE, 0, 0)
    a, b = (np.linalg.norm(turned((840, y, 60), -1.0, 2, pivot) - pin) for y in (260, -260))
    assert found.per_degree == pytest.approx(a - b)
    assert found.per_degree > 0
    assert found.square == pytest.approx(math.hypot(540, 260, 30))
    # L₁² − L₂² = 4 × half span × distance pin to pivot × sin θ, whatever the sweep.
    assert (a - b) * (a + b) == pytest.approx(4 * 260 * (MIDDLE - 300) * math.sin(math.radians(1)))
    # One millimetre to starboard: L₁² − L₂² = 4 × half span × 1 mm.
    far, near = math.hypot(540, 261, 30), math.hypot(540, 259, 30)
    assert found.per_mm_off_centre == pytest.approx(far - near)


@MANY
@given(st.floats(-89, 89), st.floats(0, 1), st.floats(-400, 400))
def test_turning_the_other_way_swaps_the_strings(degrees: float, fraction: float, pin_x: float) -> None:
    one = string_lengths(SWEPT, Mark(pin_x, 90), degrees, chord_fraction=fraction)
    other = string_lengths(SWEPT, Mark(pin_x, 90), -degrees, chord_fraction=fraction)
    assert isinstance(one, TipDistances)
    assert isinstance(other, TipDistances)
    assert (one.starboard, one.port) == pytest.approx((other.port, other.starboard))


def test_more_stations_change_nothing() -> None:
    between = Station(130, 820, 130, 55)
    split = Tailplane("tailplane", (SWEPT.stations[0], between, SWEPT.stations[1]))
    assert string_check(split, PIN) == string_check(SWEPT, PIN)


def test_a_far_pin_tells_the_angle_alone() -> None:
    """In the limit the difference is the span's own run, 2 × half span × sin 1°."""
    found = string_check(SWEPT, Mark(-900_000, 60))
    assert isinstance(found, StringCheck)
    # The length is short of the distance to the pivot by the 40 mm from tip to pivot, in 900 m: 4.4e-5.
    assert found.per_degree == pytest.approx(2 * 260 * math.sin(math.radians(1)), rel=5e-5)


@pytest.mark.parametrize(
    ("tailplane", "pin", "why"),
    [
        (Tailplane("t", ()), PIN, "enter the tailplane"),
        (Tailplane("t", (Station(0, 800, 100),)), PIN, "station at its tip"),
        (Tailplane("t", (Station(0, 800, 100), Station(-200, 800, 100))), PIN, "station at its tip"),
        (SWEPT, Mark(MIDDLE, 90), "put it well ahead"),
        (SWEPT, Mark(math.nan, 90), "not finite"),
        (Tailplane("t", (Station(0, 800, math.inf), Station(200, 800, 100))), PIN, "not finite"),
    ],
)
def test_no_string_check_has_a_reason(tailplane: Tailplane, pin: Mark, why: str) -> None:
    found = string_check(tailplane, pin)
    assert isinstance(found, str)
    assert why in found
    assert isinstance(string_lengths(SWEPT, PIN, 91), str)
    assert isinstance(starboard_tip(SWEPT, 1.1), str)


@pytest.mark.parametrize("lean", [-20.0, -1.0, 0.0, 1.0, 5.0, 90.0])
def test_lengths_from_the_leaning_fin(lean: float) -> None:
    """Leaning to starboard, from z up to y, is left-handed about x."""
    head = turned((900, 0, 210), -lean, 0, (0, 0, 55))
    assert np.sign(head[1]) == np.sign(lean)
    found = fin_tip_distances(Mark(900, 210), 55, SWEPT, lean)
    assert isinstance(found, TipDistances)
    for length, y in ((found.starboard, 260), (found.port, -260)):
        assert length == pytest.approx(np.linalg.norm(head - (840, y, 60)))


def test_squareness_of_the_fin() -> None:
    found = fin_square_check(Mark(900, 210), 55, SWEPT)
    assert isinstance(found, FinSquareCheck)
    assert found.upright == pytest.approx(math.hypot(60, 260, 150))
    a, b = (np.linalg.norm(turned((900, 0, 210), -1.0, 0, (0, 0, 55)) - (840, y, 60)) for y in (260, -260))
    assert found.per_degree == pytest.approx(a - b)
    assert found.per_degree < 0
    # L₁² − L₂² = −4 × half span × height × sin φ.
    assert (a - b) * (a + b) == pytest.approx(-4 * 260 * 155 * math.sin(math.radians(1)))


def test_a_tailplane_on_the_fin_cannot_check_it() -> None:
    high = Tailplane("t", (Station(0, 800, 160, 200), Station(260, 840, 100, 200)))
    found = fin_square_check(Mark(900, 210), 55, high)
    assert found == (
        "the tailplane sits on the fin and leans with it: check the fin with a square on the fuselage"
    )
    assert "above its foot" in str(fin_square_check(Mark(900, 40), 55, SWEPT))


BODY = box("body", "fuselage", 0, 0, 900, 60)
FIN = traced("fin", "fin", ((780, 40), (840, 200), (900, 200), (900, 40)))
RUDDER = box("rudder", "rudder", 900, -20, 960, 220)


def test_where_to_measure_the_fin() -> None:
    """It stands on the body's top, z 60; half way up, at 130, its slanted edge has x 780 + 60 × 90/160."""
    found = fin_marks(design_of(BODY, RUDDER, FIN))
    assert isinstance(found, FinMarks)
    assert found.tip == Mark(900, 200)
    assert found.foot_z == pytest.approx(60)
    assert (found.chord_z, found.leading_x, found.trailing_x) == pytest.approx(
        (130, 780 + 60 * 90 / 160, 900)
    )


def test_the_foot_on_a_sloping_back() -> None:
    """On a back that falls from 60 to 0 over 900 mm; a post down behind and a keel under it do not count."""
    wedge = traced("body", "fuselage", ((0, 0), (900, 0), (0, 60)))
    fin = traced("fin", "fin", ((750, -30), (750, 200), (910, 200), (910, -30)))
    found = fin_marks(design_of(wedge, fin))
    assert isinstance(found, FinMarks)
    assert found.foot_z == pytest.approx((60 * (1 - 750 / 900) + 0) / 2)
    assert found.tip == Mark(910, 200)


def test_a_fin_without_a_body_stands_on_its_lowest_point() -> None:
    found = fin_marks(design_of(FIN))
    assert isinstance(found, FinMarks)
    assert found.foot_z == 40


def test_no_fin_to_measure_has_a_reason() -> None:
    assert fin_marks(design_of(BODY)) == "trace the fin"
    assert "twin fins" in str(fin_marks(design_of(box("f", "fin", 0, 0, 9, 9, count=2))))
    assert "wholly covered" in str(fin_marks(design_of(BODY, box("f", "fin", 10, 10, 20, 20))))
    assert "no area" in str(fin_marks(design_of(traced("f", "fin", ((0, 0), (5, 5), (9, 9))))))


def finite(found: object) -> bool:
    """Whether every number in an answer is finite; reasons have none."""
    if isinstance(found, str):
        return True
    if isinstance(found, float):
        return math.isfinite(found)
    flat: list[float] = []
    for value in vars(found).values():
        if isinstance(value, Mark):
            flat += [value.x, value.z]
        else:
            flat += value if isinstance(value, tuple) else [value]
    return all(math.isfinite(v) for v in flat)


@MANY
@given(ANY, ANY, ANY, ANY, ANY, ANY)
def test_nothing_raises_or_leaves_the_numbers(
    a: float, b: float, c: float, d: float, e: float, f: float
) -> None:
    odd = Tailplane("t", (Station(0, a, b, c), Station(d, e, f, a)), incidence_deg=b)
    for tailplane in (odd, SWEPT):
        answers = (
            leading_edge_rise(a, b), root_rise(tailplane),
            string_lengths(tailplane, Mark(c, d), e, f, abs(a)), string_check(tailplane, Mark(c, d), f, a),
            string_check(tailplane, Mark(c, d)), fin_tip_distances(Mark(a, b), c, tailplane, d, e),
            fin_square_check(Mark(a, b), c, tailplane),
        )
        assert all(map(finite, answers))


@SOME
@given(sound_designs)
def test_any_sound_design_gets_an_answer_or_a_reason(design: Design) -> None:
    marks = fin_marks(design)
    assert finite(marks)
    for surface in design.surfaces:
        assert finite(root_rise(surface))
    for tailplane in design.tailplanes:
        assert finite(string_check(tailplane, Mark(0, 0)))
        if isinstance(marks, FinMarks):
            assert finite(fin_square_check(marks.tip, marks.foot_z, tailplane))
            assert all(v == v for v in asdict(marks).values() if isinstance(v, float))
