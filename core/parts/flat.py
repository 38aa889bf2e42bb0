"""Flat pieces of one thickness: laid along their grain, weighed and placed exactly."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.regions import Moments, rings_of
from core.parts.part import Array
from core.parts.plan import Plan
from core.parts.shoelace import box_of

_TURN = 1e-4
"""Radians: edges that turn by less run on in one straight line."""
_GAUSS = 0.5 + np.array((-0.5, 0.5)) / np.sqrt(3.0)


def longest_straight(region: BaseGeometry) -> Array:
    """The direction (2,) of the longest straight stretch of the region's edge, the region on its left.

    Along the span where no stretch is a fifth of the region's size: a curved edge has no grain to follow.
    """
    best, most = np.array((0.0, 1.0)), 0.0
    for corners, sign in rings_of(region):
        if sign < 0.0:
            continue
        step = np.diff(corners, axis=0)
        long = np.hypot(step[:, 0], step[:, 1])
        step, long = step[long > 0.0], long[long > 0.0]
        before = np.roll(step, 1, axis=0)
        turn = np.abs(before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0])
        starts = np.nonzero(turn > _TURN * long * np.roll(long, 1))[0]
        if not len(starts):
            continue
        runs = np.add.reduceat(np.roll(step, -starts[0], axis=0), starts - starts[0], axis=0)
        lengths = np.hypot(runs[:, 0], runs[:, 1])
        if float(lengths.max()) > most:
            most = float(lengths.max())
            best = runs[int(lengths.argmax())] / most
            x, y = corners[:-1, 0] - corners[0, 0], corners[:-1, 1] - corners[0, 1]
            if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) < 0.0:
                best = -best
    box = shapely.bounds(region)
    if most < 0.2 * float(np.hypot(box[2] - box[0], box[3] - box[1])):
        return np.array((0.0, 1.0))
    return best


class Laid:
    """A piece in (c, s) laid on its stock: u along ``along`` (2,), lower left at (0, 0)."""

    def __init__(self, piece: BaseGeometry, along: Array) -> None:
        self._piece = piece
        self._turn = np.array((along, (-along[1], along[0]))).T
        turned = shapely.get_coordinates(piece) @ self._turn
        self._low, high = box_of(turned)
        self.length, self.width = (high - self._low).tolist()

    @cached_property
    def outline(self) -> BaseGeometry:
        """The piece as it lies on the stock."""
        return shapely.transform(self._piece, self.line)

    def line(self, points: Array) -> Array:
        """A line (N, 2) in (c, s) as it is on the stock."""
        return np.asarray(points @ self._turn - self._low)


def edges_of(region: BaseGeometry) -> tuple[Array, ...]:
    """Closed lines (N, 2) round a region and its holes."""
    return tuple(corners for corners, _ in rings_of(region))


def slopes_evenly(plan: Plan) -> bool:
    """True if the surface lies in one plane, so that a mass's centroid tells all."""
    if plan.upright:
        return True
    s = np.linspace(0.0, plan.tip, 24)
    z = plan.at(np.column_stack((np.zeros_like(s), s)))[:, 1]
    return float(np.abs(z - (z[0] + (z[-1] - z[0]) * s / max(plan.tip, 1e-300))).max()) < 1e-9


def hangs_on(plan: Plan, region: BaseGeometry, mass: Moments) -> tuple[Array, Array]:
    """(places (K, 2) in (c, s), their shares (K,)) that stand for a flat piece's mass.

    The mass's centroid, and where the surface's slope may bend along the span, places at its c that
    integrate over s exactly between the region's corners (Green's theorem, Gauss' rule).
    """
    middle = np.array(mass.centroid())
    if slopes_evenly(plan):
        return middle[None], np.ones(1)
    s, shares = [], []
    for corners, sign in rings_of(region):
        start, step = corners[:-1], np.diff(corners, axis=0)
        at = start[:, None, :] + _GAUSS[:, None] * step[:, None, :]
        weight = 0.5 * (at[..., 0] - middle[0]) * step[:, None, 1]
        turned = 1.0 if float(weight.sum()) >= 0.0 else -1.0
        s.append(at[..., 1].ravel())
        shares.append(sign * turned * weight.ravel())
    every, weights = np.concatenate(s), np.concatenate(shares)
    weights = weights / weights.sum()
    # What was planed off one edge moves the mass a little beside the region's own centroid.
    every = every + (middle[1] - float(every @ weights))
    return np.column_stack((np.full(len(every), middle[0]), every)), weights
