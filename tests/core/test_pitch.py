"""Pitch: neutral point, static margin and trim of whole designs."""

from __future__ import annotations

from math import degrees, isfinite, radians
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Design, Flight, Mark, Section, Station, Tailplane, Weight, Wing
from core.stability.aeroplane import Aeroplane
from core.stability.body import NO_BODY
from core.stability.downwash import TAIL_NOT_BEHIND, body_couple, tail_downwash
from core.stability.pitch import (
    NO_WIDTH,
    TAIL_EFFICIENCY,
    WOULD_STALL,
    pitch_values,
)
from core.stability.readings import ReadingsEngine
from core.stability.side_area import form_of
from core.stability.surfaces import NO_TAILPLANE, NO_WING, SurfaceForm, lift_slope, surface_form
from core.stability.thin_aerofoil import NO_CAMBER_PLACE, CamberLine, camber_line
from core.stability.volumes import GRAVITY
from tests.core.making import MANY, SOME, box, curved_designs, design_of, sound_designs

KEYS = {"downwash_slope", "neutral_point_x", "static_margin", "trim_incidence_deg", "tail_load_g"}
STATIONS = (Station(0, 250, 220, 40), Station(650, 270, 180, 90))
TAIL_STATIONS = (Station(0, 850, 140, 30), Station(240, 870, 100, 30))


def plane(**more: Any) -> Design:
    made = design_of(
        box("f", "fuselage", 0, -50, 950, 50), box("t", "fin", 850, 50, 950, 200),
        wings=(Wing("wing", STATIONS, incidence_deg=2, section=Section(0.12, 0.03, 0.4)),),
        tailplanes=(Tailplane("tail", TAIL_STATIONS, section=Section(0.08)),),
        cg_mark=Mark(320), fuselage_width=80.0, weights=(Weight("all", 1400, 320),),
        flight=Flight(speed_m_s=12.0),
    )
    return msgspec.structs.replace(made, **more) if more else made


def values(design: Design) -> dict[str, float | str]:
    r = ReadingsEngine().read(design)
    return pitch_values(Aeroplane(design, r.side, r.cg, "mark the CG", r.fin_centre))


def figures(design: Design) -> dict[str, float]:
    found = values(design)
    assert set(found) == KEYS
    assert all(isinstance(v, float) for v in found.values()), found
    return {key: float(v) for key, v in found.items()}


def form(surface: Wing | Tailplane) -> SurfaceForm:
    found = surface_form(surface)
    assert isinstance(found, SurfaceForm)
    return found


def test_the_static_margin_is_measured_in_chords_from_the_cg() -> None:
    found = figures(plane())
    wing = form(plane().wings[0])
    assert found["static_margin"] == pytest.approx((found["neutral_point_x"] - 320) / wing.mac)
    further_aft = figures(plane(cg_mark=Mark(340)))
    assert further_aft["neutral_point_x"] == pytest.approx(found["neutral_point_x"])
    assert further_aft["static_margin"] == pytest.approx(found["static_margin"] - 20 / wing.mac)


def test_wing_and_tail_alone_share_by_their_strengths() -> None:
    """No body: the neutral point divides the distance between the two by the lift that each gives."""
    design = plane(fuselage_width=0.0)
    wing, tail = form(design.wings[0]), form(design.tailplanes[0])
    downwash = tail_downwash(wing, tail)
    assert isinstance(downwash, float)
    at_wing = lift_slope(wing.aspect_ratio, wing.sweep_half_deg) * wing.area
    a_t = lift_slope(tail.aspect_ratio, tail.sweep_half_deg)
    at_tail = TAIL_EFFICIENCY * a_t * tail.area * (1 - downwash)
    share = at_tail / (at_wing + at_tail)
    expected = wing.quarter_chord_x + share * (tail.quarter_chord_x - wing.quarter_chord_x)
    assert figures(design)["neutral_point_x"] == pytest.approx(expected)


def test_a_body_moves_the_neutral_point_forward_by_the_square_of_its_width() -> None:
    none, narrow, wide = (figures(plane(fuselage_width=w))["neutral_point_x"] for w in (0.0, 60.0, 120.0))
    assert wide < narrow < none
    assert none - wide == pytest.approx(4 * (none - narrow))


def test_a_larger_tail_moves_it_aft_and_two_fuselages_forward() -> None:
    found = figures(plane())["neutral_point_x"]
    larger = tuple(Station(s.y * 1.2, s.le_x, s.chord, s.z) for s in TAIL_STATIONS)
    tail = msgspec.structs.replace(plane().tailplanes[0], stations=larger)
    assert figures(plane(tailplanes=(tail,)))["neutral_point_x"] > found
    twice = tuple(msgspec.structs.replace(o, count=2) if o.id == "f" else o for o in plane().outlines)
    assert figures(plane(outlines=twice))["neutral_point_x"] < found


def test_trim_leaves_no_force_and_no_moment() -> None:
    """Lift, tail load and moments put together again from the incidence that was found."""
    design = plane()
    found = figures(design)
    wing, tail = form(design.wings[0]), form(design.tailplanes[0])
    line = camber_line(design.wings[0].section)
    assert isinstance(line, CamberLine)
    q = 0.5 * 1.225 * 12.0**2
    downwash = found["downwash_slope"]
    a_w = lift_slope(wing.aspect_ratio, wing.sweep_half_deg) * wing.area * 1e-6 * q
    a_t = TAIL_EFFICIENCY * lift_slope(tail.aspect_ratio, tail.sweep_half_deg) * tail.area * 1e-6 * q
    load = found["tail_load_g"] * 1e-3 * GRAVITY
    on_wing = (1.4 * GRAVITY - load) / a_w
    alpha = on_wing + line.zero_lift_rad - radians(2)
    at_tail = alpha + radians(found["trim_incidence_deg"]) - downwash * on_wing
    assert a_t * at_tail == pytest.approx(load)
    hull = form_of(design.outlines[0]).patch
    body = body_couple(hull, 80.0, wing, tail.quarter_chord_x, downwash) * 1e-9 * q * alpha
    free = q * wing.area * wing.mac * 1e-9 * line.moment
    moment = (
        free + body + a_w * on_wing * (320 - wing.quarter_chord_x) * 1e-3
        - load * (tail.quarter_chord_x - 320) * 1e-3
    )
    assert moment == pytest.approx(0, abs=1e-9)


def test_a_cg_further_forward_asks_for_more_download() -> None:
    forward, aft = figures(plane(cg_mark=Mark(300))), figures(plane(cg_mark=Mark(340)))
    assert forward["tail_load_g"] < aft["tail_load_g"]
    assert forward["trim_incidence_deg"] < aft["trim_incidence_deg"]


def test_more_wing_incidence_turns_the_whole_aeroplane_down() -> None:
    """Without a body only the angle between the two matters: one degree more needs one degree more."""
    low = plane(fuselage_width=0.0)
    wing = msgspec.structs.replace(low.wings[0], incidence_deg=3.0)
    high = msgspec.structs.replace(low, wings=(wing,))
    a, b = figures(low), figures(high)
    assert b["trim_incidence_deg"] - a["trim_incidence_deg"] == pytest.approx(1.0)
    assert b["tail_load_g"] == pytest.approx(a["tail_load_g"])


def test_a_cambered_tail_is_turned_by_its_line_of_no_lift() -> None:
    design = plane()
    tail = msgspec.structs.replace(design.tailplanes[0], section=Section(0.08, 1e-3, 0.4))
    line = camber_line(tail.section)
    assert isinstance(line, CamberLine)
    turned = figures(plane(tailplanes=(tail,)))["trim_incidence_deg"] - figures(design)["trim_incidence_deg"]
    # Its own free moment asks for a little more.
    assert turned == pytest.approx(degrees(line.zero_lift_rad), rel=0.1)


@MANY
@given(st.floats(0.1, 20.0))
def test_size_alone_changes_no_margin(by: float) -> None:
    def surface(stations: tuple[Station, ...]) -> tuple[Station, ...]:
        return tuple(Station(s.y * by, s.le_x * by, s.chord * by, s.z * by) for s in stations)

    small = plane()
    large = plane(
        outlines=(box("f", "fuselage", 0, -50 * by, 950 * by, 50 * by),),
        wings=(msgspec.structs.replace(small.wings[0], stations=surface(STATIONS)),),
        tailplanes=(msgspec.structs.replace(small.tailplanes[0], stations=surface(TAIL_STATIONS)),),
        cg_mark=Mark(320 * by), fuselage_width=80 * by, weights=(Weight("all", 1400 * by**2, 0),),
    )
    a, b = figures(small), figures(large)
    # Which of 400 slices an edge of the wing falls into may hang on the last bit.
    assert b["static_margin"] == pytest.approx(a["static_margin"], rel=2e-3)
    assert b["downwash_slope"] == pytest.approx(a["downwash_slope"])
    assert b["trim_incidence_deg"] == pytest.approx(a["trim_incidence_deg"], abs=2e-3)
    assert b["tail_load_g"] == pytest.approx(a["tail_load_g"] * by**2, abs=0.2 * by**2)


def test_more_stations_on_the_same_wing_change_nothing() -> None:
    wing = plane().wings[0]
    middle = Station(325, 260, 200, 65)
    split = msgspec.structs.replace(wing, stations=(STATIONS[0], middle, STATIONS[1]))
    assert figures(plane(wings=(split,))) == pytest.approx(figures(plane()))


@pytest.mark.parametrize(
    ("change", "key", "why"),
    (
        ({"wings": ()}, "downwash_slope", NO_WING),
        ({"tailplanes": ()}, "neutral_point_x", NO_TAILPLANE),
        ({"outlines": ()}, "neutral_point_x", NO_BODY),
        ({"fuselage_width": None}, "static_margin", NO_WIDTH),
        ({"cg_mark": None}, "static_margin", "mark the CG"),
        ({"cg_mark": None}, "trim_incidence_deg", "mark the CG"),
        ({"weights": ()}, "tail_load_g", "enter the weights"),
        ({"flight": Flight(speed_m_s=0)}, "tail_load_g", "enter a flight speed above zero"),
        ({"flight": Flight(speed_m_s=4)}, "trim_incidence_deg", WOULD_STALL),
    ),
)
def test_what_is_missing_says_so(change: dict[str, Any], key: str, why: str) -> None:
    found = values(plane(**change))
    assert set(found) == KEYS
    assert found[key] == why


def test_a_reason_spares_what_does_not_need_it() -> None:
    assert isinstance(values(plane(fuselage_width=None))["downwash_slope"], float)
    assert isinstance(values(plane(cg_mark=None))["neutral_point_x"], float)
    assert isinstance(values(plane(weights=()))["static_margin"], float)


def test_a_tail_ahead_and_a_camber_nowhere() -> None:
    ahead = Tailplane("tail", (Station(0, 0, 100), Station(200, 0, 100)))
    assert values(plane(tailplanes=(ahead,)))["downwash_slope"] == TAIL_NOT_BEHIND
    wing = msgspec.structs.replace(plane().wings[0], section=Section(0.12, 0.03, 0.0))
    found = values(plane(wings=(wing,)))
    assert found["trim_incidence_deg"] == NO_CAMBER_PLACE
    assert isinstance(found["static_margin"], float)


@SOME
@given(st.one_of(curved_designs(), sound_designs))
def test_the_far_fetched(design: Design) -> None:
    found = values(msgspec.structs.replace(design, fuselage_width=60.0))
    assert set(found) == KEYS
    assert all(v if isinstance(v, str) else isfinite(v) for v in found.values())
