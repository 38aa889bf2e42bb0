"""A surface as its parts are drawn on it: panels, hinges, root tab and slots, in (c, s).

c runs aft along the chord, of an upright surface as x does, of a tailplane from its root's leading
edge; s along the span from the root (s = 0) to the tip; mm. Panels may reach
below s = 0: the root is level, at the highest place where the edge leaves the body, and a body that
falls away under it, or a rudder that hangs behind it, does not end there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.design_build import Build

Array = NDArray[np.float64]
ELEVATOR_DEG = 20.0
"""Elevator to each side, which the design does not hold (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Panel:
    """One piece of a surface: fin, rudder, a tailplane's half, an elevator's half.

    ``id`` is that of its outline or tailplane (an elevator's has "-elevator" behind it).
    """

    id: str
    name: str
    region: BaseGeometry
    """In (c, s): what of it stands outside the body, less its half of the hinge gap and less the slots."""
    moves: bool


@dataclass(frozen=True, eq=False)
class Plan:
    """A surface with a build; ``count`` is how many such surfaces there are (a tailplane's half: two)."""

    build: Build
    upright: bool
    count: int
    panels: tuple[Panel, ...]
    tip: float
    """s of its end."""
    hinges: tuple[Array, ...]
    """Hinge lines (N, 2) in (c, s), the middle of the gap: two points where straight."""
    tab: BaseGeometry
    """The root's tab into the body, from the body's own edge on; empty where there is none."""
    slots: tuple[BaseGeometry, ...]
    """What is cut out for a tailplane that crosses; no longer in the panels."""
    throw: float
    """The largest throw of what moves, degrees to each side."""
    place: Callable[[Array], Array]
    """(N, 2) in (c, s) to the surface's own plane in the design: (x, z), of a tailplane (x, y)."""
    at: Callable[[Array], Array]
    """(N, 2) in (c, s) to (x, z) of the side view."""
    faults: tuple[str, ...] = ()
    """What cannot be made as it stands, a sentence each."""

    def thickness(self, s: Array) -> Array:
        """Full thickness in mm at s: straight from root to tip."""
        thick = self.build.thickness
        share = np.minimum(np.maximum(s / self.tip, 0.0), 1.0) if self.tip > 0.0 else np.zeros_like(s)
        return np.asarray(thick.root + (thick.tip - thick.root) * share)
