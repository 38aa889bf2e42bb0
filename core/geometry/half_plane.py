"""Cutting a region along one straight line: cheap where the cut leaves it in one piece.

The line is given by a ``normal`` (2,) of length one and its ``offset`` along it: what is kept lies where
p · normal ≥ offset. Corners are plain lists: most regions that are cut this way have a handful, and an
array costs more than they do.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.overlay import NOTHING, common
from core.geometry.ring import Array

Corners = list[tuple[float, float]]

_ON = 1e-9
"""mm: a corner this near to the line lies on it."""


def beyond(
    corners: Corners, normal: tuple[float, float], offset: float, least: float = _ON
) -> Corners | None:
    """The corners of what the line leaves of a simple polygon, not closed; none for nothing.

    What reaches less than ``least`` mm beyond the line is nothing. None where more than one piece may
    be left: where the line crosses the edge more than twice.
    """
    nx, ny = normal
    away = [x * nx + y * ny - offset for x, y in corners]
    if max(away) <= least:
        return []
    if min(away) >= -_ON:
        return corners
    inside = [a > _ON for a in away]
    kept: Corners = []
    crossed = 0
    before = len(corners) - 1
    for k, here in enumerate(inside):
        if here != inside[before]:
            crossed += 1
            a, b = away[before], away[k]
            (x0, y0), (x1, y1) = corners[before], corners[k]
            # A corner that lies on the line is where it crosses.
            if not here and abs(b) <= _ON:
                kept.append((x1, y1))
            elif here and abs(a) <= _ON:
                kept.append((x0, y0))
            else:
                share = a / (a - b)
                kept.append((x0 + share * (x1 - x0), y0 + share * (y1 - y0)))
        if here:
            kept.append(corners[k])
        before = k
    return kept if crossed <= 2 else None


def beyond_line(region: BaseGeometry, normal: Array, offset: float) -> BaseGeometry:
    """What of any valid region lies beyond the line. OverlayError where it cannot be told."""
    if region.is_empty:
        return region
    if isinstance(region, shapely.Polygon) and not region.interiors:
        corners = corners_of(region)
        found = beyond(corners, (float(normal[0]), float(normal[1])), offset)
        if found is corners:
            return region
        if found is not None:
            return polygon(found) if len(found) > 2 else NOTHING
    box = shapely.bounds(region)
    reach = 2.0 * float(np.hypot(box[2] - box[0], box[3] - box[1])) + 1.0
    middle = 0.5 * (box[:2] + box[2:])
    foot = middle + (offset - float(middle @ normal)) * normal
    along = np.array((-normal[1], normal[0]))
    return common(region, shapely.Polygon((
        foot + reach * along, foot - reach * along,
        foot - reach * along + 2.0 * reach * normal, foot + reach * along + 2.0 * reach * normal,
    )))


def corners_of(region: BaseGeometry) -> Corners:
    """The corners of a region's outer edge, not closed; holes left out."""
    found: Corners = shapely.get_coordinates(shapely.get_exterior_ring(region))[:-1].tolist()
    return found


def polygon(corners: Corners) -> BaseGeometry:
    """The region within corners that do not cross themselves."""
    # An array is taken as it is; a list corner by corner.
    return shapely.Polygon(np.array(corners))


def across(rings: list[Array], normal: Array, offset: float) -> list[Array]:
    """The stretches, each (2, 2), in which the line runs inside closed rings (M + 1, 2), holes left out."""
    along = np.array((-normal[1], normal[0]))
    found: list[float] = []
    for ring in rings:
        away = ring @ normal - offset
        hit = np.nonzero((away[:-1] > 0.0) != (away[1:] > 0.0))[0]
        share = away[hit] / (away[hit] - away[hit + 1])
        at = ring[hit] + share[:, None] * (ring[hit + 1] - ring[hit])
        found += (at @ along).tolist()
    found.sort()
    ends = np.array(found)[:, None] * along + offset * normal if found else np.zeros((0, 2))
    return [ends[i : i + 2] for i in range(0, len(ends) - 1, 2)]
