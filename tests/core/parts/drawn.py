"""Plans drawn by hand for the tests of parts, in (c, s) as a builder would sketch them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Design
from core.design_build import Build, Ribs, Skin, Spar, Strip, Thickness
from core.parts.part import Array
from core.parts.plan import Panel, Plan

Corners = Sequence[tuple[float, float]]
STATE = Design(format=1, title="Parts")
AT = np.array((700.0, 60.0))


def build_of(**more: Any) -> Build:
    """A ribbed build without anything but ribs, changed by ``more``."""
    plain: dict[str, Any] = {
        "id": "tail", "of": ("fin",), "way": "ribbed", "thickness": Thickness(14.0, 9.0, "symmetric"),
        "ribs": Ribs(40.0, None, 2.4, "balsa-medium", False, False), "glue": 0.0, "hinge_gap": 0.5,
    }
    return Build(**{**plain, **more})


def full_build(**more: Any) -> Build:
    """A ribbed build with all that there is."""
    return build_of(**{
        "ribs": Ribs(), "leading_edge": Strip(6.0, None, "balsa-hard"), "trailing_edge": Strip(8.0),
        "spars": (Spar(0.35, (6.0, 3.0), 1.5),), "skin": Skin(1.0), "covering_g_m2": 60.0,
        "glue": 0.08, **more,
    })


def placed(points: Array) -> Array:
    """Where a hand-drawn plan lies in the side view."""
    return np.asarray(points + AT)


def plan_by_hand(
    build: Build, *panels: tuple[Corners | BaseGeometry, bool], count: int = 1, throw: float = 25.0,
    hinges: tuple[Corners, ...] = (),
) -> Plan:
    """A plan of panels, each (corners in (c, s) or a region, whether it moves)."""
    regions = [
        (region if isinstance(region, BaseGeometry) else shapely.Polygon(region), moves)
        for region, moves in panels
    ]
    return Plan(
        build, True, count,
        tuple(
            Panel(f"panel{k}", "Rudder" if moves else "Fin", region, moves)
            for k, (region, moves) in enumerate(regions)
        ),
        max(float(region.bounds[3]) for region, _ in regions),
        tuple(np.array(line) for line in hinges), shapely.Polygon(), (), throw, placed, placed,
    )


SWEPT: Corners = ((0.0, 0.0), (150.0, 0.0), (165.0, 190.0), (100.0, 190.0))


def swept_fin(build: Build, **more: Any) -> Plan:
    """A swept, tapered fin without a rudder."""
    return plan_by_hand(build, (SWEPT, False), **more)


def slanted_hinge(build: Build, **more: Any) -> Plan:
    """Fin and rudder on a hinge that slants aft, the gap already taken by half from each."""
    foot, top = (120.0, 0.0), (150.0, 200.0)
    half = 0.5 * build.hinge_gap * math.hypot(30.0, 200.0) / 200.0
    return plan_by_hand(
        build,
        (((0.0, 0.0), (foot[0] - half, 0.0), (top[0] - half, 200.0), (90.0, 200.0)), False),
        (((foot[0] + half, 0.0), (190.0, 0.0), (195.0, 200.0), (top[0] + half, 200.0)), True),
        hinges=((foot, top),), **more,
    )


def elliptical(build: Build, **more: Any) -> Plan:
    """A fin with a round leading edge and an elliptical rudder that hangs below the root."""
    t = np.linspace(0.0, 0.5 * np.pi, 60)
    half = 0.5 * build.hinge_gap
    front = np.stack((110.0 - 110.0 * np.cos(t), 180.0 * np.sin(t)), axis=1)
    fin = np.vstack((front[:-1], ((110.0 - half, front[-2, 1]), (110.0 - half, 0.0))))
    u = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 90)[1:-1]
    low, high = -40.0, 180.0
    rear = np.stack((110.0 + 70.0 * np.cos(u), 0.5 * (low + high) + 0.5 * (high - low) * np.sin(u)), axis=1)
    rear = rear[rear[:, 0] > 110.0 + half]
    rudder = np.vstack((rear, ((110.0 + half, rear[-1, 1]), (110.0 + half, rear[0, 1]))))
    return plan_by_hand(build, (fin, False), (rudder, True), hinges=(((110.0, 0.0), (110.0, 178.0)),), **more)


def tiny(build: Build, **more: Any) -> Plan:
    """A fin 46 mm high with a square rudder."""
    half = 0.5 * build.hinge_gap
    return plan_by_hand(
        build, (((0.0, 0.0), (38.0 - half, 0.0), (38.0 - half, 46.0), (20.0, 46.0)), False),
        (((38.0 + half, 0.0), (55.0, 0.0), (52.0, 46.0), (38.0 + half, 46.0)), True),
        hinges=(((38.0, 0.0), (38.0, 46.0)),), **more,
    )
