"""Wings and tailplanes edited by the builder's measures, by panels and by stations."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.design import Section, Station, Tailplane, Wing
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import (
    Measure,
    PanelMeasure,
    delete_station,
    insert_station,
    measure,
    panels_of,
    set_measure,
    set_panel,
    set_station,
)
from core.stability.surfaces import SurfaceForm, surface_form

SIMPLE = Wing(
    "wing", (Station(0, 250, 220, 70), Station(660, 262, 190, 105)), "Wing", 2.0, Section(0.12, 0.03)
)
POLY = Wing(
    "poly", (Station(0, 300, 200, 50), Station(400, 300, 200, 70), Station(700, 320, 150, 120),
             Station(900, 350, 80, 180)),
)
TAIL = Tailplane("tail", (Station(0, 800, 130, 40), Station(230, 815, 100, 40)), elevator_chord_fraction=0.35)

LENGTHS: tuple[Measure, ...] = ("tip_offset", "tip_rise", "root_x", "root_z")
PLANFORM: tuple[Measure, ...] = ("span", "root_chord", "tip_chord", *LENGTHS, "sweep_deg", "dihedral_deg")


def read(surface: Wing | Tailplane, key: Measure) -> float:
    value = measure(surface, key)
    assert value is not None
    return value


def form(surface: Wing | Tailplane) -> SurfaceForm:
    found = surface_form(surface)
    assert isinstance(found, SurfaceForm), found
    return found


@st.composite
def surfaces(draw: st.DrawFn) -> Wing:
    size = st.floats(1.0, 1000.0)
    place = st.floats(-2000.0, 2000.0)
    y, stations = 0.0, []
    for _ in range(draw(st.integers(2, 6))):
        stations.append(Station(y, draw(place), draw(size), draw(place)))
        y += draw(size)
    return Wing("wing", tuple(stations))


# The measures, against the closed forms of a straight-tapered wing


def test_the_measures_of_a_tapered_wing() -> None:
    assert read(SIMPLE, "span") == 2 * 660
    assert (read(SIMPLE, "root_chord"), read(SIMPLE, "tip_chord")) == (220, 190)
    assert (read(SIMPLE, "tip_offset"), read(SIMPLE, "tip_rise")) == (12, 35)
    # Quarter chord: 250 + 220/4 at the root, 262 + 190/4 at the tip.
    assert read(SIMPLE, "sweep_deg") == pytest.approx(math.degrees(math.atan((12 - 30 / 4) / 660)), abs=1e-12)
    assert read(SIMPLE, "dihedral_deg") == pytest.approx(math.degrees(math.atan(35 / 660)), abs=1e-12)
    assert (read(SIMPLE, "thickness"), read(SIMPLE, "camber"), read(SIMPLE, "camber_at")) == (0.12, 0.03, 0.4)
    assert measure(SIMPLE, "elevator") is None
    assert read(TAIL, "elevator") == 0.35


def test_measures_set_give_the_area_and_aspect_ratio_of_the_trapezium() -> None:
    made = SIMPLE
    wanted: dict[Measure, float] = {
        "span": 1500.0, "root_chord": 240.0, "tip_chord": 160.0, "sweep_deg": 10.0, "dihedral_deg": 4.0,
    }
    for key, value in wanted.items():
        made = set_measure(made, key, value)
    found = form(made)
    assert found.area == pytest.approx(1500 * (240 + 160) / 2, rel=1e-12)
    assert found.aspect_ratio == pytest.approx(1500**2 / (1500 * 200), rel=1e-12)
    assert found.sweep_quarter_deg == pytest.approx(10.0, abs=1e-9)
    assert found.dihedral_deg == pytest.approx(4.0, abs=1e-9)
    # MAC of a trapezium: (2/3) c (1 + λ + λ²)/(1 + λ), λ = tip chord / root chord.
    taper = 160 / 240
    assert found.mac == pytest.approx(2 / 3 * 240 * (1 + taper + taper**2) / (1 + taper), rel=1e-12)
    # Set last, sweep and dihedral moved nothing that was set before.
    assert read(made, "span") == 1500
    assert read(made, "root_chord") == 240


def test_only_what_is_named_changes_on_two_stations() -> None:
    for key, value in (("span", 900.0), ("root_chord", 300.0), ("tip_chord", 90.0), ("tip_offset", -40.0),
                       ("tip_rise", 0.0)):
        made = set_measure(SIMPLE, key, value)  # type: ignore[arg-type]
        others = [k for k in ("span", "root_chord", "tip_chord", *LENGTHS) if k != key]
        assert [read(made, k) for k in others] == [read(SIMPLE, k) for k in others]  # type: ignore[arg-type]


@given(surfaces(), st.sampled_from(PLANFORM), st.floats(-70.0, 70.0))
def test_a_measure_set_reads_back(surface: Wing, key: Measure, value: float) -> None:
    if key in ("span", "root_chord", "tip_chord"):
        value = abs(value) * 10 + 1
    try:
        made = set_measure(surface, key, value)
    except EditError as refused:
        # Waisted wings, whose middle would vanish.
        assert "left without a chord" in str(refused)
        assume(False)
    # Leading edges up to 2000 mm added and taken away again cost some digits of 64-bit numbers.
    assert read(made, key) == pytest.approx(value, abs=1e-7)
    assert len(made.stations) == len(surface.stations)
    assert not isinstance(surface_form(made), str)
    # A file may hold steeper angles than can be typed.
    assume(not key.endswith("_deg") or abs(read(surface, key)) <= 80)
    again = set_measure(made, key, read(surface, key))
    for one, other in zip(again.stations, surface.stations, strict=True):
        for name in ("y", "le_x", "chord", "z"):
            assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-6, abs=1e-6)


@given(surfaces(), st.floats(0.25, 4.0))
def test_span_scales_area_and_keeps_mac(surface: Wing, factor: float) -> None:
    before, after = form(surface), form(set_measure(surface, "span", factor * read(surface, "span")))
    assert after.area == pytest.approx(factor * before.area, rel=1e-9)
    assert after.mac == pytest.approx(before.mac, rel=1e-9)


@given(st.floats(10.0, 800.0), st.floats(10.0, 800.0), st.integers(0, 3), st.floats(10.0, 800.0))
def test_a_straight_taper_stays_straight_however_it_is_split(
    root: float, tip: float, splits: int, wanted: float
) -> None:
    plain = Wing("wing", (Station(0, 250, root, 70), Station(660, 262, tip, 105)))
    split = plain
    for _ in range(splits):
        split = insert_station(split, 0)
    for key in PLANFORM:
        value = {"sweep_deg": 12.0, "dihedral_deg": -3.0}.get(key, wanted)
        one, other = form(set_measure(plain, key, value)), form(set_measure(split, key, value))
        for name in ("area", "mac", "quarter_chord_x", "dihedral_deg"):
            assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-7)


def test_a_waisted_wing_is_not_cut_in_two() -> None:
    waisted = Wing("wing", (Station(0, 0, 200), Station(300, 0, 50), Station(600, 0, 60)))
    # At half span half of the 150 mm less: 50 − 75 is below nothing.
    with pytest.raises(EditError, match="station 2 of the wing would be left without a chord"):
        set_measure(waisted, "root_chord", 50.0)


@given(surfaces(), st.floats(-3000.0, 3000.0), st.floats(-3000.0, 3000.0))
def test_placing_the_root_carries_the_whole(surface: Wing, x: float, z: float) -> None:
    made = set_measure(set_measure(surface, "root_x", x), "root_z", z)
    before, after = form(surface), form(made)
    assert after.area == pytest.approx(before.area, rel=1e-12)
    moved = x - surface.stations[0].le_x
    assert after.mac_le_x - before.mac_le_x == pytest.approx(moved, abs=1e-6)
    assert after.dihedral_deg == pytest.approx(before.dihedral_deg, abs=1e-6)


def test_a_polyhedral_wing_keeps_its_shape() -> None:
    # Every height grows by its share of the way out: 0, 4/9, 7/9, 1 of the 30 mm more.
    made = set_measure(POLY, "tip_rise", 130.0 + 30.0)
    assert [s.z for s in made.stations] == pytest.approx([50, 70 + 30 * 4 / 9, 120 + 30 * 7 / 9, 180 + 30])
    # Chords by 100 mm at the root, less and less to nothing at the tip.
    made = set_measure(POLY, "root_chord", 300.0)
    assert [s.chord for s in made.stations] == pytest.approx(
        [c + 100 * (1 - y / 900) for c, y in zip((200, 200, 150, 80), (0, 400, 700, 900), strict=True)]
    )
    made = set_measure(POLY, "span", 900.0)
    assert [s.y for s in made.stations] == pytest.approx([0, 200, 350, 450])
    assert [s.z for s in made.stations] == [s.z for s in POLY.stations]


def test_a_pointed_tip_can_be_given_a_chord_again() -> None:
    pointed = set_measure(POLY, "tip_chord", 0.0)
    assert read(pointed, "tip_chord") == 0
    assert read(set_measure(pointed, "tip_chord", 60.0), "tip_chord") == 60


def test_stations_in_any_order_are_taken_outwards() -> None:
    turned = replace(SIMPLE, stations=SIMPLE.stations[::-1])
    assert read(turned, "tip_offset") == 12
    assert set_measure(turned, "root_chord", 230.0).stations[0].chord == 230


def test_section_incidence_and_elevator() -> None:
    made = set_measure(set_measure(SIMPLE, "thickness", 0.1), "camber", -0.02)
    made = set_measure(set_measure(made, "camber_at", 0.5), "incidence_deg", -3.0)
    assert made.section == Section(0.1, -0.02, 0.5)
    assert made.incidence_deg == -3.0
    assert made.stations == SIMPLE.stations
    assert set_measure(TAIL, "elevator", 1.0).elevator_chord_fraction == 1.0


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("span", 0.0, "span of the wing must be more than nothing"),
        ("span", -1200.0, "from tip to tip"),
        ("root_chord", 0.0, "root chord of the wing must be more than nothing"),
        ("tip_chord", -1.0, "give 0 for a pointed tip"),
        ("sweep_deg", 89.0, "sweep of the wing is too steep"),
        ("dihedral_deg", -81.0, "between −80° and 80°"),
        ("incidence_deg", 95.0, "incidence of the wing is too steep"),
        ("thickness", 1.0, 'for one per cent write "1 %"'),
        ("camber", 0.5, "between −20 and 20 %"),
        ("camber_at", -0.1, "place of greatest camber"),
        ("elevator", 0.3, "a wing has no elevator"),
        ("root_x", 2e6, "past what a file can hold"),
        ("root_z", math.nan, "needs a number"),
        ("span", math.inf, "needs a number"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(key: Measure, value: float, words: str) -> None:
    with pytest.raises(EditError, match=r"^[^\n]*: [^\n]*$") as refused:
        set_measure(SIMPLE, key, value)
    assert words in str(refused.value)


def test_surfaces_that_a_file_may_hold_but_nobody_can_measure() -> None:
    for stations in ((), (Station(0, 100, 200),)):
        bare = Wing("bare", stations)
        assert all(measure(bare, key) is None for key in PLANFORM)
        with pytest.raises(EditError, match="add a station first"):
            set_measure(bare, "span", 1000.0)
    flat = Wing("flat", (Station(0, 100, 200), Station(0, 100, 200)))
    assert measure(flat, "dihedral_deg") is None
    with pytest.raises(EditError, match="give it one first"):
        set_measure(flat, "dihedral_deg", 3.0)
    assert read(set_measure(flat, "span", 800.0), "span") == 800
    grown = insert_station(insert_station(Wing("bare", ()), 0), 0)
    assert form(grown).area > 0


# Panels


def test_the_panels_of_a_polyhedral_wing() -> None:
    panels = panels_of(POLY)
    assert [p.span for p in panels] == [400, 300, 200]
    assert [p.tip_chord for p in panels] == [200, 150, 80]
    assert [p.offset for p in panels] == [0, 20, 30]
    wanted = [math.degrees(math.atan(s)) for s in (20 / 400, 50 / 300, 60 / 200)]
    assert [p.dihedral_deg for p in panels] == pytest.approx(wanted, abs=1e-12)


@given(surfaces(), st.integers(0, 4), st.sampled_from(("span", "tip_chord", "offset", "dihedral_deg")),
       st.floats(-70.0, 70.0))
def test_a_panel_measure_reads_back_and_leaves_all_others(
    surface: Wing, index: int, key: PanelMeasure, value: float
) -> None:
    assume(index < len(surface.stations) - 1)
    if key in ("span", "tip_chord"):
        value = abs(value) + 1
    before, after = panels_of(surface), panels_of(set_panel(surface, index, key, value))
    names: tuple[PanelMeasure, ...] = ("span", "tip_chord", "offset", "dihedral_deg")
    for i, (old, new) in enumerate(zip(before, after, strict=True)):
        for name in names:
            wanted = value if (i, name) == (index, key) else getattr(old, name)
            # Steep outer panels carried far out lose digits of their differences.
            assert getattr(new, name) == pytest.approx(wanted, rel=1e-6, abs=1e-6)


def test_panels_refuse_what_cannot_be() -> None:
    for index, key, value, words in (
        (0, "span", 0.0, "span of panel 1"), (1, "tip_chord", 0.0, "only the tip may run out to a point"),
        (2, "tip_chord", -5.0, "cannot be negative"), (0, "dihedral_deg", 90.0, "too steep"),
        (0, "offset", math.nan, "needs a number"),
    ):
        with pytest.raises(EditError, match=words):
            set_panel(POLY, index, key, value)  # type: ignore[arg-type]
    assert panels_of(set_panel(POLY, 2, "tip_chord", 0.0))[2].tip_chord == 0


# Stations


def test_one_number_of_one_station() -> None:
    made = set_station(POLY, 1, "z", 75.0)
    assert made.stations[1] == Station(400, 300, 200, 75)
    assert made.stations[2:] == POLY.stations[2:]
    assert set_station(POLY, 3, "y", 1000.0).stations[3].y == 1000


@pytest.mark.parametrize(
    ("index", "key", "value", "words"),
    [
        (1, "y", 800.0, "change places"), (2, "y", 300.0, "change places"), (0, "y", -1.0, "negative y"),
        (1, "chord", 0.0, "only the tip"), (3, "chord", -2.0, "negative"), (0, "z", 1e7, "a file can hold"),
    ],
)
def test_a_station_refuses_what_cannot_be(index: int, key: str, value: float, words: str) -> None:
    with pytest.raises(EditError, match=words):
        set_station(POLY, index, key, value)  # type: ignore[arg-type]


@given(surfaces(), st.integers(0, 4))
def test_a_station_let_in_changes_no_figure_and_goes_out_again(surface: Wing, index: int) -> None:
    assume(index < len(surface.stations) - 1)
    split = insert_station(surface, index)
    one, other = form(surface), form(split)
    for name in ("area", "mac", "quarter_chord_x", "aspect_ratio", "dihedral_deg"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-6)
    assert delete_station(split, index + 1) == surface


def test_a_panel_beyond_the_tip_runs_straight_on() -> None:
    made = insert_station(POLY, 3)
    assert made.stations[4] == Station(900 + 100, 350 + 15, 80, 180 + 30)
    assert panels_of(made)[3].dihedral_deg == pytest.approx(panels_of(POLY)[2].dihedral_deg)


def test_stations_that_have_to_stay() -> None:
    with pytest.raises(EditError, match="needs two stations"):
        delete_station(SIMPLE, 1)
    with pytest.raises(EditError, match="root of the wing has to stay"):
        delete_station(POLY, 0)
    assert len(delete_station(POLY, 3).stations) == 3
