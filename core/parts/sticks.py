"""Flat pieces by the dozen: weighed, placed and laid on their stock all at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design import State
from core.geometry.half_plane import Corners
from core.geometry.regions import Moments
from core.parts.cut import GRAMS
from core.parts.flat import hangs_on, slopes_evenly
from core.parts.hinge_edge import HingeFace, relief
from core.parts.materials import material_of
from core.parts.part import Array, Drawn, Part, Role
from core.parts.plan import Plan

Index = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Flat:
    """A flat piece of the frame's depth: its corners in (c, s), not closed, without holes.

    ``along`` (2,): the way it runs, of length one. ``size``: length and width of its stock in mm, where
    that is not the box around it.
    """

    key: str
    name: str
    role: Role
    material: str
    corners: Corners
    along: tuple[float, float]
    size: tuple[float, float] | None = None


def flat_parts(
    state: State, plan: Plan, flats: list[Flat], thick: float, faces: list[HingeFace]
) -> list[Part]:
    """The pieces as parts, less what their hinge ``faces`` take off them."""
    if not flats:
        return []
    counts = np.array([len(flat.corners) for flat in flats])
    starts = np.cumsum(counts) - counts
    which = np.repeat(np.arange(len(flats)), counts)
    every = np.array([corner for flat in flats for corner in flat.corners])
    volumes, moments = _weighed(every, starts, which, thick)
    for k, flat in enumerate(flats):
        for face in faces:
            off = relief(face, flat.corners)
            if off is not None:
                volumes[k] -= off.volume
                moments[k] -= off.moments
    along = np.array([flat.along for flat in flats])[which]
    laid = np.column_stack((
        every[:, 0] * along[:, 0] + every[:, 1] * along[:, 1],
        every[:, 1] * along[:, 0] - every[:, 0] * along[:, 1],
    ))
    laid = laid - np.minimum.reduceat(laid, starts)[which]
    sizes = np.maximum.reduceat(laid, starts)
    middles = moments / volumes[:, None]
    if slopes_evenly(plan):
        at = plan.at(middles)
    else:
        at = np.array([
            _hung(plan, flat, Moments(float(v), float(c), float(s)))
            for flat, v, (c, s) in zip(flats, volumes, moments, strict=True)
        ])
    places = plan.place(every)
    density = {flat.material: material_of(state, flat.material).kg_m3 for flat in flats}
    found = []
    for k, flat in enumerate(flats):
        place = places[starts[k] : starts[k] + counts[k]]
        volume = float(volumes[k])
        long, wide = flat.size or (float(sizes[k, 0]), float(sizes[k, 1]))
        found.append(Part(
            f"{plan.build.id}-{flat.key}", plan.build.id, flat.name, flat.role, plan.count, flat.material,
            partial(_drawn, laid[starts[k] : starts[k] + counts[k]]), long, wide, thick, 0.0, volume,
            volume * plan.count * density[flat.material] * GRAMS, float(at[k, 0]), float(at[k, 1]),
            (np.concatenate((place, place[:1])),),
        ))
    return found


def _drawn(corners: Array) -> Drawn:
    return Drawn(shapely.Polygon(corners))


def _weighed(every: Array, starts: Index, which: Index, thick: float) -> tuple[Array, Array]:
    """(volumes (K,), first moments (K, 2)) of the pieces whose corners begin at ``starts``."""
    origin = every[starts]
    u = every - origin[which]
    ahead = np.arange(1, len(every) + 1)
    ahead[np.append(starts[1:], len(every)) - 1] = starts
    v = u[ahead]
    w = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    areas = 0.5 * np.add.reduceat(w, starts)
    firsts = np.add.reduceat((u + v) * w[:, None], starts) / 6.0
    sign = np.where(areas < 0.0, -1.0, 1.0)
    areas = sign * areas
    return thick * areas, thick * (sign[:, None] * firsts + areas[:, None] * origin)


def _hung(plan: Plan, flat: Flat, mass: Moments) -> Array:
    where, shares = hangs_on(plan, shapely.Polygon(flat.corners), mass)
    return np.asarray(shares @ plan.at(where))
