"""Where the corners of a sheet lie that was photographed, and what lies along its sides, to a pixel or so.

The four edges come from the coarse picture (``lying_sheet``). On finer pixels each is looked for again
across itself, at many places, and a parabola is laid through what most of them agree on: a lens bends
an edge, a torn place or a hand on it does not. Corners are where two such edges meet. All thresholds are
from trials with drawn pictures, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from PySide6.QtGui import QImage

from app.scans.levels import pixels_of
from app.scans.lying_sheet import LEAST_PIXELS, Bytes, Edge, FoundSheet, edges_in, planes_of
from core.design import Vector

Floats = NDArray[np.float64]
Line = Floats
"""An edge's column, turned to the left, as a parabola of the rows below the middle: of 1, y, y²."""

FINE_FROM = 1400
"""The level that is measured on is the coarsest with so many pixels along its longer side."""
_PLACES = 61
_REACH = 0.035
"""To either side of the coarse edge, as a part of the longer side: a lens bends it, and it was coarse."""
_AGREE = 0.0016
_LEAST_AGREEING, _LEAST_PLACES = 0.5, 20
_MOST_BOW = 0.06
_TRIES = 400
_LEAST_STEP = 10.0
_INK = 0.01
"""A drawn line, or a joint of boards, is thinner than this part of the longer side."""
_NEAR_A_CORNER = 0.06
_OUTSIDE = 0.01
ON_A_SIDE = 7
"""Points that are handed on for each side."""


def sheet_in(levels: tuple[QImage, ...], size: tuple[int, int]) -> FoundSheet | None:
    """The sheet that lies in a picture of ``size`` pixels; None where its four edges are not all seen."""
    coarse = next((im for im in levels if max(im.width(), im.height()) < 400), levels[-1])
    fine = next((im for im in reversed(levels) if max(im.width(), im.height()) >= FINE_FROM), levels[0])
    small = pixels_of(coarse)
    if min(small.shape[:2]) < LEAST_PIXELS:
        return None
    for light in (1.0, -1.0):
        for k, plane in enumerate(planes_of(small)):
            edges = edges_in(plane if light > 0 else 255.0 - plane)
            if len(edges) == 4:
                ground = _Ground(pixels_of(fine), k, light)
                found = _measured(edges, plane.shape, ground)
                if found is not None:
                    return _in_full(found, ground.shape, size)
    return None


@dataclass(frozen=True, eq=False)
class _Ground:
    """A picture that is looked at here and there: by the plane ``k`` of ``planes_of``, light as paper."""

    pixels: Bytes
    plane: int
    light: float

    @property
    def shape(self) -> tuple[int, int]:
        height, width = self.pixels.shape[:2]
        return height, width

    def turned(self, turns: int) -> _Ground:
        """So many quarter turns anticlockwise."""
        return _Ground(np.rot90(self.pixels, turns), self.plane, self.light)

    def greys(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> Floats:
        """At these places, and at the nearest of the picture where they lie beside it."""
        height, width = self.shape
        found = self.pixels[np.clip(rows, 0, height - 1), np.clip(columns, 0, width - 1)]
        return np.asarray(self.light * planes_of(found)[self.plane], np.float64)


def _in_full(found: FoundSheet, shape: tuple[int, ...], size: tuple[int, int]) -> FoundSheet:
    # A level's last column and row may reach past the picture: whole steps, not the ratio of sizes.
    step = 2.0 ** round(np.log2(max(size) / max(shape[:2])))

    def full(points: tuple[Vector, ...]) -> tuple[Vector, ...]:
        return tuple((u * step, v * step) for u, v in points)

    return FoundSheet(full(found.corners), tuple(full(side) for side in found.sides))


def _measured(edges: list[Edge], coarse: tuple[int, ...], ground: _Ground) -> FoundSheet | None:
    """The sheet on the pixels of ``ground``: first where its edges were seen, then all along its sides."""
    grow = ground.shape[0] / coarse[0], ground.shape[1] / coarse[1]
    lines, spans = [], []
    for edge in sorted(edges, key=lambda e: e.turns):
        down, across = grow if edge.turns % 2 == 0 else grow[::-1]
        # From the middle of the first column and row to their edges, where pixels are counted from.
        lines.append(np.array(((edge.start + 0.5) * across, edge.slope * across / down, 0.0)))
        slack = 0.06 * (edge.last - edge.first)
        spans.append(((edge.first - slack) * down, (edge.last + 1 + slack) * down))
    corners: list[Vector] | None = None
    points: list[Floats] = []
    for reach in (_REACH, _REACH / 4):
        points = []
        for turns in range(4):
            at = _steps_along(ground.turned(turns), lines[turns], spans[turns], reach)
            bent = _agreed(at, max(ground.shape)) if len(at) >= _LEAST_PLACES else None
            if bent is None:
                return None
            lines[turns], agreeing = bent
            points.append(agreeing)
        corners = _corners_of(lines, ground.shape)
        if corners is None:
            return None
        spans = [_span(corners[k], corners[(k + 1) % 4], k, ground.shape) for k in range(4)]
    return _with_sides(corners, points, ground.shape) if corners is not None else None


def _span(one: Vector, other: Vector, turns: int, shape: tuple[int, int]) -> tuple[float, float]:
    """The rows, a quarter turn or more round, between two corners."""
    rows, columns = shape
    ends = [(v, columns - u, rows - v, u)[turns] for u, v in (one, other)]
    return min(ends), max(ends)


def _steps_along(ground: _Ground, line: Line, span: tuple[float, float], reach: float) -> Floats:
    """(N, 2): (column, row below the middle) of the steepest way from dark to light near a line."""
    rows, columns = ground.shape
    long = max(rows, columns)
    wide, ink = max(3, round(0.004 * long)), max(3, round(_INK * long))
    most = round(reach * long) + wide + ink
    low, high = max(span[0], 0.005 * rows), min(span[1], 0.995 * rows)
    row = np.unique(np.linspace(low, max(high, low), _PLACES).astype(np.int64))
    height = row + 0.5 - rows / 2
    column = np.rint(line[0] + line[1] * height + line[2] * height**2).astype(np.int64)[:, None]
    column = column + np.arange(-most, most + 1)
    # Three rows at a time: grain and noise.
    greys = np.mean([ground.greys(row[:, None] + k, column) for k in (-1, 0, 1)], axis=0)
    greys = _without_ink(greys, ink)
    total = np.pad(np.cumsum(greys, axis=1), ((0, 0), (1, 0)))
    k = np.arange(wide, greys.shape[1] - wide + 1)
    rise = (total[:, k + wide] - 2 * total[:, k] + total[:, k - wide]) / wide
    # A place k lies between the pixels k - 1 and k.
    place = column[:, :1] + k
    rise = np.where((place > 1) & (place < columns - 1), rise, -np.inf)
    best = rise.argmax(axis=1)
    each = np.arange(len(row))
    steep = rise[each, best] >= _LEAST_STEP
    return np.asarray(np.column_stack((place[each, best], height))[steep], np.float64)


def _without_ink(greys: Floats, width: int) -> Floats:
    """Rows without dark lines of less than so many pixels: the lightest of as many, then the darkest."""
    held = greys
    for pick in (np.max, np.min):
        padded = np.pad(held, ((0, 0), (width // 2, width - 1 - width // 2)), mode="edge")
        held = np.asarray(pick(sliding_window_view(padded, width, axis=1), axis=2), np.float64)
    return held


def _agreed(at: Floats, long: int) -> tuple[Line, Floats] | None:
    """The parabola that most places agree on, and those places; None where fewer than half do."""
    x, y = at.T
    powers = np.column_stack((np.ones(len(y)), y, y**2))
    tolerance = max(1.2, _AGREE * long)
    rng = np.random.default_rng(0)
    tried = rng.integers(0, len(x), (_TRIES, 3))
    tried = tried[np.ptp(y[tried], axis=1) > 0.5 * np.ptp(y)]
    if not len(tried):
        return None
    systems = powers[tried]
    good = np.abs(np.linalg.det(systems)) > 1e-9
    lines = np.linalg.solve(systems[good], x[tried[good]][:, :, None])[:, :, 0]
    lines = lines[np.abs(lines[:, 2]) * np.ptp(y) ** 2 / 4 <= _MOST_BOW * np.ptp(y)]
    if not len(lines):
        return None
    near = np.abs(lines @ powers.T - x) <= tolerance
    near_best = near[near.sum(axis=1).argmax()]
    for _ in range(3):
        if near_best.sum() < _LEAST_AGREEING * _PLACES:
            return None
        line = np.linalg.lstsq(powers[near_best], x[near_best], rcond=None)[0]
        near_best = np.abs(powers @ line - x) <= tolerance
    return line, at[near_best]


def _corners_of(lines: list[Line], shape: tuple[int, int]) -> list[Vector] | None:
    """Where neighbouring edges meet; None where one lies outside the picture.

    Left, top, right, bottom come by turns 0 to 3: the corner k lies between the edges k - 1 and k.
    """
    corners = [_meeting(lines[k - 1], (k - 1) % 4, lines[k], k, shape) for k in range(4)]
    slack = _OUTSIDE * max(shape)
    low, high = np.array((-slack, -slack)), np.array((shape[1] + slack, shape[0] + slack))
    at = np.array(corners)
    return corners if bool(((at >= low) & (at <= high)).all()) else None


def _with_sides(corners: list[Vector], points: list[Floats], shape: tuple[int, int]) -> FoundSheet | None:
    """The corners and some of the points between them; None where a side has hardly any."""
    sides = []
    for k in range(4):
        on = _turned_back(points[k], k, shape)
        a, b = np.array(corners[k]), np.array(corners[(k + 1) % 4])
        part = (on - a) @ (b - a) / float((b - a) @ (b - a))
        inner = np.flatnonzero((part > _NEAR_A_CORNER) & (part < 1 - _NEAR_A_CORNER))
        if len(inner) < 4:
            return None
        inner = inner[np.argsort(part[inner])]
        chosen = inner[np.unique(np.linspace(0, len(inner) - 1, ON_A_SIDE).astype(int))]
        sides.append(tuple((float(u), float(v)) for u, v in on[chosen]))
    return FoundSheet(tuple(corners), tuple(sides))


def _turned_back(at: Floats, turns: int, shape: tuple[int, ...]) -> Floats:
    """(column, row below the middle) of a picture so many quarter turns round, as (u, v) of the picture."""
    rows, columns = shape[:2]
    x = at[:, 0]
    y = at[:, 1] + (rows if turns % 2 == 0 else columns) / 2
    return np.column_stack(((x, y), (columns - y, x), (columns - x, rows - y), (y, rows - x))[turns])


def _meeting(one: Line, one_turns: int, other: Line, other_turns: int, shape: tuple[int, ...]) -> Vector:
    """Where two edges meet that lie nearly square to each other: each in turn tells the other's row."""
    rows, columns = shape[:2]
    at = np.array((columns / 2, rows / 2))
    for _ in range(40):
        for line, turns in ((one, one_turns), (other, other_turns)):
            u, v = at
            height = (v - rows / 2, columns / 2 - u, rows / 2 - v, u - columns / 2)[turns]
            x = float(line @ (1.0, height, height**2))
            on = _turned_back(np.array(((x, height),)), turns, shape)[0]
            # Along the edge it stays; across it, it is put on the edge.
            at = np.array((on[0], v)) if turns % 2 == 0 else np.array((u, on[1]))
    return float(at[0]), float(at[1])
