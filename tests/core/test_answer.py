"""The answer of two witnesses: each state, what it says, and that it is never sure and wrong."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from making import SOME, box, design_of, sound_designs

from core.design import Aim, Design, Mark, Propeller, Scan, Section, Station, Sure, Tailplane, Weight, Wing
from core.design_file import read
from core.redesign.completing import confirm, confirm_all, leave_out
from core.redesign.design_edits import set_apart
from core.redesign.propeller_edits import set_propeller_diameter, set_propeller_station
from core.redesign.refit import refit
from core.redesign.surface_lists import (
    add_tailplane,
    add_wing,
    change_surface,
    delete_surface,
    duplicate_surface,
)
from core.stability.answer import Answer, answer
from core.stability.fin_needed import FIRM_CN_BETA
from core.stability.guesses import PROPELLER_STATION
from core.stability.plain_words import group_words
from core.stability.readings import ReadingsEngine

replace = msgspec.structs.replace
SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
NOTHING = "Nothing needs to be done."


def said(design: Design) -> Answer:
    return answer(design, ReadingsEngine().read(design))


def sample(name: str) -> Design:
    return read(SAMPLES / f"{name}.sternpost").design


def glider() -> Design:
    """The motor glider: within the aim, and the handbook content."""
    return sample("long-meadow-2000")


def undriven() -> Design:
    """The same before its propeller was entered."""
    design = glider()
    return replace(design, flight=replace(design.flight, propeller=None))


def harrow() -> Design:
    """The one whose nose was lengthened and whose fin was not."""
    return sample("marsh-harrow-52")


def twin() -> Design:
    return sample("tallow-twin")


def bare(fraction: float, **more: object) -> Design:
    """Body and fin alone, with the CG where it makes the CLA fraction ``fraction``."""
    body, fin = box("body", "fuselage", 0, 0, 100, 20), box("fin", "fin", 80, 20, 100, 60)
    cla_x = (2000 * 50 + 800 * 90) / 2800
    return design_of(body, fin, cg_mark=Mark((cla_x - fraction * 90) / (1 - fraction)), **more)


def test_within_where_both_agree() -> None:
    found = said(glider())
    assert (found.state, found.advice) == ("within", NOTHING)
    assert found.state_words == "within the aim of 22–28 %"
    assert found.cn_beta is not None and found.cn_beta[0] > 0 and found.cn_beta[1] > 0.03
    assert found.figure == "23.6 %" and found.spread == "± 0.6 %" and found.settled


def test_a_heading_held_by_the_wing_alone_is_not_within() -> None:
    """Slow flight adds the wing's part; fin and body have grown no firmer by it."""
    slow = replace(harrow(), flight=replace(harrow().flight, speed_m_s=7.0))
    assert "but only with the wing's part" in said(slow).meaning
    readings = ReadingsEngine().read(replace(slow, aim=Aim(0.15, -0.5, 1.5)))
    found = answer(readings.aeroplane.design, readings)
    assert found.cn_beta is not None and found.cn_beta[0] > 0.0 and found.cn_beta[1] > 0.03
    assert found.state == "doubt" and "more fin and rudder" in found.advice
    assert "without it Cnβ may be as low as −0.023" in found.meaning
    assert "the fin is too weak" in group_words("gust", readings.aeroplane.design, readings)
    assert "only with the wing's part" in group_words("yaw", readings.aeroplane.design, readings)
    assert said(glider()).state == "within", "firm without the wing's part"


@pytest.mark.parametrize(("aim", "words"), [
    (Aim(-0.6, -0.65, -0.5), "move side area forward."), (Aim(1.5, 1.4, 1.6), "or the CG forward."),
])  # fmt: skip
def test_the_cg_goes_aft_only_where_firmness_is_to_spare(aim: Aim, words: str) -> None:
    """The nose is long and the fin small: with the CG further aft it were looser still."""
    slow = replace(harrow(), flight=replace(harrow().flight, speed_m_s=6.0), aim=aim)
    assert said(slow).advice.endswith(words)


def test_a_propeller_of_no_size_is_named() -> None:
    design = replace(glider(), flight=replace(glider().flight, propeller=Propeller(0.0, -10.0)))
    assert any("its diameter is nought" in note.words for note in said(design).left_out)
    assert not any("Propeller" in note.words for note in said(glider()).left_out)


def test_only_within_says_that_nothing_needs_to_be_done() -> None:
    for design in (glider(), harrow(), twin(), bare(0.25), bare(0.1), design_of()):
        for way in (0.0, 30.0, 60.0, 120.0):
            mark = design.cg_mark
            moved = design if mark is None else replace(design, cg_mark=Mark(mark.x + way, mark.z))
            found = said(moved)
            assert (found.state == "within") or "Nothing needs to be done" not in " ".join(found.words)


def test_a_cg_behind_the_neutral_point_is_stop_whatever_the_rule_says() -> None:
    found = refit(twin(), "cg", "cla_fraction", 0.25).design
    answered, readings = said(found), ReadingsEngine().read(found)
    assert readings["cla_fraction"].verdict == "within"
    assert answered.state == "stop" and answered.state_words == "do not fly it so"
    margin, mac = readings.value("static_margin"), readings.value("mac")
    assert margin is not None and mac is not None and margin < 0
    assert "cannot be flown by hand" in answered.meaning
    # As far forward as it says, the margin is what it says.
    assert answered.advice.startswith("Move the CG ")
    mark = found.cg_mark
    assert mark is not None
    safe = replace(found, cg_mark=Mark(mark.x - (0.05 - margin) * mac, mark.z))
    assert ReadingsEngine().read(safe).value("static_margin") == pytest.approx(0.05, abs=1e-3)
    assert f"{(0.05 - margin) * mac:.1f} mm forward" in answered.advice


def test_firmness_of_nought_or_less_is_stop() -> None:
    """The fin cut down until the handbook gives it up; an aim that the rule is content with."""
    found = refit(harrow(), "scale", "cn_beta", -0.002).design
    fraction = ReadingsEngine().read(found).value("cla_fraction")
    assert fraction is not None
    content = replace(found, aim=Aim(fraction, fraction - 0.05, fraction + 0.05))
    answered = said(content)
    assert ReadingsEngine().read(content)["cla_fraction"].verdict == "within"
    assert answered.state == "stop"
    assert "more likely than not unstable in yaw" in answered.meaning
    assert answered.cn_beta is not None and answered.cn_beta[1] < 0


@pytest.mark.parametrize(("fraction", "promised"), ((0.22, True), (0.25, False)))
def test_firm_enough_for_both_is_what_it_says(fraction: float, promised: bool) -> None:
    """The fin that it names, put in by another way, leaves the doubt behind, or it does not promise that."""
    found = refit(harrow(), "arm", "cla_fraction", fraction).design
    answered = said(found)
    assert "handbook" in answered.meaning
    assert ("both would be content" in answered.advice) == promised
    assert ("to the edge of the aim" in answered.advice) != promised
    grown = refit(found, "scale", "cn_beta", FIRM_CN_BETA).design
    assert said(grown).state == ("within" if promised else "doubt")


@pytest.mark.parametrize(
    ("names", "words"),
    ((("wings", "tailplanes"), "wing and tailplane"), (("wings",), "wing"), (("tailplanes",), "tailplane")),
)
def test_what_is_not_entered_makes_it_incomplete(names: tuple[str, ...], words: str) -> None:
    design = replace(glider(), **dict.fromkeys(names, ()))
    found = said(design)
    assert found.state == "incomplete"
    assert found.sentence.endswith(f", without {words}.")
    assert "It will change" in found.meaning
    left = design
    for name in names:
        left = leave_out(left, "wing" if name == "wings" else "tailplane")
    assert said(left).state != "incomplete"
    assert any(f"No {words.split()[0]}: left out by you." == note.words for note in said(left).left_out)


def test_without_a_wing_the_handbook_cannot_be_asked() -> None:
    found = said(bare(0.25, left_out=("wing", "tailplane")))
    assert found.state == "doubt"
    assert "the handbook cannot be asked: without a wing it has nothing to go by" in found.meaning
    traced = box("w", "wing", 30, 20, 60, 24, count=2)
    design = bare(0.25, left_out=("tailplane",))
    outlines = (*design.outlines, traced)
    fraction = said(replace(design, outlines=outlines)).cla_fraction
    assert fraction is not None
    found = said(replace(design, outlines=outlines, aim=Aim(fraction, fraction - 0.2, fraction + 0.2)))
    assert found.state == "doubt" and "the handbook cannot be asked: enter the wing" in found.meaning


def test_an_outline_of_the_wing_counts_as_entered() -> None:
    traced = box("w", "wing", 30, 20, 60, 24, count=2)
    design = bare(0.25)
    design = replace(design, outlines=(*design.outlines, traced), left_out=("tailplane",))
    assert said(design).state != "incomplete"


def test_a_photograph_that_was_not_straightened() -> None:
    photo = Scan("plan", "table.jpg", photograph=True)
    found = said(replace(glider(), scans=(photo,)))
    assert found.state == "incomplete" and "table.jpg looks like a photograph" in found.meaning
    assert said(replace(glider(), scans=(replace(photo, photograph=False),))).state == "within"
    # What must not be flown names the photograph as well.
    unflyable = replace(refit(twin(), "cg", "cla_fraction", 0.25).design, scans=(photo,))
    assert said(unflyable).state == "stop"
    assert any("table.jpg" in note.words for note in said(unflyable).guessed)


def test_the_error_reaching_past_a_limit() -> None:
    design = glider()
    fraction = said(design).cla_fraction
    assert fraction is not None
    near = replace(design, aim=Aim(0.25, fraction - 0.003, 0.28))
    found = said(near)
    assert found.state == "doubt" and "may as well lie outside the aim" in found.meaning
    # The CG found more closely, less is left to reach past it.
    surer = said(replace(near, sure=Sure(0.1, 0.1))).plus_minus
    assert surer is not None and found.plus_minus is not None and surer < 0.8 * found.plus_minus
    far = replace(design, aim=Aim(0.25, fraction - 0.02, 0.28))
    assert said(far).state == "within"


def test_a_guess_never_turns_the_verdict_silently() -> None:
    """A tailplane just added, at sizes that the program put, and the figure within the aim for it."""
    without = replace(glider(), tailplanes=())
    grown, which = add_tailplane(without)
    found = said(grown)
    assert found.guessed and found.guessed[0].offers == "confirm"
    assert "without it the CLA lies at" in found.guessed[0].words
    assert found.state in ("doubt", "below", "above", "stop")
    fraction = found.cla_fraction
    assert fraction is not None
    content = replace(grown, aim=Aim(fraction, fraction - 0.05, fraction + 0.05))
    assert said(content).state == "doubt" and "A guess decides it" in said(content).meaning
    settled = confirm(content, f"{which.group}[0]")
    assert not said(settled).guessed
    assert "A guess decides it" not in " ".join(said(settled).words)


def test_a_value_typed_is_no_guess_any_more() -> None:
    from core.redesign.surface_edits import set_measure

    grown, which = add_tailplane(replace(glider(), tailplanes=()))
    assert "tailplanes[0].stations[1].y" in grown.guessed
    typed = change_surface(grown, which, lambda s: set_measure(s, "span", 555.0))
    assert "tailplanes[0].stations[1].y" not in typed.guessed
    assert "tailplanes[0].stations[1].chord" in typed.guessed
    for key, value in (
        ("root_chord", 111.0), ("tip_chord", 99.0), ("root_x", 1200.0), ("tip_offset", 7.0),
        ("root_z", 33.0), ("tip_rise", 4.0), ("thickness", 0.09), ("incidence_deg", 1.5), ("camber", 0.02),
        ("camber_at", 0.35), ("elevator", 0.4),
    ):
        typed = change_surface(typed, which, lambda s, k=key, v=value: set_measure(s, k, v))  # type: ignore[misc]
    assert not [p for p in typed.guessed if p.startswith("tailplanes")]
    assert not confirm_all(grown).guessed


def test_a_value_typed_as_it_stood_is_no_guess_any_more_either() -> None:
    from core.redesign.surface_lists import measured, unmeasured

    grown, which = add_tailplane(replace(glider(), tailplanes=()))
    assert "span" in unmeasured(grown, which) and "elevator" in unmeasured(grown, which)
    left = grown
    for key in unmeasured(grown, which):
        left = measured(left, which, key)
        assert key not in unmeasured(left, which)
    assert not unmeasured(left, which) and not said(left).guessed


def test_guesses_go_with_their_surface() -> None:
    design, first = add_wing(replace(glider(), wings=(), guessed=()))
    design = confirm(design, "flight")
    count = len(design.guessed)
    assert count == 11 and all(p.startswith("wings[0].") for p in design.guessed)
    two, second = duplicate_surface(design, first)
    assert len(two.guessed) == 2 * count
    one = delete_surface(two, first)
    assert one.guessed == design.guessed and one.wings[0].id == second.id
    assert not delete_surface(one, second).guessed


def test_entering_a_wing_takes_back_that_there_was_none() -> None:
    design = leave_out(replace(glider(), wings=()), "wing")
    assert add_wing(design)[0].left_out == ()


def test_below_and_above_say_what_the_handbook_says_beside_it() -> None:
    below = said(harrow())
    assert below.state == "below" and "The handbook finds it loose too" in below.meaning
    above = said(twin())
    assert above.state == "above" and "By the handbook it holds its heading" in above.meaning
    assert "less fin and rudder" in above.advice


def test_where_they_pull_apart_firmness_comes_first() -> None:
    design = harrow()
    loose = replace(design, aim=Aim(0.12, 0.1, 0.14))
    found = said(loose)
    assert found.state == "above"
    assert "the two pull apart" in found.meaning
    assert found.advice.startswith("Firmness first: do not take fin away.")
    assert "less fin" not in " ".join(found.words)


def test_it_never_advises_to_take_away_what_the_handbook_needs() -> None:
    design = replace(twin(), aim=Aim(0.12, 0.1, 0.14))
    found = said(design)
    assert found.state == "above" and "spares no more than" in found.advice
    # What it spares still leaves the handbook content, read back by a refit to that area.
    area = ReadingsEngine().read(design).side.tail_moments.area
    spared = float(found.advice.split("spares no more than ")[1].split(" dm²")[0]) * 1e4
    smaller = refit(design, "chord", "cn_beta", 0.05).design
    left = ReadingsEngine().read(smaller).side.tail_moments.area
    assert left <= area - spared * 0.7


def test_mark_and_weights_at_odds() -> None:
    design = replace(glider(), sure=Sure(0.5, 3.0))
    from core.stability.ballast import weighed

    balance = weighed(design)
    assert not isinstance(balance, str)
    near = replace(design, cg_mark=Mark(balance.x + 2.9, 0.0))
    far = replace(design, cg_mark=Mark(balance.x + 3.1, 0.0))
    assert not [n for n in said(near).at_odds if "weights balance" in n.words]
    assert [n.words for n in said(far).at_odds] == ["The weights balance 3.1 mm ahead of the CG mark."]


def test_scale_and_dimensions_at_odds() -> None:
    design = glider()
    wing = design.wings[0]
    short = replace(
        wing, stations=tuple(replace(s, y=s.y / 10) for s in wing.stations)
    )
    assert any("hardly go together" in n.words for n in said(replace(design, wings=(short,))).at_odds)
    aft = replace(wing, stations=tuple(replace(s, le_x=s.le_x + 5000) for s in wing.stations))
    assert any("stands clear" in n.words for n in said(replace(design, wings=(aft,))).at_odds)
    assert not said(design).at_odds


def test_the_largest_part_of_the_error_by_name() -> None:
    assert "the CG (± 30.0 mm)" in said(replace(glider(), sure=Sure(0.5, 30.0))).sure
    assert "tracing (± 20.0 mm)" in said(replace(glider(), sure=Sure(20.0, 0.0))).sure
    assert "wing and tailplane" in said(replace(glider(), sure=Sure(0.0, 0.0))).sure


def test_what_is_left_out_stands_there() -> None:
    design = undriven()
    notes = [n.words for n in said(design).left_out]
    assert "Propeller: not entered, so left out of the handbook's figure." in notes
    entered = set_propeller_diameter(design, 254.0)
    assert not any("ropeller" in n.words for n in said(entered).left_out)
    # A file may say both; what is entered is in it.
    both = replace(entered, left_out=("propeller",))
    assert not any("ropeller" in n.words for n in said(both).left_out)
    assert "No propeller: left out by you." in [
        n.words for n in said(leave_out(design, "propeller")).left_out
    ]
    bare_fin = replace(design, outlines=tuple(o for o in design.outlines if o.kind != "rudder"))
    assert "Rudder: not traced." in [n.words for n in said(bare_fin).left_out]
    flat = box("flat", "strut", 0, 0, 50, 0)
    hollow = replace(design, outlines=(*design.outlines, flat))
    assert any("has no area" in n.words for n in said(hollow).left_out)
    narrow = replace(design, fuselage_width=None)
    assert any("Pitch is not judged" in n.words for n in said(narrow).left_out)
    assert said(narrow).advice.startswith("Nothing needs to be done to the fin. Whether the CG is safe")


def test_where_the_program_put_the_propeller_is_a_guess_until_confirmed() -> None:
    design = set_propeller_diameter(replace(undriven(), guessed=("flight.speed_m_s",)), 254.0)
    (note,) = [n for n in said(design).guessed if n.words == "Propeller: its station as the program put it."]
    assert note.offers == "confirm"
    assert confirm(design, note.about).guessed == ("flight.speed_m_s",)
    # Confirming the speed says nothing about the propeller.
    assert confirm(design, "flight").guessed == (PROPELLER_STATION,)
    typed = set_propeller_station(design, 12.0)
    assert not any("ropeller" in n.words for n in said(typed).guessed)
    assert not any("ropeller" in n.words for n in said(typed).at_odds)
    far = set_propeller_station(design, 12.0 * 304.8)
    assert "The propeller stands clear of the fuselage: check its station." in [
        n.words for n in said(far).at_odds
    ]


def test_a_pair_of_fins_whose_distance_is_not_entered_is_named() -> None:
    design = twin()
    alone = replace(design, outlines=tuple(replace(o, apart=None) for o in design.outlines))
    assert [n.words for n in said(alone).guessed if "a pair" in n.words] == [
        "Fins and Rudders, a pair: their distance apart is not entered; taken at the tips of the tailplane."
    ]
    (note,) = [n for n in said(replace(alone, tailplanes=())).guessed if "a pair" in n.words]
    assert note.words.endswith("not entered; each taken alone.")
    entered = set_apart(alone, ["fins"], 330.0)
    assert not any("a pair" in n.words for n in said(entered).guessed)
    assert not any("touch" in n.words for n in said(entered).at_odds)
    fins = replace(entered.outline("fins"), apart=310.0)
    differing = replace(entered, outlines=tuple(fins if o.id == "fins" else o for o in entered.outlines))
    assert "Fins and Rudders touch and stand 310.0 mm and 330.0 mm apart: type one distance for all." in [
        n.words for n in said(differing).at_odds
    ]


def test_a_margin_that_the_cg_s_error_covers_is_in_doubt() -> None:
    design = glider()
    readings = ReadingsEngine().read(design)
    margin, mac, mark = readings.value("static_margin"), readings.value("mac"), readings.cg
    assert margin is not None and mac is not None and mark is not None
    aft = replace(
        design, cg_from="mark", cg_mark=Mark(mark.x + margin * mac - 1.0, mark.z), aim=Aim(0.2, -1.0, 1.0)
    )
    found = said(aft)
    assert found.state == "doubt" and "may as well lie behind the neutral point" in found.meaning


@SOME
@given(sound_designs)
def test_whatever_the_design_it_says_something_and_never_too_much(design: Design) -> None:
    readings = ReadingsEngine().read(design)
    found = answer(design, readings)
    assert found.sentence and found.words
    assert (found.state == "missing") == (readings.value("cla_fraction") is None)
    if found.state == "within":
        assert readings["cla_fraction"].verdict == "within"
        assert found.cn_beta is not None and found.cn_beta[0] >= 0 and found.cn_beta[1] >= 0.03
        assert (readings.value("static_margin") or 0.0) >= 0.0
    else:
        assert NOTHING not in found.words


def test_a_rough_design_of_typed_surfaces_only() -> None:
    wing = Wing("w", (Station(0, 20, 30, 15), Station(90, 20, 30, 18)), section=Section(0.1))
    tail = Tailplane("t", (Station(0, 85, 15, 20), Station(30, 85, 15, 20)))
    design = bare(0.25, wings=(wing,), tailplanes=(tail,), weights=(Weight("all", 100, 30),))
    assert said(design).state in ("stop", "doubt", "below", "above")
