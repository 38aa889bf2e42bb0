"""One piece to cut, and all pieces of a build with what they weigh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.design_build import Build
from core.parts.plan import Plan

Array = NDArray[np.float64]
Role = Literal["sheet", "stick", "rib", "web", "skin", "gusset", "tab"]


@dataclass(frozen=True, eq=False)
class Drawn:
    """A piece as it is drawn: ``outline`` and ``engraved`` as in ``Part``."""

    outline: BaseGeometry
    engraved: tuple[Array, ...] = ()


@dataclass(frozen=True, eq=False)
class Part:
    """One piece to cut, so many times over; mm, mm³, grams.

    ``length`` × ``width`` × ``thick`` is the stock that it is cut from. ``count``: how many to cut in
    all, with halves, sides and pairs of surfaces. ``grain`` in degrees from u, NaN where none matters.
    ``volume`` is of one, ``grams`` of all; (``x``, ``z``) the centroid of all in the side view of the
    design. ``places``: where they lie in the surface's own plane, lines (N, 2) in (x, z), of a tailplane
    in (x, y). ``draw`` is asked when somebody looks: while a hand moves a surface, only masses are read.
    """

    id: str
    build: str
    name: str
    role: Role
    count: int
    material: str
    draw: Callable[[], Drawn]
    length: float
    width: float
    thick: float
    grain: float
    volume: float
    grams: float
    x: float
    z: float
    places: tuple[Array, ...]

    @cached_property
    def drawn(self) -> Drawn:
        """What ``draw`` draws, once."""
        return self.draw()

    @property
    def outline(self) -> BaseGeometry:
        """Its true-size edge in a plane of its own, u along its length and v across.

        Lower left near (0, 0), holes as interiors; of a stick its side view.
        """
        return self.drawn.outline

    @property
    def engraved(self) -> tuple[Array, ...]:
        """Lines in the part's own plane that are marked and not cut."""
        return self.drawn.engraved

    @property
    def area(self) -> float:
        """Of one, holes taken out; mm²."""
        return float(self.outline.area)


@dataclass(frozen=True, eq=False)
class Built:
    """A surface's parts and what they weigh; ``faults``: what cannot be made, by name, a sentence each.

    ``notes``: what to mind, likewise; lengths in both are told in the builder's units by ``said.told``.

    ``grams`` = wood + covering + glue; 0 where nothing can be made. ``covering_area``: both sides, mm².
    """

    build: Build
    parts: tuple[Part, ...]
    faults: tuple[str, ...]
    wood_grams: float
    covering_grams: float
    glue_grams: float
    grams: float
    x: float
    z: float
    covering_area: float
    plan: Plan | None
    notes: tuple[str, ...] = ()
