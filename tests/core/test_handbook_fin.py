"""The fin by the handbook: run to the body's centre line, without what hangs down behind the body."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Design, Outline
from core.stability.aeroplane import Aeroplane
from core.stability.fin import COVERED_TAIL, NO_TAIL, chord_at, fin_form, fin_form_above
from core.stability.lateral.fin_root import NO_SINGLE_FIN, FinRoot, fin_root, single_fin
from core.stability.lateral.handbook_fin import (
    HandbookFin,
    effective_aspect_ratio,
    handbook_fin,
    run_to_centre,
)
from core.stability.side_area import SideAreaCounter
from core.stability.surfaces import lift_slope
from tests.core.making import SOME, box, curved_designs, design_of, traced

BODY = box("fuselage", "fuselage", 0, -40, 600, 40)


def aeroplane(*outlines: Outline, **more: Any) -> Aeroplane:
    design = design_of(*outlines, **more)
    side = SideAreaCounter().count(design)
    return Aeroplane(design, side, design.cg_mark, "mark the CG", side.tail_moments.centroid())


def found(*outlines: Outline) -> HandbookFin:
    fin = handbook_fin(aeroplane(*outlines))
    assert isinstance(fin, HandbookFin), fin
    return fin


def test_a_square_fin_on_a_square_body() -> None:
    """100 × 180 on a body whose middle lies 40 below its root: 100 × 220 to the middle."""
    fin = found(BODY, box("fin", "fin", 480, 40, 580, 220))
    slope = lift_slope(1.55 * 220**2 / (100 * 220))
    assert fin.side == pytest.approx(slope * 100 * 220)
    assert (fin.area, fin.lift_slope, fin.below) == pytest.approx((22000, slope, 0))
    assert fin.side_x == pytest.approx(fin.side * (480 + 25))


def test_the_run_to_the_centre_by_hand() -> None:
    """80 mm of body below a fin of 9000 mm² whose root chord is 90: S' 9000 + 7200, b' 180, A' 2."""
    run = run_to_centre(9000, 90, 100, FinRoot(0, 0, -80), 0.0)
    assert (run.area, run.aspect_ratio) == pytest.approx((16200, 2.0))
    # Helmbold's at 3.1, with a calculator: 2π·3.1/(2 + √(4 + 9.61)) = 3.4237
    assert run.lift_slope == pytest.approx(3.4237, abs=1e-4)


def test_what_hangs_below_the_body_s_top_is_left_out() -> None:
    fin = box("fin", "fin", 480, 40, 580, 220)
    down = box("rudder", "rudder", 600, -40, 640, 220)
    with_it, cut = found(BODY, fin, down), found(BODY, fin, box("rudder", "rudder", 600, 40, 640, 220))
    assert with_it.side == pytest.approx(cut.side, rel=2e-3), "the slices at the body's top are whole"
    assert with_it.below == pytest.approx(40 * 80, rel=0.02)
    # The arm is the whole exposed fin's.
    form = fin_form(single_fin(aeroplane(BODY, fin, down)))
    assert form is not None and with_it.side_x / with_it.side == pytest.approx(form.quarter_chord_x)


def test_a_fillet_is_no_root_chord() -> None:
    """A long low fillet ahead of the fin adds its own area, not its length times the body."""
    plain = traced("fin", "fin", [(480, 40), (580, 40), (580, 220), (480, 220)])
    filleted = traced("fin", "fin", [(300, 40), (580, 40), (580, 220), (480, 220), (480, 55)])
    one, other = found(BODY, plain), found(BODY, filleted)
    assert other.area - one.area == pytest.approx(0.5 * 180 * 15, rel=0.01)


def test_a_fillet_that_begins_to_grow_changes_nothing_at_once() -> None:
    """On a deck that slopes, the fillet lies ahead of the fin in slices that both of them are cut by."""
    deck = traced("fuselage", "fuselage", [(0, -40), (0, 60), (600, 20), (600, -20)])
    fin = [(520, 200), (600, 200), (600, 20)]

    def with_fillet(high: float) -> HandbookFin:
        # From 280 on the deck's line, to the fin's leading edge.
        return found(deck, traced("fin", "fin", [(280, 60 - 280 / 15), (480, 28 + high), *fin]))

    sides = [with_fillet(high).side for high in (0.01, 0.5, 1.0, 2.0)]
    bare = found(deck, traced("fin", "fin", [(480, 60 - 480 / 15), *fin])).side
    assert sides == pytest.approx([bare] * 4, rel=5e-3)


def test_beyond_the_fuselage_s_end_its_end_is_taken_or_the_boom_that_carries_the_fin() -> None:
    behind = box("fin", "fin", 700, 40, 800, 220)
    end = fin_root(aeroplane(BODY, behind))
    assert isinstance(end, FinRoot) and (end.top, end.middle) == (40, 0) and 590 < end.x < 600
    boom = box("boom", "other", 550, 20, 800, 40)
    root = fin_root(aeroplane(BODY, behind, boom))
    assert isinstance(root, FinRoot) and (root.x, root.top, root.middle) == pytest.approx((725, 40, 30))


def test_the_charts_do_not_reach_a_fin_lower_than_half_the_body() -> None:
    """Against slender bodies they are six times too strong for a fin of an eighth of the body's depth."""
    reaches = [found(BODY, box("fin", "fin", 480, 40, 580, 40 + h)).reach for h in (10, 40, 60, 80, 180)]
    assert reaches == pytest.approx([0, 0, 0.5, 1, 1], abs=1e-9)
    with_pair = found(
        BODY, box("fin", "fin", 480, 40, 580, 50), box("pair", "fin", 500, 60, 600, 200, count=2)
    )
    assert 0.5 < with_pair.reach < 1, "the pair is in reach, and counts by what it gives"


def test_pairs_and_fins_on_nothing_stand_by_themselves() -> None:
    pair = found(BODY, box("fin", "fin", 500, 0, 600, 150, count=2))
    assert pair.side == pytest.approx(2 * 15000 * lift_slope(1.5))
    under = found(BODY, box("fin", "fin", 610, -200, 690, -50))
    assert under.side == pytest.approx(80 * 150 * lift_slope(150 / 80)), "nothing of it rises above the body"


def test_how_it_stalls_is_by_the_aspect_ratio_that_acts() -> None:
    a = aeroplane(BODY, box("fin", "fin", 480, 40, 580, 220))
    assert effective_aspect_ratio(a) == pytest.approx(1.55 * 2.2)
    assert effective_aspect_ratio(aeroplane(BODY)) is None


def test_reasons() -> None:
    assert handbook_fin(aeroplane(BODY)) == NO_TAIL
    covered = aeroplane(BODY, box("fin", "fin", 300, -20, 350, 20))
    assert handbook_fin(covered) == COVERED_TAIL and fin_root(covered) == COVERED_TAIL
    assert fin_root(aeroplane(BODY, box("fin", "fin", 500, 0, 600, 150, count=2))) == NO_SINGLE_FIN


def test_the_part_above_a_height() -> None:
    pieces = single_fin(aeroplane(BODY, traced("fin", "fin", [(480, 40), (580, 40), (580, 220), (540, 220)])))
    above, whole = fin_form_above(pieces, 130), fin_form(pieces)
    assert above is not None and whole is not None
    # Half way up the chord is 70, at the tip 40.
    assert chord_at(pieces, 130) == pytest.approx(70)
    assert (above.height, above.area) == pytest.approx((90, 90 * 55))
    assert above.mac == pytest.approx((70**3 - 40**3) / 30 / 3 / 55, rel=1e-4)
    assert fin_form_above(pieces, 220) is None and fin_form_above(pieces, 0) == whole


@given(curved_designs(), st.floats(0.3, 4.0))
@SOME
def test_any_tail_gives_a_figure_or_a_reason_whatever_its_size(design: Design, by: float) -> None:
    def a(design: Design) -> Aeroplane:
        side = SideAreaCounter().count(design)
        return Aeroplane(design, side, None, "mark the CG", None)

    def grown(o: Outline) -> Outline:
        return msgspec.structs.replace(o, nodes=tuple(
            msgspec.structs.replace(
                n, x=n.x * by, z=n.z * by,
                handle_in=n.handle_in and (n.handle_in[0] * by, n.handle_in[1] * by),
                handle_out=n.handle_out and (n.handle_out[0] * by, n.handle_out[1] * by),
            ) for n in o.nodes
        ))

    one = handbook_fin(a(design))
    other = handbook_fin(a(msgspec.structs.replace(design, outlines=tuple(map(grown, design.outlines)))))
    if isinstance(one, str) or isinstance(other, str):
        return
    assert math.isfinite(one.side) and one.side >= 0 and one.below >= 0
    # Curves are flattened to 0.01 mm whatever the size; slivers may go either way.
    if one.area > 100 and other.area > 100:
        assert other.side == pytest.approx(one.side * by * by, rel=0.02)
