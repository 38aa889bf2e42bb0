"""Closed rings of straight and cubic edges, as arrays.

A ring of N edges is four arrays of shape (N, 2): edge i runs from ``p0[i]`` over the control
points ``p1[i]``, ``p2[i]`` to ``p3[i]``, which is ``p0[i + 1]``. A straight edge has its control
points on its ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]

TOLERANCE = 0.01
"""mm: no flattened point, and no point between two of them, is further from the true curve."""

# Bounds on memory, not on accuracy: 400 pieces hold TOLERANCE on curves up to a metre high, and an
# outline of few edges may have as many as it needs up to the limits of the format.
_MOST_PIECES = 400
_MOST_CORNERS = 400_000
_CHORDS = 16


def _bernstein(t: Array) -> Array:
    """The weights (K, 4) of the four control points at each of ``t`` (K,)."""
    s = 1.0 - t
    return np.stack((s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t), axis=1)


_CHORD_ENDS = _bernstein(np.linspace(0.0, 1.0, _CHORDS + 1))
_TRIED = np.linspace(-1.0, 1.0, 9)
# Sag of a chord over a step h in t is |P''| h²/8. The step is chosen so that sag, and the
# outward set of two thirds of it (three thirds for the two ends' share), stay inside TOLERANCE.
_SAG = 0.7 * TOLERANCE


_NOTHING = 1e-12


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
    # A coordinate like 1e-308 mm is lawful in a file and overflows every slope that is divided by it.
    table[np.abs(table) < _NOTHING] = 0.0
    p0 = table[:, 0:2]
    p3 = np.roll(p0, -1, axis=0)
    p1 = p0 + table[:, 4:6]
    p2 = p3 + np.roll(table[:, 2:4], -1, axis=0)
    return Ring(p0, p1, p2, p3)


def point_on(ring: Ring, edge: int, t: float) -> Array:
    """The point at parameter ``t`` in 0..1 of one edge, shape (2,); a straight edge is run evenly."""
    return _along(ring, np.array(edge), np.array(t))


def _cubic(ring: Ring, edge: NDArray[np.int64], t: Array) -> Array:
    """Points by the Bernstein form; ``edge`` and ``t`` broadcast to the shape before the last axis."""
    t = t[..., None]
    s = 1.0 - t
    p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
    return np.asarray(s * s * s * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t * t * t * p3)


def _along(ring: Ring, edge: NDArray[np.int64], t: Array) -> Array:
    """The same, but straight edges run evenly from end to end."""
    p0 = ring.p0[edge]
    level = p0 + t[..., None] * (ring.p3[edge] - p0)
    return np.asarray(np.where(ring.curved[edge][..., None], _cubic(ring, edge, t), level))


def _bend(ring: Ring) -> Array:
    """The greatest length of the second derivative on each edge, shape (N,): it is linear in t."""
    a = ring.p0 - 2 * ring.p1 + ring.p2
    b = ring.p1 - 2 * ring.p2 + ring.p3
    return np.asarray(6.0 * np.sqrt(np.maximum((a * a).sum(axis=1), (b * b).sum(axis=1))))


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
    wanted = np.ceil(np.sqrt(_bend(ring) / (8.0 * _SAG)))
    most = max(_MOST_PIECES, _MOST_CORNERS // len(ring))
    pieces = np.where(curved, np.clip(wanted, 3, most), 1).astype(np.int64)
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


def signed_area(ring: Ring) -> float:
    """Area in mm² by the closed form for cubic edges, exact; anticlockwise positive."""

    def cross(u: Array, v: Array) -> Array:
        return np.asarray(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])

    p0, p1, p2, p3 = ring.p0, ring.p1, ring.p2, ring.p3
    if len(ring) and max(abs(float(p0[0, 0])), abs(float(p0[0, 1]))) > 0:
        # About a point of the ring itself: far from the origin the products would cancel badly.
        p0, p1, p2, p3 = (p - ring.p0[0] for p in (p0, p1, p2, p3))
    return float(
        np.sum(
            6 * cross(p0, p1) + 3 * cross(p0, p2) + cross(p0, p3)
            + 3 * cross(p1, p2) + 3 * cross(p1, p3) + 6 * cross(p2, p3)
        ) / 20.0
    )


def nearest_on(ring: Ring, x: float, z: float) -> tuple[int, float, float]:
    """(edge, t, distance in mm) of the ring's point nearest to (x, z). ValueError for no edges.

    ``t`` is the one of ``point_on``, good to 1/60 000 on a curve and exact on a straight edge.
    """
    if len(ring) == 0:
        raise ValueError("a ring without edges has no nearest point")
    target = np.array((x, z))
    count = len(ring)
    hull = np.stack((ring.p0, ring.p1, ring.p2, ring.p3)).reshape(4, -1)
    points = (_CHORD_ENDS @ hull).reshape(-1, count, 2).swapaxes(0, 1)
    start, along = points[:, :-1].copy(), points[:, 1:] - points[:, :-1]
    curved = ring.curved
    straight = ~curved
    # A straight edge is one chord, and has no others.
    start[straight, 0], along[straight, 0] = ring.p0[straight], (ring.p3 - ring.p0)[straight]
    length2 = np.maximum((along * along).sum(axis=2), 1e-300)
    foot = np.clip(((target - start) * along).sum(axis=2) / length2, 0.0, 1.0)
    gap = np.sqrt(((start + foot[..., None] * along - target) ** 2).sum(axis=2))
    gap[straight, 1:] = np.inf
    if not curved.any():
        edge = int(gap[:, 0].argmin())
        return edge, float(foot[edge, 0]), float(gap[edge, 0])
    # No curve strays further from its chord than the sag: every chord that may hide the nearest point.
    sag = np.where(straight, 0.0, _bend(ring) / (8.0 * _CHORDS**2))[:, None]
    edges, chords = np.nonzero(gap - sag <= (gap + sag).min())
    t = np.where(straight[edges], foot[edges, chords], (chords + 0.5) / _CHORDS)
    half = np.where(straight[edges], 0.0, 0.5 / _CHORDS)
    for _ in range(5):
        tried = np.clip(t[:, None] + half[:, None] * _TRIED, 0.0, 1.0)
        away = ((_along(ring, edges[:, None], tried) - target) ** 2).sum(axis=2)
        best = away.argmin(axis=1)
        t = tried[np.arange(len(t)), best]
        half = half / 4.0
    nearest = int(away.min(axis=1).argmin())
    return int(edges[nearest]), float(t[nearest]), float(np.sqrt(away.min(axis=1)[nearest]))


def split_edge(ring: Ring, edge: int, t: float) -> tuple[Array, Array]:
    """The two cubics, each of shape (4, 2), into which ``t`` cuts an edge (de Casteljau, exact).

    Both halves of a straight edge are straight: their control points lie on their ends.
    """
    p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
    if not ring.curved[edge]:
        cut = point_on(ring, edge, t)
        return np.array((p0, p0, cut, cut)), np.array((cut, cut, p3, p3))
    a, b, c = p0 + (p1 - p0) * t, p1 + (p2 - p1) * t, p2 + (p3 - p2) * t
    d, e = a + (b - a) * t, b + (c - b) * t
    middle = d + (e - d) * t
    return np.array((p0, a, d, middle)), np.array((middle, e, c, p3))


def around(boxes: Iterable[Box]) -> Box | None:
    """The box (x low, z low, x high, z high) around all ``boxes``; those of NaN, of nothing, do not count."""
    some = [box for box in boxes if not math.isnan(box[0])]
    if not some:
        return None
    return (
        min(b[0] for b in some), min(b[1] for b in some), max(b[2] for b in some), max(b[3] for b in some)
    )


def bounds(ring: Ring) -> Box:
    """(x low, z low, x high, z high) of the hull of all control points; never smaller than the ring."""
    every = np.concatenate((ring.p0, ring.p1, ring.p2))
    low, high = every.min(axis=0), every.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
