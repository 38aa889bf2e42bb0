"""Maps between two planes: projective ones from points, spans and their sizes, and similarities.

A map is a (3, 3) array that acts on columns (u, v, 1). Knows neither aeroplanes nor scans.

Sources, from memory: Hartley and Zisserman, Multiple View Geometry in Computer Vision, algorithm 4.2
(the normalised direct linear transformation) and section 4.2 (errors measured where the clicks were
made); Umeyama 1991 (best similarity), which in the plane is one division of complex numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.geometry.ring import Array

_STEPS = 40
_DEGENERATE = 1e-7


def mapped(matrix: Array, points: Array) -> Array:
    """``points``, shape (N, 2), mapped by the (3, 3) ``matrix``; shape (N, 2)."""
    points = np.asarray(points, np.float64).reshape(-1, 2)
    found = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(found[:, :2] / found[:, 2:])


def depths(matrix: Array, points: Array) -> Array:
    """The third homogeneous coordinate of each point, shape (N,): nought on the horizon, negative beyond."""
    points = np.asarray(points, np.float64).reshape(-1, 2)
    return np.asarray(points @ matrix[2, :2] + matrix[2, 2])


def is_affine(matrix: Array) -> bool:
    """Whether parallel lines stay parallel under the map."""
    return bool(matrix[2, 0] == 0.0 and matrix[2, 1] == 0.0)


def magnification(matrix: Array, points: Array) -> Array:
    """By how much lengths grow at each point, as the root of the growth of areas; shape (N,).

    The Jacobian determinant of a projective map is det(H) / w³.
    """
    return np.asarray(np.sqrt(np.abs(np.linalg.det(matrix) / depths(matrix, points) ** 3)))


def _normaliser(points: Array) -> Array:
    """The map that brings points to centroid nought and mean distance root two."""
    middle = points.mean(axis=0)
    spread = float(np.hypot(*(points - middle).T).mean())
    if not spread > 0:
        raise ValueError("the points fall together")
    s = np.sqrt(2.0) / spread
    return np.array(((s, 0.0, -s * middle[0]), (0.0, s, -s * middle[1]), (0.0, 0.0, 1.0)))


def homography(source: Array, target: Array) -> Array:
    """The projective map from ``source`` to ``target``, both (N, 2) with N ≥ 4.

    Exact for four points, algebraic least squares for more; third coordinate 1 at the middle of
    ``source``. ValueError where the points do not settle it: too few, or three of four in a line.
    """
    source, target = np.asarray(source, np.float64), np.asarray(target, np.float64)
    if source.shape != target.shape or source.ndim != 2 or source.shape[1] != 2 or len(source) < 4:
        raise ValueError("a plane needs at least four pairs of points")
    before, after = _normaliser(source), _normaliser(target)
    p, q = mapped(before, source), mapped(after, target)
    ones, noughts = np.ones((len(p), 1)), np.zeros((len(p), 3))
    whole = np.hstack((p, ones))
    rows = np.vstack((
        np.hstack((whole, noughts, -q[:, :1] * whole)), np.hstack((noughts, whole, -q[:, 1:] * whole))
    ))
    _, sizes, basis = np.linalg.svd(rows)
    form = basis[-1].reshape(3, 3)
    if min(sizes[7] / sizes[0], 1.0 / np.linalg.cond(form)) < _DEGENERATE:
        raise ValueError("three of four points lie in a line")
    matrix = np.linalg.inv(after) @ form @ before
    return _scaled(matrix, source)


def _scaled(matrix: Array, points: Array) -> Array:
    w = float(depths(matrix, points.mean(axis=0)[None])[0])
    if abs(w) < 1e-12 * float(np.abs(matrix).max()):
        raise ValueError("the horizon runs through the middle of the points")
    return matrix / w


@dataclass(frozen=True, eq=False)
class PlaneFit:
    """A projective map, and how far what was given lies from where the map puts it.

    ``at_points`` (N,): distances, in the target's unit. ``at_spans`` (M,): mapped less true length.
    """

    matrix: Array
    at_points: Array
    at_spans: Array

    @property
    def rms(self) -> float:
        """Root mean square of all residuals."""
        both = np.concatenate((self.at_points, self.at_spans))
        return float(np.sqrt((both**2).mean())) if len(both) else 0.0

    @property
    def worst(self) -> tuple[Literal["point", "span"], int]:
        """Which residual is the greatest."""
        both = np.abs(np.concatenate((self.at_points, self.at_spans)))
        at = int(both.argmax())
        return ("point", at) if at < len(self.at_points) else ("span", at - len(self.at_points))


def fit_plane(source: Array, target: Array, spans: Array, lengths: Array) -> PlaneFit:
    """The projective map that puts ``source`` on ``target`` and gives ``spans`` their ``lengths``.

    ``source``, ``target`` (N, 2), N ≥ 4; ``spans`` (M, 2, 2) two points of the source each; ``lengths``
    (M,) in the target's unit. Least squares by Gauss and Newton from the linear solution, each residual
    divided by the magnification at its place: errors count where the clicks were made. ValueError as
    for ``homography``, or where no map fits without putting a point beyond the horizon.
    """
    source, target = np.asarray(source, np.float64), np.asarray(target, np.float64)
    spans = np.asarray(spans, np.float64).reshape(-1, 2, 2)
    lengths = np.asarray(lengths, np.float64).reshape(-1)
    start = homography(source, target)
    every = np.concatenate((source, spans.reshape(-1, 2)))
    if (depths(start, every) <= 0).any():
        raise ValueError("a point lies on or beyond the horizon of the plane")
    if len(source) > 4 or len(spans):
        start = _refined(start, source, target, spans, lengths)
    return PlaneFit(start, *_misses(start, source, target, spans, lengths))


def _misses(
    matrix: Array, source: Array, target: Array, spans: Array, lengths: Array
) -> tuple[Array, Array]:
    ends = mapped(matrix, spans.reshape(-1, 2)).reshape(-1, 2, 2)
    apart = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    return np.hypot(*(mapped(matrix, source) - target).T), apart - lengths


def _refined(matrix: Array, source: Array, target: Array, spans: Array, lengths: Array) -> Array:
    every = np.concatenate((source, spans.reshape(-1, 2)))
    before = _normaliser(every)
    h = matrix @ np.linalg.inv(before)
    h = h / h[2, 2]
    points = mapped(before, every)
    count = len(source)
    sizes = magnification(h, points)
    per_span = sizes[count:].reshape(-1, 2).mean(axis=1)
    weights = 1.0 / np.concatenate((np.repeat(sizes[:count], 2), per_span))

    def residuals(trial: Array) -> tuple[Array, Array]:
        whole = np.hstack((points, np.ones((len(points), 1))))
        w = depths(trial, points)[:, None]
        at = mapped(trial, points)
        x_rows = np.hstack((whole / w, np.zeros_like(whole), -at[:, :1] * points / w))
        z_rows = np.hstack((np.zeros_like(whole), whole / w, -at[:, 1:] * points / w))
        rows = np.stack((x_rows, z_rows), axis=1)
        here = at[count:].reshape(-1, 2, 2)
        step = here[:, 1] - here[:, 0]
        apart = np.hypot(*step.T)
        way = step / np.maximum(apart, 1e-12)[:, None]
        ends = rows[count:].reshape(-1, 2, 2, 8)
        along = np.einsum("mi,mij->mj", way, ends[:, 1] - ends[:, 0])
        miss = np.concatenate(((at[:count] - target).ravel(), apart - lengths)) * weights
        return miss, np.vstack((rows[:count].reshape(-1, 8), along)) * weights[:, None]

    miss, slopes = residuals(h)
    for _ in range(_STEPS):
        change = np.linalg.lstsq(slopes, -miss, rcond=None)[0]
        share = 1.0
        while share > 1e-6:
            trial = h + share * np.append(change, 0.0).reshape(3, 3)
            if (depths(trial, points) > 0).all():
                new, new_slopes = residuals(trial)
                if new @ new <= miss @ miss:
                    break
            share /= 2
        else:
            break
        gain = float(miss @ miss - new @ new)
        h, miss, slopes = trial, new, new_slopes
        if gain <= 1e-14 * float(miss @ miss) or float(miss @ miss) == 0.0:
            break
    return _scaled(h @ before, source)


def best_similarity(source: Array, target: Array, *, keep_scale: bool = False) -> Array:
    """The (3, 3) turn, shift and, unless ``keep_scale``, scaling that brings ``source`` nearest ``target``.

    Both (N, 2) with N ≥ 2; least squares, never a mirror. ValueError where the points fall together.
    """
    p, q = (np.asarray(points, np.float64) @ np.array((1.0, 1.0j)) for points in (source, target))
    p_middle, q_middle = p.mean(), q.mean()
    spread = float((np.abs(p - p_middle) ** 2).sum())
    turned = complex((np.conj(p - p_middle) * (q - q_middle)).sum())
    if spread <= 0 or abs(turned) <= 1e-12 * spread:
        raise ValueError("the points fall together")
    a = turned / abs(turned) if keep_scale else turned / spread
    b = q_middle - a * p_middle
    return np.array(((a.real, -a.imag, b.real), (a.imag, a.real, b.imag), (0.0, 0.0, 1.0)))
