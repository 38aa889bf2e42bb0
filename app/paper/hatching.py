"""Hatches as lines that end where the shape ends: right in every program, clip or no clip."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF
from PySide6.QtGui import QPainterPath


def hatch_lines(path: QPainterPath, step: float, *, rising: bool) -> list[QLineF]:
    """Lines at 45° through the inside of ``path``, ``step`` apart along x, in step with all others.

    Inside by the even-odd rule; curves as the path's own polygons have them.
    """
    turn = 1.0 if rising else -1.0
    lines, xs = [], []
    for ring in path.toSubpathPolygons():
        points = np.array([(p.x(), p.y()) for p in ring.toList()])
        if len(points) < 3:
            continue
        # x + turn · y is what a line keeps: line k has it at k steps.
        kept = (points[:, 0] + turn * points[:, 1]) / step
        line, share, edge = _crossings(kept, np.roll(kept, -1))
        ends = np.roll(points[:, 0], -1)
        lines.append(line)
        xs.append(points[edge, 0] + share * (ends[edge] - points[edge, 0]))
    if not lines:
        return []
    line, x = np.concatenate(lines), np.concatenate(xs)
    order = np.lexsort((x, line))
    line, x = line[order], x[order]
    # Closed rings cross each line an even number of times: two by two they are what lies inside.
    y = turn * (line * step - x)
    return [
        QLineF(x0, y0, x1, y1)
        for x0, y0, x1, y1 in zip(x[::2], y[::2], x[1::2], y[1::2], strict=True)
        if x1 > x0
    ]


def _crossings(
    a: NDArray[np.float64], b: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
    """(number of the line, how far along the edge, which edge), for edges from ``a`` to ``b``.

    A line through a corner crosses the edge on one side of it alone, or both or none.
    """
    first = np.ceil(np.minimum(a, b)).astype(np.int64)
    count = np.ceil(np.maximum(a, b)).astype(np.int64) - first
    edge = np.repeat(np.arange(len(a)), count)
    line = first[edge] + np.arange(len(edge)) - (np.cumsum(count) - count)[edge]
    return line, (line - a[edge]) / (b[edge] - a[edge]), edge
