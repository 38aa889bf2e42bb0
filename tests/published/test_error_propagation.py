"""First-order propagation of errors.

Source: σ_f² = Σ (∂f/∂xᵢ)² σᵢ² for independent errors (exact to first order; any text on errors of
observation, e.g. ISO/IEC Guide 98-3, equation 10, from memory). The derivatives come from closed
forms of triangles, or from central differences of a full recount.
"""

from __future__ import annotations

from itertools import product
from math import sqrt

import msgspec
import pytest

from core.design import Design, Mark, Weight
from core.stability.aeroplane import Aeroplane
from core.stability.readings import ReadingsEngine
from core.stability.uncertainty import cla_fraction_error
from tests.core.making import box, curved_outline, design_of, traced

STEP = 1e-3


def aeroplane(design: Design) -> Aeroplane:
    readings = ReadingsEngine().read(design)
    return Aeroplane(design, readings.side, readings.cg, "", readings.fin_centre)


def fraction(design: Design) -> float:
    found = ReadingsEngine().read(design).value("cla_fraction")
    assert found is not None
    return found


def moved(design: Design, outline: int, node: int, dx: float, dz: float) -> Design:
    o = design.outlines[outline]
    n = o.nodes[node]
    n = msgspec.structs.replace(n, x=n.x + dx, z=n.z + dz)
    o = msgspec.structs.replace(o, nodes=(*o.nodes[:node], n, *o.nodes[node + 1 :]))
    outlines = (*design.outlines[:outline], o, *design.outlines[outline + 1 :])
    return msgspec.structs.replace(design, outlines=outlines)


def by_differences(design: Design) -> float:
    """σ_f per mm, every node moved to and fro along x and z."""
    total = 0.0
    for i, outline in enumerate(design.outlines):
        for j, (dx, dz) in product(range(len(outline.nodes)), ((STEP, 0.0), (0.0, STEP))):
            ahead, behind = fraction(moved(design, i, j, dx, dz)), fraction(moved(design, i, j, -dx, -dz))
            total += ((ahead - behind) / (2 * STEP)) ** 2
    return sqrt(total)


def test_a_body_and_a_fin_of_triangles() -> None:
    """Both moments are polynomials of the corners: A = ½ u×v, ∫x dA = A (x₁ + x₂ + x₃)/3."""
    body, fin = ((0.0, 0.0), (600.0, 20.0), (100.0, 90.0)), ((700.0, 0.0), (800.0, 10.0), (780.0, 120.0))
    cg = 150.0

    def moments(p: tuple[tuple[float, float], ...]) -> tuple[float, float]:
        (x0, z0), (x1, z1), (x2, z2) = p
        area = 0.5 * ((x1 - x0) * (z2 - z0) - (x2 - x0) * (z1 - z0))
        return area, area * (x0 + x1 + x2) / 3

    def closed(b: tuple[tuple[float, float], ...], f: tuple[tuple[float, float], ...]) -> float:
        (a0, m0), (a1, m1) = moments(b), moments(f)
        return ((m0 + m1) / (a0 + a1) - cg) / (m1 / a1 - cg)

    design = design_of(traced("b", "fuselage", body), traced("t", "fin", fin), cg_mark=Mark(cg))
    assert fraction(design) == pytest.approx(closed(body, fin))
    total = 0.0
    for corner, axis in product(range(6), range(2)):
        ends = []
        for step in (STEP, -STEP):
            points = [list(p) for p in (*body, *fin)]
            points[corner][axis] += step
            at = tuple((x, z) for x, z in points)
            ends.append(closed(at[:3], at[3:]))
        total += ((ends[0] - ends[1]) / (2 * STEP)) ** 2
    # Central differences over a micrometre leave 1e-8.
    assert cla_fraction_error(aeroplane(design), 0.5) == pytest.approx(0.5 * sqrt(total), rel=1e-6)


def test_curves_pairs_and_gram_weights_apart_from_each_other() -> None:
    """Curved, doubled, self-crossing the other way round, and a CG that moves with what is traced."""
    fin = traced("fin", "fin", ((700, 60), (850, 60), (820, 190), (760, 180)), grams_per_dm2=9)
    design = design_of(
        msgspec.structs.replace(curved_outline("f", "fuselage", 300, 0, 600), grams_per_dm2=5.0),
        msgspec.structs.replace(fin, nodes=fin.nodes[::-1]),
        curved_outline("w", "wheel", 200, -250, 80, count=2),
        traced("bow", "strut", ((0, -300), (80, -200), (80, -300), (0, -200)), count=2),
        cg_from="weights", weights=(Weight("battery", 900, 60),),
    )
    # Flattening to a hundredth of a millimetre moves the differences by some parts in 10 000.
    assert cla_fraction_error(aeroplane(design), 1.0, 0.0) == pytest.approx(by_differences(design), rel=1e-3)


def test_overlaps_and_what_is_buried() -> None:
    """A fin and a joined pair let into the body, a buried box: only what shows counts."""
    design = design_of(
        curved_outline("f", "fuselage", 300, 0, 600),
        traced("fin", "fin", ((480, 0), (620, 0), (640, 180), (560, 190))),
        box("n", "nacelle", 100, -180, 240, -70, count=2),
        box("hidden", "other", 250, -20, 300, 20),
        cg_mark=Mark(150, 0),
    )
    design_alone = msgspec.structs.replace(design, outlines=design.outlines[:3])
    found = cla_fraction_error(aeroplane(design), 0.05)
    assert isinstance(found, float)
    # Where an edge dives under another it is weighed by five points in 60 mm: a few per cent of that edge.
    assert found / 0.05 == pytest.approx(by_differences(design), rel=0.03)
    assert found == pytest.approx(cla_fraction_error(aeroplane(design_alone), 0.05), rel=1e-12)


def test_a_wrong_scale_leaves_the_fraction_alone() -> None:
    body = traced("f", "fuselage", ((0, 0), (500, -40), (520, 70)))
    design = design_of(body, box("t", "fin", 540, 0, 640, 120), cg_mark=Mark(180))
    assert fraction(scaled(design, 1.02)) == pytest.approx(fraction(design), rel=1e-12)
    assert cla_fraction_error(aeroplane(design), 0.0, 0.02) == 0.0


def test_unless_traced_areas_weigh_against_typed_grams() -> None:
    design = design_of(
        box("f", "fuselage", 0, 0, 500, 80), box("t", "fin", 540, 0, 640, 120, grams_per_dm2=12),
        cg_from="weights", weights=(Weight("battery", 300, 120),),
    )
    change = (fraction(scaled(design, 1 + STEP)) - fraction(scaled(design, 1 - STEP))) / (2 * STEP)
    assert abs(change) > 1e-3
    assert cla_fraction_error(aeroplane(design), 0.0, 0.01) == pytest.approx(abs(change) * 0.01, rel=1e-5)


def scaled(design: Design, by: float) -> Design:
    """Every length times ``by``; typed grams and grams per dm² as they were."""
    outlines = tuple(
        msgspec.structs.replace(
            o, nodes=tuple(msgspec.structs.replace(n, x=n.x * by, z=n.z * by) for n in o.nodes)
        )
        for o in design.outlines
    )
    weights = tuple(msgspec.structs.replace(w, x=w.x * by, z=w.z * by) for w in design.weights)
    mark = design.cg_mark
    return msgspec.structs.replace(
        design, outlines=outlines, weights=weights, cg_mark=Mark(mark.x * by, mark.z * by) if mark else None
    )
