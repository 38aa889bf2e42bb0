"""Readings: what is missing and why, verdicts, the scale, the balance, the fin's form, the warnings."""

from __future__ import annotations

import math
from typing import Any, get_args

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import FEW, box, curved_designs, design_of, sound_designs, traced, trainer

from core.design import EMPTY, Aim, Design, Mark, Node, Outline, Scan, Weight
from core.stability.balance import cg_of, masses
from core.stability.catalogue import GROUPS, Source
from core.stability.fin import NO_TAIL, fin_form, quarter_chord_x
from core.stability.lateral.slip_range import REVERSALS
from core.stability.readings import (
    ERRORS,
    NO_OUTLINE,
    NO_SCALE,
    SPECS,
    Readings,
    ReadingsEngine,
    scale_known,
    verdict_of,
)
from core.stability.side_area import SideAreaCounter
from core.stability.uncertainty import NO_FRACTION

GROUPS_BY_KEY = {group.key: group.readings for group in GROUPS}

BODY = box("body", "fuselage", 0, 0, 100, 20)
FIN = box("fin", "fin", 80, 20, 100, 60)
# Side area 2000 + 800, CLA at (2000·50 + 800·90)/2800, fin centre at 90.
CLA_X = (2000 * 50 + 800 * 90) / 2800


def read(design: Design) -> Readings:
    return ReadingsEngine().read(design)


def with_fraction(fraction: float, **more: Any) -> Design:
    """Body and fin with the CG set so that the CLA fraction is the one asked for."""
    # (CLA − CG)/(90 − CG) = f, solved for the CG.
    return design_of(BODY, FIN, cg_mark=Mark((CLA_X - fraction * 90) / (1 - fraction)), **more)


def assert_whole(readings: Readings) -> None:
    """Every key is there; a value is finite, and missing exactly when a reason stands in its place."""
    assert set(readings.table) == set(SPECS)
    for key, reading in readings.table.items():
        assert reading.key == key
        assert (reading.value is None) == bool(reading.missing), key
        if reading.value is not None:
            assert math.isfinite(reading.value), key
        ranged = key == "cla_fraction" or not (SPECS[key].low is None and SPECS[key].high is None)
        assert (reading.verdict is not None) == (ranged and reading.value is not None)


WING, TAILPLANE, WEIGHTS, RUDDER = (
    "enter the wing", "enter the tailplane", "enter the weights", "trace the rudder",
)
# Why the further readings are missing from a body and a fin with a CG.
FURTHER = {
    **dict.fromkeys(GROUPS_BY_KEY["wing"], WING),
    **dict.fromkeys(GROUPS_BY_KEY["yaw"], WING),
    **dict.fromkeys(("fin_volume", "sidewash_factor", "cy_beta", "lift_coefficient"), WING),
    **dict.fromkeys(GROUPS_BY_KEY["rudder"], RUDDER),
    **dict.fromkeys(GROUPS_BY_KEY["gust"], WING),
    **dict.fromkeys(GROUPS_BY_KEY["spiral"], WING),
    **dict.fromkeys(GROUPS_BY_KEY["pitch"], WING),
    **dict.fromkeys(("tailplane_area", "tailplane_arm", "tailplane_volume"), TAILPLANE),
    "mass": WEIGHTS,
}


def reasons(readings: Readings) -> dict[str, str | None]:
    """Why, of every reading that is missing."""
    return {key: r.missing for key, r in readings.table.items() if r.value is None}


def test_a_design_by_hand() -> None:
    readings = read(design_of(BODY, FIN, cg_mark=Mark(40, 6)))
    expected = {
        "side_area": 2800,
        "cla_x": CLA_X,
        "cla_z": (2000 * 10 + 800 * 40) / 2800,
        "cg_x": 40,
        "cg_z": 6,
        "fin_centre_x": 90,
        "fin_centre_z": 40,
        "tail_arm": 50,
        "cla_aft_of_cg": CLA_X - 40,
        "cla_above_cg": (2000 * 10 + 800 * 40) / 2800 - 6,
        "fin_area": 800,
        "cla_fraction": (CLA_X - 40) / 50,
        # The fin as a surface: 40 high, 20 long, quarter chord at 80 + 20/4.
        "fin_exposed_height": 40,
        "fin_aspect_ratio": 40 * 40 / 800,
        "fin_mac": 20,
        "fin_quarter_chord_x": 85,
        "fin_arm": 45,
        "rudder_fraction": 0,
        # Run down to the body's middle it is 50 high and has 800 + 20·10 of area: A = 1.55 × 50²/1000.
        "fin_lift_slope": 2 * math.pi * 3.875 / (2 + math.sqrt(4 + 3.875**2)),
    }
    found = {key: r.value for key, r in readings.table.items() if r.value is not None}
    # What the error should be is another test's matter: tests/published/test_error_propagation.py.
    errors = [found.pop(key) for key in ERRORS]
    assert 0 < errors[0] < 0.1 and errors[3] == 0.0
    assert found == pytest.approx(expected)
    assert reasons(readings) == FURTHER
    assert_whole(readings)


NEEDS_CG = {"cg_x", "cg_z", "tail_arm", "cla_aft_of_cg", "cla_above_cg", "cla_fraction"}
NEEDS_TAIL = {"fin_centre_x", "fin_centre_z", "tail_arm", "fin_area", "cla_fraction"}
FIN_FORM = {
    "fin_exposed_height", "fin_aspect_ratio", "fin_mac", "fin_quarter_chord_x", "fin_arm", "fin_volume",
    "fin_lift_slope",
}
ERROR = dict.fromkeys(ERRORS, NO_FRACTION)


def test_without_a_cg() -> None:
    readings = read(design_of(BODY, FIN))
    more = dict.fromkeys((*NEEDS_CG, "fin_arm", *REVERSALS), "mark the CG")
    assert reasons(readings) == {**FURTHER, **ERROR, **more}
    assert_whole(readings)


def without_tail(why: str) -> dict[str, str]:
    """Reasons where there is a body and a CG, and ``why`` there is no fin."""
    more = (*NEEDS_TAIL, *FIN_FORM, *GROUPS_BY_KEY["rudder"], "rudder_fraction", *REVERSALS)
    return {**FURTHER, **ERROR, **dict.fromkeys(more, why)}


def test_without_a_tail() -> None:
    readings = read(design_of(BODY, cg_mark=Mark(10)))
    assert reasons(readings) == without_tail(NO_TAIL)
    assert_whole(readings)


def test_with_nothing_at_all() -> None:
    readings = read(EMPTY)
    assert all(r.value is None for r in readings.table.values())
    assert readings["cla_x"].missing == readings["cla_fraction"].missing == NO_OUTLINE
    assert_whole(readings)


@pytest.mark.parametrize("cg_x", (90.0, 90.0 - 1e-10, 95.0, 1000.0))
def test_with_the_fin_centre_not_behind_the_cg(cg_x: float) -> None:
    readings = read(design_of(BODY, FIN, cg_mark=Mark(cg_x)))
    fraction = readings["cla_fraction"]
    assert fraction.value is None and fraction.verdict is None
    assert fraction.missing and "does not lie behind the CG" in fraction.missing
    assert readings.value("tail_arm") == pytest.approx(90 - cg_x, abs=1e-9), "the arm itself is known"
    assert_whole(readings)


def test_with_a_fin_that_is_wholly_hidden() -> None:
    inside = box("fin", "fin", 50, 5, 60, 15)
    readings = read(design_of(BODY, inside, cg_mark=Mark(10)))
    why = readings["cla_fraction"].missing or ""
    assert "covered" in why
    assert reasons(readings) == without_tail(why)
    assert_whole(readings)


def test_outlines_without_area_count_nothing_and_are_named() -> None:
    flat = traced("flat", "fin", ((0, 0), (5, 5), (10, 10)), label="Sliver")
    readings = read(design_of(flat, cg_mark=Mark(0)))
    assert readings["cla_x"].missing == NO_OUTLINE
    assert readings.warnings == (
        'outlines[0] "Sliver": has no area and counts nothing; trace it again or delete it',
    )
    assert_whole(readings)


def test_a_crossing_is_named_with_its_place() -> None:
    bow = traced("bow", "other", ((0, 0), (10, 10), (10, 0), (0, 10)))
    (warning,) = read(design_of(bow)).warnings
    assert warning.startswith('outlines[0] "bow": crosses itself near x 5.0 mm, z 5.0 mm;')


@FEW
@given(curved_designs())
def test_readings_of_any_drawing_are_whole(design: Design) -> None:
    assert_whole(read(design))


@FEW
@given(sound_designs)
def test_readings_of_any_sound_design_are_whole(design: Design) -> None:
    """Coordinates up to a kilometre, handles as long, weights of nothing: still no NaN and no crash."""
    # Curves a kilometre long are flattened into very many pieces; their corners do for this.
    straight = msgspec.structs.replace(
        design,
        outlines=tuple(
            msgspec.structs.replace(o, nodes=tuple(Node(n.x, n.z) for n in o.nodes)) for o in design.outlines
        ),
    )
    assert_whole(read(straight))


@pytest.mark.parametrize(
    ("value", "verdict"),
    (
        (0.22, "within"),
        (0.28, "within"),
        (math.nextafter(0.22, 0), "below"),
        (math.nextafter(0.28, 1), "above"),
        (0.25, "within"),
        (-1.0, "below"),
        (3.0, "above"),
    ),
)
def test_limits_are_inside(value: float, verdict: str) -> None:
    assert verdict_of(value, 0.22, 0.28) == verdict


@pytest.mark.parametrize(
    ("fraction", "verdict"), ((0.10, "below"), (0.25, "within"), (0.40, "above"), (-0.2, "below"))
)
def test_the_verdict_of_a_design(fraction: float, verdict: str) -> None:
    reading = read(with_fraction(fraction))["cla_fraction"]
    assert reading.value == pytest.approx(fraction)
    assert reading.verdict == verdict


def test_an_aim_of_one_s_own_is_obeyed() -> None:
    assert read(with_fraction(0.10, aim=Aim(0.1, 0.08, 0.12)))["cla_fraction"].verdict == "within"


SCAN = Scan("plan", "plan.png", scale_from="none")


def test_an_unknown_scale_hides_everything_but_the_fraction() -> None:
    design = with_fraction(0.3, scans=(SCAN,))
    with_scale = read(with_fraction(0.3))
    readings = read(design)
    assert not scale_known(design) and not readings.scale_known
    assert readings.value("cla_fraction") == with_scale.value("cla_fraction") == pytest.approx(0.3)
    # What would be missing anyway keeps its own, nearer reason.
    assert reasons(readings) == {
        key: r.missing or NO_SCALE for key, r in with_scale.table.items() if key != "cla_fraction"
    }
    assert_whole(readings)
    assert any("has no scale yet" in w for w in readings.warnings)


def test_the_nearer_reason_comes_before_the_scale() -> None:
    assert read(design_of(BODY, scans=(SCAN,)))["fin_area"].missing == NO_TAIL


def test_a_scan_placed_by_its_dpi_is_trusted_with_a_warning() -> None:
    readings = read(with_fraction(0.3, scans=(msgspec.structs.replace(SCAN, scale_from="dpi"),)))
    assert readings.value("tail_arm") is not None
    assert [w for w in readings.warnings if "check it against a dimension" in w]


def test_the_cg_from_weights_is_their_mean() -> None:
    weights = (Weight("a", 100, 50, z=10), Weight("b", 300, 90, 7, -10))
    cg, why = cg_of(design_of(BODY, weights=weights, cg_from="weights", cg_mark=Mark(1, 1)))
    assert cg is not None and why == ""
    assert (cg.x, cg.z) == pytest.approx(((100 * 50 + 300 * 90) / 400, (100 * 10 - 300 * 10) / 400))


def test_an_outline_that_weighs_does_so_at_its_centroid_with_its_count() -> None:
    # 200 mm × 50 mm is 1 dm²; two of them at 5 g/dm² are 10 g.
    panel = box("p", "wing", 0, 0, 200, 50, count=2, grams_per_dm2=5.0)
    design = design_of(panel, weights=(Weight("w", 10, 300),), cg_from="weights")
    assert masses(design) == [(10, 300, 0), pytest.approx((10, 100, 25))]
    cg, _ = cg_of(design)
    assert cg is not None
    assert (cg.x, cg.z) == pytest.approx((200, 12.5))


@pytest.mark.parametrize("weights", ((), (Weight("w", 0.0, 50),)), ids=("none", "weightless"))
def test_a_cg_from_no_weight_is_missing(weights: tuple[Weight, ...]) -> None:
    readings = read(design_of(BODY, FIN, weights=weights, cg_from="weights", cg_mark=Mark(40)))
    assert "enter what the aeroplane carries" in (readings["cg_x"].missing or "")
    assert_whole(readings)


def swept(root: float, tip: float, height: float, offset: float, x: float = 0, **more: Any) -> Outline:
    corners = ((x, 0), (x + root, 0), (x + offset + tip, height), (x + offset, height))
    return traced("swept", "fin", corners, **more)


@given(
    root=st.floats(20, 300), taper=st.floats(0.1, 1), height=st.floats(20, 300), offset=st.floats(-50, 200)
)
@FEW
def test_the_quarter_chord_of_any_straight_fin(
    root: float, taper: float, height: float, offset: float
) -> None:
    """Closed forms for a straight-tapered panel: MAC = 2/3 root (1 + λ + λ²)/(1 + λ), at height share
    (1 + 2λ)/(3 (1 + λ)) of the leading edge's sweep."""
    side = SideAreaCounter().count(design_of(swept(root, taper * root, height, offset)))
    mac = 2 / 3 * root * (1 + taper + taper**2) / (1 + taper)
    leading = offset * (1 + 2 * taper) / (3 * (1 + taper))
    form = fin_form(side.tail_pieces[0][1])
    assert form is not None
    # 400 slices by the midpoint rule: (1/400)²/12 of the curvature, under 1e-6.
    assert form.mac == pytest.approx(mac, rel=2e-6)
    assert form.height == pytest.approx(height)
    assert form.area == pytest.approx(root * (1 + taper) / 2 * height, rel=1e-9)
    assert quarter_chord_x(side) == pytest.approx(leading + mac / 4, abs=1e-5 * root)
    # The centroid of any straight-tapered panel lies at half its MAC.
    centroid = side.tail_moments.centroid()
    assert centroid is not None
    assert centroid[0] == pytest.approx(leading + mac / 2)


def test_the_quarter_chord_as_fin_centre() -> None:
    aim = Aim(fin_centre="quarter_chord")
    fin = box("fin", "fin", 80, 20, 100, 60)
    readings = read(design_of(BODY, fin, cg_mark=Mark(40), aim=aim))
    assert readings.value("fin_centre_x") == pytest.approx(80 + 20 / 4)
    assert readings.value("tail_arm") == pytest.approx(45)
    assert readings.value("fin_centre_z") == pytest.approx(40), "the height stays that of the centroid"


def test_quarter_chords_of_several_fins_are_weighted_by_area_and_count() -> None:
    one = box("one", "fin", 0, 0, 40, 100, count=1)
    pair = box("pair", "fin", 200, 0, 280, 50, count=2)
    side = SideAreaCounter().count(design_of(one, pair))
    expected = (40 * 100 * 10 + 2 * 80 * 50 * (200 + 20)) / (40 * 100 + 2 * 80 * 50)
    assert quarter_chord_x(side) == pytest.approx(expected)


def test_no_fin_no_form() -> None:
    assert quarter_chord_x(SideAreaCounter().count(design_of(BODY))) is None
    assert fin_form(()) is None


def test_every_reading_says_what_it_is() -> None:
    for spec in SPECS.values():
        assert spec.label and spec.formula
        assert spec.unit in ("1", "mm", "mm2", "g", "s", "deg", "1/rad")
        assert spec.source in get_args(Source)
        assert bool(spec.range_source) == (not (spec.low is None and spec.high is None))


def test_the_trainer_reads_whole_and_plausibly() -> None:
    readings = read(trainer())
    assert_whole(readings)
    assert [w for w in readings.warnings if not w.startswith("yaw: the wing's small part is left out")] == []
    assert 0 < (readings.value("cla_fraction") or 0) < 1
