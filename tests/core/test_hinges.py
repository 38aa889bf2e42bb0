"""Refits and curves over hinges that slant or bend, read back by level lines; the second count."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hinges import LOST, hinged, outline
from interval_count import count_by_intervals
from making import box, trainer
from msgspec.structs import replace

from core.bench.card import Card, card_of
from core.design import Design, Node, Outline
from core.geometry import overlay
from core.redesign.curves import curve
from core.redesign.cutting import lengthen
from core.redesign.outline_edits import EditError
from core.redesign.refit import refit
from core.redesign.refit_ways import way_of
from core.stability.readings import OF_SURFACES, OF_WEIGHTS, ReadingsEngine, read_twice
from core.stability.recount import recount
from core.stability.side_area import SideAreaCounter, is_thin


def fraction(design: Design) -> float:
    """The CLA fraction by level lines."""
    _, cla, _, fin = count_by_intervals(design)
    cg = design.cg_mark.x if design.cg_mark else math.nan
    return (cla - cg) / (fin - cg)


def shared_nodes(one: Outline, other: Outline) -> list[tuple[Node, Node]]:
    """Nodes of two outlines within a thousandth of a millimetre of each other."""
    return [
        (a, b) for a in one.nodes for b in other.nodes if math.hypot(a.x - b.x, a.z - b.z) < 1e-3
    ]


@pytest.mark.parametrize("aim", [0.20, 0.25, 0.30])
@pytest.mark.parametrize("way", ["height", "scale", "chord"])
def test_a_refit_over_a_slanting_hinge_is_what_it_says(way: str, aim: float) -> None:
    made = refit(LOST, way, "cla_fraction", aim)  # type: ignore[arg-type]
    assert fraction(made.design) == pytest.approx(made.reached, abs=4e-4)
    if made.solved:
        assert made.reached == pytest.approx(aim, abs=1e-4)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("bend", [0.0, 12.0])
def test_refits_over_any_hinge(seed: int, bend: float) -> None:
    design = hinged(np.random.default_rng(seed), bend)
    for way in ("height", "scale"):
        try:
            made = refit(design, way, "cla_fraction", 0.25)  # type: ignore[arg-type]
        except EditError:
            continue
        assert fraction(made.design) == pytest.approx(made.reached, abs=4e-4)


@pytest.mark.parametrize("seed", range(20))
def test_what_a_refit_puts_on_fin_and_rudder_is_the_same_to_the_last_bit(seed: int) -> None:
    design = hinged(np.random.default_rng(seed), 0.0 if seed % 2 else 8.0)
    for key in ("height", "scale", "chord"):
        made = way_of(design, key).make(1.37)  # type: ignore[arg-type]
        pairs = shared_nodes(made.outline("fin"), made.outline("rudder"))
        assert len(pairs) >= 2
        assert all((a.x, a.z) == (b.x, b.z) for a, b in pairs)


@pytest.mark.parametrize("bend", [0.0, 9.0])
@pytest.mark.parametrize("seed", range(10))
def test_what_a_plug_puts_on_a_shared_edge_is_the_same_to_the_last_bit(seed: int, bend: float) -> None:
    design = hinged(np.random.default_rng(seed), bend)
    fin, rudder = design.outline("fin"), design.outline("rudder")
    foot, top = rudder.nodes[0], rudder.nodes[1]
    if abs(top.x - foot.x) < 1.0:
        return
    station = foot.x + 0.37 * (top.x - foot.x)
    pairs = shared_nodes(lengthen(fin, station, 0.0, 10.0), lengthen(rudder, station, 0.0, 10.0))
    assert len(pairs) >= 3
    assert all((a.x, a.z) == (b.x, b.z) for a, b in pairs)


def test_the_curve_over_fin_size_agrees() -> None:
    found = curve(LOST, "fin", 20)
    assert found is not None
    way = way_of(LOST, "scale")
    for x, value in zip(found.x[::4], found.cla_fraction[::4], strict=True):
        assert fraction(way.make(float(x))) == pytest.approx(float(value), abs=6e-4)


def test_the_card_copy_holds_the_rudder() -> None:
    made = refit(LOST, "height", "cla_fraction", 0.25).design
    card = card_of(made)
    assert isinstance(card, Card)
    area, cla, _, _ = count_by_intervals(made)
    assert card.moments.area == pytest.approx(area, rel=1e-4)
    assert card.balance is not None and card.balance[0] == pytest.approx(cla, abs=0.05)


@pytest.mark.parametrize("seed", range(8))
def test_the_second_count_agrees_with_level_lines_and_with_the_overlay(seed: int) -> None:
    design = hinged(np.random.default_rng(seed), 6.0 * (seed % 3))
    twice = recount(design)
    area, cla, fin, centre = count_by_intervals(design)
    assert twice.side.area == pytest.approx(area, rel=2e-4)
    assert twice.tail.area == pytest.approx(fin, rel=1e-3)
    assert twice.side.x / twice.side.area == pytest.approx(cla, abs=0.1)
    assert twice.tail.x / twice.tail.area == pytest.approx(centre, abs=0.1)
    assert twice.disagreement(SideAreaCounter().count(design)) is None


def test_the_second_count_counts_pairs_and_panels() -> None:
    design = trainer()
    assert recount(design).disagreement(SideAreaCounter().count(design)) is None


def test_the_second_count_of_outlines_that_cross_each_other() -> None:
    bow = outline("bow", "fuselage", (0, 0), (100, 80), (100, 0), (0, 80))
    bar = outline("bar", "fin", (10, -20), (90, 100), (95, 100), (15, -20))
    design = Design(format=1, title="Crossing", outlines=(bow, bar, replace(bow, id="two", count=2)))
    twice = recount(design)
    assert twice.side_bound < 1e-2
    assert twice.disagreement(SideAreaCounter().count(design)) is None


def test_a_count_that_lost_an_outline_is_found() -> None:
    counted = SideAreaCounter().count(replace(LOST, outlines=LOST.outlines[:2]))
    why = recount(LOST).disagreement(counted)
    assert why is not None and why.startswith("the areas cannot be told: counted in two ways the side area")


def test_nothing_depends_on_areas_that_cannot_be_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overlay, "holds", lambda *_: False)
    design = replace(trainer(), title="Told anew")
    design = replace(design, outlines=tuple(replace(o, label=o.label + ".") for o in design.outlines))
    readings = read_twice(design)
    assert readings.untold is not None and readings.cla is None and readings.fin_centre is None
    for key, reading in readings.table.items():
        assert key in OF_SURFACES | OF_WEIGHTS or reading.missing == readings.untold, key
    assert any("cannot be told" in warning for warning in readings.warnings)
    assert readings["cg_x"].value is not None
    assert isinstance(card_of(design), str)
    with pytest.raises((EditError, overlay.OverlayError), match="cannot be told"):
        refit(design, "height", "cla_fraction", 0.25)


def test_a_second_count_that_differs_withholds_the_readings(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("core.stability.readings.recount", lambda *_: recount(replace(LOST, outlines=())))
    readings = read_twice(LOST)
    assert readings["cla_fraction"].value is None and "two ways" in (readings["side_area"].missing or "")


def test_lines_are_no_outlines() -> None:
    down_and_back = (Node(0, 0), Node(10, 100), Node(10.05, 100), Node(0.05, 0))
    assert is_thin((Node(0, 0), Node(10, 100), Node(5, 50))) and is_thin(down_and_back)
    assert not is_thin((Node(0, 0), Node(10, 100), Node(10.5, 100), Node(0.5, 0)))
    design = replace(LOST, outlines=(*LOST.outlines, Outline("line", "rudder", down_and_back)))
    warnings = ReadingsEngine().read(design).warnings
    assert [w for w in warnings if "thinner than 0.1 mm all along" in w]
    assert not is_thin(box("b", "fuselage", 0, 0, 10, 10).nodes)
