"""Fuselages, nacelles and floats as bodies in a side wind, each from its own side profile."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.design import State
from core.geometry.memo import kept
from core.geometry.patch import Patch, united
from core.geometry.regions import rings_of
from core.geometry.ring import Array
from core.geometry.slices import depths
from core.kinds import HULL, OWN_BODIES
from core.stability.side_area import form_of

_SLICES = 400
_INSIDE = 0.02
NO_BODY = "trace the fuselage"


@dataclass(frozen=True)
class BodyForm:
    """One body's side profile, by vertical slices; mm and mm³."""

    length: float
    depth: float
    """The greatest."""
    square_integral: float
    """∫ h² dx in mm³."""

    @property
    def fineness(self) -> float:
        """Length over greatest depth."""
        return self.length / self.depth


@dataclass(frozen=True, eq=False)
class Body:
    """A body that the aeroplane has ``count`` times."""

    count: int
    main: bool
    """Fuselage and canopy, not a nacelle or float."""
    patch: Patch
    form: BodyForm


@kept
def body_form(patch: Patch) -> BodyForm | None:
    """Length, greatest depth and ∫h² dx of a profile; None where it has no area. Kept with the patch.

    400 vertical slices by the midpoint rule; depth is what a slice cuts, holes left out.
    """
    if not patch.moments.area > 1e-9:
        return None
    low, _, high, _ = patch.box
    step = (high - low) / _SLICES
    if not step > 0.0:
        return None
    stations: Array = np.asarray(low + (np.arange(_SLICES) + 0.5) * step, dtype=np.float64)
    h = depths(patch.region, stations)
    depth = float(h.max())
    if not depth > 0.0:
        return None
    return BodyForm(high - low, depth, float((h * h).sum()) * step)


def bodies(design: State) -> tuple[Body, ...]:
    """The bodies of ``design``, the one that carries the wing first.

    Fuselage and canopy outlines are united, those of each count by themselves; nacelles and floats
    are bodies each. Booms, pylons, wheels and struts are too slender or too small to be bodies here.
    """
    found: list[Body] = []
    hulls: dict[int, list[Patch]] = {}
    for outline in design.outlines:
        patch = form_of(outline).patch
        if outline.kind in HULL:
            hulls.setdefault(outline.count, []).append(patch)
        elif outline.kind in OWN_BODIES:
            form = body_form(patch)
            if form is not None:
                found.append(Body(outline.count, False, patch, form))
    hull: list[Body] = []
    for count in sorted(hulls):
        patch = united(tuple(hulls[count]))
        form = body_form(patch)
        if form is not None:
            hull.append(Body(count, True, patch, form))
    return (*hull, *found)


def span_at(patch: Patch, x: float) -> tuple[float, float] | None:
    """Lowest and highest z in mm of a profile at station ``x``; None where it does not reach it."""
    found: list[float] = []
    for corners, _ in rings_of(patch.region):
        x0, x1 = corners[:-1, 0], corners[1:, 0]
        hit = np.nonzero((x0 <= x) != (x1 <= x))[0]
        z0, z1 = corners[hit, 1], corners[hit + 1, 1]
        found.extend((z0 + (x - x0[hit]) / (x1[hit] - x0[hit]) * (z1 - z0)).tolist())
    return (min(found), max(found)) if found else None


def mid_depth(patch: Patch, x: float) -> float:
    """Half way between the lowest and the highest point of a profile at station ``x``, in mm.

    Where the profile does not reach ``x``: the height of its centroid.
    """
    span = span_at(patch, x)
    if span is not None:
        return 0.5 * (span[0] + span[1])
    centre = patch.moments.centroid()
    return centre[1] if centre else 0.0


def shaft_z(design: State, x: float) -> float:
    """Height in mm at which a propeller at station ``x`` is taken to turn (own; nothing is computed from it).

    Mid-depth of the single body, fuselage or nacelle, whose nose or end lies nearest to ``x``, a
    fiftieth of its length inside. Without a body: the height of the CG mark, or 0.
    """
    ends = [
        (abs(end - x), end, body.patch)
        for body in bodies(design) if body.count == 1
        for end in (body.patch.box[0], body.patch.box[2])
    ]
    if not ends:
        return design.cg_mark.z if design.cg_mark else 0.0
    _, end, patch = min(ends, key=lambda found: found[0])
    low, _, high, _ = patch.box
    inside = _INSIDE * (high - low)
    return mid_depth(patch, end + inside if end == low else end - inside)


def munk_factors(fineness: float) -> tuple[float, float]:
    """(k₁, k₂), the added masses of a prolate spheroid along and across, over the displaced mass.

    ``fineness`` f is length over diameter. e² = 1 − 1/f², α₀ = (2(1−e²)/e³)(artanh e − e),
    β₀ = 1/e² − ((1−e²)/e³) artanh e, k₁ = α₀/(2−α₀), k₂ = β₀/(2−β₀). Range: f above 1; a body not
    longer than deep is taken as a sphere, ½ and ½, which has no couple. Source: potential flow
    (exact; Lamb, Hydrodynamics, and Munk, NACA Report 184, memory).
    """
    if not fineness > 1.0:
        return 0.5, 0.5
    inverse = 1.0 / fineness
    share = inverse * inverse
    e2 = (1.0 - inverse) * (1.0 + inverse)
    e = math.sqrt(e2)
    if e2 < 1e-3:
        # (artanh e − e)/e³ by its series, where the difference would cancel.
        core = 1 / 3 + e2 / 5 + e2 * e2 / 7 + e2 * e2 * e2 / 9
    else:
        core = (math.log(fineness * (1.0 + e)) - e) / (e2 * e)
    along = 2.0 * share * core
    # α₀ + 2β₀ = 2 for any spheroid.
    across = 1.0 - 0.5 * along
    return along / (2.0 - along), across / (2.0 - across)
