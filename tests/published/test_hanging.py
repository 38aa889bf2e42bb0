"""Hanging the card copy: two pins, their plumb lines, and how sure the crossing is.

Source: statics of a hung plate, whose centroid comes to rest plumb below the pin, and the geometry of
two crossing lines (exact). The resting attitude is found here by turning the card's corners with
numpy until its centroid is lowest, and the crossing by solving for it, not by the code under test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.bench.hanging import Hanging, card_pins, crossing_error, recommended_pins
from core.design import Design, Station, Wing
from core.geometry.overlay import NOTHING
from core.stability.side_area import SideAreaCounter, silhouette
from tests.core.making import SOME, box, curved_designs, design_of, sound_designs, traced

BODY = ((0, 0), (700, 20), (700, 60), (500, 70), (250, 130), (60, 90))
FIN = ((560, 40), (620, 190), (700, 190), (700, 40))
WHEEL = ((180, -110), (260, -110), (260, -30), (180, -30))
AEROPLANE = design_of(
    traced("body", "fuselage", BODY), traced("fin", "fin", FIN), traced("wheel", "wheel", WHEEL, count=2)
)


def hung(design: Design, margin: float = 5.0) -> Hanging:
    found = card_pins(design, SideAreaCounter().count(design), margin)
    assert isinstance(found, Hanging)
    return found


def fan(corners: np.ndarray) -> tuple[float, np.ndarray]:
    """(area, centroid) of a polygon (M, 2) as a fan of triangles."""
    a, b, c = corners[0], corners[1:-1], corners[2:]
    areas = np.cross(np.c_[b - a, np.zeros(len(b))], np.c_[c - a, np.zeros(len(c))])[:, 2] / 2
    return float(areas.sum()), areas @ (a + b + c) / 3 / areas.sum()


def crossing(pins: np.ndarray, feet: np.ndarray) -> np.ndarray:
    """Where the lines from two pins (2, 2) through two feet (2, 2) cross."""
    along = feet - pins
    s, _ = np.linalg.solve(np.stack((along[0], -along[1]), axis=1), pins[1] - pins[0])
    return np.asarray(pins[0] + s * along[0])


def test_the_card_comes_to_rest_along_the_plumb_lines() -> None:
    """The cut-out weighs as its pieces: body and fin in one, the wheel glued on twice."""
    card = shapely.union(shapely.Polygon(BODY), shapely.Polygon(FIN))
    rim = shapely.get_coordinates(shapely.get_exterior_ring(card))[:-1]
    pieces = [(rim, 1), (np.array(WHEEL, dtype=float), 2)]
    found = hung(AEROPLANE)
    turns = np.radians(np.arange(0, 360, 0.01))
    for line in found.lines:
        pin, end = np.array(line.pin), np.array(line.end)
        heights = np.zeros(len(turns))
        for corners, count in pieces:
            area, centre = fan(corners)
            arm = centre - pin
            heights += count * abs(area) * (arm[0] * np.sin(turns) + arm[1] * np.cos(turns))
        rest = turns[int(np.argmin(heights))]
        along = (end - pin) / np.linalg.norm(end - pin)
        # Plumb down (0, −1) in the turned card is this direction on the card.
        plumb = np.array((-np.sin(rest), -np.cos(rest)))
        # Turned in steps of 0.01°.
        assert math.degrees(math.acos(min(1.0, float(plumb @ along)))) < 0.01


def test_the_plumb_lines_cross_at_the_cla() -> None:
    side = SideAreaCounter().count(AEROPLANE)
    found = hung(AEROPLANE)
    pins = np.array([line.pin for line in found.lines])
    ends = np.array([line.end for line in found.lines])
    assert found.cla == side.cla
    assert tuple(crossing(pins, ends)) == pytest.approx(side.cla)


def test_a_square_hangs_through_its_centroid() -> None:
    """A beam 600 × 40 mm with an upright 40 × 200 mm on its end.

    Source: the composite area theorem, x̄ = Σ A·x / Σ A (any handbook of statics).
    """
    beam, upright = 600.0 * 40.0, 40.0 * 200.0
    x = (beam * 300.0 + upright * 580.0) / (beam + upright)
    z = (beam * 20.0 + upright * 140.0) / (beam + upright)
    square = design_of(box("beam", "fuselage", 0, 0, 600, 40), box("upright", "fin", 560, 40, 600, 240))
    found = hung(square)
    assert found.cla == pytest.approx((x, z))
    for line in found.lines:
        run = np.subtract(line.end, line.pin)
        to_centroid = np.subtract((x, z), line.pin)
        across = run[0] * to_centroid[1] - run[1] * to_centroid[0]
        assert across == pytest.approx(0.0, abs=1e-6 * np.hypot(*run))


@pytest.mark.parametrize("count", [1, 2, 4])
def test_layers_draw_the_crossing_towards_them(count: int) -> None:
    """n layers of a wheel weigh n-fold: x̄ = (A x + n a u)/(A + n a) (composite areas, exact)."""
    body, wheel = 500.0 * 100.0, 60.0 * 60.0
    design = design_of(
        box("body", "fuselage", 0, 0, 500, 100), box("wheel", "wheel", 100, -90, 160, -30, count=count)
    )
    found = hung(design)
    whole = body + count * wheel
    assert found.cla == pytest.approx(
        ((body * 250 + count * wheel * 130) / whole, (body * 50 - count * wheel * 60) / whole)
    )


def test_the_angle_is_the_one_at_the_cla() -> None:
    found = hung(AEROPLANE)
    a, b = (np.array(line.pin) - np.array(found.cla) for line in found.lines)
    bearings = np.degrees(np.arctan2((a[1], b[1]), (a[0], b[0])))
    between = abs((bearings[0] - bearings[1] + 180) % 360 - 180)
    assert found.angle_deg == pytest.approx(between)
    assert 60 <= between <= 120
    assert found.well_seen
    assert found.notes == ()
    assert [line.pin_to_cla for line in found.lines] == pytest.approx([np.hypot(*a), np.hypot(*b)])


def test_pins_stand_on_the_card_away_from_its_edge() -> None:
    card = silhouette(AEROPLANE)
    for margin in (2.0, 5.0, 12.0):
        found = hung(AEROPLANE, margin)
        assert found.margin == margin
        for line in found.lines:
            pin = shapely.Point(line.pin)
            assert card.contains(pin)
            # Rounded corners of the inset are drawn by chords, which lie a little further in.
            assert card.boundary.distance(pin) >= margin - 1e-6


@pytest.mark.parametrize("angle", [15.0, 60.0, 75.0, 90.0, 120.0, 170.0])
def test_the_crossing_moves_by_one_over_the_sine(angle: float) -> None:
    """One plumb line shifted square to itself by 1 mm; then both, either way."""
    pins = 300.0 * np.array(((1.0, 0.0), (math.cos(math.radians(angle)), math.sin(math.radians(angle)))))
    across = pins[:, ::-1] * (-1, 1) / 300.0
    moved = np.linalg.norm(crossing(pins + across * ((1.0,), (0.0,)), across * ((1.0,), (0.0,))))
    assert crossing_error(angle) == pytest.approx(moved)
    assert crossing_error(angle, 0.5) == pytest.approx(0.5 * moved)
    found = Hanging((0, 0), hung(AEROPLANE).lines, angle, 5.0, True, 1)
    assert found.crossing_error == pytest.approx(moved)
    both = max(
        np.linalg.norm(crossing(pins + across * shift, across * shift))
        for shift in (np.array(((1.0,), (1.0,))), np.array(((1.0,), (-1.0,))))
    )
    assert found.crossing_error_both == pytest.approx(both)


def test_a_crossing_that_cannot_be_has_a_reason() -> None:
    for angle in (0.0, 180.0):
        assert "fall on one another" in str(crossing_error(angle))
    assert "not finite" in str(crossing_error(math.nan))
    assert "not finite" in str(crossing_error(90, math.inf))


def test_the_recommended_angle_is_kept_wherever_the_card_allows_it() -> None:
    """On a disc the best pair is square, on the rim: 1/sin² has its minimum at 90°."""
    disc = shapely.Point(0, 0).buffer(100, quad_segs=90)
    found = recommended_pins(disc, (0.0, 0.0), 5.0)
    assert isinstance(found, Hanging)
    # 480 pins tried: the step between two is 0.75°.
    assert found.angle_deg == pytest.approx(90, abs=0.75)
    assert [line.pin_to_cla for line in found.lines] == pytest.approx([95, 95], rel=1e-3)


@SOME
@given(st.floats(0.05, 2 * math.pi), st.floats(0.3, 3.0))
def test_turning_and_scaling_the_card_takes_the_pins_with_it(turn: float, size: float) -> None:
    """The figure of merit knows no direction; to the step of the pins tried, 1/480 of the way round."""
    card = silhouette(AEROPLANE)
    cla = (330.0, 60.0)
    s, c = size * math.sin(turn), size * math.cos(turn)
    moved = shapely.transform(card, lambda p: p @ np.array(((c, s), (-s, c))))
    place = (330 * c - 60 * s, 330 * s + 60 * c)
    one, other = recommended_pins(card, cla, 5.0), recommended_pins(moved, place, 5.0 * size)
    assert isinstance(one, Hanging)
    assert isinstance(other, Hanging)

    def blur(found: Hanging, unit: float) -> float:
        reach = [unit / line.pin_to_cla for line in found.lines]
        return math.hypot(*reach) / math.sin(math.radians(found.angle_deg)) ** 2

    assert blur(one, 1.0) == pytest.approx(blur(other, size), rel=0.03)


def test_a_cla_off_the_card_is_said() -> None:
    """Two tall ends on a low beam: the centroid lies in the gap above the beam."""
    corners = ((0, 0), (600, 0), (600, 200), (540, 200), (540, 20), (60, 20), (60, 200), (0, 200))
    found = hung(design_of(traced("body", "fuselage", corners)))
    assert not found.cla_on_card
    assert any("off the card" in note for note in found.notes)
    assert found.well_seen


def test_a_wing_glued_on_carries_the_cla() -> None:
    low = box("body", "fuselage", 0, 0, 800, 40)
    wing = Wing("wing", (Station(0, 250, 200, 40), Station(700, 250, 200, 400)))
    found = hung(design_of(low, wings=(wing,)))
    assert found.cla[1] > 40
    assert found.cla_on_card
    assert all(0 <= line.pin[1] <= 40 for line in found.lines)


def test_loose_pieces_are_said() -> None:
    found = hung(design_of(box("a", "fuselage", 0, 0, 300, 80), box("b", "pylon", 100, 120, 160, 150)))
    assert found.pieces == 2
    assert any("2 pieces" in note for note in found.notes)


def test_a_slender_card_gets_a_smaller_margin() -> None:
    found = hung(design_of(box("boom", "fuselage", 0, 0, 400, 6)))
    assert 0 < found.margin < 3


def test_a_cla_seen_badly_is_said() -> None:
    """Far from the card no two pins see it at 60°."""
    found = recommended_pins(shapely.box(0, 0, 100, 20), (1000.0, 10.0))
    assert isinstance(found, Hanging)
    assert not found.well_seen
    assert any("not at 60° to 120°" in note for note in found.notes)


def test_no_card_has_a_reason() -> None:
    assert card_pins(design_of(), SideAreaCounter().count(design_of())) == "trace an outline"
    wheels = design_of(box("wheel", "wheel", 0, 0, 50, 50))
    assert "needs a silhouette" in str(card_pins(wheels, SideAreaCounter().count(wheels)))
    assert "needs a silhouette" in str(recommended_pins(NOTHING, (0.0, 0.0)))
    for place, margin in (((math.nan, 0.0), 5.0), ((0.0, math.inf), 5.0), ((0.0, 0.0), math.nan)):
        assert "not finite" in str(recommended_pins(shapely.box(0, 0, 9, 9), place, margin))


def check(design: Design) -> None:
    found = card_pins(design, SideAreaCounter().count(design))
    if isinstance(found, str):
        return
    numbers = [found.angle_deg, found.crossing_error, found.crossing_error_both, found.margin, *found.cla]
    for line in found.lines:
        numbers += [*line.pin, *line.end, line.pin_to_cla]
    assert all(map(math.isfinite, numbers))
    assert 0 < found.angle_deg < 180
    card = silhouette(design)
    size = 1.0 + max(abs(v) for v in shapely.bounds(card))
    assert all(shapely.distance(card, shapely.Point(line.pin)) <= 1e-9 * size for line in found.lines)


@SOME
@given(curved_designs())
def test_curved_designs_have_pins_or_a_reason(design: Design) -> None:
    check(design)


@SOME
@given(sound_designs)
def test_any_sound_design_gets_pins_or_a_reason(design: Design) -> None:
    check(design)
