"""The answer in words, the one next step, and the fin that the aim asks for."""

from __future__ import annotations

import dataclasses

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import SOME, box, design_of

from core.design import EMPTY, Aim, Design, DisplayUnits, Mark, Scan
from core.stability.answer import Answer, answer
from core.stability.catalogue import TERMS
from core.stability.readings import ReadingsEngine
from core.stability.wording import aim_words, figure, fin_change, next_step, percent, round_length, shown

BODY = box("body", "fuselage", 0, 0, 100, 20)
FIN = box("fin", "fin", 80, 20, 100, 60)
CLA_X = (2000 * 50 + 800 * 90) / 2800
SCAN = Scan("plan", "plan.png", scale_from="none")


def at(fraction: float, **more: object) -> Design:
    """Body and fin with the CG where it makes the CLA fraction ``fraction``."""
    left: dict[str, object] = {"left_out": ("wing", "tailplane"), **more}
    return design_of(BODY, FIN, cg_mark=Mark((CLA_X - fraction * 90) / (1 - fraction)), **left)


def said(design: Design) -> Answer:
    return answer(design, ReadingsEngine().read(design))


def test_how_sure_it_is_in_one_decimal() -> None:
    """From the reading of the error; never "± 0.0 %", and nothing where there is none."""
    design = at(0.25)
    readings = ReadingsEngine().read(design)
    for error, spread in ((0.0124, "± 1.2 %"), (0.0126, "± 1.3 %"), (0.0009, "± 0.1 %"), (0.0, "± 0.1 %")):
        reading = dataclasses.replace(readings["cla_fraction_error"], value=error)
        table = {**readings.table, "cla_fraction_error": reading}
        assert answer(design, dataclasses.replace(readings, table=table)).spread == spread
    assert said(at(0.25, scans=(SCAN,))).spread == ""
    assert said(design_of(BODY)).spread == ""


def test_below_says_how_much_more() -> None:
    found = said(at(0.10))
    assert (found.figure, found.state, found.state_words) == (
        "10.0 %",
        "below",
        "below the aim of 22–28 %",
    )
    assert "yaws freely" in found.meaning
    # ΔA = A (0.25 − 0.10)/(1 − 0.25) with A = 2800 mm².
    assert f"{2800 * 0.15 / 0.75 / 1e4:.3f} dm² more fin" in found.advice


def test_above_says_how_much_less() -> None:
    found = said(at(0.40))
    assert (found.state, found.state_words) == ("above", "above the aim of 22–28 %")
    assert "weathercock" in found.meaning
    assert f"{2800 * 0.15 / 0.75 / 1e4:.3f} dm² less fin" in found.advice


def test_ahead_of_the_cg() -> None:
    found = said(at(-0.123))
    assert found.figure == "−12.3 %"
    assert found.sentence == "The CLA lies 12.3 % of the tail arm ahead of the CG."
    assert found.state == "below"
    assert "swap ends" in found.meaning


def test_more_to_take_away_than_there_is_is_said() -> None:
    found = said(at(0.80))
    # 2800 × 0.55/0.75 is more than the 800 mm² of fin.
    assert found.advice.startswith("Taking fin away cannot bring it to 25 %")


def test_an_aim_that_no_fin_reaches_is_said() -> None:
    found = said(at(0.5, aim=Aim(1.0, 0.9, 1.1)))
    assert found.advice.startswith("No fin at this tail arm can bring it to 100 %")


def test_without_a_scale_the_change_is_a_share_of_the_fin() -> None:
    found = said(at(0.10, scans=(SCAN,)))
    share = 2800 * 0.15 / 0.75 / 800
    assert f"about {100 * share:.0f} % more fin" in found.advice
    assert "dm²" not in found.advice


def test_in_the_builder_s_own_units() -> None:
    assert "sq in more" in said(at(0.10, display_units="in")).advice


STEPS = {
    "Open a scan of the plan, or draw from nothing.": EMPTY,
    "Set the scale of the scan. Tracing can begin without: the CLA fraction needs none.": design_of(
        scans=(SCAN,)
    ),
    "Trace the fuselage.": design_of(scans=(msgspec.structs.replace(SCAN, scale_from="points"),)),
    "Trace the fin and the rudder.": design_of(BODY),
    "Mark the CG.": design_of(BODY, FIN),
    "Enter the weights, or mark the CG by hand.": design_of(BODY, FIN, cg_from="weights"),
    "The fin centre does not lie behind the CG: check the CG mark; the nose belongs on the left.": design_of(
        BODY, FIN, cg_mark=Mark(99)
    ),
}


@pytest.mark.parametrize("step", STEPS)
def test_the_one_next_step(step: str) -> None:
    found = said(STEPS[step])
    assert (found.state, found.sentence, found.figure) == ("missing", step, "")
    assert (found.words, found.cla_fraction, found.cn_beta) == ((step,), None, None)


def test_a_traced_but_covered_fin_is_not_asked_for_again() -> None:
    covered = design_of(BODY, box("f", "fin", 20, 5, 30, 15), cg_mark=Mark(5))
    step = next_step(covered, ReadingsEngine().read(covered))
    assert "covered" in step and not step.startswith("Trace")


@SOME
@given(
    cg=st.floats(-50, 60),
    aim=st.floats(0.0, 0.7),
    fin_centre=st.sampled_from(("centroid", "quarter_chord")),
)
def test_the_fin_change_is_exact(cg: float, aim: float, fin_centre: str) -> None:
    """A square of that area glued on, its middle at the fin centre, brings the CLA to the aim by recount."""
    design = design_of(BODY, FIN, cg_mark=Mark(cg), aim=msgspec.convert({"fin_centre": fin_centre}, Aim))
    readings = ReadingsEngine().read(design)
    change = fin_change(readings, aim)
    if change is None:
        lowest = fin_change(readings, min(0.99, (readings.value("cla_fraction") or 0) + 0.01))
        assert lowest is not None and aim < (readings.value("cla_fraction") or 0)
        return
    if change <= 1.0:
        return
    half = change**0.5 / 2
    assert readings.fin_centre is not None
    x, z = readings.fin_centre
    square = box("more", "other", x - half, z - half, x + half, z + half, stance="clear")
    grown = msgspec.structs.replace(design, outlines=(*design.outlines, square))
    assert ReadingsEngine().read(grown).value("cla_fraction") == pytest.approx(aim, abs=1e-9)


def test_the_fin_change_downwards_is_exact_too() -> None:
    """The same by cutting a slot out of the fin, level with its middle and as long as it is."""
    design = at(0.40)
    change = fin_change(ReadingsEngine().read(design), 0.30)
    assert change is not None and change < 0
    slot = -change / 20 / 2
    halves = (box("low", "fin", 80, 20, 100, 40 - slot), box("high", "fin", 80, 40 + slot, 100, 60))
    cut = msgspec.structs.replace(design, outlines=(BODY, *halves))
    assert ReadingsEngine().read(cut).value("cla_fraction") == pytest.approx(0.30, abs=1e-12)


def test_no_fin_change_without_what_it_rests_on() -> None:
    for design in (EMPTY, design_of(BODY), design_of(BODY, FIN), design_of(BODY, cg_mark=Mark(3))):
        assert fin_change(ReadingsEngine().read(design), 0.25) is None


@pytest.mark.parametrize(
    ("fraction", "decimals", "text"),
    (
        (0.246, 1, "24.6 %"),
        (0.246, 0, "25 %"),
        (-0.0001, 1, "0.0 %"),
        (-0.05, 1, "−5.0 %"),
        (1.5, 0, "150 %"),
    ),
)
def test_per_cents(fraction: float, decimals: int, text: str) -> None:
    assert percent(fraction, decimals) == text


@pytest.mark.parametrize(("mm", "units", "text"), [
    (254.0, "in", "10 in"), (254.0, "in64", "10 in"), (254.0, "mm", "254 mm"), (266.7, "in", "10.5 in"),
    (247.65, "in64", "9 3/4 in"), (228.6, "mm", "228.6 mm"), (500.0, "mm", "500 mm"),
])
def test_a_length_as_it_is_sold(mm: float, units: DisplayUnits, text: str) -> None:
    assert round_length(mm, units) == text


def test_the_aim_in_words() -> None:
    assert aim_words(Aim()) == "22–28 %"
    assert aim_words(Aim(0.0, -0.05, 0.125)) == "−5–12.5 %"


@pytest.mark.parametrize(
    ("key", "value", "metric", "inches"),
    (
        ("fin_volume", 0.0412, "0.041", "0.041"),
        ("cn_beta_body", -0.03545, "−0.0355", "−0.0355"),
        ("aspect_ratio", 6.25, "6.2", "6.2"),
        ("dihedral_deg", 5.7106, "5.7°", "5.7°"),
        ("sideslip_full_rudder_deg", 28.6, "29°", "29°"),
        ("rudder_fraction", 0.404, "40 %", "40 %"),
        ("static_margin", 0.1092, "10.9 %", "10.9 %"),
        ("mass", 1150.4, "1150 g", "40.6 oz"),
        ("tail_load_g", -29.26, "−29.3 g", "−1.03 oz"),
        ("wing_area", 240_000.0, "24.00 dm²", "372.0 sq in"),
        ("mac", 203.2, "203.2 mm", "8.00 in"),
    ),
)
def test_each_kind_of_reading_is_shown_in_its_own_way(
    key: str, value: float, metric: str, inches: str
) -> None:
    assert shown(TERMS[key], value, "mm") == metric
    assert shown(TERMS[key], value, "in") == inches


def test_figures_as_shown() -> None:
    readings = ReadingsEngine().read(at(0.25))
    assert figure("cla_fraction", readings, "mm") == "25.0 %"
    assert figure("fin_area", readings, "mm") == "0.080 dm²"
    assert figure("fin_centre_x", readings, "mm") == "90.0 mm"
    assert figure("fin_centre_x", readings, "in") == f"{90 / 25.4:.2f} in"
    assert figure("cla_fraction", ReadingsEngine().read(EMPTY), "mm") == "–"
