"""Regions grown by a distance all round, corners kept: what a cut takes away is added beforehand."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

MITRE = 8.0
"""A corner reaches out to so many times the distance; a sharper one is cut off square."""


def grown(region: BaseGeometry, by: float) -> BaseGeometry:
    """The region with every edge moved out by ``by`` mm, holes so much smaller; corners stay corners.

    Below nought it shrinks. Holes and gaps narrower than twice ``by`` close.
    """
    if by == 0.0:
        return region
    return shapely.buffer(region, by, join_style="mitre", mitre_limit=MITRE)


