"""The refit's answer, put back, reads what was asked for; by every way, on every sample and shape."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from making import box, design_of, traced
from msgspec.structs import replace

from core.design import Aim, Design, Mark, Node, Outline, Scan, Section, Station, Tailplane, Weight, Wing
from core.design_check import problems
from core.design_file import read
from core.redesign.outline_edits import EditError
from core.redesign.probe import Probe, Target
from core.redesign.refit import CancelledError, lead_needed, present_cost, refit, ways_table
from core.redesign.refit_ways import WAYS, WayKey, way_of
from core.redesign.solving import roots_of
from core.redesign.tail import stands, tails
from core.stability.answer import answer
from core.stability.ballast import ballast
from core.stability.readings import ReadingsEngine
from core.stability.side_area import form_of

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_designs").glob("*.sternpost"))
NEAR = 1e-4
"""The issue's own measure: what is put back reads the aim to one hundredth of a per cent."""


def reading(design: Design, target: Target) -> float | None:
    return ReadingsEngine().read(design).value(target)


def aeroplane(
    *, fins: int = 1, grams: float | None = None, cg_from: str = "mark", fin_centre: str = "centroid",
    buried: float = 8.0,
) -> Design:
    """A plain sport model in whole millimetres; ``buried`` is how deep the fin's root lies."""
    outlines = (
        traced(
            "body", "fuselage",
            ((0, -20), (60, 45), (300, 55), (860, 20), (860, -8), (400, -60), (60, -50)),
        ),
        traced("fin", "fin", ((750, 28 - buried), (800, 150), (860, 160), (860, 20 - buried)), count=fins,
               grams_per_dm2=grams),
        traced("rudder", "rudder", ((860, 160), (900, 140), (905, 0), (860, -8)), count=fins,
               grams_per_dm2=grams),
    )
    wing = Wing("wing", (Station(0, 240, 210, 50), Station(620, 250, 180, 90)))
    tailplane = Tailplane(
        "tailplane", (Station(0, 760, 120, 25), Station(220, 780, 90, 25)), section=Section(0.07)
    )
    weights = (
        Weight("motor", 180, 20), Weight("battery", 220, 130), Weight("airframe", 700, 385),
        Weight("tail", 60, 840),
    )
    return design_of(
        *outlines, wings=(wing,), tailplanes=(tailplane,), weights=weights, cg_mark=Mark(300, 10),
        cg_from=cg_from, fuselage_width=80.0, aim=Aim(fin_centre=fin_centre),  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("target", ["cla_fraction", "cn_beta"])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_put_back_the_answer_reads_the_aim_on_every_sample(path: Path, target: Target) -> None:
    design = read(path).design
    value = design.aim.cla_fraction if target == "cla_fraction" else 0.06
    solved = 0
    for row in ways_table(design, target, value):
        assert (row.why is None) == (row.refit is not None and row.refit.solved), row.way
        if row.refit is None:
            continue
        got = reading(row.refit.design, target)
        assert got is not None and got == pytest.approx(row.refit.reached, abs=1e-9)
        assert not problems(row.refit.design)
        if row.why is None:
            solved += 1
            assert abs(got - value) <= NEAR, row.way
            assert stands(row.refit.design)
        else:
            assert abs(got - value) > NEAR, row.way
    # A larger or smaller fin, and a taller or lower one, lead there on all of them.
    assert solved >= 2


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_every_way_comes_back_to_a_value_it_can_reach(path: Path) -> None:
    """Half of what the way can do is asked for, so that no way is excused."""
    design = read(path).design
    for key in WAYS:
        way = way_of(design, key)
        away = [x for x in way.grid if x != way.start]
        x = away[len(away) * 3 // 4]
        value = reading(way.make(x), "cla_fraction")
        assert value is not None
        found = refit(design, key, "cla_fraction", value)
        assert found.solved, key
        got = reading(found.design, "cla_fraction")
        assert got is not None and abs(got - value) <= NEAR
        assert min(abs(r - x) for r in (found.parameter, *found.other_roots)) < 1e-3 * max(abs(x), 1.0)


@pytest.mark.parametrize("key", ["scale", "height", "chord", "arm", "dorsal", "ventral", "cg"])
@pytest.mark.parametrize(
    "design",
    [
        aeroplane(), aeroplane(fins=2), aeroplane(buried=24.0), aeroplane(fin_centre="quarter_chord"),
        aeroplane(fins=2, fin_centre="quarter_chord"), aeroplane(grams=9.0, cg_from="weights"),
    ],
    ids=["plain", "twin fins", "buried", "quarter chord", "twin, quarter chord", "weighing"],
)
def test_against_a_brute_force_sweep(design: Design, key: WayKey) -> None:
    way = way_of(design, key)
    fine = np.linspace(way.grid[0], way.grid[-1], 161)
    probe = Probe()

    def at(x: float) -> float:
        try:
            found = probe.read(way.make(float(x)), "cla_fraction")
        except EditError:
            return math.nan
        return math.nan if isinstance(found, str) else found

    ys = np.array([at(x) for x in fine])
    finite = ys[np.isfinite(ys)]
    start = at(way.start)
    for value in (start + 0.6 * (finite.max() - start), start + 0.6 * (finite.min() - start)):
        if abs(value - start) < 1e-3:
            continue
        below = ys - value
        swept = [
            (fine[i], fine[i + 1]) for i in range(len(fine) - 1) if below[i] * below[i + 1] < 0
        ]
        found = refit(design, key, "cla_fraction", float(value))
        roots = (found.parameter, *found.other_roots)
        assert found.solved and len(roots) == len(swept)
        for root in roots:
            assert any(a - 1e-9 <= root <= b + 1e-9 for a, b in swept)
            assert at(root) == pytest.approx(value, abs=NEAR)


def test_scale_keeps_root_hinge_and_proportions() -> None:
    design = aeroplane()
    now = tails(design)[0]
    found = refit(design, "scale", "cla_fraction", 0.30)
    then = tails(found.design)[0]
    k = found.parameter
    assert then.hinge_x == pytest.approx(now.hinge_x, abs=1e-6) == 860.0
    assert then.root_z == pytest.approx(now.root_z, abs=1.0)
    assert then.height == pytest.approx(k * now.height, rel=0.02)
    old, new = (ReadingsEngine().read(d).value("rudder_fraction") for d in (design, found.design))
    assert old is not None and new == pytest.approx(old, abs=0.02)
    # What lies in the fuselage is not lifted out of it.
    old_fin, new_fin = (d.outline("fin").nodes for d in (design, found.design))
    assert {n.z for n in old_fin if n.z < 20} <= {n.z for n in new_fin}


def test_height_keeps_chords_and_chord_keeps_height() -> None:
    design = aeroplane()
    taller = refit(design, "height", "cla_fraction", 0.30)
    old, new = (form_of(d.outline("fin")).patch.box for d in (design, taller.design))
    assert new[0] == old[0] and new[2] == old[2] and new[3] > old[3]
    longer = refit(design, "chord", "cla_fraction", 0.30)
    front, high = tails(design)[0].front_x, form_of(longer.design.outline("rudder")).patch.box
    assert high[3] == form_of(design.outline("rudder")).patch.box[3]
    assert tails(longer.design)[0].front_x < front - 1.0
    assert "hinge line, which stays" in way_of(design, "chord").told(1.2)
    # One stretch for fin and rudder to both sides of the hinge: area goes with it.
    before, after = form_of(design.outline("rudder")).patch, form_of(longer.design.outline("rudder")).patch
    assert after.moments.area == pytest.approx(longer.parameter * before.moments.area, rel=1e-9)
    for kind in ("fin", "rudder"):
        for old_node, new_node in zip(
            design.outline(kind).nodes, longer.design.outline(kind).nodes, strict=True
        ):
            assert (new_node == old_node) == (abs(old_node.x - 860.0) < 0.5), "the hinge, and it alone, stays"


def slanted(gap: float = 0.0) -> Design:
    """A fin and a rudder with a hinge that leans aft by 30 in 150, ``gap`` mm wide, the rudder's longer."""
    design = aeroplane()
    fin = Outline("fin", "fin", (
        Node(780.0, -10.0), Node(860.0, -10.0), Node(886.0, 120.0, None, (-20.0, 4.0)),
        Node(830.0, 70.0, (20.0, 30.0), (-20.0, -30.0)),
    ))
    rudder = Outline("rudder", "rudder", tuple(replace(n, x=n.x + gap) for n in (
        Node(886.0, 120.0), Node(856.0, -30.0), Node(900.0, -20.0, None, (10.0, 40.0)),
        Node(915.0, 100.0, (0.0, -40.0), None),
    )))
    others = tuple(o for o in design.outlines if o.kind not in ("fin", "rudder"))
    return replace(design, outlines=(*others, fin, rudder))


@pytest.mark.parametrize("gap", [0.0, 1.0, 8.0])
@pytest.mark.parametrize("factor", [0.6, 1.7])
def test_the_chord_grows_to_both_sides_of_a_slanting_hinge_whose_nodes_do_not_move(
    gap: float, factor: float
) -> None:
    design = slanted(gap)
    made = way_of(design, "chord").make(factor)
    for kind, hinge in (("fin", (1, 2)), ("rudder", (0, 1))):
        old, new = design.outline(kind).nodes, made.outline(kind).nodes
        for i, (was, now) in enumerate(zip(old, new, strict=True)):
            line = 858.0 + 0.2 * (was.z + 20.0) + (gap if kind == "rudder" else 0.0)
            assert now.z == was.z
            if i in hinge:
                assert (now.x, now.z) == (was.x, was.z)
            else:
                assert now.x - line == pytest.approx(factor * (was.x - line), abs=0.05)
    assert made.outline("fin").nodes[2].handle_out == pytest.approx(
        # Along the hinge a handle stays, across it it grows.
        (factor * -20.0 + (1.0 - factor) * 0.2 * 4.0, 4.0)
    )


def test_a_fin_without_a_rudder_grows_from_its_leading_edge_as_ever() -> None:
    design = slanted()
    alone = replace(design, outlines=tuple(o for o in design.outlines if o.kind != "rudder"))
    front = tails(alone)[0].front_x
    way = way_of(alone, "chord")
    fin = way.make(1.4).outline("fin").nodes
    for was, now in zip(alone.outline("fin").nodes, fin, strict=True):
        assert now.x - front == pytest.approx(1.4 * (was.x - front))
    assert "foot of the leading edge" in way.told(1.4)


def test_the_fins_own_weight_is_in_the_loop() -> None:
    design = aeroplane(grams=12.0, cg_from="weights")
    found = refit(design, "scale", "cla_fraction", 0.30)
    readings = ReadingsEngine().read(found.design)
    assert readings.value("cla_fraction") == pytest.approx(0.30, abs=NEAR)
    heavier = (readings.value("mass") or 0.0) - (ReadingsEngine().read(design).value("mass") or 0.0)
    fins = sum(form_of(o).patch.moments.area for o in found.design.outlines if o.kind in ("fin", "rudder"))
    were = sum(form_of(o).patch.moments.area for o in design.outlines if o.kind in ("fin", "rudder"))
    assert heavier == pytest.approx(12.0 * (fins - were) / 1e4, rel=1e-9)
    # The CG went aft with it, so that less fin would do were it weightless.
    weightless = replace(
        design, cg_from="mark", cg_mark=ReadingsEngine().read(design).cg,
    )
    assert found.parameter > refit(weightless, "scale", "cla_fraction", 0.30).parameter + 1e-3


def test_lead_brings_the_cg_back() -> None:
    design = aeroplane(grams=12.0, cg_from="weights")
    found = refit(design, "height", "cla_fraction", 0.32)
    lead = lead_needed(design, found.design)
    then = ReadingsEngine().read(design).cg
    assert lead is not None and lead > 0.0 and then is not None
    # The same moments as the weights panel takes.
    other = ballast(found.design, then.x, 0.0)
    assert not isinstance(other, str) and lead == pytest.approx(other.grams, rel=1e-9)
    assert lead_needed(design, design) == pytest.approx(0.0, abs=1e-9)


def test_weights_move_when_they_give_the_cg() -> None:
    design = aeroplane(cg_from="weights")
    value = (reading(design, "cla_fraction") or 0.0) + 0.02
    battery = refit(design, "cg", "cla_fraction", value)
    assert battery.unit == "mm" and battery.parameter < 0.0

    def moved(after: Design) -> list[str]:
        return [w.id for w, old in zip(after.weights, design.weights, strict=True) if w != old]

    assert moved(battery.design) == ["battery"]
    assert moved(refit(design, "cg", "cla_fraction", value, weight="airframe").design) == ["airframe"]
    without = replace(design, weights=tuple(w for w in design.weights if w.id != "battery"))
    value = (reading(without, "cla_fraction") or 0.0) + 0.02
    lead = refit(without, "cg", "cla_fraction", value)
    assert lead.unit == "g" and lead.parameter > 0.0 and lead.design.weights[-1].label == "Lead"
    assert reading(lead.design, "cla_fraction") == pytest.approx(value, abs=NEAR)


def test_when_nothing_reaches_it_says_how_near() -> None:
    found = refit(aeroplane(), "height", "cla_fraction", 0.9)
    assert not found.solved and found.reached < 0.9
    assert "cannot bring the CLA fraction to 90.0 %" in found.words[0]
    assert f"The nearest is {100 * found.reached:.1f} %" in found.words[0]
    # The fraction grows with the fin: the nearest is the tallest that is tried.
    assert found.parameter == pytest.approx(way_of(aeroplane(), "height").grid[-1])


def test_a_ventral_fin_enters_cn_beta_by_the_lattice_alone() -> None:
    design = aeroplane()
    before = ReadingsEngine().read(design)
    start = before.value("cn_beta")
    assert start is not None
    found = refit(design, "ventral", "cn_beta", start + 0.01)
    after = ReadingsEngine().read(found.design)
    assert found.solved and after.value("cn_beta") == pytest.approx(start + 0.01, abs=1e-6)
    by_book, laid = ("cn_beta_fin_handbook", "cn_beta_fin_lattice")
    assert after.value(by_book) == pytest.approx(before.value(by_book), rel=1e-6)
    gain = (after.value(laid) or 0.0) - (before.value(laid) or 0.0)
    assert gain == pytest.approx(0.02, abs=1e-5), "the mean of the two moves by half of it"
    assert any("lattice" in caution for caution in found.cautions)


def test_several_answers_are_all_named() -> None:
    """Cnβ turns on its way with a dorsal fin that grows: area against aspect ratio."""
    design = aeroplane()
    way = way_of(design, "dorsal", length=260.0)
    ys = [Probe().read(way.make(x), "cn_beta") for x in way.grid]
    values = [y for y in ys if isinstance(y, float)]
    top, ends = max(values), max(values[0], values[-1])
    bottom, low_ends = min(values), min(values[0], values[-1])
    wanted = 0.5 * (top + ends) if top > ends + 1e-6 else 0.5 * (bottom + low_ends)
    assume_turn = top > ends + 1e-6 or bottom < low_ends - 1e-6
    assert assume_turn, "the shape no longer turns: choose another length"
    found = refit(design, "dorsal", "cn_beta", wanted, length=260.0)
    assert found.solved and found.other_roots
    assert f"There are {1 + len(found.other_roots)} answers" in " ".join(found.words)
    assert all(abs(found.parameter) < abs(other) for other in found.other_roots)
    for x in (found.parameter, *found.other_roots):
        assert Probe().read(way.make(x), "cn_beta") == pytest.approx(wanted, abs=1e-5)


def test_tip_fins_beside_the_fuselage_can_be_refitted() -> None:
    """They stand clear at the wing's tips, and the side view shows them on the fuselage."""
    deep = box("body", "fuselage", 0, -120, 900, 120)
    fins = traced("fins", "fin", ((500, 0), (540, 100), (600, 100), (600, 0)), count=2)
    design = design_of(deep, fins, cg_mark=Mark(420, 0))
    start = reading(design, "cla_fraction")
    assert start is not None
    found = refit(design, "scale", "cla_fraction", start + 0.02)
    assert found.solved and found.parameter > 1.0
    assert reading(found.design, "cla_fraction") == pytest.approx(start + 0.02, abs=NEAR)


def test_cautions() -> None:
    tail_heavy = refit(aeroplane(), "cg", "cla_fraction", 0.08)
    assert any("Do not fly it so" in c for c in tail_heavy.cautions)
    nose_heavy = refit(aeroplane(), "cg", "cla_fraction", 0.30)
    assert any("nose-heavy" in c for c in nose_heavy.cautions)
    below = refit(aeroplane(), "ventral", "cla_fraction", (reading(aeroplane(), "cla_fraction") or 0) + 0.01)
    assert any("clears the ground" in c for c in below.cautions)


def test_reasons() -> None:
    design = aeroplane()
    bare = replace(design, outlines=design.outlines[:1])
    with pytest.raises(EditError, match="no fin to refit"):
        refit(bare, "scale", "cla_fraction", 0.25)
    with pytest.raises(EditError, match="mark the CG"):
        refit(replace(design, cg_mark=None), "cg", "cla_fraction", 0.25)
    with pytest.raises(EditError, match="the CLA fraction is missing: mark the CG"):
        refit(replace(design, cg_mark=None), "scale", "cla_fraction", 0.25)
    with pytest.raises(EditError, match="Cnβ is missing: enter the wing"):
        refit(replace(design, wings=()), "scale", "cn_beta", 0.07)
    with pytest.raises(EditError, match="set the scale"):
        refit(replace(design, scans=(Scan("a", "a.png", scale_from="none"),)), "scale", "cn_beta", 0.07)
    with pytest.raises(EditError, match="type one"):
        refit(design, "scale", "cla_fraction", math.nan)
    with pytest.raises(EditError, match="length of the added fin"):
        refit(design, "dorsal", "cla_fraction", 0.25, length=-3.0)
    with pytest.raises(EditError, match="give another length"):
        refit(design, "dorsal", "cla_fraction", 0.25, length=5000.0)
    with pytest.raises(EditError, match="no weight"):
        refit(replace(design, cg_from="weights"), "cg", "cla_fraction", 0.25, weight="gone")
    with pytest.raises(CancelledError):
        refit(design, "scale", "cla_fraction", 0.25, cancelled=lambda: True)
    rows = ways_table(bare, "cla_fraction", 0.25)
    assert [row.way for row in rows] == list(WAYS)
    assert all(row.why and row.fin_area is None for row in rows)


def test_the_table_is_what_each_design_reads() -> None:
    design = aeroplane(grams=9.0)
    for row in ways_table(design, "cla_fraction", 0.27):
        if row.refit is None:
            continue
        readings = ReadingsEngine().read(row.refit.design)
        for field, key in (
            ("fin_area", "fin_area"), ("fin_height", "fin_exposed_height"), ("fin_chord", "fin_mac"),
            ("mass", "mass"), ("fin_volume", "fin_volume"), ("cn_beta", "cn_beta"),
            ("sideslip_full_rudder_deg", "sideslip_full_rudder_deg"), ("cla_fraction", "cla_fraction"),
            ("spiral_parameter", "spiral_parameter"), ("static_margin", "static_margin"),
        ):
            # Another order of cutting rounds other corners to the grid of 1e-6 mm.
            assert getattr(row, field) == pytest.approx(readings.value(key), rel=1e-7), (row.way, key)
    now = present_cost(design)
    assert now["fin_area"] == ReadingsEngine().read(design).value("fin_area")
    assert now["cla_fraction"] == reading(design, "cla_fraction")


def test_probe_reads_what_the_engine_reads() -> None:
    for design in (aeroplane(), aeroplane(fins=2, fin_centre="quarter_chord"), aeroplane(cg_from="weights")):
        table = ReadingsEngine().read(design)
        for key, value in Probe().values(design).items():
            reading = table[key]
            assert value == (reading.missing if isinstance(value, str) else reading.value), key


def test_roots_of_plain_functions() -> None:
    grid = np.linspace(-2.0, 3.0, 23).tolist()
    # (x + 1)(x − 1)(x − 2): three roots.
    cubic = roots_of(lambda x: (x + 1) * (x - 1) * (x - 2), 0.0, grid)
    assert cubic.roots == pytest.approx((-1.0, 1.0, 2.0), abs=1e-9)
    # Two roots within one step of the grid.
    close = roots_of(lambda x: (x - 0.30) * (x - 0.33), 0.0, grid)
    assert close.roots == pytest.approx((0.30, 0.33), abs=1e-8)
    # A jump is no root; the nearest is said.
    jump = roots_of(lambda x: 1.0 if x > 0.5 else -1.0, 0.0, grid)
    assert jump.roots == () and abs(jump.nearest_value) == 1.0
    # Not defined below 0: the root at 0.01 lies between the end and the first point of the grid.
    root = roots_of(lambda x: math.sqrt(x) if x >= 0 else math.nan, 0.1, grid)
    assert root.roots == pytest.approx((0.01,), abs=1e-9)
    never = roots_of(lambda x: 1.0 + x * x, 0.0, grid)
    assert never.roots == () and never.nearest == pytest.approx(0.0, abs=1e-3) and not never.at_limit
    nowhere = roots_of(lambda _: math.nan, 0.0, grid)
    assert nowhere.nearest is None
    pole = roots_of(lambda x: 1.0 / (x - 0.4), 0.0, grid)
    assert pole.roots == ()


def test_both_witnesses_at_once_against_a_sweep() -> None:
    """Where the fin is scaled step by step: the first step at which both are content is what is found."""
    design = read(next(p for p in SAMPLES if "harrow" in p.stem)).design
    for key in ("scale", "height"):
        found = refit(design, key, "both", 0.25, firm=0.05)
        assert found.solved
        way = way_of(design, key)
        before, after = way.make(found.parameter * 0.999), way.make(found.parameter * 1.001)
        content = []
        for made in (before, after):
            values = ReadingsEngine().read(made)
            cla, firm = values.value("cla_fraction"), values.value("cn_beta")
            assert cla is not None and firm is not None
            content.append(cla >= 0.25 and firm >= 0.05)
        assert content == [False, True]
        assert found.reached <= design.aim.high and found.answer.state == "within"


def test_both_cannot_be_had_where_firmness_leaves_the_aim_behind() -> None:
    design = read(next(p for p in SAMPLES if "harrow" in p.stem)).design
    found = refit(design, "chord", "both", 0.25, firm=0.12)
    assert not found.solved and found.reached > design.aim.high
    assert "cannot bring the CLA fraction and Cnβ to 25.0 % and at least 0.1200" in found.words[0]


def test_ways_whose_result_is_doubtful_come_after_those_that_are_not() -> None:
    for path in SAMPLES:
        rows = ways_table(read(path).design, "cla_fraction", 0.25)
        rank = [2 if r.why is not None else 1 if r.doubtful else 0 for r in rows]
        assert rank == sorted(rank) and {r.way for r in rows} == set(WAYS)
        for row in rows:
            if row.refit is not None:
                state = answer(row.refit.design, ReadingsEngine().read(row.refit.design)).state
                assert row.state == state == row.refit.answer.state
    twin = ways_table(read(next(p for p in SAMPLES if "twin" in p.stem)).design, "cla_fraction", 0.25)
    assert next(r for r in twin if r.way == "cg").state == "stop"
