"""First-order propagation of errors.

Source: σ_f² = Σ (∂f/∂xᵢ)² σᵢ² for independent errors (exact to first order; any text on errors of
observation, e.g. ISO/IEC Guide 98-3, equation 10, from memory). The derivatives come from closed forms,
or from parallel curves drawn by the polygon library and a full recount: no line is shared with what is
tested.
"""

from __future__ import annotations

from math import sqrt

import msgspec
import pytest

from core.design import Design, Mark, Section, Station, Sure, Tailplane, Weight, Wing
from core.stability.aeroplane import Aeroplane
from core.stability.readings import ReadingsEngine
from core.stability.uncertainty import Errors, cla_fraction_errors
from tests.core.making import box, curved_outline, design_of, drawn_out, traced, trainer

STEP = 1e-3


def errors(design: Design) -> Errors:
    readings = ReadingsEngine().read(design)
    found = cla_fraction_errors(Aeroplane(design, readings.side, readings.cg, "", readings.fin_centre))
    assert isinstance(found, Errors), found
    return found


def fraction(design: Design) -> float:
    found = ReadingsEngine().read(design).value("cla_fraction")
    assert found is not None
    return found


def by_drawing(design: Design, step: float = STEP) -> float:
    """σ_f per mm: each outline in turn drawn too far out and in, the whole counted anew."""
    total = 0.0
    for i, outline in enumerate(design.outlines):
        ends = []
        for by in (step, -step):
            outlines = (*design.outlines[:i], drawn_out(outline, by), *design.outlines[i + 1 :])
            ends.append(fraction(msgspec.structs.replace(design, outlines=outlines)))
        total += ((ends[0] - ends[1]) / (2 * step)) ** 2
    return sqrt(total)


def test_a_body_and_a_fin_of_boxes() -> None:
    """A box a × b drawn s out has the area (a + 2s)(b + 2s), its middle where it was."""
    cg, body, fin = 150.0, (0.0, -40.0, 500.0, 40.0), (600.0, 0.0, 700.0, 120.0)

    def closed(s_body: float, s_fin: float) -> float:
        def measured(b: tuple[float, float, float, float], s: float) -> tuple[float, float]:
            area = (b[2] - b[0] + 2 * s) * (b[3] - b[1] + 2 * s)
            return area, area * (b[0] + b[2]) / 2

        (a0, m0), (a1, m1) = measured(body, s_body), measured(fin, s_fin)
        return ((m0 + m1) / (a0 + a1) - cg) / (m1 / a1 - cg)

    design = design_of(
        box("b", "fuselage", *body), box("t", "fin", *fin), cg_mark=Mark(cg), sure=Sure(0.5, 2.0)
    )
    assert fraction(design) == pytest.approx(closed(0, 0))
    one = (closed(STEP, 0) - closed(-STEP, 0)) / (2 * STEP)
    other = (closed(0, STEP) - closed(0, -STEP)) / (2 * STEP)
    found = errors(design)
    assert found.tracing == pytest.approx(0.5 * sqrt(one**2 + other**2), rel=1e-6)
    # f = (X − G)/(F − G): one millimetre of G is (1 − f)/(F − G).
    assert found.cg == pytest.approx(2.0 * (1 - closed(0, 0)) / (650 - cg), rel=1e-12)
    assert found.surfaces == 0.0
    assert found.whole == pytest.approx(sqrt(found.tracing**2 + found.cg**2), rel=1e-12)


def test_curves_pairs_and_what_is_half_hidden() -> None:
    design = msgspec.structs.replace(trainer(), wings=(), tailplanes=(), sure=Sure(1.0, 0.0))
    # Flattening to a hundredth of a millimetre, and five points in 60 mm where an edge dives under another.
    assert errors(design).tracing == pytest.approx(by_drawing(design), rel=0.02)


def test_overlaps_and_what_is_buried() -> None:
    """A fin and a joined pair let into the body, a buried box: only what shows counts."""
    design = design_of(
        curved_outline("f", "fuselage", 300, 0, 600),
        traced("fin", "fin", ((480, 0), (620, 0), (640, 180), (560, 190))),
        box("n", "nacelle", 100, -180, 240, -70, count=2),
        box("hidden", "other", 250, -20, 300, 20),
        cg_mark=Mark(150, 0), sure=Sure(0.05, 0.0),
    )
    alone = msgspec.structs.replace(design, outlines=design.outlines[:3])
    # Where an edge dives under another it is weighed by five points in 60 mm: a few per cent of that edge.
    assert errors(design).tracing / 0.05 == pytest.approx(by_drawing(design), rel=0.05)
    assert errors(design).tracing == pytest.approx(errors(alone).tracing, rel=1e-12)


def test_fin_and_rudder_on_one_slanting_hinge() -> None:
    """What one outline gains along a shared edge the other does not lose: it is there once."""
    design = design_of(
        box("f", "fuselage", 0, -40, 700, 40),
        traced("fin", "fin", ((560, 30), (650, 30), (630, 210), (600, 205))),
        traced("rudder", "rudder", ((650, 30), (720, 30), (700, 190), (630, 210))),
        cg_mark=Mark(250), sure=Sure(0.05, 0.0),
    )
    assert errors(design).tracing / 0.05 == pytest.approx(by_drawing(design), rel=0.03)


def test_it_does_not_depend_on_how_many_nodes_an_edge_has() -> None:
    corners = ((0.0, 0.0), (600.0, 20.0), (500.0, 90.0), (40.0, 80.0))
    split = [
        (x0 + (x1 - x0) * k / 8, z0 + (z1 - z0) * k / 8)
        for (x0, z0), (x1, z1) in zip(corners, (*corners[1:], corners[0]), strict=True) for k in range(8)
    ]
    fin = traced("t", "fin", ((620, 0), (720, 10), (700, 150)))
    few, many = (
        design_of(traced("b", "fuselage", c), fin, cg_mark=Mark(170.0)) for c in (corners, split)
    )
    assert errors(many).tracing == pytest.approx(errors(few).tracing, rel=1e-9)


@pytest.mark.parametrize("guessed", (False, True))
def test_heights_and_thicknesses_of_wing_and_tailplane(guessed: bool) -> None:
    """Central differences of a full recount: the tip up and down, the section thicker and thinner."""
    wing = Wing("w", (Station(0, 250, 200, 60), Station(600, 260, 160, 100)), section=Section(0.12))
    tail = Tailplane("h", (Station(0, 780, 120, 40), Station(220, 800, 80, 60)), section=Section(0.08))
    places = (
        "wings[0].stations[0].z", "wings[0].section.thickness",
        "tailplanes[0].stations[1].z", "tailplanes[0].section.thickness",
    )
    design = trainer(
        wings=(wing,), tailplanes=(tail,), sure=Sure(0.0, 0.0), guessed=places if guessed else ()
    )
    total = 0.0
    for group, surface in (("wings", wing), ("tailplanes", tail)):
        for what in ("tip", "thickness"):
            ends = []
            for by in (STEP, -STEP):
                root, tip = surface.stations
                if what == "tip":
                    changed = msgspec.structs.replace(
                        surface, stations=(root, msgspec.structs.replace(tip, z=tip.z + by))
                    )
                else:
                    section = Section(surface.section.thickness + by / root.chord)
                    changed = msgspec.structs.replace(surface, section=section)
                ends.append(fraction(msgspec.structs.replace(design, **{group: (changed,)})))
            total += ((ends[0] - ends[1]) / (2 * STEP)) ** 2
    off = 10.0 if guessed else 3.0
    # Ten millimetres of a small part are not quite first order.
    assert errors(design).surfaces == pytest.approx(off * sqrt(total), rel=0.08)
    assert errors(design).whole == errors(design).surfaces


def test_a_wrong_scale_leaves_the_fraction_alone() -> None:
    body = traced("f", "fuselage", ((0, 0), (500, -40), (520, 70)))
    design = design_of(body, box("t", "fin", 540, 0, 640, 120), cg_mark=Mark(180))
    large = msgspec.structs.replace(
        design, cg_mark=Mark(180 * 1.02),
        outlines=tuple(
            msgspec.structs.replace(
                o, nodes=tuple(msgspec.structs.replace(n, x=n.x * 1.02, z=n.z * 1.02) for n in o.nodes)
            )
            for o in design.outlines
        ),
    )
    assert fraction(large) == pytest.approx(fraction(design), rel=1e-12)
    # The same millimetres weigh less on a larger drawing, and nothing else is added.
    assert errors(large).whole == pytest.approx(errors(design).whole / 1.02, rel=1e-6)


def test_weights_that_give_the_cg_are_as_sure_as_a_mark() -> None:
    marked = trainer(sure=Sure(0.0, 4.0))
    weighed = trainer(sure=Sure(0.0, 4.0), cg_from="weights", weights=(Weight("all", 900, 320, 0, 10),))
    assert errors(weighed).cg == pytest.approx(errors(marked).cg, rel=1e-12)


@pytest.mark.parametrize(("tracing", "cg"), ((0.0, 0.0), (1.0, 0.0), (0.0, 6.0), (1.0, 6.0)))
def test_each_grows_with_its_own(tracing: float, cg: float) -> None:
    found, one = errors(trainer(sure=Sure(tracing, cg))), errors(trainer(sure=Sure(0.5, 3.0)))
    assert found.cg == pytest.approx(one.cg * cg / 3.0)
    # Where outlines share edges, how far to look for them goes along.
    assert found.tracing == pytest.approx(one.tracing * tracing / 0.5, rel=0.02)
