"""What a wing or tailplane shows from the side: the panels between its stations."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Section, Station, Tailplane, Wing
from core.geometry.overlay import NOTHING, union


def side_projection(surface: Wing | Tailplane) -> BaseGeometry:
    """The region one half of the surface covers in the side view, in mm.

    For each pair of neighbouring stations the convex hull of their section boxes (leading to
    trailing edge, half the thickness down and up from the chord line, incidence ignored); the
    panels united. It is the card piece from the bottom of the root to the top of the tip.
    Counting rule, step 3 (DEVELOPERS.md).
    """
    panels = panels_of(surface)
    return union(panels) if panels else NOTHING


def panels_of(surface: Wing | Tailplane) -> list[BaseGeometry]:
    """The panels between neighbouring stations, those without area left out; each a convex polygon."""
    boxes = [_box(station, surface.section) for station in surface.stations]
    hulls = [shapely.MultiPoint(np.concatenate(pair)).convex_hull for pair in pairwise(boxes)]
    return [hull for hull in hulls if hull.geom_type == "Polygon"]


def _box(station: Station, section: Section) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    half = 0.5 * section.thickness * station.chord
    aft = station.le_x + station.chord
    return np.array(
        (
            (station.le_x, station.z - half), (aft, station.z - half),
            (aft, station.z + half), (station.le_x, station.z + half),
        )
    )
