"""Geometry at the edge of what a design may hold: readings come, or a reading says why not."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path.append(str(Path(__file__).resolve().parents[1] / "endurance"))

from degenerate import WAYS, degenerate

from core.geometry.regions import region_of
from core.geometry.slices import cuts
from core.stability.readings import ReadingsEngine

LONG = {"star", "within", "copies", "coincident"}


@pytest.mark.parametrize("way", sorted({*WAYS} - LONG))
def test_degenerate_outlines_are_read_without_a_fault(way: str) -> None:
    readings = ReadingsEngine().read(degenerate(way, 2))
    assert readings.side is not None


def test_a_region_thinner_than_its_places_last_bits_has_no_depth() -> None:
    thin = shapely.Polygon([(500.0, 0.0), (np.nextafter(500.0, 501.0), 400.0), (500.0, 800.0)])
    depth, moment = cuts(thin, np.full(50, 500.0))
    assert not depth.any() and not moment.any()


def test_a_fin_thinner_than_its_places_last_bits_does_not_stop_the_readings() -> None:
    assert ReadingsEngine().read(degenerate("near a line", 6)).side is not None


def test_thousands_of_corners_on_one_spot_are_one_corner() -> None:
    # A figure of eight, so that it has to be filled; its crossing is at (5, 5).
    eight = np.array([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)])
    many = np.concatenate((np.repeat(eight[:1], 6000, axis=0), eight[1:]))
    assert region_of(many).area == pytest.approx(region_of(eight).area) == pytest.approx(50.0)
