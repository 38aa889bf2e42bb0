"""What was clicked along edges that are straight on the paper: which click belongs to which of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.canvas.tools.hand import Label, Point
from core.design import DisplayUnits, Vector
from core.redesign.scan_plane import LEAST_ON_A_LINE, LaidFlat
from core.units import format_length

_NEAR_A_SIDE, _FROM_ITS_ENDS = 0.05, 0.02
"""Parts of a side's length; a lens bends a side by less."""
_OFF_THE_LINE = 0.08


@dataclass(frozen=True)
class StraightEdge:
    """Pixels along one edge. ``side``: it runs from that corner of the rectangle to the next."""

    points: tuple[Vector, ...]
    side: int | None = None

    def line(self, corners: Sequence[Vector]) -> tuple[Vector, ...]:
        """All that lies on it, from end to end: of a side, its two corners as well."""
        every = list(self.points)
        if self.side is not None:
            every += [corners[self.side], corners[(self.side + 1) % 4]]
        at = np.array(every)
        way = at[int(np.argmax(np.hypot(*(at - at[0]).T)))] - at[0]
        return tuple(every[i] for i in np.argsort(at @ way, kind="stable"))


Edges = tuple[StraightEdge, ...]


def with_click(edges: Edges, pixel: Vector, corners: Sequence[Vector]) -> tuple[Edges, int]:
    """The edges with one more pixel clicked, and the index of the one that it went to.

    Near a side of the rectangle it lies on that side; else on the edge that was begun last, where it
    carries that on; else it begins another.
    """
    side = _side_at(pixel, corners)
    if side is not None:
        at = next((i for i, e in enumerate(edges) if e.side == side), None)
    else:
        last = edges[-1] if edges and edges[-1].side is None else None
        at = len(edges) - 1 if last is not None and _carries_on(last.points, pixel) else None
    if at is None:
        return (*edges, StraightEdge((pixel,), side)), len(edges)
    grown = replace(edges[at], points=(*edges[at].points, pixel))
    return (*edges[:at], grown, *edges[at + 1 :]), at


def without_last(edges: Edges, at: int) -> Edges:
    """Without the last pixel of the edge at that index, and without the edge if that was all of it."""
    left = edges[at].points[:-1]
    return (*edges[:at], *((replace(edges[at], points=left),) if left else ()), *edges[at + 1 :])


def _side_at(pixel: Vector, corners: Sequence[Vector]) -> int | None:
    found = []
    for i in range(4):
        a, b = np.array(corners[i]), np.array(corners[(i + 1) % 4])
        along, length = b - a, math.dist(a, b)
        if not length > 0:
            continue
        to = np.array(pixel) - a
        part = float(to @ along) / length**2
        off = abs(float(along[0] * to[1] - along[1] * to[0])) / length**2
        if off <= _NEAR_A_SIDE and _FROM_ITS_ENDS <= part <= 1.0 - _FROM_ITS_ENDS:
            found.append((off * length, i))
    return min(found)[1] if found else None


def _carries_on(points: Sequence[Vector], pixel: Vector) -> bool:
    """True if all of them lie nearly on one line."""
    at = np.array((*points, pixel))
    if len(at) < LEAST_ON_A_LINE:
        return True
    apart = np.hypot(*np.moveaxis(at[:, None] - at[None], -1, 0))
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    along = at[j] - at[i]
    off = np.abs(along[0] * (at - at[i])[:, 1] - along[1] * (at - at[i])[:, 0]) / apart[i, j] ** 2
    return bool(off.max() <= _OFF_THE_LINE)


def known_lines(edges: Edges, corners: Sequence[Vector]) -> tuple[tuple[Vector, ...], ...]:
    """What is known to be straight by now: edges of three points and more."""
    lines = (edge.line(corners) for edge in edges)
    return tuple(line for line in lines if len(line) >= LEAST_ON_A_LINE)


def straight_words(fit: LaidFlat, units: DisplayUnits) -> str:
    """What the lens, the clicks and the paper do, apart from one another; empty with no straight edge."""
    if fit.lens_told:
        return fit.lens_told[:1].upper() + fit.lens_told[1:]
    if not fit.at_lines or fit.paper_mm is None:
        return ""
    parts = [f"The lens bent it by up to {format_length(fit.lens_mm, units)}"]
    if fit.clicks_mm is not None:
        parts.append(f"corners and points are {format_length(fit.clicks_mm, units)} off")
    parts.append(f"folds and clicks leave {format_length(fit.paper_mm, units)} along the edges")
    return "; ".join(parts)


def edge_labels(
    fit: LaidFlat | None, lines: Sequence[Sequence[Point]], units: DisplayUnits
) -> list[Label]:
    """How far the worst point of all ``lines``, as they lie in mm, is off its own; none without a lens."""
    if fit is None or fit.paper_mm is None or fit.lens_told:
        return []
    off, line = max(zip(fit.at_lines, lines, strict=False), key=lambda pair: float(pair[0].max()))
    at = int(off.argmax())
    return [Label(*line[at], f"{format_length(float(off[at]), units)} off worst", True)]
