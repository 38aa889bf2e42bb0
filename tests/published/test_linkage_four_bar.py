"""Linkages against the closed forms of four-bar mechanisms.

Sources: F. Freudenstein, "Approximate Synthesis of Four-Bar Linkages", Trans. ASME 77 (1955), the
displacement equation (from memory); plane geometry: a rod keeps its length, opposite sides of a
parallelogram stay parallel, the long-rod limit sin φ = a/b · sin θ, the arm ratio for small angles.
"""

from __future__ import annotations

import math
from dataclasses import astuple

import numpy as np
import pytest
from msgspec.structs import replace

from core.bench.linkage import (
    PullPull,
    Throw,
    edge_distance,
    pull_pull_of,
    rod_length,
    swing,
    throw_of,
)
from core.design_bench import Linkage

ARMS = [(12.0, 15.0, 0.0), (12.0, 20.0, 3.0), (15.0, 13.0, -2.0), (9.0, 25.0, 6.0)]
TURNS = [-40.0, -17.0, -1.0, 0.0, 5.0, 30.0, 42.0]


def placed(a: float, b: float, rod: float, back: float) -> tuple[np.ndarray, np.ndarray]:
    """(driven pivot, driven hole) at neutral in (aft, out), the driving pivot at the origin.

    The rod lies along "aft", square to the driving arm; the driven hole ends on it.
    """
    hole = np.array([rod, a])
    return hole - (back, math.sqrt(b * b - back * back)), hole


def turned(point: np.ndarray, pivot: np.ndarray, degrees: float) -> np.ndarray:
    """What stands out from the pivot goes aft for positive degrees."""
    s, c = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    return pivot + np.array([[c, s], [-s, c]]) @ (point - pivot)


@pytest.mark.parametrize(("a", "b", "back"), ARMS)
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("rod", [60.0, 240.0])
def test_the_rod_keeps_its_length(a: float, b: float, back: float, turn: float, rod: float) -> None:
    """The driven hole lies on both circles: about its pivot, and about the driving arm's hole."""
    found = swing(turn, a, b, rod, back)
    assert found is not None
    pivot, hole = placed(a, b, rod, back)
    pin = turned(np.array([0.0, a]), np.zeros(2), turn)
    assert np.linalg.norm(turned(hole, pivot, found) - pin) == pytest.approx(rod, abs=1e-9)
    # Of the two places where the circles meet, the one reached without taking the linkage apart.
    assert found == pytest.approx(turn * a / math.sqrt(b * b - back * back), rel=0.25, abs=1e-9)


@pytest.mark.parametrize(("a", "b", "back"), ARMS)
@pytest.mark.parametrize("turn", TURNS)
def test_freudensteins_equation(a: float, b: float, back: float, turn: float) -> None:
    """(d/a) cos ψ − (d/c) cos φ + (a² − b² + c² + d²)/(2ac) = cos(φ − ψ), angles from the fixed link."""
    rod = 150.0
    found = swing(turn, a, b, rod, back)
    assert found is not None
    pivot, hole = placed(a, b, rod, back)
    fixed = math.atan2(pivot[1], pivot[0])
    pin, end = turned(np.array([0.0, a]), np.zeros(2), turn), turned(hole, pivot, found) - pivot
    phi, psi = math.atan2(pin[1], pin[0]) - fixed, math.atan2(end[1], end[0]) - fixed
    d, c = float(np.linalg.norm(pivot)), b
    left = d / a * math.cos(psi) - d / c * math.cos(phi) + (a * a - rod * rod + c * c + d * d) / (2 * a * c)
    assert left == pytest.approx(math.cos(phi - psi), abs=1e-10)


@pytest.mark.parametrize("arm", [4.0, 15.0, 60.0])
@pytest.mark.parametrize("paired", [False, True])
def test_a_parallelogram_gives_equal_angles(arm: float, paired: bool) -> None:
    for turn in np.linspace(-88.0, 88.0, 23):
        assert swing(float(turn), arm, arm, 7 * arm, paired=paired) == pytest.approx(turn, abs=1e-9)


@pytest.mark.parametrize(("a", "b", "back"), ARMS)
def test_small_angles_go_by_the_ratio_of_the_arms(a: float, b: float, back: float) -> None:
    """dφ/dθ = a / (the horn's height square to the rod), from the velocities along the rod."""
    tiny = 1e-4
    found = swing(tiny, a, b, 150.0, back)
    assert found is not None
    assert found / tiny == pytest.approx(a / math.sqrt(b * b - back * back), rel=1e-5)
    throw = throw_of(Linkage("l", a, b, 50.0, servo_travel_deg=tiny, horn_set_back=back))
    assert isinstance(throw, Throw)
    assert throw.pushed == pytest.approx(throw.by_ratio, rel=1e-5)


@pytest.mark.parametrize("turn", TURNS)
def test_a_very_long_rod_moves_straight(turn: float) -> None:
    """b sin φ = a sin θ; the rod's slant costs less than (a + b)² / 2L = 0.0004 mm of 20 mm: 0.0012°."""
    expected = math.degrees(math.asin(12.0 / 20.0 * math.sin(math.radians(turn))))
    assert swing(turn, 12.0, 20.0, 1e6) == pytest.approx(expected, abs=0.0015)


def test_throw_at_the_trailing_edge() -> None:
    """A chord of 60 mm turned by 30° stands 60 · 1/2 mm off its neutral line."""
    assert edge_distance(60.0, 30.0) == pytest.approx(30.0)
    found = throw_of(Linkage("l", 15.0, 15.0, 60.0, servo_travel_deg=30.0))
    assert isinstance(found, Throw)
    assert [found.at_edge(found.pushed), found.at_edge(found.pulled)] == pytest.approx([30.0, 30.0])


def test_a_bell_crank_of_equal_arms_changes_nothing() -> None:
    plain = throw_of(Linkage("l", 15.0, 15.0, 60.0))
    cranked = throw_of(Linkage("l", 15.0, 15.0, 60.0, crank_in=15.0, crank_out=15.0))
    assert isinstance(plain, Throw) and isinstance(cranked, Throw)
    assert astuple(cranked)[:4] == pytest.approx(astuple(plain)[:4])


def test_a_bell_crank_chains_two_four_bars() -> None:
    linkage = Linkage("l", 12.0, 18.0, 60.0, servo_travel_deg=35.0, crank_in=16.0, crank_out=11.0)
    found = throw_of(linkage)
    assert isinstance(found, Throw)
    for turn, throw in ((35.0, found.pushed), (-35.0, found.pulled)):
        crank = swing(turn, 12.0, 16.0, rod_length(12.0, 16.0))
        assert crank is not None
        assert abs(swing(crank, 11.0, 18.0, rod_length(11.0, 18.0)) or 0.0) == pytest.approx(throw)
    assert found.by_ratio == pytest.approx(35.0 * 12.0 / 16.0 * 11.0 / 18.0)


def wires(linkage: Linkage) -> PullPull:
    found = pull_pull_of(linkage)
    assert isinstance(found, PullPull)
    return found


@pytest.mark.parametrize("arm", [8.0, 15.0, 40.0])
@pytest.mark.parametrize("travel", [20.0, 45.0, 70.0])
def test_equal_square_arms_leave_no_slack(arm: float, travel: float) -> None:
    """Both wires are sides of parallelograms."""
    found = wires(Linkage("l", arm, arm, 60.0, servo_travel_deg=travel, pull_pull=True))
    assert found.worst == pytest.approx(0.0, abs=1e-9)
    assert found.wire == pytest.approx(10 * arm)


@pytest.mark.parametrize("back", [-4.0, -1.0, 2.0, 5.0])
@pytest.mark.parametrize("travel", [20.0, 45.0])
def test_set_back_makes_slack(back: float, travel: float) -> None:
    """Along long wires both holes together come forward by 2 s (1 − cos φ): the slack of the idle one.

    Across them no end strays by more than 2 arms · sin travel, which lengthens a wire by less than
    that squared over twice its length.
    """
    arm = 18.0
    found = wires(Linkage("l", arm, arm, 60.0, servo_travel_deg=travel, horn_set_back=back, pull_pull=True))
    phi = math.radians(found.worst_surface_deg)
    strays = abs(back) * math.sin(phi) + arm * abs(math.cos(phi) - math.cos(math.radians(travel))) + 0.5
    assert found.worst == pytest.approx(2 * back * (1 - math.cos(phi)), abs=2 * strays**2 / (2 * found.wire))
    assert math.copysign(1.0, found.worst) == math.copysign(1.0, back)
    assert (found.at_full, found.worst_servo_deg) == pytest.approx((found.worst, travel))


@pytest.mark.parametrize(("a", "b", "back"), ARMS)
def test_the_idle_wire_from_turned_points(a: float, b: float, back: float) -> None:
    """The pulled wire keeps its length; the idle one spans from the mirrored arm to the mirrored horn."""
    travel = 40.0
    linkage = Linkage("l", a, b, 60.0, servo_travel_deg=travel, horn_set_back=back, pull_pull=True)
    found, throw = wires(linkage), throw_of(linkage)
    assert isinstance(throw, Throw)
    pivot, servo = np.array([10 * max(a, b), 0.0]), np.zeros(2)
    square = math.sqrt(b * b - back * back)

    def span(side: float) -> float:
        arm, horn = np.array([0.0, side * a]), pivot + np.array([back, side * square])
        return float(np.linalg.norm(turned(horn, pivot, -throw.pulled) - turned(arm, servo, -travel)))

    given = float(np.linalg.norm(pivot + np.array([back, square]) - (0.0, a)))
    assert found.wire == pytest.approx(given)
    assert span(1.0) == pytest.approx(given, abs=1e-9)
    assert found.at_full == pytest.approx(given - span(-1.0), abs=1e-9)
    assert found.wire_at_worst == pytest.approx(found.wire - found.worst)
    still = throw_of(replace(linkage, servo_travel_deg=0.0))
    assert isinstance(still, Throw) and still.pushed == pytest.approx(0.0, abs=1e-9)
