"""Moments and depths against shapely's own, polygon by polygon.

Source: shapely 2 (GEOS), a general-purpose library of plane geometry: ``area``, ``centroid`` and
``intersection`` of polygons are its own implementations. The core uses it for unions only and
measures by itself.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.regions import moments_of
from core.geometry.slices import depths

DICE = np.random.default_rng(7)


def blob(corners: int, hollow: bool) -> shapely.Polygon:
    """A star-shaped polygon round (400, 60), with a hole of the same make in its middle if ``hollow``."""
    turn = np.sort(DICE.uniform(0, 2 * np.pi, corners))
    radius = DICE.uniform(60, 120, corners)
    ring = np.column_stack((400 + radius * np.cos(turn), 60 + radius * np.sin(turn)))
    holes = [((ring - (400, 60)) * 0.3 + (405, 55))] if hollow else []
    return shapely.Polygon(ring, holes)


SINGLE: list[BaseGeometry] = [
    shapely.make_valid(blob(n, hollow)) for n in (40, 41, 90) for hollow in (False, True)
]
REGIONS = [*SINGLE, shapely.union_all([SINGLE[1], shapely.box(700, 0, 720, 30)])]


@pytest.mark.parametrize("region", REGIONS, ids=range(len(REGIONS)))
def test_area_and_centroid(region: BaseGeometry) -> None:
    moments = moments_of(region)
    # Both are sums of some hundred products in floats.
    assert moments.area == pytest.approx(region.area, rel=1e-12)
    assert moments.centroid() == pytest.approx((region.centroid.x, region.centroid.y), rel=1e-11)


@pytest.mark.parametrize("region", REGIONS, ids=range(len(REGIONS)))
def test_depths(region: BaseGeometry) -> None:
    stations = np.linspace(270, 530, 101)
    cuts = [shapely.intersection(region, shapely.LineString([(x, -500), (x, 500)])).length for x in stations]
    assert depths(region, stations) == pytest.approx(cuts, abs=1e-9)
