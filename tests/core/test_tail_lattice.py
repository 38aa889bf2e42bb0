"""The tail laid out as a lattice: what sits on what, and what each part does to the whole."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, pi, radians, sin
from typing import Any

import msgspec
import numpy as np
import pytest
from making import box, design_of, traced

from core.design import Design, Node, Outline, Station, Tailplane
from core.stability.aeroplane import Aeroplane
from core.stability.fin import fin_form
from core.stability.lateral.fin_root import single_fin
from core.stability.lateral.tail_lattice import UNSOLVED, TailLoad, tail_load
from core.stability.side_area import SideAreaCounter
from core.stability.surfaces import lift_slope

BODY = traced("hull", "fuselage", ((0, -40), (250, -60), (900, -14), (900, 14), (250, 60), (0, 30)))
FIN = traced("fin", "fin", ((740, 10), (800, 190), (850, 190), (850, 10)))
RUDDER = traced("rudder", "rudder", ((850, 10), (850, 190), (905, 190), (905, 14), (900, 14), (900, 10)))
HANGING = traced("rudder", "rudder", ((850, 10), (850, 190), (920, 190), (920, -14), (900, -14), (900, 10)))


def aeroplane(*outlines: Outline, coarse: bool = False, **more: Any) -> Aeroplane:
    """Counted, without a CG: the lattice needs none."""
    return of(design_of(*outlines, **more), coarse)


def of(design: Design, coarse: bool = False) -> Aeroplane:
    return Aeroplane(design, SideAreaCounter().count(design), None, "mark the CG", None, coarse)


def load(*outlines: Outline, **more: Any) -> TailLoad:
    found = tail_load(aeroplane(*outlines, **more))
    assert isinstance(found, TailLoad), found
    return found


def flat(
    z: float, half: float = 230.0, x: float = 790.0, chord: float = 110.0, rise: float = 0.0
) -> Tailplane:
    """An untapered tailplane whose tips stand ``rise`` mm above its root at ``z``."""
    return Tailplane(f"flat{z:g}", (Station(0, x, chord, z), Station(half, x + 15, chord, z + rise)))


def moved(design: Design, x: float, z: float, by: float = 1.0) -> Design:
    """Every part scaled about the origin, then moved."""
    def node(n: Node) -> Node:
        return Node(by * n.x + x, by * n.z + z)

    return msgspec.structs.replace(
        design,
        outlines=tuple(
            msgspec.structs.replace(
                o, nodes=tuple(map(node, o.nodes)), apart=None if o.apart is None else by * o.apart
            )
            for o in design.outlines
        ),
        tailplanes=tuple(
            msgspec.structs.replace(
                t, stations=tuple(
                    Station(by * s.y, by * s.le_x + x, by * s.chord, by * s.z + z) for s in t.stations
                ),
            )
            for t in design.tailplanes
        ),
    )


WHOLE = (BODY, FIN, RUDDER)


def test_a_single_fin_lies_between_a_free_plate_and_one_doubled_in_a_mirror() -> None:
    """Handbook slopes, which a lattice with exact limits does not share: at A alone, and at 2 A."""
    form = fin_form(single_fin(aeroplane(*WHOLE)))
    assert form is not None
    found = load(*WHOLE).side / form.area
    assert lift_slope(form.aspect_ratio, form.sweep_half_deg) < found
    assert found < 1.15 * lift_slope(2.0 * form.aspect_ratio, form.sweep_half_deg)


def test_the_load_acts_near_the_quarter_chord_and_above_the_middle_of_the_fin_on_its_body() -> None:
    found = load(*WHOLE)
    form = fin_form(single_fin(aeroplane(*WHOLE)))
    assert form is not None
    assert found.side_x / found.side == pytest.approx(form.quarter_chord_x, abs=0.1 * form.mac)
    # The body's share acts at its middle.
    assert 50.0 < found.side_z / found.side < 100.0


@pytest.mark.parametrize("tailplanes", ((), (flat(0),), (flat(186),), (flat(60), flat(120, 100, 700))))
@pytest.mark.parametrize("parts", (WHOLE, (BODY, FIN, HANGING), (BODY, FIN)))
def test_half_as_fine_moves_it_little(parts: tuple[Outline, ...], tailplanes: tuple[Tailplane, ...]) -> None:
    full, coarse = (
        load(*parts, tailplanes=tailplanes, coarse=coarse) for coarse in (False, True)
    )
    assert coarse.side == pytest.approx(full.side, rel=0.032)
    assert coarse.side_x == pytest.approx(full.side_x, rel=0.032)


@pytest.mark.parametrize("z", (0.0, 70.0, 100.0, 188.0))
def test_refined_twice_it_moves_by_less_than_two_in_a_hundred(
    z: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = load(*WHOLE, tailplanes=(flat(z),))
    for name, strips in (("FIN_PANELS", 12), ("TAIL_STRIPS", 20), ("TAIL_PANELS", 10)):
        monkeypatch.setattr(f"core.stability.lateral.tail_panels.{name}", strips)
    monkeypatch.setattr("core.stability.lateral.tail_panels.Upright.strips", 48)
    after = load(*(traced(o.id, o.kind, [(n.x, n.z) for n in o.nodes]) for o in WHOLE), tailplanes=(flat(z),))
    assert after.side == pytest.approx(before.side, rel=0.02)
    assert after.side != before.side


def test_a_tailplane_on_the_tip_raises_it_and_one_at_mid_height_little() -> None:
    """An end plate as wide as the fin is high makes it look half as high again or so."""
    bare = load(*WHOLE).side
    tip, middle = load(*WHOLE, tailplanes=(flat(190),)).side, load(*WHOLE, tailplanes=(flat(100),)).side
    assert 1.15 * bare < tip < 1.6 * bare
    assert 0.97 * bare < middle < 1.08 * bare


def test_a_little_off_the_tip_it_sits_on_it() -> None:
    height = 190 - 16
    on = load(*WHOLE, tailplanes=(flat(190),))
    for z in (190 - 0.05 * height, 190 + 0.05 * height):
        assert load(*WHOLE, tailplanes=(flat(z),)).side == pytest.approx(on.side, rel=1e-9)


def test_the_farther_a_tailplane_the_less_it_does() -> None:
    bare = load(*WHOLE).side
    gains = [load(*WHOLE, tailplanes=(flat(z),)).side - bare for z in (190, 220, 300, 600, 2400)]
    assert gains == sorted(gains, reverse=True)
    assert abs(gains[-1]) < 0.005 * bare


def test_it_is_smooth_where_a_tailplane_passes_the_fin() -> None:
    """From the body to well above the fin: no height at which it leaps."""
    found = [load(*WHOLE, tailplanes=(flat(z),)).side for z in np.arange(2.0, 150.0, 3.1)]
    assert max(abs(b / a - 1.0) for a, b in pairwise(found)) < 0.025


@pytest.mark.parametrize("tailplanes", ((), (flat(190),), (flat(0, rise=90),)))
def test_moved_and_scaled_aeroplanes(tailplanes: tuple[Tailplane, ...]) -> None:
    ventral = box("ventral", "ventral fin", 820, -60, 900, -10)
    design = design_of(BODY, FIN, HANGING, ventral, tailplanes=tailplanes)
    one = tail_load(of(design))
    far = tail_load(of(moved(design, 4000.0, -700.0)))
    large = tail_load(of(moved(design, 0.0, 0.0, 8.0)))
    assert isinstance(one, TailLoad) and isinstance(far, TailLoad) and isinstance(large, TailLoad)
    assert far.side == pytest.approx(one.side, rel=1e-4)
    assert far.side_x == pytest.approx(one.side_x + 4000.0 * one.side, rel=1e-4)
    assert far.side_z == pytest.approx(one.side_z - 700.0 * one.side, rel=1e-4)
    assert large.side == pytest.approx(64.0 * one.side, rel=2e-3)
    assert large.side_x == pytest.approx(512.0 * one.side_x, rel=2e-3)


def test_a_v_tail_gives_sin_squared_of_its_dihedral() -> None:
    """Each panel meets sin Γ of the wind and sends sin Γ of its force sideways.

    Beside it a fin so small that it only tells where the body is. Loaded oppositely, each half has the
    slope of one that stands alone, but for what the halves do to each other: 4 % between 15° and 45°.
    """
    half, chord = 260.0, 100.0
    small = box("fin", "fin", 800, 5, 830, 30)
    without = load(BODY, small)
    slopes = []
    for gamma in map(radians, (15.0, 25.0, 35.0, 45.0)):
        y, z = half * cos(gamma), half * sin(gamma)
        vee = Tailplane("vee", (Station(0, 800, chord, 0), Station(y, 800, chord, z)))
        with_it = load(BODY, small, tailplanes=(vee,))
        slopes.append((with_it.side - without.side) / (2.0 * half * chord) / sin(gamma) ** 2)
        # It acts between root and tips.
        rise = (with_it.side_z - without.side_z) / (with_it.side - without.side)
        assert 0.3 * z < rise < 0.6 * z
    assert max(slopes) < 1.04 * min(slopes)
    # The handbook's slope runs up to 8 % high; the body takes a little off the root.
    assert slopes[0] == pytest.approx(lift_slope(half / chord), rel=0.12)


def test_flat_tailplanes_give_no_side_force_of_their_own() -> None:
    """Without fins in their way: mounted at the middle of the body, far ahead."""
    bare = load(*WHOLE)
    ahead = load(*WHOLE, tailplanes=(flat(0, x=-4000.0),))
    assert ahead.side == pytest.approx(bare.side, rel=0.002)


PAIR = (
    box("fin", "fin", 780, -20, 850, 130, count=2),
    box("rudder", "rudder", 850, -20, 900, 130, count=2),
)


def apart(distance: float) -> tuple[Outline, ...]:
    return tuple(msgspec.structs.replace(o, apart=distance) for o in PAIR)


def test_twin_fins_far_apart_are_two_single_ones() -> None:
    alone = load(BODY, *PAIR)
    far = load(BODY, *apart(6000.0))
    assert far.side == pytest.approx(alone.side, rel=2e-3)
    # Each is a free plate: within the handbook's 8 % of its own slope.
    slope = lift_slope(150.0**2 / (150.0 * 120.0))
    assert alone.side / (2 * 150.0 * 120.0) == pytest.approx(slope, rel=0.08)


def test_twin_fins_shade_each_other_the_closer_they_stand() -> None:
    sides = [load(BODY, *apart(d)).side for d in (6000.0, 1000.0, 400.0, 150.0, 40.0)]
    assert sides == sorted(sides, reverse=True)
    one = load(BODY, *(msgspec.structs.replace(o, count=1, stance="clear") for o in apart(0.0)))
    # Quite together they are one plate; a single clear fin stands on the body, and gains by it.
    together = load(BODY, *apart(0.001)).side
    assert 0.5 * sides[0] == pytest.approx(together, rel=1e-3)
    assert sides[-1] > together
    assert one.side > together


def test_a_pair_of_unknown_distance_stands_at_the_tips() -> None:
    tailplane = flat(0.0)
    at_tips = load(BODY, *apart(460.0), tailplanes=(tailplane,))
    unknown = load(BODY, *PAIR, tailplanes=(tailplane,))
    assert unknown.side == pytest.approx(at_tips.side, rel=1e-9)
    # A rudder whose distance is not said stands where its fin does; two that differ, or nought, say nothing.
    half = load(BODY, apart(300.0)[0], PAIR[1], tailplanes=(tailplane,))
    assert half.side == pytest.approx(load(BODY, *apart(300.0), tailplanes=(tailplane,)).side, rel=1e-9)
    for odd in ((apart(300.0)[0], apart(290.0)[1]), apart(0.0)):
        assert load(BODY, *odd, tailplanes=(tailplane,)).side == pytest.approx(at_tips.side, rel=1e-9)
    # End plates on a tailplane: each gains by it.
    assert at_tips.side > 1.02 * load(BODY, *PAIR).side


def test_a_rudder_without_a_distance_stands_with_its_fin() -> None:
    both = load(BODY, *apart(300.0))
    one = load(BODY, apart(300.0)[0], PAIR[1])
    assert one.side == pytest.approx(both.side, rel=1e-9)


def test_three_fins_are_each_alone() -> None:
    three = load(BODY, *(msgspec.structs.replace(o, count=3) for o in PAIR))
    assert three.side == pytest.approx(1.5 * load(BODY, *PAIR).side, rel=1e-9)


def test_a_ventral_fin_adds_to_what_stands_above() -> None:
    below = box("ventral", "ventral fin", 800, -80, 890, -10)
    gain = load(*WHOLE, below).side - load(*WHOLE).side
    exposed = 90.0 * (80.0 - 17.0)
    # Low and long on a body, and longer the fin above by itself: more than its own slope, not than 2π.
    assert lift_slope(63.0 / 90.0) < gain / exposed < 2 * pi


def test_fin_above_and_the_same_below_give_twice_the_same() -> None:
    """On a body of even depth, upside down what stands above. Each is to the other what a mirror is to a
    wing: both gain, but less than from their own aspect ratio to twice that.
    """
    tube = box("hull", "fuselage", 0, -25, 1000, 25)
    fin = traced("fin", "fin", ((760, 20), (800, 165), (880, 165), (880, 20)))
    ventral = traced("ventral", "ventral fin", ((760, -20), (800, -165), (880, -165), (880, -20)))
    above, both = load(tube, fin), load(tube, fin, ventral)
    form = fin_form(single_fin(aeroplane(tube, fin)))
    assert form is not None
    most = lift_slope(2 * form.aspect_ratio) / lift_slope(form.aspect_ratio)
    assert 2.05 * above.side < both.side < 2.0 * most * above.side
    assert both.side_z == pytest.approx(0.0, abs=0.02 * above.side * 165.0)


def test_what_hangs_below_behind_the_body_is_taken_by_itself() -> None:
    whole, without = load(BODY, FIN, HANGING), load(BODY, FIN, RUDDER)
    assert whole.side > without.side
    assert (whole.side - without.side) < 4.0 * 20.0 * 210.0


def test_the_cg_and_what_lies_elsewhere_do_not_lay_it_anew() -> None:
    design = design_of(*WHOLE, box("leg", "gear leg", 200, -150, 220, -50), tailplanes=(flat(0.0),))
    counter = SideAreaCounter()
    first = Aeroplane(design, counter.count(design), None, "", None)
    found = tail_load(first)
    other = msgspec.structs.replace(design, outlines=(*design.outlines[:3],), title="Another")
    second = Aeroplane(other, counter.count(other), None, "", None)
    assert tail_load(second) is found
    assert tail_load(replace(first, coarse=True)) is not found
    changed = msgspec.structs.replace(design, tailplanes=())
    assert tail_load(Aeroplane(changed, counter.count(changed), None, "", None)) != found


def test_reasons_where_there_is_nothing_to_lay() -> None:
    assert tail_load(aeroplane(BODY)) == "trace the fin or the rudder"
    assert tail_load(aeroplane(FIN, RUDDER)) == "trace the fuselage"
    hidden = box("fin", "fin", 300, -10, 350, 10)
    assert "wholly covered" in str(tail_load(aeroplane(BODY, hidden)))
    assert isinstance(tail_load(aeroplane(*WHOLE, tailplanes=(Tailplane("t", (Station(0, 800, 90),)),))), str)
    assert UNSOLVED[0].islower() and not UNSOLVED.endswith(".")


def test_a_fillet_that_grows_comes_in_little_by_little() -> None:
    """Not by whole strips: from one half of a millimetre to the next the load hardly moves."""
    tube = box("hull", "fuselage", 0, -25, 1000, 25)
    found = []
    for top in np.arange(30.0, 45.0, 0.5):
        fillet = traced("fin", "fin", (
            (600, 20), (600, top), (770, top), (800, 190), (905, 190), (905, 20)
        ))
        found.append(load(tube, fillet).side)
    assert max(abs(b / a - 1.0) for a, b in pairwise(found)) < 0.005
