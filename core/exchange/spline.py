"""B-splines as rows of cubic pieces, by their definition: clamped, unclamped, periodic, rational.

A B-spline of degree p over the knots u has a point for every parameter from u[p] to u[-p-1], where
its p + 1 nearest control points weigh one in all: an unclamped one neither begins nor ends at a
control point. Each stretch between two knots is a Bézier curve whose control points are the
stretch's polar form at p of the two knots (L. Ramshaw, "Blossoms are polar forms", 1989; from
memory). Up to degree 3 that is what is returned, exactly; a higher degree or weights are followed
by cubics.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.exchange.closed import MOST_PIECES, Piece
from core.exchange.path_data import cubic, from_quadratic, line

_Floats = NDArray[np.float64]
_Points = NDArray[np.complex128]

MOST_DEGREE = 25
"""Beyond it figures of double precision wear thin."""
MOST_THROUGH = 1_000
"""Points that a curve is laid through: they are solved for all at once."""
_MOST_FOLLOWED = 20_000
_SAME_KNOT = 1e-10
"""Of the whole range: knots nearer than this are one."""
_JOINED = 1e-6
_DEEPEST = 16
_TRIED = np.arange(1, 8) / 8
_CAUTIOUS = 0.7
"""Of the room that is given: between the points that are tried a curve strays a little further."""


class SplineError(ValueError):
    """A spline that cannot be read; its text is the reason, the end of a sentence."""


def pieces_of_spline(
    control: Sequence[complex], degree: int, knots: Sequence[float], weights: Sequence[float], within: float,
) -> list[Piece]:
    """The curve over the whole of its range; each piece begins where the last ended.

    ``weights`` empty: not rational. Exact up to degree 3 without weights, otherwise nowhere further
    than ``within`` from the curve, in the units of ``control``. SplineError says why it cannot be.
    """
    points = np.asarray(control, dtype=np.complex128)
    u = np.asarray(knots, dtype=np.float64)
    w = np.asarray(weights, dtype=np.float64)
    if not 1 <= degree <= MOST_DEGREE:
        raise SplineError(f"its degree is {degree}")
    if len(points) <= degree:
        raise SplineError(f"it has {len(points)} control points, fewer than its degree needs")
    if len(points) > MOST_PIECES:
        raise SplineError(f"it has more than {MOST_PIECES} control points")
    if len(u) != len(points) + degree + 1:
        raise SplineError(f"it has {len(u)} knots where {len(points) + degree + 1} belong")
    if not (np.isfinite(points).all() and np.isfinite(u).all() and np.isfinite(w).all()):
        raise SplineError("one of its numbers is not finite")
    if (np.diff(u) < 0).any():
        raise SplineError("its knots do not run upwards")
    if len(w) and (len(w) != len(points) or w.min() <= 0 or w.max() > 1e9 * w.min()):
        raise SplineError("its weights are not one above nothing for each control point")
    rational = len(w) > 0 and bool(np.ptp(w) > 1e-12 * w.max())
    u = _levelled(u, degree)
    if not rational and degree <= 3:
        return _exact(_beziers(points, u, degree))
    shares = w if rational else np.ones(len(points))
    return _followed(_beziers(points * shares, u, degree), _beziers(shares, u, degree).real, within)


def pieces_through(points: Sequence[complex]) -> list[Piece]:
    """The closed cubic spline through ``points``, its bend continuous, over the lengths of its chords.

    The solution of the usual equations for the slopes at the points (C. de Boor, A Practical Guide
    to Splines, chapter IV; from memory), made to meet itself. SplineError where there is none.
    """
    p = np.asarray(points, dtype=np.complex128)
    if not np.isfinite(p).all():
        raise SplineError("one of its numbers is not finite")
    p = p[np.abs(p - np.roll(p, 1)) > 1e-9 * (1.0 + np.abs(p))]
    if len(p) < 3:
        raise SplineError("it runs through fewer than three points")
    if len(p) > MOST_THROUGH:
        raise SplineError(f"it runs through more than {MOST_THROUGH} points")
    chord = np.roll(p, -1) - p
    h = np.abs(chord)
    before = np.roll(h, 1)
    n = np.arange(len(p))
    table = np.zeros((len(p), len(p)))
    table[n, n] = 2 / before + 2 / h
    table[n, n - 1] += 1 / before
    table[n, (n + 1) % len(p)] += 1 / h
    slopes = np.linalg.solve(table, 3 * (np.roll(chord, 1) / before**2 + chord / h**2))
    ends, slopes_there = np.roll(p, -1), np.roll(slopes, -1)
    return [
        (complex(a), complex(a + r * m / 3), complex(b - r * k / 3), complex(b))
        for a, b, m, k, r in zip(p, ends, slopes, slopes_there, h, strict=True)
    ]


def _levelled(u: _Floats, degree: int) -> _Floats:
    """The knots with those that are all but one made one; SplineError where no range is left."""
    reach = float(u[-degree - 1] - u[degree])
    if not 0 < reach < math.inf:
        raise SplineError("its knots leave it no length")
    steps = np.diff(u, prepend=u[:1])
    first = np.where(steps > _SAME_KNOT * reach, np.arange(len(u)), 0)
    level: _Floats = u[np.maximum.accumulate(first)]
    return level


def _beziers(points: NDArray[np.complex128] | _Floats, u: _Floats, degree: int) -> _Points:
    """The Bézier control points of each stretch, (S, degree + 1)."""
    k = np.flatnonzero(u[degree : -degree - 1] < u[degree + 1 : len(u) - degree]) + degree
    if not len(k):
        raise SplineError("its knots leave it no length")
    made = np.empty((len(k), degree + 1), dtype=np.complex128)
    near = points[k[:, None] + np.arange(-degree, 1)]
    for j in range(degree + 1):
        d = near.astype(np.complex128)
        for r in range(1, degree + 1):
            at = u[k + 1] if r <= j else u[k]
            for i in range(degree, r - 1, -1):
                low, high = u[k - degree + i], u[k + i - r + 1]
                share = (at - low) / (high - low)
                d[:, i] = (1 - share) * d[:, i - 1] + share * d[:, i]
        made[:, j] = d[:, degree]
    ends, starts = made[:-1, -1], made[1:, 0]
    if (np.abs(ends - starts) > _JOINED * (1.0 + np.abs(ends))).any():
        raise SplineError("it falls into parts: a knot stands there too often")
    made[1:, 0] = ends
    return made


def _exact(rows: _Points) -> list[Piece]:
    pieces: list[Piece] = []
    for row in rows.tolist():
        if len(row) == 2:
            pieces.append(line(row[0], row[1]))
        elif len(row) == 3:
            pieces.append(from_quadratic(row[0], row[1], row[2]))
        else:
            pieces.append(cubic(row[0], row[1], row[2], row[3]))
    return pieces


def _followed(rows: _Points, shares: _Floats, within: float) -> list[Piece]:
    """Cubics with the curve's own points and slopes at their ends, halved until they stay ``within``."""
    row = np.arange(len(rows))
    a, b = np.zeros(len(rows)), np.ones(len(rows))
    done: list[tuple[NDArray[np.intp], _Floats, _Points]] = []
    count = 0
    for depth in range(_DEEPEST + 1):
        count += len(row)
        if count > _MOST_FOLLOWED:
            raise SplineError("it bends too often to be followed")
        p0, m0 = _point_and_slope(rows[row], shares[row], a[:, None])
        p3, m3 = _point_and_slope(rows[row], shares[row], b[:, None])
        span = (b - a)[:, None]
        made = np.concatenate((p0, p0 + m0 * span / 3, p3 - m3 * span / 3, p3), axis=1)
        true, _ = _point_and_slope(rows[row], shares[row], a[:, None] + span * _TRIED)
        off = np.abs(made @ _bernstein(_TRIED, 3).T - true).max(axis=1)
        good = off <= _CAUTIOUS * within
        done.append((row[good], a[good], made[good]))
        row, a, b = row[~good], a[~good], b[~good]
        if not len(row):
            break
        if depth == _DEEPEST:
            raise SplineError("it bends too sharply to be followed")
        middle = (a + b) / 2
        row, a, b = np.repeat(row, 2), np.stack((a, middle), 1).ravel(), np.stack((middle, b), 1).ravel()
    rows_done, begins, cubics = (np.concatenate(each) for each in zip(*done, strict=True))
    pieces: list[Piece] = []
    for one, two, three, four in cubics[np.lexsort((begins, rows_done))].tolist():
        pieces.append(cubic(pieces[-1][3] if pieces else one, two, three, four))
    return pieces


def _point_and_slope(rows: _Points, shares: _Floats, t: _Floats) -> tuple[_Points, _Points]:
    """Points of the rational curves and their derivatives by t, (M, K) each, at t (M, K)."""
    degree = rows.shape[1] - 1
    weights = _bernstein(t, degree)
    top, bottom = np.einsum("mkj,mj->mk", weights, rows), np.einsum("mkj,mj->mk", weights, shares)
    slopes = degree * _bernstein(t, degree - 1)
    top_slope = np.einsum("mkj,mj->mk", slopes, np.diff(rows, axis=1))
    bottom_slope = np.einsum("mkj,mj->mk", slopes, np.diff(shares, axis=1))
    points: _Points = top / bottom
    return points, (top_slope - points * bottom_slope) / bottom


def _bernstein(t: _Floats, degree: int) -> _Floats:
    """The weights (..., degree + 1) of the control points at each of ``t``."""
    j = np.arange(degree + 1)
    often = np.array([math.comb(degree, i) for i in j], dtype=np.float64)
    weights: _Floats = often * t[..., None] ** j * (1.0 - t[..., None]) ** (degree - j)
    return weights
