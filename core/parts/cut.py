"""Cutting pieces for a plan: what one weighs, and where all of them together lie."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely

from core.design import State
from core.geometry.regions import region_of
from core.parts.materials import material_of
from core.parts.part import Array, Drawn, Part, Role
from core.parts.plan import Plan

GRAMS = 1e-6
"""Grams of one mm³ at one kg/m³."""
SAW_CUT = 1.0
"""mm: nothing thinner is cut (common practice, no source)."""
NO_GRAIN = float("nan")


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece before it is weighed.

    ``where`` (K, 2) and ``shares`` (K,): places in (c, s) that its mass hangs on, in parts of it, even
    where none are given. ``size``: length, width and thickness. ``count``: for one surface of the plan.
    The rest as in ``Part``.
    """

    id: str
    name: str
    role: Role
    material: str
    draw: Callable[[], Drawn]
    size: tuple[float, float, float]
    volume: float
    where: Array
    places: tuple[Array, ...]
    count: int = 1
    grain: float = 0.0
    shares: Array | None = None


def cut(state: State, plan: Plan, pieces: list[Piece]) -> list[Part]:
    """The ``pieces`` as parts: counted for all surfaces of the plan, weighed, put where they lie."""
    if not pieces:
        return []
    lines = [line for piece in pieces for line in piece.places]
    put = plan.place(np.concatenate(lines)) if lines else np.zeros((0, 2))
    at = _middles(plan, pieces).tolist()
    per_mm3 = {m: material_of(state, m).kg_m3 * GRAMS for m in {piece.material for piece in pieces}}
    found, used = [], 0
    for piece, (x, z) in zip(pieces, at, strict=True):
        count = piece.count * plan.count
        places = []
        for line in piece.places:
            places.append(put[used:used + len(line)])
            used += len(line)
        found.append(Part(
            f"{plan.build.id}-{piece.id}", plan.build.id, piece.name, piece.role, count, piece.material,
            partial(_mended, piece.draw), *piece.size, piece.grain, piece.volume,
            piece.volume * count * per_mm3[piece.material], x, z, tuple(places),
        ))
    return found


def _middles(plan: Plan, pieces: list[Piece]) -> Array:
    """(x, z) of the centroid of each piece, (N, 2)."""
    count = np.array([len(piece.where) for piece in pieces], dtype=np.int64)
    shares = np.concatenate([
        np.ones(len(piece.where)) if piece.shares is None else piece.shares for piece in pieces
    ])
    starts = np.cumsum(count) - count
    hung = plan.at(np.concatenate([piece.where for piece in pieces])) * shares[:, None]
    return np.asarray(np.add.reduceat(hung, starts) / np.add.reduceat(shares, starts)[:, None])


def _mended(draw: Callable[[], Drawn]) -> Drawn:
    """What is drawn; an outline that runs into itself as its largest piece, filled as a drawing shows it."""
    found = draw()
    if shapely.is_valid(found.outline):
        return found
    filled = region_of(shapely.get_coordinates(shapely.get_exterior_ring(found.outline)))
    parts = shapely.get_parts(filled)
    return Drawn(max(parts, key=shapely.area) if len(parts) else filled, found.engraved)
