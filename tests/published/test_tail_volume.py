"""Tail volume.

Source: J. D. Anderson, Introduction to Flight, Example 7.4 (read): wing 0.1 m² with a chord of
0.1 m, tail 0.02 m² at 0.17 m behind the CG; the book prints 0.34.
"""

from __future__ import annotations

import pytest

from core.design import Design, Mark, Station, Tailplane, Wing
from core.stability.aeroplane import Aeroplane
from core.stability.side_area import SideAreaCounter
from core.stability.volumes import tail_volume, volume_values


def test_the_example() -> None:
    assert tail_volume(0.02, 0.17, 0.1, 0.1) == pytest.approx(0.34, abs=1e-12)


def test_the_example_as_a_design() -> None:
    """Rectangles of the same areas: wing 1000 × 100 mm, tail 200 × 100 mm, its quarter chord 170 mm aft."""
    wing = Wing("wing", (Station(0, 0, 100), Station(500, 0, 100)))
    tail = Tailplane("tail", (Station(0, 180, 100), Station(100, 180, 100)))
    design = Design(1, "t", wings=(wing,), tailplanes=(tail,), cg_mark=Mark(35))
    found = volume_values(Aeroplane(design, SideAreaCounter().count(design), design.cg_mark, "", None))
    assert found["wing_area"] == pytest.approx(0.1e6)
    assert found["mac"] == pytest.approx(100)
    assert found["tailplane_area"] == pytest.approx(0.02e6)
    assert found["tailplane_arm"] == pytest.approx(170)
    assert found["tailplane_volume"] == pytest.approx(0.34, abs=1e-12)
