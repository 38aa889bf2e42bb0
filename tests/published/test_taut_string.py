"""A string taut over a body with flat sides, against other ways to find its length.

Source: exact geometry. A surface bent one way only unrolls flat, and a shortest line on it is straight
there; two half planes that meet in an edge unroll likewise (any textbook of differential geometry, on
developable surfaces). Elsewhere the shortest of very many ways is searched, the taut line in the side
view taken as the convex hull that shapely draws.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.bench.pin import pin_by_itself, pin_of, place_of
from core.bench.setting_up import StringCheck, string_check, string_lengths
from core.bench.taut import INSIDE, Body, Taut, body_of, taut
from core.design import Mark, Station, Tailplane, Wing
from tests.core.making import box, curved_outline, design_of, traced


def body(*corners: tuple[float, float], wide: float) -> Body:
    found = body_of(replace(design_of(traced("b", "fuselage", corners)), fuselage_width=wide))
    assert found is not None
    return found


def length(of: Body, pin: tuple[float, float], tip: tuple[float, float, float]) -> Taut:
    found = taut(of, Mark(*pin), tip)
    assert isinstance(found, Taut)
    return found


FLAT = body((0, 0), (1000, 0), (1000, -100), (0, -100), wide=80)


def test_over_the_edge_of_a_flat_deck_it_unrolls() -> None:
    """The deck turned up about its edge until it lies level with the way down to the tip."""
    for tip in ((900.0, 300.0, -50.0), (700.0, 150.0, -90.0), (100.0, 260.0, -10.0)):
        found = length(FLAT, (0.0, 0.0), tip)
        down = math.hypot(tip[1] - 40, tip[2])
        assert found.length == pytest.approx(math.hypot(tip[0], 40 + down), abs=0.002)
        edge = 40 * tip[0] / (40 + down)
        assert found.on_body == pytest.approx(math.hypot(edge, 40), abs=4.0) and not found.free


def test_above_the_deck_it_is_straight() -> None:
    for pin, tip in (((0, 0), (900, 300, 40)), ((300, 12), (900, 300, 0.0)), ((950, 0), (200, 200, 5))):
        found = length(FLAT, pin, tip)
        assert found.free and found.length == pytest.approx(math.dist((pin[0], 0, pin[1]), tip))


def test_a_high_pin_clears_the_deck_only_while_it_is_over_it() -> None:
    """30 mm up, the tip 60 mm below the deck: at a third of the way it comes down to the deck."""
    tip = (900.0, 3 * 41.0, -60.0)
    assert length(FLAT, (0, 30), tip).free
    assert not length(FLAT, (0, 30), (900.0, 3 * 39.0, -60.0)).free


def test_round_a_round_deck_it_is_a_helix() -> None:
    """A half round of radius 100, wide enough that the string never comes to a side: unrolled, straight."""
    turn = np.radians(np.linspace(180, 0, 721))
    rim = [(100 * math.cos(t), 100 * math.sin(t)) for t in turn]
    round_top = body(*rim, wide=4000)
    # From the top to a point level with the middle, behind the end: the arc to the tangent, then straight.
    x, y = 250.0, 700.0
    touch = math.asin(100 / x)
    side = 100 * touch + math.sqrt(x * x - 100 * 100)
    found = length(round_top, (0.0, 100.0), (x, y, 0.0))
    assert found.length == pytest.approx(math.hypot(side, y), rel=1e-5)
    assert found.on_body == pytest.approx(found.length * 100 * touch / side, abs=2.0)


def searched(of: Body, pin: tuple[float, float], tip: tuple[float, float, float]) -> float:
    """The shortest way through a fine net of places in the plane of the body's side."""
    best = math.inf
    roof = of.top
    for x in np.linspace(pin[0] + 1, tip[0] - 1, 140):
        at = float(np.interp(x, roof[:, 0], roof[:, 1]))
        for z in np.concatenate((at + np.linspace(0, 3, 13), np.linspace(at, at + 60, 25))):
            between = roof[(roof[:, 0] > pin[0]) & (roof[:, 0] < x)]
            low = min(float(between[:, 1].min(initial=0.0)), pin[1], z) - 1000
            hull = shapely.MultiPoint(
                [pin, *map(tuple, between), (x, z), (pin[0], low), (x, low)]
            ).convex_hull
            over = hull.length - (pin[1] - low) - (z - low) - (x - pin[0])
            rest = math.dist((x, of.half, z), tip)
            best = min(best, math.hypot(over, of.half) + rest)
    return best


@pytest.mark.parametrize(("pin_x", "tip"), [
    (420.0, (860.0, 240.0, 5.0)), (420.0, (860.0, 240.0, -40.0)), (300.0, (900.0, 120.0, 30.0)),
    (520.0, (700.0, 300.0, -20.0)),
])
def test_over_a_humped_deck_no_way_is_shorter(pin_x: float, tip: tuple[float, float, float]) -> None:
    humped = body(
        (0, 0), (150, 50), (330, 70), (430, 62), (520, 66), (600, 40), (950, 12), (950, -20), (400, -60),
        wide=90,
    )
    pin = (pin_x, float(np.interp(pin_x, humped.top[:, 0], humped.top[:, 1])))
    found = length(humped, pin, tip)
    net = searched(humped, pin, tip)
    assert found.length <= net + 0.002
    assert found.length == pytest.approx(net, abs=0.05)


def test_the_under_side_is_the_upper_one_turned_over() -> None:
    over = length(FLAT, (0.0, 0.0), (900.0, 300.0, -50.0))
    under = length(FLAT, (0.0, -100.0), (900.0, 300.0, -50.0))
    assert under.length == pytest.approx(over.length)


def test_inside_the_body_there_is_no_string() -> None:
    assert taut(FLAT, Mark(300, -50), (900, 300, 0)) == INSIDE
    assert str(taut(FLAT, Mark(300, 0), (900, 20, -50))).startswith("the tip lies inside the body")
    tail = Tailplane("t", (Station(0, 880, 100), Station(300, 900, 100)))
    assert string_check(tail, Mark(300, -50), body=FLAT) == INSIDE


def test_without_a_width_the_body_is_as_wide_as_deep() -> None:
    found = body_of(design_of(box("b", "fuselage", 0, 0, 600, 90)))
    assert found is not None and found.half == 45.0 and not found.width_known
    assert body_of(design_of(box("b", "fuselage", 0, 0, 600, 90, count=2))) is None


def test_turned_tips_are_measured_over_the_body_too() -> None:
    tail = Tailplane("t", (Station(0, 880, 100, -30), Station(300, 900, 100, -30)))
    about, half = 930.0, math.radians(1.0)
    ends = []
    for y in (300.0, -300.0):
        x, out = 900 - about, y
        ends.append(length(FLAT, (200, 0), (
            about + x * math.cos(half) + out * math.sin(half),
            out * math.cos(half) - x * math.sin(half), -30.0,
        )).length)
    found = string_check(tail, Mark(200, 0), body=FLAT)
    assert isinstance(found, StringCheck) and found.on_body > 40.0
    assert found.per_degree == pytest.approx(ends[0] - ends[1])
    lengths = string_lengths(tail, Mark(200, 0), 1.0, body=FLAT)
    assert not isinstance(lengths, str) and lengths.difference == pytest.approx(found.per_degree)


# Where the pin stands by itself

WING = Wing("w", (Station(0, 200, 180, 55), Station(600, 220, 140, 80)))
TAIL = Tailplane("t", (Station(0, 800, 120, 30), Station(250, 830, 80, 30)))
HULL = curved_outline("body", "fuselage", 450, 0, 900)


def test_the_pin_stands_on_top_behind_the_wing() -> None:
    design = replace(design_of(HULL), wings=(WING,), tailplanes=(TAIL,), fuselage_width=60.0)
    pin, hull = pin_by_itself(design), body_of(design)
    assert hull is not None and pin_of(design) == pin
    assert 200 + 180 < pin.x < 600 and pin.z == pytest.approx(hull.top_at(pin.x))
    place = place_of(design, pin)
    assert place.behind_wing == pytest.approx(pin.x - 200) and place.above_body == pytest.approx(0.0)


def test_the_pin_keeps_off_what_stands_on_the_body() -> None:
    """A pylon right behind the wing, then a fin: between them."""
    fin = traced("fin", "fin", ((700, 0), (760, 300), (900, 0)))
    design = replace(
        design_of(HULL, box("pylon", "pylon", 370, 60, 470, 400), fin),
        wings=(WING,), tailplanes=(TAIL,),
    )
    assert 470 <= pin_by_itself(design).x <= 700


def test_a_tail_that_cannot_be_reached_freely_leaves_the_pin_foremost() -> None:
    low = Tailplane("t", (Station(0, 800, 120, -80), Station(250, 830, 80, -80)))
    deck = box("body", "fuselage", 0, -100, 900, 100)
    design = replace(design_of(deck), wings=(WING,), tailplanes=(low,))
    assert pin_by_itself(design) == Mark(390.0, 100.0)


def test_a_body_that_ends_under_the_wing_has_the_pin_at_its_end() -> None:
    pod = traced("pod", "fuselage", ((0, 0), (200, 60), (390, 10), (200, -60)))
    design = replace(design_of(pod), wings=(WING,), tailplanes=(TAIL,))
    pin = pin_by_itself(design)
    assert pin == Mark(390.0, 10.0) and place_of(design, pin).end == "tail"
    check = string_check(TAIL, pin, body=body_of(design))
    assert isinstance(check, StringCheck) and check.on_body == 0.0
    assert check.square == pytest.approx(math.dist((390, 0, 10), (830, 250, 30)))


def test_the_builders_pin_stands_where_it_was_put() -> None:
    design = replace(design_of(HULL), wings=(WING,), tailplanes=(TAIL,))
    placed = replace(design, bench=replace(design.bench, pin=Mark(430, 111)))
    assert pin_of(placed) == Mark(430, 111)
    assert place_of(placed, Mark(-50, 0)).above_body is None
