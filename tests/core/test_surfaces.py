"""Wings and tailplanes from their stations, and the fin from its slices."""

from __future__ import annotations

from dataclasses import astuple
from math import atan, degrees, radians, tan
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Station, Tailplane, Wing
from core.stability.fin import ON_A_BODY, FinGroup, fin_form, fin_groups
from core.stability.side_area import SideAreaCounter
from core.stability.surfaces import (
    NO_TAILPLANE,
    NO_WING,
    SurfaceForm,
    lift_slope,
    surface_form,
    tailplane_form,
    wing_form,
)
from tests.core.making import MANY, SOME, box, design_of, traced


def form(*stations: Station) -> SurfaceForm:
    found = surface_form(Wing("wing", stations))
    assert isinstance(found, SurfaceForm), found
    return found


@st.composite
def halves(draw: st.DrawFn, most: int = 5) -> tuple[Station, ...]:
    """Stations of a half wing from the centreline outwards."""
    count = draw(st.integers(2, most))
    y = 0.0
    made = []
    for _ in range(count):
        le, chord, z = draw(st.floats(-200, 400)), draw(st.floats(10, 400)), draw(st.floats(-100, 100))
        made.append(Station(y, le, chord, z))
        y += draw(st.floats(20, 500))
    return tuple(made)


def test_a_straight_tapered_wing_by_its_closed_forms() -> None:
    """Root 250, tip 150, half span 700, leading edge 40 back and 60 up at the tip."""
    root, tip, half, back, up = 250.0, 150.0, 700.0, 40.0, 60.0
    taper = tip / root
    found = form(Station(0, 300, root, 20), Station(half, 300 + back, tip, 20 + up))
    mac = 2 / 3 * root * (1 + taper + taper**2) / (1 + taper)
    share = (1 + 2 * taper) / (3 * (1 + taper))
    assert found.area == pytest.approx((root + tip) * half)
    assert found.span == 2 * half
    assert found.aspect_ratio == pytest.approx(4 * half / (root + tip))
    assert found.mac == pytest.approx(mac)
    assert found.mac_le_x == pytest.approx(300 + back * share)
    assert found.quarter_chord_x == pytest.approx(300 + back * share + mac / 4)
    assert found.quarter_chord_z == pytest.approx(20 + up * share)
    assert found.dihedral_deg == pytest.approx(degrees(atan(up / half)))
    assert found.sweep_quarter_deg == pytest.approx(degrees(atan((back + (tip - root) / 4) / half)))
    assert found.sweep_half_deg == pytest.approx(degrees(atan((back + (tip - root) / 2) / half)))
    assert (found.root_chord, found.tip_chord, found.root_le_x, found.root_z) == (root, tip, 300, 20)


@given(stations=halves())
@SOME
def test_against_thin_strips(stations: tuple[Station, ...]) -> None:
    """The same integrals by 20 000 strips; the midpoint rule misses panel joints by under 1e-4."""
    found = form(*stations)
    table = np.array([(s.y, s.le_x, s.chord, s.z) for s in stations])
    edges = np.linspace(0, table[-1, 0], 20_001)
    y, dy = 0.5 * (edges[1:] + edges[:-1]), edges[1]
    le, c, z = (np.interp(y, table[:, 0], table[:, i]) for i in (1, 2, 3))
    slope = {i: np.gradient(np.interp(edges, table[:, 0], table[:, i]), edges) for i in (1, 2, 3)}
    mid = {i: 0.5 * (s[1:] + s[:-1]) for i, s in slope.items()}
    half = float(c.sum() * dy)
    assert found.area == pytest.approx(2 * half, rel=1e-6)
    assert found.mac == pytest.approx(float((c * c).sum() * dy) / half, rel=1e-6)
    assert found.quarter_chord_x == pytest.approx(float(((le + c / 4) * c).sum() * dy) / half, abs=1e-3)
    assert found.quarter_chord_z == pytest.approx(float((z * c).sum() * dy) / half, abs=1e-3)
    gamma = np.degrees(np.arctan(mid[3]))
    assert found.dihedral_deg == pytest.approx(float((gamma * c * y).sum() / (c * y).sum()), abs=0.05)
    tangent = float(((mid[1] + 0.5 * mid[2]) * c).sum() / c.sum())
    assert tan(radians(found.sweep_half_deg)) == pytest.approx(tangent, abs=2e-3, rel=2e-3)


@given(stations=halves(), where=st.floats(0.05, 0.95), panel=st.integers(0, 3))
@MANY
def test_a_station_more_on_a_straight_panel_changes_nothing(
    stations: tuple[Station, ...], where: float, panel: int
) -> None:
    panel = min(panel, len(stations) - 2)
    a, b = stations[panel], stations[panel + 1]
    between = Station(*(getattr(a, n) + where * (getattr(b, n) - getattr(a, n))
                        for n in ("y", "le_x", "chord", "z")))
    more = (*stations[: panel + 1], between, *stations[panel + 1:])
    assert astuple(form(*more)) == pytest.approx(astuple(form(*stations)), rel=1e-9, abs=1e-9)


@given(stations=halves(), factor=st.floats(0.1, 10), along=st.floats(-500, 500))
@MANY
def test_units_and_datum(stations: tuple[Station, ...], factor: float, along: float) -> None:
    """Lengths grow with the unit, areas with its square, angles not at all; x moves with the datum."""
    one = form(*stations)
    scaled = form(*(Station(s.y * factor, s.le_x * factor, s.chord * factor, s.z * factor) for s in stations))
    for name in ("span", "mac", "quarter_chord_z", "mac_le_x"):
        assert getattr(scaled, name) == pytest.approx(factor * getattr(one, name), rel=1e-9, abs=1e-7)
    assert scaled.area == pytest.approx(factor**2 * one.area)
    for name in ("aspect_ratio", "dihedral_deg", "sweep_quarter_deg", "sweep_half_deg"):
        assert getattr(scaled, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-7)
    moved = form(*(Station(s.y, s.le_x + along, s.chord, s.z) for s in stations))
    assert moved.quarter_chord_x == pytest.approx(one.quarter_chord_x + along, abs=1e-7)
    assert moved.mac == pytest.approx(one.mac)
    assert moved.sweep_quarter_deg == pytest.approx(one.sweep_quarter_deg, abs=1e-7)


@given(stations=halves())
@SOME
def test_order_and_mirror(stations: tuple[Station, ...]) -> None:
    """Stations from the tip inwards mean the same wing; upside down, the dihedral is an anhedral."""
    assert form(*reversed(stations)) == form(*stations)
    over = form(*(Station(s.y, s.le_x, s.chord, -s.z) for s in stations))
    assert over.dihedral_deg == pytest.approx(-form(*stations).dihedral_deg, abs=1e-9)


def test_tips_turned_up_count_by_their_leverage() -> None:
    """Constant chord, flat to 400, 20° from there to 700: Γ = 20° (700² − 400²)/700²."""
    found = form(Station(0, 0, 200), Station(400, 0, 200), Station(700, 0, 200, 300 * tan(radians(20))))
    assert found.dihedral_deg == pytest.approx(20 * (700**2 - 400**2) / 700**2)


def test_a_step_in_chord_at_one_station() -> None:
    found = form(Station(0, 0, 200), Station(300, 0, 200), Station(300, 50, 100), Station(500, 50, 100))
    assert found.area == pytest.approx(2 * (300 * 200 + 200 * 100))
    assert found.mac == pytest.approx((300 * 200**2 + 200 * 100**2) / (300 * 200 + 200 * 100))
    assert found.sweep_quarter_deg == 0.0


def test_a_biplane() -> None:
    """Two wings: areas add, means go by area, the larger span is the span."""
    upper = Wing("upper", (Station(0, 200, 200, 150), Station(600, 200, 200, 150)))
    lower = Wing("lower", (Station(0, 260, 150, 20), Station(400, 260, 150, 55)))
    both = wing_form((upper, lower))
    assert isinstance(both, SurfaceForm)
    up, low = 1200 * 200, 800 * 150
    assert both.area == pytest.approx(up + low)
    assert both.span == 1200
    assert both.aspect_ratio == pytest.approx(1200**2 / (up + low))
    assert both.mac == pytest.approx((up * 200 + low * 150) / (up + low))
    assert both.quarter_chord_x == pytest.approx((up * 250 + low * 297.5) / (up + low))
    assert both.dihedral_deg == pytest.approx(low * degrees(atan(35 / 400)) / (up + low))
    assert wing_form((lower, upper)) == both


def test_no_surface_and_bad_surfaces_say_why() -> None:
    assert wing_form(()) == NO_WING
    assert tailplane_form(()) == NO_TAILPLANE
    bad: dict[str, tuple[Station, ...]] = {
        "two stations or more": (Station(0, 0, 100),),
        "a span and chords": (Station(0, 0, 0), Station(300, 0, 0)),
        "greater than zero": (Station(0, 0, 100), Station(0, 0, 100)),
        "not negative": (Station(0, 0, 100), Station(300, 0, -5)),
        "y not below 0": (Station(-300, 0, 100), Station(300, 0, 100)),
        "within ±1 000 000": (Station(0, 0, 1e300), Station(300, 0, 100)),
        "within ±1 000 000 ": (Station(0, float("nan"), 100), Station(300, 0, 100)),
    }
    for words, stations in bad.items():
        found = wing_form((Wing("main", stations),))
        assert isinstance(found, str) and words.strip() in found and "main" in found
        sound = Wing("sound", (Station(0, 0, 100), Station(300, 0, 100)))
        assert wing_form((sound, Wing("main", stations))) == found, "one unknown wing leaves the sum unknown"
        assert "tailplane" in str(tailplane_form((Tailplane("main", stations),)))


def test_a_tip_drawn_to_a_point() -> None:
    """Triangle: MAC two thirds of the root."""
    found = form(Station(0, 0, 300), Station(600, 225, 0))
    assert found.mac == pytest.approx(200)
    assert found.sweep_quarter_deg == pytest.approx(degrees(atan((225 - 75) / 600)))


def group_of(*fins: Any) -> tuple[FinGroup, ...]:
    design = design_of(*fins)
    return fin_groups(design, SideAreaCounter().count(design))


def test_fin_sweep_is_that_of_its_lines() -> None:
    """Root 120, tip 60, height 90, leading edge 50 back: straight lines fit themselves."""
    (group,) = group_of(traced("fin", "fin", ((0, 0), (120, 0), (110, 90), (50, 90))))
    assert group.form.aspect_ratio == pytest.approx(90**2 / 8100)
    assert group.form.sweep_quarter_deg == pytest.approx(degrees(atan((50 - 60 / 4) / 90)))
    assert group.form.sweep_half_deg == pytest.approx(degrees(atan((50 - 60 / 2) / 90)))
    assert group.effective_aspect_ratio == pytest.approx(1.55 * 90**2 / 8100)
    assert group.lift_slope == lift_slope(1.55 * 90**2 / 8100, group.form.sweep_half_deg)


def test_twin_fins_at_half_height() -> None:
    """The same area in two fins of half the height: half the aspect ratio, and no body to stand on."""
    (single,) = group_of(box("fin", "fin", 800, 0, 880, 160))
    (twin,) = group_of(box("fins", "fin", 800, 0, 880, 80, count=2))
    assert twin.count * twin.form.area == pytest.approx(single.form.area)
    assert twin.effective_aspect_ratio == pytest.approx(single.effective_aspect_ratio / ON_A_BODY / 2)
    assert twin.lift_slope < single.lift_slope
    assert single.form.sweep_half_deg == pytest.approx(0.0, abs=1e-9)


def test_rudder_fraction() -> None:
    fin, rudder = box("fin", "fin", 800, 0, 860, 160), box("rudder", "rudder", 860, 0, 900, 160)
    assert group_of(fin, rudder)[0].rudder_fraction == pytest.approx(0.4)
    whole = box("fin", "fin", 800, 0, 900, 160)
    assert group_of(whole, rudder)[0].rudder_fraction == pytest.approx(0.4), "drawn over the fin"
    assert group_of(fin)[0].rudder_fraction == 0.0
    assert group_of(rudder)[0].rudder_fraction == 1.0
    twin = box("fins", "fin", 800, 0, 900, 100, count=2)
    assert [g.rudder_fraction for g in group_of(fin, rudder, twin)] == pytest.approx([0.4, 0.0])
    body = box("fuselage", "fuselage", 0, -50, 860, 40)
    assert group_of(body, fin, rudder)[0].rudder_fraction == pytest.approx(40 * 160 / (40 * 160 + 60 * 120))


def test_a_sliver_of_the_tracing_does_not_stretch_the_fin() -> None:
    """A fin that comes out below the fuselage by a hair is not as high as the fuselage is deep."""
    body = box("fuselage", "fuselage", 0, -60, 900, 0)
    fin = traced("fin", "fin", ((800, -20), (900, -20), (900, 150), (800, 150)))
    corners = ((800, -20), (897, -20), (897, -60.2), (900, -60.2), (900, 150), (800, 150))
    poking = traced("fin", "fin", corners)
    clean, stretched = group_of(body, fin)[0], group_of(body, poking)[0]
    assert clean.form.height == pytest.approx(150)
    assert stretched.form == clean.form


def test_a_fin_with_a_gap_is_as_high_as_it_reaches() -> None:
    """Fin above and below a fuselage: one surface with the body in its middle."""
    body = box("fuselage", "fuselage", 0, -30, 900, 30)
    side = SideAreaCounter().count(design_of(body, box("fin", "fin", 800, -100, 860, 130)))
    found = fin_form(side.tail_pieces[0][1])
    assert found is not None
    assert found.height == pytest.approx(230)
    assert found.area == pytest.approx(60 * 170)
    assert found.mac == pytest.approx(60)
    assert found.quarter_chord_x == pytest.approx(815)


def test_stations_nearly_at_one_y_are_a_step() -> None:
    """Found by random designs: a spacing of the smallest float once overflowed in the sweep."""
    step = Wing("w", (Station(0, 0, 1), Station(1, 0, 1), Station(2.3e-308, 0, 1, 4)))
    form = surface_form(step)
    assert not isinstance(form, str) and np.isfinite(form.dihedral_deg + form.sweep_quarter_deg)
