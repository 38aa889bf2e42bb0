"""Laws that any way of counting must keep: moving, scaling, turning round, doubling, reordering."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from making import FEW, SOME, box, curved_designs, curved_outline, design_of, trainer

from core.design import Design, Mark, Node, Outline, Vector
from core.geometry.ring import flatten, ring_of
from core.stability.readings import Readings, ReadingsEngine
from core.stability.side_area import SideAreaCounter

Change = Callable[[float, float], tuple[float, float]]
SLIVER = Outline("sliver", "fuselage", (Node(0, 0), Node(0, 4.140625), Node(0.015625, 0)))


def read(design: Design) -> Readings:
    return ReadingsEngine().read(design)


def changed(design: Design, point: Change, turn: Change) -> Design:
    """Every point by ``point``, every handle by ``turn``; wings left out."""

    def handle(v: Vector | None) -> Vector | None:
        return None if v is None else turn(*v)

    outlines = tuple(
        msgspec.structs.replace(
            o, nodes=tuple(Node(*point(n.x, n.z), handle(n.handle_in), handle(n.handle_out)) for n in o.nodes)
        )
        for o in design.outlines
    )
    cg = design.cg_mark
    return msgspec.structs.replace(
        design, outlines=outlines, cg_mark=Mark(*point(cg.x, cg.z)) if cg else None, wings=(), tailplanes=()
    )


def shifted(design: Design, dx: float, dz: float) -> Design:
    return changed(design, lambda x, z: (x + dx, z + dz), lambda a, b: (a, b))


def scaled(design: Design, k: float) -> Design:
    return changed(design, lambda x, z: (k * x, k * z), lambda a, b: (k * a, k * b))


def reversed_round(outline: Outline) -> Outline:
    turned = tuple(Node(n.x, n.z, n.handle_out, n.handle_in) for n in reversed(outline.nodes))
    return msgspec.structs.replace(outline, nodes=turned)


@SOME
@given(curved_designs(4), st.floats(-5000, 5000), st.floats(-5000, 5000))
def test_moving_the_aeroplane_moves_the_cla_with_it(design: Design, dx: float, dz: float) -> None:
    design = shifted(design, 0, 0)
    here, there = read(design), read(shifted(design, dx, dz))
    assume(here.side.moments.area > 100)
    # Overlays round to a grid of 1e-6 mm, and these outlines have some metres of edges.
    assert there.value("side_area") == pytest.approx(here.value("side_area"), rel=1e-8, abs=1e-2)
    assert here.cla is not None and there.cla is not None
    assert there.cla == pytest.approx((here.cla[0] + dx, here.cla[1] + dz), abs=1e-4)


@SOME
@given(curved_designs(4), st.sampled_from((0.25, 0.5, 2.0, 4.0)))
def test_scaling_leaves_the_fraction_and_squares_the_areas(design: Design, k: float) -> None:
    design = shifted(design, 0, 0)
    small, large = read(design), read(scaled(design, k))
    assume(small.side.moments.area > 100 and large.side.moments.area > 100)
    # Flattening is to 0.01 mm whatever the scale, with the area kept to a higher order than that.
    assert large.value("side_area") == pytest.approx(k * k * small.side.moments.area, rel=1e-3)
    fraction = small.value("cla_fraction")
    if fraction is not None and small.side.tail_moments.area > 100 and abs(fraction) < 5:
        assert large.value("cla_fraction") == pytest.approx(fraction, abs=2e-3)


def test_scaling_a_straight_edged_design_leaves_the_fraction_to_the_last_digits() -> None:
    design = design_of(
        box("b", "fuselage", 0, -30, 700, 40), box("f", "fin", 610, 30, 720, 170), cg_mark=Mark(200, 0)
    )
    fraction = read(design).value("cla_fraction")
    for k in (0.037, 0.1693, 3.0, 25.4):
        assert read(scaled(design, k)).value("cla_fraction") == pytest.approx(fraction, rel=1e-12)


@SOME
@given(curved_designs(4))
def test_the_way_round_and_the_order_do_not_matter(design: Design) -> None:
    backwards = msgspec.structs.replace(
        design, outlines=tuple(reversed_round(o) for o in reversed(design.outlines))
    )
    one, other = SideAreaCounter().count(design), SideAreaCounter().count(backwards)
    # The grid of overlays, 1e-6 mm, times the length of the edges; moments that times their lever.
    assert other.moments.area == pytest.approx(one.moments.area, rel=1e-9, abs=1e-2)
    assert tuple(other.moments) == pytest.approx(tuple(one.moments), rel=1e-9, abs=3.0)
    assert tuple(other.tail_moments) == pytest.approx(tuple(one.tail_moments), rel=1e-9, abs=1e-3)


@SOME
@given(curved_designs(4))
def test_a_mirror_image_has_the_mirrored_cla(design: Design) -> None:
    design = shifted(design, 0, 0)
    mirrored = changed(design, lambda x, z: (-x, z), lambda a, b: (-a, b))
    one, other = SideAreaCounter().count(design).moments, SideAreaCounter().count(mirrored).moments
    assert tuple(other) == pytest.approx((one.area, -one.x, one.z), rel=1e-9, abs=1e-3)


@FEW
@given(curved_designs(3), st.integers(0, 3))
def test_where_an_outline_begins_does_not_matter(design: Design, turn: int) -> None:
    turned = msgspec.structs.replace(
        design,
        outlines=tuple(
            msgspec.structs.replace(
                o, nodes=(*o.nodes[turn % len(o.nodes) :], *o.nodes[: turn % len(o.nodes)])
            )
            for o in design.outlines
        ),
    )
    one, other = SideAreaCounter().count(design), SideAreaCounter().count(turned)
    # The grid of overlays, 1e-6 mm, times the length of the edges; moments that times their lever.
    assert other.moments.area == pytest.approx(one.moments.area, rel=1e-9, abs=1e-2)
    assert tuple(other.moments) == pytest.approx(tuple(one.moments), rel=1e-9, abs=3.0)


@pytest.mark.parametrize("count", range(1, 9))
def test_a_clear_count_weighs_as_that_many_single_sheets(count: int) -> None:
    """n clear ones add n times the moments of one, whatever stands behind them."""
    body = curved_outline("body", "fuselage", 300, 0, 600)
    one = curved_outline("tip", "tip plate", 350, 10, 100)
    alone = SideAreaCounter().count(design_of(one)).moments
    base = SideAreaCounter().count(design_of(body)).moments
    both = SideAreaCounter().count(design_of(body, msgspec.structs.replace(one, count=count))).moments
    assert tuple(both) == pytest.approx(tuple(base.plus(alone, count)), rel=1e-12)


def test_a_clear_pair_equals_one_single_clear_and_one_more_of_itself_elsewhere() -> None:
    """Twice glued on at one place has the side area and the CLA of two apart, the CLA by their mean."""
    pair = design_of(box("p", "float", 100, 0, 140, 20, count=2))
    apart = design_of(
        box("a", "float", 90, 0, 130, 20), box("b", "strut", 110, 100, 150, 120, stance="clear")
    )
    one, other = read(pair), read(apart)
    assert one.value("side_area") == pytest.approx(other.value("side_area"))
    assert one.value("cla_x") == pytest.approx(other.value("cla_x"))


@SOME
@given(curved_designs(4))
def test_an_outline_laid_over_itself_adds_nothing(design: Design) -> None:
    twice = msgspec.structs.replace(
        design,
        outlines=(
            *design.outlines,
            *(msgspec.structs.replace(o, id=o.id + "-again") for o in design.outlines),
        ),
    )
    one, other = SideAreaCounter().count(design), SideAreaCounter().count(twice)
    # The grid of overlays, 1e-6 mm, times the length of the edges; moments that times their lever.
    assert other.moments.area == pytest.approx(one.moments.area, rel=1e-9, abs=1e-2)
    assert tuple(other.moments) == pytest.approx(tuple(one.moments), rel=1e-9, abs=3.0)


@FEW
@given(curved_designs(4))
@example(design_of(SLIVER))
def test_depths_add_up_to_the_area(design: Design) -> None:
    side = SideAreaCounter().count(design)
    stations = np.arange(-400.0, 400.0, 0.25)
    single, doubled = side.depths(stations)
    gross = sum(abs(w) * p.moments.area for tally in (side.single, side.doubled) for p, w in tally)
    # The trapezium rule on a depth that may jump at upright edges: jump × step / 2 each time; what is
    # narrower than two steps may be met as deep as it is, or not at all.
    slivers = sum(
        outline.count * float(deep) * 0.25
        for outline in design.outlines
        for wide, deep in [np.ptp(flatten(ring_of(outline.nodes)), axis=0)] if wide < 0.5
    )
    allowed = 1e-3 * gross + 1.0 + slivers
    assert (single.sum() + doubled.sum()) * 0.25 == pytest.approx(side.moments.area, abs=allowed)
    moment = float(((single + doubled) * stations).sum()) * 0.25
    assert moment == pytest.approx(side.moments.x, abs=300 * allowed)


def test_depths_of_single_and_doubled_are_kept_apart() -> None:
    design = design_of(box("b", "fuselage", 0, 0, 100, 20), box("w", "wheel", 40, -30, 60, -10, count=2))
    single, doubled = SideAreaCounter().count(design).depths(np.array([10.5, 50.5, 90.5, 130.5]))
    assert single == pytest.approx([20, 20, 20, 0])
    # 50.5 is the only one of these stations that meets the wheel, and there are two of it.
    assert doubled == pytest.approx([0, 2 * 20, 0, 0])


def test_the_whole_aeroplane_shifted_keeps_every_length_between_its_points() -> None:
    base = msgspec.structs.replace(trainer(), wings=(), tailplanes=())
    one, other = read(base), read(shifted(base, 1234.5, -77.25))
    for key in ("tail_arm", "cla_aft_of_cg", "cla_above_cg", "cla_fraction", "fin_area", "side_area"):
        assert other.value(key) == pytest.approx(one.value(key), rel=1e-9), key
