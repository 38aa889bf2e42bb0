"""How a drawing may be turned so that it takes fewer sheets of paper."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import shapely

from core.bench.tiling import Tiling
from core.geometry.ring import Array

MOST_TURNED = 6
"""Sheets: what takes more as it is drawn is turned by a quarter at most, and stays easy to read."""
_FREE = tuple(float(a) for a in (*range(-88, 0, 2), *range(2, 90, 2)))
_TRIED = 12


def turn_matrix(degrees: float) -> Array:
    """(2, 2): points (N, 2) times this are turned anticlockwise; quarters are exact."""
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0.0:
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array(((cos, sin), (-sin, cos)))


def fewest(
    strokes: Sequence[Array], windows: Sequence[tuple[float, float]], reach: float,
    lay: Callable[[float, int], Tiling],
) -> tuple[float, int, Tiling]:
    """(degrees anticlockwise, which window, its tiling) that takes the fewest sheets.

    ``windows``: (wide, tall) mm of the sheets' windows to choose from; ``lay`` lays the drawing, turned
    so far, over windows of that number. As drawn before a quarter, a quarter before any other angle, of
    those the smallest; of as many sheets the window that is named first. ``reach``: how far ink lies
    beside a stroke, mm. Exact for one sheet, to a quarter of a degree; for more the best of some angles.
    """
    best: tuple[int, float, int, Tiling] | None = None

    def try_out(degrees: float, which: int) -> None:
        nonlocal best
        tiling = lay(degrees, which)
        if best is None or len(tiling.tiles) < best[0]:
            best = len(tiling.tiles), degrees, which, tiling

    for degrees in (0.0, 90.0):
        for which in range(len(windows)):
            try_out(degrees, which)
    assert best is not None
    if 1 < best[0] <= MOST_TURNED:
        hull = shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(np.concatenate(strokes))))
        alone = _on_one(hull, windows, reach)
        if alone is not None:
            try_out(*alone)
        else:
            for degrees, which in _promising(hull, windows, best[0]):
                try_out(degrees, which)
    return best[1:]


def _extents(hull: Array, degrees: Array) -> Array:
    """(K, 2): how wide and how tall the drawing is, turned by each of (K,) degrees."""
    turns = np.stack([turn_matrix(float(a)) for a in degrees])
    return np.asarray(np.ptp(hull @ turns, axis=1))


def _on_one(
    hull: Array, windows: Sequence[tuple[float, float]], reach: float
) -> tuple[float, int] | None:
    """The smallest turn by which the drawing fits a single window: whole degrees where there are any."""
    for step in (1.0, 0.25):
        degrees = np.arange(-90.0 + step, 90.0, step)
        degrees = degrees[np.argsort(np.abs(degrees), kind="stable")]
        extents = _extents(hull, degrees) + 2 * reach
        for at in np.arange(len(degrees)):
            for which, window in enumerate(windows):
                if (extents[at] <= window).all():
                    return float(degrees[at]), which
    return None


def _promising(
    hull: Array, windows: Sequence[tuple[float, float]], most: int
) -> list[tuple[float, int]]:
    """Turns that may take fewer than ``most`` sheets: those whose grid is smallest, small turns first."""
    found = []
    extents = _extents(hull, np.array(_FREE))
    for which, window in enumerate(windows):
        # What one line runs over all along takes at least as many sheets as the longer way of its grid.
        grid = np.maximum(1.0, extents / np.array(window))
        found += [
            (float(size.prod()), abs(degrees), degrees, which)
            for degrees, size in zip(_FREE, grid, strict=True) if math.ceil(size.max()) < most
        ]
    return [(degrees, which) for _, _, degrees, which in sorted(found)[:_TRIED]]
