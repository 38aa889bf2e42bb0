"""Refits of aeroplanes made up at random: whatever is put back reads what was asked for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from making import FEW, SOME, box, curved_outline, design_of, traced

from core.design import Aim, Design, Mark, Node, Outline, Station, Tailplane, Weight, Wing
from core.design_check import problems
from core.redesign.outline_edits import EditError
from core.redesign.probe import Target
from core.redesign.refit import refit
from core.redesign.refit_ways import WAYS, WayKey, way_of
from core.stability.readings import ReadingsEngine

NEAR = 1e-4


def reading(design: Design, target: Target) -> float | None:
    return ReadingsEngine().read(design).value(target)


@st.composite
def aeroplanes(draw: st.DrawFn) -> Design:
    """Fuselage, canopy, swept or upright fin with or without rudder, one or two, buried or not."""
    long, deep = draw(st.integers(600, 1400)), draw(st.integers(50, 160))
    root, high = draw(st.integers(80, 220)), draw(st.integers(70, 260))
    sweep, taper = draw(st.integers(-10, 90)), draw(st.integers(3, 10)) / 10
    bury = draw(st.sampled_from((1, 5, 20)))
    count = draw(st.sampled_from((1, 1, 2)))
    grams = draw(st.sampled_from((None, 6.0, 15.0)))
    oval = curved_outline("body", "fuselage", long / 2, 0, long)
    squash = 2 * deep / long
    nodes = tuple(
        Node(
            n.x, n.z * squash,
            (n.handle_in[0], n.handle_in[1] * squash) if n.handle_in else None,
            (n.handle_out[0], n.handle_out[1] * squash) if n.handle_out else None,
        )
        for n in oval.nodes
    )
    body = Outline("body", "fuselage", nodes)
    foot = long - root - draw(st.integers(0, 40))
    z = -bury
    hinge = foot + 0.6 * root
    fin = traced(
        "fin", "fin",
        ((foot, z), (foot + sweep, high), (hinge + sweep * taper * 0.3, high * 0.98), (hinge, z)),
        count=count, grams_per_dm2=grams,
    )
    rudder = traced(
        "rudder", "rudder",
        ((hinge, z), (hinge + sweep * taper * 0.3, high * 0.98),
         (hinge + 0.4 * root * taper + sweep * 0.3, high * 0.9), (hinge + 0.4 * root, z)),
        count=count, grams_per_dm2=grams,
    )
    parts = [body, fin] + ([rudder] if draw(st.booleans()) else [])
    if draw(st.booleans()):
        parts.append(box("cabin", "canopy", 0.25 * long, 0, 0.45 * long, 0.5 * deep + 30))
    chord = draw(st.integers(140, 260))
    le = 0.28 * long
    wing = Wing("wing", (Station(0, le, chord, 20), Station(0.6 * long, le + 20, 0.8 * chord, 60)))
    tailplane = Tailplane(
        "tailplane", (Station(0, foot, 0.5 * chord, 5), Station(0.2 * long, foot, 0.4 * chord, 5))
    )
    weights = (Weight("battery", 300, 0.12 * long), Weight("rest", 900, 0.42 * long))
    return design_of(
        *parts, wings=(wing,), tailplanes=(tailplane,), weights=weights, cg_mark=Mark(le + 0.33 * chord, 5),
        cg_from=draw(st.sampled_from(("mark", "weights"))),
        aim=Aim(fin_centre=draw(st.sampled_from(("centroid", "quarter_chord")))),
    )


@SOME
@given(aeroplanes(), st.sampled_from(WAYS), st.floats(-0.04, 0.06))
def test_any_aeroplane_any_way(design: Design, key: WayKey, more: float) -> None:
    start = reading(design, "cla_fraction")
    assume(start is not None)
    assert start is not None
    try:
        found = refit(design, key, "cla_fraction", start + more)
    except EditError as error:
        assert str(error)
        return
    got = reading(found.design, "cla_fraction")
    assert got is not None and got == pytest.approx(found.reached, abs=1e-9)
    assert not problems(found.design)
    if found.solved:
        assert abs(got - (start + more)) <= NEAR
        assert found.words and design.wings[0].stations == found.design.wings[0].stations
    else:
        # No way comes nearer than what is said to be the nearest: half a grid apart at most.
        assert abs(got - (start + more)) <= abs(more) + 1e-9


@FEW
@given(aeroplanes(), st.sampled_from(("scale", "height", "chord")), st.floats(0.02, 0.1))
def test_any_fin_reaches_any_cn_beta_between(design: Design, key: WayKey, wanted: float) -> None:
    way = way_of(design, key)
    ends = [reading(way.make(x), "cn_beta") for x in (way.grid[0], way.grid[-1])]
    assume(all(v is not None for v in ends))
    low, high = sorted(v for v in ends if v is not None)
    found = refit(design, key, "cn_beta", wanted)
    if low < wanted < high and not found.solved:
        # Cnβ leaps over the value: where a sliver of the fin comes to count, its height does at once.
        # Then no size comes nearer than the one that is named.
        steps = np.linspace(way.grid[0], way.grid[-1], 161)
        swept = [v for v in (reading(way.make(float(x)), "cn_beta") for x in steps) if v is not None]
        assert min(abs(v - wanted) for v in swept) >= abs(found.reached - wanted) - 1e-9
    if found.solved:
        assert reading(found.design, "cn_beta") == pytest.approx(wanted, abs=NEAR)
