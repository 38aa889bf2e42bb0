"""Yaw, rudder, spiral and tail volumes of whole designs."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Design, Flight, Mark, Node, Outline, Propeller, Station, Tailplane, Weight, Wing
from core.geometry.overlay import OverlayError
from core.stability.aeroplane import Aeroplane, Values
from core.stability.balance import cg_of
from core.stability.body import NO_BODY, bodies, body_form
from core.stability.fin import COVERED_TAIL, NO_TAIL
from core.stability.lateral.rudder import (
    AHEAD,
    NO_RUDDER,
    OVER,
    authority_words,
    flap_effectiveness,
    rudder_values,
)
from core.stability.lateral.slip_range import SlipCurve, slip_curve
from core.stability.lateral.spiral import spiral_values
from core.stability.lateral.tail_lattice import TailLoad, tail_load
from core.stability.lateral.yaw import (
    NO_PROPELLER,
    YawParts,
    yaw_parts,
    yaw_values,
    yaw_warnings,
)
from core.stability.lateral.yaw_formulas import body_cn_beta, munk_cn_beta
from core.stability.side_area import SideAreaCounter, form_of
from core.stability.surfaces import NO_TAILPLANE, NO_WING, lift_slope
from core.stability.volumes import mass_of, volume_values
from tests.core.making import MANY, SOME, box, curved_designs, design_of, sound_designs, trainer

LENGTHS = {"wing_span", "mac", "fin_exposed_height", "fin_mac", "fin_arm", "tailplane_arm"}
AREAS = {"wing_area", "tailplane_area"}
STATIONS = {"mac_le_x", "fin_quarter_chord_x", "yaw_neutral_x"}
BY_LIFT = {"lift_coefficient", "spiral_parameter", "roll_coupling", "mass"}
KEYS = LENGTHS | AREAS | STATIONS | BY_LIFT | {
    "aspect_ratio", "dihedral_deg", "fin_aspect_ratio", "fin_volume", "fin_lift_slope",
    "sidewash_factor", "rudder_fraction", "cn_beta_fin_handbook", "cn_beta_fin_lattice", "cn_beta_fin",
    "cn_beta_propeller", "cn_beta_body", "cn_beta", "cn_beta_low",
    "cn_beta_high", "cy_beta", "rudder_effectiveness", "cn_rudder", "sideslip_full_rudder_deg",
    "tailplane_volume",
}

# Everything a right angle: body 600 × 100, fin 100 × 200 above it, rudder its aft 40, wing 1000 × 200.
BODY = box("fuselage", "fuselage", 0, -50, 600, 50)
FIN = box("fin", "fin", 500, 50, 560, 250)
RUDDER = box("rudder", "rudder", 560, 50, 600, 250)
WING = Wing("wing", (Station(0, 150, 200, -50), Station(500, 150, 200, -50)))
TAILPLANE = Tailplane("tailplane", (Station(0, 480, 100), Station(150, 480, 100)))
SQUARE = design_of(
    BODY, FIN, RUDDER, wings=(WING,), tailplanes=(TAILPLANE,), cg_mark=Mark(200, 0),
    weights=(Weight("all", 800, 200),), flight=Flight(propeller=Propeller(250, -10)),
)
AREA, SPAN, ASPECT = 1000 * 200, 1000, 5.0


def with_(design: Design, **changes: Any) -> Design:
    return msgspec.structs.replace(design, **changes)


def aeroplane(design: Design) -> Aeroplane:
    side = SideAreaCounter().count(design)
    cg, why = cg_of(design)
    return Aeroplane(design, side, cg, why, side.tail_moments.centroid())


def values(design: Design) -> Values:
    a = aeroplane(design)
    return {**volume_values(a), **yaw_values(a), **rudder_values(a), **spiral_values(a)}


def figures(design: Design) -> dict[str, float]:
    found = {}
    for key, value in values(design).items():
        if value == OVER:
            value = math.inf
        elif value == NO_PROPELLER:
            value = 0.0
        assert not isinstance(value, str), f"{key}: {value}"
        found[key] = value
    return found


def test_every_figure_of_a_square_aeroplane_by_hand() -> None:
    found = figures(SQUARE)
    assert set(found) == KEYS
    fin_area, arm = 100 * 200, 525 - 200
    volume = fin_area * arm / (AREA * SPAN)
    # Run down from the body's top at 50 to its middle at 0.
    slope = lift_slope(1.55 * 250**2 / 25000)
    # The wing's root lies half the body's depth below its centre line.
    sidewash = 0.724 + 3.06 * fin_area / AREA / 2 + 0.4 * 50 / 100 + 0.009 * ASPECT
    lift = 0.8 * 9.80665 / (0.5 * 1.225 * 12**2 * 0.2)
    bare = slope * 25000 * arm / (AREA * SPAN)
    book = sidewash * bare
    laid = tail_load(aeroplane(SQUARE))
    assert isinstance(laid, TailLoad)
    by_lattice = 0.95 * (laid.side_x - laid.side * 200) / (AREA * SPAN)
    k = 1 + 0.4 * 50 / 100
    fin = (book + k * by_lattice) / 2
    body = -1.3 * math.pi / 4 * 100**2 * 600 / (AREA * SPAN)
    disc = 0.09 * math.pi * 125**2 / AREA
    propeller = disc * (-10 - 200) / SPAN
    wing = lift**2 / (4 * math.pi * ASPECT)
    tau = flap_effectiveness(0.4)
    side = -(sidewash * slope * 25000 + k * 0.95 * laid.side) / 2 / AREA
    side -= 2 * math.pi / 4 * 100**2 / AREA + disc
    munk = munk_cn_beta(100**2 * 600, 6.0, AREA, SPAN)
    whole = fin + body + propeller + wing
    expected = {
        "fin_arm": arm, "fin_volume": volume, "fin_lift_slope": slope, "fin_mac": 100,
        "fin_exposed_height": 200, "fin_aspect_ratio": 2.0, "sidewash_factor": sidewash,
        "cn_beta_fin_handbook": book, "cn_beta_fin_lattice": k * by_lattice,
        "cn_beta_fin": fin, "cn_beta_body": body, "cn_beta_propeller": propeller, "cn_beta": whole,
        "cn_beta_low": 0.9 * min(book, k * by_lattice) + munk + 2 * propeller + wing,
        "cn_beta_high": 1.1 * max(book, k * by_lattice) + body + 0.5 * propeller + wing,
        "cy_beta": side, "yaw_neutral_x": 200 + SPAN * whole / -side,
        "rudder_fraction": 0.4, "rudder_effectiveness": tau,
        "cn_rudder": -0.72 * tau * (bare + by_lattice) / 2,
        "mass": 800, "lift_coefficient": lift, "dihedral_deg": 0.0, "spiral_parameter": 0.0,
    }
    for key, value in expected.items():
        # The fin's sweep comes out of 400 slices, exact to rounding on straight lines.
        assert found[key] == pytest.approx(value, rel=1e-9, abs=1e-12), key
    assert yaw_warnings(aeroplane(SQUARE)) == []


def slim() -> Design:
    """The trainer of the other tests on a fuselage of a flying aeroplane's depth."""
    design = trainer(weights=(Weight("all", 1400, 320),))
    round_body = design.outlines[0]
    nodes = tuple(
        Node(n.x, 0.25 * n.z, *(h and (h[0], 0.25 * h[1]) for h in (n.handle_in, n.handle_out)))
        for n in round_body.nodes
    )
    return with_(design, outlines=(with_(round_body, nodes=nodes), *design.outlines[1:]))


def test_the_trainer_flies_by_these_figures() -> None:
    found = figures(slim())
    assert 0.0 < found["cn_beta"] < 0.15
    assert 0.3 < found["tailplane_volume"] < 0.6
    assert found["cn_beta_low"] < found["cn_beta"] < found["cn_beta_high"]
    assert found["cn_beta_body"] < 0 < found["cn_beta_fin"]
    assert found["cn_rudder"] < 0 < found["sideslip_full_rudder_deg"]
    assert found["yaw_neutral_x"] > 320


def scaled(design: Design, factor: float, along: float) -> Design:
    def node(n: Node) -> Node:
        return Node(n.x * factor + along, n.z * factor,
                    n.handle_in and (n.handle_in[0] * factor, n.handle_in[1] * factor),
                    n.handle_out and (n.handle_out[0] * factor, n.handle_out[1] * factor))

    def half(surface: Any) -> Any:
        return with_(surface, stations=tuple(
            Station(s.y * factor, s.le_x * factor + along, s.chord * factor, s.z * factor)
            for s in surface.stations
        ))

    assert design.cg_mark is not None
    return with_(
        design, outlines=tuple(with_(o, nodes=tuple(map(node, o.nodes))) for o in design.outlines),
        wings=tuple(map(half, design.wings)), tailplanes=tuple(map(half, design.tailplanes)),
        cg_mark=Mark(design.cg_mark.x * factor + along, design.cg_mark.z * factor),
        # Wing loading kept, so that the lift coefficient is.
        weights=tuple(with_(w, grams=w.grams * factor**2) for w in design.weights),
    )


@given(factor=st.floats(0.2, 5), along=st.floats(-400, 400))
@SOME
def test_size_and_datum_change_no_coefficient(factor: float, along: float) -> None:
    design = slim()
    one, other = figures(design), figures(scaled(design, factor, along))
    for key in KEYS:
        expected = one[key]
        if key in LENGTHS:
            expected *= factor
        elif key in AREAS or key == "mass":
            expected *= factor**2
        elif key in STATIONS:
            expected = expected * factor + along
        # Curves are flattened to 0.01 mm whatever the size of the aeroplane.
        assert other[key] == pytest.approx(expected, rel=2e-3, abs=1e-6), key


def test_the_far_side_looks_the_same() -> None:
    """Weights on the other side of the centreline, as in a mirror: the same aeroplane."""
    left = with_(SQUARE, weights=(Weight("all", 800, 200, y=-80),))
    right = with_(SQUARE, weights=(Weight("all", 800, 200, y=80),))
    assert values(left) == values(right)


def test_more_fin_behind_helps_and_body_ahead_hurts() -> None:
    base = figures(SQUARE)
    larger = figures(with_(SQUARE, outlines=(BODY, FIN, box("rudder", "rudder", 560, 50, 640, 250))))
    assert larger["cn_beta"] > base["cn_beta"]
    deeper = with_(SQUARE, outlines=(box("fuselage", "fuselage", 0, -90, 600, 50), FIN, RUDDER))
    assert figures(deeper)["cn_beta_body"] < base["cn_beta_body"]
    aft = figures(with_(SQUARE, cg_mark=Mark(260, 0)))
    assert aft["cn_beta_fin_handbook"] == pytest.approx(
        base["cn_beta_fin_handbook"] * (525 - 260) / (525 - 200)
    )
    assert 0 < aft["cn_beta_fin_lattice"] < base["cn_beta_fin_lattice"]
    assert aft["cn_beta_body"] == base["cn_beta_body"], "a couple is the same about any point"


def test_a_high_wing_costs_sidewash() -> None:
    high = Wing("wing", (Station(0, 150, 200, 50), Station(500, 150, 200, 50)))
    low, raised = figures(SQUARE), figures(with_(SQUARE, wings=(high,)))
    assert low["sidewash_factor"] - raised["sidewash_factor"] == pytest.approx(0.4 * 100 / 100)


def test_sidewash_out_of_its_range_is_clamped_and_said() -> None:
    parasol = Wing("wing", (Station(0, 150, 200, 400), Station(500, 150, 200, 400)))
    design = with_(SQUARE, wings=(parasol,))
    assert figures(design)["sidewash_factor"] == 0.6
    (said,) = yaw_warnings(aeroplane(design))
    assert said.startswith("sidewash") and "0.6" in said


def test_a_wing_root_off_the_body_is_measured_from_the_body_s_middle() -> None:
    pusher = Wing("wing", (Station(0, 900, 200, 30), Station(500, 900, 200, 30)))
    centred = Wing("wing", (Station(0, 150, 200, 30), Station(500, 150, 200, 30)))
    off, on = (figures(with_(SQUARE, wings=(w,)))["sidewash_factor"] for w in (pusher, centred))
    assert off == pytest.approx(on)


def test_a_canopy_in_the_fuselage_adds_nothing_and_on_it_adds_depth() -> None:
    inside = box("canopy", "canopy", 100, 0, 200, 50)
    assert figures(with_(SQUARE, outlines=(BODY, FIN, RUDDER, inside))) == pytest.approx(figures(SQUARE))
    on_top = box("canopy", "canopy", 100, 40, 250, 90)
    found = figures(with_(SQUARE, outlines=(BODY, FIN, RUDDER, on_top)))
    integral = 100**2 * 450 + 140**2 * 150
    assert found["cn_beta_body"] == pytest.approx(body_cn_beta(integral, AREA, SPAN))


def test_floats_and_nacelles_are_bodies_each() -> None:
    floats = box("floats", "float", 50, -160, 450, -110, count=2)
    nacelle = box("nacelle", "nacelle", 100, -20, 220, 20, count=2)
    found = figures(with_(SQUARE, outlines=(BODY, FIN, RUDDER, floats, nacelle)))
    base = figures(SQUARE)
    more = 2 * body_cn_beta(50**2 * 400, AREA, SPAN) + 2 * body_cn_beta(40**2 * 120, AREA, SPAN)
    assert found["cn_beta_body"] == pytest.approx(base["cn_beta_body"] + more)
    assert found["cy_beta"] == pytest.approx(base["cy_beta"] - 2 * math.pi / 2 * (50**2 + 40**2) / AREA)
    assert [b.main for b in bodies(with_(SQUARE, outlines=(nacelle, BODY)))] == [True, False]


def test_twin_fuselages_count_twice() -> None:
    twin = box("fuselage", "fuselage", 0, -50, 600, 50, count=2)
    found = figures(with_(SQUARE, outlines=(twin, FIN, RUDDER)))
    assert found["cn_beta_body"] == pytest.approx(2 * figures(SQUARE)["cn_beta_body"])


def test_fins_of_several_counts_go_by_their_area() -> None:
    twin = box("twin", "fin", 520, 0, 600, 100, count=2)
    found = figures(with_(SQUARE, outlines=(BODY, FIN, RUDDER, twin)))
    single, pair = 100 * 200, 2 * 80 * 100
    slopes = lift_slope(1.55 * 2.0), lift_slope(100**2 / 8000)
    assert found["fin_volume"] * AREA * SPAN == pytest.approx(single * 325 + pair * 340)
    run = 25000 * lift_slope(1.55 * 250**2 / 25000)
    assert found["fin_lift_slope"] == pytest.approx((run + pair * slopes[1]) / (25000 + pair))
    assert found["rudder_fraction"] == pytest.approx(40 * 200 / (single + pair))
    tau = single * slopes[0] * flap_effectiveness(0.4) / (single * slopes[0] + pair * slopes[1])
    assert found["rudder_effectiveness"] == pytest.approx(tau)
    assert found["fin_exposed_height"] == 200, "of one fin of the group with the most area"


@pytest.mark.parametrize(
    ("changes", "why", "keys"),
    (
        ({"wings": ()}, NO_WING, "wing_area fin_volume cn_beta cy_beta cn_rudder spiral_parameter "
                                 "lift_coefficient sidewash_factor yaw_neutral_x"),
        ({"outlines": (BODY,)}, NO_TAIL, "fin_arm fin_mac cn_beta cy_beta rudder_fraction roll_coupling"),
        ({"outlines": (BODY, box("fin", "fin", 300, -20, 350, 20))}, COVERED_TAIL, "fin_arm cn_beta"),
        ({"outlines": (FIN, RUDDER)}, NO_BODY, "cn_beta_body cn_beta cy_beta yaw_neutral_x"),
        ({"outlines": (BODY, FIN)}, NO_RUDDER, "rudder_effectiveness cn_rudder sideslip_full_rudder_deg"),
        ({"cg_mark": None}, "mark the CG", "fin_arm fin_volume cn_beta_fin cn_beta cn_rudder "
                                           "spiral_parameter yaw_neutral_x tailplane_arm"),
        ({"weights": ()}, "enter the weights", "mass lift_coefficient spiral_parameter"),
        ({"flight": Flight(speed_m_s=0)}, "enter a flight speed above zero", "lift_coefficient"),
        ({"flight": Flight(air_density_kg_m3=0)}, "enter an air density above zero", "lift_coefficient"),
        ({"flight": Flight(rudder_throw_deg=0)}, "enter the rudder throw", "sideslip_full_rudder_deg"),
        ({"tailplanes": ()}, NO_TAILPLANE, "tailplane_area tailplane_arm tailplane_volume"),
    ),
)
def test_what_is_missing_says_what_to_do(changes: dict[str, Any], why: str, keys: str) -> None:
    found = values(with_(SQUARE, **changes))
    assert {key: found[key] for key in keys.split()} == dict.fromkeys(keys.split(), why)
    assert set(found) == KEYS


def test_without_weights_the_yaw_stands_and_says_what_it_lacks() -> None:
    unweighed = with_(SQUARE, weights=())
    found, whole = values(unweighed), figures(SQUARE)
    wing = whole["lift_coefficient"] ** 2 / (4 * math.pi * ASPECT)
    assert found["cn_beta"] == pytest.approx(whole["cn_beta"] - wing)
    (said,) = yaw_warnings(aeroplane(unweighed))
    assert "enter the weights" in said


def test_a_speed_below_stalling_is_said() -> None:
    (said,) = yaw_warnings(aeroplane(with_(SQUARE, flight=Flight(speed_m_s=5))))
    assert "at 5.0 m/s" in said and "lift coefficient" in said


def test_outlines_that_weigh_count_in_the_mass() -> None:
    heavy = Outline("fin", "fin", FIN.nodes, count=2, grams_per_dm2=2.5)
    assert mass_of(with_(SQUARE, outlines=(heavy,))) == pytest.approx(800 + 2 * 2.5 * 0.6 * 2)


def test_a_fin_ahead_of_the_cg_is_a_figure_with_a_sign() -> None:
    found = values(with_(SQUARE, cg_mark=Mark(580, 0)))
    assert found["fin_arm"] == pytest.approx(525 - 580)
    for key in ("fin_volume", "cn_beta_fin", "cn_beta"):
        assert isinstance(value := found[key], float) and value < 0
    assert isinstance(low := found["cn_beta_low"], float) and isinstance(high := found["cn_beta_high"], float)
    assert low < found["cn_beta"] < high
    assert found["sideslip_full_rudder_deg"] == AHEAD


def test_full_rudder_balances_where_the_curve_holds_its_moment() -> None:
    small = with_(SQUARE, flight=Flight(rudder_throw_deg=10))
    found, curve = figures(small), slip_curve(aeroplane(small))
    assert isinstance(curve, SlipCurve)
    held = float(np.interp(found["sideslip_full_rudder_deg"], curve.beta_deg, curve.total))
    assert held == pytest.approx(-found["cn_rudder"] * math.radians(10) * AREA * SPAN)
    # At a few degrees the curve is its slope.
    least = figures(with_(SQUARE, flight=Flight(rudder_throw_deg=2)))
    slope = -least["cn_rudder"] * 2 / least["cn_beta"]
    assert least["sideslip_full_rudder_deg"] == pytest.approx(slope, rel=0.02)


def test_what_full_rudder_cannot_be_told_is_said() -> None:
    aft = values(with_(SQUARE, cg_mark=Mark(480, 0)))
    assert "not stable" in str(aft["sideslip_full_rudder_deg"])
    loose = values(with_(SQUARE, flight=Flight(rudder_throw_deg=60)))
    assert loose["sideslip_full_rudder_deg"] == OVER


def test_a_propeller_behind_the_cg_gives_firmness_and_one_ahead_takes_it() -> None:
    def at(x: float) -> dict[str, float]:
        return figures(with_(SQUARE, flight=Flight(propeller=Propeller(250, x))))

    pusher, tractor = at(650), at(-10)
    assert tractor["cn_beta_propeller"] < 0 < pusher["cn_beta_propeller"]
    assert pusher["cn_beta"] - tractor["cn_beta"] == pytest.approx(
        pusher["cn_beta_propeller"] - tractor["cn_beta_propeller"]
    )
    none = values(with_(SQUARE, flight=Flight()))
    assert none["cn_beta_propeller"] == NO_PROPELLER
    assert none["cn_beta"] == pytest.approx(tractor["cn_beta"] - tractor["cn_beta_propeller"])
    # The band takes the worse of half and twice, whichever side of the CG it stands on.
    spread = tractor["cn_beta_high"] - tractor["cn_beta_low"]
    assert isinstance(high := none["cn_beta_high"], float) and isinstance(low := none["cn_beta_low"], float)
    assert spread == pytest.approx(high - low - 1.5 * tractor["cn_beta_propeller"])


def test_moments_about_the_neutral_point_vanish_wherever_the_cg_stands() -> None:
    """Only the body's couple and the wing's part do not come from a side force: they shift it."""
    one, other = (figures(with_(SQUARE, cg_mark=Mark(x, 0))) for x in (180, 240))
    for found, x in ((one, 180), (other, 240)):
        moment = found["cn_beta"] + found["cy_beta"] * (found["yaw_neutral_x"] - x) / SPAN
        assert moment == pytest.approx(0, abs=1e-12)
    body_side = 2 * math.pi / 4 * 100**2 / AREA
    assert (one["cn_beta"] - other["cn_beta"]) * SPAN / 60 == pytest.approx(-one["cy_beta"] - body_side)


def test_the_charts_are_heard_as_far_as_they_reach() -> None:
    def low(height: float) -> tuple[YawParts, dict[str, float]]:
        design = with_(SQUARE, outlines=(BODY, box("fin", "fin", 500, 50, 600, 50 + height)))
        parts = yaw_parts(aeroplane(design))
        assert not isinstance(parts, str)
        return parts, {k: v for k, v in values(design).items() if isinstance(v, float)}

    parts, found = low(20)
    assert parts.reach == 0 and found["cn_beta_fin"] == found["cn_beta_fin_lattice"]
    assert found["cn_beta_fin_handbook"] > 2 * found["cn_beta_fin_lattice"], "and it is told all the same"
    assert parts.fin_low == pytest.approx(0.8 * parts.fin)
    # It comes in without a step.
    before, after = low(50)[0], low(50.5)[0]
    assert before.reach == 0 < after.reach and after.fin == pytest.approx(before.fin, rel=0.05)


def test_what_the_charts_do_not_know_is_named() -> None:
    keel = box("keel", "ventral fin", 500, -150, 580, -50)
    (said,) = yaw_warnings(aeroplane(with_(SQUARE, outlines=(*SQUARE.outlines, keel))))
    assert "ventral fins" in said and "low rather than high" in said
    vee = Tailplane("v", (Station(0, 480, 100), Station(150, 480, 100, 90)))
    (said,) = yaw_warnings(aeroplane(with_(SQUARE, tailplanes=(vee,))))
    assert "V-tails" in said


def test_where_the_lattice_is_silent_the_handbook_speaks_alone_with_a_wider_band(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("core.stability.lateral.yaw.tail_load", lambda a: "it cannot be laid")
    found, parts = values(SQUARE), yaw_parts(aeroplane(SQUARE))
    assert not isinstance(parts, str)
    assert found["cn_beta_fin_lattice"] == "it cannot be laid"
    assert found["cn_beta_fin"] == found["cn_beta_fin_handbook"] == parts.fin
    assert (parts.fin_low, parts.fin_high) == pytest.approx((0.8 * parts.fin, 1.2 * parts.fin))


@pytest.mark.parametrize(
    ("sideslip", "cn_beta", "words"),
    ((9.9, 0.1, "little rudder authority"), (10, 0.1, ""), (30, 0.02, ""), (31, 0.02, "loose in yaw"),
     (31, 0.04, "much rudder for its firmness in yaw"), (31, 0.06, "")),
)
def test_authority_words(sideslip: float, cn_beta: float, words: str) -> None:
    assert authority_words(sideslip, cn_beta) == words


def test_dihedral_holds_the_spiral() -> None:
    def bent(up: float) -> dict[str, float]:
        wing = Wing("wing", (Station(0, 150, 200, -50), Station(500, 150, 200, -50 + up)))
        return figures(with_(SQUARE, wings=(wing,)))

    up, down = bent(60), bent(-60)
    gamma = math.degrees(math.atan(60 / 500))
    assert up["spiral_parameter"] == pytest.approx(325 / 1000 * gamma / up["lift_coefficient"])
    assert up["roll_coupling"] == pytest.approx(up["fin_volume"] * up["spiral_parameter"])
    assert down["spiral_parameter"] == pytest.approx(-up["spiral_parameter"])


def test_a_body_without_area_has_no_form() -> None:
    line = Outline("line", "fuselage", (Node(0, 0), Node(100, 0), Node(50, 0)))
    assert body_form(form_of(line).patch) is None
    assert bodies(design_of(line)) == ()


@given(design=curved_designs())
@MANY
def test_any_tracing_gives_figures_or_reasons(design: Design) -> None:
    weighed = with_(design, weights=(Weight("all", 900, 40),), tailplanes=tuple(
        Tailplane(w.id, w.stations) for w in design.wings[1:]
    ))
    assert_whole(weighed)


@given(design=sound_designs)
@MANY
def test_far_fetched_designs_give_figures_or_reasons(design: Design) -> None:
    assert_whole(design)


def assert_whole(design: Design) -> None:
    try:
        a = aeroplane(design)
    except OverlayError as tangled:
        # What cannot be counted is told by the outline's name.
        assert "crosses itself" in str(tangled)
        return
    found = values(design)
    assert set(found) == KEYS
    for key, value in found.items():
        if isinstance(value, str):
            assert value and value[0].islower() and not value.endswith("."), key
        else:
            assert math.isfinite(value), key
    assert all(yaw_warnings(a)) and values(design) == found
