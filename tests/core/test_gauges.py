"""Gauges: their cards put on sections and surfaces made here, turned by matrices, and read off."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from shapely import affinity

from core.bench.gauge_shapes import Gauge, Scale, incidence_gauge, throw_gauge
from core.bench.gauges import gauges_of
from core.bench.throws import EdgeThrow, elevator_throws, rudder_throws
from core.design import (
    EMPTY,
    Bench,
    Build,
    Design,
    Node,
    Outline,
    Scan,
    Section,
    Station,
    Tailplane,
    Wing,
)
from core.design_bench import Linkage
from core.design_build import Thickness

RUDDER = Outline("rudder", "rudder", (Node(700, 0), Node(760, 0), Node(760, 120), Node(700, 120)))
TAIL = Tailplane("tail", (Station(0, 600, 160), Station(200, 620, 120)), incidence_deg=-1.5)
WING = Wing("wing", (Station(0, 100, 200), Station(500, 120, 150)), incidence_deg=2.5)
WHOLE = replace(EMPTY, outlines=(RUDDER,), wings=(WING,), tailplanes=(TAIL,))
TEXT = ("root chord", "set")


def by_name(design: Design) -> dict[str, Gauge]:
    gauges, missing = gauges_of(design)
    assert missing == ()
    return {f"{g.kind}: {g.name}: {g.words[1].text}": g for g in gauges}


def edge_of(gauge: Gauge, degrees: float) -> tuple[float, float]:
    """The trailing edge of a flat surface hinged at the gauge's centre, its neutral line straight down."""
    start = np.array((0.0, -gauge.chord))
    turn = math.radians(degrees)
    matrix = np.array(((math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))))
    x, y = matrix @ start + gauge.centre
    return float(x), float(y)


def value_at(scale: Scale, degrees: float) -> float:
    """Read off between the marks on either side."""
    ticks = sorted(scale.ticks, key=lambda tick: tick.degrees)
    return float(np.interp(degrees, [t.degrees for t in ticks], [t.value for t in ticks]))


@pytest.mark.parametrize("units", ["mm", "in", "in64"])
@pytest.mark.parametrize("chord", [8.0, 12.0, 60.0, 240.0, 900.0])
def test_a_throw_gauge_reads_degrees_and_distance(chord: float, units: str) -> None:
    gauge = throw_gauge("Rudder", chord, 25.0, units=units, figures=TEXT)  # type: ignore[arg-type]
    degree, distance = gauge.scales
    per = 1.0 if units == "mm" else 25.4
    for tick in distance.ticks:
        x, y = edge_of(gauge, tick.degrees)
        # Square to the neutral line, which is upright; the edge is on the gauge's path.
        assert x == pytest.approx(tick.value * per, abs=1e-9)
        assert math.hypot(x, y) == pytest.approx(gauge.path)
    for tick in degree.ticks:
        assert tick.degrees == pytest.approx(tick.value)
    for scale in gauge.scales:
        turns = np.radians([t.degrees for t in scale.ticks])
        assert np.diff(turns).min() * scale.radius >= 0.79
        named = np.radians([t.degrees for t in scale.ticks if t.words])
        assert len(named) >= 3 and np.diff(named).min() * (scale.radius + 7.7) >= 4.5
        assert min(t.degrees for t in scale.ticks) >= -gauge.reach - 1e-9
        # Both ways alike, and no minus on a throw.
        assert [t.degrees for t in scale.ticks] == pytest.approx([-t.degrees for t in scale.ticks][::-1])
        assert not any(t.words[:1] in "-−" for t in scale.ticks if t.words)


@pytest.mark.parametrize("slot", [3.0, 9.0])
@pytest.mark.parametrize(("chord", "throw"), [(8.0, 20.0), (60.0, 25.0), (60.0, 60.0), (400.0, 35.0)])
def test_the_surface_swings_freely_in_its_gauge(chord: float, throw: float, slot: float) -> None:
    """A wedge as thick as the slot at the hinge, and the fixed surface before it, meet no card."""
    slot = min(slot, chord)
    gauge = throw_gauge("Rudder", chord, throw, units="mm", figures=TEXT, slot=slot)
    assert gauge.card.geom_type == "Polygon" and gauge.card.is_valid and not gauge.card.interiors
    half = 0.5 * slot - 0.01
    fixed = shapely.box(-half, 0.5, half, 60.0)
    assert not gauge.card.intersects(fixed)
    hinge_line = shapely.Polygon([(-half, 0.0), (half, 0.0), (0.3, -chord), (-0.3, -chord)])
    for degrees in np.linspace(-throw, throw, 9):
        swung = affinity.rotate(hinge_line, degrees, origin=(0, 0))
        met = gauge.card.intersection(swung)
        # Nothing but the corner at the hinge, which a bevel takes away, may touch.
        assert met.is_empty or met.bounds[1] > -slot
    # Its jaw holds the fixed surface on both sides, along a few millimetres.
    assert gauge.card.intersection(shapely.LineString([(-30, 10), (30, 10)])).geom_type == "MultiLineString"
    # The marks are on the card.
    for scale in gauge.scales:
        for tick in scale.ticks:
            turn = math.radians(tick.degrees)
            at = shapely.Point((scale.radius + 2) * math.sin(turn), -(scale.radius + 2) * math.cos(turn))
            assert gauge.card.contains(at)


def section_of(chord: float, thickness: float) -> shapely.Polygon:
    """The NACA four-digit thickness form (Abbott and von Doenhoff; from memory), its tail a little open."""
    x = (1 - np.cos(np.linspace(0, np.pi, 400))) / 2
    y = 5 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    upper, lower = np.column_stack((x, y)) * chord, np.column_stack((x, -y)) * chord
    return shapely.Polygon(np.vstack((upper, lower[::-1][:-1])))


@pytest.mark.parametrize("degrees", [-3.0, 0.0, 2.5, 12.0])
@pytest.mark.parametrize("chord", [40.0, 200.0, 500.0])
def test_an_incidence_gauge_reads_the_angle_and_its_top_is_level_when_it_is_right(
    chord: float, degrees: float
) -> None:
    gauge = incidence_gauge("Wing", chord, degrees, thickness=0.12, figures=TEXT)
    assert gauge.card.geom_type == "Polygon" and gauge.card.is_valid and not gauge.card.interiors
    # Nose to the left, up by the incidence: seen so, the chord and the card turn clockwise.
    turned = affinity.rotate(gauge.card, -degrees, origin=(0, 0))
    level = [
        (a, b) for a, b in zip(turned.exterior.coords[:-1], turned.exterior.coords[1:], strict=True)
        if math.dist(a, b) > 60 and min(a[1], b[1]) > turned.bounds[3] - 1.0
    ]
    assert len(level) == 1 and level[0][0][1] == pytest.approx(level[0][1][1], abs=1e-5)
    # The thread hangs straight down from the pivot; back in the card's own plane it crosses the set mark.
    (scale,) = gauge.scales
    turn = math.radians(degrees)
    back = np.array(((math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))))
    thread = back @ np.array((0.0, -scale.radius))
    read = math.degrees(math.atan2(thread[0], -thread[1]))
    assert value_at(scale, read) == pytest.approx(degrees, abs=1e-9)
    assert gauge.set_at == (degrees,)
    for sign, tick in ((1, scale.ticks[-1]), (-1, scale.ticks[0])):
        assert tick.words.startswith("+" if sign > 0 else "−") and tick.value == sign * gauge.reach


@pytest.mark.parametrize("chord", [40.0, 200.0, 500.0])
@pytest.mark.parametrize("thickness", [0.06, 0.12, 0.18])
def test_notch_and_foot_set_a_section_on_its_chord(chord: float, thickness: float) -> None:
    gauge = incidence_gauge("Wing", chord, 0.0, thickness=thickness, figures=TEXT)
    section = section_of(chord, thickness)
    # Pushed forward into the notch as far as it goes.
    front = gauge.card.intersection(shapely.box(-50, -50, 0.4 * chord, 300))
    low, high = 0.0, 0.2 * chord
    for _ in range(50):
        middle = 0.5 * (low + high)
        free = not front.intersects(affinity.translate(section, middle))
        low, high = (low, middle) if free else (middle, high)
    # On both sides of the nose.
    touched = front.intersection(affinity.translate(section, high - 1e-3))
    assert touched.bounds[1] < 0.0 < touched.bounds[3]
    put = affinity.translate(section, high)
    tail = high + chord
    under = [c for c in gauge.card.exterior.coords if abs(c[1]) < 1e-6 and c[0] > 0.5 * chord]
    assert min(c[0] for c in under) <= tail <= max(c[0] for c in under) - 5.0
    # The section's tail stands above its chord by half its thickness there; the foot is lifted by no more
    # than the edge's own thickness, which the card tells, and 0.08° (18 % thick; 0.05° where 12 %).
    met = gauge.card.intersection(put)
    lift = met.bounds[3] if not met.is_empty else 0.0
    own = 5 * thickness * 0.0021 * chord
    assert math.degrees(math.asin(lift / chord)) <= math.degrees(math.asin(own / chord)) + 0.08
    assert met.is_empty or met.bounds[0] > 0.9 * chord


def test_gauges_are_of_the_designs_measures() -> None:
    found = by_name(WHOLE)
    assert list(found) == [
        "incidence: wing: root chord 200.0 mm, the design: +2.5°",
        "incidence: tail: root chord 160.0 mm, the design: −1.5°",
        "throw: rudder: chord 60.0 mm half way up",
        "throw: tail: elevator: chord 56.0 mm at the root",
        "throw: tail: elevator: chord 42.0 mm at the tip",
    ]
    (throw,) = rudder_throws(WHOLE)
    elevators = elevator_throws(TAIL)
    assert isinstance(throw, EdgeThrow) and not isinstance(elevators, str)
    for gauge, told in zip(list(found.values())[2:], (throw, *elevators), strict=True):
        assert (gauge.chord, gauge.set_at) == (told.chord, (-told.degrees, told.degrees))
        assert f"{told.distance:.1f} mm" in gauge.words[2].text
    # Half a millimetre of a millimetre's thickness, on 200 mm: its sine.
    assert f"{math.degrees(math.asin(0.5 / 200)):.2f}° too little" in next(iter(found.values())).told


def test_linkages_give_ailerons_and_the_elevators_throw() -> None:
    aileron = Linkage("a", 12, 16, 40, "Aileron", "aileron")
    elevator = Linkage("e", 10, 20, 56, "Elevator", "elevator")
    found = by_name(replace(WHOLE, bench=Bench((aileron, elevator))))
    gauge = found["throw: Aileron: chord 40.0 mm as entered"]
    assert gauge.words[2].text.startswith("its linkage: ")
    root = found["throw: tail: elevator: chord 56.0 mm at the root"]
    # 45° at the servo, half as much at twice its arm, but for the rod's slant.
    assert root.set_at[1] == pytest.approx(math.degrees(math.asin(0.5 * math.sin(math.pi / 4))), abs=1.5)


def test_a_build_gives_the_slot_its_width() -> None:
    build = Build("b", ("rudder",), thickness=Thickness(10.0, 6.0))
    tail = Build("t", ("tail",), thickness=Thickness(12.0, 7.0))
    found = by_name(replace(WHOLE, builds=(build, tail)))
    wide = []
    for gauge in list(found.values())[2:]:
        across = gauge.card.intersection(shapely.LineString([(-50, 20), (50, 20)]))
        one, other = sorted(shapely.get_parts(across), key=lambda part: part.bounds[0])
        wide.append(other.bounds[0] - one.bounds[2])
    assert wide == pytest.approx([8.0, 12.0, 7.0])


@pytest.mark.parametrize(("design", "told"), [
    (replace(WHOLE, wings=()), "no incidence gauge for the wing: enter the wing"),
    (replace(WHOLE, outlines=()), "no throw gauge for the rudder: trace the rudder"),
    (replace(WHOLE, scans=(Scan("p", "p.png", scale_from="none"),)), "no throw gauge for the rudder: "),
    (replace(WHOLE, wings=(replace(WING, incidence_deg=60.0),)),
     "no incidence gauge for wing: it goes as far as 40°, found 60°"),
    (replace(WHOLE, flight=replace(WHOLE.flight, rudder_throw_deg=80.0)),
     "no throw gauge for rudder, half way up: it goes as far as 60°, found 80°"),
    (replace(WHOLE, tailplanes=(replace(TAIL, elevator_chord_fraction=0.0),)),
     "no throw gauge for the elevator of tail: the tailplane has no elevator"),
    (replace(WHOLE, wings=(replace(WING, stations=(Station(0, 0, 5),)),)),
     "no incidence gauge for wing: gauges are for chords from 8.0 mm to 1500.0 mm, found 5.0 mm"),
])
def test_what_cannot_be_made_is_said(design: Design, told: str) -> None:
    gauges, missing = gauges_of(design)
    assert len(missing) == 1 and missing[0].startswith(told)
    assert gauges


def test_what_the_aeroplane_has_not_is_not_asked_for() -> None:
    none = replace(EMPTY, left_out=("wing", "tailplane", "rudder"))
    assert gauges_of(none) == ((), ())


def test_a_cambered_section_has_room_below_the_beam() -> None:
    thick = replace(WING, section=Section(0.15, 0.05, 0.4))
    (plain, fat) = (gauges_of(replace(WHOLE, wings=(w,)))[0][0] for w in (WING, thick))
    free = [
        g.card.intersection(shapely.LineString([(60, -20), (60, 300)])).bounds[1] for g in (plain, fat)
    ]
    assert free[0] >= 200 * 0.06 + 5 and free[1] >= 200 * (0.075 + 0.05) + 5
