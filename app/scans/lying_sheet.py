"""Whether a coarse picture shows a sheet that lies on something, or light that falls off across it.

The edges of a sheet are sought as long straight steps from dark to light, darker all the way to the
picture's border. What scanners and screens make is told from a table by its shape: edges that run
with the picture's own, or a true rectangle on a ground of one tone. All thresholds are from trials
with drawn pictures (``tests/bench/bench_photographs.py``), no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.design import Vector

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

LEAST_PIXELS = 48
"""Along the shorter side; nothing is told of less."""
_LUMINANCE = np.array((0.299, 0.587, 0.114))
_LEAST_STEP = 12.0
_LEAST_RUN, _LEAST_DENSE = 0.30, 0.70
_LEAST_DARKER, _MOST_DARKER = 0.65, 0.40
"""Of what lies outside an edge, and of what lies close inside it."""
_LEAST_SHARE, _MOST_SHARE, _MOST_AROUND_DARK = 0.02, 0.85, 0.65
_LEAST_LEAN_PX = 1.5
_NARROW = 0.035
_SQUARE_ON_DEG, _RECTANGLE_DEG, _ASKEW_DEG, _MOST_ASKEW_DEG = 0.4, 1.2, 1.5, 4.0
_ONE_TONE = 8.0
_REACH_PX, _NEAR_PX = 2.5, 1.6
_SLOPES = np.linspace(-1.0, 1.0, 101)
_LINES_TRIED = 8
_CELLS = 10
_LEAST_FALL, _MOST_ROUGH = 0.10, 0.06


@dataclass(frozen=True, eq=False)
class Edge:
    """A straight edge of a sheet, found on one side of the picture.

    ``degrees`` it leans from that side, ``run`` its length as a part of the side, ``lean_px`` how far
    its ends are apart across it, ``margin`` the mean room outside it as a part of the picture's extent
    that way, ``outside`` that room as a mask. ``turns``: so many quarter turns anticlockwise bring its
    side to the left, where it runs at the column ``start`` + ``slope`` × rows below the middle, and is
    seen from the row ``first`` to ``last``.
    """

    degrees: float
    run: float
    lean_px: float
    margin: float
    outside: Mask
    turns: int
    start: float
    slope: float
    first: int
    last: int


@dataclass(frozen=True)
class FoundSheet:
    """``corners``: four pixels in turn. ``sides``: pixels along each side, from a corner to the next."""

    corners: tuple[Vector, ...]
    sides: tuple[tuple[Vector, ...], ...]


def lies_on_something(pixels: Bytes) -> bool:
    """True if a sheet with straight edges lies on something else that is seen beside it.

    ``pixels``: the whole picture, coarse (about 150 to 400 along its longer side), shape (rows,
    columns) or (rows, columns, 3). False as well where nothing can be told.
    """
    colours = pixels[..., None] if pixels.ndim == 2 else pixels
    if min(colours.shape[:2]) < LEAST_PIXELS:
        return False
    planes = planes_of(pixels)
    if any(_tells(edges_in(plane), colours) for plane in planes):
        return True
    # A blueprint on a light table; a solid shape on a plan takes less of the picture and has other sides.
    dark = edges_in(255.0 - planes[0])
    if len(dark) < 4 or min(edge.lean_px for edge in dark) < _LEAST_LEAN_PX:
        return False
    large = float(_around(dark).mean()) <= _MOST_AROUND_DARK
    return large and _tone_spread(dark, colours) > _ONE_TONE and _tells(dark, colours)


def planes_of(pixels: Bytes) -> list[Floats]:
    """A picture's greys, (rows, columns), and where it has colours the darkest of the three at each place."""
    if pixels.ndim == 2 or pixels.shape[2] == 1:
        return [pixels.reshape(pixels.shape[:2]).astype(np.float64)]
    # Paper is light in every colour; wood, mats and cloth are not in their darkest.
    return [pixels @ _LUMINANCE, pixels.min(axis=2).astype(np.float64)]


def is_lit_unevenly(pixels: Bytes) -> bool:
    """True if the paper's brightness falls off smoothly across the whole picture, as under a lamp.

    A scanner's light does not; stains, folds and the shadow of a book are not smooth. ``pixels`` as in
    ``lies_on_something``.
    """
    grey = pixels.astype(np.float64) if pixels.ndim == 2 else pixels @ _LUMINANCE
    if min(grey.shape) < LEAST_PIXELS:
        return False
    down, across = (np.linspace(0, size, _CELLS + 1).astype(int) for size in grey.shape)
    cells = np.array([
        [np.percentile(grey[a:b, c:d], 80) for c, d in pairwise(across)] for a, b in pairwise(down)
    ])
    v, u = (axis.ravel() / (_CELLS - 1) - 0.5 for axis in np.mgrid[:_CELLS, :_CELLS])
    bowl = np.column_stack((np.ones(_CELLS**2), u, v, u * u, v * v, u * v))
    fitted = bowl @ np.linalg.lstsq(bowl, cells.ravel(), rcond=None)[0]
    fall = float(np.ptp(fitted))
    rough = float(np.sqrt(np.mean((cells.ravel() - fitted) ** 2)))
    return fall >= _LEAST_FALL * float(np.median(cells)) and rough <= _MOST_ROUGH * fall


def edges_in(plane: Floats) -> list[Edge]:
    """The edges of a lighter sheet, at most one for each side of the picture; (rows, columns) of 0 to 255."""
    paper = _without_ink(plane)
    found = []
    for turn in range(4):
        edge = _left_edge(np.rot90(paper, turn))
        if edge is not None:
            found.append(replace(edge, outside=np.rot90(edge.outside, -turn), turns=turn))
    return found


def _around(edges: list[Edge]) -> Mask:
    return np.asarray(np.logical_or.reduce([edge.outside for edge in edges]))


def _tone_spread(edges: list[Edge], colours: Bytes) -> float:
    """From darker to lighter what lies around the sheet, its darkest and lightest 15 % left out."""
    low, high = np.percentile(colours[_around(edges)], (15, 85), axis=0)
    return float((high - low).max())


def _tells(edges: list[Edge], colours: Bytes) -> bool:
    """True if these are the edges of a sheet before a camera."""
    if not edges or not _LEAST_SHARE < float(_around(edges).mean()) < _MOST_SHARE:
        return False
    # What a program or a copying machine makes runs with the picture's own edges.
    if 2 * sum(edge.lean_px >= _LEAST_LEAN_PX for edge in edges) < len(edges):
        return False
    # A single edge from side to side leaves a ground that touches three sides.
    if len(edges) < 2 and edges[0].run < 0.9:
        return False
    degrees = [edge.degrees for edge in edges]
    skew, askew = max(degrees) - min(degrees), max(map(abs, degrees))
    # Square on and hardly turned, as on a worn lid: of a photograph the opposite sides would converge.
    if len(edges) >= 3 and skew <= _SQUARE_ON_DEG and askew <= _ASKEW_DEG:
        return False
    narrow = max(edge.margin for edge in edges) < _NARROW
    if narrow or _tone_spread(edges, colours) <= _ONE_TONE:
        return len(edges) >= 2 and (skew > _RECTANGLE_DEG or askew > _MOST_ASKEW_DEG)
    return True


def _without_ink(plane: Floats) -> Floats:
    """The paper without thin dark lines: the lightest of 5 × 5, then the darkest of 5 × 5."""
    held = plane
    for pick in (np.maximum, np.minimum):
        for axis in (0, 1):
            padded = np.pad(held, [(2, 2) if k == axis else (0, 0) for k in (0, 1)], mode="edge")
            shifted = [padded.take(range(k, k + held.shape[axis]), axis) for k in range(5)]
            held = pick.reduce(shifted)
    return held


@dataclass(frozen=True, eq=False)
class _Steps:
    """How much lighter it is right of each place than left of it, and where that is most."""

    plane: Floats
    first: int
    rise: Floats
    right: Floats
    x: Floats
    row: NDArray[np.int64]

    @property
    def height(self) -> Floats:
        return np.asarray(self.row - (self.plane.shape[0] - 1) / 2)


def _steps(plane: Floats) -> _Steps:
    columns = plane.shape[1]
    wide = max(3, round(0.02 * columns))
    total = np.pad(np.cumsum(plane, axis=1), ((0, 0), (1, 0)))
    at = np.arange(2, columns - 3)
    left, right = np.maximum(at - wide, 0), np.minimum(at + wide, columns)
    before = (total[:, at] - total[:, left]) / (at - left)
    after = (total[:, right] - total[:, at]) / (right - at)
    rise = after - before
    peak = rise >= _LEAST_STEP
    peak[:, 1:] &= rise[:, 1:] >= rise[:, :-1]
    peak[:, :-1] &= rise[:, :-1] > rise[:, 1:]
    row, k = np.nonzero(peak)
    return _Steps(plane, 2, rise, after, at[k].astype(np.float64), row)


def _left_edge(plane: Floats) -> Edge | None:
    """The longest edge whose left, to the border, is darker than the paper on its right."""
    rows, columns = plane.shape
    steps = _steps(plane)
    # Each step votes for every line through it; a line is where it crosses half way down, and its slope.
    start = np.rint(steps.x - _SLOPES[:, None] * steps.height).astype(np.int64) + rows
    bins = columns + 2 * rows
    place = start + np.arange(len(_SLOPES))[:, None] * bins
    votes = np.bincount(place.ravel(), minlength=bins * len(_SLOPES)).reshape(len(_SLOPES), bins)
    best: Edge | None = None
    for _ in range(_LINES_TRIED):
        slope, start_bin = (int(k) for k in np.unravel_index(int(votes.argmax()), votes.shape))
        if votes[slope, start_bin] < 0.4 * _LEAST_RUN * rows:
            break
        found = _edge_along(steps, float(_SLOPES[slope]), float(start_bin - rows))
        if found is not None and (best is None or found.run > best.run):
            best = found
        votes[max(slope - 4, 0) : slope + 5, max(start_bin - 4, 0) : start_bin + 5] = 0
    return best


def _edge_along(steps: _Steps, slope: float, start: float) -> Edge | None:
    """The edge near a line, fitted to its steps; None where there is no long one with a ground outside."""
    rows, columns = steps.plane.shape
    for reach in (_REACH_PX, 2.0, _NEAR_PX):
        near = np.abs(steps.x - start - slope * steps.height) <= reach
        if near.sum() < max(3.0, 0.3 * _LEAST_RUN * rows):
            return None
        slope, start = (float(v) for v in np.polyfit(steps.height[near], steps.x[near], 1))
    near = np.abs(steps.x - start - slope * steps.height) <= _NEAR_PX
    hit = np.zeros(rows, bool)
    hit[steps.row[near]] = True
    first, last = _longest_run(hit, max(4, round(0.05 * rows)))
    span = last - first + 1
    if span < _LEAST_RUN * rows or hit[first : last + 1].sum() < _LEAST_DENSE * span:
        return None
    row = np.arange(first, last + 1)
    line = start + slope * (row - (rows - 1) / 2)
    beside = np.arange(columns) - line[:, None]
    k = np.clip(np.rint(line).astype(int) - steps.first, 0, steps.rise.shape[1] - 1)
    half_way = steps.right[row, k] - 0.5 * np.maximum(steps.rise[row, k], _LEAST_STEP)
    darker = steps.plane[first : last + 1] < half_way[:, None]
    outside, inside = beside < -2.5, (beside > 2) & (beside < 0.2 * columns)
    if outside.sum() < 0.005 * steps.plane.size or darker[outside].mean() < _LEAST_DARKER:
        return None
    if inside.any() and darker[inside].mean() > _MOST_DARKER:
        return None
    mask = np.zeros(steps.plane.shape, bool)
    mask[first : last + 1] = outside
    margin = float(outside.sum()) / (span * columns)
    degrees = math.degrees(math.atan(slope))
    return Edge(degrees, span / rows, span * abs(slope), margin, mask, 0, start, slope, first, last)


def _longest_run(hit: Mask, gap: int) -> tuple[int, int]:
    """(first, last) of the longest stretch of hits with no more than ``gap`` from one to the next."""
    at = np.flatnonzero(hit)
    breaks = np.flatnonzero(np.diff(at) > gap)
    firsts, lasts = np.concatenate((at[:1], at[breaks + 1])), np.concatenate((at[breaks], at[-1:]))
    longest = int(np.argmax(lasts - firsts))
    return int(firsts[longest]), int(lasts[longest])
