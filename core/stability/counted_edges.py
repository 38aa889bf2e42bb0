"""How much more the side area counts just inside than just outside of each bit of every outline's edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.design import Outline
from core.geometry.memo import IdentityMemo, kept
from core.geometry.patch import Patch
from core.geometry.prepared import keep_prepared, prepared
from core.geometry.ring import Array, Box
from core.kinds import VERTICAL_TAIL
from core.stability.side_area import MANY, OutlineForm

Bools = NDArray[np.bool_]
Group = tuple[int, str, bool]
"""(count, stance, vertical tail or not) of an outline: what the counting rule asks of it."""

# Five Gauss points are exact for the degree eight integrands of an edge that counts evenly. Long
# edges are cut into pieces, so that what covers a part of one is not missed between two points.
_POINTS = 5
_PIECE = 60.0
_MOST_PIECES = 10
_MOST_SAMPLED = 100_000
"""Pieces in an outline of so many edges that they need not be cut further."""
_MANY_EDGES = 1_000
"""Of a region: below, every way of telling whether a place lies in it is quick."""
_POINTS_AT, _WEIGHTS = np.polynomial.legendre.leggauss(_POINTS)
_T, _SHARE = 0.5 * (1.0 + _POINTS_AT), 0.5 * _WEIGHTS


@dataclass(eq=False)
class Edges:
    """Sampled boundary of one outline: P points along its edges."""

    points: Array
    """(P, 2) in mm."""
    outward: Array
    """(P, 2) outward normal times the length of boundary the sample stands for, in mm."""
    unit: Array
    """(P, 2) outward unit normal; zero where the outline runs along itself."""
    box: Box


_inside: IdentityMemo[Bools] = IdentityMemo(96)


@kept
def sampled(form: OutlineForm) -> Edges:
    """The boundary of an outline at Gauss points. Kept with its form."""
    ring = form.ring
    chord = np.hypot(*(ring.p3 - ring.p0).T)
    most = min(_MOST_PIECES, max(1, _MOST_SAMPLED // len(ring)))
    pieces = np.clip(np.ceil(chord / _PIECE), 1, most).astype(np.int64)
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
    return Edges(points, np.asarray(side * right * share), np.asarray(side * unit), form.box)


def jumps(
    outlines: Sequence[Outline], patches: Sequence[Patch], edges: Sequence[Edges], offset: float
) -> tuple[Array, Array]:
    """(counted, exposed), each (P,) over the samples of all outlines: by how much the count of the side
    area, and of the exposed vertical tail, is greater with the sample's own outline than without it.

    ``offset``: how many mm to either side of the edge that is looked at.
    """
    numbers: dict[Group, int] = {}
    of = np.array([
        numbers.setdefault((o.count, o.standing, o.kind in VERTICAL_TAIL), len(numbers)) for o in outlines
    ])
    covered = (_covered_by_many if len(outlines) > MANY else _covered)(of, patches, edges, offset)
    own = of[_owners(edges)] == np.arange(len(numbers))[:, None, None]
    high_side, high_tail = _counts(list(numbers), covered | own)
    low_side, low_tail = _counts(list(numbers), covered)
    return (high_side - low_side).mean(axis=0), (high_tail - low_tail).mean(axis=0)


def _owners(edges: Sequence[Edges]) -> NDArray[np.int64]:
    """(P,) of which outline each sample is."""
    return np.repeat(np.arange(len(edges)), [len(e.points) for e in edges])


def _covered(
    of: NDArray[np.int64], patches: Sequence[Patch], edges: Sequence[Edges], offset: float
) -> Bools:
    """(groups, 2, P): whether a sample, moved inwards and outwards, lies in another outline of a group.

    ``of``: (outlines,) the group of each. By pairs, which are kept: mostly one outline is new.
    """
    _inside.at_least(24 * len(patches))
    keep_prepared(2 * len(patches))
    owners = _owners(edges)
    found: Bools = np.zeros((int(of.max()) + 1, 2, len(owners)), dtype=np.bool_)
    ends = np.cumsum([len(e.points) for e in edges])
    for i, (some, end) in enumerate(zip(edges, ends, strict=True)):
        span = slice(end - len(some.points), end)
        for j, patch in enumerate(patches):
            if j != i and (inside := _near(some, patch, offset)) is not None:
                found[of[j], :, span] |= inside
    return found


def _covered_by_many(
    of: NDArray[np.int64], patches: Sequence[Patch], edges: Sequence[Edges], offset: float
) -> Bools:
    """The same for many outlines: each is asked once, the largest first, about all samples still open."""
    points, step = np.concatenate([e.points for e in edges]), offset * np.concatenate([e.unit for e in edges])
    places, owners = np.concatenate((points - step, points + step)), np.tile(_owners(edges), 2)
    found: Bools = np.zeros((int(of.max()) + 1, len(places)), dtype=np.bool_)
    by_x, areas = np.argsort(places[:, 0], kind="stable"), np.array([p.moments.area for p in patches])
    for group, inside in enumerate(found):
        left, taken = by_x, 0
        x, z = places[left].T
        members = np.nonzero(of == group)[0]
        for j in members[np.argsort(-areas[members], kind="stable")].tolist():
            low_x, low_z, high_x, high_z = patches[j].box
            begin, end = np.searchsorted(x, low_x, "left"), np.searchsorted(x, high_x, "right")
            here, at_z = left[begin:end], z[begin:end]
            here = here[(low_z <= at_z) & (at_z <= high_z)]
            here = here[~inside[here] & (owners[here] != j)]
            if len(here) == 0:
                continue
            hit = here[_contains(patches[j], places[here])]
            inside[hit] = True
            taken += len(hit)
            if 2 * taken > len(left):
                left, taken = left[~inside[left]], 0
                x, z = places[left].T
    return found.reshape(len(found), 2, -1)


@kept
def _asked(patch: Patch) -> tuple[BaseGeometry, bool]:
    """The region as places are told in it quickest, and whether that is with x and z changed over.

    The library counts the edges that a ray along x meets: of a comb with thousands of upright teeth
    those are thousands a place, and one or two across.
    """
    edges = np.abs(np.diff(shapely.get_coordinates(patch.region), axis=0))
    if len(edges) < _MANY_EDGES:
        return patch.region, False
    low_x, low_z, high_x, high_z = patch.box
    met = edges.sum(axis=0) / (max(high_x - low_x, 1e-9), max(high_z - low_z, 1e-9))
    turned = bool(met[0] < 0.5 * met[1])
    return (shapely.transform(patch.region, lambda c: c[:, ::-1]) if turned else patch.region), turned


def _contains(patch: Patch, points: Array) -> Bools:
    region, turned = _asked(patch)
    x, z = points.T[::-1] if turned else points.T
    return np.asarray(shapely.contains_xy(prepared(region), x, z))


def _near(edges: Edges, patch: Patch, offset: float) -> Bools | None:
    """(2, P): which samples, moved inwards and outwards by ``offset``, lie in ``patch``; None for none."""
    a, b = edges.box, patch.box
    if not (a[0] - offset < b[2] and b[0] < a[2] + offset and a[1] - offset < b[3] and b[1] < a[3] + offset):
        return None

    def compute() -> Bools:
        step = offset * edges.unit
        moved = np.concatenate((edges.points - step, edges.points + step))
        return _contains(patch, moved).reshape(2, -1)

    return _inside.get((edges, patch), compute, offset)


def _counts(groups: Sequence[Group], inside: Bools) -> tuple[Array, Array]:
    """How often each place counts, in the side area and in the exposed vertical tail.

    The counting rule for places instead of regions: ``inside`` (groups, ...) says what they lie in.
    """
    nowhere: Bools = np.zeros(inside.shape[1:], dtype=np.bool_)

    def within(*wanted: Group) -> Bools:
        found = nowhere
        for group in wanted:
            if group in groups:
                found = found | inside[groups.index(group)]
        return found

    others = within((1, "joined", False))
    silhouette = others | within((1, "joined", True))
    side = silhouette.astype(np.float64)
    tail = np.zeros_like(side)
    for count in sorted({count for count, _, _ in groups}):
        region = within((count, "clear", False), (count, "clear", True))
        if count > 1:
            region = region | (within((count, "joined", False), (count, "joined", True)) & ~silhouette)
        side += count * region
        tail += count * (within((count, "clear", True)) | (within((count, "joined", True)) & ~others))
    return side, tail
