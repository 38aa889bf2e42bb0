"""Paths of what is drawn on the canvas."""

from __future__ import annotations

import shapely
from PySide6.QtCore import QPointF

from app.canvas.ink import path_of_surface
from app.kit.paths import shape_path
from core.design import Section, Station, Wing


def test_what_projects_to_nothing_draws_nothing() -> None:
    """Found by a random walk: such a surface once stopped the painting of the canvas."""
    flat = Wing("w", (Station(0, 0, 0), Station(300, 0, 0)), section=Section(thickness=0.0))
    for path in (path_of_surface(flat), shape_path(shapely.Polygon())):
        assert path.boundingRect().isEmpty()


def test_a_region_with_a_hole_has_both_rings() -> None:
    ring = shapely.box(0, 0, 30, 20).difference(shapely.box(10, 5, 20, 15))
    path = shape_path(ring)
    box = path.boundingRect()
    assert (box.left(), box.top(), box.width(), box.height()) == (0, 0, 30, 20)
    assert path.contains(QPointF(5, 10)) and not path.contains(QPointF(15, 10)), "the hole stays open"
