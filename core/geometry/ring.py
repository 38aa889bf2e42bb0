"""Closed rings of straight and cubic edges, as arrays.

A ring of N edges is four arrays of shape (N, 2): edge i runs from ``p0[i]`` over the control
points ``p1[i]``, ``p2[i]`` to ``p3[i]``, which is ``p0[i + 1]``. A straight edge has its control
points on its ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TOLERANCE = 0.01
"""mm: no flattened point, and no point between two of them, is further from the true curve."""

_MOST_PIECES = 400
# Sag of a chord over a step h in t is |P''| h²/8. The step is chosen so that sag, and the
# outward set of two thirds of it (three thirds for the two ends' share), stay inside TOLERANCE.
_SAG = 0.7 * TOLERANCE


class NodeLike(Protocol):
    """What a ring is made from: a point and two optional handle offsets, in mm."""

    @property
    def x(self) -> float: ...  # noqa: D102
    @property
    def z(self) -> float: ...  # noqa: D102
    @property
    def handle_in(self) -> tuple[float, float] | None: ...  # noqa: D102
    @property
    def handle_out(self) -> tuple[float, float] | None: ...  # noqa: D102


@dataclass(frozen=True, eq=False)
class Ring:
    """Edges of one closed outline; every array has shape (N, 2), in mm."""

    p0: Array
    p1: Array
    p2: Array
    p3: Array

    def __len__(self) -> int:
        return len(self.p0)

    @property
    def curved(self) -> NDArray[np.bool_]:
        """Shape (N,): which edges have a handle."""
        return np.asarray(np.any((self.p1 != self.p0) | (self.p2 != self.p3), axis=1))


def ring_of(nodes: Sequence[NodeLike]) -> Ring:
    """The ring through ``nodes``, the last joined to the first. Empty for no nodes."""
    if not nodes:
        none = np.zeros((0, 2))
        return Ring(none, none, none, none)
    rows = [
        (n.x, n.z, *(n.handle_in or (0.0, 0.0)), *(n.handle_out or (0.0, 0.0))) for n in nodes
    ]
    table = np.array(rows, dtype=np.float64)
    p0 = table[:, 0:2]
    p3 = np.roll(p0, -1, axis=0)
    p1 = p0 + table[:, 4:6]
    p2 = p3 + np.roll(table[:, 2:4], -1, axis=0)
    return Ring(p0, p1, p2, p3)


def point_on(ring: Ring, edge: int, t: float) -> Array:
    """The point at parameter ``t`` in 0..1 of one edge, shape (2,)."""
    s = 1.0 - t
    return np.asarray(
        s * s * s * ring.p0[edge]
        + 3 * s * s * t * ring.p1[edge]
        + 3 * s * t * t * ring.p2[edge]
        + t * t * t * ring.p3[edge]
    )


def flatten(ring: Ring) -> Array:
    """The ring as a polygon's corners, shape (M, 2), the first not repeated.

    Nodes are kept exactly. Points between them are set outwards from the curve by two thirds of
    the sag of their chords, which gives the polygon the area of the curve to a higher order while
    every chord stays within TOLERANCE of it.
    """
    if len(ring) == 0:
        return np.zeros((0, 2))
    curved = ring.curved
    if not curved.any():
        return ring.p0.copy()
    a = ring.p0 - 2 * ring.p1 + ring.p2
    b = ring.p1 - 2 * ring.p2 + ring.p3
    bend = 6.0 * np.sqrt(np.maximum((a * a).sum(axis=1), (b * b).sum(axis=1)))
    wanted = np.sqrt(bend / (8.0 * _SAG))
    pieces = np.where(curved, np.clip(np.ceil(wanted), 3, _MOST_PIECES), 1).astype(np.int64)
    starts = np.cumsum(pieces) - pieces
    total = int(pieces.sum())
    edge = np.repeat(np.arange(len(ring)), pieces)
    step = np.arange(total) - starts[edge]
    h = 1.0 / pieces[edge]
    t = (step * h)[:, None]
    s = 1.0 - t
    p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
    points = s * s * s * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t * t * t * p3
    second = 6.0 * (s * a[edge] + t * b[edge])
    # n pieces have n sags to make up for but only n - 1 free points: hence the share h²/(1 - h).
    share = np.where(step > 0, h * h / (12.0 * (1.0 - np.minimum(h, 0.5))), 0.0)
    return np.asarray(points - second * share[:, None])


def exact_moments(ring: Ring) -> tuple[float, float, float]:
    """Signed (area, ∫x dA, ∫z dA) in mm², mm³, mm³, exact for the cubics; anticlockwise positive.

    Area by the closed form for a cubic edge, first moments by Green's theorem with five-point
    Gauss quadrature, which is exact for their degree eight integrands. For a ring that crosses
    itself they are winding-number sums, not what a filled drawing shows.
    """
    if len(ring) == 0:
        return 0.0, 0.0, 0.0
    # About a point of the ring itself: far from the origin the products would cancel badly.
    origin = ring.p0[0]
    p0, p1, p2, p3 = (p - origin for p in (ring.p0, ring.p1, ring.p2, ring.p3))

    def cross(u: Array, v: Array) -> Array:
        return np.asarray(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])

    area = float(
        np.sum(
            6 * cross(p0, p1) + 3 * cross(p0, p2) + cross(p0, p3)
            + 3 * cross(p1, p2) + 3 * cross(p1, p3) + 6 * cross(p2, p3)
        ) / 20.0
    )
    nodes, weights = np.polynomial.legendre.leggauss(5)
    t = (0.5 * (nodes + 1.0))[:, None, None]
    s = 1.0 - t
    point = s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3
    slope = 3 * s * s * (p1 - p0) + 6 * s * t * (p2 - p1) + 3 * t * t * (p3 - p2)
    half = 0.5 * weights[:, None]
    about_x = float(np.sum(half * 0.5 * point[..., 0] ** 2 * slope[..., 1]))
    about_z = float(np.sum(half * -0.5 * point[..., 1] ** 2 * slope[..., 0]))
    return area, about_x + area * float(origin[0]), about_z + area * float(origin[1])


def nearest_on(ring: Ring, x: float, z: float) -> tuple[int, float, float]:
    """(edge, t, distance in mm) of the ring's point nearest to (x, z). ValueError for no edges."""
    if len(ring) == 0:
        raise ValueError("a ring without edges has no nearest point")
    target = np.array((x, z))
    t = np.linspace(0.0, 1.0, 17)[:, None, None]
    s = 1.0 - t
    sampled = (
        s**3 * ring.p0 + 3 * s * s * t * ring.p1 + 3 * s * t * t * ring.p2 + t**3 * ring.p3
    )
    gap = ((sampled - target) ** 2).sum(axis=2)
    # Sampling alone would miss the middle of long straight edges: those have a closed form.
    along = ring.p3 - ring.p0
    length2 = np.maximum((along * along).sum(axis=1), 1e-300)
    foot = np.clip(((target - ring.p0) * along).sum(axis=1) / length2, 0.0, 1.0)
    straight_gap = ((ring.p0 + foot[:, None] * along - target) ** 2).sum(axis=1)
    curved = ring.curved
    best_curved = gap.min(axis=0)
    order = np.argsort(np.where(curved, best_curved, straight_gap))[:4]
    best = (int(order[0]), 0.0, np.inf)
    for edge in (int(e) for e in order):
        if curved[edge]:
            at, distance = _refine(ring, edge, target, int(gap[:, edge].argmin()) / 16.0)
        else:
            at, distance = float(foot[edge]), float(np.sqrt(straight_gap[edge]))
        if distance < best[2]:
            best = (edge, at, distance)
    return best


def _refine(ring: Ring, edge: int, target: Array, start: float) -> tuple[float, float]:
    low, high = max(0.0, start - 1 / 16), min(1.0, start + 1 / 16)
    for _ in range(4):
        t = np.linspace(low, high, 9)
        s = 1.0 - t
        points = (
            (s**3)[:, None] * ring.p0[edge] + (3 * s * s * t)[:, None] * ring.p1[edge]
            + (3 * s * t * t)[:, None] * ring.p2[edge] + (t**3)[:, None] * ring.p3[edge]
        )
        gap = ((points - target) ** 2).sum(axis=1)
        k = int(gap.argmin())
        width = (high - low) / 8
        low, high = max(0.0, float(t[k]) - width), min(1.0, float(t[k]) + width)
    return float(t[k]), float(np.sqrt(gap[k]))


def split_edge(ring: Ring, edge: int, t: float) -> tuple[Array, Array]:
    """The two cubics, each of shape (4, 2), into which ``t`` cuts an edge (de Casteljau, exact)."""
    p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
    a, b, c = p0 + (p1 - p0) * t, p1 + (p2 - p1) * t, p2 + (p3 - p2) * t
    d, e = a + (b - a) * t, b + (c - b) * t
    middle = d + (e - d) * t
    return np.array((p0, a, d, middle)), np.array((middle, e, c, p3))


def bounds(ring: Ring) -> tuple[float, float, float, float]:
    """(x low, z low, x high, z high) of the hull of all control points; never smaller than the ring."""
    every = np.concatenate((ring.p0, ring.p1, ring.p2))
    low, high = every.min(axis=0), every.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
