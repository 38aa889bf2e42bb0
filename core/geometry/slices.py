"""How deep a region is at each station along x."""

from __future__ import annotations

import numpy as np
from shapely.geometry.base import BaseGeometry

from core.geometry.regions import rings_of
from core.geometry.ring import Array


def depths(region: BaseGeometry, stations: Array) -> Array:
    """Total depth in mm of ``region`` at each x of the rising, evenly spaced ``stations`` (K,).

    Depth is the length of the vertical cut through the region, holes left out: the area per
    millimetre along x. Each polygon edge adds its signed height at the stations that it spans.
    """
    return cuts(region, stations)[0]


def cuts(region: BaseGeometry, stations: Array) -> tuple[Array, Array]:
    """``depths``, and the first moment of each cut about z = 0 in mm²: ∫ z dz over what is cut, both (K,)."""
    count = len(stations)
    total, moment = np.zeros(count), np.zeros(count)
    if count < 2 or region.is_empty:
        return total, moment
    start, step = float(stations[0]), float(stations[1] - stations[0])
    if not step > 0.0:
        # A region thinner than the last bits of where it lies: nothing between its sides can be told.
        return total, moment
    for corners, sign in rings_of(region):
        x0, x1 = corners[:-1, 0], corners[1:, 0]
        z0, z1 = corners[:-1, 1], corners[1:, 1]
        # Half-open spans, so that a station that meets a corner counts one of its edges.
        first = np.ceil((np.minimum(x0, x1) - start) / step)
        last = np.ceil((np.maximum(x0, x1) - start) / step)
        first = np.clip(first, 0, count).astype(np.int64)
        last = np.clip(last, 0, count).astype(np.int64)
        spans = last - first
        hit = np.nonzero(spans)[0]
        if len(hit) == 0:
            continue
        repeat = spans[hit]
        edge = np.repeat(hit, repeat)
        offset = np.arange(int(repeat.sum())) - np.repeat(np.cumsum(repeat) - repeat, repeat)
        index = first[edge] + offset
        run = x1[edge] - x0[edge]
        height = z0[edge] + (stations[index] - x0[edge]) / run * (z1[edge] - z0[edge])
        way = np.sign(run)
        cut = np.bincount(index, weights=way * height, minlength=count)
        # Rings may run either way round: what they enclose is more than nothing.
        total += sign * np.abs(cut)
        moment += sign * np.sign(cut) * np.bincount(index, 0.5 * way * height * height, count)
    return total, moment
