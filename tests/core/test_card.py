"""The pieces of the card copy weigh as the side area counts, and lie apart on their sheets."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely.geometry.base import BaseGeometry

from core.bench.card import (
    GAP,
    SLIT,
    STRIP,
    Card,
    CardPiece,
    CardPlan,
    Reserve,
    card_of,
    cut_shape,
    neat_ratios,
    plan_card,
    strip_for,
)
from core.bench.nesting import CELL, lay_out
from core.design import Design, Station, Wing
from core.geometry.overlay import union
from core.stability.side_area import SideAreaCounter
from tests.core.making import FEW, box, curved_designs, design_of, sound_designs, traced

BODY = box("body", "fuselage", 0, 0, 600, 80)
FIN = box("fin", "fin", 500, 80, 600, 200)
WHEELS = box("wheels", "wheel", 150, -120, 210, -60, count=2)
WING = Wing("wing", (Station(0, 200, 160, 90), Station(500, 220, 120, 130)), label="Wing")
PLAIN = design_of(BODY, FIN, WHEELS, wings=(WING,))


def card(design: Design = PLAIN) -> Card:
    found = card_of(design)
    assert isinstance(found, Card)
    return found


def in_place(of: Card) -> Reserve:
    """The silhouette with the places of all others about it, as on the sheet."""

    def reserve(piece: CardPiece, ratio: float) -> BaseGeometry:
        region = union(p.region for p in of.pieces) if piece.number == 1 else piece.region
        return shapely.transform(region, lambda p: p / ratio)

    return reserve


def plan_for(width: float, height: float, ratio: float | None = None, **more: Any) -> CardPlan | str:
    found = card(more.pop("design", PLAIN))
    return plan_card(found, lambda sheet: (width, height), in_place(found), ratio, **more)


def planned(width: float, height: float, ratio: float | None = None, design: Design = PLAIN) -> CardPlan:
    found = plan_for(width, height, ratio, design=design)
    assert isinstance(found, CardPlan)
    return found


def test_pieces_follow_the_counting_rule() -> None:
    """S once; R₂ (the wheels) in two layers; the wing's panels in two layers; the largest first."""
    found = card()
    assert [(p.number, p.name, p.layers) for p in found.pieces] == [
        (1, "Silhouette", 1), (2, "Wing", 2), (3, "wheels", 2),
    ]
    assert found.body.moments.area == pytest.approx(600 * 80 + 100 * 120)
    assert found.pieces[2].moments.area == pytest.approx(60 * 60)


def test_the_balance_is_the_sum_by_hand() -> None:
    """x̄ = Σ n·A·x / Σ n·A over rectangles (statics of composite areas, exact)."""
    found = card(design_of(BODY, FIN, WHEELS)).balance
    parts = ((1, 600 * 80, 300, 40), (1, 100 * 120, 550, 140), (2, 60 * 60, 180, -90))
    whole = sum(n * a for n, a, _, _ in parts)
    assert found == pytest.approx(
        (sum(n * a * x for n, a, x, _ in parts) / whole, sum(n * a * z for n, a, _, z in parts) / whole)
    )


def test_a_joined_pair_is_cut_without_what_the_silhouette_hides() -> None:
    legs = box("legs", "gear leg", 180, -80, 200, 40, count=2)
    found = card(design_of(BODY, legs))
    assert [(p.name, p.layers) for p in found.glued] == [("legs", 2)]
    assert found.glued[0].moments.area == pytest.approx(20 * 80)


def test_what_meets_in_a_count_is_one_piece_and_what_falls_apart_several() -> None:
    legs = box("legs", "gear leg", 170, -80, 190, 0, count=2)
    pods = box("pods", "nacelle", 300, -20, 400, 100, count=2)
    found = card(design_of(BODY, WHEELS, legs, pods))
    assert sorted(p.name for p in found.glued) == ["pods, part 1", "pods, part 2", "wheels + legs"]
    assert all(p.layers == 2 for p in found.glued)


def agrees(design: Design) -> None:
    found = card_of(design)
    side = SideAreaCounter().count(design)
    if isinstance(found, str):
        return
    moments = found.moments
    assert moments.area == pytest.approx(side.moments.area, rel=1e-9, abs=1e-6)
    if side.cla is not None and side.moments.area > 1e-3:
        size = 1.0 + max(abs(v) for v in union(p.region for p in found.pieces).bounds)
        assert found.balance == pytest.approx(side.cla, abs=1e-7 * size)


@FEW
@given(curved_designs())
def test_curved_designs_balance_at_the_cla(design: Design) -> None:
    agrees(design)


@settings(FEW, max_examples=6)
@given(sound_designs)
def test_any_sound_design_balances_at_the_cla(design: Design) -> None:
    agrees(design)


@pytest.mark.parametrize(("width", "height"), [(277, 127), (259, 133), (412, 214), (150, 100)])
def test_all_lies_on_the_sheet_and_nothing_on_anything(width: float, height: float) -> None:
    plan = planned(width, height)
    assert plan.sheets == 1
    assert len(plan.copies) == 1 + 2 + 2
    room = shapely.box(0, 0, width, height).buffer(1e-6)
    shapes = [plan.shape(copy, copy.piece.region) for copy in plan.copies]
    assert all(room.contains(shape) for shape in shapes)
    # Cells are counted as taken wherever a shape may touch them: the gap is kept in full.
    assert all(a.distance(b) >= GAP for a, b in itertools.combinations(shapes, 2))
    for copy, shape in zip(plan.copies, shapes, strict=True):
        assert shape.area * plan.ratio**2 == pytest.approx(copy.piece.moments.area)


def test_the_largest_neat_scale_is_taken() -> None:
    plan = planned(277, 127)
    larger = max(n for n in neat_ratios(0.1) if n < plan.ratio)
    again = plan_for(277, 127, larger)
    assert isinstance(again, str) or again.sheets > 1


def test_the_silhouette_is_not_turned() -> None:
    assert not planned(277, 127).copies[0].laid.quarter


def test_several_sheets_only_where_they_are_needed() -> None:
    """At 1:2.5 the body with the floats' place takes 240 × 84 mm, each float 200 × 40."""
    design = design_of(BODY, box("floats", "float", 50, -130, 550, -30, count=2))
    plan = planned(245, 110, 2.5, design)
    assert plan.sheets == 2
    assert planned(245, 220, 2.5, design).sheets == 1
    wanted = sum(p.layers for p in plan.card.pieces)
    assert len(plan.copies) == wanted


def test_many_pieces_spread_rather_than_shrink() -> None:
    """Four layers each of four floats as large as the body: one sheet would cost more than a third."""
    floats = [box(f"f{i}", "float", 0, -200 * i - 150, 600, -200 * i - 50, count=4) for i in range(4)]
    plan = planned(280, 300, design=design_of(BODY, *floats))
    assert plan.sheets > 1
    assert 600 / plan.ratio > 0.6 * min(280, 300 * 600 / 880)


def test_too_large_a_scale_has_a_remedy() -> None:
    assert plan_for(277, 127, 1.0) == (
        "at 1:1 a piece is larger than the paper: choose 1:3 or smaller, or larger paper"
    )
    assert "give a scale" in str(plan_for(277, 127, 0.0))
    assert "paper is too small" in str(plan_for(277, -5))


def test_a_free_scale_fills_the_sheet_further() -> None:
    neat = planned(277, 127)
    free = plan_for(277, 127, neat=False)
    assert isinstance(free, CardPlan)
    assert free.ratio <= neat.ratio


def test_what_cannot_be_cut_is_left_out_and_named() -> None:
    strut = box("wire", "strut", 100, -60, 103, 0, count=2, stance="clear")
    whole = card(design_of(BODY, strut))
    assert [p.name for p in whole.at(2.0).glued] == ["wire"]
    small = whole.at(5.0)
    assert small.glued == () and [p.name for p in small.crumbs] == ["wire"]
    assert small.at(5.0) is small


def test_slits_are_closed_and_nothing_else_changes() -> None:
    """Fin and rudder traced 0.4 mm apart: no cut at 1:4, where it would be 0.1 mm wide."""
    split = design_of(
        BODY, box("fin", "fin", 500, 80, 550, 200), box("rudder", "rudder", 550.4, 80, 600, 200)
    )
    body = card(split).body
    closed = cut_shape(body, 4.0)
    assert closed.area == pytest.approx(body.moments.area + 0.4 * 120, rel=1e-6)
    assert cut_shape(body, 0.5 / SLIT * 0.4).area == pytest.approx(body.moments.area, rel=1e-6)


def test_what_stands_off_gets_a_strip_that_reaches_both() -> None:
    found = card(design_of(BODY, WHEELS))
    strip = strip_for(found, found.glued[0], 4.0)
    assert strip is not None
    for region in (found.body.region, found.glued[0].region):
        # At least a strip's width of hold on either side.
        assert strip.intersection(region).area >= (STRIP * 4.0) ** 2 * 0.99
    assert strip.area == pytest.approx(STRIP * 4.0 * (60 + 4 * STRIP * 4.0))


def test_what_lies_well_on_the_silhouette_needs_none() -> None:
    low = box("pods", "float", 100, 10, 300, 70, count=2)
    found = card(design_of(BODY, low))
    assert strip_for(found, found.glued[0], 4.0) is None


def test_what_lies_on_a_piece_that_lies_on_the_silhouette_needs_none() -> None:
    booms = box("booms", "other", 400, 20, 1000, 60, count=2, stance="clear")
    tail = Wing("tail", (Station(0, 900, 90, 40), Station(100, 900, 90, 40)))
    found = card(design_of(BODY, booms, wings=(tail,)))
    assert [p.name for p in found.glued] == ["booms", "tail"]
    assert all(strip_for(found, p, 4.0) is None for p in found.glued)


def test_no_silhouette_has_a_reason() -> None:
    assert "trace the fuselage" in str(card_of(design_of()))
    assert "trace the fuselage" in str(card_of(design_of(WHEELS)))


def test_shapes_use_the_hollows_of_others() -> None:
    """A square in the hollow of an L: three fit where boxes of theirs would not."""
    angle = shapely.Polygon(((0, 0), (100, 0), (100, 20), (20, 20), (20, 100), (0, 100)))
    square = shapely.box(0, 0, 60, 60)
    laid = lay_out([angle, square], lambda sheet: (102, 102), GAP, most_sheets=1, upright=2)
    assert laid is not None
    one, other = (where.move(shape) for where, shape in zip(laid, (angle, square), strict=True))
    assert one.distance(other) >= GAP
    assert shapely.box(0, 0, 102, 102).buffer(1e-9).contains(union((one, other)))


def test_a_quarter_turn_is_used_where_only_that_fits() -> None:
    laid = lay_out([shapely.box(0, 0, 80, 10)], lambda sheet: (20, 90), GAP, most_sheets=1)
    assert laid is not None and laid[0].quarter
    moved = laid[0].move(shapely.box(0, 0, 80, 10))
    assert np.subtract(moved.bounds[2:], moved.bounds[:2]) == pytest.approx((10, 80))
    assert lay_out([shapely.box(0, 0, 80, 10)], lambda sheet: (20, 90), GAP, upright=1) is None


def test_a_sheet_is_filled_to_its_edges() -> None:
    """Whatever the rest of the width over whole cells, a shape that just fits is taken."""
    for width in np.linspace(50, 50 + CELL, 7):
        assert lay_out([shapely.box(0, 0, width - 1e-9, 20)], lambda sheet, w=width: (w, 20), GAP) is not None


def test_names_are_those_of_the_builder() -> None:
    named = traced("w", "wheel", ((0, -50), (20, -50), (20, -30)), label="Nose wheel")
    assert card(design_of(BODY, named)).glued[0].name == "Nose wheel"
