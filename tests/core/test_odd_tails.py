"""Tails as builders may have drawn them, or begun to: always a plausible load, or a reason."""

from __future__ import annotations

import numpy as np
import pytest
from making import box, traced
from test_tail_lattice import BODY, FIN, PAIR, RUDDER, WHOLE, aeroplane, apart, flat

from core.design import Node, Outline, Station, Tailplane
from core.stability.aeroplane import Aeroplane
from core.stability.lateral.handbook_fin import HandbookFin, handbook_fin
from core.stability.lateral.tail_lattice import TailLoad, tail_load
from core.stability.side_area import form_of

ODD: dict[str, tuple[tuple[Outline, ...], tuple[Tailplane, ...]]] = {
    "holes": ((BODY, Outline("fin", "fin", tuple(Node(x, z) for x, z in (
        (740, 10), (800, 190), (850, 190), (850, 10), (840, 10), (840, 100), (800, 100), (800, 60), (840, 60),
        (840, 10)))), RUDDER), ()),
    "a gap at the hinge": ((BODY, FIN, box("rudder", "rudder", 853, 14, 905, 190)), ()),
    "a slanted hinge": ((BODY, traced("fin", "fin", ((740, 10), (800, 190), (830, 190), (880, 10))),
                         traced("rudder", "rudder", ((880, 10), (830, 190), (890, 190), (930, 10)))), ()),
    "wholly below": ((BODY, box("fin", "fin", 800, -120, 880, -10)), ()),
    "body ends ahead": ((traced("hull", "fuselage", ((0, -40), (250, -60), (500, 0), (250, 60), (0, 30))),
                         FIN, RUDDER), (flat(60),)),
    "on a thin boom": ((traced("hull", "fuselage", ((0, -40), (250, -60), (500, 0), (250, 60), (0, 30))),
                        box("boom", "other", 480, -3, 860, 3),
                        box("fin", "fin", 780, -70, 870, 110)), (flat(0),)),
    "on a boom": ((traced("hull", "fuselage", ((0, -40), (250, -60), (500, 0), (250, 60), (0, 30))),
                   box("boom", "other", 480, -12, 860, 12),
                   box("fin", "fin", 780, -70, 870, 110)), (flat(12),)),
    "above the body": ((BODY, box("fin", "fin", 760, 60, 860, 200)), ()),
    "root off the middle": (WHOLE, (Tailplane("t", (Station(30, 800, 90, 5), Station(200, 810, 80, 5))),)),
    "root far out": (WHOLE, (Tailplane("t", (Station(120, 800, 90, 80), Station(300, 810, 80, 80))),)),
    "at the root": (WHOLE, (flat(16.5),)),
    "just at the tip": (WHOLE, (flat(190.0),)),
    "a hair above the tip": (WHOLE, (flat(190.0001),)),
    "one behind the other": (WHOLE, (flat(60, x=760, chord=50), flat(60.5, x=815, chord=60))),
    "anhedral": (WHOLE, (flat(40, rise=-90),)),
    "upright tips": (WHOLE, (Tailplane("t", (Station(0, 800, 90, 0), Station(200, 810, 80, 0),
                                            Station(200, 820, 70, 60))),)),
    "a step in the chord": (WHOLE, (Tailplane("t", (Station(0, 800, 90, 0), Station(100, 800, 90, 0),
                                                   Station(100, 820, 70, 0), Station(200, 820, 70, 0))),)),
    "pointed": ((BODY, traced("fin", "fin", ((740, 10), (905, 190), (905, 14), (900, 10)))),
                (Tailplane("t", (Station(0, 800, 90, 0), Station(200, 890, 0, 0))),)),
    "a sliver besides": ((*WHOLE, box("sliver", "fin", 870, 400, 871, 401)), ()),
    "pair and single": ((*WHOLE, *apart(460.0)), (flat(0),)),
    "pair on tips with dihedral": ((BODY, *PAIR), (flat(0, rise=60),)),
    "pair within the span": ((BODY, *apart(200.0)), (flat(40),)),
    "pair under the tailplane": ((BODY, *apart(200.0)), (flat(130),)),
    "pair of ventral fins": ((*WHOLE, box("v", "ventral fin", 800, -70, 880, -10, count=2)), (flat(0),)),
    "pair of ventral fins, apart": ((*WHOLE, box("v", "ventral fin", 800, -70, 880, -10, count=2, apart=60)),
                                    (flat(0),)),
    "ventral fin under a pair": (
        (BODY, *apart(460.0), box("v", "ventral fin", 800, -70, 880, -10)), (flat(0),)
    ),
    "all-moving, clear": ((BODY, box("fin", "fin", 780, 5, 880, 150, stance="clear")), ()),
}


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("coarse", (False, True))
def test_odd_tails_give_a_plausible_load(name: str, coarse: bool) -> None:
    """Between half and twice the slopes by the handbook times the areas."""
    outlines, tailplanes = ODD[name]
    a = aeroplane(*outlines, tailplanes=tailplanes, coarse=coarse)
    found = tail_load(a)
    assert isinstance(found, TailLoad), found
    reckoned = handbook(a)
    assert 0.5 * reckoned < found.side < 2.0 * reckoned, (found.side, reckoned)
    assert 600.0 < found.side_x / found.side < 950.0


def handbook(a: Aeroplane) -> float:
    """Slopes times areas: of the handbook's fins, ventral fins, and tailplanes by what of them rises."""
    fins = handbook_fin(a)
    assert isinstance(fins, HandbookFin)
    total = fins.side
    for outline in a.design.outlines:
        if outline.kind == "ventral fin":
            total += outline.count * 2.5 * form_of(outline).patch.moments.area
    for tailplane in a.design.tailplanes:
        first, last = tailplane.stations[0], tailplane.stations[-1]
        rise = abs(last.z - first.z)
        length = float(np.hypot(last.y - first.y, rise))
        total += 3.0 * rise**2 / length * (first.chord + last.chord)
    return total


def made_up(number: int) -> tuple[tuple[Outline, ...], tuple[Tailplane, ...], float]:
    """A plausible tail drawn by lot, and its scale: aeroplanes of half a metre to five."""
    draw = np.random.default_rng(number)
    by = float(draw.uniform(0.4, 4.0))
    end, depth = float(draw.uniform(820, 930)), float(draw.uniform(4, 45))
    up = float(draw.uniform(-40, 40))
    hull = traced("hull", "fuselage", (
        (0, -20 * by), (250 * by, -70 * by), (end * by, (up - depth) * by), (end * by, (up + depth) * by),
        (250 * by, 70 * by),
    ))
    height, root = float(draw.uniform(70, 240)), float(draw.uniform(70, 220))
    tip, sweep = root * float(draw.uniform(0.15, 1.1)), float(draw.uniform(-0.2, 1.0)) * height
    front = end - root * float(draw.uniform(0.5, 1.1))
    top = up + depth
    outlines = [hull]
    count = int(draw.choice((1, 1, 1, 2)))
    hinge = float(draw.uniform(0.5, 0.8))
    low = top - 8.0 if count == 1 else up - 0.3 * height
    fin = ((front, low), (front + sweep, low + height), (front + sweep + hinge * tip, low + height),
           (front + hinge * root, low))
    foot = up - depth if count == 1 and draw.uniform() < 0.4 else low
    rudder = ((front + hinge * root, foot), (front + hinge * root, low),
              (front + sweep + hinge * tip, low + height), (front + sweep + tip, low + height),
              (front + root, low), (front + root, foot))
    known = float(draw.uniform(80, 500)) * by if draw.uniform() < 0.5 else None
    for part, corners in (("fin", fin), ("rudder", rudder)):
        outlines.append(traced(part, part, [(x * by, z * by) for x, z in corners], count=count, apart=known))
    if draw.uniform() < 0.25:
        keel = up - depth - float(draw.uniform(15, 70))
        corners = (x * by for x in (end - 90, keel, end, up - depth + 5))
        outlines.append(box("ventral", "ventral fin", *corners))
    tailplanes = []
    if draw.uniform() < 0.85:
        z = float(draw.choice((up, top, low + float(draw.uniform(0, 1.1)) * height, low + height)))
        half, chord = float(draw.uniform(120, 350)), float(draw.uniform(60, 150))
        rise = float(draw.choice((0.0, 0.0, draw.uniform(-0.3, 0.8)))) * half
        inner = float(draw.choice((0.0, 0.0, draw.uniform(3, 30))))
        x = end - float(draw.uniform(0.4, 1.6)) * chord
        tailplanes.append(Tailplane("tail", (
            Station(inner * by, x * by, chord * by, z * by),
            Station(half * by, (x + float(draw.uniform(-20, 60))) * by, 0.7 * chord * by, (z + rise) * by),
        )))
    return tuple(outlines), tuple(tailplanes), by


@pytest.mark.parametrize("tens", range(15))
def test_made_up_tails_give_a_plausible_load_at_a_plausible_place(tens: int) -> None:
    """A hundred and fifty, within 0.55 to 2.1 of the handbook: low fins with a tailplane on top gain most."""
    for number in range(10 * tens, 10 * tens + 10):
        outlines, tailplanes, by = made_up(number)
        a = aeroplane(*outlines, tailplanes=tailplanes, coarse=True)
        found = tail_load(a)
        assert isinstance(found, TailLoad), (number, found)
        reckoned = handbook(a)
        assert 0.55 < found.side / reckoned < 2.1, (number, found.side / reckoned)
        assert 550.0 * by < found.side_x / found.side < 1150.0 * by, number
