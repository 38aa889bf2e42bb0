"""Seats, hinge boxes, and edges in common: by hand on plain shapes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from making import box, design_of, traced

from core.bench.hinge_boxes import HingeBoxes, hinge_boxes
from core.bench.seats import seats_of
from core.bench.template_lines import hinges_of, shared_stretches, stretches_off
from core.design import Design, Outline, Section, Station, Tailplane, Wing

STAB = Tailplane("t", (Station(300, 470, 60, 44), Station(0, 420, 110, 44)), incidence_deg=-3.0)


def test_a_seat_is_the_root_chord_turned_about_its_leading_edge() -> None:
    wing = Wing("w", (Station(40, 100, 200, 50), Station(700, 130, 120, 90)), incidence_deg=2.5)
    one, other = seats_of(design_of(wings=(wing,), tailplanes=(STAB,)))
    assert (one.name, one.leading, one.chord) == ("wing", (100, 50), pytest.approx(200))
    # Up in front: the trailing edge lies 200 sin 2.5° lower.
    assert one.trailing == pytest.approx((100 + 199.8096, 50 - 8.7239), abs=1e-3)
    assert other.name == "tailplane" and other.leading == (420, 44)
    assert other.trailing[1] == pytest.approx(44 + 110 * math.sin(math.radians(3.0)))
    two = design_of(wings=(wing, Wing("v", wing.stations, label="Lower"), Wing("bare", ())))
    assert [seat.name for seat in seats_of(two)] == ["w", "Lower"]


def tail(scale: float, *more: Outline, rudder_chord: float = 50, **also: object) -> tuple[Design, HingeBoxes]:
    """A fin of 100 × 180 on a body whose deck is at z 0, times ``scale``, and its hinges."""
    def at(*corners: tuple[float, float]) -> tuple[tuple[float, float], ...]:
        return tuple((x * scale, z * scale) for x, z in corners)

    fin = traced("fin", "fin", at((300, -10), (300, 180), (400, 180), (400, -10)))
    rudder = traced("rudder", "rudder", at((400, -10), (400, 180), (400 + rudder_chord, 180),
                                            (400 + rudder_chord, -10)))
    body = box("body", "fuselage", 0, -60 * scale, 420 * scale, 0)
    design = design_of(body, fin, rudder, *more, **also)
    (hinge,) = hinges_of(design)
    return design, hinge_boxes(design, hinge)


def spans(boxes: HingeBoxes) -> list[tuple[float, float]]:
    return [(z - boxes.along / 2, z + boxes.along / 2) for _, z in boxes.places]


def test_hinges_grow_with_the_tail_within_what_is_sold() -> None:
    sizes = [tail(scale)[1] for scale in (0.25, 1.0, 4.0)]
    # Mean chord beside them 75: 0.18 of it to either side.
    assert sizes[1].across == pytest.approx(2 * 0.18 * 75, rel=0.01)
    assert sizes[0].across == pytest.approx(sizes[1].across / 4, rel=0.02)
    assert sizes[2].across == pytest.approx(32.0) and sizes[0].across >= 3.0
    assert all(s.along < s.across / 2 for s in sizes)
    # Within a slim rudder.
    assert tail(1.0, rudder_chord=10)[1].across / 2 <= 0.4 * 10 + 1e-9


def test_hinges_stay_clear_of_the_deck_and_of_a_tailplane() -> None:
    _, plain = tail(1.0)
    assert len(plain.places) == 3 and min(low for low, _ in spans(plain)) >= 2.0 - 0.5
    thick = Section(thickness=0.10)
    for z in (40.0, 85.0, 150.0, 178.0):
        stab = Tailplane("t", (Station(0, 310, 120, z), Station(300, 330, 90, z)), section=thick)
        _, boxes = tail(1.0, tailplanes=(stab,))
        # Half the thickness of the root is 6 mm.
        assert all(high <= z - 6.0 - 1.5 or low >= z + 6.0 + 1.5 for low, high in spans(boxes))
        assert len(boxes.places) == 3 and min(low for low, _ in spans(boxes)) >= 1.5
        assert all(b[0] - a[1] > 0 for a, b in zip(spans(boxes), spans(boxes)[1:], strict=False))
    traced_one = box("stab", "tailplane", 330, 70, 460, 95)
    _, boxes = tail(1.0, traced_one)
    assert len(boxes.places) == 3 and all(high <= 68.5 or low >= 96.5 for low, high in spans(boxes))


def test_an_edge_in_common_is_found_and_one_that_only_comes_near_is_not() -> None:
    square = np.array(((0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)))
    beside = square + np.array((40.0, 10.0))
    (line,) = shared_stretches(square, beside)
    ends = sorted(map(tuple, line[[0, -1]].round(1).tolist()))
    assert ends[0] == pytest.approx((40, 10), abs=0.1) and ends[1] == pytest.approx((40, 40), abs=0.1)
    assert shared_stretches(square, beside + np.array((0.2, 0.0))) == ()
    assert shared_stretches(square, beside + np.array((0.0, 27.0))) == ()
    turn = np.array(((0.8, 0.6), (-0.6, 0.8)))
    (slanting,) = shared_stretches(square @ turn, beside @ turn)
    assert shapely.LineString(slanting).length == pytest.approx(30.0, abs=0.2)


def test_a_line_is_cut_where_an_outline_runs_along_it() -> None:
    square = np.array(((0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)))
    below, above = stretches_off((40.0, -20.0), (40.0, 70.0), [square], 1.0)
    assert below[:, 1] == pytest.approx((-20, -1), abs=0.6)
    assert above[:, 1] == pytest.approx((41, 70), abs=0.6)
    assert stretches_off((40.0, 5.0), (40.0, 30.0), [square], 1.0) == ()
