"""What the yaw figures say in words, from tables of readings written by hand."""

from __future__ import annotations

import dataclasses

import pytest
from msgspec.structs import replace
from test_complete_readings import flying

from core.design import Design, Flight, Scan
from core.stability.catalogue import GROUPS, TERMS
from core.stability.firmness import Firmness, firmness, firmness_words
from core.stability.in_place import in_place_of
from core.stability.lacking import needs_words
from core.stability.plain_words import further_words, group_words
from core.stability.ranges import EASILY_HELD, STABLE
from core.stability.readings import Reading, Readings, ReadingsEngine, verdict_of

BY_KEY = {group.key: group for group in GROUPS}


@pytest.fixture(scope="module")
def design() -> Design:
    return flying()


@pytest.fixture(scope="module")
def readings(design: Design) -> Readings:
    return ReadingsEngine().read(design)


def written(readings: Readings, **values: float | str) -> Readings:
    """The table with these put in its place: a figure, or why there is none."""
    table = dict(readings.table)
    for key, value in values.items():
        spec = TERMS[key]
        verdict = None
        if not isinstance(value, str) and spec.low is not None and spec.high is not None:
            verdict = verdict_of(value, spec.low, spec.high)
        figure, why = (None, value) if isinstance(value, str) else (value, None)
        table[key] = Reading(spec, figure, verdict, why)
    return dataclasses.replace(readings, table=table)


YAW = {
    "cn_beta": 0.062, "cn_beta_low": 0.031, "cn_beta_high": 0.094, "cn_beta_fin": 0.1,
    "cn_beta_fin_handbook": 0.104, "cn_beta_fin_lattice": 0.096,
}


def test_a_witness_stands_where_its_own_fin_would_put_the_whole(readings: Readings) -> None:
    found = firmness(written(readings, **YAW))
    assert found == Firmness(0.031, 0.062, 0.094, pytest.approx(0.066), pytest.approx(0.058))
    assert list(found.witnesses) == ["lattice", "charts"], "the weaker first"
    alone = firmness(written(readings, **{**YAW, "cn_beta_fin_lattice": "no lattice"}))
    assert alone is not None and alone.lattice is None and list(alone.witnesses) == ["charts"]
    assert firmness(written(readings, **{**YAW, "cn_beta_low": "enter the wing"})) is None


def test_the_witnesses_of_a_design_stand_about_the_best_estimate(readings: Readings) -> None:
    """The mean of both is in the best estimate: they stand as far to one side as to the other."""
    found = firmness(readings)
    assert found is not None and found.charts is not None and found.lattice is not None
    assert found.charts + found.lattice == pytest.approx(2.0 * found.best)
    assert found.low <= min(found.witnesses.values()) <= max(found.witnesses.values()) <= found.high


def test_what_is_read_aloud_names_all_that_is_drawn() -> None:
    words = firmness_words(Firmness(-0.02, 0.012, 0.034, 0.016, 0.008))
    for part in ("best estimate 0.012", "between −0.020 and 0.034", "centre line: 0.016", "end plate: 0.008",
                 "below the usual range, 0.03–0.15", "Below nought it swaps ends", "not a promise"):
        assert part in words, part
    assert "within the usual range" in firmness_words(Firmness(0.03, 0.05, 0.07))
    assert "above the usual range" in firmness_words(Firmness(0.1, 0.2, 0.3))


@pytest.mark.parametrize(("low", "best", "high", "head"), [
    (-0.05, -0.01, 0.02, "It is more likely than not unstable in yaw"),
    (-0.05, 0.0, 0.02, "It is more likely than not unstable in yaw"),
    (-0.01, 0.05, 0.09, "It may hold its heading, and may as well not"),
    (0.005, 0.02, 0.04, "It holds its heading weakly"),
    (0.031, 0.062, 0.094, "It holds its heading well enough"),
    (0.12, 0.18, 0.21, "It holds its heading very firmly"),
])
def test_the_yaw_group_leads_with_one_sentence(
    design: Design, readings: Readings, low: float, best: float, high: float, head: str
) -> None:
    told = group_words("yaw", design, written(readings, cn_beta=best, cn_beta_low=low, cn_beta_high=high))
    assert told.startswith(f"{head}: Cnβ") and told.count(". ") == 0 and told.endswith(".")


def test_under_the_scale_stands_how_far_it_may_be_slipped(design: Design, readings: Readings) -> None:
    swing, neutral = further_words("yaw", design, readings)
    assert "90°" in swing and swing.endswith(".")
    assert "yaw neutral point" in neutral and "(CLA)" in neutral
    assert further_words("pitch", design, readings) == ("", "")
    unknown = replace(design, scans=(Scan("plan", "plan.png", scale_from="none"),))
    assert further_words("yaw", unknown, ReadingsEngine().read(unknown)) == ("", "")


FAR = "Full rudder (25°) slips it over 30°, further than this reckoning is good for"


@pytest.mark.parametrize(("slip", "firm", "words"), [
    (6.0, 0.1, "Full rudder (25°) should hold a sideslip of about 6°: little rudder authority."),
    (19.0, 0.1, "Full rudder (25°) should hold a sideslip of about 19°."),
    ("over 30°", 0.1, f"{FAR}."), ("over 30°", 0.02, f"{FAR}: loose in yaw."),
    ("over 30°", 0.04, f"{FAR}: much rudder for its firmness in yaw."),
    (87.0, 0.02, f"{FAR}: loose in yaw."),
    ("trace the rudder", 0.1, ""),
])  # fmt: skip
def test_full_rudder_is_never_sure_and_wrong(
    design: Design, readings: Readings, slip: float | str, firm: float, words: str
) -> None:
    design = replace(design, flight=Flight(rudder_throw_deg=25.0))
    found = written(readings, sideslip_full_rudder_deg=slip, cn_beta=firm)
    assert group_words("rudder", design, found) == words
    if slip == "over 30°":
        assert needs_words(BY_KEY["rudder"], design, found) == "", "that is an answer, and lacks nothing"


@pytest.mark.parametrize(("share", "often"), [
    (0.8, "8 draws of 10"), (0.1, "1 draw of 10"), (0.06, "1 draw of 10"), (0.94, "9 draws of 10"),
    (1.0, "nearly all draws"), (0.97, "nearly all draws"), (0.0, "hardly any draw"),
])
def test_the_spiral_speaks_in_shares(design: Design, readings: Readings, share: float, often: str) -> None:
    words = group_words("spiral", design, written(readings, spiral_upright_share=share))
    assert f"stays upright by itself in {often}," in words
    assert ("More dihedral would help." in words) == (share < 0.5)


@pytest.mark.parametrize("b", [0.5, EASILY_HELD, 4.0, STABLE + 1.0])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, "enter the weights"])
def test_the_spiral_never_asks_for_less_fin(
    design: Design, readings: Readings, b: float, share: float | str
) -> None:
    found = written(readings, spiral_parameter=b, spiral_upright_share=share)
    words = group_words("spiral", design, found)
    assert words and "fin" not in words.replace("find", "")
    assert ("by the rule of thumb" in words) == isinstance(share, str)
    lost = written(readings, spiral_parameter=b, spiral_upright_share="it swaps ends")
    assert group_words("spiral", design, lost) == "", "nothing is easily held that swings off"


def test_after_a_gust_says_what_was_flown(design: Design, readings: Readings) -> None:
    words = group_words("gust", design, readings)
    assert words.startswith("After the gust it ") and words.endswith(".")
    assert group_words("gust", design, written(readings, wag_period_s="enter the weights")) == ""


@pytest.mark.parametrize(("reason", "shown"), [
    ("none up to 90°", "none"), ("over 30°", "over 30°"), ("it swaps ends", "swaps ends"),
    ("it comes back without wagging", "none"), ("enter the wing", ""), ("", ""),
    ("the fin centre does not lie behind the CG: check the CG mark", ""),
])  # fmt: skip
def test_an_answer_in_place_of_a_figure(reason: str, shown: str) -> None:
    assert in_place_of(reason) == shown


def test_an_answer_needs_the_scale_as_a_figure_does() -> None:
    design = flying(fin_top=70.0, scans=(Scan("plan", "plan.png", scale_from="none"),))
    for key in ("sideslip_full_rudder_deg", "yaw_reversal_high_deg", "wag_period_s"):
        missing = ReadingsEngine().read(design)[key].missing or ""
        assert in_place_of(missing) == "" and missing, key
