"""The outline of a drawn shape from a click inside it: a lined shape, or a filled silhouette."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.ink.centring import centred, edged
from core.ink.darkness import Array, Darkness, Grey, noise
from core.ink.flood import Mask, around, component, grown, shrunk, touches_border

_MOST_CELLS = 1250
"""Cells along the longer side that shapes are flooded on; finer pictures are pooled first."""
_LEAST_CELLS = 40
"""Fewer cells than this are a speck or the inside of a letter."""


@dataclass(frozen=True, eq=False)
class Region:
    """``boundary`` (N, 2) in pixels goes round once, the first point not repeated.

    Of a lined shape it runs along the middle of the line, of a ``filled`` one along the edge.
    ``bridged``: the widest gap in pixels that had to be closed to hold the shape, 0 for none.
    """

    boundary: Array
    filled: bool
    bridged: float = 0.0


def region(
    grey: Grey, seed: tuple[float, float], *, gap: float = 12.0, gone: Callable[[], bool] | None = None
) -> Region | str:
    """The shape around ``seed`` (pixels), or a clause that says why there is none.

    On paper, what is drawn around the seed; gaps in it up to ``gap`` pixels wide are closed, no more than is
    needed. On ink, the silhouette that is filled with it. ``gone`` is asked now and then; True gives back
    "no longer wanted".
    """
    height, width = grey.shape
    if not (0 <= seed[0] < width and 0 <= seed[1] < height):
        return "the click lies beside the picture: click inside the shape"
    k = max(1, math.ceil(max(height, width) / _MOST_CELLS))
    light = pooled(grey, k)
    dark = Darkness(light).darkness()
    strong = dark > 0.4 * float(dark.max())
    level = float(np.median(dark[strong])) if strong.any() else 0.0
    grain = noise(light)
    if level < max(5.0 * grain, 12.0):
        return "there is no ink here: nothing is darker than the paper"
    row, column = int(seed[1] / k), int(seed[0] / k)
    if dark[row, column] > 0.5 * level and _solid(dark > 0.5 * level, row, column):
        return _silhouette(grey, dark > 0.5 * level, row, column, k, gap)
    reason = ""
    for part in (0.45, 0.25):
        limit = part * level
        if part < 0.4 and limit < 5.0 * grain:
            break
        found = _lined(grey, dark > limit, row, column, k, gap, gone)
        if isinstance(found, Region):
            return found
        reason = reason or found
    return reason


def pooled(grey: Grey, k: int) -> Grey:
    """The darkest of ``k`` × ``k`` pixels, so that thin lines stay whole."""
    if k == 1:
        return grey
    height, width = grey.shape
    rows = np.minimum.reduceat(grey, np.arange(0, height, k), axis=0)
    return np.asarray(np.minimum.reduceat(rows, np.arange(0, width, k), axis=1), dtype=np.uint8)


def _solid(ink: Mask, row: int, column: int) -> bool:
    """Whether the ink at a cell is a filled shape and not a line."""
    whole = component(ink, row, column)
    rows, columns = np.flatnonzero(whole.any(axis=1)), np.flatnonzero(whole.any(axis=0))
    extent = math.hypot(rows[-1] - rows[0] + 1, columns[-1] - columns[0] + 1)
    core = shrunk(whole, max(2, round(0.02 * extent)))
    reach = max(3, round(0.04 * extent))
    near = core[max(0, row - reach) : row + reach + 1, max(0, column - reach) : column + reach + 1]
    if not near.any():
        return False
    outer = around(whole)
    return bool(whole.sum() > 0.5 * abs(_area(outer)))


def _area(points: Array) -> float:
    u, v = points.T
    return 0.5 * float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum())


def _silhouette(grey: Grey, ink: Mask, row: int, column: int, k: int, gap: float) -> Region | str:
    """Lines that lead up to the silhouette are cut off by opening it."""
    radius = max(1, round(0.5 * gap / k))
    opened = grown(shrunk(ink, radius), radius)
    if not opened[row, column]:
        return "the ink here is too thin for a silhouette: click in its middle"
    whole = component(opened, row, column)
    if touches_border(whole):
        return "the silhouette runs over the edge of the picture: its outline cannot be told"
    path = around(whole) * k
    return Region(edged(grey, path, 0.5 * gap + k + 1.0), filled=True)


def _lined(
    grey: Grey, ink: Mask, row: int, column: int, k: int, gap: float, gone: Callable[[], bool] | None
) -> Region | str:
    if ink[row, column]:
        return "the click is on a line: click inside the shape"
    most = math.ceil(0.5 * gap / k)
    radii = [0, *dict.fromkeys(math.ceil(most * part) for part in (0.25, 0.5, 1.0) if most)]
    for radius in radii:
        if gone is not None and gone():
            return "no longer wanted"
        wall = grown(ink, radius)
        spot = _free(wall, row, column, 2 * radius)
        if spot is None:
            return "the click is too near to a line: click further inside the shape"
        inside = component(~wall, *spot)
        if touches_border(inside):
            continue
        if int(inside.sum()) < _LEAST_CELLS:
            return "the shape is too small to trace: nothing but a speck is enclosed here"
        # Back as far as the wall was thick, and on into corners that the thick wall had rounded.
        inside = grown(inside, radius, ~ink)
        path = around(inside) * k
        return Region(centred(grey, path, closed=True), filled=False, bridged=2.0 * radius * k)
    return (
        f"the shape is open: with gaps of up to {gap:.0f} pixels closed it still runs out to the edge of the "
        "picture"
    )


def _free(wall: Mask, row: int, column: int, reach: int) -> tuple[int, int] | None:
    """The free cell nearest to (row, column) within ``reach``."""
    if not wall[row, column]:
        return row, column
    top, left = max(0, row - reach), max(0, column - reach)
    rows, columns = np.nonzero(~wall[top : row + reach + 1, left : column + reach + 1])
    if not len(rows):
        return None
    best = int(np.argmin(np.hypot(rows + top - row, columns + left - column)))
    return int(rows[best] + top), int(columns[best] + left)


