"""How sure the CLA fraction is: what half a millimetre at every node does to it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design import VERTICAL_TAIL, Outline
from core.geometry.memo import IdentityMemo
from core.geometry.patch import Patch
from core.geometry.regions import rings_of, union
from core.geometry.ring import Array
from core.stability.aeroplane import Aeroplane
from core.stability.balance import masses
from core.stability.side_area import OutlineForm, form_of

Bools = NDArray[np.bool_]

NODE_ERROR = 0.5
"""mm: how far a careful hand sets a node from the middle of a drawn line, per coordinate."""
SCALE_ERROR = 0.005
"""The scale of a copied plan, as a part of itself: paper shrinks and copiers stretch."""

NO_FRACTION = "it belongs to the CLA fraction, which is missing"

# Five Gauss points are exact for the degree eight integrands of an edge that counts evenly. Long
# edges are cut into pieces, so that what covers a part of one is not missed between two points.
_POINTS = 5
_PIECE = 60.0
_MOST_PIECES = 10
_POINTS_AT, _WEIGHTS = np.polynomial.legendre.leggauss(_POINTS)
_T, _SHARE = 0.5 * (1.0 + _POINTS_AT), 0.5 * _WEIGHTS
_FLAT = math.sin(math.radians(10.0))


@dataclass(eq=False)
class _Edges:
    """Sampled boundary of one outline: P points along its E edges."""

    points: Array
    """(P, 2) in mm."""
    outward: Array
    """(P, 2) outward normal times the length of boundary the sample stands for, in mm."""
    unit: Array
    """(P, 2) outward unit normal; zero where the outline runs along itself."""
    goes: Array
    """(P, 2): how far the sample goes along when the node at its edge's start, or at its end, moves by
    one with its handles: the Bernstein weights of that node and its handle together."""
    first: NDArray[np.int64]
    """(E,) each edge's first sample."""
    box: tuple[float, float, float, float]


_edges: IdentityMemo[_Edges] = IdentityMemo(32)
_inside: IdentityMemo[Bools] = IdentityMemo(96)


def cla_fraction_error(
    a: Aeroplane, node_error: float = NODE_ERROR, scale_error: float = SCALE_ERROR
) -> float | str:
    """One standard deviation of the CLA fraction from the errors of tracing, or why it is missing.

    Every node of every outline is taken to be off by ``node_error`` mm (one standard deviation, in x
    and in z, all independent; handles move along with their node), and all lengths to be off
    together by ``scale_error`` (a part of 1). Two re-tracings in three should fall within it. With
    f = (X − G)/L, L = F − G, to first order

        df = [dX − f dF − (1 − f) dG]/L,   A dX = ∮ (x − X) δn ds over the counted boundary,

    likewise dF over the boundary of the exposed vertical tail, and dG over whole outlines that weigh
    by their area, where the CG is taken from the weights. δn is how far the boundary moves outwards:
    that of an outline counts by how many times more the side area counts just inside than outside
    it, so a buried edge counts nothing, a double fin twice, and a fuselage edge under the fin counts
    for what it takes from the fin. Both are found a ``node_error`` to either side of the edge and
    averaged: where two outlines share an edge, what one gives is half taken by the other.

    What is not traced is taken as exact: the CG mark, typed stations and weights. A wrong scale
    changes every length alike and the fraction not at all, except where traced areas weigh against
    typed grams: that share is what ``scale_error`` adds. Range: errors that are small against the
    parts. Source: first-order propagation of errors (exact); the sizes of the errors are common
    practice, no source.
    """
    if not (math.isfinite(node_error) and node_error >= 0.0):
        return "give the node error as a length of 0 mm or more"
    if not (math.isfinite(scale_error) and scale_error >= 0.0):
        return "give the error of the scale as a part of 1, not below 0"
    cla, cg, fin = a.side.cla, a.cg, a.fin_centre
    if cla is None or cg is None or fin is None or not fin[0] - cg.x > 1e-9:
        return NO_FRACTION
    arm = fin[0] - cg.x
    fraction = (cla[0] - cg.x) / arm
    _edges.at_least(3 * len(a.design.outlines))
    _inside.at_least(24 * len(a.design.outlines))
    outlines = [(o, form_of(o)) for o in a.design.outlines]
    outlines = [(o, form) for o, form in outlines if form.patch.moments.area > 1e-9 and len(form.ring) > 1]
    weighing = _weighing(a)
    scaled = scale_error * (1.0 - fraction) * _areal_pull(a, cg.x) / arm
    if not outlines:
        return abs(scaled)
    edges = [_sampled(form) for _, form in outlines]
    sizes = [len(e.points) for e in edges]
    points = np.concatenate([e.points for e in edges])
    outward = np.concatenate([e.outward for e in edges])
    x = points[:, 0]
    counted, exposed = _jumps(outlines, edges, sizes, max(node_error, 1e-6))
    tail = a.side.tail_moments
    lever = x - fin[0]
    if a.design.aim.fin_centre == "quarter_chord":
        lever = _quarter_chord_levers(a, points, outward, exposed) - fin[0]
    weight = counted * (x - cla[0]) / a.side.moments.area - fraction * exposed * lever / tail.area
    if weighing:
        by_outline = [weighing.get(o.id, 0.0) for o, _ in outlines]
        weight -= (1.0 - fraction) * np.repeat(by_outline, sizes) * (x - cg.x)
    goes = np.concatenate([e.goes for e in edges])
    before = np.cumsum([0, *sizes[:-1]])
    starts = np.concatenate([e.first + b for e, b in zip(edges, before, strict=True)])
    pull = weight[:, None, None] * goes[:, :, None] * outward[:, None, :]
    by_edge = np.add.reduceat(pull, starts, axis=0)
    gradient, at_end = by_edge[:, 0], by_edge[:, 1]
    low = 0
    for e in edges:
        high = low + len(e.first)
        gradient[low:high] += np.roll(at_end[low:high], 1, axis=0)
        low = high
    error = math.hypot(node_error * float(np.sqrt((gradient**2).sum())) / arm, scaled)
    return error if math.isfinite(error) else "a number in the design is out of reach"


def _sampled(form: OutlineForm) -> _Edges:
    """The boundary of an outline at Gauss points. Kept by identity."""

    def compute() -> _Edges:
        ring = form.ring
        chord = np.hypot(*(ring.p3 - ring.p0).T)
        pieces = np.clip(np.ceil(chord / _PIECE), 1, _MOST_PIECES).astype(np.int64)
        edge = np.repeat(np.arange(len(ring)), pieces)
        piece = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
        t = ((piece[:, None] + _T) / pieces[edge][:, None]).reshape(-1, 1)
        share = (_SHARE / pieces[edge][:, None]).reshape(-1, 1)
        edge = np.repeat(edge, _POINTS)
        p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
        s = 1.0 - t
        b0, b1, b2, b3 = s**3, 3 * s * s * t, 3 * s * t * t, t**3
        points = b0 * p0 + b1 * p1 + b2 * p2 + b3 * p3
        slope = 3 * s * s * (p1 - p0) + 6 * s * t * (p2 - p1) + 3 * t * t * (p3 - p2)
        right = slope[:, ::-1] * (1.0, -1.0)
        length = np.hypot(right[:, 0], right[:, 1])
        unit = right / np.maximum(length, 1e-300)[:, None]
        c = form.corners
        n = np.roll(c, -1, axis=0)
        u, v = c - c[0], n - c[0]
        signed = 0.5 * float((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum())
        area = form.patch.moments.area
        side: float | Array = math.copysign(1.0, signed)
        if abs(abs(signed) - area) > 1e-9 * area:
            # It crosses itself: which side is inside differs from place to place.
            step = 1e-4 * math.sqrt(area) * unit
            side = (
                _contains(form.patch, points - step).astype(np.float64) - _contains(form.patch, points + step)
            )[:, None]
        first = (np.cumsum(pieces) - pieces) * _POINTS
        return _Edges(
            points, np.asarray(side * right * share), np.asarray(side * unit),
            np.concatenate((b0 + b1, b2 + b3), axis=1), first, form.box,
        )

    return _edges.get((form,), compute)


def _contains(patch: Patch, points: Array) -> Bools:
    shapely.prepare(patch.region)
    return np.asarray(shapely.contains_xy(patch.region, points[:, 0], points[:, 1]))


def _near(edges: _Edges, patch: Patch, offset: float) -> Bools | None:
    """(2, P): which samples, moved inwards and outwards by ``offset``, lie in ``patch``; None for none."""
    a, b = edges.box, patch.box
    if not (a[0] - offset < b[2] and b[0] < a[2] + offset and a[1] - offset < b[3] and b[1] < a[3] + offset):
        return None

    def compute() -> Bools:
        step = offset * edges.unit
        moved = np.concatenate((edges.points - step, edges.points + step))
        return _contains(patch, moved).reshape(2, -1)

    return _inside.get((edges, patch), compute, offset)


def _jumps(
    outlines: list[tuple[Outline, OutlineForm]], edges: list[_Edges], sizes: list[int], offset: float
) -> tuple[Array, Array]:
    """(counted, exposed), each (P,): by how much the count of the side area, and of the exposed
    vertical tail, is greater with the sample's own outline than without it.
    """
    total = sum(sizes)
    ends = np.cumsum(sizes)
    without = np.zeros((len(outlines), 2, total), dtype=np.bool_)
    own = np.zeros((len(outlines), 1, total), dtype=np.bool_)
    for i, (sampled, end) in enumerate(zip(edges, ends, strict=True)):
        span = slice(end - sizes[i], end)
        own[i, :, span] = True
        for j, (_, form) in enumerate(outlines):
            if j != i:
                found = _near(sampled, form.patch, offset)
                if found is not None:
                    without[j, :, span] = found
    plain = [o for o, _ in outlines]
    high_side, high_tail = _counts(plain, without | own)
    low_side, low_tail = _counts(plain, without)
    return (high_side - low_side).mean(axis=0), (high_tail - low_tail).mean(axis=0)


def _counts(outlines: list[Outline], inside: Bools) -> tuple[Array, Array]:
    """How often each place counts, in the side area and in the exposed vertical tail.

    The counting rule for places instead of regions: ``inside`` (outlines, ...) says what they lie in.
    """

    nowhere: Bools = np.zeros(inside.shape[1:], dtype=np.bool_)

    def within(rows: list[int]) -> Bools:
        found = nowhere
        for row in rows:
            found = found | inside[row]
        return found

    joined = [i for i, o in enumerate(outlines) if o.count == 1 and o.standing == "joined"]
    silhouette = within(joined)
    others = within([i for i in joined if outlines[i].kind not in VERTICAL_TAIL])
    side = silhouette.astype(np.float64)
    tail = np.zeros_like(side)
    for count in sorted({o.count for o in outlines}):
        here = [i for i, o in enumerate(outlines) if o.count == count]
        clear = [i for i in here if outlines[i].standing == "clear"]
        grown = [i for i in here if outlines[i].standing == "joined"]
        if clear or count > 1:
            side += count * (within(clear) | (within(grown if count > 1 else []) & ~silhouette))
        fins = [i for i in here if outlines[i].kind in VERTICAL_TAIL]
        if fins:
            standing = [i for i in fins if i in clear]
            tail += count * (within(standing) | (within([i for i in fins if i in grown]) & ~others))
    return side, tail


def _weighing(a: Aeroplane) -> dict[str, float]:
    """By outline id, the part of all mass in a mm² of it, where the CG comes from the weights."""
    if a.design.cg_from != "weights":
        return {}
    total = sum(m for m, _, _ in masses(a.design))
    if not total > 0.0:
        return {}
    return {
        o.id: o.grams_per_dm2 * o.count / 1e4 / total
        for o in a.design.outlines if o.grams_per_dm2 is not None
    }


def _areal_pull(a: Aeroplane, cg_x: float) -> float:
    """dG/d(scale) in mm beyond the common stretch: areas grow by twice the scale, typed grams do not."""
    weighing = _weighing(a)
    pull = 0.0
    for outline in a.design.outlines:
        if outline.id in weighing:
            moments = form_of(outline).patch.moments
            pull += 2.0 * weighing[outline.id] * (moments.x - moments.area * cg_x)
    return pull


def _quarter_chord_levers(a: Aeroplane, points: Array, outward: Array, exposed: Array) -> Array:
    """(P,) x in mm by which moving a bit of the tail's boundary moves ∫(x_le + c/4) c dz.

    x − c/2 on leading and trailing edges (exact: d(x_le c + c²/4) is that times the step of either),
    and x − c/4, whose mean along the chord is x_le + c/4, on edges flatter than 10°.
    """
    levers = points[:, 0].copy()
    on = np.nonzero(exposed)[0]
    region = union(p.region for _, patches in a.side.tail_pieces for p in patches)
    if len(on) == 0 or region.is_empty:
        return levers
    z = points[on, 1]
    chord = np.zeros(len(on))
    for corners, sign in rings_of(region):
        low, high = corners[:-1], corners[1:]
        rise = high[:, 1] - low[:, 1]
        spans = (low[:, 1] <= z[:, None]) != (high[:, 1] <= z[:, None])
        run = (high[:, 0] - low[:, 0]) / np.where(np.abs(rise) < 1e-9, 1.0, rise)
        at = low[:, 0] + (z[:, None] - low[:, 1]) * run
        chord += sign * np.abs(np.where(spans, np.sign(rise) * at, 0.0).sum(axis=1))
    flat = np.abs(outward[on, 0]) < _FLAT * np.hypot(outward[on, 0], outward[on, 1])
    levers[on] -= chord * np.where(flat, 0.25, 0.5)
    return levers
